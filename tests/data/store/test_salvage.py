"""A damaged store: set aside, said so, and read as far as it goes."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from data.store.document import document_text, open_document
from data.store.entries import (
    load_entries,
    remove_entry,
    save_entry,
    undo_entries,
)
from data.store.folder import DamagedStoreError
from data.store.salvage import check_store, read_aside

ROOT = Path(__file__).parents[3]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "own things.sqlite3"


def garble_start(content: bytearray) -> None:
    content[:100] = b"\xa5" * 100


def garble_first_page(content: bytearray) -> None:
    content[:4096] = b"\xa5" * 4096


def garble_middle(content: bytearray) -> None:
    middle = len(content) // 8192 * 4096
    content[middle : middle + 4096] = b"\xa5" * 4096


def cut_off(content: bytearray) -> None:
    del content[len(content) // 2 :]


def replace_by_text(content: bytearray) -> None:
    content[:] = b"my shopping list " * 400


@pytest.mark.parametrize(
    ("damage", "least"),
    [
        (garble_start, 120),
        (garble_first_page, 120),
        (garble_middle, 110),
        (cut_off, 40),
        (replace_by_text, 0),
    ],
)
def test_a_damaged_file_is_set_aside_said_so_and_read_as_far_as_it_goes(
    file: Path, damage: Callable[[bytearray], None], least: int
) -> None:
    for number in range(120):
        save_entry("wire", f"wire {number}", {"x": number, "note": "é" * 20}, path=file)
    content = bytearray(file.read_bytes())
    damage(content)
    file.write_bytes(content)
    with pytest.raises(DamagedStoreError, match="damaged and nothing was changed"):
        for number in range(120):
            save_entry("wire", f"wire {number}", {"x": -1}, path=file)
            undo_entries("wire", path=file)
    damaged = file.read_bytes()

    state = check_store(file)
    assert state.aside == (state.set_aside,)
    aside = file.parent / state.aside[0]
    assert aside.read_bytes() == damaged
    assert state.aside[0] in state.cautions[0].text
    saved = state.saved.get("wire", {})
    assert len(saved) >= least
    for name, fields in saved.items():
        assert name == f"wire {fields['x']}" or fields["x"] == -1
    assert json.loads((file.parent / state.export).read_text(encoding="utf-8")) == state.saved
    assert read_aside(aside) == state.saved

    assert load_entries("wire", path=file) == {}
    save_entry("wire", "a", {"x": 1}, path=file)
    again = check_store(file)
    assert not again.set_aside and not again.cautions
    assert again.aside == state.aside


def test_a_newer_text_wins_and_a_removed_one_stays_removed_in_what_is_saved(file: Path) -> None:
    for number in range(3):
        save_entry("wire", "a", {"x": number}, path=file)
    save_entry("wire", "b", {"x": 7}, path=file)
    remove_entry("wire", "b", path=file)
    content = bytearray(file.read_bytes())
    garble_start(content)
    file.write_bytes(content)
    assert check_store(file).saved == {"wire": {"a": {"x": 2}}}


def test_an_entry_that_is_no_document_counts_as_damage(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    save_entry("wire", "b", {"x": 1}, path=file)
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE entries SET document='{\"x\": NaN}' WHERE name='a'")
    connection.close()
    with pytest.raises(DamagedStoreError):
        load_entries("wire", path=file)
    state = check_store(file)
    assert state.set_aside
    assert state.saved["wire"]["b"] == {"x": 1}


def test_two_windows_set_a_damaged_file_aside_once(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    content = bytearray(file.read_bytes())
    garble_start(content)
    file.write_bytes(content)
    code = "import sys, data.store.salvage as s; print(s.check_store(sys.argv[1]).set_aside)"
    windows = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(file)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    said = [window.communicate(timeout=60)[0].strip() for window in windows]
    assert sorted(said) == ["", "", *check_store(file).aside]


@pytest.mark.parametrize("text", ["", "7", "{}", "[1]", '{"step": 1}', "[" * 5000, "\0"])
def test_a_text_that_is_no_document_is_called_damaged(text: str) -> None:
    with pytest.raises(DamagedStoreError):
        open_document(text)
    assert open_document(document_text(3, "wire", "a", {"x": 1}))["fields"] == {"x": 1}
