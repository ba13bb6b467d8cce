"""An invented white paint with tinting pastes that scatter a little, to try fits on. No real paint.

K and S of all parts add up by their shares (two-constant theory), thick, under a surface whose
gloss is in the reading: a body dyed through, which the dyed skin becomes where it scatters much.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tests.tinting.two_flux import internal_reflectance, measured_reflectance
from tinting.colour.colorimetry import lab
from tinting.colour.grid import wavelengths_nm
from tinting.skin.inputs import Base, Swatch

EDGE = np.array([0.23, 0.32, 0.50, 0.72, 0.87, 0.93, 0.95, 0.96, *[1.0] * 28])
"""How a white pigment loses light at the short end, shared/colour.md section 7."""
GLOSS, NOISE, ERROR = 0.04, 0.15, 0.4


@dataclass(frozen=True, kw_only=True)
class Paint:
    """A white paint, and pastes by name: K by share of S of the white (36,), and S."""

    rng: np.random.Generator
    white: np.ndarray
    pastes: Mapping[str, tuple[np.ndarray, float]]

    def base(self, thickness: float) -> Base:
        """The white as its maker knows it."""
        return Base(
            reflectance=self.white, scattering_thickness=thickness, kind="opaque", specular=GLOSS
        )

    def shown(self, shares: Mapping[str, float]) -> np.ndarray:
        """Reflectance (36,) of a mix."""
        inside = internal_reflectance(self.white, GLOSS)
        absorbed, scattered = (1 - inside) ** 2 / (2 * inside), 1.0
        for name, share in shares.items():
            absorbed = absorbed + share * self.pastes[name][0]
            scattered += share * self.pastes[name][1]
        ratio = absorbed / scattered
        return np.asarray(
            measured_reflectance(1 / (1 + ratio + np.sqrt(ratio * (ratio + 2))), GLOSS)
        )

    def swatch(self, shares: Mapping[str, float]) -> Swatch:
        """A read swatch."""
        reading = lab(self.shown(shares)) + NOISE * self.rng.standard_normal(3)
        return Swatch(shares=shares, coats=1, lab=reading, error=ERROR)


def make_paint(seed: int) -> Paint:
    """Return a paint with three pastes of one to three bands, some with an edge."""
    rng = np.random.default_rng(seed)
    pastes = {}
    for name in "abc":
        spectrum = np.full(36, 0.02)
        for _ in range(rng.integers(1, 4)):
            off = (wavelengths_nm - rng.uniform(400, 690)) / rng.uniform(25, 60)
            spectrum = spectrum + rng.uniform(0.3, 1) * np.exp(-0.5 * off**2)
        if rng.random() < 0.4:
            spectrum = spectrum + 1 / (1 + np.exp((wavelengths_nm - rng.uniform(480, 590)) / 12))
        pastes[name] = (spectrum * np.exp(rng.uniform(1.5, 3.5)), rng.uniform(0, 0.6))
    white = 0.88 * EDGE * (1 - 0.03 * (730 - wavelengths_nm) / 350)
    return Paint(rng=rng, white=white, pastes=pastes)
