"""Look whether a store is whole; set a damaged one aside and save what can still be read.

Nothing is deleted: the damaged file keeps its bytes under a new name with the time in it, and a
readable JSON of what could be saved is written beside it. Reading goes two ways: through the
tables as far as they reach, and through the raw bytes, where every entry stands as one text.
"""

from __future__ import annotations

import contextlib
import fnmatch
import glob
import json
import os
import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice, pairwise
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import Any, TypeAlias

from data.rules import Caution
from data.store.backup import backup_path, is_whole
from data.store.database import connect, read
from data.store.document import LONGEST_ENTRY, Fields, open_document
from data.store.entries import MIGRATIONS, store_path
from data.store.folder import (
    DamagedStoreError,
    Place,
    StoreError,
    check_path,
    has_file,
    names_in,
    trouble,
    write_whole,
)

MARK = "-damaged-"
SEARCHED, MOST = 200_000_000, 1_000_000
"""Bytes of a file that are searched for entries standing loose in it, and how many are read."""
_DOCUMENT = re.compile(rb'\{"step": \d{1,18}, "kind": "')
Saved: TypeAlias = Mapping[str, Mapping[str, Fields]]


@dataclass(frozen=True, kw_only=True)
class Rescued:
    """What could be read of a damaged store: ``saved``, kind -> name -> fields.

    ``altered`` names the entries whose text does not agree with its checksum or cannot be read;
    what stands in ``saved`` for one of them is an older state, if there is one at all.
    """

    saved: Saved
    altered: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StoreState:
    """How a store was found.

    ``set_aside`` is the new name of the file if it was found damaged just now, else empty;
    ``saved`` holds what could be read of it then, kind -> name -> fields, ``export`` the name of
    the JSON file with the same (empty if the disk had no room for it).
    ``aside`` names every file that has been set aside beside it, now or earlier.
    """

    path: Path
    set_aside: str
    saved: Saved
    export: str
    aside: tuple[str, ...]
    cautions: tuple[Caution, ...]


def check_store(path: Place = None) -> StoreState:
    """Return the state of a store; a damaged one is renamed and what can be read is saved.

    Parameters
    ----------
    path : str or Path, optional
        As for `data.store.entries.load_entries`.

    Raises
    ------
    StoreError
        An OSError: the file cannot be read, is of a newer version, or is damaged in a folder
        where it cannot be renamed.
    """
    place = store_path(path)
    if not _is_damaged(place):
        return _state(place, "", Rescued(saved={}, altered=()))
    try:
        with _alone(place):
            # another window may have done it while this one waited
            if not _is_damaged(place):
                return _state(place, "", Rescued(saved={}, altered=()))
            aside = _rename(place)
    except sqlite3.Error as error:
        raise trouble(place, error) from error
    except OSError as error:
        raise StoreError(
            f"{place.name} is damaged and could not be set aside ({error.strerror or error}). "
            "Copy the whole folder to a disk with room, and open the log there."
        ) from error
    return _state(place, aside.name, read_aside(aside))


def read_aside(file: Place) -> Rescued:
    """Return what a set-aside file and its backup still hold; neither file is touched.

    A text found loose in the file may be an entry that had been removed, or one undone, and one
    of the backup may have been removed since.
    """
    aside = check_path("set-aside file", file)
    found: dict[tuple[str, str], dict[str, Any]] = {}
    tables, altered = _table_documents(aside)
    for document in (*_table_documents(backup_path(aside))[0], *_loose_documents(aside)):
        key = str(document["kind"]), str(document["name"])
        if key not in found or document["step"] >= found[key]["step"]:
            found[key] = document
    for document in tables:
        found[str(document["kind"]), str(document["name"])] = document
    saved: dict[str, dict[str, Fields]] = {}
    for (kind, name), document in sorted(found.items()):
        if document["fields"]:
            saved.setdefault(kind, {})[name] = document["fields"]
    return Rescued(saved=saved, altered=altered)


def aside_pattern(place: Path) -> str:
    """Return the pattern of the names that set-aside files of a store have."""
    return f"{glob.escape(place.stem)}{MARK}*{glob.escape(place.suffix)}"


def _state(place: Path, aside: str, rescued: Rescued) -> StoreState:
    saved = rescued.saved
    found = fnmatch.filter(names_in(place.parent), aside_pattern(place))
    export = _write_export(place.with_name(aside), saved) if aside else ""
    count = sum(len(entries) for entries in saved.values())
    text = (
        f"{place.name} was damaged. It has been set aside as {aside}; entries that could be read: "
        f"{count}{', written to ' + export if export else ''}. A new, empty one is in use. Look "
        "the saved entries through before you take them over: one that you had removed may be "
        "among them."
    )
    if rescued.altered:
        text += (
            " Altered by the damage and not trusted; an older state was taken where there is one: "
            f"{', '.join(rescued.altered)}."
        )
    return StoreState(
        path=place,
        set_aside=aside,
        saved=saved,
        export=export,
        aside=tuple(found),
        cautions=(Caution(key="damaged store", text=text),) if aside else (),
    )


def _is_damaged(place: Path) -> bool:
    if not has_file(place):
        return False
    try:
        return not read(place, MIGRATIONS, is_whole)
    except DamagedStoreError:
        return True


@contextlib.contextmanager
def _alone(place: Path) -> Iterator[None]:
    """Hold a lock beside the store; it falls by itself when its holder is killed."""
    with contextlib.closing(connect(Path(f"{place}.lock"), "rwc")) as connection:
        connection.execute("BEGIN EXCLUSIVE")
        yield


def _rename(place: Path) -> Path:
    """Give the file and its helpers one new name; the helpers first, since they follow it."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    aside, turn = place.with_name(f"{place.stem}{MARK}{stamp}{place.suffix}"), 1
    while aside.exists():
        turn += 1
        aside = place.with_name(f"{place.stem}{MARK}{stamp}-{turn}{place.suffix}")
    for ending in ("-wal", "-shm", "-backup", ""):
        helper = Path(f"{place}{ending}")
        if helper.exists():
            os.replace(helper, f"{aside}{ending}")
    return aside


def _table_documents(aside: Path) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    """What the tables still give, from both ends, and the names of entries that were altered.

    Read on a copy, so that the file stays as it is.
    """
    documents: list[dict[str, Any]] = []
    altered: set[str] = set()
    # without room for the copy there are still the loose texts
    with contextlib.suppress(OSError), tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        for ending in ("", "-wal"):
            if Path(f"{aside}{ending}").is_file():
                shutil.copyfile(f"{aside}{ending}", f"{copy}{ending}")
        with contextlib.closing(connect(copy, "rwc")) as connection:
            connection.text_factory = _forgiving
            for order in ("ASC", "DESC"):
                query = f"SELECT name, document FROM entries ORDER BY rowid {order}"
                with contextlib.suppress(sqlite3.Error, UnicodeDecodeError):
                    for name, text in connection.execute(query):
                        try:
                            documents.append(open_document(text))
                        except DamagedStoreError:
                            altered.add(ascii(name)[1:-1][:80])
    return documents, tuple(sorted(altered))


def _forgiving(raw: bytes) -> str:
    """Read a text that may be damaged; its checksum tells afterwards whether it was."""
    return raw.decode("utf-8", errors="replace")


def _loose_documents(aside: Path) -> Iterator[dict[str, Any]]:
    decoder = json.JSONDecoder()
    for ending in ("", "-wal"):
        file = Path(f"{aside}{ending}")
        if not file.is_file() or not file.stat().st_size:
            continue
        with file.open("rb") as stream, mmap(stream.fileno(), 0, access=ACCESS_READ) as content:
            for start, end in _spans(content):
                text = content[start:end].decode("latin-1")
                with contextlib.suppress(ValueError, RecursionError, DamagedStoreError):
                    _, stop = decoder.raw_decode(text)
                    yield open_document(text[:stop])


def _spans(content: mmap) -> Iterator[tuple[int, int]]:
    """Where each entry begins, and where it ends at the latest: no text of one holds another's."""
    starts = [found.start() for found in islice(_DOCUMENT.finditer(content, 0, SEARCHED), MOST)]
    for start, following in pairwise((*starts, len(content))):
        yield start, min(following, start + 2 * LONGEST_ENTRY)


def _write_export(aside: Path, saved: Saved) -> str:
    """Name of the JSON written; empty if the disk refuses, since the set-aside file is kept."""
    file = aside.with_suffix(".json")
    with contextlib.suppress(OSError):
        write_whole(file, json.dumps(saved, indent=1))
        return file.name
    return ""
