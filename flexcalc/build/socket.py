"""A rigid leg pressed into a socket of TPU: how thick and long it must be to stay seated.

Moment M and cross force V at the mouth of the socket squeeze the TPU along a straight line,
hardest at the mouth,

    q = 4 V/l + 6 M/l^2   (q l^2 - 4 V l - 6 M = 0 gives the least length l),

and the TPU bears q = p min(d, 2 r - d): p against the leg of diameter d, and again as tension in
what is left of the section, 2 (r - d/2) thick, r being the reach of the TPU around it. So the
leg that bears most is half as thick as the section. A stretch s = d/socket - 1 presses on the leg
(Lame), and friction x pressure x pi d l has to hold what hangs from it. Left out: turning about
the leg's own axis, which a flat on leg and socket stops.

Source: own derivation; rigid peg in an elastic bed as for piles and dowels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import Quantity, read_table
from data.rules import check_kind, check_number, refuse
from flexcalc.build.insertion import STANDARD_TIME, insertion_force, pull_out_force
from flexcalc.limb.inputs import Elastomer
from flexcalc.limb.printer import hole_constant

DAY = 86400.0


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A leg and its socket. Lengths [m], forces [N].

    ``socket_diameter`` is smaller than ``leg_diameter`` so that it presses. ``bearing_strain`` is
    the squeeze of the TPU at the mouth and ``tilt`` [rad] how far the leg gives way.
    ``hold_force`` pulls the leg out after a day where it is slippery, ``removal_force`` at once
    where it is dry.
    """

    leg_diameter: float
    leg_length: float
    socket_diameter: float
    bearing_strain: float
    tilt: float
    hold_force: float
    removal_force: float


def relaxed_modulus(elastomer: Elastomer) -> float:
    """Return the modulus of a TPU a day after loading. [Pa]"""
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    kept = (DAY / STANDARD_TIME) ** -elastomer.relaxation_exponent
    return float(elastomer.elastic_modulus * kept)


def leg_sizes(reach: float, channel_diameter: float) -> tuple[float, float]:
    """Return the thinnest and the thickest leg.

    Parameters
    ----------
    reach : float
        Distance from the leg's axis to the limb's outside, 0.1 mm to 0.5 m. [m]
    channel_diameter : float
        Of the wire's groove in the leg, up to 0.2 m. [m]

    Returns
    -------
    (float, float)
        With a wall around the groove; with a skin of TPU around the leg. [m]

    Raises
    ------
    ValueError
        If no leg fits.
    """
    outer = check_number("reach", reach, least=1e-4, most=0.5, unit="m")
    groove = check_number("channel diameter", channel_diameter, least=0.0, most=0.2, unit="m")
    bead = hole_constant("bead_width").value
    thinnest = groove + 2 * corner_constant("rigid_wall_beads").value * bead
    skin = 2 * hole_constant("least_wall_beads").value * bead
    if thinnest > 2 * outer - skin:
        rule = f"at least {thinnest + skin:.3g} m thick around its channel for a corner piece"
        raise refuse("limb", rule, f"{2 * outer:.3g} m")
    return thinnest, 2 * outer - skin


def leg_strength(diameter: float) -> float:
    """Return the bending moment that a printed rigid leg of 0.1 mm to 1 m bears. [N m]

    The groove leaves about 0.6 of a round leg's section modulus.
    """
    thick = check_number("leg diameter", diameter, least=1e-4, most=1.0, unit="m")
    return 0.6 * math.pi / 32 * thick**3 * corner_constant("rigid_stress").value


def leg_seat(
    elastomer: Elastomer,
    reach: float,
    diameter: float,
    moment: float,
    cross_force: float,
    pull: float,
) -> Seat:
    """Return the shortest leg that stays seated, and its socket.

    Parameters
    ----------
    elastomer : Elastomer
        Of the limb; its modulus a day after loading counts.
    reach : float
        Distance from the leg's axis to the limb's outside, 0.1 mm to 0.5 m. [m]
    diameter : float
        Of the leg, less than twice the reach. [m]
    moment, cross_force : float
        At the mouth of the socket, 0 to 1e4. [N m, N]
    pull : float
        Along the leg, 0 to 1e4; it is held with the safety of the table. [N]

    Returns
    -------
    Seat
    """
    outer = check_number("reach", reach, least=1e-4, most=0.5, unit="m")
    thick = check_number("leg diameter", diameter, least=1e-4, most=1.98 * outer, unit="m")
    turn = check_number("leg moment", moment, least=0.0, most=1e4, unit="N m")
    cross = check_number("cross force", cross_force, least=0.0, most=1e4, unit="N")
    along = check_number("pull", pull, least=0.0, most=1e4, unit="N")
    modulus = relaxed_modulus(elastomer)
    width = modulus * min(thick, 2 * outer - thick)
    line = corner_constant("bearing_strain").value * width
    bearing = (2 * cross + math.sqrt(4 * cross**2 + 6 * line * turn)) / line
    grip = read_table("constants")["friction"]["tpu_on_plastic"]
    shape = (outer**2 + thick**2 / 4) / (outer**2 - thick**2 / 4) + elastomer.poisson_ratio
    held = corner_constant("pull_safety").value * along
    stretched = held * shape / (grip.low * math.pi * thick * modulus)
    length = max(
        bearing,
        stretched / corner_constant("most_press").value,
        corner_constant("leg_proportion").value * thick,
    )
    socket = thick / (1 + max(stretched / length, corner_constant("least_press").value))
    strain = (4 * cross / length + 6 * turn / length**2) / width
    # no longer than the longest limb
    leg = (thick, socket, outer, check_number("leg length", length, above=0.0, most=1.0, unit="m"))
    return Seat(
        leg_diameter=thick,
        leg_length=length,
        socket_diameter=socket,
        bearing_strain=strain,
        tilt=2 * strain * (outer - thick / 2) / length,
        hold_force=pull_out_force(*leg, elastomer, grip.low, rest_time=DAY),
        removal_force=insertion_force(*leg, elastomer, grip.high),
    )


def corner_constant(quantity: str) -> Quantity:
    """Return a trade constant of corner pieces, by the name of its row."""
    return read_table("constants")["corner piece"][quantity]
