"""Typed text becomes inputs; each refusal lands on the field that caused it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from data.page.form import RefusedFieldsError
from flexcalc.forms.limb_form import DEFAULTS, PRESETS, plan_from_form
from flexcalc.forms.texts import adopted, can_be_opened, form_from_kept, form_from_plan
from flexcalc.limb.inputs import Along
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import DShape, Round
from flexcalc.limb.own_materials import save_own
from flexcalc.limb.printer import Printer
from flexcalc.verdict.plan import limb_plan_from, plain


def test_the_demo_is_read_in_si() -> None:
    plan = plan_from_form({})
    assert plan.limb.outline.diameter == 0.01  # type: ignore[union-attr]
    assert plan.limb.length == 0.16
    assert plan.setting.payload == pytest.approx(0.012)
    assert plan.setting.clamp_angle == pytest.approx(math.radians(120))
    assert plan.wish.share == 0.85


def test_any_unit_is_read() -> None:
    plan = plan_from_form({"wire": "AWG 10", "channel": "1/8 in", "sleeve": "1,2"})
    assert plan.limb.wire is not None
    assert plan.limb.wire.diameter == pytest.approx(2.588e-3, rel=1e-3)
    assert plan.limb.channel_diameter == pytest.approx(3.175e-3)
    assert plan.limb.sleeve == pytest.approx(1.2e-3)


def test_empty_bend_rows_are_no_bend() -> None:
    rows = {f"{part}{row}": "" for part in ("start", "angle", "radius") for row in (1, 2, 3)}
    assert plan_from_form(rows).setting.bends == ()


def test_the_page_starts_with_hands_one_place_for_every_25_mm() -> None:
    """Arcs of 39 and 73 mm: three places; a maker may say another number."""
    plan = plan_from_form({})
    assert (plan.setting.bent_by, plan.setting.places, plan.setting.lever) == ("hands", 3, 0.04)
    assert plan_from_form({"places": "1"}).setting.places == 1
    assert plan_from_form({"bent": "round a former"}).setting.bent_by == "former"


def test_a_tapered_limb_is_asked_for_by_its_tip() -> None:
    limb = plan_from_form({"tip_diameter": "9", "tip_flat": ""}).limb
    assert isinstance(limb.outline, Along)
    sizes = [
        (share, outline.diameter, outline.flat_height)
        for share, outline in limb.outline.stations
        if isinstance(outline, DShape)
    ]
    assert sizes[0] == pytest.approx((0.0, 0.01, 0.0012))
    assert sizes[1] == pytest.approx((1.0, 0.009, 0.0012))
    assert limb.outline.natural_curvature == ()


def test_a_limb_printed_curved_is_asked_for_by_radii() -> None:
    """Round 200 mm downward at the clamp, straight at the tip, the wire in it for a week."""
    limb = plan_from_form({"curl_root": "-200", "inserted": "168"}).limb
    assert isinstance(limb.outline, Along)
    assert limb.outline.natural_curvature == ((0.0, -5.0), (1.0, 0.0))
    assert limb.outline.even
    assert limb.inserted_before == 604800.0


def test_poses_before_are_typed_in_a_row() -> None:
    one = plan_from_form({"before": "12 50 45; 75 -100 42", "before_time": "24"}).setting
    assert one.last_bends == one.bends
    assert one.last_time == 86400.0
    two = plan_from_form({"before": "12 50 45 then straight", "before_time": "1; 0,5"}).setting
    assert two.poses_before == ((one.bends[:1], 3600.0), ((), 1800.0))
    assert plan_from_form({"pause": "90", "presses": "2"}).setting.press_pause == 90.0


def test_a_bend_swings_by_degrees_and_a_wire_is_anchored() -> None:
    plan = plan_from_form({"swing2": "-90", "anchored": "held against turning at the root"})
    assert [bend.swing for bend in plan.setting.bends] == [0.0, pytest.approx(-math.pi / 2)]
    assert plan.limb.wire_anchored
    assert not plan_from_form({}).limb.wire_anchored
    (before,) = plan_from_form({"before": "20 30 50 45; 80 10 60"}).setting.poses_before
    assert [bend.swing for bend in before[0]] == [pytest.approx(math.pi / 4), 0.0]


def test_presets_are_complete() -> None:
    for name, changes in PRESETS.items():
        assert set(changes) <= set(DEFAULTS)
        assert plan_from_form(changes, name).name == name
    assert isinstance(plan_from_form(PRESETS["Tentacle"]).limb.outline, DShape)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"diameter": "wide"}, "diameter"),
        ({"diameter": "-3"}, "diameter"),
        ({"diameter": "1e9"}, "diameter"),
        ({"wall": "7"}, "wall"),
        ({"channel": "2"}, "wire"),
        ({"wire": "14 gauge"}, "wire"),
        ({"strands": "2.5"}, "strands"),
        ({"infill": "120"}, "infill"),
        ({"angle2": "x"}, "angle2"),
        ({"radius2": ""}, "radius2"),
        ({"start2": "20"}, "start2"),
        ({"payload": "nan"}, "payload"),
        ({"metal": "mithril"}, "metal"),
        ({"elastomer": ""}, "elastomer"),
        ({"outline": "star"}, "outline"),
        ({"outline": "free polygon", "points": "0 0, 1 1, 0 1, 1 0"}, "points"),
        ({"outline": "free polygon", "points": "0 0 0"}, "points"),
        ({"share": "200"}, "share"),
        ({"sag": "0"}, "sag"),
        ({"offset": "50"}, "channel"),
        ({"tip_diameter": "wide"}, "tip_diameter"),
        ({"tip_flat": "11.9"}, "tip_flat"),
        ({"outline": "round", "tip_diameter": "2", "wall": "1.2"}, "wall"),
        ({"curl_root": "0.5"}, "curl_root"),
        ({"curl_tip": "round"}, "curl_tip"),
        ({"inserted": "-1"}, "inserted"),
        (
            {"curl_tip": "300", "inserted": "1", "before": "20 30 40", "before_time": "2"},
            "inserted",
        ),
        ({"pause": "0.5"}, "pause"),
        ({"lever": "0"}, "lever"),
        ({"places": "none"}, "places"),
        ({"presses": "0"}, "presses"),
        ({"temperature": "60"}, "temperature"),
        ({"temperature": "21 ± hot"}, "temperature"),
        ({"places": "3 ± 11"}, "places"),
        ({"lever": "40 ± 200"}, "lever"),
        ({"before": "20 30"}, "before"),
        ({"before": "100 90 200"}, "before"),
        ({"before": "20 30 40 then 20 30 40", "before_time": "2"}, "before_time"),
        ({"before": "20 30 40", "before_time": "long"}, "before_time"),
        ({"bent": "by teeth"}, "bent"),
    ],
)
def test_refusal_lands_on_its_field(change: dict[str, str], field: str) -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        plan_from_form(change)
    assert list(refused.value.errors) == [field]
    assert " must be " in refused.value.errors[field]


def test_every_refused_field_is_named_at_once() -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        plan_from_form({"diameter": "wide", "payload": "-1", "angle1": "many"})
    assert set(refused.value.errors) == {"diameter", "payload", "angle1"}


@pytest.mark.parametrize(
    "change",
    [
        *PRESETS.values(),
        {"outline": "free polygon", "points": "-6 -4.5, 6 -4, 6 4, -6 4"},
        {"outline": "ellipse", "offset": "-0.3"},
        {"outline": "rounded rectangle", "width": "15.3", "wall": "solid", "infill": "0"},
        {"metal": "no wire"},
        {"printed": "upright", "strands": "2", "wire": "1.5"},
        {"bent": "round a former", "presses": "2", "pause": "90"},
        {"tip_diameter": "10", "curl_root": "-200", "curl_tip": "300", "inserted": "5"},
        {"before": "12 50 45 then straight", "before_time": "1; 24"},
        {"before": "12 50 45; 75 -100 42", "before_time": "3"},
        {"outline": "rounded rectangle", "tip_width": "12", "tip_corner": "0"},
        {
            "swing1": "45",
            "swing2": "-90",
            "anchored": "held against turning at the root",
            "before": "12 50 45 30",
            "before_time": "3",
        },
        {
            "outline": "free polygon",
            "points": "-6 -4.5, 6 -4, 6 4, -6 4",
            "tip_points": "-5 -4.5, 5 -4.5, 5 4.5, -5 4.5",
        },
    ],
)
def test_a_plan_goes_back_into_the_form(change: dict[str, str]) -> None:
    plan = plan_from_form(change)
    again = plan_from_form(form_from_plan(plan))
    assert form_from_plan(again) == form_from_plan(plan)
    for one, other in zip(leaves(plain(again)), leaves(plain(plan)), strict=True):
        assert one == (pytest.approx(other, rel=1e-9) if isinstance(other, float) else other)


def leaves(value: object) -> list[object]:
    """Every number and text of plain data, in order."""
    if isinstance(value, dict):
        return [leaf for inner in value.values() for leaf in leaves(inner)]
    if isinstance(value, list):
        return [leaf for inner in value for leaf in leaves(inner)]
    return [value]


@pytest.mark.usefixtures("own_folder")
def test_own_materials_are_found_by_name() -> None:
    rubber = replace(load_elastomer("TPU 85A"), name="Green reel", elastic_modulus=2e7)
    printer = replace(Printer(), name="Bench printer", measured=("lying",))
    save_own(rubber)
    save_own(printer)
    plan = plan_from_form({"elastomer": "Green reel", "printer": "Bench printer"})
    assert plan.limb.elastomer == rubber
    assert plan.printer == printer


@pytest.mark.usefixtures("own_folder")
def test_a_plan_from_elsewhere_brings_its_materials() -> None:
    plan = plan_from_form({})
    rubber = replace(plan.limb.elastomer, elastic_modulus=3e7)  # same name, other numbers
    metal = replace(load_metal("annealed copper"), name="odd wire")
    limb = replace(plan.limb, elastomer=rubber, wire=replace(plan.limb.wire, metal=metal))
    given = plain(replace(plan, limb=limb))
    here = limb_plan_from(adopted(given))
    assert here.limb.elastomer.name == "TPU 80A (design)"
    assert here.limb.wire is not None and here.limb.wire.metal == metal
    again = plan_from_form(form_from_plan(here))
    assert again.limb.elastomer.elastic_modulus == 3e7
    assert again.limb.wire == here.limb.wire
    assert limb_plan_from(adopted(given)) == here  # and brings them once


def test_more_than_clamp_and_tip_is_kept_but_not_edited_here() -> None:
    plan = plan_from_form({"outline": "round", "tip_diameter": "11"})
    outline = plan.limb.outline
    assert isinstance(outline, Along)
    root, tip = outline.stations
    stations = (root, (0.4, Round(diameter=0.0125)), tip)
    kept = replace(plan, limb=replace(plan.limb, outline=replace(outline, stations=stations)))
    assert can_be_opened(plain(kept))
    with pytest.raises(ValueError, match="outline stations must be given at the clamp and the tip"):
        form_from_plan(kept)


def test_a_folder_that_cannot_be_read_is_said_at_the_field(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path / "file"))
    with pytest.raises(RefusedFieldsError) as refused:
        plan_from_form({"elastomer": "Green reel"})
    assert list(refused.value.errors) == ["elastomer"]


def test_a_kept_limb_out_of_range_opens_with_its_field_marked() -> None:
    kept = plain(plan_from_form({}))
    kept["limb"]["length"] = 2.0
    kept["setting"]["payload"] = 20.0
    with pytest.raises(ValueError, match=" must be "):
        limb_plan_from(kept)
    assert can_be_opened(kept)
    form = form_from_kept(adopted(kept))
    assert (form["length"], form["payload"]) == ("2000", "20000")
    with pytest.raises(RefusedFieldsError) as refused:
        plan_from_form(form)
    assert set(refused.value.errors) <= {"length", "payload"}


@pytest.mark.parametrize(
    "spoil",
    [
        lambda kept: kept.pop("setting"),
        lambda kept: kept["limb"].update(colour="green"),
        lambda kept: kept["limb"].update(length="long"),
        lambda kept: kept["limb"].update(kind="Wire"),
        lambda kept: kept["limb"]["elastomer"].update(density=-1.0),
        lambda kept: kept["limb"].update(channel_offset=[1.0, 2.0, 3.0]),
        lambda kept: kept["setting"].update(bends=3),
        lambda kept: kept.update(name=""),
    ],
)
def test_what_is_no_limb_is_not_opened(spoil: Callable[[dict[str, Any]], object]) -> None:
    kept = plain(plan_from_form({}))
    assert can_be_opened(kept)
    spoil(kept)
    assert not can_be_opened(kept)
    with pytest.raises(ValueError, match=" must be "):
        form_from_kept(kept)


def test_how_well_a_hand_meets_its_marks_is_typed_behind_the_number() -> None:
    usual = plan_from_form({}).setting
    typed = {"lever": "40 +/- 5", "places": "3 ± 0", "temperature": "21±1.5 °C"}
    plan = plan_from_form(typed)
    assert plan.setting.lever == 0.04
    # 5 of 40 mm, one standard deviation of the logarithm
    assert plan.setting.lever_factor == pytest.approx(math.exp(0.125))
    assert (plan.setting.places, plan.setting.places_missed) == (3, 0)
    assert (plan.setting.temperature, plan.setting.temperature_spread) == (21.0, 1.5)
    assert usual.lever_factor > plan.setting.lever_factor and usual.places_missed == 1
    form = form_from_kept(plain(plan))
    assert (form["lever"], form["places"], form["temperature"]) == ("40 ± 5", "3 ± 0", "21 ± 1.5")
    assert plan_from_form(form, plan.name) == plan
    # as many places as the bends are long, all met
    assert plan_from_form({"places": "± 0"}).setting == replace(usual, places_missed=0)
