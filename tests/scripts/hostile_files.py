"""Hand spoilt files to everything that reads files of strangers, and count what came of it.

`python -m tests.scripts.hostile_files [files of each kind] [seed]` (default 2000 and 1). Designs,
own materials, CSV, zips, pictures, meshes (STL and 3MF), figures and logbooks of the folder, and
the command line are tried with files changed at random places. Every one is read or refused; ends
with code 1 if anything else comes out, a file takes longer than ten seconds, or the memory grows
beyond two gigabytes.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import resource
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

import app
from data.rules import Refused
from data.store.design import design_text, read_design
from data.store.figures import list_figures, read_events, read_figure
from data.store.folder import StoreError
from flexcalc.build import droop_strip, file_bytes
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.materials import load_elastomer
from flexcalc.limb.own_materials import things_from
from flexcalc.mesh.files.reading import read_surface
from flexcalc.verdict.plan import limb_plan_from, plain
from tests.scripts.stress_log import some_photo, some_record
from tinting.log.table import read_csv, write_csv
from tinting.log.transfer import import_zip
from tinting.photo.picture import read_picture

LONGEST, LARGEST = 10.0, 2_000.0
"""Seconds that a file may take, and megabytes that the whole run may hold."""
WORDS = (b"1e308", b"-1", b"NaN", b"\\ud800", b'"', b"[" * 3000, b"\x00", b"9" * 400, b"\xff\xfe")
Read = Callable[[bytes], object]


def spoilt(content: bytes, rng: random.Random) -> bytes:
    """Change a file at one to four random places."""
    made = bytearray(content)
    for _ in range(rng.choice([1, 1, 2, 4])):
        place = rng.randrange(len(made) + 1)
        length = rng.choice([0, 1, 1, 4, 40, 4000])
        way = rng.randrange(5)
        if way == 0:
            made[place : place + length] = rng.randbytes(length)
        elif way == 1:
            made[place : place + length] = rng.choice(WORDS)
        elif way == 2:
            made[place : place + length] = b""
        elif way == 3:
            made[place:place] = made[: rng.randrange(2000)]
        else:
            del made[rng.randrange(len(made) // 2, len(made) + 1) :]
    return bytes(made)


def opened_design(content: bytes) -> object:
    design = read_design(content)
    for limb in design["limbs"]:
        limb_plan_from(limb)
    return design


def read_folder(folder: Path, ending: str) -> Read:
    """Return what lays a file into a folder of figures and reads that."""

    def read(content: bytes) -> object:
        (folder / f"0123abcd{ending}").write_bytes(content)
        if ending == ".events":
            return read_events("0123abcd", place=folder)
        (one,) = list_figures(place=folder)
        figure = read_figure("0123abcd", place=folder)
        if one.damage:
            raise RuntimeError("listed as damaged, and read")
        return figure

    return read


def by_command(folder: Path, ending: str) -> Read:
    """Return what hands a file to the command line, whose answer is words and a code."""

    def read(content: bytes) -> object:
        file = folder / f"file{ending}"
        file.write_bytes(content)
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            code = app.main(["import", str(file)])
        if "Traceback" in said.getvalue() or any(
            sign in said.getvalue() for sign in "\x1b\x07\u202e"
        ):
            raise RuntimeError("raw signs reach the terminal")
        if code:
            raise Refused("file", "read", "a refused one")
        return said

    return read


def kinds(folder: Path) -> dict[str, tuple[bytes, Read]]:
    """Return a whole file of each kind, and what reads it."""
    rng = random.Random(4)
    design = design_text({"name": "Heron", "limbs": [plain(plan_from_form({}))]}).encode()
    rows = [some_record(rng, photo="" if n else "a.jpg") for n in range(6)]
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("swatches.csv", write_csv(rows))
        archive.writestr("photos/a.jpg", some_photo(rng))
    piece = droop_strip()
    own = json.dumps(
        {"format": "own materials", "version": 1, "elastomer": [plain(load_elastomer("TPU 85A"))]}
    ).encode()
    events = b'{"kind": "bent", "at": 1.5, "note": "x"}\n' * 20
    log = folder / "log" / "swatches.sqlite3"
    return {
        "design": (design, opened_design),
        "own materials": (own, things_from),
        "CSV": (write_csv(rows), read_csv),
        "zip": (stream.getvalue(), lambda content: import_zip(content, path=log)),
        "picture": (picture("JPEG"), read_picture),
        "picture as PNG": (picture("PNG"), read_picture),
        "picture as WebP": (picture("WEBP"), read_picture),
        "STL": (file_bytes(piece, "stl"), read_surface),
        "3MF": (file_bytes(piece, "3mf"), read_surface),
        "figure in the folder": (design, read_folder(folder, ".json")),
        "logbook": (events, read_folder(folder, ".events")),
        "command: a design": (design, by_command(folder, ".json")),
        "command: a table": (write_csv(rows), by_command(folder, ".csv")),
    }


def picture(kind: str) -> bytes:
    from PIL import Image

    pixels = np.random.default_rng(2).integers(0, 255, (90, 120, 3), np.uint8)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, kind)
    return stream.getvalue()


def main(files: int = 2000, seed: int = 1) -> int:
    """Print what came of each kind; return 1 for what must never happen."""
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        os.environ["LIMB_TINT_FOLDER"] = name
        for kind, (whole, read) in kinds(Path(name)).items():
            read(whole)
            tally: Counter[str] = Counter()
            slowest, began = 0.0, time.monotonic()
            for number in range(files):
                content = spoilt(whole, random.Random(f"{seed} {kind} {number}"))
                start = time.monotonic()
                try:
                    read(content)
                    tally["read"] += 1
                except (Refused, StoreError):
                    tally["refused"] += 1
                except Exception as error:
                    tally["broke"] += 1
                    print(f"{kind} {number}: {type(error).__name__} {error}")
                slowest = max(slowest, time.monotonic() - start)
            seconds = time.monotonic() - began
            print(f"{kind}: {dict(tally)}, slowest {slowest:.2f} s, {seconds:.0f} s in all")
            wrong += tally["broke"] + (slowest > LONGEST)
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"most memory {held:.0f} MB; what must never happen: {wrong}")
    return 1 if wrong or held > LARGEST else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
