"""A richer synthetic truth for tinting, to try the fit on blind. Invented, and no real part.

It shares no code and no formula with the fit: the dyed skin is a pile of thin two-flux sheets
in which the dye fades with depth, over a bulk with its own absorption and scattering and
whatever lies behind it. Dye goes in with a softer or harder saturation than the fit supposes,
each coat carries off some of what is there and drives the rest deeper, absorption bands shift
and widen with load, gloss leaks into the reading, the brush scatters and the reading is noisy.

`python -m tests.scripts.tint_table` prints its errors beside two plain ways of mixing sRGB.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))

from tinting.colour.colorimetry import lab

GRID = np.arange(380.0, 731.0, 10.0)
SHEETS = 12
Spectrum = np.ndarray


@dataclass(frozen=True, kw_only=True)
class Part:
    """A printed part: bulk and surface. Lengths in mm, coefficients per mm."""

    absorption: Spectrum
    scattering: Spectrum
    thickness: float
    behind: float
    depth: float
    entering: float
    returning: float
    leak: float
    kind: str


@dataclass(frozen=True, kw_only=True)
class TrueDye:
    """Bands (centre, width, height) and how the dye goes in."""

    bands: tuple[tuple[float, float, float], ...]
    floor: float
    capacity: float
    hardness: float
    carried_off: float
    drive: float
    shift: float
    widening: float

    def spectrum(self, load: np.ndarray) -> np.ndarray:
        """Areal absorption per unit load, (..., 36) for loads (...)."""
        crowding = (load / (load + self.capacity))[..., None]
        total = np.full(load.shape + GRID.shape, self.floor)
        for centre, width, height in self.bands:
            wide = width * (1 + self.widening * crowding)
            off = (GRID - centre - self.shift * crowding) / wide
            total = total + height * np.exp(-0.5 * off**2) * width / wide
        return total


@dataclass(frozen=True, kw_only=True)
class Manner:
    """What sort of world: spread of the truth and of the hand and the reading."""

    kind: str = "translucent"
    band_width: tuple[float, float] = (22.0, 50.0)
    capacity: tuple[float, float] = (0.69, 0.7)
    brush: float = 0.10
    noise: float = 0.6


def make_part(
    rng: np.random.Generator, kind: str, coloured: bool = False, like: Part | None = None
) -> Part:
    """Return a part of natural translucent or pigmented opaque material.

    How deep the dye goes differs from plastic to plastic, and less from a part ``like`` it.
    """
    usual, spread = (0.05, 0.6) if like is None else (like.depth, 0.2)
    wobble = rng.uniform(0.7, 1.4)
    edge = np.exp(-(GRID - 380) / rng.uniform(20, 45))
    if kind == "translucent":
        scattering = 1.4 * wobble * (550 / GRID) ** rng.uniform(0.3, 1.2)
        absorption = rng.uniform(0.01, 0.04) + rng.uniform(0.05, 0.3) * edge
    else:
        scattering = 18.0 * wobble * (550 / GRID) ** rng.uniform(-0.1, 0.6)
        absorption = rng.uniform(0.05, 0.3) + rng.uniform(0.5, 4.0) * edge
        if coloured:
            bump = np.exp(-0.5 * ((GRID - rng.uniform(400, 700)) / rng.uniform(30, 70)) ** 2)
            absorption = absorption + rng.uniform(1.0, 12.0) * bump
    return Part(
        absorption=absorption,
        scattering=scattering,
        thickness=rng.uniform(1.5, 3.0),
        behind=rng.uniform(0.3, 0.85),
        depth=usual * np.exp(spread * rng.standard_normal()),
        entering=rng.uniform(0.034, 0.046),
        returning=rng.uniform(0.56, 0.63),
        leak=rng.uniform(0.008, 0.028),
        kind=kind,
    )


def make_dye(rng: np.random.Generator, manner: Manner) -> TrueDye:
    """Return a dye of one to three bands."""
    strength = np.exp(rng.uniform(np.log(1.5), np.log(7.0)))
    centre = rng.uniform(400, 680)
    bands = [(centre, rng.uniform(*manner.band_width), strength)]
    for _ in range(rng.integers(0, 3)):
        share = rng.uniform(0.1, 0.6)
        offset = rng.choice([-1, 1]) * rng.uniform(40, 150)
        bands.append((centre + offset, rng.uniform(*manner.band_width), strength * share))
    return TrueDye(
        bands=tuple(bands),
        floor=strength * rng.uniform(0.003, 0.03),
        capacity=np.exp(manner.capacity[0] + manner.capacity[1] * rng.standard_normal()),
        hardness=rng.uniform(0.85, 1.4),
        carried_off=float(np.clip(0.13 + 0.10 * rng.standard_normal(), 0.0, 0.5)),
        drive=rng.uniform(0.0, 0.15),
        shift=rng.normal(0.0, 8.0),
        widening=rng.uniform(0.0, 0.25),
    )


def paint(
    part: Part, mix: Sequence[tuple[TrueDye, float]], coats: int, brush: float = 1.0
) -> np.ndarray:
    """Return the reflectance (36,) that an ideal instrument reads from the dyed part.

    ``brush`` multiplies what each coat brings: 1 is the coat that was meant.
    """
    return paint_layers(part, [dye for dye, _ in mix], [[s for _, s in mix]] * coats, brush)


def paint_layers(
    part: Part, dyes: Sequence[TrueDye], layers: Sequence[Sequence[float]], brush: float = 1.0
) -> np.ndarray:
    """Return the same for coats of mixes that change: ``layers`` are the shares of each."""
    loads, mix = np.zeros(len(dyes)), [(dye, 0.0) for dye in dyes]
    for shares in layers:
        mix = list(zip(dyes, shares, strict=True))
        # alcohol carries dye off, the thinner the coat the more so
        for j, (dye, share) in enumerate(mix):
            loads[j] = loads[j] * (1 - dye.carried_off * (1.1 - 0.3 * share)) + share * brush
    coats = len(layers)
    crowd = sum(load / dye.capacity for load, (dye, _) in zip(loads, mix, strict=True))
    areal = np.zeros(GRID.size)
    drive = 0.0
    for load, (dye, _) in zip(loads, mix, strict=True):
        held = load / (1 + crowd**dye.hardness) ** (1 / dye.hardness)
        areal += held * dye.spectrum(np.array(held))
        drive += dye.drive * load / max(loads.sum(), 1e-12)
    return _seen(part, _pile(part, areal, part.depth * (1 + drive * max(coats - 1, 0))))


def bare(part: Part) -> np.ndarray:
    """Return the reflectance (36,) of the undyed part."""
    return paint(part, [], 0)


def read_lab(rng: np.random.Generator, reflectance: np.ndarray, noise: float) -> np.ndarray:
    """Return a CIELAB reading (3,) with ``noise`` as the spread of each of L*, a*, b*."""
    reading = lab(reflectance) + noise * rng.standard_normal(3)
    return np.clip(reading, [0.0, -200.0, -200.0], [100.0, 200.0, 200.0])


def brush_factor(rng: np.random.Generator, manner: Manner) -> float:
    """Return how much more or less than meant a hand lays on."""
    return float(np.exp(manner.brush * rng.standard_normal()))


def _pile(part: Part, areal: np.ndarray, depth: float) -> np.ndarray:
    """Reflectance inside the surface: sheets from the backing up, dye fading with depth."""
    edges = depth * np.linspace(0.0, 4.0, SHEETS + 1)
    held = -np.diff(np.exp(-edges / depth)) / (1 - np.exp(-4.0))
    bulk = part.thickness - edges[-1]
    below, _ = _sheet(part.absorption, part.scattering, bulk, np.full(GRID.size, part.behind))
    for top, bottom, share in zip(edges[-2::-1], edges[:0:-1], held[::-1], strict=True):
        height = bottom - top
        below, _ = _sheet(part.absorption + areal * share / height, part.scattering, height, below)
    return below


def _sheet(
    absorption: np.ndarray, scattering: np.ndarray, height: float, below: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Reflectance of a sheet over ``below``, and its transmittance (two-flux, stacked)."""
    root = np.sqrt(absorption * (absorption + 2 * scattering))
    sinh, cosh = np.sinh(root * height), np.cosh(root * height)
    bottom = (absorption + scattering) * sinh + root * cosh
    own, through = scattering * sinh / bottom, root / bottom
    return own + through**2 * below / (1 - own * below), through


def _seen(part: Part, inside: np.ndarray) -> np.ndarray:
    """What leaves through the surface, and the gloss that leaks into the reading."""
    out = (1 - part.entering) * (1 - part.returning) * inside / (1 - part.returning * inside)
    return part.leak + out


def plain_srgb(reflectance_lab: np.ndarray) -> np.ndarray:
    """Return encoded sRGB (..., 3), clipped, from CIELAB under D65 for 10 degree."""
    reading = np.asarray(reflectance_lab, dtype=float)
    fy = (reading[..., 0] + 16) / 116
    f = np.stack([fy + reading[..., 1] / 500, fy, fy - reading[..., 2] / 200], axis=-1)
    ratio = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29))
    linear = np.clip(ratio @ TO_LINEAR.T, 0, 1)
    return np.where(linear > 0.0031308, 1.055 * linear ** (1 / 2.4) - 0.055, 12.92 * linear)


def plain_lab(srgb: np.ndarray) -> np.ndarray:
    """Return CIELAB of encoded sRGB, the inverse of `plain_srgb`."""
    value = np.asarray(srgb, dtype=float)
    linear = np.where(value > 0.04045, ((value + 0.055) / 1.055) ** 2.4, value / 12.92)
    ratio = linear @ np.linalg.inv(TO_LINEAR).T
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1
    )


# white-relative XYZ to linear sRGB: the usual matrix with its rows scaled to sum to 1
TO_LINEAR = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
) * np.array([0.9505, 1.0, 1.089])
TO_LINEAR = TO_LINEAR / TO_LINEAR.sum(axis=1, keepdims=True)
