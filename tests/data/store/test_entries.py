"""Own entries: kept exactly or refused, and undone all the way."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.store.entries import (
    KEPT_STEPS,
    count_steps,
    load_entries,
    redo_entries,
    remove_entry,
    save_entry,
    undo_entries,
)
from data.store.folder import FOLDER_SETTING, user_folder
from data.store.salvage import check_store

ROOT = Path(__file__).parents[3]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "own things.sqlite3"


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
    monkeypatch.setattr("data.store.entries.KEPT_STEPS", 5)
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
    monkeypatch.setenv("XDG_DATA_HOME", "/shared")
    assert user_folder() == Path("/shared/limb-and-tint")
    for useless in ("", "relative/path"):
        monkeypatch.setenv("XDG_DATA_HOME", useless)
        assert user_folder() == Path("/home/maker/.local/share/limb-and-tint")
