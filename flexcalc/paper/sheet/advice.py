"""Advice on the build sheet: what would help, how the limb does in each of its poses."""

from __future__ import annotations

import math

from data.sheet import Block, Grid, Listing, Words
from flexcalc.limb.inputs import Bend
from flexcalc.paper.answers import poses_of, remedies_for, windows_for
from flexcalc.verdict.plan import LimbPlan, NamedPose
from flexcalc.verdict.remedy import Remedy
from flexcalc.verdict.verdict import Verdict

STATES = {"holds": "holds", "close": "close", "fails": "does not hold"}


def poses_part(plan: LimbPlan) -> list[tuple[str, tuple[Block, ...]]]:
    """Return the part that tells of a limb's poses one after the other, none for a single one."""
    found = poses_of(plan)
    if found is None:
        return []
    pairs = zip(plan.poses, found.verdicts, strict=True)
    grid = Grid(
        caption="Each pose coming from the one before it, over and over",
        head=("pose", "its bends", "keeps", "tip sags", "will it do"),
        rows=tuple(_pose_row(pose, verdict) for pose, verdict in pairs),
    )
    return [("its poses", (Words(text=found.sentence), grid))]


def _pose_row(pose: NamedPose, verdict: Verdict) -> tuple[str, ...]:
    bends = "; ".join(
        f"{number}: {bend_words(bend)}"
        for number, bend in enumerate(pose.setting.bends, start=1)
        if bend.angle
    )
    sample = verdict.likely
    return (
        pose.name,
        bends or "straight",
        f"{sample.worst_share.median:.0%}",
        f"{sample.tip_sag.median * 1e3:.1f} mm",
        f"{STATES[verdict.state]}, {sample.probability:.0%}",
    )


def bend_words(bend: Bend) -> str:
    """Return a bend in words: how far, how tight, and how it is turned out of the plane."""
    said = f"{math.degrees(bend.angle):.0f}° at R {bend.radius * 1e3:.0f} mm"
    turned = math.remainder(bend.swing, 2 * math.pi)
    if not bend.angle or abs(turned) < math.radians(0.5):
        return said
    side = "left" if turned > 0 else "right"
    return f"{said}, swung {abs(math.degrees(turned)):.0f}° to the {side}"


def remedies_part(plan: LimbPlan) -> list[tuple[str, tuple[Block, ...]]]:
    """Return the part that tells what would make a limb hold, none where it does."""
    found = remedies_for(plan)
    if not found:
        return []
    grid = Grid(
        caption="What helps, the cheapest first; each is a change of this plan",
        head=("do this", "keeps of the bend", "four of five", "holds with"),
        rows=tuple(_remedy_row(remedy) for remedy in found),
    )
    return [("what would make it hold", (grid,))]


def _remedy_row(remedy: Remedy) -> tuple[str, ...]:
    band = remedy.band
    return (
        remedy.title,
        f"{remedy.share:.0%}",
        f"{band.low:.0%} to {band.high:.0%}",
        f"{remedy.probability:.0%}",
    )


def windows_part(plan: LimbPlan) -> list[tuple[str, tuple[Block, ...]]]:
    """Return the part for strangers: which readings say that the plan holds with their spools.

    None without a wire or a bend.
    """
    if not _has_windows(plan):
        return []
    found = windows_for(plan)
    sure = f"{found.probability:.0%}"
    words = Words(text=f"Inside all of these it holds with {sure} or more. {found.sentence}")
    listed = Listing(items=tuple(window.sentence for window in found.windows))
    return [("what to measure with your own spool and wire", (words, listed))]


def window_lines(plan: LimbPlan) -> list[str]:
    """Return the same in lines of text."""
    if not _has_windows(plan):
        return []
    found = windows_for(plan)
    lines = [f"With another spool and wire: {found.sentence}"]
    return lines + [f"Go: {window.sentence}" for window in found.windows]


def _has_windows(plan: LimbPlan) -> bool:
    return plan.limb.wire is not None and bool(plan.setting.bends)


def advice_lines(plan: LimbPlan) -> list[str]:
    """Return what is said of poses and of what would help, in lines of text."""
    found = poses_of(plan)
    lines = [] if found is None else [f"In its poses: {found.sentence}"]
    return lines + [f"What helps: {remedy.sentence}" for remedy in remedies_for(plan)]
