"""Bottles: kept, refused, taken over, and what a blot says of a dye."""

from __future__ import annotations

import dataclasses
import sqlite3
from pathlib import Path

import pytest

from data.rules import Refused
from data.store.folder import DamagedStoreError
from data.store.salvage import check_store
from tinting.colour.colorimetry import delta_e
from tinting.learn.band import estimate_band
from tinting.log.bottles import (
    GROUNDS,
    MOST_BOTTLES,
    Blot,
    Bottle,
    bottles_from,
    bottles_text,
    keep_bottle,
    keep_bottles,
    list_bottles,
    redo_bottles,
    remove_bottle,
    take_bottles,
    undo_bottles,
)
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import base_from_lab

pytestmark = pytest.mark.usefixtures("own_folder")
MOSS = Bottle(
    name="moss", lot="A 17", note="a year old, thick",
    blot=Blot(lab=(48.0, -14.0, 33.0), bare_lab=(94.0, 0.5, -2.0)),
)  # fmt: skip


def test_a_bottle_comes_back_as_it_was_kept() -> None:
    assert list_bottles().bottles == ()
    keep_bottle(MOSS)
    keep_bottle(Bottle(name="reed green", demo=True, owned=False))
    assert list_bottles().bottles == (MOSS, Bottle(name="reed green", demo=True, owned=False))
    keep_bottle(dataclasses.replace(MOSS, lot="B 2"))
    assert [bottle.lot for bottle in list_bottles().bottles] == ["B 2", ""]
    remove_bottle("moss")
    assert undo_bottles().done and len(list_bottles().bottles) == 2
    assert redo_bottles().done and len(list_bottles().bottles) == 1


def test_a_blot_gives_its_own_colour_back_and_a_wide_band() -> None:
    part = Blot(lab=(60.0, -20.0, 30.0), bare_lab=(88.0, -1.0, 6.0), ground="opaque",
                share=0.1, coats=2)  # fmt: skip
    dye = Bottle(name="moss", blot=part).dye
    assert dye is not None and dye.covariance is None
    base = base_from_lab(part.bare_lab, "opaque")
    assert delta_e(tint(base, [(dye, 0.1)], 2).lab(), part.lab) < 0.05
    on_paper = MOSS.dye
    assert on_paper is not None and on_paper.strength_spread > dye.strength_spread > 0
    bands = [estimate_band(tint(demo_base(), [(each, 0.1)], 2)).radius for each in (dye, on_paper)]
    assert bands[1] > bands[0] > 2  # one colour alone is never worth less than 2


@pytest.mark.parametrize(
    "changes",
    [
        {"name": ""}, {"name": "none"}, {"name": "moss (learned)"}, {"name": "moss "},
        {"name": "x" * 66}, {"name": "two\nlines"}, {"lot": "\u202e17"}, {"note": "x" * 401},
        {"note": 3}, {"owned": 1}, {"demo": "yes"}, {"demo": True}, {"blot": 3},
        {"demo": True, "blot": None},
    ],
    ids=str,
)  # fmt: skip
def test_what_is_no_bottle_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(Refused):
        dataclasses.replace(MOSS, **changes)  # type: ignore[arg-type]


def test_a_blot_that_no_dye_gives_is_refused_before_it_is_kept() -> None:
    for ground in GROUNDS:
        blot = Blot(lab=(97.0, -30.0, 80.0), bare_lab=(94.0, 0.0, 0.0), ground=ground)
        with pytest.raises(Refused, match="lighter"):
            keep_bottle(Bottle(name="glow", blot=blot))
    with pytest.raises(Refused, match="spelled as it is kept"):
        keep_bottles([MOSS, Bottle(name="Moss")], "two spellings")
    with pytest.raises(Refused, match="at most"):
        keep_bottles([Bottle(name=f"dye {n}") for n in range(MOST_BOTTLES + 1)], "too many")
    assert list_bottles().bottles == ()


def test_bottles_go_out_and_come_in_again() -> None:
    keep_bottles([MOSS, Bottle(name="slate blue", demo=True)], "two")
    text = bottles_text()
    assert bottles_from(text.encode()) == list_bottles().bottles
    remove_bottle("moss")
    keep_bottle(Bottle(name="slate blue", lot="mine"))
    assert take_bottles(text, replaces=False) == "Bottles taken over: 1. There already: 1."
    assert list_bottles().bottles == (MOSS, Bottle(name="slate blue", lot="mine"))
    take_bottles(text)
    assert list_bottles().bottles[1].demo


@pytest.mark.parametrize(
    "text",
    [
        b"\xff\xfe", "{", "[]", '{"format": "bottles", "version": 2, "bottles": []}',
        '{"format": "bottles", "version": 1, "bottles": 3}',
        '{"format": "bottles", "version": 1, "bottles": [{"kind": "Blot"}]}',
        '{"format": "bottles", "version": 1, "bottles": [{"kind": "Bottle", "name": "a", "x": 1}]}',
        '{"format": "bottles", "version": 1, "bottles": [{"kind": "Bottle", "name": NaN}]}',
        "x" * 1_000_001, 3,
    ],
    ids=range(10),
)  # fmt: skip
def test_a_file_that_is_none_is_refused_whole(text: object) -> None:
    with pytest.raises(Refused):
        take_bottles(text)  # type: ignore[arg-type]
    assert list_bottles().bottles == ()


def test_an_altered_bottle_is_noticed_and_the_others_are_saved(own_folder: Path) -> None:
    keep_bottle(Bottle(name="slate blue", lot="L 9"))
    keep_bottle(MOSS)
    file = own_folder / "materials.sqlite3"
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE entries SET document=replace(document, 'A 17', 'A 71')")
        connection.execute("UPDATE changes SET after=replace(after, 'A 17', 'A 71')")
    connection.close()
    with pytest.raises(DamagedStoreError):
        list_bottles()
    state = check_store()
    assert state.set_aside and state.saved["bottle"]["slate blue"]["lot"] == "L 9"


def test_one_that_cannot_be_used_any_more_is_named(own_folder: Path) -> None:
    from data.store.entries import save_entry

    keep_bottle(MOSS)
    save_entry("bottle", "old", {"kind": "Bottle", "name": "old", "colour": 3})
    found = list_bottles()
    assert found.bottles == (MOSS,) and "colour" in found.refused["old"]
    remove_bottle("old")
    assert not list_bottles().refused


def test_a_demo_bottle_is_the_demos_dye() -> None:
    assert Bottle(name="reed green", demo=True).dye is demo_dyes()[0]
    assert Bottle(name="reed green").dye is None
