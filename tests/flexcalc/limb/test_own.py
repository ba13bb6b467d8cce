"""The maker's own filaments, metals and printers: kept, found, refused, given and taken."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from data.store.entries import load_entries, save_entry, undo_entries
from flexcalc.limb.inputs import Elastomer
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.own_materials import (
    Own,
    find_elastomer,
    find_metal,
    find_printer,
    keep_all,
    own_elastomers,
    own_metals,
    own_printers,
    own_text,
    own_things,
    remove_own,
    save_own,
    things_from,
)
from flexcalc.limb.printer import Printer

FILAMENT = replace(load_elastomer("TPU 90A"), name="blue roll", modulus_factor=1.1)
LINEAR = replace(FILAMENT, name="linear", saturation_stress=math.inf)
METAL = replace(load_metal("annealed copper"), name="shop copper", yield_stress=5e7)
PRINTER = Printer(name="the old one", bead_width=6e-4, measured=("lying",))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "materials.sqlite3"


def test_what_is_kept_comes_back_as_it_was(file: Path) -> None:
    for thing in (FILAMENT, LINEAR, METAL, PRINTER):
        save_own(thing, path=file)
    assert own_elastomers(path=file) == {"blue roll": FILAMENT, "linear": LINEAR}
    assert own_metals(path=file) == {"shop copper": METAL}
    assert own_printers(path=file) == {"the old one": PRINTER}


def test_names_are_found_in_the_table_first_and_then_among_the_own(file: Path) -> None:
    save_own(FILAMENT, path=file)
    save_own(METAL, path=file)
    save_own(PRINTER, path=file)
    assert find_elastomer("TPU 85A", path=file) == load_elastomer("TPU 85A")
    assert find_elastomer("blue roll", path=file) == FILAMENT
    assert find_metal("annealed copper", path=file) == load_metal("annealed copper")
    assert find_metal("shop copper", path=file) == METAL
    assert find_printer("untested printer", path=file) == Printer()
    assert find_printer("the old one", path=file) == PRINTER
    for find, name in (
        (find_elastomer, "elastomer name"),
        (find_metal, "metal name"),
        (find_printer, "printer name"),
    ):
        for unknown in ("nobody's", "", None, 3):
            with pytest.raises(ValueError, match=rf"^{name} must be one of .*; got "):
                find(unknown, path=file)  # type: ignore[operator]


def test_saving_again_replaces_and_undo_brings_back(file: Path) -> None:
    save_own(FILAMENT, path=file)
    save_own(replace(FILAMENT, elastic_modulus=4e7), path=file)
    assert own_elastomers(path=file)["blue roll"].elastic_modulus == 4e7
    undo_entries("elastomer", path=file)
    assert own_elastomers(path=file)["blue roll"] == FILAMENT
    remove_own("elastomer", "blue roll", path=file)
    assert own_elastomers(path=file) == {}
    undo_entries("elastomer", path=file)
    assert own_elastomers(path=file) == {"blue roll": FILAMENT}


@pytest.mark.parametrize(
    ("thing", "name"),
    [
        (replace(FILAMENT, name="TPU 85A"), "elastomer name"),
        (replace(METAL, name="annealed brass"), "metal name"),
        (Printer(), "printer name"),
        ("a filament", "own thing"),
        (None, "own thing"),
    ],
)
def test_what_cannot_be_kept_is_refused(thing: Any, name: str, file: Path) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be .*; got "):
        save_own(thing, path=file)
    assert not own_things("elastomer", path=file).things


def test_a_damaged_entry_is_named_and_the_others_stay(file: Path) -> None:
    save_own(FILAMENT, path=file)
    good = load_entries("elastomer", path=file)["blue roll"]
    save_entry("elastomer", "stiff", {**good, "name": "stiff", "elastic_modulus": -1.0}, path=file)
    save_entry("elastomer", "renamed", good, path=file)
    save_entry("elastomer", "junk", {"colour": "red"}, path=file)
    save_entry("elastomer", "a metal", {**load_metal_entry(file), "name": "a metal"}, path=file)
    found = own_things("elastomer", path=file)
    assert set(found.things) == {"blue roll"}
    assert set(found.refused) == {"stiff", "renamed", "junk", "a metal"}
    for sentence in found.refused.values():
        assert " must be " in sentence and "; got " in sentence
    remove_own("elastomer", "junk", path=file)
    assert "junk" not in own_things("elastomer", path=file).refused


def load_metal_entry(file: Path) -> dict[str, Any]:
    save_own(METAL, path=file)
    return dict(load_entries("metal", path=file)["shop copper"])


def test_a_file_of_materials_goes_out_and_comes_in(file: Path, tmp_path: Path) -> None:
    kept: list[Own] = [FILAMENT, LINEAR, METAL, PRINTER]
    keep_all(kept, "all", path=file)
    text = own_text(path=file)
    assert things_from(text) == kept
    assert things_from(text.encode()) == kept
    other = tmp_path / "other.sqlite3"
    keep_all(things_from(text), "take in", path=other)
    assert own_text(path=other) == text
    assert things_from(own_text(path=tmp_path / "none.sqlite3")) == []


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text[:-30],
        lambda text: text.replace("own materials", "other"),
        lambda text: text.replace('"version": 1', '"version": 2'),
        lambda text: text.replace('"version": 1', '"version": true'),
        lambda text: text.replace("1.1", "NaN"),
        lambda text: text.replace("1.1", "1e999"),
        lambda text: text.replace("1.1", '"1.1"'),
        lambda text: text.replace('"Elastomer"', '"Metal"'),
        lambda text: text.replace("modulus_factor", "factor"),
        lambda text: json.dumps({**json.loads(text), "elastomer": {}}),
        lambda text: json.dumps({**json.loads(text), "elastomer": [3]}),
        lambda text: json.dumps({**json.loads(text), "elastomer": [None] * 201}),
        lambda text: "[" * 100_000,
        lambda text: "1" * 1_000_001,
        lambda text: "[]",
        lambda text: b"\xff\xfe\x00",
        lambda text: None,
    ],
)
def test_a_bad_file_is_refused_whole(change: Any, file: Path) -> None:
    save_own(FILAMENT, path=file)
    with pytest.raises(ValueError, match=r" must be .*; got "):
        things_from(change(own_text(path=file)))


def test_there_is_an_end_to_what_is_kept(file: Path) -> None:
    many: list[Own] = [
        Elastomer(**{**vars(FILAMENT), "name": f"roll {index}"}) for index in range(200)
    ]
    keep_all(many, "many", path=file)
    with pytest.raises(ValueError, match=r"^own elastomer entries must be at most 200"):
        save_own(FILAMENT, path=file)
    save_own(many[0], path=file)  # one that is there may be replaced


def test_only_three_kinds_are_kept(file: Path) -> None:
    for call in (own_things, lambda kind, path: remove_own(kind, "x", path=path)):
        with pytest.raises(ValueError, match=r"^kind must be one of elastomer, metal, printer"):
            call("wire", path=file)
