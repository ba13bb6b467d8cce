"""A limb with a corner piece keeps that bend, and the rest of it is as before."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flexcalc.build.corner import corner_piece
from flexcalc.build.kink import kink_radius_of
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.pose.pose import hold_pose
from flexcalc.verdict.checks import kink_check
from flexcalc.verdict.corner_check import pose_with_corner, with_corner
from flexcalc.verdict.overbend import over_bend_setting

LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.014),
    length=0.2,
    wall=0.0018,
    infill=0.15,
    channel_diameter=0.0032,
    sleeve=0.0008,
    wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.0025),
)
SETTING = Setting(
    bends=(
        Bend(start=0.03, angle=0.6, radius=0.06),
        Bend(start=0.11, angle=math.pi / 2, radius=0.02),
    ),
    clamp_angle=math.pi / 2,
    payload=0.01,
)


def test_the_corner_keeps_its_bend_less_what_the_legs_give() -> None:
    piece = corner_piece(LIMB, SETTING.bends[1], payload=0.01)
    pose = pose_with_corner(LIMB, SETTING, 1, piece)
    assert pose.retained_share[1] == pytest.approx(1.0, abs=1e-9)
    turned = pose.shape_released.angles[-1] - math.pi / 2
    own = SETTING.bends[0].angle * pose.retained_share[0]
    assert turned == pytest.approx(own + math.pi / 2 - piece.give, abs=1e-6)
    assert pose.retained_share[0] == pytest.approx(hold_pose(LIMB, SETTING).retained_share[0])


def test_weight_hardly_bends_a_corner() -> None:
    piece = corner_piece(LIMB, SETTING.bends[1], payload=0.01)
    held = with_corner(SETTING, 1, piece).bends[1]
    setting = replace(SETTING, bends=(held,), payload=0.02)
    shape = hold_pose(LIMB, setting).shape_at_rest
    ends = shape.arc_length
    inside = (ends[1:] > held.start + 1e-9) & (ends[:-1] < held.end - 1e-9)
    assert abs(shape.curvature[inside] - held.curvature).max() < 1e-3 * held.curvature


def test_the_corner_sits_where_the_bend_was() -> None:
    piece = corner_piece(LIMB, SETTING.bends[1])
    held = with_corner(SETTING, 1, piece).bends[1]
    bend = SETTING.bends[1]
    assert (held.start + held.end) / 2 == pytest.approx((bend.start + bend.end) / 2)
    assert held.radius == piece.channel_radius and held.rigid


def test_a_corner_is_not_asked_to_kink_or_to_be_bent_further() -> None:
    piece = corner_piece(LIMB, SETTING.bends[1])
    held = with_corner(SETTING, 1, piece)
    kink = kink_radius_of(LIMB)
    assert kink_check(LIMB, SETTING, kink).state == "fails"
    assert kink_check(LIMB, held, kink).state == "holds"
    assert over_bend_setting(LIMB, held)[1] is None


@pytest.mark.parametrize("number", [-1, 2, 0.5])
def test_a_bend_that_is_not_there_is_refused(number: int) -> None:
    piece = corner_piece(LIMB, SETTING.bends[1])
    with pytest.raises(ValueError, match=r"^bend number must be "):
        with_corner(SETTING, number, piece)


def test_a_corner_too_wide_for_its_place_is_refused() -> None:
    piece = replace(corner_piece(LIMB, SETTING.bends[1]), channel_radius=0.1)
    with pytest.raises(ValueError, match=r"^bend (start|end) must be "):
        pose_with_corner(LIMB, SETTING, 1, piece)
