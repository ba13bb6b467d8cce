"""What data reads and keeps: any text, number and bytes give a finite result or are refused."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data import COLUMNS, FOLDER, read_table
from data.rules import check_number
from data.sheet import Alert, Colours, Grid, Listing, Part, Words
from data.store.design import design_text, read_design
from data.store.document import document_text, open_document
from data.store.entries import load_entries, save_entry, undo_entries
from data.store.salvage import StoreState, check_store
from tests.doors import (
    Given,
    Strategy,
    calls,
    check_admitted,
    check_same_answer,
    check_spoilt,
    door,
    judge,
    quiet,
)
from tests.strategies import NAMES, loose_json, mutated, or_none, spoilt
from tests.tinting.strategies import designs, plans
from tinting.mix.plan import plain, tint_plan_from

pytestmark = pytest.mark.usefixtures("own_place")

STORE = "store.sqlite3"
TEXTS = st.text(max_size=20)
NAMED = [
    "read_table", "read_design", "design_text", "open_document", "document_text",
    "load_entries", "save_entry", "remove_entry", "undo_entries", "redo_entries",
    "check_store", "is_from_this_machine", "check_number", "check_numbers", "check_whole",
    "check_choice", "sheet_html", "sheet_text",
]  # fmt: skip
"""What takes in what others typed, sent or kept."""
SHEETS = {"sheet_html", "sheet_text"}
"""These get parts that the program itself has put together."""


def fields() -> Strategy:
    return st.dictionaries(TEXTS, loose_json(), min_size=1, max_size=4)


def documents() -> Strategy:
    """Kept texts, some of them cut short or with other signs in them."""
    whole = fields().map(lambda kept: {"step": 1, "kind": "dye", "name": "n", "fields": kept})
    texts = whole.map(json.dumps).map(str.encode)
    return st.one_of(texts, mutated(texts)).map(lambda kept: kept.decode("latin-1"))


def parts() -> Strategy:
    """Parts of a sheet with any text in them."""
    grid = st.builds(
        lambda cells: Grid(caption=cells[0], head=tuple(cells), rows=(tuple(cells),)),
        st.lists(TEXTS, min_size=1, max_size=4),
    )
    block = st.one_of(
        st.builds(Words, text=TEXTS),
        st.builds(Alert, text=TEXTS),
        st.builds(Listing, items=st.lists(TEXTS, max_size=3).map(tuple), ordered=st.booleans()),
        st.just(Colours(squares=(("<i>", "#0a9fff", "&"),))),
        grid,
    )
    inside = st.lists(block, max_size=4).map(tuple)
    return st.lists(st.builds(Part, title=TEXTS, blocks=inside), max_size=3)


ARGUMENTS: Given = {
    "kind": st.sampled_from(["dye", "wire"]), "name": NAMES, "fields": fields(),
    "path": st.just(STORE), "step": st.integers(1, 9), "text": documents(),
    "host": st.one_of(st.binary(max_size=20), st.just(b"localhost:8501")),
    "origin": or_none(st.one_of(st.binary(max_size=20), st.just(b"http://localhost:8501"))),
    "above": st.none(), "least": st.just(-10), "below": st.none(), "most": st.just(10),
    "unit": st.just("m"), "longest": st.none(), "choices": st.just(("a", "b")),
    "value": st.floats(-10.0, 10.0), "title": TEXTS, "parts": parts(), "folder": st.just(FOLDER),
}  # fmt: skip
SPECIAL: dict[str, Given] = {
    "check_choice": {"value": st.just("a"), "name": st.just("value")},
    "check_number": {"name": st.just("value")},
    "check_numbers": {"name": st.just("value")},
    "check_whole": {"value": st.integers(-10, 10), "name": st.just("value")},
    "design_text": {
        "parts": st.one_of(st.just({"name": "a"}), fields()),
        "summed": st.booleans(),
    },
    "read_design": {
        "text": st.one_of(designs(), mutated(designs())),
        "altered": st.booleans(),
    },
    "read_table": {"name": st.sampled_from(["metals", "dyes", "constants"])},
}
OURS = {"name", "kind", "step", "unit", "folder", "above", "least", "below", "most", "choices",
        "longest", "host", "origin", "summed", "altered"}  # fmt: skip
"""What the program itself writes down; a host is bytes by the protocol."""
CALLED = {"text": "design document kept", "parts": "design", "path": "place file"}


def arguments(name: str) -> Strategy:
    return calls(door("data", name), ARGUMENTS, SPECIAL.get(name, {}))


@pytest.mark.parametrize("name", NAMED)
def test_admitted_arguments_give_a_finite_result_or_a_refusal(name: str) -> None:
    check_admitted(door("data", name), arguments(name), 30)


@pytest.mark.parametrize("name", [name for name in NAMED if name not in SHEETS])
def test_a_number_of_another_kind_gives_a_plain_numbers_answer(name: str) -> None:
    check_same_answer(door("data", name), arguments(name), OURS)


@pytest.mark.parametrize("name", [name for name in NAMED if name not in SHEETS])
def test_a_wrong_thing_is_refused_by_its_name(name: str) -> None:
    check_spoilt(door("data", name), arguments(name), OURS, CALLED, name != "remove_entry")


@quiet(60)
@given(mutated(designs()))
def test_a_design_of_a_stranger_is_read_or_refused(content: bytes) -> None:
    found = judge(read_design, text=content)
    if isinstance(found, dict) and found["tint"] is not None:
        judge(tint_plan_from, value=found["tint"])


@quiet(60)
@given(spoilt(plans().map(lambda plan: {"name": "a", "limbs": [], "tint": plain(plan)})))
def test_a_spoilt_design_is_written_or_refused(kept: Any) -> None:
    text = judge(design_text, parts=kept)
    if isinstance(text, str):
        judge(read_design, text=text)


def whole_store() -> bytes:
    """The bytes of a store with two entries and a step that was taken back."""
    for name in ("a", "b", "c"):
        save_entry("dye", name, {"strength": 1.5, "words": "x" * 200}, path="whole.sqlite3")
    undo_entries("dye", path="whole.sqlite3")
    with sqlite3.connect("whole.sqlite3") as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return Path("whole.sqlite3").read_bytes()


def test_a_damaged_store_is_set_aside_or_says_what_is_wrong(tmp_path: Path) -> None:
    whole = whole_store()

    @quiet(80)
    @given(mutated(st.just(whole)), st.integers(0, 10**6))
    def every(content: bytes, number: int) -> None:
        folder = tmp_path / f"{number}"
        folder.mkdir(exist_ok=True)
        for old in folder.iterdir():
            old.unlink()
        file = folder / STORE
        file.write_bytes(content)
        state = judge(check_store, path=file)
        judge(load_entries, kind="dye", path=file)
        if isinstance(state, StoreState) and state.set_aside:
            assert (folder / state.set_aside).read_bytes() == content

    every()


@quiet(60)
@given(fields(), st.integers(1, 9), NAMES)
def test_a_kept_text_opens_as_it_was(kept: dict[str, Any], step: int, name: str) -> None:
    text = judge(document_text, step=step, kind="dye", name=name, fields=kept)
    if isinstance(text, str):
        assert open_document(text) == {"step": step, "kind": "dye", "name": name, "fields": kept}


@quiet(80)
@given(st.dictionaries(st.sampled_from(COLUMNS), st.text(max_size=6), max_size=3), TEXTS)
def test_a_row_of_a_table_is_read_or_refused(changed: dict[str, str], tail: str) -> None:
    good = dict(zip(COLUMNS, ("a", "b", "2", "mm", "1", "3", "memory", "s", "w", ""), strict=True))
    folder = Path("tables")
    folder.mkdir(exist_ok=True)
    (folder / "sources.csv").write_text("source,citation,seen\ns,c,memory\n", encoding="utf-8")
    row = ",".join({**good, **changed}.values())
    text = f"{','.join(COLUMNS)}\n{row}{tail}\n".encode("utf-8", "replace")
    (folder / "t.csv").write_bytes(text)
    judge(read_table.__wrapped__, name="t", folder=folder)


@quiet(200)
@given(st.floats(), st.floats(-1e300, 1e300), st.floats(0.0, 1e300))
def test_a_checked_number_lies_within_its_bounds(value: float, low: float, span: float) -> None:
    bounds = {"least": low, "most": low + span}
    found = judge(check_number, name="n", value=value, **bounds)
    inside = low <= value <= low + span
    assert (found == value) if inside else isinstance(found, ValueError)
