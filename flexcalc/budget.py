"""How many limbs are drawn where each takes very long, and what is said of it.

The count follows from the work of the first limbs, never from a clock: a seed gives the same
answer everywhere.
"""

from __future__ import annotations

import math

from data.rules import Caution

MOST_WORK = 3e6
"""Moments to work out for up to `USUAL` limbs, below a second; above that fewer are computed."""
USUAL = 4096


def bearable_count(
    count: int, limbs: int, work: float, least: int, most_work: float = MOST_WORK
) -> int:
    """Return how many samples of so many ``limbs`` each are computed where ``count`` are wanted.

    All of them, or where the ``work`` for one limb is far above the usual a power of two, at
    least ``least``; ``most_work`` as `MOST_WORK`.
    """
    bearable = most_work * max(1.0, count * limbs / USUAL) / (work * limbs)
    if bearable >= count:
        return count
    return max(min(least, count), 1 << int(math.log2(max(bearable, 1.0))))


def fewer_cautions(worked_out: int, asked: int) -> tuple[Caution, ...]:
    """Return the caution where fewer limbs were worked out than asked for."""
    if worked_out == asked:
        return ()
    text = (
        f"A limb so far overloaded or wound up is slow to follow: {worked_out} cases stand for "
        f"the {asked} asked for, and a probability may be off by {worked_out**-0.5:.0%}."
    )
    return (Caution(key="fewer cases", text=text),)
