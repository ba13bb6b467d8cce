"""The ladder: what more alcohol and more coats make of one mix, as a grid to look along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from data.rules import check_kind
from tinting.colour.colorimetry import delta_e
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.spectrum import hex_from_lab
from tinting.mix.batch import volume_share
from tinting.mix.plan import TintPlan
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import check_hand
from tinting.skin.uptake import skin_absorption

PARTS_ALCOHOL = (1.0, 3.0, 9.0, 19.0, 39.0, 79.0)
"""Parts of alcohol to one part of dye, strongest first."""
COATS = (1, 2, 3, 4, 5)


@dataclass(frozen=True, kw_only=True)
class Rung:
    """One square of the ladder; ``difference`` is ΔE00 to the target. [dE]"""

    coats: int
    lab: tuple[float, float, float]
    hex: str
    difference: float


@dataclass(frozen=True, kw_only=True)
class Dilution:
    """One row of the ladder: ``share`` of all dyes together, and its rungs by coats."""

    share: float
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, kw_only=True)
class Ladder:
    """Rows from strong to weak; ``nearest`` is (row, column) of the rung nearest the target,
    ``planned`` the row of the plan's own dilution."""

    rows: tuple[Dilution, ...] = field(repr=False)
    nearest: tuple[int, int]
    planned: int


def tint_ladder(plan: TintPlan, light: str = "D65") -> Ladder:
    """Return the ladder of a plan's mix, its dyes in the same proportion throughout.

    Parameters
    ----------
    plan : TintPlan
        With at least one dye in it.
    light : str
        What the squares are looked at under; nearness to the target is always under D65.

    Raises
    ------
    ValueError
        For a plan without dye.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    own = sum(share for _, share in plan.mix)
    if own <= 0:
        raise ValueError("tint mix must be of at least one dye for a ladder; got none")
    usual = [volume_share(1.0, parts) for parts in PARTS_ALCOHOL]
    shares = sorted({own, *(each for each in usual if abs(each - own) > 1e-3 * own)}, reverse=True)
    rows = _dilutions(plan, own, shares, light)
    places = [(row, column) for row in range(len(rows)) for column in range(len(COATS))]
    nearest = min(places, key=lambda place: rows[place[0]].rungs[place[1]].difference)
    return Ladder(rows=rows, nearest=nearest, planned=shares.index(own))


def _dilutions(
    plan: TintPlan, own: float, shares: Sequence[float], light: str
) -> tuple[Dilution, ...]:
    """The rows for some shares of a plan's dyes, ``own`` being theirs as planned; all at once."""
    dyes, parts = zip(*plan.mix, strict=True)
    mixes = np.minimum(np.array(parts) * np.array(shares)[:, None, None] / own, 1.0)
    mixes = np.broadcast_to(mixes, (len(shares), len(COATS), len(dyes)))
    taken = skin_absorption(mixes, np.array(COATS, dtype=float), dyes, hand=check_hand(plan.hand))
    spectra = dyed_reflectance(taken, plan.base)
    away = delta_e(lab_of(spectra), plan.target)
    seen = lab_of(spectra, light)
    return tuple(
        Dilution(
            share=share,
            rungs=tuple(
                _rung(coats, seen[row, place].tolist(), float(away[row, place]), light)
                for place, coats in enumerate(COATS)
            ),
        )
        for row, share in enumerate(shares)
    )


def _rung(coats: int, lab: tuple[float, float, float], away: float, light: str) -> Rung:
    lightness, a, b = lab
    return Rung(coats=coats, lab=(lightness, a, b), hex=hex_from_lab(lab, light), difference=away)
