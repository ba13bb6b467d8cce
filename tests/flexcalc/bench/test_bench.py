"""Bench readings: round trips through the model, their errors, and what they teach."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from flexcalc.bench.bent_limb import saturation_slope
from flexcalc.bench.learning import (
    Droop,
    MandrelBend,
    PinGauge,
    PoseTest,
    droop_number,
    hole_shrinkage,
    kept_angles,
    learned,
    printed_modulus,
    updated,
    wire_strength,
)
from flexcalc.build.hole import arc_shrinkage, facet_shrinkage
from flexcalc.limb.inputs import GRAVITY, Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round, RoundedRectangle
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import hold_pose
from flexcalc.rod.rest import rest_shape
from flexcalc.section.section import limb_section
from flexcalc.spread.sample import sample_pose

STRIP = RoundedRectangle(width=0.021, height=0.0018, corner_radius=0.0)
FILAMENT = load_elastomer("TPU 85A")
ALUMINIUM = load_metal("annealed aluminium 1100")
LIMB = Limb(
    elastomer=FILAMENT,
    outline=Round(diameter=0.012),
    length=0.12,
    wall=0.0012,
    wire=Wire(metal=ALUMINIUM, diameter=0.003),
)


def droop_of(
    elastomer: Elastomer, length: float, wall: float | None = None, infill: float = 0.0
) -> float:
    limb = Limb(elastomer=elastomer, outline=STRIP, length=length, wall=wall, infill=infill)
    section = limb_section(limb)
    weight = section.mass_per_length * GRAVITY
    rest = rest_shape(section.flexural_rigidity_bare[0], length, math.pi / 2, 0.0, weight)
    return -float(rest.tip_position[1])


# --- droop -------------------------------------------------------------------------------------


def test_droop_number_of_the_self_weight_elastica() -> None:
    """w L3/EI 2 droops by 0.238506582873 L (Rohde's problem, value computed elsewhere)."""
    assert droop_number(0.238506582873) == pytest.approx(2, rel=1e-9)


def test_droop_number_of_a_small_drop_is_eight_times_it() -> None:
    assert droop_number(1e-5) == pytest.approx(8e-5, rel=1e-6)


def test_droop_number_rises_and_is_the_inverse_of_the_rod() -> None:
    share = np.linspace(1e-3, 0.9, 40)
    number = droop_number(share)
    assert np.all(np.diff(number) > 0)
    back = -rest_shape(1.0, 1.0, math.pi / 2, 0.0, number).tip_position[:, 1]
    assert back == pytest.approx(share, abs=1e-8)


@pytest.mark.parametrize("modulus", [9e6, 31e6, 140e6])
@pytest.mark.parametrize("shape", [{}, {"wall": 0.0005, "infill": 0.3}])
def test_modulus_from_a_droop_is_the_one_that_drooped(
    modulus: float, shape: dict[str, float]
) -> None:
    """The elastomer's own modulus plays no part: here it is 24 MPa."""
    true = replace(FILAMENT, elastic_modulus=modulus)
    droop = Droop(length=0.09, drop=droop_of(true, 0.09, **shape), outline=STRIP, **shape)
    found = printed_modulus(droop, FILAMENT)
    assert found.value == pytest.approx(modulus, rel=1e-6)
    assert found.unit == "Pa" and found.as_factor


def test_modulus_of_a_late_reading_is_that_of_ten_seconds() -> None:
    reading = Droop(length=0.09, drop=0.02, outline=STRIP)
    late = replace(reading, time=3600.0)
    ratio = printed_modulus(late, FILAMENT).value / printed_modulus(reading, FILAMENT).value
    assert ratio == pytest.approx(360**FILAMENT.relaxation_exponent)


def test_error_of_the_modulus_is_that_of_the_drop_carried_through() -> None:
    """Against the modulus of many readings with scatter; small drops carry it one to one."""
    scatter = np.random.default_rng(5).normal(size=400)
    for drop in (0.004, 0.03, 0.06):
        droop = Droop(length=0.09, drop=drop, outline=STRIP, error=0.03, thickness_error=0.0)
        spread = math.log(printed_modulus(droop, FILAMENT).error)
        moduli = np.log(droop_number(drop / 0.09 * (1 + 0.03 * scatter)))
        assert spread == pytest.approx(np.std(moduli), rel=0.1)  # 400 draws: 3.5 %
    small = Droop(length=0.09, drop=0.002, outline=STRIP, error=0.03, thickness_error=0.0)
    assert math.log(printed_modulus(small, FILAMENT).error) == pytest.approx(0.03, rel=0.01)
    # a strip 1 % thicker than it is taken for is 1 % heavier and 3 % stiffer
    thicker = replace(STRIP, height=STRIP.height * 1.01)
    moduli = [
        printed_modulus(Droop(length=0.09, drop=0.002, outline=outline), FILAMENT).value
        for outline in (STRIP, thicker)
    ]
    rough = Droop(length=0.09, drop=0.002, outline=STRIP, error=1e-4, thickness_error=0.01)
    error = math.log(printed_modulus(rough, FILAMENT).error)
    assert error == pytest.approx(math.log(moduli[0] / moduli[1]), rel=0.01)


@pytest.mark.parametrize(
    ("reading", "key"),
    [
        (Droop(length=0.06, drop=0.002, outline=STRIP), "droop too small"),
        (Droop(length=0.2, drop=0.17, outline=STRIP), "droop too large"),
        (Droop(length=0.15, drop=0.09, outline=Round(diameter=0.012)), "droop strained"),
    ],
)
def test_droop_that_cannot_tell_says_so(reading: Droop, key: str) -> None:
    assert key in [caution.key for caution in printed_modulus(reading, FILAMENT).cautions]
    good = Droop(length=0.12, drop=0.03, outline=STRIP)
    assert printed_modulus(good, FILAMENT).cautions == ()


def test_blind_one_droop_finds_the_modulus_and_its_band_covers() -> None:
    """True moduli from the prior, drop and thickness read with 3 and 2.5 %: 8 %, 75 to 85 %."""
    draw = np.random.default_rng(7)
    size, length = 300, 0.10
    true = FILAMENT.elastic_modulus * np.exp(
        math.log(FILAMENT.modulus_factor) * draw.normal(size=size)
    )
    limb = Limb(elastomer=FILAMENT, outline=STRIP, length=length)
    section = limb_section(limb)
    rigidity = section.flexural_rigidity_bare[0] * true / FILAMENT.elastic_modulus
    thick = np.exp(0.025 * draw.normal(size=size))
    weight = section.mass_per_length * GRAVITY
    drops = -rest_shape(rigidity * thick**2, length, math.pi / 2, 0.0, weight).tip_position[:, 1]
    read = drops * (1 + 0.03 * draw.normal(size=size))
    known = [
        updated(FILAMENT, Droop(length=length, drop=float(drop), outline=STRIP, error=0.03))
        for drop in read
    ]
    median = np.array([one.elastic_modulus for one in known])
    half = 1.2816 * np.log([one.modulus_factor for one in known])
    assert np.median(np.abs(median / true - 1)) < 0.04
    assert 0.75 < np.mean(np.abs(np.log(median / true)) < half) < 0.85


# --- mandrel -----------------------------------------------------------------------------------


def test_strength_from_a_published_spring_back() -> None:
    """4 mm wire, K 180 MPa, n 0.2, E 69 GPa at R 40 mm keeps 0.956963105309027 (computed)."""
    metal = Metal(
        name="aluminium",
        elastic_modulus=69e9,
        strength_coefficient=90e6,
        hardening_exponent=0.2,
        density=2710.0,
    )
    turns = 6 * math.pi
    bend = MandrelBend(
        wire_diameter=0.004,
        mandrel_diameter=0.076,
        angle_before=turns,
        angle_after=turns * 0.956963105309027,
    )
    assert wire_strength(bend, metal).value == pytest.approx(180e6, rel=1e-8)


def test_strength_scales_a_yield_stress_along() -> None:
    ludwik = replace(ALUMINIUM, yield_stress=35e6)
    bend = MandrelBend(
        wire_diameter=0.003, mandrel_diameter=0.06, angle_before=12.0, angle_after=11.0
    )
    known = updated(ludwik, bend)
    assert known.yield_stress is not None
    assert known.yield_stress / 35e6 == pytest.approx(
        known.strength_coefficient / ludwik.strength_coefficient
    )
    exact = wire_strength(bend, ludwik).value
    factor = exact / ludwik.strength_coefficient
    same = replace(ludwik, strength_coefficient=exact, yield_stress=35e6 * factor)
    again = wire_strength(bend, same)
    assert again.value == pytest.approx(exact, rel=1e-9)


def test_error_of_the_strength_is_that_of_the_angle_carried_through() -> None:
    bend = MandrelBend(
        wire_diameter=0.003,
        mandrel_diameter=0.06,
        angle_before=6 * math.pi,
        angle_after=17.9,
        error=0.01,
    )
    less, more = (
        wire_strength(replace(bend, angle_after=17.9 + side * 0.01), ALUMINIUM).value
        for side in (1, -1)
    )
    spread = math.log(wire_strength(bend, ALUMINIUM).error)
    assert spread == pytest.approx(math.log(more / less) / 2, rel=1e-3)


def test_mandrel_that_cannot_tell_says_so() -> None:
    tight = MandrelBend(
        wire_diameter=0.003, mandrel_diameter=0.02, angle_before=math.pi, angle_after=3.06
    )
    keys = [caution.key for caution in wire_strength(tight, ALUMINIUM).cautions]
    assert keys == ["spring-back too small"]
    wide = MandrelBend(
        wire_diameter=0.001, mandrel_diameter=0.8, angle_before=20.0, angle_after=0.6
    )
    found = wire_strength(wide, ALUMINIUM)
    assert [caution.key for caution in found.cautions] == ["spring-back elastic"]


def test_angles_that_no_strength_explains_are_refused_with_the_range() -> None:
    bend = MandrelBend(
        wire_diameter=0.003, mandrel_diameter=0.06, angle_before=12.0, angle_after=11.99999999
    )
    with pytest.raises(ValueError, match=r"^angle after must be from .* rad .*; got '12 rad'"):
        wire_strength(bend, ALUMINIUM)


# --- pins --------------------------------------------------------------------------------------


def holes(machine: float, orientation: str, drawn: tuple[float, ...], bead: float) -> PinGauge:
    """A strip printed without scatter; every pin sits half a step under its hole.

    ``machine`` is what material and machine take off a hole of 3 mm.
    """
    pins = []
    for hole in drawn:
        arc = arc_shrinkage(hole, bead) if orientation == "upright" else 0.0
        pins.append(hole - machine * 0.003 / hole - arc - facet_shrinkage(hole, 64) - 5e-5)
    return PinGauge(drawn_diameters=drawn, pins=tuple(pins), orientation=orientation)


@pytest.mark.parametrize("orientation", ["upright", "lying"])
def test_shrinkage_of_the_reference_hole_is_that_of_the_strip(orientation: str) -> None:
    printer = Printer()
    gauge = holes(0.00017, orientation, (0.002, 0.0032, 0.0045), printer.bead_width)
    reference = holes(0.00017, orientation, (printer.reference_hole,), printer.bead_width)
    wanted = reference.drawn_diameters[0] - reference.pins[0] - 5e-5
    found = hole_shrinkage(gauge, printer)
    assert found.value == pytest.approx(wanted, abs=1e-12)
    single = math.hypot(3e-5, 1e-4 / math.sqrt(12))
    told = math.sqrt(sum((0.003 / hole) ** 2 for hole in gauge.drawn_diameters))
    assert found.error == pytest.approx(single / told)  # small holes tell more
    assert found.cautions == ()


def test_pins_teach_one_orientation_only() -> None:
    printer = Printer()
    gauge = holes(0.00025, "upright", (0.002, 0.003, 0.004), printer.bead_width)
    known = updated(printer, gauge)
    assert known.measured == ("upright",)
    assert known.hole_shrinkage_lying == printer.hole_shrinkage_lying
    assert known.hole_spread_upright < printer.hole_spread_upright / 2
    found = hole_shrinkage(gauge, printer)
    low, high = sorted([found.value, printer.hole_shrinkage_upright])
    assert low < known.hole_shrinkage_upright < high
    # the next hole still scatters, however many were measured
    many = updated(printer, [gauge] * 50)
    assert many.hole_spread_upright == pytest.approx(gauge.error, rel=0.02)


def test_uneven_strips_are_flagged() -> None:
    drawn = (0.002, 0.003, 0.004, 0.005, 0.006)
    slanted = tuple(hole - 0.0001 - 0.1 * hole for hole in drawn)
    rough = tuple(hole - 9e-7 / hole + (-1) ** k * 0.0002 for k, hole in enumerate(drawn))
    for pins, key in ((slanted, "shrinkage by size"), (rough, "holes scatter")):
        gauge = PinGauge(drawn_diameters=drawn, pins=pins, orientation="lying")
        assert [c.key for c in hole_shrinkage(gauge, Printer()).cautions] == [key]


# --- pose test ---------------------------------------------------------------------------------


def pose_test(kept: float, **others: float) -> PoseTest:
    return PoseTest(limb=LIMB, radius=0.04, angle_set=math.pi / 2, angle_kept=kept, **others)


@pytest.mark.parametrize("rest_time", [0.0, 3600.0])
def test_kept_angle_at_factor_one_is_that_of_the_chain(rest_time: float) -> None:
    test = pose_test(0.9, rest_time=rest_time, hold_time=20.0)
    setting = Setting(
        bends=(Bend(start=0.0, angle=math.pi / 2, radius=0.04),),
        clamp_angle=0.0,
        hold_time=20.0,
        rest_time=rest_time,
    )
    share = hold_pose(LIMB, setting).retained_share[0]
    assert kept_angles(test, 1.0) == pytest.approx(share * math.pi / 2, abs=1e-4)


def test_kept_angle_rises_with_the_factor_which_is_a_softer_elastomer() -> None:
    factors = np.array([0.2, 0.5, 1.0, 2.0, 5.0])
    kept = kept_angles(pose_test(0.9), factors)
    assert np.all(np.diff(kept) > 0)
    linear = replace(FILAMENT, saturation_stress=math.inf)
    soft = replace(linear, elastic_modulus=FILAMENT.elastic_modulus / 2)
    one, other = (
        replace(pose_test(0.9), limb=replace(LIMB, elastomer=each)) for each in (linear, soft)
    )
    assert kept_angles(one, 2.0) == pytest.approx(kept_angles(other, 1.0), abs=1e-9)


def test_blind_pose_test_finds_the_chain_factor_and_its_band_covers() -> None:
    """True factors from the prior: 80 % bands hold 80 % within two standard errors."""
    draw = np.random.default_rng(12)
    wide = math.sqrt(
        math.log(FILAMENT.modulus_factor) ** 2 + math.log(ALUMINIUM.strength_factor) ** 2 + 0.1**2
    )
    true = wide * draw.normal(size=48)
    kept = kept_angles(pose_test(0.9), np.exp(true)) + 0.052 * draw.normal(size=48)
    inside, closer = [], []
    for factor, angle in zip(true, kept, strict=True):
        test = pose_test(min(max(float(angle), 0.0), 1.7), error=0.052)
        update = learned(LIMB, test).updates[0]
        assert update.name == "chain factor"
        off = abs(math.log(update.after) - factor)
        inside.append(off < 1.2816 * math.log(update.after_error))
        closer.append(off < abs(factor))
    assert 0.68 < np.mean(inside) < 0.92
    assert np.mean(closer) > 0.7


def test_pose_test_is_shared_between_print_and_wire_by_their_variances() -> None:
    found = {update.name: update for update in learned(LIMB, pose_test(0.7)).updates}
    modulus, strength = found["elastic modulus"], found["strength coefficient"]
    saturation = found["saturation stress"]
    softer, weaker, harder = (
        math.log(update.after / update.before) for update in (modulus, saturation, strength)
    )
    spreads = (
        math.log(factor)
        for factor in (
            FILAMENT.modulus_factor, FILAMENT.saturation_factor, ALUMINIUM.strength_factor,
        )
    )  # fmt: skip
    # over their variances; modulus and saturation stress scale the pull together as one factor
    steep = [s / v**2 for s, v in zip((softer, weaker, harder), spreads, strict=True)]
    assert (steep[0] + steep[1]) / steep[2] == pytest.approx(-1)
    assert 0.1 < -steep[1] / steep[2] < 0.6  # a bend of R 40 strains the tube by 15 %
    assert saturation.after_error < saturation.before_error
    assert modulus.after_error < modulus.before_error
    assert strength.after_error < strength.before_error
    less = learned(LIMB, pose_test(0.7, error=0.2)).updates[0]
    assert less.weight < found["chain factor"].weight


@pytest.mark.parametrize("saturation", [math.inf, FILAMENT.saturation_stress])
def test_pose_test_of_another_sample_counts_its_own_materials(saturation: float) -> None:
    """The same reading on a limb assumed twice as soft says the print is twice as soft."""
    made = replace(FILAMENT, saturation_stress=saturation)
    limb = replace(LIMB, elastomer=made)
    half = replace(
        made, elastic_modulus=made.elastic_modulus / 2, saturation_stress=made.saturation_stress / 2
    )
    same = updated(limb, replace(pose_test(0.8), limb=limb))
    other = updated(limb, replace(pose_test(0.8), limb=replace(limb, elastomer=half)))
    assert other.elastomer.elastic_modulus == pytest.approx(
        same.elastomer.elastic_modulus, rel=1e-6 if math.isinf(saturation) else 1e-3
    )


def test_how_much_of_the_pull_is_the_saturation_stress() -> None:
    """A modulus of 1.05 times alone is worth what is left: kept angles of both limbs agree."""
    test = pose_test(0.9)
    softened = saturation_slope(test, 0.0)
    stiffer = replace(FILAMENT, elastic_modulus=1.05 * FILAMENT.elastic_modulus)
    other = replace(test, limb=replace(LIMB, elastomer=stiffer))
    less = math.exp(-(1 + softened) * math.log(1.05))
    assert kept_angles(other, 1.0) == pytest.approx(kept_angles(test, less), abs=5e-4)
    assert abs(kept_angles(other, 1.0) - kept_angles(test, 1 / 1.05)) > 3e-3


def test_pose_tests_that_cannot_tell_or_do_not_fit_say_so() -> None:
    thin = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.0005))
    dull = PoseTest(limb=thin, radius=0.04, angle_set=1.5, angle_kept=0.01, error=0.2)
    assert [c.key for c in learned(thin, dull).cautions] == ["pose test dull"]
    odd = replace(dull, angle_kept=1.4, error=0.05)
    assert "pose test odd" in [c.key for c in learned(thin, odd).cautions]


# --- what is learned ---------------------------------------------------------------------------


def test_precisions_add() -> None:
    reading = Droop(length=0.12, drop=0.03, outline=STRIP, error=0.1)
    found = printed_modulus(reading, FILAMENT)
    prior, error = math.log(FILAMENT.modulus_factor), math.log(found.error)
    for count in (1, 4):
        (update,) = learned(FILAMENT, [reading for _ in range(count)]).updates
        precision = 1 / prior**2 + count / error**2
        assert math.log(update.after_error) == pytest.approx(precision**-0.5)
        assert update.weight == pytest.approx(count / error**2 / precision)
        shift = math.log(update.after / update.before)
        assert shift == pytest.approx(update.weight * math.log(found.value / update.before))
        known = updated(FILAMENT, [reading for _ in range(count)])
        assert known.elastic_modulus == update.after
        assert known.modulus_factor == update.after_error


def test_same_verdict_narrows() -> None:
    setting = Setting(
        bends=(Bend(start=0.02, angle=math.pi / 2, radius=0.04),), clamp_angle=math.pi / 2
    )
    readings: list[Droop | MandrelBend | PinGauge | PoseTest] = [
        Droop(length=0.12, drop=0.032, outline=STRIP),
        MandrelBend(
            wire_diameter=0.003, mandrel_diameter=0.06, angle_before=6 * math.pi, angle_after=17.9
        ),
    ]
    before = sample_pose(LIMB, setting, samples=256).worst_share
    after = sample_pose(updated(LIMB, readings), setting, samples=256).worst_share
    assert after.high - after.low < 0.6 * (before.high - before.low)
    tested = sample_pose(updated(LIMB, pose_test(0.95)), setting, samples=256).worst_share
    assert tested.high - tested.low < 0.6 * (before.high - before.low)


def test_no_reading_teaches_nothing() -> None:
    assert updated(FILAMENT, []) == FILAMENT
    assert updated(ALUMINIUM, []) == ALUMINIUM
    assert updated(Printer(), []) == Printer()
    assert updated(LIMB, []) == LIMB
    assert learned(LIMB, []).updates == ()


def test_far_reading_is_a_surprise() -> None:
    stiff = Droop(length=0.12, drop=0.002, outline=STRIP)
    keys = [caution.key for caution in learned(FILAMENT, stiff).cautions]
    assert "reading surprises" in keys
    usual = Droop(length=0.12, drop=0.03, outline=STRIP)
    assert learned(FILAMENT, usual).cautions == ()


def test_change_in_words() -> None:
    usual = Droop(length=0.12, drop=0.03, outline=STRIP)
    (update,) = learned(FILAMENT, usual).updates
    assert update.text.startswith("elastic modulus: 24.4 MPa ×/÷ 1.90 before, ")
    gauge = PinGauge(drawn_diameters=(0.003,), pins=(0.0027,), orientation="lying")
    (update,) = learned(Printer(), gauge).updates
    assert update.text.startswith("hole shrinkage lying: 0.30 ± 0.15 mm before, ")


@pytest.mark.parametrize(
    ("thing", "readings", "words"),
    [
        (FILAMENT, PinGauge(drawn_diameters=(0.003,), pins=(0.0027,), orientation="lying"),
         "measurements must be Droop"),
        (Printer(), [Droop(length=0.1, drop=0.03, outline=STRIP)], "measurements must be PinGauge"),
        (LIMB, ["droop"], "measurements must be Droop, MandrelBend, PoseTest"),
        (FILAMENT, 3, "measurements must be a reading or a list"),
        (FILAMENT, [None], "measurements must be"),
        ("TPU 85A", [], "thing to update must be an Elastomer"),
        (replace(LIMB, wire=None), pose_test(0.9), "measurements must be of the filament"),
    ],
)  # fmt: skip
def test_refuses_readings_of_something_else(thing: object, readings: object, words: str) -> None:
    with pytest.raises(ValueError, match=f"^{words}.*; got "):
        updated(thing, readings)  # type: ignore[type-var, arg-type]


@pytest.mark.parametrize(
    ("kind", "good", "bad", "words"),
    [
        (Droop, {"length": 0.1, "drop": 0.03, "outline": STRIP},
         {"length": 0.0, "drop": 0.091, "outline": "strip", "wall": math.nan, "time": 0,
          "error": None, "infill": 2}, "droop"),
        (MandrelBend, {"wire_diameter": 0.003, "mandrel_diameter": 0.05, "angle_before": 12.0,
                       "angle_after": 11.0},
         {"wire_diameter": -1, "mandrel_diameter": 0.002, "angle_before": math.inf,
          "angle_after": 12.0, "error": 0.0}, "wire diameter|mandrel|angle"),
        (PinGauge, {"drawn_diameters": (0.003, 0.004), "pins": (0.0027, 0.0037),
                    "orientation": "upright"},
         {"drawn_diameters": (0.003,), "pins": (0.003, "x"), "orientation": "flat", "step": 0,
          "error": math.nan}, "drawn diameters|pin|hole error"),
        (PinGauge, {"drawn_diameters": (0.003, 0.004), "pins": (0.0027, 0.0037),
                    "orientation": "upright"},
         {"drawn_diameters": 3, "pins": "ab"}, "drawn diameters|pins"),
        (PinGauge, {"drawn_diameters": (0.003, 0.004), "pins": (0.0027, 0.0037),
                    "orientation": "upright"},
         {"drawn_diameters": (), "pins": (0.0027, 0.0057)}, "drawn diameters|pins"),
        (PoseTest, {"limb": LIMB, "radius": 0.04, "angle_set": 1.5, "angle_kept": 1.0},
         {"limb": replace(LIMB, wire=None), "radius": 0.001, "angle_set": 4.0, "angle_kept": 1.8,
          "hold_time": -1, "rest_time": math.nan, "error": 0}, "pose|angle|hold|rest|bend radius"),
    ],
)  # fmt: skip
def test_refuses_impossible_readings(
    kind: type, good: dict[str, object], bad: dict[str, object], words: str
) -> None:
    kind(**good)
    for name, value in bad.items():
        with pytest.raises(ValueError, match=f"^({words}).* must be .*; got "):
            kind(**{**good, name: value})


def test_chain_factors_are_counted_and_taken_some_at_a_time() -> None:
    test = pose_test(0.9)
    factors = np.geomspace(0.2, 5.0, 2300)
    kept = kept_angles(test, factors.reshape(23, 100))
    assert kept.shape == (23, 100)
    some = [0, 999, 1000, 1999, 2000, 2299]
    assert kept.ravel()[some] == pytest.approx(kept_angles(test, factors[some]), abs=1e-9)
    with pytest.raises(ValueError, match="chain factors must be at most 100000 numbers"):
        kept_angles(test, np.ones(100_001))


# --- the model's own error ---------------------------------------------------------------------

READ = Droop(length=0.12, drop=0.032, outline=STRIP)


def predicted(limb: Limb) -> tuple[float, float]:
    """Angle that a limb of LIMB's kind is said to keep in the pose test, and its deviation."""
    bend = Bend(start=0.0, angle=math.pi / 2, radius=0.04)
    setting = Setting(bends=(bend,), clamp_angle=0.0, temperature_spread=0.0)
    band = sample_pose(limb, setting, samples=512).worst_share
    return band.median * math.pi / 2, (band.high - band.low) / 2 / 1.2816 * math.pi / 2


@pytest.mark.parametrize("off", [-1.5, 1.0])
def test_after_a_droop_and_a_pose_test_the_limb_is_said_to_keep_what_was_measured(
    off: float,
) -> None:
    drooped = updated(LIMB, READ)
    before, doubt = predicted(drooped)
    error = math.radians(2)
    test = replace(pose_test(before + off * math.hypot(doubt, error), error=error), limb=drooped)
    both = updated(drooped, test)
    after, left = predicted(both)
    assert abs(after - test.angle_kept) < math.hypot(left, error)
    assert abs(after - test.angle_kept) < 0.7 * abs(before - test.angle_kept)
    assert left < 0.8 * doubt
    # the test narrows the model's own error and how soon the wire yields when bent back
    assert both.elastomer.model_deviation < drooped.elastomer.model_deviation
    assert both.wire is not None and drooped.wire is not None
    assert both.wire.metal.back_stress_spread < drooped.wire.metal.back_stress_spread
    assert (both.elastomer.model_factor > 1) == (off > 0)
    assert (both.wire.metal.back_stress < drooped.wire.metal.back_stress) == (off > 0)


def test_a_pose_test_far_from_all_expected_widens_and_says_so() -> None:
    drooped = updated(LIMB, READ)
    before, doubt = predicted(drooped)
    far = replace(pose_test(before - 4 * math.hypot(doubt, 0.05), error=0.05), limb=drooped)
    after = updated(drooped, far)
    found = learned(drooped, far)
    assert "pose test odd" in [caution.key for caution in found.cautions]
    assert after.elastomer.model_deviation > drooped.elastomer.model_deviation
    assert after.elastomer.modulus_factor == drooped.elastomer.modulus_factor
    assert after.wire is not None and drooped.wire is not None
    assert after.wire.metal.strength_factor == drooped.wire.metal.strength_factor
    assert predicted(after)[1] > doubt
    assert all(one.after_error >= one.before_error for one in found.updates if one.as_factor)


@pytest.mark.parametrize("drop", [0.0018, 0.105])
def test_a_droop_far_from_all_expected_widens(drop: float) -> None:
    far = Droop(length=0.12, drop=drop, outline=STRIP)
    found = learned(FILAMENT, far)
    assert found.updates[0].surprise > 3
    assert "reading surprises" in [caution.key for caution in found.cautions]
    assert updated(FILAMENT, far).modulus_factor > FILAMENT.modulus_factor


def test_advice_says_what_to_do_in_words() -> None:
    setting = Setting(
        bends=(Bend(start=0.02, angle=math.pi / 2, radius=0.04),), clamp_angle=math.pi / 2
    )
    drooped = updated(LIMB, READ)
    said = sample_pose(drooped, setting, samples=512).measure_next
    assert "one finished limb" in said and "back-stress" not in said and "model's own" in said
    tested = updated(drooped, replace(pose_test(predicted(drooped)[0]), limb=drooped))
    then = sample_pose(tested, setting, samples=512)
    share = {driver.name: driver.share for driver in then.drivers}
    was = {d.name: d.share for d in sample_pose(drooped, setting, samples=512).drivers}
    assert share["model's own error"] < was["model's own error"]
