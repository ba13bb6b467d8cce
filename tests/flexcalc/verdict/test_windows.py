"""Windows for strangers: who reads inside holds, and tests help."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from data.rules import Refused
from flexcalc.bench.learning import printed_modulus
from flexcalc.bench.readings import Droop, KinkTest, MandrelBend, PinGauge, PoseTest
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.inputs import Bend, Setting, Wire
from flexcalc.limb.outline import RoundedRectangle
from flexcalc.paper.sheet.report import limb_parts
from flexcalc.pose.pose import hold_pose
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.acceptance import reading_in, side_of
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import assess
from flexcalc.verdict.window import Window, Windows, windows
from flexcalc.wire.bending import bending_moment, elastic_rigidity

STIFF = plan_from_form(
    {
        "elastomer": "TPU 85A", "outline": "round", "diameter": "9", "length": "110",
        "infill": "15", "wire": "2.5", "direction": "0", "payload": "0", "start1": "45",
        "angle1": "70", "radius1": "30", "start2": "", "angle2": "", "radius2": "",
        "printed": "upright",
    },
    "leg",
)  # fmt: skip


def asked(plan: LimbPlan, probability: float = 0.8) -> Windows:
    return windows(
        plan.limb, plan.setting, probability, wish=plan.wish, printer=plan.printer,
        orientation=plan.orientation,
    )  # fmt: skip


@pytest.fixture(scope="module")
def found() -> Windows:
    return asked(STIFF)


def window(found: Windows, key: str) -> Window:
    return next(window for window in found.windows if window.key == key)


def test_other_limbs_whose_strip_reads_inside_hold(found: Windows) -> None:
    """Limbs drawn anew: the modulus that the bench would learn from the edge of the window parts
    those that hold from those that do not."""
    droop = window(found, "droop")
    assert 0.01 < droop.low < 0.1 and math.isinf(droop.high)
    strip = RoundedRectangle(width=0.012, height=0.002, corner_radius=0.0)
    reading = Droop(length=0.12, drop=droop.low, outline=strip)
    edge = printed_modulus(reading, STIFF.limb.elastomer).value
    wish = STIFF.wish
    others = sample_pose(
        STIFF.limb, STIFF.setting, 1024, seed=99, wanted_share=wish.share, sag_limit=wish.sag,
        printer=STIFF.printer, re_poses=wish.re_poses,
    )  # fmt: skip
    modulus = STIFF.limb.elastomer.elastic_modulus * others.inputs["modulus"]
    holds = others.met.all(axis=1)
    assert holds[modulus < edge].mean() >= 0.8
    assert holds[modulus > edge].mean() < holds.mean() < holds[modulus < edge].mean()
    assert holds[(modulus > edge) & (modulus < 1.2 * edge)].mean() < 0.85
    assert droop.passing == pytest.approx(float((modulus < edge).mean()), abs=0.06)


def test_tests_help_a_stranger(found: Windows) -> None:
    verdict = assess(
        STIFF.limb, STIFF.setting, wish=STIFF.wish, printer=STIFF.printer,
        orientation=STIFF.orientation,
    )  # fmt: skip
    assert found.without <= verdict.likely.probability + 0.02
    assert found.inside >= 0.8 and found.with_tests > found.without + 0.1
    assert 0 < found.passing < 1
    for chance in (found.without, found.inside, found.with_tests):
        assert f"{chance:.0%}" in found.sentence
    assert str(found).count("\n") == len(found.windows)


def test_outside_a_change_is_said_that_helps(found: Windows) -> None:
    droop = window(found, "droop")
    assert droop.below and not droop.above and droop.changed_below is not None
    limb, setting = droop.changed_below
    stiff = replace(
        STIFF.limb.elastomer, elastic_modulus=1.5 * STIFF.limb.elastomer.elastic_modulus,
        modulus_factor=1.1,
    )  # fmt: skip
    planned, changed = (
        sample_pose(
            replace(made, elastomer=stiff), setting, 256, wanted_share=STIFF.wish.share
        ).probability_kept
        for made in (STIFF.limb, limb)
    )
    assert planned < changed - 0.3


def test_the_pins_and_the_finished_limb_have_windows_too(found: Windows) -> None:
    pins, bent = window(found, "pins"), window(found, "bent limb")
    assert STIFF.limb.wire is not None
    assert STIFF.limb.wire.diameter < pins.low < pins.high < STIFF.limb.wire.diameter + 0.0011
    assert "enters" in pins.sentence and "does not" in pins.sentence
    whole = STIFF.setting.bends[0].angle
    assert 0.7 * whole < bent.low < whole and "keeps" in bent.sentence
    assert bent.turned == whole and f"{bent.low / whole:.0%} of it" in bent.sentence


def mandrel_bend(diameter: float, stronger: float, wound: float) -> MandrelBend:
    """Return what a wire of other strength would read, by M = E I k (1 - after / before)."""
    wire = STIFF.limb.wire
    assert wire is not None
    metal = wire.metal
    strong = replace(
        metal, strength_coefficient=stronger * metal.strength_coefficient,
        hardening_exponent=metal.hardening_exponent,
    )  # fmt: skip
    made = Wire(metal=strong, diameter=wire.diameter)
    curvature = 2 / (diameter + wire.diameter)
    lost = float(bending_moment(made, curvature)) / (elastic_rigidity(made) * curvature)
    return MandrelBend(
        wire_diameter=wire.diameter, mandrel_diameter=diameter, angle_before=wound,
        angle_after=wound * (1 - lost),
    )  # fmt: skip


def test_a_wire_wound_round_another_mandrel_is_told_by_its_strength(found: Windows) -> None:
    spring = window(found, "spring-back")
    low, high = spring.usual
    assert 0 < low < high < spring.turned and "°" in spring.sentence.split(":")[-1]
    read = [
        reading_in(spring, mandrel_bend(*bend), STIFF.limb, STIFF.setting)
        for bend in ((spring.size, 1.1, spring.turned), (0.03, 1.1, 20.0), (0.03, 1.0, 20.0))
    ]
    assert read[1] == pytest.approx(read[0], rel=1e-3) and read[2] < 0.95 * read[0]
    odd = mandrel_bend(spring.size, 3.0, spring.turned)
    assert side_of(spring, odd, STIFF.limb, STIFF.setting) == "unusual"


def test_a_limb_bent_otherwise_is_told_by_wire_over_elastomer(found: Windows) -> None:
    """A print 1.5 times as stiff, its whole stress scaled, bent round another arc: what it would
    keep of the plan's bend is what the held pose of that print keeps."""
    bent, limb, setting = window(found, "bent limb"), STIFF.limb, STIFF.setting
    stiff = replace(
        limb.elastomer, elastic_modulus=1.5 * limb.elastomer.elastic_modulus,
        saturation_stress=1.5 * limb.elastomer.saturation_stress,
    )  # fmt: skip
    made, other = replace(limb, elastomer=stiff), Bend(start=0.02, angle=0.8, radius=0.06)
    plain = Setting(bends=(other,), clamp_angle=0.0)
    read, wanted = (
        float(hold_pose(made, one).retained_share[0])
        for one in (plain, replace(setting, payload=0.0))
    )
    tests = [
        PoseTest(limb=limb, radius=0.06, angle_set=0.8, angle_kept=0.8 * read),
        PoseTest(
            limb=limb, radius=bent.size, angle_set=bent.turned, angle_kept=bent.turned * wanted
        ),
    ]
    for test in tests:
        told = reading_in(bent, test, limb, setting)
        assert told == pytest.approx(bent.turned * wanted, rel=0.01)
    less = replace(tests[1], angle_kept=0.9 * bent.low)
    assert side_of(bent, less, limb, setting) == "below"


def test_strips_holes_and_kinks_of_other_sizes_are_told_too(found: Windows) -> None:
    limb, setting = STIFF.limb, STIFF.setting
    droop, pins = window(found, "droop"), window(found, "pins")
    strip = RoundedRectangle(width=0.012, height=0.002, corner_radius=0.0)
    same = Droop(length=droop.size, drop=droop.low, outline=strip)
    assert reading_in(droop, same, limb, setting) == pytest.approx(droop.low, rel=1e-6)
    # a little more modulus than that at the edge, read on a strip of another length
    edge = printed_modulus(same, limb.elastomer).value
    longer = Droop(length=0.15, drop=0.05, outline=strip)
    stiffer = printed_modulus(longer, limb.elastomer).value > edge
    assert (side_of(droop, longer, limb, setting) == "below") == stiffer
    hole = PinGauge(
        drawn_diameters=(0.002, pins.size + 1e-4), pins=(0.0018, pins.low + 1e-4),
        orientation="upright",
    )  # fmt: skip
    assert reading_in(pins, hole, limb, setting) == pytest.approx(pins.low, abs=1e-9)
    with pytest.raises(Refused, match="reading must be a Droop"):
        side_of(droop, hole, limb, setting)
    kink = KinkTest(limb=limb, held_diameter=0.02, kinked_diameter=0.018)
    kinks = replace(droop, key="kink", low=-math.inf, high=0.02, usual=(0.015, 0.03))
    assert side_of(kinks, kink, limb, setting) == "inside"


def test_who_asks_for_more_gets_less(found: Windows) -> None:
    surer = asked(STIFF, 0.95)
    assert window(surer, "droop").low > window(found, "droop").low
    assert surer.passing < found.passing and surer.inside >= found.inside - 0.02


def test_a_limb_that_holds_whatever_is_read_says_so() -> None:
    every = asked(plan_from_form({"share": "30", "sag": "50", "re_poses": "1", "wall": "2.5"}))
    assert "any usual reading does" in window(every, "droop").sentence
    assert not np.isfinite([window(every, "droop").low, window(every, "droop").high]).any()


def test_windows_stand_on_the_sheet() -> None:
    parts = [part for part in limb_parts(STIFF) if "with your own spool" in part.title]
    assert len(parts) == 1 and "clamped level" in str(parts[0])


def test_refusals() -> None:
    with pytest.raises(Refused, match="probability"):
        asked(STIFF, 1.0)
    with pytest.raises(Refused, match="limb wire"):
        windows(replace(STIFF.limb, wire=None), STIFF.setting)
