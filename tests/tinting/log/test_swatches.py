"""The swatch log: rows and pictures kept together, undone, merged, counted, safe under faults."""

from __future__ import annotations

import contextlib
import dataclasses
import errno
import io
import os
import random
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from data.store.entries import MIGRATIONS, save_entry
from data.store.folder import DamagedStoreError, StoreError
from tests.scripts.stress_log import run_kills, run_writers, some_photo
from tests.tinting.log.test_record import record
from tinting.log.maintenance import merge_swatches, open_log, sweep_photos
from tinting.log.pictures import photo_folder, photo_name, photo_names, plain_photo
from tinting.log.record import record_fields
from tinting.log.swatches import (
    add_swatch,
    copy_swatch,
    count_swatches,
    edit_swatch,
    list_swatches,
    log_path,
    read_photo,
    redo,
    remove_swatch,
    undo,
)
from tinting.log.table import read_csv

ROOT = Path(__file__).parents[3]
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "my [own] things? 100 %" / "swatches [1].sqlite3"


@pytest.fixture
def photo() -> bytes:
    return some_photo(random.Random(5))


def test_the_default_log_is_in_the_users_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path / "chosen"))
    assert log_path() == tmp_path / "chosen" / "swatches.sqlite3"
    row = add_swatch(record())
    assert list_swatches().records == (row,)
    assert (tmp_path / "chosen" / "swatches.sqlite3").is_file()


def test_looking_makes_no_file(log: Path) -> None:
    assert not list_swatches(path=log).records
    assert not open_log(log).set_aside
    assert not sweep_photos(log)
    assert count_swatches(path=log).rows == 0
    assert not log.parent.exists()


def test_rows_are_kept_edited_removed_and_undone_exactly(log: Path, photo: bytes) -> None:
    first = add_swatch(record(note="=1+1\n'é"), photo=photo, path=log)
    second = add_swatch(record(coats=5), path=log)
    assert list_swatches(path=log).records == (first, second)
    assert read_photo(first.photo, path=log) == plain_photo(photo)

    changed = edit_swatch(dataclasses.replace(first, note="", coats=3), path=log)
    assert list_swatches(path=log).records == (changed, second)
    assert remove_swatch(changed.id, path=log) == changed
    assert list_swatches(path=log).records == (second,)
    assert sweep_photos(log) == ()  # undo still needs the picture

    assert undo(path=log).words == "remove a row"
    assert list_swatches(path=log).records == (changed, second)
    assert undo(path=log).done
    assert list_swatches(path=log).records == (first, second)
    assert read_photo(first.photo, path=log) == plain_photo(photo)
    assert redo(path=log).names == (first.id,)
    assert list_swatches(path=log).records == (changed, second)


def test_an_id_is_added_once_and_only_what_is_there_is_changed(log: Path) -> None:
    row = add_swatch(record(), path=log)
    with pytest.raises(ValueError, match="swatch id must be that of a new row"):
        add_swatch(row, path=log)
    for change in (
        lambda: edit_swatch(record(), path=log),
        lambda: remove_swatch(record().id, path=log),
        lambda: copy_swatch("no such id", path=log),
        lambda: remove_swatch(None, path=log),  # type: ignore[arg-type]
        lambda: copy_swatch(["x"], path=log),  # type: ignore[arg-type]
    ):
        with pytest.raises(ValueError, match="swatch id must be"):
            change()
    with pytest.raises(ValueError, match="record must be"):
        add_swatch({"lab": 1}, path=log)  # type: ignore[arg-type]
    assert list_swatches(path=log).records == (row,)
    assert count_swatches(path=log).undo == 1


def test_a_copy_is_a_new_row_that_no_fit_uses(log: Path, photo: bytes) -> None:
    row = add_swatch(record(note="mine"), photo=photo, path=log)
    copy = copy_swatch(row.id, path=log)
    same = dataclasses.replace(copy, id=row.id, made_at=row.made_at, used=True)
    assert same == row and not copy.used and copy.id != row.id
    assert list_swatches(path=log).records == (row, copy)


def test_filters(log: Path) -> None:
    rows = [
        add_swatch(record(base_name="white", note="Sanded first"), path=log),
        add_swatch(record(shares={"Sky blue": 0.1}, used=False), path=log),
        add_swatch(record(shares={}, coats=0), path=log),
    ]

    def found(**filters: Any) -> list[int]:
        return [rows.index(row) for row in list_swatches(path=log, **filters).records]

    assert found() == [0, 1, 2]
    assert found(base="white") == [0]
    assert found(dye="Sky blue") == [1]
    assert found(dye="brown") == [0]
    assert found(used=True) == [0, 2]
    assert found(used=False) == [1]
    assert found(text="SANDED") == [0]
    assert found(text="sky") == [1]
    assert found(text="nowhere") == []
    assert found(base="white", used=False) == []
    for bad in ({"base": 5}, {"dye": []}, {"used": 1}, {"text": b"x"}):
        with pytest.raises(ValueError, match="must be"):
            list_swatches(path=log, **bad)  # type: ignore[arg-type]


def test_counts(log: Path, photo: bytes) -> None:
    add_swatch(record(base_name="white"), photo=photo, path=log)
    add_swatch(record(used=False, shares={"blue": 0.1}), path=log)
    undo(path=log)
    redo(path=log)
    counts = count_swatches(path=log)
    assert (counts.rows, counts.used, counts.photos) == (2, 1, 1)
    assert counts.bases == ("natural 85A", "white")
    assert counts.dyes == ("blue", "brown", "reed green")
    assert (counts.undo, counts.redo) == (2, 0)


def test_a_row_that_is_none_any_more_is_told_of_and_left(log: Path) -> None:
    row = add_swatch(record(), path=log)
    other = record_fields(record())
    save_entry("swatch", other["id"], {**other, "coats": 999}, path=log)
    listing = list_swatches(path=log)
    assert listing.records == (row,)
    assert other["id"] in listing.cautions[0].text and "coats" in listing.cautions[0].text


# pictures


def test_a_picture_is_kept_as_pixels_only_and_upright(log: Path) -> None:
    image = Image.new("RGB", (60, 40), (200, 20, 20))
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter
    exif[0x010E] = "my kitchen"
    exif.get_ifd(0x8825)[1] = "N"
    stream = io.BytesIO()
    image.save(stream, "JPEG", exif=exif, comment=b"my kitchen")
    row = add_swatch(record(), photo=stream.getvalue(), path=log)
    kept = read_photo(row.photo, path=log)
    assert b"my kitchen" in stream.getvalue() and b"my kitchen" not in kept
    with Image.open(io.BytesIO(kept)) as opened:
        assert opened.size == (40, 60)
        assert not opened.getexif()
    assert row.photo == photo_name(kept)
    assert plain_photo(kept) == kept


@pytest.mark.parametrize(
    "tail", [b"PK\x05\x06" + b"\0" * 18, b"\xff\xfe\x00\x08secret\xff\xd9", b"\xff\xd9\xff\xd9"]
)
def test_what_hangs_on_a_picture_is_dropped(photo: bytes, tail: bytes) -> None:
    plain = plain_photo(photo)
    assert plain_photo(plain) == plain
    assert plain_photo(plain[:-2] + tail) != plain[:-2] + tail
    assert b"secret" not in plain_photo(plain[:-2] + tail)


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"\xff\xd8\xff", b"<svg/>", "text", None, 5])
def test_what_is_no_picture_is_refused_and_no_row_kept(log: Path, content: Any) -> None:
    with pytest.raises(ValueError, match="photo must be"):
        plain_photo(content)
    if content is not None:
        with pytest.raises(ValueError, match="photo must be"):
            add_swatch(record(), photo=content, path=log)
    assert not list_swatches(path=log).records


def test_a_row_never_names_a_picture_that_is_not_there(log: Path, photo: bytes) -> None:
    with pytest.raises(ValueError, match="swatch photo must be a picture beside the log"):
        add_swatch(record(photo="other.jpg"), path=log)
    row = add_swatch(record(), photo=photo, path=log)
    again = add_swatch(record(photo=row.photo), path=log)
    assert again.photo == row.photo
    for name in ("", "none.jpg", "../swatches.sqlite3", "/etc/hostname", None, b"x", ["x"]):
        with pytest.raises(ValueError, match="swatch photo must be"):
            read_photo(name, path=log)  # type: ignore[arg-type]


def test_the_sweep_takes_what_no_row_and_no_undo_needs(log: Path, photo: bytes) -> None:
    row = add_swatch(record(), photo=photo, path=log)
    folder = photo_folder(log)
    (folder / "orphan.jpg").write_bytes(b"x")
    (folder / "half.jpg.part").write_bytes(b"x")
    (folder / "my notes.txt").write_bytes(b"x")
    assert sweep_photos(log) == ("half.jpg.part", "orphan.jpg")
    assert (folder / "my notes.txt").exists()
    undo(path=log)
    assert sweep_photos(log) == ()  # redo needs it
    add_swatch(record(), path=log)  # ends the redo
    assert sweep_photos(log) == (row.photo,)
    assert photo_names(folder) == ()


# merging


def test_merging_is_by_id_whole_and_one_step(log: Path) -> None:
    mine = add_swatch(record(), path=log)
    other, third = record(coats=4), record(coats=5)
    merged = merge_swatches([mine, other, third], path=log)
    assert (merged.added, merged.same) == ((other.id, third.id), (mine.id,))
    again = merge_swatches([mine, other, third], path=log)
    assert (again.added, again.differing) == ((), ())
    assert count_swatches(path=log).undo == 2
    undo(path=log)
    assert list_swatches(path=log).records == (mine,)


def test_rows_that_differ_are_kept_or_replaced_as_asked(log: Path) -> None:
    mine = add_swatch(record(), path=log)
    theirs = dataclasses.replace(mine, note="edited elsewhere")
    kept = merge_swatches([theirs], path=log)
    assert kept.differing == (mine.id,) and not kept.replaced
    assert list_swatches(path=log).records == (mine,)
    replaced = merge_swatches([theirs], existing="replace", path=log)
    assert replaced.differing == (mine.id,) and replaced.replaced
    assert list_swatches(path=log).records == (theirs,)
    undo(path=log)
    assert list_swatches(path=log).records == (mine,)


def test_pictures_come_along_or_their_lack_is_told(log: Path, photo: bytes) -> None:
    row = record(photo="theirs.jpg")
    without = merge_swatches([row], path=log)
    assert "theirs.jpg" in without.cautions[0].text
    assert list_swatches(path=log).records[0].photo == ""
    merge_swatches([row], photos={"theirs.jpg": photo}, existing="replace", path=log)
    kept = list_swatches(path=log).records[0].photo
    assert kept == photo_name(plain_photo(photo))
    assert read_photo(kept, path=log) == plain_photo(photo)
    assert merge_swatches([row], photos={"theirs.jpg": photo}, path=log).same == (row.id,)


def test_a_merge_that_cannot_be_changes_nothing(log: Path) -> None:
    row = record()
    for arguments, said in (
        (([row, row],), "swatch id must be given once"),
        ((5,), "records must be"),
        (([row, 5],), "record must be"),
    ):
        with pytest.raises(ValueError, match=said):
            merge_swatches(*arguments, path=log)  # type: ignore[arg-type]
    for options in ({"existing": "mix"}, {"photos": [1]}, {"photos": {"a.jpg": b"x"}}):
        with pytest.raises(ValueError, match="must be"):
            merge_swatches([row], path=log, **options)  # type: ignore[arg-type]
    assert not list_swatches(path=log).records


# faults


def test_a_damaged_log_is_set_aside_and_a_readable_export_offered(log: Path, photo: bytes) -> None:
    rows = [add_swatch(record(note=f"row {i}, ; é"), path=log) for i in range(30)]
    rows.append(add_swatch(record(note="with photo"), photo=photo, path=log))
    content = bytearray(log.read_bytes())
    content[:4096] = b"\xa5" * 4096
    log.write_bytes(content)
    with pytest.raises(DamagedStoreError, match="damaged"):
        list_swatches(path=log)

    state = open_log(log)
    assert state.set_aside and (log.parent / state.set_aside).read_bytes() == content
    assert state.set_aside in state.cautions[0].text and state.export in state.cautions[0].text
    assert sorted(state.saved, key=lambda row: row.id) == sorted(rows, key=lambda row: row.id)
    assert read_csv((log.parent / state.export).read_bytes()).records == state.saved
    assert not list_swatches(path=log).records
    assert sweep_photos(log) == ()  # the picture waits for its row

    assert len(merge_swatches(state.saved, path=log).added) == len(rows)
    assert list_swatches(path=log).records == state.saved
    assert read_photo(rows[-1].photo, path=log) == plain_photo(photo)
    assert not open_log(log).cautions


def test_a_newer_log_is_refused(log: Path) -> None:
    add_swatch(record(), path=log)
    with contextlib.closing(sqlite3.connect(log)) as connection:
        connection.execute(f"PRAGMA user_version={len(MIGRATIONS) + 1}")
        connection.execute("PRAGMA journal_mode=DELETE")
    before = log.read_bytes()
    for action in (
        lambda: open_log(log),
        lambda: list_swatches(path=log),
        lambda: add_swatch(record(), path=log),
        lambda: undo(path=log),
    ):
        with pytest.raises(StoreError, match="newer version"):
            action()
    assert log.read_bytes() == before
    kept = {log.name, f"{log.name}-backup"}
    assert {file.name for file in log.parent.iterdir()} == kept


def test_a_full_disk_keeps_every_acknowledged_row_and_picture(log: Path) -> None:
    """A limit on the size of any file stands for the full disk: the same writes fail."""
    code = """
import random, resource, sys
sys.path.insert(0, ".")
from tests.scripts.stress_log import some_photo, some_record
from tinting.log.swatches import add_swatch
rng = random.Random(1)
photos = [some_photo(rng) for _ in range(3)]
resource.setrlimit(resource.RLIMIT_FSIZE, (90_000, 90_000))
try:
    while True:
        print(add_swatch(some_record(rng), photo=rng.choice(photos), path=sys.argv[1]).id)
except OSError as error:
    print(type(error).__name__, error)
resource.setrlimit(resource.RLIMIT_FSIZE, (2_000, 90_000))
try:
    add_swatch(some_record(rng), photo=some_photo(rng), path=sys.argv[1] + ".other")
except OSError as error:
    print(type(error).__name__, error)
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(log)], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    *acknowledged, row_refused, photo_refused = done.stdout.splitlines()
    for sentence in (row_refused, photo_refused):
        assert sentence.startswith("StoreError") and "disk is full" in sentence
    assert len(acknowledged) > 10
    assert not open_log(log).set_aside
    records = {row.id: row for row in list_swatches(path=log).records}
    assert set(acknowledged) <= set(records)
    for row in records.values():
        assert photo_name(read_photo(row.photo, path=log)) == row.photo
    add_swatch(record(), path=log)


@needs_fork
def test_killed_at_random_moments_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    tally = run_kills(tmp_path, 10, seed=3, longest=0.3)
    assert tally.runs == 10 and tally.acknowledged > 0


@needs_fork
def test_four_writers_at_once_lose_and_double_nothing(tmp_path: Path) -> None:
    tally = run_writers(tmp_path, 4, 50)
    assert tally.acknowledged == 200


def test_a_half_picture_is_not_left_where_the_disk_refuses(
    log: Path, photo: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_swatch(record(), path=log)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "no room")

    with monkeypatch.context() as patched:
        patched.setattr("data.store.folder.os.fsync", full)
        with pytest.raises(StoreError, match="disk is full"):
            add_swatch(record(), photo=photo, path=log)
    assert not any(photo_folder(log).iterdir())
    assert len(list_swatches(path=log).records) == 1


def test_no_picture_is_written_through_a_link_and_a_hurt_one_is_mended(
    log: Path, photo: bytes, tmp_path: Path
) -> None:
    theirs = tmp_path / "theirs"
    theirs.write_bytes(b"theirs")
    plain = plain_photo(photo)
    name = photo_name(plain)
    photo_folder(log).mkdir(parents=True)
    for laid in (name, f"{name}.part"):
        (photo_folder(log) / laid).symlink_to(theirs)
    row = add_swatch(record(), photo=photo, path=log)
    assert theirs.read_bytes() == b"theirs"
    assert not (photo_folder(log) / row.photo).is_symlink()
    assert read_photo(row.photo, path=log) == plain
    (photo_folder(log) / name).write_bytes(plain[:100])
    with pytest.raises(ValueError, match="which is hurt"):
        read_photo(name, path=log)
    add_swatch(record(), photo=photo, path=log)
    assert read_photo(name, path=log) == plain
