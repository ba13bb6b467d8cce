"""How much of its bend a limb keeps against one thing at a time: wire size, hold, rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from data.rules import check_kind, check_numbers, refuse
from flexcalc.build.life import tightest_radius
from flexcalc.compare.batch import fitted_wires, posed_wires
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.trade import METRIC, trade_sizes, wire_name
from flexcalc.spread.likely_limbs import unit_points
from flexcalc.spread.sample import BAND, Band, sample_pose
from flexcalc.verdict.plan import LimbPlan

SAMPLES, TIME_SAMPLES = 16, 48
"""Likely limbs behind a point: they tell a share within 0.03, enough for a line."""
HOLDS = (1.0, 5.0, 30.0, 120.0, 600.0, 3600.0)
RESTS = (0.0, 60.0, 600.0, 3600.0, 21600.0, 86400.0)
LIVES = (5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
THINNEST, THICKEST = 1e-3, 4.2e-3


@dataclass(frozen=True, kw_only=True)
class SizePoint:
    """What a limb keeps of its worst bend with one wire, called ``name`` where it is sold."""

    wire: Wire
    name: str
    share: Band


@dataclass(frozen=True, kw_only=True)
class TimePoint:
    """What a limb keeps of its worst bend at a ``time`` [s]."""

    time: float
    share: Band


@dataclass(frozen=True, kw_only=True)
class LifePoint:
    """The tightest ``radius`` [m] at which a wire bears so many ``re_poses``, by the most hopeful
    law and safe by every law."""

    re_poses: float
    hopeful: float
    safe: float


def share_by_size(
    plan: LimbPlan, metals: Sequence[Metal], system: str = METRIC
) -> tuple[SizePoint, ...]:
    """Return what a limb keeps with single wires of some metals in the sizes of one system.

    Parameters
    ----------
    plan : LimbPlan
        The limb; its channel is that of each wire.
    metals : sequence of Metal
        1 to 40.
    system : str
        "metric", "AWG" or "SWG".

    Returns
    -------
    tuple of SizePoint
        By metal, thin to thick; a wire that does not go into the limb is left out.

    Raises
    ------
    ValueError
        For arguments that are none.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    if not isinstance(metals, list | tuple) or not 1 <= len(metals) <= 40:
        raise refuse("metals", "a list of 1 to 40 metals", metals)
    for metal in metals:
        check_kind("metals", metal, Metal, "a list of Metal")
    sizes = [
        size.diameter
        for size in trade_sizes()
        if size.system == system and THINNEST <= size.diameter <= THICKEST
    ]
    if not sizes:
        raise refuse("system", "one of metric, AWG, SWG", system)
    wires = [Wire(metal=metal, diameter=size) for metal in metals for size in sizes]
    fitted, _ = fitted_wires(plan.limb, plan.setting, wires, plan.printer, plan.orientation)
    if not fitted:
        return ()
    worst = posed_wires(fitted, plan.setting, plan.printer, unit_points(SAMPLES, 0)).worst
    low, middle, high = np.quantile(worst, (BAND[0], 0.5, BAND[1]), axis=1)
    return tuple(
        SizePoint(
            wire=one.wire,
            name=wire_name(one.wire),
            share=Band(median=float(middle[k]), low=float(low[k]), high=float(high[k])),
        )
        for k, one in enumerate(fitted)
    )


def share_by_hold(plan: LimbPlan, holds: Sequence[float] = HOLDS) -> tuple[TimePoint, ...]:
    """Return what a limb keeps after being held in the hand for some times. [s]"""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    times = check_numbers("holds", holds, least=0.0, most=1e9, unit="s").ravel().tolist()
    return tuple(_at(plan, time, replace_hold=True) for time in times)


def share_by_rest(plan: LimbPlan, rests: Sequence[float] = RESTS) -> tuple[TimePoint, ...]:
    """Return what a limb keeps some times after it was let go. [s]"""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    times = check_numbers("rests", rests, least=0.0, most=1e9, unit="s").ravel().tolist()
    return tuple(_at(plan, time, replace_hold=False) for time in times)


def life_by_radius(wire: Wire, lives: Sequence[float] = LIVES) -> tuple[LifePoint, ...]:
    """Return how tightly a wire can be bent for some numbers of re-poses, each 1 or more."""
    check_kind("wire", wire, Wire, "a Wire")
    counts = check_numbers("lives", lives, least=1.0, most=1e6).ravel().tolist()
    found = []
    for count in counts:
        radii = tightest_radius(wire, count)
        found.append(LifePoint(re_poses=count, hopeful=radii.low, safe=radii.high))
    return tuple(found)


def _at(plan: LimbPlan, time: float, *, replace_hold: bool) -> TimePoint:
    changed = {"hold_time": time} if replace_hold else {"rest_time": time}
    sample = sample_pose(
        plan.limb,
        replace(plan.setting, **changed),  # type: ignore[arg-type]
        samples=TIME_SAMPLES,
        wanted_share=plan.wish.share,
        sag_limit=plan.wish.sag,
        printer=plan.printer,
        re_poses=plan.wish.re_poses,
    )
    return TimePoint(time=time, share=sample.worst_share)
