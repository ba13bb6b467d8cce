"""How hard a free length of wire can be pushed: the second route to `push_stroke`.

Euler 1744 with one end held and the other pinned; beyond yield Engesser's tangent modulus, which
for K eps^n is K (n c)^n at c = (pi i / (0.6992 L))^2 with i the radius of gyration.
"""

from __future__ import annotations

import math

from flexcalc.build.insertion import EFFECTIVE_LENGTH
from flexcalc.limb.inputs import Wire
from flexcalc.wire.bending import yield_stress


def euler_stress(wire: Wire, length: float) -> float:
    """Compression [Pa] at which a free length [m] buckles while it is elastic."""
    share = (math.pi * wire.diameter / 4 / (EFFECTIVE_LENGTH * length)) ** 2
    return wire.metal.elastic_modulus * share


def bearable_load(wire: Wire, length: float) -> float:
    """Push [N] that a free length [m] bears."""
    metal, hardened = wire.metal, yield_stress(wire)
    stress = euler_stress(wire, length)
    if metal.yield_stress is None and metal.hardening_exponent > 0:
        strain = metal.hardening_exponent * stress / metal.elastic_modulus
        hardened = max(hardened, metal.strength_coefficient * strain**metal.hardening_exponent)
    return min(stress, hardened) * wire.strands * math.pi / 4 * wire.diameter**2
