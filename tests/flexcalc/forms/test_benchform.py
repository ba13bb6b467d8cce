"""The bench and own materials as typed: readings, refusals beside their fields, and back."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from data.page.form import RefusedFieldsError
from flexcalc.bench.readings import Droop
from flexcalc.forms.bench_form import (
    droop_readings,
    magnet_question,
    mandrel_readings,
    pin_readings,
    pose_readings,
    strip_sizes,
)
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.forms.materials_form import (
    read_stiffness,
    texts_of_own,
    typed_elastomer,
    typed_metal,
    typed_printer,
)
from flexcalc.limb.inputs import Metal
from flexcalc.limb.materials import (
    load_elastomer,
    load_metal,
    modulus_from_shore,
    strength_coefficient,
    tensile_strength,
)
from flexcalc.limb.own_materials import save_own
from flexcalc.limb.printer import Printer

LIMB = plan_from_form({}).limb


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path))


def test_droops_are_read_in_any_unit_one_or_several() -> None:
    filament, droops = droop_readings(
        {"droop_drop": "22,5; 7/8 in", "droop_length": "12 cm", "droop_error": "4"}
    )
    assert filament == load_elastomer("TPU 80A")
    assert [type(one) for one in droops] == [Droop, Droop]
    assert [one.drop for one in droops] == pytest.approx([0.0225, 0.022225])
    assert droops[0].length == pytest.approx(0.12) and droops[0].error == pytest.approx(0.04)
    assert droop_readings({})[1] == []
    assert strip_sizes({"droop_width": "1 cm"}) == pytest.approx((0.12, 0.01, 0.002))


def test_wires_round_a_mandrel() -> None:
    metal, bends = mandrel_readings(
        {"bent_wire": "AWG 12", "bent_kept": "338°; 336", "bent_metal": "annealed copper"}
    )
    assert metal == load_metal("annealed copper")
    assert bends[0].wire_diameter == pytest.approx(2.0525e-3, abs=1e-6)
    assert bends[1].angle_after == pytest.approx(math.radians(336))
    assert bends[0].angle_before == pytest.approx(2 * math.pi)


def test_pins_and_holes() -> None:
    printer, gauges = pin_readings(
        {"pins_drawn": "3,0; 3.2", "pins_entered": "2.7; 2.9", "pins_printed": "upright"}
    )
    assert printer == Printer()
    assert gauges[0].drawn_diameters == pytest.approx((3.0e-3, 3.2e-3))
    assert gauges[0].orientation == "upright"
    assert pin_readings({})[1] == []


def test_a_limb_let_go() -> None:
    tests = pose_readings({"pose_kept": "77; 79"}, LIMB)
    assert [one.angle_kept for one in tests] == pytest.approx([math.radians(77), math.radians(79)])
    assert tests[0].limb == LIMB
    assert pose_readings({}, LIMB) == []


def test_own_materials_are_measured_too() -> None:
    own = replace(load_elastomer("TPU 95A"), name="roll 7")
    save_own(own)
    assert droop_readings({"droop_filament": "roll 7", "droop_drop": "20"})[0] == own


def test_a_magnet() -> None:
    question = magnet_question({"magnet_gap": "0", "magnet_grade": "N52", "magnet_payload": "7,5"})
    assert question.remanence == pytest.approx(1.45)
    assert question.gap == 0 and question.payload == pytest.approx(0.0075)


@pytest.mark.parametrize(
    ("read", "form", "field"),
    [
        (droop_readings, {"droop_length": "14 gauge"}, "droop_length"),
        (droop_readings, {"droop_drop": "119"}, "droop_drop"),
        (droop_readings, {"droop_drop": "5; six"}, "droop_drop"),
        (droop_readings, {"droop_drop": ";".join(["5"] * 41)}, "droop_drop"),
        (droop_readings, {"droop_width": "30 m"}, "droop_width"),
        (droop_readings, {"droop_drop": "5", "droop_error": "0"}, "droop_error"),
        (droop_readings, {"droop_drop": "5", "droop_time": "soon"}, "droop_time"),
        (droop_readings, {"droop_filament": "cheese"}, "droop_filament"),
        (strip_sizes, {"droop_thickness": ""}, "droop_thickness"),
        (mandrel_readings, {"bent_kept": "400"}, "bent_kept"),
        (mandrel_readings, {"bent_kept": "1", "bent_mandrel": "1"}, "bent_mandrel"),
        (mandrel_readings, {"bent_kept": "1", "bent_wound": "nan"}, "bent_wound"),
        (pin_readings, {"pins_entered": "2.5"}, "pins_entered"),
        (pin_readings, {"pins_drawn": "3", "pins_entered": "0.5"}, "pins_entered"),
        (pin_readings, {"pins_drawn": "3", "pins_entered": "2.8", "pins_step": "9"}, "pins_step"),
        (
            pin_readings,
            {"pins_drawn": "3", "pins_entered": "2.8", "pins_printed": "askew"},
            "pins_printed",
        ),
        (lambda form: pose_readings(form, LIMB), {"pose_kept": "120"}, "pose_kept"),
        (
            lambda form: pose_readings(form, LIMB),
            {"pose_kept": "9", "pose_radius": "1"},
            "pose_radius",
        ),
        (
            lambda form: pose_readings(form, LIMB),
            {"pose_kept": "9", "pose_hold": "-1"},
            "pose_hold",
        ),
        (magnet_question, {"magnet_grade": "N99"}, "magnet_grade"),
        (magnet_question, {"magnet_payload": "-3"}, "magnet_payload"),
        (
            lambda form: typed_elastomer(form, {}),
            {"elastomer_stiffness": "soft"},
            "elastomer_stiffness",
        ),
        (
            lambda form: typed_elastomer(form, {}),
            {"elastomer_stiffness": "99A"},
            "elastomer_stiffness",
        ),
        (lambda form: typed_elastomer(form, {}), {}, "elastomer_name"),
        (
            lambda form: typed_elastomer(form, {}),
            {"elastomer_name": "x", "elastomer_factor": "0.5"},
            "elastomer_factor",
        ),
        (
            lambda form: typed_metal(form, {}),
            {"metal_name": "x", "metal_strength": "-4"},
            "metal_strength",
        ),
        (
            lambda form: typed_metal(form, {}),
            {"metal_name": "x", "metal_exponent": "1.4"},
            "metal_exponent",
        ),
        (lambda form: typed_metal(form, {}), {"metal_name": ""}, "metal_name"),
        (
            lambda form: typed_printer(form, {}),
            {"printer_name": "x", "printer_bead": "9"},
            "printer_bead",
        ),
        (
            lambda form: typed_printer(form, {}),
            {"printer_name": "x", "printer_lying": "5"},
            "printer_lying",
        ),
    ],
)
def test_a_refusal_is_laid_on_its_field(
    read: Callable[[dict[str, str]], Any], form: dict[str, str], field: str
) -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        read(form)
    assert field in refused.value.errors
    for sentence in refused.value.errors.values():
        assert " must be " in sentence and "; got " in sentence


@pytest.mark.parametrize(
    ("text", "modulus"),
    [
        ("85A", modulus_from_shore(85, "A")),
        ("55 d", modulus_from_shore(55, "D")),
        ("35,5 MPa", 35.5e6),
        (" 92.5a ", modulus_from_shore(92.5, "A")),
    ],
)
def test_stiffness_is_typed_as_hardness_or_modulus(text: str, modulus: float) -> None:
    assert read_stiffness(text) == pytest.approx(modulus)


def test_a_filament_typed_takes_the_rest_from_its_likes() -> None:
    typed = typed_elastomer({"elastomer_name": " roll ", "elastomer_stiffness": "85A"}, {})
    like = load_elastomer("TPU 85A")
    assert typed.name == "roll"
    assert typed.relaxation_exponent == like.relaxation_exponent
    assert typed.modulus_factor == 1.9
    known = replace(typed, relaxation_exponent=0.123)
    again = typed_elastomer({"elastomer_name": "roll"}, {"roll": known})
    assert again.relaxation_exponent == 0.123


def test_a_metal_typed_is_as_strong_as_typed() -> None:
    typed = typed_metal(
        {"metal_name": "shop wire", "metal_strength": "130", "metal_exponent": "0.15"}, {}
    )
    assert tensile_strength(typed) == pytest.approx(130e6)
    assert typed.strength_coefficient == pytest.approx(strength_coefficient(130e6, 0.15))
    assert typed.elastic_modulus == load_metal("annealed aluminium 1100").elastic_modulus


def test_a_printer_typed_counts_what_was_measured() -> None:
    typed = typed_printer({"printer_name": "mine", "printer_lying": "0.22"}, {})
    assert typed.measured == ("lying",)
    assert typed.hole_shrinkage("lying") == pytest.approx(0.22e-3)
    assert typed.hole_spread("lying") < Printer().hole_spread("lying")
    assert typed.hole_shrinkage("upright") == Printer().hole_shrinkage("upright")
    wide = typed_printer({"printer_name": "mine", "printer_upright": "-0.1"}, {})
    assert wide.hole_shrinkage("upright") == pytest.approx(-1e-4)


@pytest.mark.parametrize(
    ("thing", "typed"),
    [
        (
            replace(load_elastomer("TPU 98A"), name="roll", modulus_factor=1.23, density=1190.0),
            typed_elastomer,
        ),
        (replace(load_metal("annealed brass"), name="brass 2"), typed_metal),
        (
            Printer(
                name="mine",
                bead_width=5e-4,
                hole_shrinkage_lying=2.5e-4,
                hole_spread_lying=4.4e-5,
                measured=("lying",),
            ),
            typed_printer,
        ),
    ],
)
def test_an_entry_opened_and_kept_unchanged_is_the_same(thing: Any, typed: Any) -> None:
    again = typed(texts_of_own(thing), {thing.name: thing})
    for name, value in vars(thing).items():
        if isinstance(value, float):
            assert getattr(again, name) == pytest.approx(value, rel=1e-5)
        else:
            assert getattr(again, name) == value


def test_an_entry_with_another_law_is_opened_by_its_strength() -> None:
    law = Metal(
        name="ludwik",
        elastic_modulus=1e11,
        strength_coefficient=3e8,
        hardening_exponent=0.4,
        density=8000.0,
        yield_stress=1e8,
    )
    again = typed_metal(texts_of_own(law), {"ludwik": law})
    assert again.yield_stress is None
    assert tensile_strength(again) == pytest.approx(tensile_strength(law), rel=1e-3)
