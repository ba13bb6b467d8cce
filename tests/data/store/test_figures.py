"""Figures in the user's folder: each change is on the disk, nothing removed is lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from data.rules import Refused
from data.store.design import SUM, design_text, empty_design
from data.store.figures import (
    add_event,
    change_figure,
    figures_folder,
    list_figures,
    new_key,
    read_events,
    read_figure,
    remove_figure,
    restore_figure,
)
from data.store.folder import StoreError

pytestmark = pytest.mark.usefixtures("own_folder")


def named(name: str, **parts: Any) -> str:
    key = new_key()
    change_figure(key, lambda _: {**empty_design(name), **parts})
    return key


def test_a_change_starts_from_what_stands_there() -> None:
    key = named("Heron", note="a")
    change_figure(key, lambda now: {**(now or {}), "note": (now or {})["note"] + "b"})
    assert read_figure(key) == {**empty_design("Heron"), "note": "ab"}
    assert [(one.key, one.name) for one in list_figures()] == [(key, "Heron")]


def test_what_was_removed_comes_back() -> None:
    key = named("Heron")
    remove_figure(key)
    assert list_figures() == [] and [one.name for one in list_figures(removed=True)] == ["Heron"]
    with pytest.raises(StoreError):
        read_figure(key)
    restore_figure(key)
    assert read_figure(key)["name"] == "Heron"


def test_a_refused_change_leaves_the_file() -> None:
    key = named("Heron")
    with pytest.raises(Refused):
        change_figure(key, lambda now: {**(now or {}), "limbs": 3})
    assert read_figure(key)["name"] == "Heron"


def test_a_damaged_file_is_said_and_left() -> None:
    key = named("Heron")
    path = figures_folder() / f"{key}.json"
    path.write_text("{", "utf-8")
    assert "whole JSON" in list_figures()[0].damage
    with pytest.raises(Refused):
        change_figure(key, lambda _: empty_design("other"))
    assert path.read_text("utf-8") == "{"


def test_a_folder_that_cannot_be_written_is_said(own_folder: Path) -> None:
    (own_folder / "figures").write_text("a file where the folder should be")
    with pytest.raises(StoreError, match="cannot be opened for writing"):
        named("Heron")


def test_events_stand_a_line_each_and_a_torn_line_takes_no_other() -> None:
    key = named("Heron")
    add_event(key, {"kind": "built", "limb": "Neck"})
    path = figures_folder() / f"{key}.events"
    with path.open("a") as stream:
        stream.write('{"kind": "re-po')  # as a power cut leaves it
    add_event(key, {"kind": "reposed", "limb": "Neck", "times": 2})
    events, lost = read_events(key)
    assert ([event.get("kind") for event in events], lost) == (["built", None, "reposed"], 1)
    checksum, first = path.read_text("ascii").splitlines()[0].split(" ", 1)
    assert json.loads(first) == {"kind": "built", "limb": "Neck"} and len(checksum) == 16


def test_an_altered_number_is_told_and_not_served() -> None:
    key = named("Heron", note="mass 41 g")
    path = figures_folder() / f"{key}.json"
    path.write_text(path.read_text("utf-8").replace("mass 41", "mass 47"), "utf-8")
    with pytest.raises(Refused) as refused:
        read_figure(key)
    assert refused.value.name == SUM and "altered" in list_figures()[0].damage
    with pytest.raises(Refused):
        change_figure(key, lambda _: empty_design("other"))
    assert read_figure(key, altered=True)["note"] == "mass 47 g"


def test_an_altered_event_is_not_counted_and_the_others_keep_their_lines() -> None:
    key = named("Heron")
    for times in (11, 22, 33):
        add_event(key, {"kind": "re-posed", "limb": "Neck", "times": times})
    path = figures_folder() / f"{key}.events"
    path.write_text(path.read_text("ascii").replace("22", "92"), "ascii")
    events, lost = read_events(key)
    assert ([event.get("times") for event in events], lost) == ([11, None, 33], 1)


def test_figures_and_events_of_an_earlier_edition_have_no_checksum_and_are_read() -> None:
    key = new_key()
    figures_folder().mkdir(parents=True)
    (figures_folder() / f"{key}.json").write_text(design_text(empty_design("Heron")), "utf-8")
    (figures_folder() / f"{key}.events").write_text('{"kind": "built"}\n', "ascii")
    assert read_figure(key) == empty_design("Heron")
    assert read_events(key) == ([{"kind": "built"}], 0)


@pytest.mark.parametrize("key", ["", "..", "../a", "ABCDEF01", "0123456", 5])
def test_a_key_leads_nowhere_else(key: str) -> None:
    with pytest.raises(Refused):
        read_figure(key)


def test_an_event_is_of_plain_values() -> None:
    with pytest.raises(Refused):
        add_event(new_key(), {"when": float("nan")})
    with pytest.raises(Refused):
        add_event(new_key(), {"note": "x" * 5000})
    with pytest.raises(Refused):
        add_event(new_key(), {})
