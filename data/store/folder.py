"""Where a user's own data are kept, and the one plain sentence for every trouble with a file.

Bad input is a ValueError; a disk that refuses is a `StoreError`, an OSError, because the
maker then has to look at the disk and not at what was typed.
"""

from __future__ import annotations

import errno
import os
import secrets
import stat
from pathlib import Path
from typing import TypeAlias

import platformdirs

from data.rules import refuse

Place: TypeAlias = str | os.PathLike[str] | None
"""Where a file is: its name, or None for the one in the user's own folder."""
FOLDER_SETTING = "LIMB_TINT_FOLDER"
HALF = ".part"
"""How the name of a file ends that is not written whole yet."""
PATIENCE = 30.0
"""How long one operation waits for others that write. [s]"""
# primary result codes, from SQLite's header sqlite3.h
FULL, FAILED, BUSY, LOCKED = 13, 10, 5, 6
CLOSED = (3, 8, 14, 23)
DAMAGED = (11, 26)
LARGEST_STORE = 1_000_000_000
"""Bytes of the largest file that is opened as a store: some 400 000 rows of the swatch log."""
_NO_ROOM = (errno.EFBIG, errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))


class StoreError(OSError):
    """The file cannot be read or written; the text says why and what to do."""


class DamagedStoreError(StoreError):
    """The file is no longer a whole database; `data.store.salvage.check_store` sets it aside."""


def user_folder() -> Path:
    """Return the folder where this user's own data are kept (not created here).

    The environment variable LIMB_TINT_FOLDER comes first, then the rule of the platform.
    """
    chosen = os.environ.get(FOLDER_SETTING, "")
    if chosen:
        return Path(chosen).absolute()
    folder = platformdirs.user_data_path("limb-and-tint", appauthor=False, roaming=True)
    if not folder.is_absolute():
        raise StoreError(
            f"There is no home folder to keep your data in; name a folder in {FOLDER_SETTING}."
        )
    return folder


def check_path(name: str, path: object) -> Path:
    """Return ``path`` (text or Path) as an absolute Path; ValueError if it cannot be one."""
    if not isinstance(path, (str, os.PathLike)):
        raise refuse(name, "the name of a file", type(path).__name__)
    text = os.fspath(path)
    if not isinstance(text, str) or not text.strip() or "\0" in text:
        raise refuse(name, "the name of a file", text)
    try:
        os.fsencode(text)
    except UnicodeError:
        raise refuse(name, "a name that the file system can write", ascii(text)) from None
    return Path(text).absolute()


def is_plain_file(path: Path) -> bool:
    """Say whether a regular file stands there itself: no link, pipe, device or folder."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise trouble(path, error) from error


def has_file(path: Path) -> bool:
    """Say whether there is a regular file, or a link to one; StoreError if nobody may look."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError as error:
        raise trouble(path, error) from error


def names_in(folder: Path) -> tuple[str, ...]:
    """Return the names in a folder, sorted, none if there is no such folder; StoreError as said."""
    try:
        return tuple(sorted(os.listdir(folder)))
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except OSError as error:
        raise trouble(folder, error) from error


def check_store_file(path: Path) -> None:
    """Raise the StoreError if opening a store could hang or fill the memory; missing is fine."""
    for file in (path, Path(f"{path}-wal")):
        try:
            state = file.stat()
        except OSError:
            continue  # missing, or said by whoever opens it
        if not stat.S_ISREG(state.st_mode) and not stat.S_ISDIR(state.st_mode):
            raise StoreError(
                f"{file.name} is a pipe or a device and no file; nothing was read. Move it out of "
                f"{file.parent}, or name another folder in {FOLDER_SETTING}."
            )
        if state.st_size > LARGEST_STORE:
            raise StoreError(
                f"{file.name} has {state.st_size / 1e6:.0f} MB, more than the "
                f"{LARGEST_STORE / 1e6:.0f} MB that are read; nothing was changed. Move it out of "
                f"{file.parent}, or name another folder in {FOLDER_SETTING}."
            )


def read_whole(name: str, path: Path, most: int) -> bytes:
    """Return the content of a regular file of at most ``most`` bytes.

    Raises
    ------
    ValueError
        For a pipe, a device or a larger file.
    OSError
        Where there is none, or the disk refuses.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise refuse(name, "a file, not a pipe, device or folder", path.name)
        content = stream.read(most + 1)
    if len(content) > most:
        raise refuse(name, f"a file of at most {most} bytes", f"a larger one, {path.name}")
    return content


def is_damage(error: Exception) -> bool:
    """Say whether an error means that the content of a database file is broken.

    A text of the file, or SQLite's own message about it, that is no UTF-8 is such damage.
    """
    return isinstance(error, UnicodeDecodeError) or error_code(error) in DAMAGED


def trouble(path: Path, error: Exception) -> StoreError:
    """Return the StoreError for an error of SQLite or the file system (for the caller to raise)."""
    kept = "Nothing that was saved before is lost."
    code = error_code(error)
    if is_damage(error):
        return DamagedStoreError(
            f"{path.name} is damaged and nothing was changed. Open the log again: the damaged "
            "file is set aside and what can be read is saved."
        )
    if code == FULL or getattr(error, "errno", 0) in _NO_ROOM:
        return StoreError(f"The disk is full, so {path.name} could not be written. {kept}")
    if code == FAILED:
        return StoreError(
            f"{path.name} could not be read or written: the disk is full or was taken away. {kept}"
        )
    if code in (BUSY, LOCKED):
        return StoreError(
            f"Another window has been writing to {path.name} for {PATIENCE:.0f} s; close it and "
            f"try again. {kept}"
        )
    if code in CLOSED or isinstance(error, OSError):
        return StoreError(
            f"{path} cannot be opened for writing: the folder is missing, read-only or not yours. "
            f"Name another folder in {FOLDER_SETTING}. {kept}"
        )
    return StoreError(f"{path.name} could not be used ({error}). {kept}")


def error_code(error: Exception) -> int:
    """Return the primary result code of an SQLite error, 0 for any other error."""
    return int(getattr(error, "sqlite_errorcode", 0) or 0) & 0xFF


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file under another name and move it into place: whole, or as it was before.

    Nothing is written through a link that stands in the way, and nothing half is left behind.
    OSError where the disk refuses.
    """
    fresh = path.with_name(f".{path.name}-{secrets.token_hex(4)}{HALF}")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(fresh, flags, 0o644), "wb") as stream:
            stream.write(content.encode() if isinstance(content, str) else content)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(fresh, path)
    finally:
        fresh.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make the names of new files in a folder safe (Windows has no such call and needs none)."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
