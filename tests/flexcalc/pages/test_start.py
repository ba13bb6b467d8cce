"""The page to start on, without a browser: what comes next, from the demo to a whole figure."""

from __future__ import annotations

import contextlib
import dataclasses
import sqlite3
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from data.page.steps import Step, next_step
from data.store.entries import store_path
from flexcalc.limb.materials import load_elastomer
from flexcalc.limb.own_materials import save_own
from flexcalc.pages.limb.starts import STARTS
from tests.pages import opened_page, words_of
from tests.tinting.log.test_record import record
from tinting.log.bottles import Bottle, keep_bottle
from tinting.log.swatches import add_swatch, log_path

pytestmark = pytest.mark.usefixtures("own_folder")

APP = str(Path(__file__).parents[3] / "app.py")
TITLES = (
    "Describe a limb and choose its wire",
    "Print a test strip and measure",
    "Put your bottles of dye on the shelf",
    "Plan the tint",
    "Paint swatches and log them",
    "Keep the figure, print its sheet",
)


def opened() -> AppTest:
    return opened_page(APP)


def next_one(page: AppTest) -> str:
    return next(line for line in words_of(page).splitlines() if line.startswith("**Next:"))


def done(page: AppTest) -> list[str]:
    return [title for title in TITLES if f"{title} ✓ done" in words_of(page)]


def test_it_begins_with_the_demo_and_says_what_to_do_next() -> None:
    page = opened()
    said = words_of(page)
    assert next_one(page) == "**Next: describe a limb and choose its wire.**"
    assert all(title in said for title in TITLES) and done(page) == []
    assert said.count("<svg") == len(STARTS)


def test_a_starting_point_fills_the_fields_and_is_the_next_step_taken() -> None:
    page = opened()
    page.button(key="start_Arm").click().run()
    assert not page.exception
    assert page.session_state["limb_wire"] == "3.0"


def test_what_was_measured_and_logged_is_counted(own_folder: Path) -> None:
    save_own(dataclasses.replace(load_elastomer("TPU 85A"), name="Roll from May"))
    for _ in range(3):
        add_swatch(record())
    add_swatch(record(note="Invented for the demo, not measured on any part."))
    keep_bottle(Bottle(name="moss"))
    keep_bottle(Bottle(name="reed green", demo=True))
    page = opened()
    assert done(page) == [TITLES[1], TITLES[2], TITLES[4]]
    assert "On your shelf: moss." in words_of(page)
    assert "1 filament" in words_of(page) and "Logged for fits: 3" in words_of(page)


def test_files_that_cannot_be_read_are_said_and_nothing_stumbles(own_folder: Path) -> None:
    for path in (log_path(), store_path(None)):
        with contextlib.closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA application_id = 77")
            connection.execute("CREATE TABLE theirs (x)")
    said = words_of(opened())
    assert "Your folder:" in said and "Your log:" in said
    assert "belongs to another program" in said


def test_a_link_that_is_refused_is_said_on_its_page() -> None:
    page = opened_page(APP, tint_alcohol="none")
    assert any("; got " in str(error.value) for error in page.error)


def test_the_next_step_is_the_first_open_one_and_at_the_end_the_last() -> None:
    steps = [Step(page="Limb", title=str(k), standing="so", done=k < 2) for k in range(4)]
    assert next_step(steps).title == "2"
    assert next_step(steps[:2]).title == "1"


@pytest.mark.parametrize("steps", [[], None, "ab", [1]])
def test_steps_that_are_none_are_refused(steps: object) -> None:
    with pytest.raises(ValueError, match=r"must be .*; got"):
        next_step(steps)  # type: ignore[arg-type]
