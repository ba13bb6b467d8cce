"""Own entries: kept, undone, migrated, and safe when the disk or the file is not."""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.database import APPLICATION_ID, read, write
from data.document import document_text, open_document
from data.folder import FOLDER_SETTING, DamagedStoreError, StoreError, user_folder
from data.salvage import check_store, read_aside
from data.store import (
    KEPT_STEPS,
    MIGRATIONS,
    count_steps,
    load_entries,
    redo_entries,
    remove_entry,
    save_entry,
    undo_entries,
)

ROOT = Path(__file__).parents[1]
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


def test_what_is_saved_is_there_and_kinds_are_apart(file: Path) -> None:
    fields = {"diameter": 0.0021, "names": ["a", {"b": None}], "soft": True, "note": "é\n\ud800"}
    save_entry("wire", "coat hanger", fields, path=file)
    save_entry("dye", "coat hanger", {"share": 1}, path=file)
    assert load_entries("wire", path=file) == {"coat hanger": fields}
    assert load_entries("dye", path=file) == {"coat hanger": {"share": 1}}
    assert load_entries("printer", path=file) == {}
    with contextlib.closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_looking_makes_no_file(file: Path) -> None:
    assert load_entries("wire", path=file) == {}
    assert not check_store(file).set_aside
    assert not file.parent.exists()


def test_undo_and_redo_go_all_the_way_and_are_kept(file: Path) -> None:
    states = [load_entries("wire", path=file)]
    for action in (
        lambda: save_entry("wire", "a", {"x": 1}, path=file),
        lambda: save_entry("wire", "b", {"x": 2}, path=file),
        lambda: save_entry("wire", "a", {"x": 3}, path=file),
        lambda: remove_entry("wire", "a", path=file),
    ):
        action()
        states.append(load_entries("wire", path=file))
    save_entry("dye", "a", {"x": 9}, path=file)  # another kind has a stack of its own
    for state in reversed(states[:-1]):
        assert undo_entries("wire", path=file).done
        assert load_entries("wire", path=file) == state
    assert not undo_entries("wire", path=file).done
    assert count_steps("wire", path=file) == (0, 4)
    for state in states[1:]:
        assert redo_entries("wire", path=file).done
        assert load_entries("wire", path=file) == state
    assert not redo_entries("wire", path=file).done
    assert load_entries("dye", path=file) == {"a": {"x": 9}}


def test_a_new_step_ends_what_could_be_redone(file: Path) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    step = undo_entries("wire", path=file)
    assert (step.words, step.names) == ("save a", ("a",))
    save_entry("wire", "b", {"x": 2}, path=file)
    assert count_steps("wire", path=file) == (1, 0)
    assert not redo_entries("wire", path=file).done
    assert list(load_entries("wire", path=file)) == ["b"]


def test_saving_the_same_again_is_no_step(file: Path) -> None:
    for _ in range(3):
        save_entry("wire", "a", {"x": 1}, path=file)
    assert count_steps("wire", path=file) == (1, 0)


def test_undo_reaches_a_stated_number_of_steps(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert KEPT_STEPS >= 100
    monkeypatch.setattr("data.store.KEPT_STEPS", 5)
    for number in range(9):
        save_entry("wire", "a", {"x": number}, path=file)
    assert count_steps("wire", path=file) == (5, 0)
    while undo_entries("wire", path=file).done:
        pass
    assert load_entries("wire", path=file) == {"a": {"x": 3}}


HOSTILE: Any = st.one_of(
    st.none(),
    st.floats(),
    st.integers(),
    st.text(max_size=5),
    st.binary(max_size=5),
    st.lists(st.floats(), max_size=2),
    st.dictionaries(st.one_of(st.text(max_size=3), st.integers()), st.floats(), max_size=2),
)


@given(kind=HOSTILE, name=HOSTILE, fields=HOSTILE)
def test_anything_is_kept_exactly_or_refused(
    tmp_path_factory: pytest.TempPathFactory, kind: Any, name: Any, fields: Any
) -> None:
    file = tmp_path_factory.getbasetemp() / "anything.sqlite3"
    try:
        save_entry(kind, name, fields, path=file)
    except ValueError as error:
        assert " must be " in str(error) and "; got " in str(error)
    else:
        assert load_entries(kind, path=file)[name] == fields


@pytest.mark.parametrize(
    "fields",
    [{"x": float("nan")}, {"x": 10**5000}, {1: 2}, {"x": b""}, {"x": {1}}, {}, {"x": "y" * 10**6}],
)
def test_what_json_cannot_hold_is_refused_and_changes_nothing(file: Path, fields: Any) -> None:
    save_entry("wire", "a", {"x": 1}, path=file)
    with pytest.raises(ValueError, match=r"must be .*; got"):
        save_entry("wire", "a", fields, path=file)
    nest: dict[str, Any] = {}
    nest["again"] = nest
    with pytest.raises(ValueError, match="nested at most"):
        save_entry("wire", "a", nest, path=file)
    with pytest.raises(ValueError, match="that of an entry; got 'b'"):
        remove_entry("wire", "b", path=file)
    assert load_entries("wire", path=file) == {"a": {"x": 1}}


@pytest.mark.parametrize("path", ["", " ", "a\0b", b"bytes", 7, "\udfff\ud800", ["x"]])
def test_a_path_that_cannot_be_one_is_refused(path: Any) -> None:
    with pytest.raises(ValueError, match="path must be"):
        load_entries("wire", path=path)


def test_the_folder_follows_setting_and_platform(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_SETTING, "/chosen/by hand")
    assert user_folder() == Path("/chosen/by hand")
    monkeypatch.delenv(FOLDER_SETTING)
    monkeypatch.setenv("HOME", "/home/maker")
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", "/shared")
    assert user_folder() == Path("/shared/limb-and-tint")
    for useless in ("", "relative/path"):
        monkeypatch.setenv("XDG_DATA_HOME", useless)
        assert user_folder() == Path("/home/maker/.local/share/limb-and-tint")
    monkeypatch.setattr(sys, "platform", "darwin")
    assert user_folder() == Path("/home/maker/Library/Application Support/limb-and-tint")
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setenv("APPDATA", "/users/maker/roaming")
    assert user_folder() == Path("/users/maker/roaming/limb-and-tint")


# formats


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
    assert read(file, later, lambda c: c.execute("PRAGMA user_version").fetchone()) == (3,)


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
        with pytest.raises(StoreError, match=r"newer version .*format 2.*knows 1.*nothing was"):
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


# damage


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
    assert state.set_aside and len(state.aside) == 1
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
    code = "import sys; from data.salvage import check_store as c; print(c(sys.argv[1]).set_aside)"
    windows = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(file)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    said = [window.communicate(timeout=60)[0].strip() for window in windows]
    assert sorted(said) == ["False", "False", "True"]
    assert len(check_store(file).aside) == 1


@pytest.mark.parametrize("text", ["", "7", "{}", "[1]", '{"step": 1}', "[" * 5000, "\0"])
def test_a_text_that_is_no_document_is_called_damaged(text: str) -> None:
    with pytest.raises(DamagedStoreError):
        open_document(text)
    assert open_document(document_text(3, "wire", "a", {"x": 1}))["fields"] == {"x": 1}


# a disk that refuses


def test_a_full_disk_is_said_and_loses_nothing(file: Path) -> None:
    """A limit on the size of any file stands for the full disk: the same writes fail."""
    said = child(
        """
        import resource, sys
        from data.store import save_entry
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
        from data.store import load_entries, save_entry
        folder = pathlib.Path(tempfile.mkdtemp(dir="/tmp"))
        place = folder / "own.sqlite3"
        shutil.copy(sys.argv[1], place)
        place.chmod(0o444)
        folder.chmod(0o555)
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
