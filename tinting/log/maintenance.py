"""Looking after the swatch log: open it, merge rows into it, clear away pictures without a row."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from data.rules import Caution, check_choice, refuse
from data.store.backup import keep_backup
from data.store.document import Fields
from data.store.entries import StoredEntries, change_entries
from data.store.folder import Place, write_whole
from data.store.salvage import aside_pattern, check_store
from tinting.log.pictures import keep_photo, photo_folder, photo_names, plain_photo, sweep
from tinting.log.record import SwatchRecord, checked_records, record_fields
from tinting.log.swatches import KIND, Listing, log_path, records_of
from tinting.log.table import write_csv


@dataclass(frozen=True, kw_only=True)
class LogState:
    """How the log was found on opening.

    ``set_aside`` is the new name of the file if it was found damaged just now, else empty;
    ``saved`` holds the rows that could still be read (`merge_swatches` takes them over),
    ``export`` the name of the CSV file beside the log with the same rows, empty if there was no
    room for it. ``aside`` names all set-aside files beside the log.
    """

    path: Path
    set_aside: str
    saved: tuple[SwatchRecord, ...] = field(repr=False)
    export: str
    aside: tuple[str, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class Merged:
    """What a merge did, by id: rows ``added``, ``same`` as in the log, and ``differing`` ones.

    ``replaced`` says whether the differing rows took the place of those in the log.
    """

    added: tuple[str, ...]
    same: tuple[str, ...]
    differing: tuple[str, ...]
    replaced: bool
    cautions: tuple[Caution, ...]


def open_log(path: Place = None) -> LogState:
    """Look whether the log is whole; a damaged one is set aside and what can be read is saved.

    To be called once before a page shows the log. Nothing is deleted, and nothing is made if
    there is no log yet.

    Raises
    ------
    StoreError
        An OSError with one plain sentence, as for `tinting.log.swatches.add_swatch`.
    """
    state = check_store(log_path(path))
    listing = _takeable(state.saved.get(KIND, {}))
    export, cautions = "", list(listing.cautions)
    if state.set_aside:
        export = _write_export(state.path.with_name(state.set_aside), listing.records)
        told = f", written to {export}, which can be imported" if export else ""
        text = (
            f"The swatch log was damaged. It has been set aside as {state.set_aside}; "
            f"rows that could be read: {len(listing.records)}{told}. A new, empty log is in use. "
            "Look the saved rows through: one that you had removed may be among them."
        )
        cautions.insert(0, Caution(key="damaged log", text=text))
    return LogState(
        path=state.path,
        set_aside=state.set_aside,
        saved=listing.records,
        export=export,
        aside=state.aside,
        cautions=tuple(cautions),
    )


def _takeable(entries: Mapping[str, Fields]) -> Listing:
    """Return rescued rows, each id once: a copy under another key than its id is left and told."""
    own = {key for key, entry in entries.items() if entry.get("id") == key}
    taken, left = {}, []
    for key, entry in entries.items():
        id = str(entry.get("id"))
        if key in own or (id not in own and id not in taken):
            taken[id] = entry
        else:
            left.append(key)
    listing = records_of(taken)
    if not left:
        return listing
    text = f"Rows that the damage had written twice, of which one each was saved: {len(left)}."
    twice = Caution(key="rows written twice", text=text)
    return dataclasses.replace(listing, cautions=(*listing.cautions, twice))


def merge_swatches(
    records: Iterable[SwatchRecord],
    *,
    photos: Mapping[str, bytes] | None = None,
    existing: str = "keep",
    path: Place = None,
) -> Merged:
    """Take rows over, by id, whole or not at all and as one step of undo.

    A row that is in the log already with the same content is left alone, so that taking the same
    rows over again changes nothing.

    Parameters
    ----------
    records : iterable of SwatchRecord
        Rows with different ids.
    photos : mapping of str to bytes, optional
        Pictures by the name that the rows give them.
    existing : str
        "keep" or "replace" rows of the log whose id comes with other content.
    path : str or Path, optional
        The log.

    Raises
    ------
    ValueError
        For rows that are none, an id given twice, a picture that is none.
    StoreError
        As for `tinting.log.swatches.add_swatch`; then nothing has been taken over.
    """
    if photos is not None and not isinstance(photos, Mapping):
        raise refuse("photos", "a mapping of name to content", type(photos).__name__)
    plain = {name: plain_photo(photo) for name, photo in (photos or {}).items()}
    return merge_with_plain(records, plain, existing, log_path(path))


def merge_with_plain(
    records: Iterable[SwatchRecord], plain: Mapping[str, bytes], existing: str, place: Path
) -> Merged:
    """Do what `merge_swatches` does, with pictures that `plain_photo` has made plain already."""
    rows = _by_id(records)
    check_choice("existing", existing, ("keep", "replace"))
    keep_backup(place)
    done: list[Merged] = []

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        settled, missing = _with_photos(rows.values(), plain, photo_folder(place))
        there = {record.id: stored.find(record.id) for record in settled}
        new = {record.id: record_fields(record) for record in settled}
        added = tuple(id for id in new if not there[id])
        differing = tuple(id for id in new if there[id] and there[id] != new[id])
        done[:] = [
            Merged(
                added=added,
                same=tuple(id for id in new if there[id] == new[id]),
                differing=differing,
                replaced=existing == "replace" and bool(differing),
                cautions=_missing_photos(missing),
            )
        ]
        return {id: new[id] for id in added + (differing if existing == "replace" else ())}

    change_entries(KIND, decide, f"take over {len(rows)} rows", path=place)
    return done[0]


def sweep_photos(path: Place = None) -> tuple[str, ...]:
    """Remove pictures that neither a row nor undo needs, and return their names.

    As long as a damaged log lies beside this one, nothing is removed: its rows may come back.
    """
    place = log_path(path)
    if not photo_folder(place).is_dir() or any(place.parent.glob(aside_pattern(place))):
        return ()
    swept: list[str] = []

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        rows = [*stored.entries().values(), *stored.remembered()]
        swept[:] = sweep(photo_folder(place), {str(row.get("photo")) for row in rows})
        return {}

    change_entries(KIND, decide, "sweep", path=place)
    return tuple(swept)


def _by_id(records: Iterable[SwatchRecord]) -> dict[str, SwatchRecord]:
    rows: dict[str, SwatchRecord] = {}
    for record in checked_records(records):
        if record.id in rows:
            raise refuse("swatch id", "given once", record.id)
        rows[record.id] = record
    return rows


def _with_photos(
    rows: Iterable[SwatchRecord], plain: Mapping[str, bytes], folder: Path
) -> tuple[list[SwatchRecord], list[str]]:
    """The rows, each naming a picture that is there, and the names of those that are nowhere."""
    here, settled, missing = set(photo_names(folder)), [], []
    for record in rows:
        name = record.photo
        if name in plain:
            name = keep_photo(folder, plain[name])
        elif name and name not in here:
            missing.append(name)
            name = ""
        settled.append(dataclasses.replace(record, photo=name))
    return settled, missing


def _missing_photos(names: list[str]) -> tuple[Caution, ...]:
    if not names:
        return ()
    text = (
        f"Pictures that did not come with their rows and are not here: {len(names)} "
        f"({', '.join(names[:3])}). The rows were taken over without; a zip brings the pictures."
    )
    return (Caution(key="missing pictures", text=text),)


def _write_export(aside: Path, records: tuple[SwatchRecord, ...]) -> str:
    """Name of the CSV written; empty if the disk refuses, since the set-aside file is kept."""
    file = aside.with_suffix(".csv")
    try:
        write_whole(file, write_csv(records))
    except OSError:
        return ""
    return file.name
