"""A damaged store: set aside, said so, and read as far as it goes."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from data.store.backup import backup_path, keep_backup
from data.store.document import document_text, open_document
from data.store.entries import (
    load_entries,
    remove_entry,
    save_entry,
    undo_entries,
)
from data.store.folder import DamagedStoreError, StoreError
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
    assert read_aside(aside).saved == state.saved

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


def test_a_byte_that_is_no_text_anywhere_in_the_schema_is_damage(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    whole = file.read_bytes()
    first, last = whole.index(b"CREATE"), max(whole.rfind(b"CREATE"), whole.rfind(b"kind)")) + 6
    told = 0
    for place in range(min(first, last) - 40, 4096, 7):
        backup_path(file).unlink(missing_ok=True)
        content = bytearray(whole)
        content[place] |= 0x80
        file.write_bytes(content)
        try:
            load_entries("wire", path=file)
        except StoreError:
            told += 1
            assert check_store(file).set_aside
            assert load_entries("wire", path=file) == {}
    assert told > 20


def test_an_altered_number_is_told_and_its_older_state_taken_from_the_backup(file: Path) -> None:
    for number in range(3):
        save_entry("wire", f"wire {number}", {"x": 1234.5 + number}, path=file)
    assert keep_backup(file)
    save_entry("wire", "wire 1", {"x": 4321.5}, path=file)
    with sqlite3.connect(file) as connection:
        for table, column in (("entries", "document"), ("changes", "after")):
            connection.execute(
                f"UPDATE {table} SET {column} = replace({column}, '4321.5', '4321.7')"
            )
    connection.execute("VACUUM")
    connection.close()
    with pytest.raises(DamagedStoreError):
        load_entries("wire", path=file)
    state = check_store(file)
    assert state.saved["wire"] == {f"wire {number}": {"x": 1234.5 + number} for number in range(3)}
    assert "not trusted" in state.cautions[0].text and "wire 1" in state.cautions[0].text


def test_a_backup_is_kept_from_the_first_write_of_a_day_and_never_of_a_damaged_store(
    file: Path,
) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    kept = backup_path(file).read_bytes()
    save_entry("wire", "b", {"x": 2}, path=file)
    assert backup_path(file).read_bytes() == kept
    os.utime(backup_path(file), (0, 0))
    save_entry("wire", "c", {"x": 3}, path=file)
    assert set(load_entries("wire", path=backup_path(file))) == {"a", "b", "c"}
    kept = backup_path(file).read_bytes()
    content = bytearray(file.read_bytes())
    garble_start(content)
    file.write_bytes(content)
    assert not keep_backup(file)
    assert backup_path(file).read_bytes() == kept


def test_entries_of_the_first_format_have_no_checksum_and_open() -> None:
    old = '{"step": 3, "kind": "wire", "name": "a", "fields": {"x": 1}}'
    assert open_document(old)["fields"] == {"x": 1}
    new = document_text(3, "wire", "a", {"x": 1})
    for place, sign in enumerate(new):
        if sign.isdigit():
            changed = new[:place] + ("7" if sign != "7" else "8") + new[place + 1 :]
            with pytest.raises(DamagedStoreError):
                open_document(changed)
