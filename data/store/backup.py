"""A second copy of a store beside it, made once a day, for the day on which the first is hurt."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from datetime import date
from pathlib import Path

from data.store.database import connect
from data.store.document import open_document
from data.store.folder import DamagedStoreError, is_damage

COLUMNS = {"kind", "name", "document"}


def backup_path(place: Path) -> Path:
    """Return the file that holds the second copy of a store."""
    return Path(f"{place}-backup")


def keep_daily_backup(place: Path) -> None:
    """Keep a second copy of a store unless there is one of today."""
    with contextlib.suppress(FileNotFoundError):
        if date.fromtimestamp(backup_path(place).stat().st_mtime) == date.today():
            return
    keep_backup(place)


def keep_backup(place: Path) -> bool:
    """Put a copy of a whole store in place of the copy kept so far; return whether it was done.

    A store that is missing or damaged is not copied, and a disk that has no room for a second
    copy hinders nobody from saving the first: both return False.
    """
    fresh = Path(f"{backup_path(place)}-{os.getpid()}")
    try:
        with contextlib.closing(connect(place, "ro")) as source:
            if not is_whole(source):
                return False
            with contextlib.closing(connect(fresh, "rwc")) as target:
                source.backup(target)
        os.replace(fresh, backup_path(place))
    except (OSError, sqlite3.Error, UnicodeDecodeError):
        return False
    finally:
        with contextlib.suppress(OSError):
            fresh.unlink(missing_ok=True)
    return True


def is_whole(connection: sqlite3.Connection) -> bool:
    """Say whether a store's file and every entry in it can be read; a busy disk is raised."""
    try:
        if connection.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
            return False
        columns = {row[1] for row in connection.execute("PRAGMA table_info(entries)")}
        if not columns >= COLUMNS:
            return False
        for (text,) in connection.execute("SELECT document FROM entries"):
            open_document(text)
    except DamagedStoreError:
        return False
    except (sqlite3.Error, UnicodeDecodeError) as error:
        if is_damage(error):
            return False
        raise
    return True
