"""One small SQLite file, opened for one operation at a time, that survives being killed.

Write-ahead log with a full sync: when `write` has returned, what it wrote is on the disk, and a
kill or a power cut cannot take it back. Several programs may write at once; each waits for its
turn. Whatever goes wrong with the file is told by a `StoreError`.
"""

from __future__ import annotations

import contextlib
import random
import sqlite3
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias, TypeVar

from data.store.folder import (
    BUSY,
    CLOSED,
    FOLDER_SETTING,
    LOCKED,
    PATIENCE,
    StoreError,
    check_store_file,
    error_code,
    sync_folder,
    trouble,
)

T = TypeVar("T")
Work: TypeAlias = Callable[[sqlite3.Connection], T]
Migrations: TypeAlias = Sequence[Sequence[str]]
APPLICATION_ID = 0x4C494D42
"""Written into the header of every file of ours, so that no other file is taken for one."""


def write(path: Path, migrations: Migrations, work: Work[T]) -> T:
    """Return ``work(connection)``, run alone and whole; on return its changes are on the disk.

    Parameters
    ----------
    path : Path
        The file; it and its folder are made if missing.
    migrations : sequence of sequences of str
        SQL statements that lead from each format to the next; their number is the format.
    work : callable
        Gets the open connection inside a transaction. It may be run again after waiting, so it
        changes nothing but the database (or things that may be done twice). If it raises,
        nothing is changed.

    Raises
    ------
    StoreError
        Disk full, folder read-only, file of a newer version, of another program, or damaged.
    """

    def attempt() -> T:
        before = _identity(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = _opened(path, migrations)
        with contextlib.closing(connection):
            result = _transaction(connection, "BEGIN IMMEDIATE", work)
            moved = bool(before) and before != _identity(path)
        if moved:
            raise StoreError(
                f"{path.name} was set aside by another window while this was being saved; "
                "look whether the entry is there, and save it again if not."
            )
        if not before:
            sync_folder(path.parent)
        return result

    return _patiently(path, attempt)


def read(path: Path, migrations: Migrations, work: Work[T]) -> T:
    """Return ``work(connection)`` from one consistent state; a missing file reads as empty.

    In a folder that cannot be written the file is still read, if it was closed in order.
    Parameters and errors as for `write`.
    """

    def attempt() -> T:
        if not path.exists():
            connection = sqlite3.connect(":memory:", isolation_level=None)
            _migrate(connection, migrations)
        else:
            connection = _opened_or_frozen(path, migrations)
        with contextlib.closing(connection):
            return _transaction(connection, "BEGIN", work)

    return _patiently(path, attempt)


def _patiently(path: Path, attempt: Callable[[], T]) -> T:
    deadline = time.monotonic() + PATIENCE
    while True:
        try:
            return attempt()
        except StoreError:
            raise
        except UnicodeDecodeError as error:
            raise trouble(path, error) from error
        except sqlite3.Error as error:
            # creating the file and the last close take locks that no busy timeout covers
            if error_code(error) not in (BUSY, LOCKED) or time.monotonic() > deadline:
                raise trouble(path, error) from error
        except OSError as error:
            raise trouble(path, error) from error
        time.sleep(random.uniform(0.005, 0.05))


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Return a bare connection; ``mode`` is "rwc", "ro" or "ro&immutable=1".

    What could hang or fill the memory is refused with a StoreError before it is opened.
    """
    check_store_file(path)
    uri = f"{path.as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None)
    connection.text_factory = bytes.decode  # a text that is no UTF-8 is a UnicodeDecodeError
    return connection


def _opened(path: Path, migrations: Migrations) -> sqlite3.Connection:
    connection = connect(path, "rwc")
    try:
        version = _version(connection, path, len(migrations))
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA fullfsync=ON")  # macOS leaves data in the drive's cache else
        if version < len(migrations):
            _migrate(connection, migrations)
    except BaseException:
        connection.close()
        raise
    return connection


def _opened_or_frozen(path: Path, migrations: Migrations) -> sqlite3.Connection:
    try:
        return _opened(path, migrations)
    except sqlite3.Error as error:
        if error_code(error) not in CLOSED or Path(f"{path}-wal").exists() or not path.is_file():
            raise
    connection = connect(path, "ro&immutable=1")
    try:
        old = _version(connection, path, len(migrations)) < len(migrations)
    except BaseException:
        connection.close()
        raise
    if old:
        connection.close()
        raise StoreError(
            f"{path.name} is of an older format and its folder is read-only; copy it to a folder "
            f"of yours and name that in {FOLDER_SETTING}."
        )
    return connection


def _version(connection: sqlite3.Connection, path: Path, newest: int) -> int:
    def look(connection: sqlite3.Connection) -> tuple[int, int, int]:
        queries = (
            "PRAGMA user_version",
            "PRAGMA application_id",
            "SELECT count(*) FROM sqlite_master",
        )
        version, owner, tables = (connection.execute(query).fetchone()[0] for query in queries)
        return version, owner, tables

    version, owner, tables = _transaction(connection, "BEGIN", look)
    if owner != APPLICATION_ID and (owner or version or tables):
        raise StoreError(
            f"{path.name} belongs to another program; nothing was changed. Choose another file."
        )
    if version > newest:
        _close_untouched(connection, path)
        raise StoreError(
            f"{path.name} was written by a newer version of this tool (format {version}, this one "
            f"knows {newest}); nothing was changed. Update the tool or choose another file."
        )
    return version


def _close_untouched(connection: sqlite3.Connection, path: Path) -> None:
    """Close without the tidying up that the last one to leave a file does."""
    log = Path(f"{path}-wal")
    if log.exists() and log.stat().st_size:
        with contextlib.closing(connect(path, "ro")) as reader:  # may leave last, cannot tidy
            reader.execute("PRAGMA user_version").fetchone()
            connection.close()
    else:
        connection.close()


def _migrate(connection: sqlite3.Connection, migrations: Migrations) -> None:
    def upgrade(connection: sqlite3.Connection) -> None:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        for statements in migrations[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version={len(migrations)}")

    _transaction(connection, "BEGIN IMMEDIATE", upgrade)


def _transaction(connection: sqlite3.Connection, begin: str, work: Work[T]) -> T:
    connection.execute(begin)
    try:
        result = work(connection)
        connection.execute("COMMIT")
    except BaseException:
        # SQLite has already rolled back by itself after some disk errors
        if connection.in_transaction:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise
    return result


def _identity(path: Path) -> tuple[int, int] | tuple[()]:
    try:
        state = path.stat()
    except FileNotFoundError:
        return ()
    return state.st_dev, state.st_ino
