"""Typed texts become rows of the log and back; an edit leaves alone what it does not touch."""

from __future__ import annotations

import dataclasses

import pytest

from data.page.form import RefusedFieldsError
from tests.tinting.learn.test_learned import row
from tinting.forms.swatch import (
    DEFAULTS,
    NO_DYE,
    OTHER,
    form_from_record,
    known_names,
    record_from_form,
    rows_shown,
    spelled_as_known,
)
from tinting.log.record import MOST_DYES, SwatchRecord

FILLED = {**DEFAULTS, "colour": "66 -22 30"}


def refusals(**fields: str) -> dict[str, str]:
    with pytest.raises(RefusedFieldsError) as refused:
        record_from_form({**FILLED, **fields})
    return refused.value.errors


def test_a_row_is_read_in_si() -> None:
    record = record_from_form({**FILLED, "dye2": "slate blue", "parts2": "0,5", "alcohol": "8.5"})
    assert record.shares == pytest.approx({"reed green": 0.1, "slate blue": 0.05})
    assert (record.thickness, record.drying_time) == pytest.approx((0.0012, 1800))
    assert record.alcohol_grade == pytest.approx(0.99)
    assert record.lab == (66, -22, 30) and record.base_lab == (88.5, -0.8, 6.5)
    assert record.base_kind == "opaque" and record.coats == 1


def test_names_of_ones_own() -> None:
    fields = {"base": OTHER, "newbase": " my TPU ", "dye1": OTHER, "newdye1": "moss"}
    record = record_from_form({**FILLED, **fields})
    assert record.base_name == "my TPU" and set(record.shares) == {"moss"}


def test_a_screen_colour_is_seen_under_the_light_of_the_reading() -> None:
    daylight = record_from_form({**FILLED, "colour": "#9aa86b"})
    lamp = record_from_form({**FILLED, "colour": "#9aa86b", "light": "A", "observer": "2"})
    assert daylight.lab != lamp.lab and (lamp.light, lamp.observer) == ("A", 2)


def test_the_bare_base_is_a_row_too() -> None:
    record = record_from_form({**FILLED, "dye1": NO_DYE, "coats": "0"})
    assert record.shares == {} and record.coats == 0


@pytest.mark.parametrize(
    ("fields", "blamed"),
    [
        ({"colour": ""}, "colour"),
        ({"colour": "66 -22"}, "colour"),
        ({"colour": "166 0 0"}, "colour"),
        ({"basecolour": "red"}, "basecolour"),
        ({"base": OTHER}, "newbase"),
        ({"base": OTHER, "newbase": "x" * 81}, "newbase"),
        ({"dye1": OTHER}, "newdye1"),
        ({"dye2": "reed green"}, "dye2"),
        ({"dye12": "moss", "parts12": "much"}, "parts12"),
        ({"parts1": "-1"}, "parts1"),
        ({"parts1": "0", "alcohol": "0"}, "alcohol"),
        ({"alcohol": "inf"}, "alcohol"),
        ({"coats": "1.5"}, "coats"),
        ({"coats": "99"}, "coats"),
        ({"thickness": "0"}, "thickness"),
        ({"minutes": "1e9"}, "minutes"),
        ({"note": "\x00"}, "note"),
    ],
)
def test_a_refusal_lands_on_its_field(fields: dict[str, str], blamed: str) -> None:
    errors = refusals(**fields)
    assert set(errors) == {blamed} and " must be " in errors[blamed] and "; got " in errors[blamed]


def test_several_refusals_at_once() -> None:
    assert set(refusals(colour="x", coats="y", minutes="z")) == {"colour", "coats", "minutes"}


def test_there_and_back() -> None:
    record = row(1 / 7, 3, note="two\nlines", thickness=0.0017)
    again = record_from_form(form_from_record(record), record)
    assert again == record  # 1/7 to the last bit, since nothing was touched


def test_an_edit_changes_only_what_it_touches() -> None:
    record = row(1 / 7, 3, thickness=1 / 300, photo="")
    edited = record_from_form({**form_from_record(record), "coats": "4"}, record)
    assert edited == dataclasses.replace(record, coats=4)
    mixed = record_from_form({**form_from_record(record), "parts1": "2"}, record)
    assert mixed.shares["reed green"] == pytest.approx(0.25)
    assert mixed.thickness == record.thickness and mixed.id == record.id


def test_many_dyes_have_their_rows() -> None:
    record = row(0.01, 1, shares={f"dye {n}": 0.01 for n in range(MOST_DYES)})
    form = form_from_record(record)
    assert rows_shown(form) == MOST_DYES
    assert record_from_form(form).shares == pytest.approx(dict(record.shares))
    assert rows_shown(DEFAULTS) == 2 and rows_shown({}) == 1


@pytest.mark.parametrize("junk", [None, 3, "form", {"coats": 3}])
def test_junk_is_refused(junk: object) -> None:
    with pytest.raises(ValueError, match="form must be a mapping of field to text; got"):
        record_from_form(junk)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"record must be a SwatchRecord; got"):
        form_from_record(junk)  # type: ignore[arg-type]
    if junk is not None:
        with pytest.raises(ValueError, match=r"record must be a SwatchRecord; got"):
            record_from_form(FILLED, junk)  # type: ignore[arg-type]


def test_defaults_hold_every_field_of_a_row() -> None:
    record = record_from_form(FILLED)
    assert isinstance(record, SwatchRecord)
    assert form_from_record(record).keys() == DEFAULTS.keys()


def test_names_are_spelled_once_and_none_are_invented_beside_ones_own() -> None:
    bases, dyes = known_names([])
    assert "off-white TPU" in bases and "reed green" in dyes
    first = record_from_form({**FILLED, "dye1": OTHER, "newdye1": "Pond Blue"})
    again = record_from_form(
        {**FILLED, "base": OTHER, "newbase": first.base_name.upper(), "dye1": OTHER,
         "newdye1": "pond  blue"}
    )  # fmt: skip
    assert known_names([first, again]) == ((first.base_name,), ("Pond Blue",))
    spelled = spelled_as_known(again, [first])
    assert dict(spelled.shares) == dict(first.shares) and spelled.base_name == first.base_name
    assert spelled.id == again.id
