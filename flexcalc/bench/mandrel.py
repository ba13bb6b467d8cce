"""The strength of a wire, from how far it springs back off a mandrel."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from data.rules import Caution, check_kind, check_number, refuse
from flexcalc.bench.readings import DULL, MandrelBend, Measured
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.wire.bending import bending_moment, elastic_rigidity

WEAKEST = 1e-3
"""Least strength that is looked for, as a share of the metal's."""


def wire_strength(bend: MandrelBend, metal: Metal) -> Measured:
    """Return the strength coefficient of a wire from its spring-back off a mandrel.

    Parameters
    ----------
    bend : MandrelBend
        Sizes and angles.
    metal : Metal
        Elastic modulus and hardening exponent are kept; a yield stress scales along.

    Returns
    -------
    Measured
        K [Pa] with the factor of the angle's error.

    Raises
    ------
    ValueError
        For anything else, or angles that no strength of this metal explains.

    Notes
    -----
    M = EI k (1 - after/before), then the strength whose `bending_moment` at k it is.
    """
    from scipy.optimize import brentq

    check_kind("mandrel bend", bend, MandrelBend, "a MandrelBend")
    check_kind("metal", metal, Metal, "a Metal")
    sprung = bend.angle_before - bend.angle_after
    stiff = elastic_rigidity(Wire(metal=metal, diameter=bend.wire_diameter)) * bend.curvature
    moment = stiff * sprung / bend.angle_before

    def excess(log_factor: float) -> float:
        wire = Wire(metal=stronger(metal, math.exp(log_factor)), diameter=bend.wire_diameter)
        return float(np.log(bending_moment(wire, bend.curvature) / moment))

    strongest = max(metal.strength_coefficient, metal.yield_stress or 0.0)
    weakest = min(metal.strength_coefficient, metal.yield_stress or math.inf)
    low = math.log(max(1e5 / weakest, WEAKEST) * (1 + 1e-9))
    high = math.log(min(0.2 * metal.elastic_modulus, 1e10) / strongest * (1 - 1e-9))
    if not excess(low) < 0 < excess(high):
        lost = [bend.angle_before * moment / stiff * math.exp(excess(end)) for end in (low, high)]
        after = [max(bend.angle_before - one, 0.0) for one in reversed(lost)]
        rule = f"from {after[0]:.4g} to {after[1]:.4g} rad for {metal.name} on this mandrel"
        raise refuse("angle after", rule, f"{bend.angle_after:g} rad")
    log_factor = float(brentq(excess, low, high, xtol=1e-12))
    above, below = min(log_factor + 1e-3, high), max(log_factor - 1e-3, low)
    slope = (excess(above) - excess(below)) / (above - below)
    return Measured(
        name="strength coefficient",
        unit="Pa",
        value=metal.strength_coefficient * math.exp(log_factor),
        error=math.exp(min(bend.error / sprung / slope, 5.0)),
        as_factor=True,
        cautions=_mandrel_cautions(bend, sprung, slope),
    )


def stronger(metal: Metal, factor: float) -> Metal:
    """Return a metal with its whole hardening curve scaled."""
    check_kind("metal", metal, Metal, "a Metal")
    check_number("strength factor", factor, above=0.0, most=1e6)
    virgin = None if metal.yield_stress is None else metal.yield_stress * factor
    return replace(
        metal, strength_coefficient=metal.strength_coefficient * factor, yield_stress=virgin
    )


def _mandrel_cautions(bend: MandrelBend, sprung: float, slope: float) -> tuple[Caution, ...]:
    found = []
    if bend.error > 0.25 * sprung:
        text = (
            f"The wire sprang back by {math.degrees(sprung):.1f}°, read to "
            f"{math.degrees(bend.error):.1f}°: too little to tell. Use a wider mandrel or wind "
            "more turns."
        )
        found.append(Caution(key="spring-back too small", text=text))
    if slope < 1 / DULL:
        text = (
            "The wire stayed nearly elastic on this mandrel, which says little about its "
            "strength. Use a narrower one."
        )
        found.append(Caution(key="spring-back elastic", text=text))
    return tuple(found)
