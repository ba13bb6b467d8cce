"""The answers to a limb plan as a whole: its verdict, likely outcomes, wires and picture.

A plan holds everything that these answers need, so page, sheet and command line call these.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from threading import Lock

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, check_kind, check_whole
from flexcalc.compare.wires import WireTable, compare_wires
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.inputs import Limb, Metal, Setting, Wire
from flexcalc.limb.materials import load_metal, metal_names
from flexcalc.limb.printer import Printer
from flexcalc.limb.trade import trade_wires
from flexcalc.paper.pictures.drawing import PAPER, inserted_line, limb_drawing, thickness_along
from flexcalc.pose.pose import Pose, Shape, hangs_slack, hold_pose, shape_in_hand
from flexcalc.spread.sample import PoseSample, sample_pose
from flexcalc.verdict.plan import LimbPlan, Wish
from flexcalc.verdict.poses import PosesVerdict, assess_poses
from flexcalc.verdict.remedy import Remedy, remedies
from flexcalc.verdict.verdict import SAMPLES, Verdict, assess_posed, later_poses
from flexcalc.verdict.window import LEAST_SURE, MOST_SURE, Windows, windows

REMEMBERED = 64
"""Answers of a kind that are kept, so that the same limb, under another name or in another tab,
need not be computed again. One takes up to .2 MB."""


def _asked(plan: LimbPlan) -> tuple[Limb, Setting, Wish, Printer, str]:
    """Return what the answers to a plan depend on: all but its name, poses and mesh."""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return plan.limb, plan.setting, plan.wish, plan.printer, plan.orientation


def verdict_on(plan: LimbPlan) -> Verdict:
    """Return the verdict on a plan's limb, kept for the next time; errors as `assess`.

    It says nothing of later than the plan's rest time, for which see `later_on`.
    """
    return _verdict(*_asked(plan))


def pose_of(plan: LimbPlan) -> Pose | None:
    """Return how a plan's limb rests, kept for the next time; None where it hangs slack.

    It takes a fraction of the time of the verdict, which rests on it; errors as `hold_pose`.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return _pose(plan.limb, plan.setting)


@lru_cache(maxsize=REMEMBERED)
def _pose(limb: Limb, setting: Setting) -> Pose | None:
    return None if hangs_slack(limb, setting) else hold_pose(limb, setting)


@lru_cache(maxsize=REMEMBERED)
def _verdict(
    limb: Limb, setting: Setting, wish: Wish, printer: Printer, orientation: str
) -> Verdict:
    return assess_posed(limb, setting, _pose(limb, setting), wish, printer, orientation)


def later_on(plan: LimbPlan) -> tuple[tuple[str, Pose], ...]:
    """Return a plan's pose "at once", "after an hour" and "after a day", kept for the next time.

    Empty where its limb hangs slack; errors as `hold_pose`.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return _later(plan.limb, plan.setting)


@lru_cache(maxsize=REMEMBERED)
def _later(limb: Limb, setting: Setting) -> tuple[tuple[str, Pose], ...]:
    return later_poses(limb, setting)


def line_to_bend_to(plan: LimbPlan, verdict: Verdict) -> Array | None:
    """Return the centre line (n, 3) [m] of a limb bent further by hand so that the wanted pose is
    left, None where that is the same; kept for the next time."""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    check_kind("verdict", verdict, Verdict, "a Verdict")
    if verdict.made.bends == plan.setting.bends:
        return None
    return _in_hand(plan.limb, verdict.made).points


@lru_cache(maxsize=REMEMBERED)
def _in_hand(limb: Limb, setting: Setting) -> Shape:
    return shape_in_hand(limb, setting)


def poses_of(plan: LimbPlan) -> PosesVerdict | None:
    """Return the verdict on the poses that a plan's limb takes, None for one in a single pose.

    Kept for the next time; errors as `assess_poses`.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return _poses_verdict(plan) if plan.poses else None


@lru_cache(maxsize=REMEMBERED)
def _poses_verdict(plan: LimbPlan) -> PosesVerdict:
    return assess_poses(
        plan.limb, plan.poses, plan.wish, printer=plan.printer, orientation=plan.orientation
    )


def remedies_for(plan: LimbPlan) -> tuple[Remedy, ...]:
    """Return what would make a plan hold, see `remedies`; kept for the next time."""
    return _remedies(*_asked(plan))


@lru_cache(maxsize=REMEMBERED)
def _remedies(
    limb: Limb, setting: Setting, wish: Wish, printer: Printer, orientation: str
) -> tuple[Remedy, ...]:
    return remedies(limb, setting, wish, printer=printer, orientation=orientation)


def windows_for(plan: LimbPlan) -> Windows:
    """Return the readings for which a plan holds with its wanted probability, see `windows`.

    Kept for the next time.
    """
    return _windows(*_asked(plan))


@lru_cache(maxsize=REMEMBERED)
def _windows(
    limb: Limb, setting: Setting, wish: Wish, printer: Printer, orientation: str
) -> Windows:
    sure = min(max(wish.probability, LEAST_SURE), MOST_SURE)
    return windows(limb, setting, sure, wish=wish, printer=printer, orientation=orientation)


def likely_poses(plan: LimbPlan, samples: int = SAMPLES, limb: Limb | None = None) -> PoseSample:
    """Return the likely outcomes of a plan, or of another ``limb`` in its place.

    The same object for the same question; errors as `sample_pose`.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    taken = plan.limb if limb is None else limb
    check_kind("limb", taken, Limb, "a Limb")
    if taken == plan.limb and samples == SAMPLES:
        return verdict_on(plan).likely
    return _likely_poses(plan, taken, check_whole("samples", samples, least=1, most=2**31))


@lru_cache(maxsize=REMEMBERED)
def _likely_poses(plan: LimbPlan, limb: Limb, samples: int) -> PoseSample:
    return sample_pose(
        limb,
        plan.setting,
        samples=samples,
        wanted_share=plan.wish.share,
        sag_limit=plan.wish.sag,
        printer=plan.printer,
        re_poses=plan.wish.re_poses,
        tip_within=plan.wish.tip_within,
    )


def compared(
    plan: LimbPlan,
    metals: Sequence[Metal] | None = None,
    progress: Callable[[float], None] | None = None,
) -> WireTable:
    """Return the wires of the trade compared in a plan's limb, see `compare_wires`.

    Kept for the next time: page, sheet and another tab share it, whatever the limb is called and
    whichever of its wires is in it.
    """
    known = known_wires(plan, metals)
    if known is not None:
        return known
    table = compare_wires(
        plan.limb,
        plan.setting,
        wish=plan.wish,
        printer=plan.printer,
        orientation=plan.orientation,
        metals=metals,
        progress=progress,
    )
    with _ONE_AT_A_TIME:
        _TABLES.setdefault(_wires_question(plan), []).append((_metals(metals), table))
        while len(_TABLES) > REMEMBERED_TABLES:
            _TABLES.pop(next(iter(_TABLES)))
    return table


def known_wires(plan: LimbPlan, metals: Sequence[Metal] | None = None) -> WireTable | None:
    """Return what `compared` would, where it is known already, else None.

    A table of more metals is known for fewer of them too.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    wanted, wire = _metals(metals), plan.limb.wire
    with _ONE_AT_A_TIME:
        tables = list(_TABLES.get(_wires_question(plan), ()))
    for of, table in reversed(tables):
        seen = {row.wire for row in table.rows} | {one.wire for one in table.misfits}
        if not wanted <= of or not (wire is None or wire in seen):
            continue
        return table if of == wanted else _of_metals(table, wanted, wire)
    return None


REMEMBERED_TABLES = 40
_TABLES: dict[Hashable, list[tuple[frozenset[Metal], WireTable]]] = {}
"""Tables of wires by question, each with the metals that were screened."""
_ONE_AT_A_TIME = Lock()


def _metals(metals: Sequence[Metal] | None) -> frozenset[Metal]:
    return frozenset(map(load_metal, metal_names()) if metals is None else metals)


def _wires_question(plan: LimbPlan) -> Hashable:
    """Return what a table hangs on: everything but the wire and the channel drawn for it."""
    limb = plan.limb
    own = (limb.elastomer, limb.outline, limb.length, limb.wall, limb.infill, limb.sleeve,
           limb.infill_pattern, limb.inserted_before, limb.wire_anchored)  # fmt: skip
    channel = (limb.channel_offset, limb.channel_roofed, limb.wire_runs_in_bore)
    return (own, channel, plan.setting, plan.wish, plan.printer, plan.orientation)


def _of_metals(table: WireTable, metals: frozenset[Metal], wire: Wire | None) -> WireTable:
    """Return a table without the rows of other metals than these and a limb's own wire."""
    rows = tuple(row for row in table.rows if row.wire.metal in metals or row.wire == wire)
    misfits = tuple(one for one in table.misfits if one.wire.metal in metals)
    screened = len({*trade_wires(metals=list(metals)), *([wire] if wire else [])})
    return replace(table, rows=rows, misfits=misfits, screened=screened)


def turn_words(plan: LimbPlan, verdict: Verdict) -> str:
    """Say how the load turns the hand of a limb that leaves its plane, and what anchoring its
    wire buys; an empty text for one that stays in it or hangs slack."""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    check_kind("verdict", verdict, Verdict, "a Verdict")
    pose = verdict.pose
    if pose is None or not leaves_plane(plan.limb, plan.setting):
        return ""
    said = f"Under its load the hand turns by {math.degrees(pose.hand_turn):.0f}°."
    if plan.limb.wire is None:
        return said
    return (
        f"{said} The tip sags {1e3 * pose.sag_wire_free:.1f} mm if the wire turns in its "
        f"channel, {1e3 * pose.sag_wire_anchored:.1f} mm if its end is held."
    )


def side_view(
    plan: LimbPlan, verdict: Verdict, fan: Iterable[ArrayLike] = (), *, space: float = PAPER
) -> str:
    """Return the limb from the side as SVG: as set, let go, at rest, and a fan of outcomes.

    A limb that leaves its plane is drawn from above too, with a ``fan`` of lines in space.
    ``space`` [mm] is the longest side of its shapes on paper. An empty text where the limb hangs
    slack and has no shape.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    check_kind("verdict", verdict, Verdict, "a Verdict")
    pose = verdict.pose
    if pose is None:
        return ""
    return limb_drawing(
        pose.shape_set.points,
        pose.shape_released.points,
        pose.shape_at_rest.points,
        thickness_along(plan.limb),
        fan=fan,
        inserted=inserted_line(plan.limb, plan.setting),
        from_above=bool(np.any(pose.shape_at_rest.points[:, 1])),
        payload=plan.setting.payload,
        name=plan.name,
        summary=verdict.sentence,
        space=space,
    )
