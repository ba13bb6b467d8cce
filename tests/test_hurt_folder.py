"""Whatever lies in the user's folder, no page shows a traceback, and what was read is kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from data.store.entries import load_entries
from flexcalc.limb.materials import load_elastomer
from flexcalc.limb.own_materials import save_own
from tests.tree import ROOT
from tinting.log.maintenance import merge_swatches, open_log
from tinting.log.record import SwatchRecord, record_fields
from tinting.log.swatches import add_swatch, list_swatches

APP = str(ROOT / "app.py")
PAGES = (
    "_show_limb", "_show_mesh", "_show_tint", "_show_bottles", "_show_figure", "_show_bench",
    "_show_swatches",
)  # fmt: skip


def row(**changes: object) -> SwatchRecord:
    values: dict[str, object] = {
        "base_name": "off-white TPU", "base_lab": (85.0, 0.5, 7.25), "lab": (60.0, -20.0, 30.0),
        "shares": {"reed green": 0.1}, "coats": 2, "note": "first",
    }  # fmt: skip
    return SwatchRecord(**{**values, **changes})  # type: ignore[arg-type]


def checkpointed(file: Path) -> bytes:
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return file.read_bytes()


def schema_byte(content: bytearray) -> None:
    content[content.index(b"CREATE TABLE entries") + 9] |= 0x80


def no_database(content: bytearray) -> None:
    content[:] = b"a shopping list" * 300


def first_page(content: bytearray) -> None:
    content[:4096] = b"\xa5" * 4096


@pytest.mark.parametrize("damage", [schema_byte, no_database, first_page])
def test_no_page_shows_a_traceback(own_folder: Path, damage: Callable[[bytearray], None]) -> None:
    add_swatch(row())
    save_own(load_elastomer("TPU 85A").__class__(**{
        **vars(load_elastomer("TPU 85A")), "name": "blue roll"
    }))  # fmt: skip
    for name in ("swatches.sqlite3", "materials.sqlite3"):
        content = bytearray(checkpointed(own_folder / name))
        damage(content)
        (own_folder / name).write_bytes(content)
    for page in PAGES:
        app = AppTest.from_string(
            f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
            "import app\nfrom data.page.guard import guarded, show_store_state\n"
            f"show_store_state()\nguarded(app.{page})()",
            default_timeout=60,
        ).run()
        assert not app.exception, page
        assert app.title or app.markdown, page
    assert load_entries("elastomer") == {}
    assert list(own_folder.glob("materials-damaged-*.sqlite3"))
    assert list(own_folder.glob("swatches-damaged-*.sqlite3"))
    (rescued,) = own_folder.glob("materials-damaged-*.json")
    assert "blue roll" in rescued.read_text(encoding="utf-8")  # from the copy of the day


def test_rows_written_twice_or_under_another_key_do_not_block_the_others(own_folder: Path) -> None:
    rows = [add_swatch(row(note=f"row {number}")) for number in range(4)]
    file = own_folder / "swatches.sqlite3"
    with sqlite3.connect(file) as connection:
        for key in ("another key", "a third key"):
            text = connection.execute(
                "SELECT document FROM entries WHERE name=?", (rows[1].id,)
            ).fetchone()[0]
            connection.execute(
                "INSERT INTO entries VALUES ('swatch', ?, ?)",
                (key, text.split(', "sum"')[0] + "}"),
            )
        connection.execute("UPDATE entries SET document='hurt' WHERE name=?", (rows[3].id,))
    connection.close()
    state = open_log()
    assert state.set_aside
    merged = merge_swatches(state.saved)
    there = {record.id: record_fields(record) for record in list_swatches().records}
    for record in rows[:3]:
        assert there[record.id] == record_fields(record)
    assert len(merged.added) == len(there)
