"""The file of a store: formats and migrations, and a disk that refuses."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pytest

from data.store.database import APPLICATION_ID, read, write
from data.store.entries import (
    MIGRATIONS,
    load_entries,
    redo_entries,
    save_entry,
    undo_entries,
)
from data.store.folder import FOLDER_SETTING, StoreError
from data.store.salvage import check_store

ROOT = Path(__file__).parents[3]
VERSION_1 = """
CREATE TABLE entries (kind TEXT NOT NULL, name TEXT NOT NULL, document TEXT NOT NULL,
    PRIMARY KEY (kind, name));
CREATE TABLE changes (id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL,
    step INTEGER NOT NULL, words TEXT NOT NULL, name TEXT NOT NULL, before TEXT NOT NULL,
    after TEXT NOT NULL, undone INTEGER NOT NULL DEFAULT 0);
CREATE INDEX changes_of_kind ON changes (kind, undone, step);
INSERT INTO entries VALUES ('wire', 'coat hanger',
    '{"step": 1, "kind": "wire", "name": "coat hanger", "fields": {"diameter": 0.0021}}');
INSERT INTO changes VALUES (1, 'wire', 1, 'save coat hanger', 'coat hanger',
    '{"step": 1, "kind": "wire", "name": "coat hanger", "fields": {}}',
    '{"step": 1, "kind": "wire", "name": "coat hanger", "fields": {"diameter": 0.0021}}', 0);
PRAGMA application_id=1279872322;
PRAGMA user_version=1;
"""
"""A file as format 1 wrote it; it must open for ever."""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "own things.sqlite3"


def child(code: str, *arguments: object) -> str:
    """Run code in a process of its own and return what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_file_of_format_1_opens_and_its_undo_works(tmp_path: Path) -> None:
    file = tmp_path / "old.sqlite3"
    with sqlite3.connect(file) as connection:
        connection.executescript(VERSION_1)
    connection.close()
    assert load_entries("wire", path=file) == {"coat hanger": {"diameter": 0.0021}}
    assert undo_entries("wire", path=file).names == ("coat hanger",)
    assert load_entries("wire", path=file) == {}
    assert redo_entries("wire", path=file).done
    assert load_entries("wire", path=file) == {"coat hanger": {"diameter": 0.0021}}


def test_format_1_is_what_the_first_migration_makes(file: Path) -> None:
    write(file, MIGRATIONS[:1], lambda connection: None)
    plain = sqlite3.connect(":memory:")
    plain.executescript(VERSION_1)

    def columns(connection: sqlite3.Connection) -> list[Any]:
        query = "SELECT t.name, c.* FROM sqlite_master t, pragma_table_info(t.name) c"
        return sorted(connection.execute(query).fetchall(), key=repr)

    assert read(file, MIGRATIONS[:1], columns) == columns(plain)
    assert plain.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    plain.close()


def test_a_later_format_is_reached_step_by_step_keeping_every_row(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    later = [
        *MIGRATIONS,
        ("ALTER TABLE entries ADD COLUMN hue TEXT NOT NULL DEFAULT 'none'",),
        ("UPDATE entries SET hue='seen'", "CREATE TABLE more (x)"),
    ]
    query = "SELECT name, hue FROM entries"
    assert read(file, later, lambda c: c.execute(query).fetchall()) == [("a", "seen")]
    assert read(file, later, lambda c: c.execute("PRAGMA user_version").fetchone()) == (4,)


def test_a_migration_that_fails_changes_nothing(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    before = file.read_bytes()
    broken = [*MIGRATIONS, ("DELETE FROM entries", "SELECT * FROM no_such_table")]
    with pytest.raises(StoreError, match="could not be used"):
        read(file, broken, lambda connection: None)
    assert file.read_bytes() == before
    assert load_entries("wire", path=file) == {"a": {"x": 1}}


def test_a_newer_format_is_refused_and_not_touched(file: Path) -> None:
    write(file, [*MIGRATIONS, ("CREATE TABLE more (x)",)], lambda connection: None)
    # left as a kill leaves it, with its last change in the log beside it
    child(
        """
        import os, sqlite3, sys
        connection = sqlite3.connect(sys.argv[1], isolation_level=None)
        connection.execute("INSERT INTO more VALUES (7)")
        os._exit(0)
        """,
        file,
    )
    before = {name.name: name.read_bytes() for name in file.parent.iterdir()}
    assert len(before[f"{file.name}-wal"]) > 0
    for action in (
        lambda: load_entries("wire", path=file),
        lambda: save_entry("wire", "a", {"x": 1}, path=file),
        lambda: undo_entries("wire", path=file),
        lambda: check_store(file),
    ):
        with pytest.raises(StoreError, match=r"newer version .*format 3.*knows 2.*nothing was"):
            action()
    after = {name.name: name.read_bytes() for name in file.parent.iterdir()}
    for ending in ("", "-wal"):
        assert after[file.name + ending] == before[file.name + ending]


def test_a_file_of_another_program_is_refused_and_not_touched(tmp_path: Path) -> None:
    file = tmp_path / "other.db"
    with sqlite3.connect(file) as connection:
        connection.execute("CREATE TABLE theirs (x)")
    connection.close()
    before = file.read_bytes()
    with pytest.raises(StoreError, match="belongs to another program"):
        save_entry("wire", "a", {"x": 1}, path=file)
    assert file.read_bytes() == before


# a disk that refuses


def test_a_full_disk_is_said_and_loses_nothing(file: Path) -> None:
    """A limit on the size of any file stands for the full disk: the same writes fail."""
    said = child(
        """
        import resource, sys
        from data.store.entries import save_entry
        for number in range(20):
            save_entry("wire", f"w{number}", {"note": "x" * 500}, path=sys.argv[1])
        resource.setrlimit(resource.RLIMIT_FSIZE, (120_000, 120_000))
        try:
            for number in range(20, 2000):
                save_entry("wire", f"w{number}", {"note": "x" * 500}, path=sys.argv[1])
        except OSError as error:
            print(number)
            print(type(error).__name__, error)
        """,
        file,
    )
    refused, sentence = said.splitlines()
    assert sentence.startswith("StoreError") and "disk is full" in sentence
    assert 20 < int(refused) < 300
    kept = load_entries("wire", path=file)
    assert {f"w{number}" for number in range(int(refused))} <= set(kept)
    assert not check_store(file).set_aside
    save_entry("wire", "after", {"x": 1}, path=file)


def test_a_folder_that_cannot_be_is_said(tmp_path: Path) -> None:
    (tmp_path / "a file").write_text("here", encoding="utf-8")
    for place in (tmp_path / "a file" / "own.sqlite3", tmp_path, tmp_path / ("x" * 400)):
        with pytest.raises(StoreError, match=r"cannot be opened for writing.*" + FOLDER_SETTING):
            save_entry("wire", "a", {"x": 1}, path=place)


def test_a_read_only_folder_is_said_and_still_read(file: Path) -> None:
    """As an ordinary user: a child of root gives its rights up before it tries."""
    if os.name != "posix":
        pytest.skip("folder rights are tested on POSIX systems")
    save_entry("wire", "a", {"x": 1}, path=file)
    said = child(
        """
        import os, sys, tempfile, shutil, pathlib
        from data.store.entries import load_entries, save_entry
        folder = pathlib.Path(tempfile.mkdtemp())
        place = folder / "own.sqlite3"
        shutil.copy(sys.argv[1], place)
        place.chmod(0o444)
        folder.chmod(0o555)
        load_entries("wire", path=pathlib.Path(sys.argv[1]))  # what is imported late, as oneself
        process = os.fork()
        if not process:
            if os.geteuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            print(load_entries("wire", path=place))
            for name in ("own.sqlite3", "new.sqlite3"):
                try:
                    save_entry("wire", "b", {"x": 2}, path=folder / name)
                except OSError as error:
                    print(type(error).__name__, error)
            sys.stdout.flush()
            os._exit(0)
        os.waitpid(process, 0)
        folder.chmod(0o755)
        shutil.rmtree(folder)
        """,
        file,
    )
    entries, *refusals = said.splitlines()
    assert entries == "{'a': {'x': 1}}"
    assert len(refusals) == 2
    for refusal in refusals:
        assert refusal.startswith("StoreError") and "read-only" in refusal
