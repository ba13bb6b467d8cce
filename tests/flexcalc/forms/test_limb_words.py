"""Refusals of the limb form speak the unit of their field and show how to write it."""

from __future__ import annotations

import math

import pytest

from data.page.form import RefusedFieldsError, worded
from data.store.design import design_text, empty_design, read_design
from flexcalc.figure.figure import figure_from
from flexcalc.forms.limb_form import BLANK, DEFAULTS, FIELDS, NO_WIRE, SIZED, plan_from_form
from flexcalc.forms.limb_words import assumed, with_missing
from flexcalc.forms.texts import form_from_kept, form_from_plan
from flexcalc.limb.trade import wire_name
from flexcalc.pages.limb.ask import groups
from flexcalc.paper.pictures.cross_section import section_drawing
from flexcalc.paper.sheet.making import wire_to_cut
from flexcalc.paper.sheet.shopping import shopping
from flexcalc.paper.sheet.tints import TintSheet
from flexcalc.verdict.plan import plain

STEEL = "annealed low-carbon steel"
WHOLE = ("points", "before", "poses", "further", "outline", "printed")
"""Fields whose example is one text with commas or "or" in it."""


def refusals(**typed: str) -> dict[str, str]:
    form = {**DEFAULTS, **typed}
    with pytest.raises(RefusedFieldsError) as refused:
        plan_from_form(form)
    return worded(FIELDS, form, with_missing(form, refused.value)).errors


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("length", "9o", "write 90, 90 mm or 3 1/2 in; got “9o”"),
        ("length", "3000", "from 5 mm to 1000 mm; got 3000"),
        ("payload", "9 kg", "from 0 g to 5000 g; got 9 kg"),
        ("payload", "a fish", "write 40 g or 2 oz"),
        ("hold", "long", "write 5 s or 1 min"),
        ("angle1", "800", "from -720° to 720°; got 800"),
        ("wall", "9", "less than half the outline, 4.4 mm; got '9 mm'"),
        ("radius2", "90", "at most the limb length 160 mm; got '232 mm'"),
        ("wire", "14 gauge", "AWG or SWG"),
        ("temperature", "80", "from 5 °C to 40 °C"),
    ],
)
def test_a_refusal_shows_how_to_write_it(key: str, typed: str, words: str) -> None:
    (said,) = refusals(**{key: typed}).values()
    assert words in said


def test_what_is_missing_of_a_bend_is_said_at_its_field() -> None:
    assert refusals(start3="150") == {
        "angle3": "Still missing: write 50.",
        "radius3": "Still missing: write 45.",
    }


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS.keys())
def test_every_example_can_be_typed(field: object) -> None:
    key = field.key  # type: ignore[attr-defined]
    for text in FIELDS[key].shown_example.replace(" or ", ", ").split(", "):
        if key not in WHOLE and text != "a number":
            FIELDS[key].read(text, key)


@pytest.mark.parametrize(
    ("typed", "kilograms"),
    # the avoirdupois ounce is 28.349523125 g by the agreement of 1959 (from memory)
    [("40", 0.04), ("40 g", 0.04), ("0,04 kg", 0.04), ("2 oz", 0.05669904625),
     ("1/2 oz", 0.0141747615625), ("0", 0.0)],
)  # fmt: skip
def test_weights_are_read(typed: str, kilograms: float) -> None:
    setting = plan_from_form({**DEFAULTS, "payload": typed}).setting
    assert setting.payload == pytest.approx(kilograms, rel=1e-12)


@pytest.mark.parametrize(("typed", "seconds"), [("5", 5), ("5 s", 5), ("1 min", 60), ("1 h", 3600)])
def test_times_are_read(typed: str, seconds: float) -> None:
    assert plan_from_form({**DEFAULTS, "hold": typed}).setting.hold_time == seconds


@pytest.mark.parametrize("typed", ["120", "120°", "120 deg", "2.0943951 rad"])
def test_angles_are_read(typed: str) -> None:
    angle = plan_from_form({**DEFAULTS, "direction": typed}).setting.clamp_angle
    assert angle == pytest.approx(2 * math.pi / 3, rel=1e-7)


@pytest.mark.parametrize("typed", ["AWG 12", "SWG 10", "AWG 24", "2.8", "2.641"])
def test_a_gauge_stays_a_gauge_on_the_way_back(typed: str) -> None:
    plan = plan_from_form({**DEFAULTS, "wire": typed})
    assert form_from_plan(plan)["wire"] == typed


@pytest.mark.parametrize("gauge", ["AWG 12", "SWG 10", "AWG 24"])
def test_a_gauge_stays_one_on_the_sheet_in_the_figure_and_in_a_reopened_file(gauge: str) -> None:
    plan = plan_from_form({**DEFAULTS, "wire": gauge, "channel": SIZED}, "Neck")
    design = {**empty_design("Heron"), "limbs": [{**plain(plan), "name": "Neck"}]}
    (kept,) = read_design(design_text(design))["limbs"]
    assert form_from_kept(kept)["wire"] == gauge
    figure = figure_from(read_design(design_text(design)))
    tints = TintSheet(for_area=lambda kept, _: kept, volumes=lambda _: {}, parts=lambda _: ())
    assert f"{STEEL} of {gauge} (" in wire_to_cut(figure.limbs[0].plan.limb)
    assert f", {gauge} (" in str(shopping(figure, design, tints).rows)
    assert f"wire {gauge}, " in section_drawing(plan.limb)
    assert plan.limb.wire is not None
    assert f"{STEEL}, {gauge} (" in wire_name(plan.limb.wire)


def test_what_is_assumed_is_what_was_not_typed() -> None:
    said = dict((key, words) for words, key in assumed({**DEFAULTS, "hold": "60"}))
    assert said["temperature"] == "23 °C" and said["bent"] == "bent by hand"
    assert "hold" not in said
    blank = {**DEFAULTS, **BLANK}
    said = dict((key, words) for words, key in assumed({**blank, "metal": NO_WIRE}, blank))
    assert said["printed"] == "upright" and not {"strands", "channel"} & set(said)


def test_everything_that_a_field_behind_more_says_is_assumed_or_of_another_limb() -> None:
    behind = {key for group in groups(DEFAULTS) for key in group.more}
    other = {"before_time", "poses", "poses_time", "further", "tip", "inserted", "pause"}
    other |= {key for key in behind if key.startswith(("tip_", "curl_"))}
    assert behind - other == {key for _, key in assumed(DEFAULTS)}
