"""A quick look at very many wires, to leave those near the wish for a closer one."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from flexcalc.compare.batch import FittedWire, posed_wires
from flexcalc.limb.inputs import Setting, Wire
from flexcalc.limb.printer import Printer
from flexcalc.spread.likely_limbs import AXES
from flexcalc.verdict.plan import Wish

BELOW, ABOVE = 1, 1
"""How many sizes are kept below the weakest and above the strongest of interest."""
EVERY = 4
"""Of each metal and number of strands every fourth size is looked at first, from the thickest."""
STIFF = 0.9
"""Place of a stiff elastomer in its spread; a wire that holds that one is strong enough."""


def wires_near_the_wish(
    fitted: Sequence[FittedWire],
    setting: Setting,
    printer: Printer,
    wish: Wish,
    own: Wire | None,
) -> list[FittedWire]:
    """Return, of each metal and number of strands, the sizes around those that just hold.

    Every wire is posed in two limbs, a middling one and one of stiff elastomer. Kept are the
    sizes from just below the first that holds the one to just above the first that holds the
    other, and the ``own`` wire. Where none of every fourth size holds, the sizes between are
    not looked at.
    """
    points = np.full((2, len(AXES)), 0.5)
    points[1, AXES.index("modulus")] = STIFF

    good = np.zeros((len(fitted), len(points)), dtype=bool)

    def look(places: Sequence[int]) -> None:
        found = posed_wires([fitted[place] for place in places], setting, printer, points)
        good[places] = (found.worst >= wish.share) & found.within(wish.sag, wish.tip_within)

    order = sorted(range(len(fitted)), key=lambda place: _key(fitted[place].wire))
    groups = [
        list(group)
        for _, group in itertools.groupby(order, key=lambda place: _key(fitted[place].wire)[:2])
    ]
    first_look = [place for places in groups for place in places[::-EVERY]]
    look(first_look)
    hopeful = [places for places in groups if good[places].any()]
    second_look = sorted({place for places in hopeful for place in places} - set(first_look))
    if second_look:
        look(second_look)
    kept: list[int] = []
    for places in groups:
        middling, stiff = (
            next((rank for rank, place in enumerate(places) if good[place, which]), len(places))
            for which in (0, 1)
        )
        window = places[max(middling - BELOW, 0) : stiff + 1 + ABOVE]
        # where not even the thickest holds it is the one to know about
        kept += window or places[-1:]
    first = [one for one in fitted if one.wire == own]
    others = [fitted[place] for place in kept if fitted[place].wire != own]
    return first + others


def _key(wire: Wire) -> tuple[str, int, float]:
    return wire.metal.name, wire.strands, wire.diameter
