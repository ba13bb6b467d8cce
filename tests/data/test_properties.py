"""Any float, text, type, size and bytes into every public function and input class of data.

What may come back is told in hostile.py. A public function that is neither called here nor
stands among the inner ones below fails.
"""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import data
from data import COLUMNS, FOLDER, read_table
from data.rules import check_number
from data.sheet import Alert, Colours, Grid, Listing, Part, Words
from data.store.design import design_text, read_design
from data.store.document import document_text, open_document
from data.store.entries import load_entries, save_entry, undo_entries
from data.store.folder import StoreError
from data.store.salvage import StoreState, check_store
from tests.hostile import Call, Names, Strategy, handed_over, judge, public_calls, quiet, run
from tests.hostile import case as case_of
from tests.strategies_files import designs, loose_json, mutated, spoilt
from tests.sweep import sweep
from tests.tinting.strategies import NAMES, PRINTED, plans
from tinting.mix.plan import plain, tint_plan_from

pytestmark = pytest.mark.usefixtures("own_place")

STORE = "store.sqlite3"
KINDS = st.sampled_from(["dye", "wire"])
TEXTS = st.text(max_size=20)
INNER_ROOMS = {
    "plain": "objects and classes that each package hands it",
    "page.collection": "switches the collector of the process",
    "store.backup": "files beside the checked place of a store",
    "store.database": "what keeps the files, given statements and work of our own",
    "page.form": "given a table of fields of our own, see the forms of both packages",
    "page.show": "draws on a page",
    "page.history": "draws on a page",
}
INNER = {
    "__init__.read_sources": "reads our own table, see read_table",
    "__init__.read_demo": "reads our own demo by its name",
    **dict.fromkeys(
        (
            "store.folder.is_damage",
            "store.folder.trouble",
            "store.folder.error_code",
            "rules.refuse",
        ),
        "says an error that has been caught",
    ),
    "store.folder.sync_folder": "a folder that has just been written to",
    "rules.plain_numbers": "a checked object",
    "store.salvage.aside_pattern": "the checked place of a store",
    "store.salvage.read_aside": "the file that check_store has set aside",
    "store.entries.change_entries": "takes a function of our own, see save_entry and remove_entry",
}
BOUNDS = {"above", "least", "below", "most", "unit", "choices", "kind", "rule", "name", "defaults"}
"""What a room of our own writes down: what a thing is called, and its bounds."""
ALSO: dict[str, tuple[type[Exception], ...]] = dict.fromkeys(
    ("store.document", "store.entries", "store.salvage"), (StoreError,)
)
EXAMPLES = 30
FOUND = public_calls(data)
HANDED = handed_over(data)


def room(name: str) -> str:
    """Return the module of a public call."""
    return name.rpartition(".")[0]


def blocks() -> Strategy:
    """Blocks of a sheet with any text in them."""
    grid = st.builds(
        lambda cells: Grid(caption=cells[0], head=tuple(cells), rows=(tuple(cells),)),
        st.lists(TEXTS, min_size=1, max_size=4),
    )
    return st.one_of(
        st.builds(Words, text=TEXTS),
        st.builds(Alert, text=TEXTS),
        st.builds(Listing, items=st.lists(TEXTS, max_size=3).map(tuple), ordered=st.booleans()),
        st.just(Colours(squares=(("<i>", "#0a9fff", "&"),))),
        grid,
    )


def parts() -> Strategy:
    inside = st.lists(blocks(), max_size=4).map(tuple)
    return st.lists(st.builds(Part, title=TEXTS, blocks=inside), max_size=3)


def fields() -> Strategy:
    return st.dictionaries(TEXTS, loose_json(), min_size=1, max_size=4)


def documents() -> Strategy:
    """Kept texts, some of them cut short or with other signs in them."""
    whole = fields().map(lambda kept: {"step": 1, "kind": "dye", "name": "n", "fields": kept})
    return mutated(whole.map(json.dumps).map(str.encode)).map(lambda kept: kept.decode("latin-1"))


ARGUMENTS: dict[Names, Strategy] = {
    "kind": KINDS, "name": PRINTED, "fields": fields(), "path": st.just(STORE),
    "step": st.integers(1, 9), "text": documents(), "defaults": st.just({"a": "1"}),
    "form": st.dictionaries(NAMES, TEXTS, max_size=4),
    "host": st.one_of(st.binary(max_size=20), st.just(b"localhost:8501")),
    "origin": st.one_of(st.none(), st.binary(max_size=20), st.just(b"http://localhost:8501")),
    "above": st.none(), "least": st.just(-10), "below": st.none(), "most": st.just(10),
    "unit": st.just("m"), "choices": st.just(("a", "b")), "value": st.floats(-10.0, 10.0),
    "rule": st.just("a thing"), "title": TEXTS, "parts": parts(),
    "page": NAMES, "standing": NAMES, "done": st.booleans(), "demo": NAMES, "typed": st.booleans(),
    "squares": st.just((("name", "#00ff00", "words"),)), "folder": st.just(FOLDER),
}  # fmt: skip
SPECIAL: dict[str, dict[Names, Strategy]] = {
    "__init__.read_table": {"name": st.sampled_from(["metals", "dyes", "constants"])},
    "store.design.design_text": {"parts": st.one_of(fields(), st.just({"name": "a"}))},
    "store.design.read_design": {"text": mutated(designs())},
    "store.folder.check_path": {"name": st.just("file")},
    "rules.check_choice": {"value": st.sampled_from("abc")},
    "rules.check_kind": {"kind": st.just(int)},
    "rules.check_whole": {"value": st.integers(-20, 20)},
    "page.steps.next_step": {"steps": st.just(())},
}  # fmt: skip
KEPT = {
    **{name: BOUNDS for name in FOUND if room(name) in ("rules", "page.form")},
    "__init__.read_table": {"name", "folder"},
    "store.folder.check_path": {"name"},
    "serve.loopback.is_from_this_machine": {"host", "origin"},
    "store.document.document_text": {"step", "kind", "name"},
    "store.document.check_entry_name": {"kind"},
    "store.document.check_fields": {"kind"},
}  # fmt: skip


def called() -> list[str]:
    return [n for n in sorted(FOUND) if n not in INNER and room(n) not in INNER_ROOMS]


def kept_in(name: str) -> set[str]:
    return HANDED[name] | KEPT.get(name, set())


def case(name: str) -> Strategy:
    return case_of(FOUND[name], ARGUMENTS, SPECIAL.get(name, {}), kept_in(name))


@pytest.mark.parametrize("name", called())
def test_finite_result_or_refusal(name: str) -> None:
    run(case(name), EXAMPLES, ALSO.get(room(name), ()))


@pytest.mark.parametrize("name", called())
def test_every_wrong_thing_is_refused_or_answered(name: str) -> None:
    sweep(case(name), kept_in(name), ALSO.get(room(name), ()))


def test_every_exception_is_still_there() -> None:
    assert set(INNER) | set(SPECIAL) | set(KEPT) <= set(FOUND)
    assert set(INNER_ROOMS) <= {room(name) for name in FOUND}


@quiet(60)
@given(mutated(designs()))
def test_a_design_of_a_stranger_is_read_or_refused(content: bytes) -> None:
    found = judge(Call(read_design, {"text": content}))
    if isinstance(found, dict) and found["tint"] is not None:
        judge(Call(tint_plan_from, {"value": found["tint"]}))


@quiet(60)
@given(spoilt(plans().map(lambda plan: {"name": "a", "limbs": [], "tint": plain(plan)})))
def test_a_spoilt_design_is_written_or_refused(kept: Any) -> None:
    text = judge(Call(design_text, {"parts": kept}))
    if isinstance(text, str):
        judge(Call(read_design, {"text": text}))


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
        state = judge(Call(check_store, {"path": file}), (StoreError,))
        judge(Call(load_entries, {"kind": "dye", "path": file}), (StoreError,))
        if isinstance(state, StoreState) and state.set_aside:
            assert (folder / state.set_aside).read_bytes() == content

    every()


@quiet(60)
@given(fields(), st.integers(1, 9), PRINTED)
def test_a_kept_text_opens_as_it_was(kept: dict[str, Any], step: int, name: str) -> None:
    text = judge(Call(document_text, {"step": step, "kind": "dye", "name": name, "fields": kept}))
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
    judge(Call(read_table.__wrapped__, {"name": "t", "folder": folder}))


@quiet(200)
@given(st.floats(), st.floats(-1e300, 1e300), st.floats(0.0, 1e300))
def test_a_checked_number_lies_within_its_bounds(value: float, low: float, span: float) -> None:
    bounds = {"least": low, "most": low + span}
    found = judge(Call(check_number, {"name": "n", "value": value, **bounds}))
    inside = low <= value <= low + span
    assert (found == value) if inside else isinstance(found, ValueError)
