"""A wire that is twisted: its torsional rigidity, and the torque at which it yields.

Source: torsion of a circle and von Mises' yield, any strength-of-materials text (from memory).
"""

from __future__ import annotations

import math

from data import read_table
from data.rules import check_kind
from flexcalc.limb.inputs import Wire
from flexcalc.limb.substances import YIELD_OFFSET, Metal

TRIES = 60


def wire_poisson_ratio() -> float:
    """Return Poisson's ratio of armature wires, about the same for all of their metals."""
    return read_table("constants")["wire"]["poisson_ratio"].value


def torsional_rigidity_of(wire: Wire) -> float:
    """Return GJ of a wire, its strands added: its flexural rigidity over 1 + nu. [N m2]"""
    check_kind("wire", wire, Wire, "a Wire")
    bending = wire.strands * wire.metal.elastic_modulus * math.pi * wire.diameter**4 / 64
    return float(bending / (1 + wire_poisson_ratio()))


def yield_torque(wire: Wire) -> float:
    """Return the torque at which a virgin wire yields for good, its strands added. [N m]

    Its surface then bears the proof stress over the root of 3.
    """
    check_kind("wire", wire, Wire, "a Wire")
    shear = proof_stress(wire.metal) / math.sqrt(3)
    return float(wire.strands * shear * math.pi * wire.diameter**3 / 16)


def proof_stress(metal: Metal) -> float:
    """Return the stress that leaves a plastic strain of 0.2 % in a virgin metal. [Pa]"""
    check_kind("metal", metal, Metal, "a Metal")
    strength, exponent = metal.strength_coefficient, metal.hardening_exponent
    if metal.yield_stress is not None:
        return float(metal.yield_stress + strength * YIELD_OFFSET**exponent)
    stress = strength
    for _ in range(TRIES):  # the exponent is below 1, so that each try comes closer
        stress = strength * (stress / metal.elastic_modulus + YIELD_OFFSET) ** exponent
    return float(stress)
