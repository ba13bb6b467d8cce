"""The swatch log: rows kept with their pictures, edited, undone and merged, safe under faults.

A row is safe on the disk when `add_swatch` returns. Its picture is written first, while nobody
else can write, so rows and pictures agree at every moment, even after a kill.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from data.rules import Caution, check_kind, refuse
from data.store.document import Fields
from data.store.entries import (
    StoredEntries,
    UndoStep,
    change_entries,
    count_steps,
    load_entries,
    redo_entries,
    undo_entries,
)
from data.store.folder import Place, check_path, user_folder
from tinting.log.pictures import keep_photo, load_photo, photo_folder, photo_names, plain_photo
from tinting.log.record import SwatchRecord, new_id, record_fields, record_from_fields, time_now

KIND = "swatch"


@dataclass(frozen=True, kw_only=True)
class Listing:
    """Rows of the log, oldest first, and ``cautions`` about rows that could not be read."""

    records: tuple[SwatchRecord, ...] = field(repr=False)
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class Counts:
    """How much the log holds; ``undo`` and ``redo`` are the steps that can be gone."""

    rows: int
    used: int
    bases: tuple[str, ...]
    dyes: tuple[str, ...]
    photos: int
    undo: int
    redo: int


def log_path(path: Place = None) -> Path:
    """Return the file of the log: ``path``, or ``swatches.sqlite3`` in the user's own folder."""
    return user_folder() / "swatches.sqlite3" if path is None else check_path("path", path)


def add_swatch(
    record: SwatchRecord, *, photo: bytes | None = None, path: Place = None
) -> SwatchRecord:
    """Keep a new row, and a picture with it; return the row as kept. Safe on the disk on return.

    Parameters
    ----------
    record : SwatchRecord
        A row whose id is not in the log.
    photo : bytes, optional
        Content of a JPEG, PNG or WebP file; kept as pixels only, without place or date.
    path : str or Path, optional
        The log, see `log_path`.

    Raises
    ------
    ValueError
        For a row that is there already, or a picture that is none.
    StoreError
        An OSError with one plain sentence: disk full, folder read-only, log damaged or newer.
    """
    return _put(record, photo, path, "add a row", lambda there: not there, "that of a new row")


def edit_swatch(
    record: SwatchRecord, *, photo: bytes | None = None, path: Place = None
) -> SwatchRecord:
    """Put ``record`` in place of the row with its id; otherwise as `add_swatch`."""
    return _put(record, photo, path, "edit a row", lambda there: there, "that of a row in the log")


def remove_swatch(id: str, *, path: Place = None) -> SwatchRecord:
    """Remove a row and return it; its picture stays as long as `undo` can bring the row back."""
    removed: list[SwatchRecord] = []

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        removed[:] = [_found(stored, id)]
        return {id: {}}

    change_entries(KIND, decide, "remove a row", path=log_path(path))
    return removed[0]


def copy_swatch(id: str, *, path: Place = None) -> SwatchRecord:
    """Add a copy of a row with a new id and the present time, and return it.

    The copy is left out of fits until it is edited: it is no measurement of its own.
    """
    copies: list[SwatchRecord] = []

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        row = _found(stored, id)
        copies[:] = [dataclasses.replace(row, id=new_id(), made_at=time_now(), used=False)]
        return {copies[0].id: record_fields(copies[0])}

    change_entries(KIND, decide, "copy a row", path=log_path(path))
    return copies[0]


def undo(*, path: Place = None) -> UndoStep:
    """Take back the last change of the log, whichever window made it."""
    return undo_entries(KIND, path=log_path(path))


def redo(*, path: Place = None) -> UndoStep:
    """Carry out again the change that `undo` took back last."""
    return redo_entries(KIND, path=log_path(path))


def list_swatches(
    *,
    base: str | None = None,
    dye: str | None = None,
    used: bool | None = None,
    text: str | None = None,
    path: Place = None,
) -> Listing:
    """Return the rows, oldest first, that pass every filter given.

    Parameters
    ----------
    base, dye : str, optional
        Name of the base, of a dye in the mix.
    used : bool, optional
        Whether fits may use the row.
    text : str, optional
        Stands somewhere in base name, dye names or note, in capitals or not.
    path : str or Path, optional
        The log, see `log_path`.
    """
    for name, value, kind in (("base", base, str), ("dye", dye, str), ("text", text, str)):
        if value is not None:
            check_kind(name, value, kind, "a text")
    if used is not None:
        check_kind("used", used, bool, "true or false")
    listing = records_of(load_entries(KIND, path=log_path(path)))
    sought = text.casefold() if text else ""
    kept = tuple(
        record
        for record in listing.records
        if (base is None or record.base_name == base)
        and (dye is None or dye in record.shares)
        and (used is None or record.used == used)
        and sought in "\n".join([record.base_name, *record.shares, record.note]).casefold()
    )
    return dataclasses.replace(listing, records=kept)


def count_swatches(*, path: Place = None) -> Counts:
    """Return how many rows, bases, dyes, pictures and undo steps the log holds."""
    place = log_path(path)
    records = list_swatches(path=place).records
    back, forth = count_steps(KIND, path=place)
    return Counts(
        rows=len(records),
        used=sum(record.used for record in records),
        bases=tuple(sorted({record.base_name for record in records})),
        dyes=tuple(sorted({name for record in records for name in record.shares})),
        photos=len(photo_names(photo_folder(place))),
        undo=back,
        redo=forth,
    )


def read_photo(name: str, *, path: Place = None) -> bytes:
    """Return the JPEG that a row names; ValueError if it is not beside the log."""
    return load_photo(photo_folder(log_path(path)), name)


def records_of(entries: Mapping[str, Fields]) -> Listing:
    """Return kept entries as rows, oldest first; one that is no row any more is told of."""
    check_kind("entries", entries, Mapping, "a mapping of name to fields")
    records, cautions = [], []
    for name, entry in entries.items():
        try:
            records.append(record_from_fields(entry))
        except ValueError as error:
            text = f"Row {name} cannot be shown and is left as it is: {error}."
            cautions.append(Caution(key="unreadable row", text=text))
    records.sort(key=lambda record: (record.made_at, record.id))
    return Listing(records=tuple(records), cautions=tuple(cautions))


def _put(
    record: SwatchRecord,
    photo: bytes | None,
    path: Place,
    words: str,
    wanted: Callable[[bool], bool],
    rule: str,
) -> SwatchRecord:
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    place = log_path(path)
    folder = photo_folder(place)
    plain = b"" if photo is None else plain_photo(photo)
    kept = [record]

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        if not wanted(bool(stored.find(record.id))):
            raise refuse("swatch id", rule, record.id)
        if plain:
            kept[0] = dataclasses.replace(record, photo=keep_photo(folder, plain))
        elif record.photo and record.photo not in photo_names(folder):
            raise refuse("swatch photo", "a picture beside the log, or empty", record.photo)
        return {record.id: record_fields(kept[0])}

    change_entries(KIND, decide, words, path=place)
    return kept[0]


def _found(stored: StoredEntries, id: object) -> SwatchRecord:
    check_kind("swatch id", id, str, "a text")
    # the database takes no text with half a sign in it
    entry = stored.find(str(id)) if str(id).isprintable() else {}
    if not entry:
        raise refuse("swatch id", "that of a row in the log", id)
    return record_from_fields(entry)
