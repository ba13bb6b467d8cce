"""A spectrum for something known by its colour alone: the smoothest one that gives the colour.

Many spectra give one colour. The smoothest is the usual guess for plastics and dyes, and its
error shows only under another light. A second opinion comes from the Otsu basis, learned from
real objects; the distance between both is what a colour alone leaves open.
"""

from __future__ import annotations

from functools import cache, lru_cache

import numpy as np

from data import read_table
from data.rules import check_number, check_numbers, refuse
from tinting.colour.colorimetry import (
    delta_e,
    lab_from_xyz,
    otsu_reflectance,
    weights,
    white,
    xyz_from_lab,
)
from tinting.colour.grid import BANDS, Array, check_array, check_lab, wavelengths_nm
from tinting.colour.screen import (
    adaptation_matrix,
    hex_from_srgb,
    srgb_from_xyz,
    xyz_from_srgb,
)

REPRODUCED = 0.01
"""A spectrum counts as giving a colour when it is this near. [dE]"""
_EDGE = read_table("dyes")["white pigment"]
WHITE_EDGE: Array = np.array(
    [
        _EDGE[f"edge_{nm}"].value if f"edge_{nm}" in _EDGE else 1.0
        for nm in wavelengths_nm.astype(int).tolist()
    ]
)
"""(36,) what a white pigment leaves of the light of each band."""
_SLOPES = np.diff(np.eye(BANDS), axis=0)
_HELD = 1e4
"""Weight of the colour against the smoothness where both are least squares."""


def smoothest_reflectance(
    lab: object,
    light: str = "D65",
    observer: int = 10,
    lowest: float = 0.0,
    highest: float = 1.0,
) -> Array:
    """Return the smoothest spectrum (36,) between two bounds that has a colour.

    Parameters
    ----------
    lab : array_like (3,)
        CIELAB under the light for the observer.
    light, observer : str, int
        See `tinting.colour.colorimetry.weights`.
    lowest, highest : float
        Bounds of the reflectance, 0 to 1.

    Raises
    ------
    ValueError
        When no spectrum between the bounds has the colour within 0.01 dE.

    Notes
    -----
    R = lowest + (highest - lowest)(1 + tanh z)/2 with the least sum of squared steps of z, by
    Newton's method on the equations of Lagrange. Source: S. A. Burns, Numerical methods for
    smoothest reflectance reconstruction, Color Research & Application 45 (2020) 8-21. At the
    rim of the real colours, where Newton fails, least squares with bounds.
    """
    wanted = check_lab("lab", lab)
    floor = check_number("lowest reflectance", lowest, least=0.0, most=0.5)
    ceiling = check_number("highest reflectance", highest, least=floor + 0.01, most=1.0)
    return smoothest_within("lab", wanted, light, observer, floor, ceiling)


def smoothest_within(
    name: str, wanted: Array, light: str, observer: int, floor: float, ceiling: float
) -> Array:
    """Return what `smoothest_reflectance` does, for a checked colour called ``name``."""
    matrix, values = weights(light, observer), xyz_from_lab(wanted, light, observer)
    dark = matrix.sum(axis=0) * floor
    if floor > 0 and (values <= dark).any():
        rule = f"lighter in X, Y and Z than the surface reflection {floor:.4g} alone"
        raise refuse(name, rule, wanted.tolist())
    found, met = _newton(values, matrix, floor, ceiling)
    if not met:
        found = nearest_in_slope(np.zeros(BANDS), values, matrix, floor, ceiling)
    return _checked(name, found, wanted, light, observer)


def white_pigment_within(
    name: str, wanted: Array, light: str, observer: int, floor: float, ceiling: float
) -> Array:
    """Return a spectrum (36,) of a colour, smooth but for the edge of a white pigment.

    A smooth spectrum times `WHITE_EDGE`, no more than ``ceiling`` in any band. Where none has the
    colour, what `smoothest_within` gives.
    """
    matrix, values = weights(light, observer), xyz_from_lab(wanted, light, observer)
    found = nearest_in_slope(np.zeros(BANDS), values, WHITE_EDGE[:, None] * matrix, floor, 10.0)
    found = np.clip(found * WHITE_EDGE, floor, ceiling)
    # what the bounds took is made up for close by
    if _away(found, wanted, light, observer) > REPRODUCED:
        found = nearest_in_slope(found, values, matrix, floor, ceiling)
    if _away(found, wanted, light, observer) > REPRODUCED:
        return smoothest_within(name, wanted, light, observer, floor, ceiling)
    return found


def _away(found: Array, wanted: Array, light: str, observer: int) -> float:
    reached = lab_from_xyz(found @ weights(light, observer), light, observer)
    return float(delta_e(reached, wanted))


def second_reflectance(
    lab: object,
    light: str = "D65",
    observer: int = 10,
    lowest: float = 0.0,
    highest: object = 1.0,
) -> Array:
    """Return another spectrum (36,) of the same colour: a real object's after Otsu (2018).

    Where the basis leaves the bounds, the nearest spectrum in slope inside them. Arguments and
    errors as above; ``highest`` may be a spectrum (36,), such as that of the bare base.
    """
    wanted = check_lab("lab", lab)
    floor = check_number("lowest reflectance", lowest, least=0.0, most=0.5)
    ceiling = check_numbers("highest reflectance", highest, least=floor, most=1.0)
    if ceiling.shape not in ((), (BANDS,)):
        raise refuse("highest reflectance", f"one number or {BANDS}", f"shape {ceiling.shape}")
    values = xyz_from_lab(wanted, light, observer)
    matrix = weights(light, observer)
    guess = otsu_reflectance(values, light, observer)
    if (guess < floor).any() or (guess > ceiling).any():
        guess = nearest_in_slope(guess, values, matrix, floor, ceiling)
    return _checked("lab", guess, wanted, light, observer)


def lab_of_screen_colour(rgb: object, light: str = "D65", observer: int = 10) -> Array:
    """Return CIELAB (3,) of an sRGB colour (3,) for another light or observer.

    A screen colour is defined for D65 and 2 degree. It is given the smoothest spectrum that has
    it there, and that spectrum is looked at under the light by the observer asked for: the way
    to a 10 degree target from a colour picker.
    """
    values = check_array("rgb", rgb, 3, least=0.0, most=1.0)
    if values.shape != (3,):
        raise refuse("rgb", "one colour of three numbers", f"shape {values.shape}")
    # the white of sRGB is rounded: laid onto the white of the light, or white would be unreal
    rounded = xyz_from_srgb((1.0, 1.0, 1.0))
    seen = lab_from_xyz(xyz_from_srgb(values) / rounded * white("D65", 2), "D65", 2)
    spectrum = smoothest_within("rgb", seen, "D65", 2, 0.0, 1.0)
    return lab_from_xyz(spectrum @ weights(light, observer), light, observer)


def srgb_from_lab(lab: object, light: str = "D65", observer: int = 10) -> Array:
    """Return sRGB (3,) from 0 to 1 that shows one CIELAB (3,) on a screen.

    Parameters
    ----------
    lab : array_like (3,)
        As read under the light for the observer.
    light, observer : str, int
        See `tinting.colour.colorimetry.weights`. A colour under a lamp is shown as an eye used to
        that lamp sees it (Bradford), since a screen is adapted to daylight.

    Notes
    -----
    The way back of `lab_of_screen_colour`: the smoothest spectrum of the colour, seen for 2
    degree; for a colour that no surface has, the nearest that one does. What a screen cannot
    show has each channel at its end.
    """
    wanted = check_lab("lab", lab)
    white(light, observer)
    red, green, blue = _screen_colour(*wanted.tolist(), light, int(observer))
    return np.array([red, green, blue])


def hex_from_lab(lab: object, light: str = "D65", observer: int = 10) -> str:
    """Return "#rrggbb" that shows one CIELAB (3,) on a screen, see `srgb_from_lab`."""
    return hex_from_srgb(srgb_from_lab(lab, light, observer))


@lru_cache(maxsize=20_000)
def _screen_colour(
    lightness: float, a: float, b: float, light: str, observer: int
) -> tuple[float, float, float]:
    seen = xyz_from_lab((lightness, a, b), light, observer)
    if light != "D65":
        seen = _to_daylight(light, observer) @ seen
    if observer != 2:
        matrix = weights("D65", observer)
        spectrum, met = _newton(seen, matrix, 0.0, 1.0)
        if not met:
            spectrum = nearest_in_slope(np.zeros(BANDS), seen, matrix, 0.0, 1.0)
        seen = spectrum @ weights("D65", 2)
    # the white of sRGB is rounded, see lab_of_screen_colour
    ratio = seen / white("D65", 2)
    red, green, blue = np.clip(srgb_from_xyz(ratio * xyz_from_srgb((1.0, 1.0, 1.0))), 0.0, 1.0)
    return float(red), float(green), float(blue)


@cache
def _to_daylight(light: str, observer: int) -> Array:
    """What takes XYZ (3,) under a light to daylight."""
    return adaptation_matrix(white(light, observer), white("D65", observer))


def nearest_in_slope(
    guess: Array, xyz: Array, matrix: Array, lowest: float | Array, highest: float | Array
) -> Array:
    """Return the spectrum (36,) within bounds that has XYZ and follows the slopes of a guess.

    ``matrix`` (36, 3) takes a spectrum to XYZ. Least squares with bounds, so XYZ is met only if
    the bounds allow it.
    """
    from scipy.optimize import lsq_linear

    system = np.vstack([_SLOPES, _HELD * matrix.T / 100])
    right = np.concatenate([_SLOPES @ guess, _HELD * xyz / 100])
    floor = np.broadcast_to(lowest, (BANDS,))
    # equal bounds are not taken by the solver
    ceiling = np.maximum(np.broadcast_to(highest, (BANDS,)), floor + 1e-12)
    return np.asarray(lsq_linear(system, right, (floor, ceiling), method="bvls").x)


def _checked(name: str, found: Array, wanted: Array, light: str, observer: int) -> Array:
    reached = lab_from_xyz(found @ weights(light, observer), light, observer)
    if not float(delta_e(reached, wanted)) <= REPRODUCED:
        rule = f"a colour that a surface can have under {light} (no band above its bound)"
        raise refuse(name, rule, wanted.tolist())
    return found


def _newton(xyz: Array, matrix: Array, floor: float, ceiling: float) -> tuple[Array, bool]:
    """Spectrum of the least squared steps of z, and whether Newton's method got there."""
    pull, goal = matrix / 100, xyz / 100
    size = (ceiling - floor) / 2
    equations = np.zeros((BANDS + 3, BANDS + 3))
    stiffness = _SLOPES.T @ _SLOPES
    z, force = np.zeros(BANDS), np.zeros(3)
    diagonal = np.arange(BANDS)
    for _ in range(30):
        shape = np.tanh(z)
        slope = size * (1 - shape**2)
        missed = pull.T @ (floor + size * (1 + shape)) - goal
        load = pull @ force
        right = np.concatenate([stiffness @ z + slope * load, missed])
        if np.abs(right).max() < 1e-9:
            return floor + size * (1 + shape), True
        equations[:BANDS, :BANDS] = stiffness
        equations[diagonal, diagonal] -= 2 * shape * slope * load
        equations[:BANDS, BANDS:] = slope[:, None] * pull
        equations[BANDS:, :BANDS] = equations[:BANDS, BANDS:].T
        try:
            step = np.linalg.solve(equations, right)
        except np.linalg.LinAlgError:
            break
        # beyond a few units tanh is flat and the step means nothing
        shrink = min(1.0, 3.0 / float(np.abs(step[:BANDS]).max() + 1e-12))
        z, force = z - shrink * step[:BANDS], force - shrink * step[BANDS:]
        if not (np.isfinite(z).all() and np.abs(z).max() < 50):
            break
    return np.zeros(BANDS), False
