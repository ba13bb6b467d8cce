"""Try to break the swatch log: kill its writer at random moments, let four write at once.

`python -m tests.scripts.stress_log [kills] [rows]` (default 200 and 1000) prints the figures; the
test suite runs the same with small numbers. `python -m tests.scripts.stress_log full FOLDER` fills
the small disk of that folder (such as a tmpfs of 600 kB) until it refuses.

What is checked after every kill: each acknowledged change is there, at most the change under way
is there besides, the file passes SQLite's integrity check, and every row's picture is whole.
"""

from __future__ import annotations

import contextlib
import dataclasses
import io
import json
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from data.store.entries import StoredEntries, change_entries, load_entries
from data.store.folder import StoreError
from tinting.log.maintenance import open_log, sweep_photos
from tinting.log.pictures import photo_folder, photo_name, photo_names
from tinting.log.record import SwatchRecord, record_fields
from tinting.log.swatches import (
    KIND,
    add_swatch,
    edit_swatch,
    list_swatches,
    redo,
    remove_swatch,
    undo,
)

Rows = dict[str, dict[str, Any]]
FRESH_EVERY = 8
"""A new log begins after so many kills, so that its making is hit too."""


def some_record(rng: random.Random, **changes: Any) -> SwatchRecord:
    values: dict[str, Any] = {
        "base_name": rng.choice(["natural", "white"]),
        "base_lab": (85.0, 0.5, 7.25),
        "lab": (rng.uniform(20, 80), rng.uniform(-40, 40), rng.uniform(-40, 40)),
        "shares": {"reed green": rng.random() / 2, "brown": 0.05},
        "coats": rng.randint(1, 5),
        "note": "é" * rng.randint(0, 300),
    }
    return SwatchRecord(**{**values, **changes})


def some_photo(rng: random.Random) -> bytes:
    from PIL import Image

    pixels = np.random.default_rng(rng.randint(0, 10**6)).integers(0, 255, (64, 64, 3), np.uint8)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "JPEG")
    return stream.getvalue()


# the process that is killed


def write_for_ever(log: Path, rng: random.Random, tell: Callable[[dict[str, Any]], None]) -> None:
    """Change the log again and again; tell each change before it and its result after it."""
    rows = dict(load_entries(KIND, path=log))
    photos = [some_photo(rng) for _ in range(5)]
    while True:
        action = rng.choice(["add", "add", "add", "edit", "remove", "undo", "redo", "sweep"])
        if action == "add":
            record = some_record(rng)
            photo = rng.choice([None, *photos])
            tell({"intent": action, "id": record.id})
            touched = (add_swatch(record, photo=photo, path=log).id,)
        elif action in ("undo", "redo"):
            tell({"intent": action})
            touched = (undo if action == "undo" else redo)(path=log).names
        elif action == "sweep":
            tell({"intent": action})
            sweep_photos(log)
            touched = ()
        elif rows:
            id = rng.choice(sorted(rows))
            tell({"intent": action, "id": id})
            if action == "remove":
                remove_swatch(id, path=log)
            else:
                edit_swatch(some_record(rng, id=id), photo=rng.choice([None, *photos]), path=log)
            touched = (id,)
        else:
            continue
        now = load_entries(KIND, path=log)
        for id in touched:
            rows.pop(id, None)
        changed = {id: dict(now[id]) for id in touched if id in now}
        rows |= changed
        tell({"done": {id: changed.get(id, {}) for id in touched}})


@contextlib.contextmanager
def forked(work: Callable[[Callable[[dict[str, Any]], None]], None]) -> Iterator[tuple[int, int]]:
    """Run work in a process of its own; give its id and the pipe on which it tells things."""
    reading, writing = os.pipe()
    process = os.fork()
    if not process:
        try:
            os.close(reading)
            work(lambda said: _write_all(writing, (json.dumps(said) + "\n").encode()))
        except BaseException:
            _write_all(writing, (json.dumps({"error": traceback.format_exc()}) + "\n").encode())
        finally:
            os._exit(0)
    os.close(writing)
    try:
        yield process, reading
    finally:
        os.close(reading)
        with contextlib.suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)


def _write_all(pipe: int, content: bytes) -> None:
    while content:
        content = content[os.write(pipe, content) :]


def _heard(pipe: int) -> list[dict[str, Any]]:
    with os.fdopen(os.dup(pipe), "rb") as stream:
        lines = stream.read().split(b"\n")
    # what stands behind the last line end was cut off by the kill
    return [json.loads(line) for line in lines[:-1]]


# what is checked


def check_kill(log: Path, rows: Rows, heard: list[dict[str, Any]]) -> Rows:
    """Return the rows after a kill, or raise AssertionError with what was lost."""
    under_way: dict[str, Any] = {}
    for said in heard:
        assert "error" not in said, said["error"]
        under_way = said if "intent" in said else {}
        for id, fields in said.get("done", {}).items():
            rows.pop(id, None)
            if fields:
                rows[id] = fields
    assert not open_log(log).set_aside, "called damaged"
    if log.exists():
        with contextlib.closing(sqlite3.connect(log)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    found = {id: dict(fields) for id, fields in load_entries(KIND, path=log).items()}
    odd = [id for id in rows.keys() | found.keys() if rows.get(id) != found.get(id)]
    assert len(odd) <= (1 if under_way else 0), f"{len(odd)} rows differ after {under_way}"
    if odd and "id" in under_way:
        assert odd == [under_way["id"]]
    check_photos(log, found)
    return found


def check_photos(log: Path, rows: Rows) -> None:
    """Every row's picture is there and whole; after a sweep there is none too many."""
    folder = photo_folder(log)
    for name in photo_names(folder):
        assert photo_name((folder / name).read_bytes()) == name, f"{name} is not whole"
    needed = {fields["photo"] for fields in rows.values()} - {""}
    assert needed <= set(photo_names(folder)), "a row names a picture that is not there"
    sweep_photos(log)
    remembered: set[str] = set()

    def look(stored: StoredEntries) -> dict[str, Any]:
        remembered.update(fields["photo"] for fields in stored.remembered())
        return {}

    if log.exists():
        change_entries(KIND, look, "look", path=log)
    left = {file.name for file in folder.iterdir()} if folder.exists() else set()
    assert needed <= left <= needed | remembered, "pictures without a row stay after a sweep"


@dataclasses.dataclass(frozen=True, kw_only=True)
class Tally:
    """What a run did: kills or writers, changes acknowledged, found under way, seconds."""

    runs: int
    acknowledged: int
    under_way: int
    seconds: float


def run_kills(folder: Path, kills: int, seed: int = 0, longest: float = 0.4) -> Tally:
    """Kill a writer ``kills`` times at random moments and check the log after each."""
    rng, began = random.Random(seed), time.monotonic()
    acknowledged = under_way = 0
    rows: Rows = {}
    for kill in range(kills):
        if kill % FRESH_EVERY == 0:
            rows = {}
        log = folder / f"log {kill // FRESH_EVERY}" / "swatches.sqlite3"
        child_rng = random.Random(rng.random())
        with forked(lambda tell, log=log, r=child_rng: write_for_ever(log, r, tell)) as (pid, pipe):
            time.sleep(rng.uniform(0, longest))
            os.kill(pid, signal.SIGKILL)
            heard = _heard(pipe)
        acknowledged += sum("done" in said for said in heard)
        under_way += bool(heard) and "intent" in heard[-1]
        rows = check_kill(log, rows, heard)
    seconds = time.monotonic() - began
    return Tally(runs=kills, acknowledged=acknowledged, under_way=under_way, seconds=seconds)


def run_writers(folder: Path, writers: int, rows_each: int) -> Tally:
    """Let several processes add rows to one new log at once; none may be lost or doubled."""
    log, began = folder / "shared" / "swatches.sqlite3", time.monotonic()

    def fill(writer: int, tell: Callable[[dict[str, Any]], None]) -> None:
        rng = random.Random(writer)
        for row in range(rows_each):
            record = some_record(rng, note=f"writer {writer} row {row}")
            add_swatch(record, path=log)
            tell({"done": record_fields(record)})

    with contextlib.ExitStack() as stack:
        pipes = [
            stack.enter_context(forked(lambda tell, w=writer: fill(w, tell)))[1]
            for writer in range(writers)
        ]
        heard = [said for pipe in pipes for said in _heard(pipe)]
    for said in heard:
        assert "error" not in said, said["error"]
    acknowledged = {said["done"]["id"]: said["done"] for said in heard}
    assert len(acknowledged) == len(heard) == writers * rows_each
    found = load_entries(KIND, path=log)
    assert {id: dict(fields) for id, fields in found.items()} == acknowledged
    with contextlib.closing(sqlite3.connect(log)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    seconds = time.monotonic() - began
    return Tally(runs=writers, acknowledged=len(heard), under_way=0, seconds=seconds)


def run_full_disk(folder: Path) -> Tally:
    """Fill a small disk until it refuses; what was acknowledged is there, before and after."""
    log, rng, began = folder / "swatches.sqlite3", random.Random(9), time.monotonic()
    photos = [some_photo(rng) for _ in range(8)]
    acknowledged: Rows = {}
    refusals: list[str] = []
    while len(refusals) < 3:
        try:
            row = add_swatch(some_record(rng), photo=rng.choice([None, *photos]), path=log)
        except StoreError as error:
            assert "disk is full" in str(error), error
            refusals.append(str(error))
        else:
            acknowledged[row.id] = record_fields(row)
    assert list_swatches(path=log).records, "the full log can no longer be read"
    rows = check_kill(log, acknowledged, [{"intent": "the one refused"}])
    print(refusals[0])
    seconds = time.monotonic() - began
    return Tally(runs=1, acknowledged=len(rows), under_way=0, seconds=seconds)


def main(kills: int = 200, rows: int = 1000) -> None:
    with tempfile.TemporaryDirectory() as name:
        tally = run_kills(Path(name), kills, seed=int(time.time()))
        print(
            f"{tally.runs} kills in {tally.seconds:.0f} s: {tally.acknowledged} changes "
            f"acknowledged, all there; killed with a change under way {tally.under_way} times"
        )
        tally = run_writers(Path(name), 4, rows)
        rate = tally.acknowledged / tally.seconds
        print(
            f"{tally.runs} writers at once: {tally.acknowledged} rows, none lost, none doubled, "
            f"no error; {tally.seconds:.0f} s, {rate:.0f} rows/s"
        )


if __name__ == "__main__":
    if sys.argv[1:2] == ["full"]:
        print(run_full_disk(Path(sys.argv[2])))
    else:
        main(*map(int, sys.argv[1:3]))
