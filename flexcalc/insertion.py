"""Pushing the wire into its channel and pulling it out again.

Interference is what stops a wire: a channel 0.1 mm too tight needs ten times the force of a
hand. So the channel is loose everywhere and grips, if at all, in a short collar. Left out: the
bending of a straight wire that is pushed round a curved channel, and sticking at the first pull.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data.rules import check_kind, check_number, refuse
from flexcalc.inputs import GRAVITY, Elastomer, Wire
from flexcalc.wire import bending_moment, elastic_rigidity

STANDARD_TIME = 10.0
"""Seconds after loading for which an elastomer's modulus is given."""


@dataclass(frozen=True, kw_only=True)
class StraightenedLimb:
    """A limb printed curved after a straight wire was pushed in.

    ``curvature`` [1/m] is what is left of it, ``share`` of the printed one; ``elastic_bound``
    [1/m] is what a wire that does not yield would leave; ``wire_moment`` [N m] bends the wire.
    """

    curvature: float
    share: float
    elastic_bound: float
    wire_moment: float


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


def straightened_curvature(
    wire: Wire, flexural_rigidity: float, printed_curvature: float
) -> StraightenedLimb:
    """Return how curved a limb that was printed curved stays when a straight wire goes in.

    Parameters
    ----------
    wire : Wire
        Straight and not yet bent.
    flexural_rigidity : float
        Of the TPU alone, 1e-9 to 1e4. [N m2]
    printed_curvature : float
        0 to one over the wire's radius. [1/m]

    Returns
    -------
    StraightenedLimb

    Notes
    -----
    The wire's moment equals the limb's, M(k) = EI (k0 - k). The elastic bound holds for a spring
    wire; a soft one yields and leaves the limb much more of its curve.
    """
    from scipy.optimize import brentq

    check_kind("wire", wire, Wire, "a Wire")
    rigidity = check_number(
        "flexural rigidity", flexural_rigidity, least=1e-9, most=1e4, unit="N m2"
    )
    printed = check_number(
        "printed curvature", printed_curvature, least=0.0, most=2 / wire.diameter, unit="1/m"
    )
    bound = printed * rigidity / (rigidity + elastic_rigidity(wire))

    def excess(curvature: float) -> float:
        return float(bending_moment(wire, curvature)) - rigidity * (printed - curvature)

    left = bound if excess(bound) >= 0 else float(brentq(excess, bound, printed, rtol=1e-12))
    return StraightenedLimb(
        curvature=left,
        share=left / printed if printed else 1.0,
        elastic_bound=bound,
        wire_moment=rigidity * (printed - left),
    )
