"""Whether a reading at the bench lies in its window: go or no-go for a plan.

A window speaks of one strip, one mandrel, one bend. What was read on another is told by what it
teaches: the modulus, the strength, wire over elastomer, and what the window's own test would read
with it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from data.rules import refuse
from flexcalc.bench.bent_limb import kept_angles
from flexcalc.bench.droop import drop_shares, printed_modulus
from flexcalc.bench.mandrel import stronger, wire_strength
from flexcalc.bench.readings import (
    MOST_DROP,
    Droop,
    KinkTest,
    MandrelBend,
    PinGauge,
    PoseTest,
    Reading,
)
from flexcalc.build.solids import STRIP
from flexcalc.joints.limbs import in_the_room, limb_width, one_limb
from flexcalc.joints.posed import coarse, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import GRAVITY, Elastomer, Limb, Setting, Wire
from flexcalc.verdict.window import Window
from flexcalc.wire.bending import bending_moment, elastic_rigidity

TESTS: dict[str, type] = {
    "droop": Droop,
    "spring-back": MandrelBend,
    "pins": PinGauge,
    "kink": KinkTest,
    "bent limb": PoseTest,
}
"""Kind of reading that each window is about."""
ALIKE = 0.05
"""How far radius and angle of a bend may differ for it to be the window's own."""
FACTORS = np.exp(np.linspace(-4.0, 4.0, 41))
"""Wire over elastomer over what is assumed, that are tried to explain a bent limb."""


def side_of(window: Window, reading: Reading, limb: Limb, setting: Setting) -> str:
    """Return where a reading lies: "inside" its window, "below" or "above" it, or "unusual".

    Parameters
    ----------
    window : Window
        Of this limb in this setting.
    reading : Droop, MandrelBend, PinGauge, KinkTest or PoseTest
        Of the window's test, on a piece of any size.
    limb, setting : Limb, Setting
        The plan whose window it is.

    Returns
    -------
    str
        "unusual" is a reading on an open side that hardly any likely limb has, so that nothing is
        known of it: read again.

    Raises
    ------
    ValueError
        For a reading of another test, or one that no material explains.
    """
    value = reading_in(window, reading, limb, setting)
    if value < window.low:
        return "below"
    if value > window.high:
        return "above"
    least, greatest = window.usual
    reach = greatest - least
    return "inside" if least - reach <= value <= greatest + reach else "unusual"


def reading_in(window: Window, reading: Reading, limb: Limb, setting: Setting) -> float:
    """Return what the window's own test would read where this was read, in the window's unit.

    Arguments and errors as `side_of`.
    """
    wanted = TESTS[window.key]
    if not isinstance(reading, wanted):
        raise refuse("reading", f"a {wanted.__name__}", type(reading).__name__)
    if isinstance(reading, Droop):
        return _drop(reading, limb.elastomer)
    if isinstance(reading, MandrelBend):
        return _sprung(window, reading, limb)
    if isinstance(reading, PinGauge):
        pairs = zip(reading.drawn_diameters, reading.pins, strict=True)
        drawn, pin = min(pairs, key=lambda pair: abs(pair[0] - window.size))
        return pin + window.size - drawn
    if isinstance(reading, KinkTest):
        return (reading.held_diameter + reading.kinked_diameter) / 2
    return _kept(window, reading, limb, setting)


def _drop(reading: Droop, elastomer: Elastomer) -> float:
    length, thickness = STRIP[0], STRIP[2]
    modulus = printed_modulus(reading, elastomer).value
    number = 12 * elastomer.density * GRAVITY * length**3 / (modulus * thickness**2)
    return length * min(float(drop_shares(np.array([number]))[0]), MOST_DROP)


def _sprung(window: Window, reading: MandrelBend, limb: Limb) -> float:
    assert limb.wire is not None  # a limb without one has no windows
    metal = limb.wire.metal
    strength = wire_strength(reading, metal).value / metal.strength_coefficient
    wire = Wire(metal=stronger(metal, strength), diameter=limb.wire.diameter)
    curvature = 2 / (window.size + wire.diameter)
    sprung = float(bending_moment(wire, curvature)) / (elastic_rigidity(wire) * curvature)
    return window.turned * sprung


def _kept(window: Window, reading: PoseTest, limb: Limb, setting: Setting) -> float:
    """Return the angle that the window's bend would keep, by wire over elastomer as read."""
    share = reading.angle_kept / reading.angle_set
    if (
        abs(math.log(reading.radius / window.size)) < ALIKE
        and abs(math.log(reading.angle_set / window.turned)) < ALIKE
    ):
        return window.turned * share
    kept = kept_angles(reading, FACTORS)
    factor = math.exp(float(np.interp(reading.angle_kept, kept, np.log(FACTORS))))
    warm = in_the_room(limb, setting)
    one = one_limb(warm, setting)
    posed = pose_limbs(
        replace(one, rigidity=one.rigidity / factor),
        setting,
        bent_stretches(setting, limb.length, limb_width(limb)),
        limb.length,
        coarse(setting),
        (setting.rest_time,),
        weightless=True,
    )
    own = [number for number, bend in enumerate(setting.bends) if bend.angle and not bend.rigid]
    bend = min(own, key=lambda number: abs(setting.bends[number].radius - window.size))
    return window.turned * float(posed.looks[0].retained[0, bend])
