"""Pushing the wire into its channel and pulling it out again.

Interference is what stops a wire: a channel 0.1 mm too tight needs ten times the force of a
hand. So the channel is loose everywhere and grips, if at all, in a short collar. Left out: the
bending of a straight wire that is pushed round a curved channel, and sticking at the first pull.
"""

from __future__ import annotations

import math

from data.rules import check_kind, check_number, refuse
from flexcalc.limb.inputs import GRAVITY, Elastomer, Wire
from flexcalc.wire.bending import yield_stress

EFFECTIVE_LENGTH = math.pi / 4.493409457909064
"""Fixed in the fingers, pinned at the mouth: pi over the first root of tan x = x, 0.6992."""
STANDARD_TIME = 10.0
"""Seconds after loading for which an elastomer's modulus is given."""


def contact_pressure(
    wire_diameter: float, channel_diameter: float, outer_radius: float, elastomer: Elastomer
) -> float:
    """Return the pressure between a wire and the TPU around it.

    Parameters
    ----------
    wire_diameter, channel_diameter : float
        Diameters before the wire is in: wire 50 µm to 160 mm, channel 20 µm to 1 m. [m]
    outer_radius : float
        Radius to which the TPU around the channel reaches. [m]
    elastomer : Elastomer
        Modulus and Poisson's ratio.

    Returns
    -------
    float
        Pressure, 0 for a wire that is loose. [Pa]

    Notes
    -----
    Rigid wire, small strain: an interference above a tenth of the channel is a rough guide.

    Source: Lame's thick cylinder, any strength-of-materials text.
    """
    wire = check_number("wire diameter", wire_diameter, least=5e-5, most=0.16, unit="m")
    channel = check_number("channel diameter", channel_diameter, least=2e-5, most=1.0, unit="m")
    outer = check_number("outer radius", outer_radius, least=5e-5, most=1.0, unit="m")
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    inner = channel / 2
    for name, radius in (("channel", inner), ("wire", wire / 2)):
        if radius > 0.9999 * outer:
            raise refuse(f"{name} diameter", f"less than the outer {2 * outer:g} m", 2 * radius)
    stretch = max(wire - channel, 0.0) / channel
    shape = (outer**2 + inner**2) / (outer**2 - inner**2) + elastomer.poisson_ratio
    return elastomer.elastic_modulus * stretch / shape


def insertion_force(
    wire_diameter: float,
    channel_diameter: float,
    outer_radius: float,
    length: float,
    elastomer: Elastomer,
    friction: float = 0.5,
    bend_angle: float = 0.0,
    *,
    wire_density: float = 0.0,
) -> float:
    """Return the force that pushes a wire all the way into a channel.

    Parameters
    ----------
    wire_diameter, channel_diameter, outer_radius, elastomer
        As for `contact_pressure`.
    length : float
        Of the channel, up to 10 m. [m]
    friction : float
        Between wire and TPU, 0 to 3.
    bend_angle : float
        Sum of all turns of the channel, 0 to 8 pi, taken at its mouth, where they cost most. [rad]
    wire_density : float
        For the weight of a lying wire; 0 leaves it out. [kg/m3]

    Returns
    -------
    float
        Force; 0 for a loose wire without weight. [N]

    Notes
    -----
    (friction x pressure x pi d L + friction x weight) x capstan_ratio.
    """
    pressure = contact_pressure(wire_diameter, channel_diameter, outer_radius, elastomer)
    length = check_number("channel length", length, least=0.0, most=10.0, unit="m")
    density = check_number("wire density", wire_density, least=0.0, most=25000.0, unit="kg/m3")
    ratio = capstan_ratio(friction, bend_angle)
    weight = density * GRAVITY * math.pi / 4 * wire_diameter**2 * length
    return float(friction * (pressure * math.pi * wire_diameter * length + weight) * ratio)


def pull_out_force(
    wire_diameter: float,
    channel_diameter: float,
    outer_radius: float,
    length: float,
    elastomer: Elastomer,
    friction: float = 0.5,
    bend_angle: float = 0.0,
    *,
    rest_time: float = STANDARD_TIME,
    wire_density: float = 0.0,
) -> float:
    """Return the force that pulls a wire out after it has rested in its channel.

    The TPU's grip has relaxed over ``rest_time`` [s], 10 s or more; the rest is as for
    `insertion_force`. Straighten the limb first: every turn still in it multiplies the force.
    """
    grip = insertion_force(
        wire_diameter, channel_diameter, outer_radius, length, elastomer, friction, bend_angle
    )
    time = check_number("rest time", rest_time, least=STANDARD_TIME, most=1e9, unit="s")
    density = check_number("wire density", wire_density, least=0.0, most=25000.0, unit="kg/m3")
    weight = density * GRAVITY * math.pi / 4 * wire_diameter**2 * length
    dragging = friction * weight * capstan_ratio(friction, bend_angle)
    return float(grip * (time / STANDARD_TIME) ** -elastomer.relaxation_exponent + dragging)


def capstan_ratio(friction: float, angle: float) -> float:
    """Return by how much a turn of a channel multiplies a pull or push.

    Parameters
    ----------
    friction : float
        0 to 3.
    angle : float
        Sum of the turns, 0 to 8 pi. [rad]

    Notes
    -----
    Source: Euler and Eytelwein, exp(friction x angle).
    """
    friction = check_number("friction", friction, least=0.0, most=3.0)
    angle = check_number("bend angle", angle, least=0.0, most=8 * math.pi, unit="rad")
    return math.exp(friction * angle)


def wire_slip(offset: float, angle: float) -> float:
    """Return how far a sliding wire travels when its limb is bent: leave a pocket as long.

    Parameters
    ----------
    offset : float
        Of the channel from the neutral axis in the bending plane, either sign, up to 1 m. [m]
    angle : float
        Of the bend, either sign, up to 8 pi. [rad]

    Returns
    -------
    float
        Offset x angle: positive out of the open end where a positive offset lies inside. [m]
    """
    offset = check_number("channel offset", offset, least=-1.0, most=1.0, unit="m")
    most = 8 * math.pi
    return offset * check_number("bend angle", angle, least=-most, most=most, unit="rad")


def push_stroke(wire: Wire, force: float) -> float:
    """Return the longest free length of wire that takes a push.

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

    Notes
    -----
    Source: Euler 1744, effective length 0.6992; Engesser's tangent modulus beyond yield, which
    for K eps^n is K (n c)^n at c = (pi i / (0.6992 L))^2 with i the radius of gyration. Twisted
    strands buckle one by one.
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
