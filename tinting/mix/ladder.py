"""The ladder: what more alcohol and more coats make of one mix, as a grid to look along."""

from __future__ import annotations

from dataclasses import dataclass, field

from data.rules import check_kind
from tinting.colour.colorimetry import delta_e
from tinting.mix.appearance import look
from tinting.mix.batch import volume_share
from tinting.mix.plan import TintPlan
from tinting.skin.dyed import tint

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
    rows = tuple(_dilution(plan, share / own, share, light) for share in shares)
    places = [(row, column) for row in range(len(rows)) for column in range(len(COATS))]
    nearest = min(places, key=lambda place: rows[place[0]].rungs[place[1]].difference)
    return Ladder(rows=rows, nearest=nearest, planned=shares.index(own))


def _dilution(plan: TintPlan, scale: float, share: float, light: str) -> Dilution:
    mix = [(dye, min(part * scale, 1.0)) for dye, part in plan.mix]
    rungs = []
    for coats in COATS:
        dyed = tint(plan.base, mix, coats, hand=plan.hand)
        seen = look("rung", dyed.reflectance, light)
        away = float(delta_e(dyed.lab(), plan.target))
        rungs.append(Rung(coats=coats, lab=seen.lab, hex=seen.hex, difference=away))
    return Dilution(share=share, rungs=tuple(rungs))
