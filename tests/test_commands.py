"""The command line: what it prints, writes and takes over, and that strangers' signs stay signs."""

from __future__ import annotations

import io
import random
from pathlib import Path

import pytest

import app
from data.store.design import design_text
from data.store.figures import list_figures
from flexcalc.limb.materials import load_elastomer
from flexcalc.limb.own_materials import own_things, save_own
from tests.scripts.stress_log import some_photo
from tests.test_hurt_folder import row
from tinting.log.swatches import add_swatch, list_swatches, read_photo


def blue_roll() -> None:
    tabled = load_elastomer("TPU 85A")
    save_own(tabled.__class__(**{**vars(tabled), "name": "blue roll"}))


def test_what_is_exported_comes_back(
    own_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    photo = some_photo(random.Random(3))
    rows = (add_swatch(row(), photo=photo), add_swatch(row(note="=1+1")))
    blue_roll()
    out = [str(tmp_path / name) for name in ("log.zip", "log.csv", "own.json")]
    for name in out:
        assert app.main(["export", name]) == 0
    figure = tmp_path / "heron.json"
    figure.write_text(design_text({"name": "Heron"}), encoding="utf-8")
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path / "elsewhere"))
    assert app.main(["import", out[0], out[2], str(figure)]) == 0
    assert list_swatches().records == rows
    assert read_photo(rows[0].photo)
    assert list(own_things("elastomer").things) == ["blue roll"]
    assert [one.name for one in list_figures()] == ["Heron"]
    assert app.main(["import", out[1]]) == 0
    said = capsys.readouterr().out
    assert "Rows taken over: 2. The same already: 0." in said
    assert "Rows taken over: 0. The same already: 2." in said
    assert "Own materials taken over: 1." in said


def test_a_large_log_is_written_in_parts(
    own_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = tuple(add_swatch(row(coats=coats)) for coats in range(1, 6))
    monkeypatch.setattr("tinting.log.transfer.MOST_PART_ROWS", 2)
    assert app.main(["export", str(tmp_path / "log.csv")]) == 0
    parts = [str(tmp_path / name) for name in ("log-3.csv", "log.csv", "log-2.csv")]
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path / "elsewhere"))
    assert app.main(["import", *parts]) == 0
    assert {one.id for one in list_swatches().records} == {one.id for one in rows}


@pytest.mark.usefixtures("own_folder")
def test_bad_rows_are_named_and_nothing_or_the_rest_is_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "x.csv"
    head = "base_name,base_L,base_a,base_b,dyes,coats,L,a,b\n"
    file.write_text(f"{head}own,88,0,6,moss=0.1,2,60,-10,20\nown,88,0,6,moss=7,2,1,2,3\n")
    assert app.main(["import", str(file)]) == 1
    assert "line 3: swatch share of moss" in capsys.readouterr().out
    assert not list_swatches().records
    assert app.main(["import", "--good-rows", str(file)]) == 0
    assert len(list_swatches().records) == 1


@pytest.mark.usefixtures("own_folder")
@pytest.mark.parametrize(
    "arguments",
    [
        ["export", "log.exe"], ["export", "/nowhere/at/all/log.zip"], ["import", "no such file"],
        ["import", "/dev/zero"], ["import"], ["export"], ["nonsense"], ["--port", "0"],
        ["import", "\x1b[31m"], ["check", "\ud800"],
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.main(arguments) == 2
    said = capsys.readouterr()
    assert said.err and "Traceback" not in said.err and "\x1b" not in said.err


@pytest.mark.usefixtures("own_folder")
def test_a_json_of_another_kind_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "x.json"
    file.write_text('{"format": "other"}')
    assert app.main(["import", str(file)]) == 2
    assert "materials file must be" in capsys.readouterr().err
    file.write_text('{"format": "limb and tint design", "version": 99}')
    assert app.main(["import", str(file)]) == 2
    assert "design version" in capsys.readouterr().err


def test_a_terminal_is_told_how_far_a_sheet_is_in_one_line_without_raw_signs() -> None:
    stream = io.StringIO()
    tell = app.told_in(stream)
    tell(0.0, "Arm\x1b[2J: the verdict …")
    tell(0.354, "Arm: other wires that hold …" * 9)
    tell(1.0, "whether it stands …")
    first, second, last = stream.getvalue().removeprefix("\r").split("\r")
    assert first.startswith("  0% Arm") and "\x1b" not in first and "\n" not in first
    assert second.startswith(" 35% Arm") and len(second) == len(first) == len(last.rstrip("\n"))
    assert last.startswith("100% whether") and last.endswith("\n")
