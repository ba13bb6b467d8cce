"""Keep a user's own entries: documents by kind and name, each a plain JSON object, with undo.

The packages say what an entry means and check its fields; here it is only kept. An entry that
`save_entry` has taken survives a kill or a power cut, see `data.store.database`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from data.rules import refuse
from data.store.backup import keep_daily_backup
from data.store.database import read, write
from data.store.document import (
    Fields,
    check_entry_name,
    check_fields,
    check_kind_name,
    document_text,
    open_document,
)
from data.store.folder import Place, check_path, user_folder

KEPT_STEPS = 1000
"""How many steps back undo reaches."""
MIGRATIONS = (
    (
        """CREATE TABLE entries (
            kind TEXT NOT NULL, name TEXT NOT NULL, document TEXT NOT NULL,
            PRIMARY KEY (kind, name))""",
        """CREATE TABLE changes (
            id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, step INTEGER NOT NULL,
            words TEXT NOT NULL, name TEXT NOT NULL, before TEXT NOT NULL, after TEXT NOT NULL,
            undone INTEGER NOT NULL DEFAULT 0)""",
        "CREATE INDEX changes_of_kind ON changes (kind, undone, step)",
    ),
    (),  # entries carry a checksum, which older editions would take for damage
)
"""What leads from each format of the file to the next; append, never edit."""


@dataclass(frozen=True, kw_only=True)
class UndoStep:
    """What an undo or redo did: ``words`` for the maker, ``names`` of the entries it touched.

    ``done`` is False when there was nothing to undo or redo.
    """

    done: bool
    words: str
    names: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StoredEntries:
    """What a change may look at while nobody else can write: the entries of one kind."""

    connection: sqlite3.Connection
    kind: str

    def find(self, name: str) -> Fields:
        """Return the fields of an entry; empty if there is none."""
        query = "SELECT document FROM entries WHERE kind=? AND name=?"
        row = self.connection.execute(query, (self.kind, name)).fetchone()
        return open_document(row[0])["fields"] if row else {}

    def entries(self) -> dict[str, Fields]:
        """Return every entry by name."""
        query = "SELECT name, document FROM entries WHERE kind=? ORDER BY name"
        rows = self.connection.execute(query, (self.kind,))
        return {name: open_document(document)["fields"] for name, document in rows}

    def remembered(self) -> Iterator[Fields]:
        """Yield the fields that undo or redo could bring back."""
        query = "SELECT before, after FROM changes WHERE kind=?"
        for texts in self.connection.execute(query, (self.kind,)):
            for text in texts:
                if fields := open_document(text)["fields"]:
                    yield fields


def load_entries(kind: str, *, path: Place = None) -> dict[str, Fields]:
    """Return the entries of a kind, name -> fields, in the order of their names.

    Parameters
    ----------
    kind : str
        What is kept, such as "wire" or "dye": lower-case letters, up to 40.
    path : str or Path, optional
        The file; by default ``materials.sqlite3`` in `data.store.folder.user_folder`.

    Raises
    ------
    ValueError
        For a kind or path that cannot be one.
    StoreError
        An OSError with one plain sentence: the file cannot be read.
    """
    kind = check_kind_name(kind)

    def work(connection: sqlite3.Connection) -> dict[str, Fields]:
        return StoredEntries(connection=connection, kind=kind).entries()

    return read(store_path(path), MIGRATIONS, work)


def save_entry(kind: str, name: str, fields: Fields, *, path: Place = None) -> None:
    """Keep ``fields`` under a name, in place of what stood there; safe on the disk on return.

    ``fields`` is a mapping of text to what JSON can hold (text, finite numbers, true and false,
    None, lists, mappings). Errors as for `load_entries`.
    """
    check_entry_name(check_kind_name(kind), name)
    if not isinstance(fields, Mapping) or not fields:
        raise refuse(f"{kind} fields", "a mapping that holds something", fields)
    change_entries(kind, lambda stored: {name: fields}, f"save {name}", path=path)


def remove_entry(kind: str, name: str, *, path: Place = None) -> None:
    """Remove an entry; ValueError if there is none of that name. `undo_entries` brings it back."""

    def decide(stored: StoredEntries) -> Mapping[str, Fields]:
        if not stored.find(name):
            raise refuse(f"{kind} name", "that of an entry", name)
        return {name: {}}

    check_entry_name(check_kind_name(kind), name)
    change_entries(kind, decide, f"remove {name}", path=path)


def change_entries(
    kind: str,
    decide: Callable[[StoredEntries], Mapping[str, Fields]],
    words: str,
    *,
    path: Place = None,
) -> tuple[str, ...]:
    """Carry out one change of several entries, whole or not at all, as one step of undo.

    Parameters
    ----------
    kind : str
        As for `load_entries`.
    decide : callable
        Gets a `StoredEntries` and returns name -> new fields, empty fields for a removal. It runs
        while nobody else can write, and may run again after waiting for another.
    words : str
        What undo calls this step.

    Returns
    -------
    tuple of str
        Names of the entries that changed.
    """
    kind = check_kind_name(kind)

    def work(connection: sqlite3.Connection) -> tuple[str, ...]:
        stored = StoredEntries(connection=connection, kind=kind)
        changed = {}
        for name, fields in decide(stored).items():
            check_entry_name(kind, name)
            check_fields(kind, fields)
            if stored.find(name) != fields:
                changed[name] = fields
        if changed:
            _record(connection, kind, words, changed)
        return tuple(changed)

    changed = write(store_path(path), MIGRATIONS, work)
    keep_daily_backup(store_path(path))
    return changed


def undo_entries(kind: str, *, path: Place = None) -> UndoStep:
    """Take back the last step of a kind; what it removed returns exactly as it was."""
    return _step(check_kind_name(kind), store_path(path), back=True)


def redo_entries(kind: str, *, path: Place = None) -> UndoStep:
    """Carry out again the step that `undo_entries` took back last."""
    return _step(check_kind_name(kind), store_path(path), back=False)


def count_steps(kind: str, *, path: Place = None) -> tuple[int, int]:
    """Return how many steps can be undone and how many redone."""
    kind = check_kind_name(kind)
    query = "SELECT count(DISTINCT step) FROM changes WHERE kind=? AND undone=?"

    def work(connection: sqlite3.Connection) -> tuple[int, int]:
        back, forth = (connection.execute(query, (kind, i)).fetchone()[0] for i in (0, 1))
        return back, forth

    return read(store_path(path), MIGRATIONS, work)


def store_path(path: Place) -> Path:
    """Return the file to use: ``path``, or the user's own ``materials.sqlite3``."""
    return user_folder() / "materials.sqlite3" if path is None else check_path("path", path)


def _step(kind: str, path: Path, *, back: bool) -> UndoStep:
    last, image = ("max(step)", "before") if back else ("min(step)", "after")

    def work(connection: sqlite3.Connection) -> UndoStep:
        here = "FROM changes WHERE kind=? AND undone=?"
        known = (kind, int(not back))
        (step,) = connection.execute(f"SELECT {last} {here}", known).fetchone()
        if step is None:
            return UndoStep(done=False, words=f"nothing to {'undo' if back else 'redo'}", names=())
        rows = connection.execute(
            f"SELECT name, {image}, words {here} AND step=?", (*known, step)
        ).fetchall()
        for name, text, _ in rows:
            _put(connection, kind, name, text)
        connection.execute("UPDATE changes SET undone=? WHERE step=?", (int(back), step))
        return UndoStep(done=True, words=rows[0][2], names=tuple(row[0] for row in rows))

    return write(path, MIGRATIONS, work)


def _record(
    connection: sqlite3.Connection, kind: str, words: str, changed: Mapping[str, Fields]
) -> None:
    # a new step ends what could have been redone
    connection.execute("DELETE FROM changes WHERE kind=? AND undone=1", (kind,))
    query = "SELECT seq FROM sqlite_sequence WHERE name='changes'"
    step = (connection.execute(query).fetchone() or (0,))[0] + 1
    for name, fields in changed.items():
        query = "SELECT document FROM entries WHERE kind=? AND name=?"
        found = connection.execute(query, (kind, name)).fetchone()
        before = found[0] if found else document_text(step, kind, name, {})
        after = document_text(step, kind, name, fields)
        _put(connection, kind, name, after)
        connection.execute(
            "INSERT INTO changes (kind, step, words, name, before, after) VALUES (?,?,?,?,?,?)",
            (kind, step, words, name, before, after),
        )
    connection.execute(
        """DELETE FROM changes WHERE kind=? AND step <= (SELECT DISTINCT step FROM changes
            WHERE kind=? ORDER BY step DESC LIMIT 1 OFFSET ?)""",
        (kind, kind, KEPT_STEPS),
    )


def _put(connection: sqlite3.Connection, kind: str, name: str, text: str) -> None:
    if open_document(text)["fields"]:
        query = "INSERT OR REPLACE INTO entries (kind, name, document) VALUES (?,?,?)"
        connection.execute(query, (kind, name, text))
    else:
        connection.execute("DELETE FROM entries WHERE kind=? AND name=?", (kind, name))
