"""Every typed field of both packages: its refusals speak its unit, and it takes its example.

What is read in another unit is checked against conversions by hand with the exact factors of the
inch, the ounce and the pound-force (see tests/data/test_inches.py).
"""

from __future__ import annotations

import math

import pytest

from data.page.form import (
    Field,
    Reader,
    RefusedFieldsError,
    default_form,
    measured,
    refused_at,
    several,
    worded,
)
from data.page.measures import KILOGRAMS, METRES, MINUTES, RADIANS, SQUARE_CENTIMETRES
from data.rules import refuse
from flexcalc.forms import bench_form, figure_form, limb_form, logbook_form, materials_form
from flexcalc.forms import mesh_form as mesh
from tinting.forms import bottle, jar, limits, painted, swatch, tint

FORMS = {
    "limb": limb_form.FIELDS, "mesh": mesh.FIELDS, "bench": bench_form.FIELDS,
    "materials": materials_form.FIELDS, "place": figure_form.PLACE_FIELDS,
    "body": figure_form.BODY_FIELDS, "logbook": logbook_form.FIELDS, "tint": tint.FIELDS,
    "swatch": swatch.FIELDS, "jar": jar.FIELDS, "bottle": bottle.FIELDS, "limits": limits.LIMITS,
    "painted": painted.PAINTED,
}  # fmt: skip
ONE_TEXT = ("points", "before", "poses", "further", "root")
"""Fields whose example is one text with commas or "or" in it."""
READ = [(form, key) for form, fields in FORMS.items() for key, field in fields.items()
        if isinstance(field.read, Reader)]  # fmt: skip


@pytest.mark.parametrize(("form", "key"), READ)
def test_a_field_takes_its_own_example(form: str, key: str) -> None:
    field = FORMS[form][key]
    texts = field.shown_example.replace(" or ", ", ").split(", ")
    for text in texts if key.removeprefix("tip_") not in ONE_TEXT else ():
        if text != "a number":
            field.read(text, key)


@pytest.mark.parametrize(("form", "key"), READ)
def test_a_refused_text_is_answered_by_how_to_write_it(form: str, key: str) -> None:
    field = FORMS[form][key]
    try:
        field.read("§", key)
    except ValueError as error:
        refused = RefusedFieldsError({key: ""}, {key: error}, [key])  # type: ignore[dict-item]
        said = worded({key: field}, {key: "§"}, refused).errors[key]
        assert said.startswith(f"{field.label}: write {field.shown_example}")
        assert said.endswith("; got “§”.")
    else:
        pytest.fail("read")


FIELD = Field(key="wide", label="Wide", unit="mm", becomes=("width",),
              read=measured(METRES, least=1e-3, most=0.3, example="90"))  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0.0023", "Wide: from 1 mm to 300 mm; got 0.0023."),
        ("9 km", "Wide: write 90; got “9 km”."),
    ],
)
def test_bounds_are_said_in_the_unit_of_the_field(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match="width must be") as refused:
        FIELD.read(typed, "width")
    unread = [] if "km" not in typed else ["wide"]
    found = RefusedFieldsError({"wide": ""}, {"wide": refused.value}, unread)  # type: ignore[dict-item]
    assert worded({"wide": FIELD}, {"wide": typed}, found).errors == {"wide": said}


def test_a_refusal_of_another_input_is_said_in_small_units() -> None:
    error = refuse("wire", "less than 0.0044 m", "0.009 m")
    said = worded({"wide": FIELD}, {"wide": "9"}, refused_at({"wide": FIELD}, error, "wide"))
    assert said.errors == {"wide": "Wide: wire less than 4.4 mm; got '9 mm'."}


@pytest.mark.parametrize(
    ("units", "typed", "value"),
    [
        (METRES, "5/64 in", 1.984375e-3),  # 5 x 25.4 / 64
        (METRES, '1 1/2"', 38.1e-3),
        (METRES, "0,4 cm", 4e-3),
        (KILOGRAMS, "1 1/2 oz", 0.0425242846875),
        (KILOGRAMS, "0.5 lb", 0.226796185),
        (MINUTES, "90 s", 90.0),
        (MINUTES, "2 h", 7200.0),
        (RADIANS, "−90°", -math.pi / 2),
        (RADIANS, "0.25 turns", math.pi / 2),
        (SQUARE_CENTIMETRES, "9 in²", 9 * 6.4516e-4),
        (SQUARE_CENTIMETRES, "60 cm2", 6e-3),
    ],
)
def test_measures_are_read_in_their_units(
    units: dict[str, float], typed: str, value: float
) -> None:
    read = measured(units, least=-1e9, most=1e9)
    assert read(typed) == pytest.approx(value, rel=1e-12)
    assert several(read, 3)(f"{typed}; {typed}") == [read(typed)] * 2


def test_every_default_is_read() -> None:
    for fields in FORMS.values():
        for key, text in default_form(fields).items():
            if text and isinstance(fields[key].read, Reader):
                fields[key].read(text, key)
