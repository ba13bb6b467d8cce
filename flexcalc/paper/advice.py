"""Advice on the build sheet: what would help, how the limb does in each of its poses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from data.sheet import Block, Grid, Listing, Words
from flexcalc.paper.answers import poses_of, remedies_for, windows_for
from flexcalc.verdict.checks import Check
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.poses import PosesVerdict
from flexcalc.verdict.remedy import Remedy

MISSING = "–"


def poses_part(plan: LimbPlan) -> list[tuple[str, tuple[Block, ...]]]:
    """Return the part that tells of a limb's poses one after the other, none for a single one."""
    found = poses_of(plan)
    if found is None:
        return []
    keys = _keys(found)
    order = " → ".join((*found.names, found.names[0]))
    grid = Grid(
        caption=f"Every pose with the one before it, over and over: {order}",
        head=("pose", *keys.values()),
        rows=tuple(_row(name, checks, keys) for name, checks in found.matrix),
    )
    return [("its poses", (Words(text=found.sentence), grid))]


def _keys(found: PosesVerdict) -> dict[str, str]:
    """Return the keys of all checks with their questions, in the order in which they come."""
    return {check.key: check.question for verdict in found.verdicts for check in verdict.checks}


def _row(name: str, checks: Sequence[Check], keys: Iterable[str]) -> tuple[str, ...]:
    cells = {check.key: f"{check.state}: {check.answer}" for check in checks}
    return (name, *(cells.get(key, MISSING) for key in keys))


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
    words = Words(text=found.sentence)
    listed = Listing(items=tuple(window.sentence for window in found.windows))
    title = f"with your own spool and wire: measure this, and it holds with {sure} or more"
    return [(title, (words, listed))]


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
