"""The free wire between the fingers and the mouth of the channel: how hard it can be pushed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import read_table
from data.rules import Caution, check_kind, check_number
from flexcalc.inputs import Wire
from flexcalc.wire import yield_stress

EFFECTIVE_LENGTH = math.pi / 4.493409457909064
"""Fixed in the fingers, pinned at the mouth: pi over the first root of tan x = x, 0.6992."""


@dataclass(frozen=True, kw_only=True)
class FreeWire:
    """How a free length of wire gives way under a push.

    ``load`` [N] is Euler's and ``stress`` [Pa] the compression at it; ``elastic`` tells whether
    the wire is still elastic there. ``bearable_load`` [N] is Euler's load, or where the wire
    yields before it the lower one with the tangent modulus.
    """

    load: float
    stress: float
    elastic: bool
    bearable_load: float
    cautions: tuple[Caution, ...]


def buckling_load(wire: Wire, free_length: float) -> FreeWire:
    """Return the push at which a free length of wire buckles.

    Parameters
    ----------
    wire : Wire
        Twisted strands buckle one by one.
    free_length : float
        Between fingers and mouth, 0.1 mm to 10 m. [m]

    Returns
    -------
    FreeWire

    Notes
    -----
    Source: Euler 1744, effective length 0.6992; Engesser's tangent modulus beyond yield, which
    for K eps^n is K (n c)^n at c = (pi i / (0.6992 L))^2 with i the radius of gyration.
    """
    check_kind("wire", wire, Wire, "a Wire")
    length = check_number("free length", free_length, least=1e-4, most=10.0, unit="m")
    share = (math.pi * wire.diameter / 4 / (EFFECTIVE_LENGTH * length)) ** 2
    metal, virgin, area = wire.metal, yield_stress(wire), _area(wire)
    stress = metal.elastic_modulus * share
    hardened = virgin
    if metal.yield_stress is None and metal.hardening_exponent > 0:
        exponent = metal.hardening_exponent
        hardened = metal.strength_coefficient * (exponent * share) ** exponent
    bearable = min(stress, max(virgin, hardened))
    proportional = read_table("constants")["free wire"]["proportional_share"].value * virgin
    elastic = stress <= proportional
    text = "The wire yields before it buckles: it kinks at the mouth, and stays kinked."
    return FreeWire(
        load=stress * area,
        stress=stress,
        elastic=elastic,
        bearable_load=bearable * area,
        cautions=() if elastic else (Caution(key="free wire yields", text=text),),
    )


def push_stroke(wire: Wire, force: float) -> float:
    """Return the longest free length of wire that takes a push, the inverse of `buckling_load`.

    Parameters
    ----------
    wire : Wire
        The wire between the fingers and the mouth.
    force : float
        Push along the wire, 1e-6 to 1e12. [N]

    Returns
    -------
    float
        Grip the wire at most this far from the mouth; 0 if no length takes the push. [m]
    """
    check_kind("wire", wire, Wire, "a Wire")
    push = check_number("push force", force, least=1e-6, most=1e12, unit="N")
    metal, virgin = wire.metal, yield_stress(wire)
    stress = push / _area(wire)
    share = stress / metal.elastic_modulus
    if stress > virgin:
        exponent = metal.hardening_exponent
        if metal.yield_stress is not None or exponent == 0:
            return 0.0
        growth = math.log(stress / metal.strength_coefficient) / exponent - math.log(exponent)
        if growth > 600:
            return 0.0
        share = max(share, math.exp(growth))
    return math.pi * wire.diameter / 4 / (EFFECTIVE_LENGTH * math.sqrt(share))


def _area(wire: Wire) -> float:
    return wire.strands * math.pi / 4 * wire.diameter**2
