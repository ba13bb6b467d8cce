"""How long to cut a wire: the channel's length and, at both ends, what is bent over to hold it."""

from __future__ import annotations

import math

from data import read_table
from data.rules import check_kind
from flexcalc.limb.inputs import Limb, Wire


def end_bend(wire: Wire) -> tuple[float, float]:
    """Return how a wire's end is bent over by 90 degrees: inside radius and straight leg. [m]

    Source: rows "end bend" of the table of constants.
    """
    check_kind("wire", wire, Wire, "a Wire")
    rows = read_table("constants")["end bend"]
    return rows["inside_radius"].value * wire.diameter, rows["leg"].value * wire.diameter


def end_length(wire: Wire) -> float:
    """Return the length of wire that one end bent over takes. [m]

    Notes
    -----
    A quarter turn of the wire's middle and the leg; a round wire bent gently keeps its middle's
    length.
    """
    radius, leg = end_bend(wire)
    return math.pi / 2 * (radius + wire.diameter / 2) + leg


def cut_length(limb: Limb) -> float:
    """Return how long to cut each strand of a limb's wire, both ends bent over. [m]

    0 for a limb without a wire.
    """
    check_kind("limb", limb, Limb, "a Limb")
    if limb.wire is None:
        return 0.0
    return limb.length + 2 * end_length(limb.wire)
