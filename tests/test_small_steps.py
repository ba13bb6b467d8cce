"""The engine against a limb followed by small steps that shares no function with it.

The small steps are the rate form of the wire and the true hereditary integral of the elastomer,
with weight and payload on from the moment of letting go (see small_steps); computed here.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flexcalc.joints.limbs import one_limb
from flexcalc.joints.posed import FINE, Posed, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.limb.outline import Round
from flexcalc.pose.centre_line import positions_of
from flexcalc.section.section import limb_section
from tests.small_steps import Matter, Sections, ages, balanced, reference_flow_stress, tip

SHARE = 0.3
METAL = Metal(
    name="aluminium",
    elastic_modulus=69e9,
    strength_coefficient=150e6,
    hardening_exponent=0.21,
    density=2700,
    back_stress=SHARE,
)
TPU = Elastomer(
    name="soft",
    elastic_modulus=21e6,
    density=1190,
    poisson_ratio=0.48,
    saturation_stress=5e6,
    relaxation_exponent=0.08,
)
LIMB = Limb(
    elastomer=TPU,
    outline=Round(diameter=0.0115),
    length=0.16,
    channel_diameter=0.009,
    wire=Wire(metal=METAL, diameter=0.0026),
)
PIECES = 32
RADIUS, START, ANGLE = 0.04, 0.04, 1.5
SETTING = Setting(
    bends=(Bend(start=START, angle=ANGLE, radius=RADIUS),),
    clamp_angle=1.7,
    payload=0.015,
    hold_time=8.0,
    rest_time=600.0,
)


def matter() -> Matter:
    bare = Matter(
        wire=METAL.elastic_modulus,
        coefficient=METAL.strength_coefficient,
        exponent=METAL.hardening_exponent,
        limit=0.0,
        rate=300.0,
        radius=0.0013,
        modulus=TPU.elastic_modulus,
        saturation=TPU.saturation_stress,
        relaxation=TPU.relaxation_exponent,
        outer=0.00575,
        inner=0.0045,
        mass=limb_section(LIMB).mass_per_length,
    )
    return replace(bare, limit=SHARE * reference_flow_stress(bare, 0.025))


def posed(setting: Setting) -> Posed:
    stretches = bent_stretches(setting, LIMB.length, 0.0115)
    limbs = one_limb(LIMB, setting)
    return pose_limbs(limbs, setting, stretches, LIMB.length, FINE, (0.0, setting.rest_time))


def small_steps(weightless: bool, setting: Setting) -> list[tuple[float, float, float]]:
    """Turn of the bend over its angle and place of the tip, at once and at the rest time."""
    piece = LIMB.length / PIECES
    middle = piece * (np.arange(PIECES) + 0.5)
    inside = (middle > START) & (middle < START + ANGLE * RADIUS)
    sections = Sections(matter(), PIECES, steps=24)
    clock = -sum(time for _, time in setting.poses_before)
    for bends, time in setting.poses_before:
        curled = sum((bend.curvature for bend in bends), 0.0)  # over the new bend, or straight
        sections.move(np.where(inside, curled, 0.0), clock)
        clock += time
    looks: list[tuple[float, float, float]] = []
    for press in range(setting.presses):
        start = press * (setting.hold_time + setting.press_pause)
        bent = setting.bends[0].curvature if setting.bends else 0.0
        sections.move(np.where(inside, bent, 0.0), start)
        letting = start + setting.hold_time
        again = press < setting.presses - 1
        looks = []
        for age in ages(setting.press_pause - 1 if again else setting.rest_time, 8):
            clock = letting + float(age)
            found = balanced(
                sections, clock, piece, setting.clamp_angle, setting.payload, weightless
            )
            # the letting-go is a step of its own instant, what moves later of its own
            sections.move(found, letting if age == 1 else clock)
            share = float(np.sum(found[inside]) * piece / ANGLE)
            looks.append((share, *map(float, tip(found, piece, setting.clamp_angle))))
    return [looks[0], looks[-1]]


OPPOSITE = (Bend(start=START, angle=-ANGLE * RADIUS / 0.05, radius=0.05),)


@pytest.mark.parametrize(
    "setting",
    [
        SETTING,
        replace(SETTING, presses=2, press_pause=30.0),
        replace(SETTING, last_bends=OPPOSITE, last_time=1000.0, rest_time=100.0),
        replace(SETTING, last_bends=((OPPOSITE, 1e3), ((), 1e4)), rest_time=100.0),
    ],
    ids=["once", "again", "after another pose", "after two poses"],
)
def test_a_loaded_limb_by_small_steps(setting: Setting) -> None:
    found = posed(setting)
    for weightless in (True, False):
        steps = small_steps(weightless, setting)
        for look, (share, x, y) in zip(found.looks, steps, strict=True):
            angles = look.released if weightless else look.resting
            shares = look.retained if weightless else look.loaded
            assert shares[0, 0] == pytest.approx(share, abs=5e-4)
            place = positions_of(angles, found.arc_length)[0, -1]
            assert place == pytest.approx([x, y], abs=5e-4 * LIMB.length)


def test_a_limb_made_straight_after_a_pose_by_small_steps() -> None:
    setting = replace(SETTING, bends=(), last_bends=OPPOSITE, last_time=1000.0, rest_time=100.0)
    for look, (left, *_) in zip(posed(setting).looks, small_steps(True, setting), strict=True):
        went = 1 - abs(left * ANGLE / OPPOSITE[0].angle)
        assert 0.3 < went < 0.95
        assert look.straightened[0] == pytest.approx(went, abs=5e-4)
