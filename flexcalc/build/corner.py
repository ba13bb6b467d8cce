"""A rigid corner piece for a bend that is too tight for the limb or its wire.

The limb is printed in two parts. Between them sits a rigid printed elbow: a leg each side plugs
into a socket of the limb, and the wire, bent beforehand, lies in a groove along its side. It is
pressed in and pulled out by hand, never glued. Why a leg stays seated: see `seat`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import read_table
from data.rules import Caution, check_kind, check_number, refuse
from flexcalc.build.kink import kink_radius_of
from flexcalc.build.life import tightest_radius
from flexcalc.build.socket import (
    Seat,
    corner_constant,
    leg_seat,
    leg_sizes,
    leg_strength,
    relaxed_modulus,
)
from flexcalc.limb.inputs import GRAVITY, Bend, Limb, Wire, limb_at
from flexcalc.limb.printer import Printer
from flexcalc.limb.shape import outline_polygon
from flexcalc.section.section import limb_section


@dataclass(frozen=True, kw_only=True)
class CornerLoad:
    """What pulls at the mouth of a socket: ``moment`` [N m], ``cross_force`` and ``pull`` [N].

    ``neighbour_radius`` [m] is the tightest bend that the limb may have right beside the piece.
    """

    moment: float
    cross_force: float
    pull: float
    neighbour_radius: float


@dataclass(frozen=True, kw_only=True)
class CornerPiece:
    """The piece to print, and why it is as it is. Lengths [m], angles [rad].

    ``channel_radius`` is to the wire's middle, ``inner_radius`` to the inside of the groove, which
    is ``channel_diameter`` wide: ``clearance`` more than the wire. Both legs are alike, see
    ``seat``. ``give`` is what both together give way of ``angle``.
    """

    angle: float
    channel_radius: float
    inner_radius: float
    channel_diameter: float
    clearance: float
    arc_length: float
    load: CornerLoad
    seat: Seat
    give: float
    reasons: tuple[str, ...]
    cautions: tuple[Caution, ...]


def corner_piece(
    limb: Limb,
    bend: Bend,
    *,
    payload: float = 0.0,
    re_poses: float = 10.0,
    printer: Printer | None = None,
) -> CornerPiece:
    """Return a removable rigid corner piece that takes the place of a bend.

    Parameters
    ----------
    limb : Limb
        With a wire; the legs sit around its channel.
    bend : Bend
        Where, by what angle (up to pi either way) and how tight the corner is wanted.
    payload : float
        Mass at the tip, 0 to 100. [kg]
    re_poses : float
        How often the wire is to be bent into the piece and straightened again, 1 to 10 million.
    printer : Printer, optional
        For the radius at which the limb beside the piece kinks; an untested one if left out.

    Returns
    -------
    CornerPiece
        Its channel is at least as wide a bend as the wire survives that often.

    Raises
    ------
    ValueError
        For a limb without wire, a bend outside the limb, a limb too thin for a leg with its
        groove, or a weight that would break the thickest leg.
    """
    wire = _checked_wire(limb, bend)
    limb = limb_at(limb, (bend.start + bend.end) / 2 / limb.length)
    mass = check_number("payload", payload, least=0.0, most=5.0, unit="kg")
    survived = tightest_radius(wire, re_poses)
    clearance = read_table("constants")["channel clearance"]["upright"].value
    channel = wire.bundle_diameter + clearance
    radius = max(float(bend.radius), survived.high, channel)
    reach = _reach(limb)
    thinnest, thickest = leg_sizes(reach, channel)
    sharpest = max(kink_radius_of(limb, printer=printer).radius, survived.high)
    load = _load(limb, bend, mass, sharpest, leg_strength(thickest))
    strong = thickest * (load.moment / leg_strength(thickest)) ** (1 / 3)
    diameter = min(max(reach, thinnest, strong), thickest)
    seat = leg_seat(limb.elastomer, reach, diameter, load.moment, load.cross_force, load.pull)
    return CornerPiece(
        angle=float(bend.angle),
        channel_radius=radius,
        inner_radius=radius - channel / 2,
        channel_diameter=channel,
        clearance=clearance,
        arc_length=radius * abs(bend.angle),
        load=load,
        seat=seat,
        give=2 * seat.tilt,
        reasons=_reasons(limb, radius, load, seat, re_poses),
        cautions=(*survived.cautions, *_cautions(limb, bend, seat)),
    )


def _checked_wire(limb: Limb, bend: Bend) -> Wire:
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("bend", bend, Bend, "a Bend")
    if limb.wire is None:
        raise refuse("limb wire", "a Wire that runs through the corner piece", "None")
    check_number("corner angle", abs(bend.angle), above=0.0, most=math.pi, unit="rad")
    check_number("bend end", bend.end, least=0.0, most=limb.length, unit="m")
    return limb.wire


def _reach(limb: Limb) -> float:
    """Return how far TPU reaches round the channel: its distance from the outline. [m]"""
    from shapely import Point

    return float(outline_polygon(limb.middle_outline).boundary.distance(Point(limb.channel_offset)))


def _load(limb: Limb, bend: Bend, payload: float, sharpest: float, strength: float) -> CornerLoad:
    """Weigh the part beyond the piece, held level, and add the pull of a bend right beside it.

    That bend is as tight as limb and wire bear, or as the leg does. The limb's own moment relaxes
    with the TPU that bears it, the weight does not.
    """
    section = limb_section(limb)
    beyond = limb.length - bend.start
    weight = section.mass_per_length * GRAVITY * beyond
    hung = payload * GRAVITY
    heavy = (hung + weight / 2) * beyond
    if heavy >= 0.95 * strength:
        raise refuse(
            "payload", f"such that the corner bears less than {strength:.3g} N m", f"{heavy:.3g}"
        )
    stretched = (
        section.extreme_fibre / read_table("constants")["tried range"]["elastomer_strain"].value
    )
    tightest = max(sharpest, stretched)
    relaxed = relaxed_modulus(limb.elastomer) / limb.elastomer.elastic_modulus
    rigidity = relaxed * section.flexural_rigidity_bare[0]
    bending = min(rigidity / tightest, strength - heavy)
    return CornerLoad(
        moment=heavy + bending,
        cross_force=hung + weight,
        pull=hung + weight,
        neighbour_radius=rigidity / bending,
    )


def _reasons(
    limb: Limb, radius: float, load: CornerLoad, seat: Seat, re_poses: float
) -> tuple[str, ...]:
    def mm(metres: float) -> str:
        return f"{metres * 1e3:.1f} mm"

    solid = ", whatever its wall and infill are elsewhere" if limb.wall is not None else ""
    return (
        f"The groove runs at {mm(radius)} radius, where the wire bears {float(re_poses):g} "
        "fittings.",
        f"Beside the piece keep the limb's own bends wider than {mm(load.neighbour_radius)}.",
        f"The legs are {mm(seat.leg_length)} long, so that the limb's pull squeezes the TPU at the"
        f" mouth by {seat.bearing_strain:.0%}, of {corner_constant('bearing_strain').value:.0%}"
        " allowed.",
        f"The legs are {mm(seat.leg_diameter)} thick in sockets of {mm(seat.socket_diameter)}: they"
        f" press enough to hold {seat.hold_force:.0f} N, and the piece comes out by hand.",
        f"Both legs together give way by {math.degrees(2 * seat.tilt):.0f} degrees under all that:"
        " make the piece that much sharper where it matters.",
        f"Print the limb solid around the sockets, {mm(seat.leg_length + 2e-3)} deep{solid}.",
        "The groove is open at the side: lay the bent wire in, then push the limb on. Print the"
        " piece lying on its other side, it needs no support.",
        "Give legs and sockets a flat: a round leg would turn under a limb that hangs sideways.",
    )


def _cautions(limb: Limb, bend: Bend, seat: Seat) -> tuple[Caution, ...]:
    texts = {"corner unproven": "No corner piece was measured: try one leg in a test socket first."}
    room = min(bend.start, limb.length - bend.end)
    if seat.leg_length > room:
        texts["corner leg too long"] = (
            f"A leg needs {seat.leg_length * 1e3:.0f} mm of straight limb on each side; there are"
            f" {room * 1e3:.0f} mm."
        )
    if seat.removal_force > read_table("constants")["hand"]["pull"].value:
        texts["corner hard to pull"] = (
            f"A dry leg may take {seat.removal_force:.0f} N to pull out: turn it meanwhile."
        )
    return tuple(Caution(key=key, text=text) for key, text in texts.items())
