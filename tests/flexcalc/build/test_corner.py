"""The corner piece: its seat, its loads, what it says and what it refuses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from data import read_table
from flexcalc.build.corner import corner_piece
from flexcalc.build.kink import kink_radius_of
from flexcalc.build.life import tightest_radius, wire_life
from flexcalc.build.socket import leg_seat, leg_sizes, leg_strength, relaxed_modulus
from flexcalc.limb.inputs import Bend, Limb, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Ellipse, Polygon, Round
from flexcalc.limb.printer import Printer
from flexcalc.section.section import limb_section

TPU = load_elastomer("TPU 85A")
WIRE = Wire(metal=load_metal("annealed aluminium 1100"), diameter=2e-3)
NECK = Limb(elastomer=TPU, outline=Round(diameter=12e-3), length=0.15, wall=1.2e-3, wire=WIRE)
CORNER = Bend(start=0.06, angle=1.4, radius=8e-3)
BAD = [None, "1", math.nan, math.inf, -1.0, 1e300, 10**400, True, [1.0], 1j]


def test_the_seat_balances_its_loads() -> None:
    """Second route: the line load integrated along the leg gives back force and moment."""
    seat = leg_seat(TPU, 6e-3, 7e-3, moment=0.15, cross_force=0.8, pull=0.3)
    modulus, length = relaxed_modulus(TPU), seat.leg_length
    width = min(7e-3, 12e-3 - 7e-3)
    x = np.linspace(0, length, 20001)
    mouth = seat.bearing_strain * modulus * width
    # The line load falls straight; its end follows from the cross force.
    end = 2 * 0.8 / length - mouth
    load = mouth + (end - mouth) * x / length
    assert np.trapezoid(load, x) == pytest.approx(0.8, rel=1e-6)
    assert -np.trapezoid(load * x, x) == pytest.approx(0.15, rel=1e-6)
    assert np.abs(load).max() == pytest.approx(mouth)


def test_each_rule_can_set_the_length() -> None:
    limit = read_table("constants")["corner piece"]
    bent = leg_seat(TPU, 6e-3, 6e-3, moment=0.2, cross_force=0.5, pull=0.3)
    assert bent.bearing_strain == pytest.approx(limit["bearing_strain"].value)
    pulled = leg_seat(TPU, 6e-3, 6e-3, moment=0.0, cross_force=0.0, pull=60.0)
    stretch = pulled.leg_diameter / pulled.socket_diameter - 1
    assert stretch == pytest.approx(limit["most_press"].value)
    idle = leg_seat(TPU, 6e-3, 6e-3, moment=0.0, cross_force=0.0, pull=0.0)
    assert idle.leg_length == pytest.approx(limit["leg_proportion"].value * 6e-3)
    assert idle.leg_diameter / idle.socket_diameter - 1 == pytest.approx(limit["least_press"].value)
    assert idle.bearing_strain == idle.tilt == 0


@given(
    st.floats(2e-3, 0.05), st.floats(0.2, 0.95), st.floats(0, 0.5), st.floats(0, 5),
    st.floats(0, 50), st.sampled_from(["TPU 80A", "TPU 95A", "TPU 60D"]),
)  # fmt: skip
def test_a_seat_holds_what_it_is_asked_to(
    reach: float, share: float, moment: float, force: float, pull: float, name: str
) -> None:
    elastomer = load_elastomer(name)
    diameter = share * 2 * reach
    try:
        seat = leg_seat(elastomer, reach, diameter, moment, force, pull)
    except ValueError as error:
        assert str(error).startswith("leg length must be")
        return
    safety = read_table("constants")["corner piece"]["pull_safety"].value
    assert seat.hold_force >= safety * pull * (1 - 1e-9)
    assert seat.removal_force > seat.hold_force
    assert seat.bearing_strain <= 0.1 * (1 + 1e-9)
    assert 0 < seat.socket_diameter < seat.leg_diameter == diameter
    heavier = leg_seat(elastomer, reach, diameter, moment * 1.1, force, pull)
    assert heavier.leg_length >= seat.leg_length


def test_half_the_section_bears_most() -> None:
    lengths = {
        share: leg_seat(TPU, 6e-3, share * 12e-3, 0.2, 0.5, 0.1).leg_length
        for share in (0.3, 0.4, 0.5, 0.6, 0.7)
    }
    assert min(lengths, key=lambda share: lengths[share]) == 0.5


def test_a_leg_bears_its_printed_stress() -> None:
    """6 mm: 0.6 pi d^3/32 times 12 MPa."""
    assert leg_strength(6e-3) == pytest.approx(0.6 * math.pi * 6e-3**3 / 32 * 12e6)
    thinnest, thickest = leg_sizes(6e-3, 2.5e-3)
    assert (thinnest, thickest) == pytest.approx((2.5e-3 + 6 * 0.45e-3, 12e-3 - 4 * 0.45e-3))


def test_the_piece_for_a_neck() -> None:
    piece = corner_piece(NECK, CORNER, payload=0.02, re_poses=10)
    life = tightest_radius(WIRE, 10)
    assert piece.channel_radius == pytest.approx(life.high)
    assert wire_life(WIRE, 1 / piece.channel_radius).low == pytest.approx(10)
    assert piece.channel_diameter == pytest.approx(2.5e-3)
    assert piece.inner_radius == pytest.approx(piece.channel_radius - 1.25e-3)
    assert piece.arc_length == pytest.approx(1.4 * piece.channel_radius)
    assert piece.load.neighbour_radius == pytest.approx(kink_radius_of(NECK).radius)
    assert piece.seat.bearing_strain == pytest.approx(0.1)
    assert piece.give == pytest.approx(2 * piece.seat.tilt)
    assert {caution.key for caution in piece.cautions} == {"corner unproven"}
    assert any("solid around the sockets" in reason for reason in piece.reasons)


def test_its_load_is_weight_and_the_limb_beside_it() -> None:
    section = limb_section(NECK)
    piece = corner_piece(NECK, CORNER, payload=0.02)
    weight = section.mass_per_length * 9.80665 * 0.09
    relaxed = relaxed_modulus(TPU) / TPU.elastic_modulus
    bending = relaxed * section.flexural_rigidity_bare[0] / piece.load.neighbour_radius
    assert piece.load.moment == pytest.approx((0.02 * 9.80665 + weight / 2) * 0.09 + bending)
    assert piece.load.pull == pytest.approx(weight + 0.02 * 9.80665)


def test_a_wider_wish_is_granted_and_more_fittings_need_a_wider_groove() -> None:
    wide = corner_piece(NECK, replace(CORNER, radius=25e-3))
    assert wide.channel_radius == 25e-3
    often = corner_piece(NECK, CORNER, re_poses=200)
    assert often.channel_radius > 4 * corner_piece(NECK, CORNER).channel_radius
    # a printer whose limbs kink at wider bends: the limb beside the piece pulls less
    known = Printer(kink_core=kink_radius_of(NECK).core, kink_factor=5.0, kink_deviation=0.1)
    early = corner_piece(NECK, CORNER, printer=known)
    assert early.load.moment < corner_piece(NECK, CORNER).load.moment
    down = corner_piece(NECK, replace(CORNER, angle=-1.4))
    assert down.angle == -1.4
    assert down.arc_length == corner_piece(NECK, CORNER).arc_length


def test_a_stiff_solid_limb_is_kept_straighter_beside_the_piece() -> None:
    solid = Limb(
        elastomer=load_elastomer("TPU 60D"), outline=Round(diameter=14e-3), length=0.15,
        channel_diameter=2.6e-3, wire=WIRE,
    )  # fmt: skip
    piece = corner_piece(solid, CORNER, payload=0.02)
    thickest = leg_sizes(7e-3, piece.channel_diameter)[1]
    # The outline is a polygon of 720 corners: 5e-6 short of its circle at the flats.
    assert piece.seat.leg_diameter == pytest.approx(thickest, rel=1e-5)
    assert piece.load.moment == pytest.approx(leg_strength(thickest), rel=3e-5)
    assert piece.load.neighbour_radius > 30e-3


def test_the_reach_is_that_to_the_nearest_side() -> None:
    square = ((-7e-3, -7e-3), (7e-3, -7e-3), (7e-3, 7e-3), (-7e-3, 7e-3))
    soft = replace(NECK, elastomer=load_elastomer("TPU 80A"), wall=1e-3)
    box = replace(soft, outline=Polygon(points=square), channel_offset=(0.5e-3, 0.0))
    assert corner_piece(box, CORNER).seat.leg_diameter == pytest.approx(6.5e-3)
    flat = replace(soft, outline=Ellipse(width=20e-3, height=13e-3), channel_offset=(4e-3, 0.0))
    # Distance from (4, 0) to the ellipse, by brute force along it.
    turn = np.linspace(0, 2 * math.pi, 100_001)
    reach = np.hypot(10e-3 * np.cos(turn) - 4e-3, 6.5e-3 * np.sin(turn)).min()
    assert corner_piece(flat, CORNER).seat.leg_diameter == pytest.approx(reach, rel=1e-4)


def test_a_short_neck_and_a_hard_pull_are_said() -> None:
    short = corner_piece(NECK, replace(CORNER, start=0.005))
    assert "corner leg too long" in {caution.key for caution in short.cautions}
    stiff = replace(NECK, elastomer=load_elastomer("TPU 95A"))
    keys = {caution.key for caution in corner_piece(stiff, CORNER).cautions}
    assert "corner hard to pull" in keys


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^limb wire must be a Wire that runs .*; got"):
        corner_piece(replace(NECK, wire=None), CORNER)
    with pytest.raises(ValueError, match=r"^corner angle must be .*above 0"):
        corner_piece(NECK, replace(CORNER, angle=0.0))
    with pytest.raises(ValueError, match=r"^corner angle must be .*at most 3.14"):
        corner_piece(NECK, replace(CORNER, angle=3.5))
    with pytest.raises(ValueError, match=r"^bend end must be .*at most 0.15 m"):
        corner_piece(NECK, replace(CORNER, start=0.149))
    thin = replace(NECK, outline=Round(diameter=5e-3), wall=1.0e-3)
    with pytest.raises(ValueError, match=r"^limb must be at least 0.007 m thick around its chan"):
        corner_piece(thin, CORNER)
    with pytest.raises(ValueError, match=r"^payload must be such that the corner bears less"):
        corner_piece(NECK, CORNER, payload=5.0)


@pytest.mark.parametrize("value", BAD)
def test_impossible_input(value: object) -> None:
    with pytest.raises(ValueError, match=r"^limb must be a Limb"):
        corner_piece(value, CORNER)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^bend must be a Bend"):
        corner_piece(NECK, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^payload must be"):
        corner_piece(NECK, CORNER, payload=value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^re-poses must be"):
        corner_piece(NECK, CORNER, re_poses=value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^reach must be"):
        leg_sizes(value, 1e-3)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^channel diameter must be"):
        leg_sizes(6e-3, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^leg diameter must be"):
        leg_strength(value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^elastomer must be an Elastomer"):
        relaxed_modulus(value)  # type: ignore[arg-type]
    good = [TPU, 6e-3, 6e-3, 0.1, 0.5, 0.5]
    names = ["elastomer", "reach", "leg diameter", "leg moment", "cross force", "pull"]
    for place, name in enumerate(names):
        arguments = [*good[:place], value, *good[place + 1 :]]
        with pytest.raises(ValueError, match=rf"^{name} must be"):
            leg_seat(*arguments)  # type: ignore[arg-type]


@settings(max_examples=60, deadline=None)
@given(
    st.floats(6e-3, 0.3), st.floats(0.05, 0.9), st.floats(2e-4, 5e-3), st.floats(0.02, 1),
    st.floats(0.01, 3.1), st.floats(0, 50), st.floats(1, 1e7),
)  # fmt: skip
def test_any_limb_gets_a_finite_piece_or_a_refusal(
    across: float, wall: float, wire: float, length: float, angle: float, payload: float,
    fittings: float,
) -> None:  # fmt: skip
    thickness = wall * across / 2
    assume(thickness > 1e-4 and wire < across - 2 * thickness)
    limb = Limb(
        elastomer=TPU, outline=Round(diameter=across), length=length, wall=thickness,
        wire=Wire(metal=WIRE.metal, diameter=wire),
    )  # fmt: skip
    try:
        piece = corner_piece(
            limb, Bend(start=0.01, angle=angle, radius=5e-3), payload=payload, re_poses=fittings
        )
    except ValueError as error:
        assert " must be " in str(error) and "; got " in str(error)
        return
    seat = piece.seat
    numbers = [piece.inner_radius, piece.arc_length, piece.give, piece.load.neighbour_radius]
    numbers += [seat.leg_length, seat.socket_diameter, seat.hold_force, seat.removal_force]
    assert all(0 < number < math.inf for number in numbers)
    assert seat.leg_diameter <= across
