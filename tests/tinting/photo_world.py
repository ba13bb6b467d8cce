"""Rendered photos of base, swatch and card or chart, to try the measuring on.

A world of its own: spectra, two camera sensors, two lights, falling-off light, shot noise, the
camera's white balance, colour matrix and tone curve, then JPEG. It shares no code with
``tinting``; the true Lab is integrated here from the spectrum.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import colour
import numpy as np
from numpy.typing import NDArray
from PIL import Image

Array = NDArray[np.float64]
NM = np.arange(400.0, 681.0, 10.0)  # where both shipped sensors are given
WIDE_NM = np.arange(380.0, 731.0, 5.0)
SIZE = (420, 560)  # height, width
BASE, SWATCH, CARD = (20, 20, 120, 150), (150, 20, 250, 150), (440, 20, 540, 150)
STRIP = tuple((20 + 80 * i, 20, 84 + 80 * i, 150) for i in range(5))
CORNERS = ((40.0, 180.0), (520.0, 180.0), (520.0, 400.0), (40.0, 400.0))
LIGHTS = ("D50", "LED-B3")


@cache
def chart_spectra(which: int) -> Array:
    """(24, 71): spectra in reading order; 0 is the mean of many charts, 1 a single one."""
    shelves = [v for k, v in vars(colour.characterisation).items() if k.startswith("SDS_")]
    shelf = next(shelf for shelf in shelves if "ISO 17321-1" in shelf)
    patches = list(shelf.values())[0 if which == 0 else -1]
    return np.array([_on(WIDE_NM, sd) for sd in patches.values()])


@cache
def sensor(which: int) -> Array:
    """(29, 3): sensitivities of one of the two shipped cameras."""
    table = list(colour.MSDS_CAMERA_SENSITIVITIES.values())[which]
    return np.array([np.interp(NM, table.wavelengths, column) for column in table.values.T]).T


def light(name: str) -> Array:
    """(71,): relative power of a light."""
    return _on(WIDE_NM, colour.SDS_ILLUMINANTS[name])


def true_lab(reflectance: Array) -> Array:
    """CIELAB under D65 for the 10 degree observer, summed over 5 nm."""
    xyz, white = _xyz10(reflectance, "D65"), _xyz10(np.ones(WIDE_NM.size), "D65")
    t = xyz / white
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def dyed(rng: np.random.Generator, base: Array) -> Array:
    """A random dye over a base: one or two absorption bands, with a shoulder each, and grey."""
    return coated(_depth(rng), base)


def dyed_strip(rng: np.random.Generator, base: Array, coats: Sequence[int]) -> tuple[Array, ...]:
    """A random dye in so many coats, each of which takes off some of those below."""
    depth = _depth(rng)
    return tuple(coated(depth * (1 - 0.87**n) / (1 - 0.87**3), base) for n in coats)


def coated(depth: Array, base: Array) -> Array:
    """A base under a dye of an optical depth."""
    return 0.0175 + (base - 0.0175) * np.exp(-2 * depth)


def _depth(rng: np.random.Generator) -> Array:
    depth = np.full(WIDE_NM.size, rng.uniform(0.0, 0.05))
    for _ in range(rng.integers(1, 3)):
        centre, width, height = rng.uniform(400, 680), rng.uniform(35, 65), rng.uniform(0.05, 0.8)
        for place, share in ((centre, 1.0), (centre - 50, 0.5)):
            depth = depth + height * share * np.exp(-(((WIDE_NM - place) / width) ** 2) / 2)
    return depth


def plastic(yellowness: float, level: float = 0.85) -> Array:
    """A base: pale, lower in the short waves."""
    return level * (1 - yellowness / (1 + np.exp((WIDE_NM - 430) / 25)))


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What stands before the camera and how it is lit and taken."""

    base: Array
    swatch: Array
    strip: tuple[Array, ...] = ()
    chart: int | None = 0
    card: float | None = None
    corners: Sequence[tuple[float, float]] = CORNERS
    sensor: int = 0
    light: str = "D50"
    falloff: float = 0.12
    slope: float = 0.05
    exposure: float = 0.75
    contrast: float = 0.3
    noise: float = 0.01
    background: float | None = 0.45
    matrixed: bool = True
    seed: int = 0


def render(scene: Scene) -> Array:
    """(height, width, 3) of 0 to 255 before JPEG."""
    rng = np.random.default_rng(scene.seed)
    labels, spectra = _layout(scene, rng)
    raw = _raw(spectra, scene)[labels] * _light_field(scene)[..., None]
    raw = raw + rng.normal(size=raw.shape) * scene.noise * np.sqrt(np.maximum(raw, 0.001))
    rgb = np.clip(raw @ _camera_matrix(scene).T, 0, 1)
    encoded = np.where(rgb > 0.0031308, 1.055 * rgb ** (1 / 2.4) - 0.055, 12.92 * rgb)
    curve = encoded + scene.contrast * encoded * (1 - encoded) * (encoded - 0.45)
    return np.round(255 * np.clip(curve, 0, 1))


def jpeg(pixels: Array, quality: int = 90, **extra: Any) -> bytes:
    """The picture as a file."""
    buffer = io.BytesIO()
    Image.fromarray(pixels.astype(np.uint8)).save(buffer, "JPEG", quality=quality, **extra)
    return buffer.getvalue()


def _layout(scene: Scene, rng: np.random.Generator) -> tuple[NDArray[np.intp], Array]:
    height, width = SIZE
    paper = np.ones(WIDE_NM.size) * (0.45 if scene.background is None else scene.background)
    spectra = [paper, scene.base, scene.swatch]
    labels = np.zeros(SIZE, dtype=np.intp)
    if scene.background is None:  # a table full of things: no even ground anywhere
        spectra += [dyed(rng, plastic(0.2)) for _ in range(40)]
        blocks = rng.integers(3, 43, size=(height // 14 + 1, width // 14 + 1))
        labels = np.kron(blocks, np.ones((14, 14), dtype=np.intp))[:height, :width]
    for number, (left, top, right, bottom) in ((1, BASE), (2, SWATCH)):
        if not scene.strip:
            labels[top:bottom, left:right] = number
    for spectrum, (left, top, right, bottom) in zip(scene.strip, STRIP, strict=False):
        labels[top:bottom, left:right] = len(spectra)
        spectra.append(spectrum)
    if scene.card is not None:
        left, top, right, bottom = CARD
        labels[top:bottom, left:right] = len(spectra)
        spectra.append(np.full(WIDE_NM.size, scene.card))
    if scene.chart is not None:
        _lay_chart(labels, scene.corners, len(spectra))
        spectra += [np.full(WIDE_NM.size, 0.04), *chart_spectra(scene.chart)]
    return labels, np.array(spectra)


def _lay_chart(labels: NDArray[np.intp], corners: Sequence[tuple[float, float]], at: int) -> None:
    """Bilinear chart between its corners: black frame, 4 x 6 patches with gaps of 8 %."""
    rows, columns = np.indices(SIZE)
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    source = [[x0, y0, 1, 0, 0, 0, 0, 0], [0, 0, 0, x0, y0, 1, 0, 0]]
    target = [0.0, 0.0]
    for x, y, u, v in ((x1, y1, 1, 0), (x2, y2, 1, 1), (x3, y3, 0, 1)):
        source += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        target += [u, v]
    a = np.linalg.solve(np.array(source, dtype=float), np.array(target, dtype=float))
    below = a[6] * columns + a[7] * rows + 1
    u = 6 * (a[0] * columns + a[1] * rows + a[2]) / below
    v = 4 * (a[3] * columns + a[4] * rows + a[5]) / below
    inside = (u > -0.06) & (u < 6.06) & (v > -0.06) & (v < 4.06) & (below > 0)
    labels[inside] = at
    patch = inside & (np.abs(u % 1 - 0.5) < 0.46) & (np.abs(v % 1 - 0.5) < 0.46)
    patch &= (u > 0) & (u < 6) & (v > 0) & (v < 4)
    labels[patch] = at + 1 + (np.floor(v)[patch] * 6 + np.floor(u)[patch]).astype(np.intp)


def _raw(spectra: Array, scene: Scene) -> Array:
    power = np.interp(NM, WIDE_NM, light(scene.light))
    narrow = np.array([np.interp(NM, WIDE_NM, spectrum) for spectrum in spectra])
    response = sensor(scene.sensor) * power[:, None]
    return scene.exposure * narrow @ response / response.sum(0)


def _light_field(scene: Scene) -> Array:
    rows, columns = np.indices(SIZE)
    x, y = columns / SIZE[1] - 0.5, rows / SIZE[0] - 0.5
    return (1 - scene.falloff * (x**2 + y**2) / 0.5) * (1 + scene.slope * (2 * x + y))


@cache
def _matrix(which: int, name: str) -> Array:
    """The camera's own matrix to sRGB for this light, as makers fit it: to printed colours."""
    scene = Scene(base=np.ones(1), swatch=np.ones(1), sensor=which, light=name, exposure=1.0)
    spectra = chart_spectra(1)
    raw = _raw(spectra, scene)
    xyz = np.array([_xyz2(spectrum) for spectrum in spectra])
    to_rgb = np.linalg.inv(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    matrix = np.linalg.lstsq(raw, xyz @ to_rgb.T, rcond=None)[0].T
    return matrix / matrix.sum(1, keepdims=True)


def _camera_matrix(scene: Scene) -> Array:
    return _matrix(scene.sensor, scene.light) if scene.matrixed else np.eye(3)


def _xyz10(reflectance: Array, name: str) -> Array:
    return _xyz(reflectance, name, "CIE 1964 10 Degree Standard Observer")


def _xyz2(reflectance: Array) -> Array:
    return _xyz(reflectance, "D65", "CIE 1931 2 Degree Standard Observer")


def _xyz(reflectance: Array, name: str, observer: str) -> Array:
    table = colour.MSDS_CMFS[observer]
    cmfs = np.array([np.interp(WIDE_NM, table.wavelengths, column) for column in table.values.T])
    weights = cmfs * light(name)
    return np.asarray(weights @ reflectance / weights[1].sum())


def _on(grid: Array, sd: Mapping[float, float] | Any) -> Array:
    return np.interp(grid, sd.wavelengths, sd.values)
