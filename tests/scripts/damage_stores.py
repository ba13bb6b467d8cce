"""Damage the user's stores at random and count what is lost, what is altered and what is told.

`python -m tests.scripts.damage_stores [damages] [seed]` (default 600 and 1) hurts a swatch log and
a figure with its logbook as many times: bytes, blocks and zeroed pages anywhere, cut ends, foreign
starts, damage in the log beside the file. Ends with code 1 if an altered
entry is served without a word, a rescue is stopped by one bad entry, or anything but the store's
own errors comes out.

The rows still there are counted three times: from the tables alone, with the copy of the day, and
with the texts standing loose in the file. The last column says what the search for loose texts is
worth.
"""

from __future__ import annotations

import os
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from data.store import salvage
from data.store.backup import backup_path, keep_backup
from data.store.design import design_text, read_design
from data.store.entries import load_entries
from data.store.figures import (
    add_event,
    change_figure,
    list_figures,
    read_events,
    read_figure,
)
from data.store.folder import StoreError
from tests.scripts.stress_log import some_record
from tinting.log.maintenance import merge_swatches, open_log
from tinting.log.record import record_fields
from tinting.log.swatches import KIND, add_swatch, edit_swatch, list_swatches

ROWS, LATER = 60, 20
"""Rows in the log, and how many of them came after the copy of the day."""
KEY = "0123abcd"
"""Of the figure."""
Kept = dict[str, dict[str, Any]]


def flipped(content: bytearray, rng: random.Random) -> None:
    for _ in range(rng.randint(1, 8)):
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)


def overwritten(content: bytearray, rng: random.Random) -> None:
    start, length = rng.randrange(len(content)), rng.randint(1, 4096)
    stop = min(start + length, len(content))
    content[start:stop] = rng.randbytes(stop - start)


def zeroed_page(content: bytearray, rng: random.Random) -> None:
    start = rng.randrange(len(content)) // 4096 * 4096
    stop = min(start + 4096, len(content))
    content[start:stop] = bytes(stop - start)


def cut_off(content: bytearray, rng: random.Random) -> None:
    del content[rng.randrange(len(content)) :]


def foreign_start(content: bytearray, rng: random.Random) -> None:
    length = rng.choice([16, 100, 512, 4096])
    content[:length] = rng.randbytes(length)


def altered_digit(content: bytearray, rng: random.Random) -> None:
    digits = [place for place, byte in enumerate(content) if byte in b"123456789"]
    content[rng.choice(digits)] = ord("8") if rng.random() < 0.5 else ord("3")


DAMAGES: tuple[Callable[[bytearray, random.Random], None], ...] = (
    flipped, overwritten, zeroed_page, cut_off, foreign_start, altered_digit,
)  # fmt: skip


def filled_log(folder: Path) -> tuple[Path, Kept]:
    """A log with its copy of the day, some rows added and some edited after that."""
    log, rng = folder / "swatches.sqlite3", random.Random(3)
    rows = [add_swatch(some_record(rng), path=log) for _ in range(ROWS - LATER)]
    if not keep_backup(log):
        raise RuntimeError("no copy was kept")
    rows += [add_swatch(some_record(rng), path=log) for _ in range(LATER)]
    for row in rows[:10]:
        edit_swatch(some_record(rng, id=row.id), path=log)
    return log, {id: dict(fields) for id, fields in load_entries(KIND, path=log).items()}


def rescued_rows(aside: Path, *, backup: bool, loose: bool) -> Kept:
    """What `data.store.salvage.read_aside` finds with some of its ways only."""
    whole, hidden = salvage._loose_documents, backup_path(aside)
    away = hidden.with_name("away")
    try:
        if not loose:
            salvage._loose_documents = lambda aside: iter(())
        if not backup and hidden.exists():
            hidden.rename(away)
        saved = salvage.read_aside(aside).saved
        return {id: dict(fields) for id, fields in saved.get(KIND, {}).items()}
    finally:
        salvage._loose_documents = whole
        if away.exists():
            away.rename(hidden)


def hurt_log(
    source: Path, true: Kept, folder: Path, rng: random.Random, tally: Counter[str]
) -> None:
    """Hurt a copy of a log, open it, and count."""
    shutil.copytree(source.parent, folder)
    log = folder / source.name
    names = [log, *(Path(f"{log}{end}") for end in ("-wal",) if Path(f"{log}{end}").exists())]
    place = rng.choice(names)
    content = bytearray(place.read_bytes())
    if not content:
        place, content = log, bytearray(log.read_bytes())
    rng.choice(DAMAGES)(content, rng)
    place.write_bytes(content)
    state = open_log(log)
    if not state.set_aside:
        found = {row.id: record_fields(row) for row in list_swatches(path=log).records}
        tally["found whole"] += 1
        count(found, true, tally, "served")
        return
    tally["set aside"] += 1
    merged = merge_swatches(state.saved, path=log)
    taken = {row.id: record_fields(row) for row in list_swatches(path=log).records}
    tally["rescues stopped"] += len(merged.added) != len(state.saved)
    count(taken, true, tally, "rescued")
    aside = folder / state.set_aside
    for name, ways in (
        ("tables", (False, False)),
        ("copy", (True, False)),
        ("loose", (True, True)),
    ):
        got = rescued_rows(aside, backup=ways[0], loose=ways[1])
        tally[f"rows by {name}"] += sum(id in got for id in true)
        tally[f"as last written by {name}"] += sum(got.get(id) == true[id] for id in true)


def count(found: Kept, true: Kept, tally: Counter[str], word: str) -> None:
    """Count rows that are there as last written, older, missing, or never written so."""
    for id, fields in found.items():
        if id not in true:
            tally[f"{word}: never there"] += 1
        elif fields == true[id]:
            tally[f"{word}: as last written"] += 1
        else:
            tally[f"{word}: another state"] += 1
    tally[f"{word}: missing"] += sum(id not in found for id in true)


def hurt_figure(
    design: dict[str, Any], folder: Path, rng: random.Random, tally: Counter[str]
) -> None:
    """Hurt a figure's file and its logbook; what is served of them is as it was written."""
    change_figure(KEY, lambda _: design, place=folder)
    true = [{"limb": "Neck", "kind": "re-posed", "day": f"2026-01-{n:02}"} for n in range(10, 30)]
    for event in true:
        add_event(KEY, event, place=folder)
    for path in (folder / f"{KEY}.json", folder / f"{KEY}.events"):
        content = bytearray(path.read_bytes())
        rng.choice(DAMAGES)(content, rng)
        path.write_bytes(content)
    (one,) = list_figures(place=folder)
    try:
        found = read_figure(KEY, place=folder)
    except (ValueError, StoreError):
        tally["figures refused"] += 1
        tally["figures refused without a reason in the list"] += not one.damage
    else:
        same = found == read_design(design_text(design))
        tally["figures the same" if same else "figures that read otherwise"] += 1
    events, lost = read_events(KEY, place=folder)
    tally["events"] += len(true)
    tally["events told lost"] += lost
    tally["events served"] += sum(event in true for event in events)
    tally["events that read otherwise"] += sum(event not in (*true, {}) for event in events)


def main(damages: int = 600, seed: int = 1) -> int:
    """Print the counts; return 1 for what must never happen."""
    from flexcalc.forms.limb_form import plan_from_form
    from flexcalc.verdict.plan import plain

    tally: Counter[str] = Counter()
    began, wrong = time.monotonic(), 0
    design = {"name": "Heron", "limbs": [plain(plan_from_form({}))], "note": "x" * 300}
    with tempfile.TemporaryDirectory() as name:
        os.environ["LIMB_TINT_FOLDER"] = name
        source, true = filled_log(Path(name) / "whole")
        for number in range(damages):
            rng = random.Random(seed * 1_000_003 + number)
            folder = Path(name) / "hurt"
            try:
                if number % 3 == 2:
                    hurt_figure(design, folder, rng, tally)
                else:
                    hurt_log(source, true, folder, rng, tally)
            except StoreError as error:
                tally["said and left alone"] += 1
                print(f"{number}: {error}")
            except Exception as error:
                wrong += 1
                print(f"{number}: {type(error).__name__} {error}")
            shutil.rmtree(folder, ignore_errors=True)
    print(f"{damages} damages, seed {seed}, {time.monotonic() - began:.0f} s")
    for key in sorted(tally):
        print(f"  {key}: {tally[key]}")
    served = tally["served: another state"] + tally["served: never there"]
    served += tally["figures that read otherwise"] + tally["events that read otherwise"]
    wrong += served + tally["rescues stopped"]
    print(f"what must never happen: {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
