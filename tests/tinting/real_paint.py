"""Measured watercolour: what a fit makes of it, swatch by swatch, beside plain interpolation.

Paper is an opaque base, the amount by .12 mL the share, one coat. A dye is fitted alone to 1, 3
or 6 swatches and compared with amounts held out; all dyes in one fit are compared with mixtures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import predict_band
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import Base, Swatch

MEASURED = Path(__file__).parents[1] / "published" / "measured"
WHOLE = 0.12
"""The amount that counts as a share of 1. [mL]"""
PAINTED = {1: (0.04,), 3: (0.01, 0.04, 0.12), 6: (0.01, 0.02, 0.04, 0.06, 0.09, 0.12)}
HELD_OUT = (0.03, 0.05, 0.07, 0.1)
ERROR = 0.4


@dataclass(frozen=True, kw_only=True)
class Paints:
    """Spectra of the paper, of pigments alone by name and amount, and of pairs by their shares."""

    paper: np.ndarray
    alone: Mapping[str, Mapping[float, np.ndarray]]
    mixed: Sequence[tuple[Mapping[str, float], np.ndarray]]

    @property
    def base(self) -> Base:
        """The paper."""
        return Base(
            reflectance=self.paper, scattering_thickness=1.5, kind="opaque", specular=0.0175
        )


@dataclass
class Score:
    """CIEDE2000 of predictions, and the half widths of their 80 % bands."""

    miss: list[float] = field(default_factory=list)
    width: list[float] = field(default_factory=list)

    @property
    def median(self) -> float:
        return float(np.median(self.miss))

    @property
    def tail(self) -> float:
        return float(np.quantile(self.miss, 0.95))

    @property
    def held(self) -> float:
        return float(np.mean(np.array(self.miss) <= np.array(self.width)))

    def line(self) -> str:
        """Median / 95 %, share inside the band, median half width."""
        text = f"{self.median:6.2f} /{self.tail:6.2f}"
        if self.width:
            text += f"   {self.held:5.0%}   {np.median(self.width):6.2f}"
        return text


def read_paints(
    alone: Path = MEASURED / "watercolour.csv",
    mixed: Path | None = MEASURED / "watercolour_mixtures.csv",
) -> Paints:
    """Return the measured spectra; pairs of pigments not in the first file are left out."""
    paper, found = np.zeros(36), dict[str, dict[float, np.ndarray]]()
    for name, amount, *values in _rows(alone):
        spectrum = np.array(values, dtype=float)
        if name == "paper":
            paper = spectrum
        else:
            found.setdefault(name, {})[round(float(amount), 6)] = spectrum
    pairs = []
    for one, first, other, second, *values in _rows(mixed) if mixed else []:
        amounts = float(first), float(second)
        if one in found and other in found and sum(amounts) <= WHOLE + 1e-9:
            shares = {one: amounts[0] / WHOLE, other: amounts[1] / WHOLE}
            pairs.append((shares, np.array(values, dtype=float)))
    return Paints(paper=paper, alone=found, mixed=pairs)


def painted(paints: Paints, name: str, count: int, spectra: bool) -> list[Swatch]:
    """Return the first swatches of a pigment alone."""
    return [
        Swatch(
            shares={name: amount / WHOLE},
            coats=1,
            lab=lab(paints.alone[name][amount]),
            error=ERROR,
            reflectance=paints.alone[name][amount] if spectra else None,
        )
        for amount in PAINTED[count]
    ]


def score_recipe(score: Score, fit: DyeFit, shares: Mapping[str, float], read: np.ndarray) -> None:
    """Add what a fit makes of one recipe."""
    shown = tint(fit.base, [(fit.dyes[name], share) for name, share in shares.items()], 1).lab()
    score.miss.append(float(delta_e(shown, lab(read))))
    score.width.append(predict_band(fit, shares, 1, error=ERROR).radius)


def alone(paints: Paints, count: int, spectra: bool) -> Score:
    """Return the score of amounts held out, one pigment a fit."""
    score = Score()
    for name, ramp in paints.alone.items():
        fit = fit_dyes(paints.base, painted(paints, name, count, spectra))
        for amount in HELD_OUT:
            score_recipe(score, fit, {name: amount / WHOLE}, ramp[amount])
    return score


def mixtures(paints: Paints, count: int, spectra: bool) -> Score:
    """Return the score of pairs, from one fit to all pigments alone."""
    score = Score()
    every = [s for name in paints.alone for s in painted(paints, name, count, spectra)]
    fit = fit_dyes(paints.base, every)
    for shares, read in paints.mixed:
        score_recipe(score, fit, shares, read)
    return score


def interpolated(paints: Paints, count: int) -> Score:
    """Return the score of plain interpolation of encoded sRGB between the swatches."""
    from tests.tinting.world import plain_lab, plain_srgb

    score = Score()
    for ramp in paints.alone.values():
        at = (0.0, *PAINTED[count])
        known = plain_srgb(lab(np.array([paints.paper, *(ramp[a] for a in PAINTED[count])])))
        for amount in HELD_OUT:
            shown = [np.interp(amount, at, known[:, k]) for k in range(3)]
            score.miss.append(float(delta_e(plain_lab(np.array(shown)), lab(ramp[amount]))))
    return score


def _rows(path: Path) -> list[list[str]]:
    lines = [line for line in path.read_text().splitlines() if line and line[0] != "#"]
    return [line.split(",") for line in lines[1:]]
