"""The maker's figures: each a design file in the user's folder, written anew at every change.

A figure is known by a key, which names its file. Beside it lies its logbook, a line an event, which
is only ever added to. A file that was removed is kept under another name until it is asked back.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from data.rules import check_text, refuse
from data.store.design import design_text, read_design, read_design_file
from data.store.folder import (
    Place,
    StoreError,
    check_path,
    is_plain_file,
    read_whole,
    sync_folder,
    trouble,
    user_folder,
    write_whole,
)
from data.store.sums import line_without_sum, summed_line

Design = dict[str, Any]
LONGEST_EVENT, LARGEST_LOGBOOK = 4000, 20_000_000
_ONE_AT_A_TIME = threading.RLock()
"""Tabs of one program change a figure one after the other."""


@dataclass(frozen=True, kw_only=True)
class KeptFigure:
    """A figure in the folder: its ``key`` and ``name``, and when it was ``changed`` [s, epoch].

    ``damage`` says why its file cannot be opened, "" where it can.
    """

    key: str
    name: str
    changed: float
    damage: str = ""


def new_key() -> str:
    """Return a key that no figure has yet."""
    return secrets.token_hex(4)


def is_key(text: object) -> bool:
    """Say whether a text can be the key of a figure."""
    return isinstance(text, str) and re.fullmatch(r"[0-9a-f]{8}", text) is not None


def figures_folder(place: Place = None) -> Path:
    """Return the folder of the figures (not created here)."""
    return user_folder() / "figures" if place is None else check_path("folder", place)


def list_figures(*, place: Place = None, removed: bool = False) -> list[KeptFigure]:
    """Return the figures in the folder, the one changed last first; or those ``removed``.

    Raises
    ------
    StoreError
        For a folder that cannot be read.
    """
    ending = ".json.removed" if removed else ".json"
    folder = figures_folder(place)
    found = []
    try:
        for path in folder.iterdir() if folder.is_dir() else ():
            key = path.name.removesuffix(ending)
            if path.name == f"{key}{ending}" and is_key(key):
                found.append(_looked_at(key, path))
    except OSError as error:
        raise trouble(folder, error) from error
    return sorted(found, key=lambda one: (-one.changed, one.key))


def read_figure(key: str, *, place: Place = None, altered: bool = False) -> Design:
    """Return the parts of a figure's design, see `data.store.design.read_design`.

    Raises
    ------
    ValueError
        For a key that is none, or a file that is no design; named `data.store.design.SUM` for
        one that was altered since it was written, unless it is asked for as it stands.
    StoreError
        For a file that is missing or cannot be read.
    """
    path = _path(key, place)
    try:
        return read_design_file(path, altered=altered)
    except OSError as error:
        raise trouble(path, error) from error


def change_figure(
    key: str, change: Callable[[Design | None], Mapping[str, Any]], *, place: Place = None
) -> Design:
    """Change a figure, one change after the other; it is safe on the disk on return.

    ``change`` gets the figure as it stands, None where there is none yet, and returns its parts.
    Errors as for `read_figure`, and those of a disk that refuses.
    """
    path = _path(key, place)
    with _ONE_AT_A_TIME:
        before = read_figure(key, place=place) if path.exists() else None
        text = design_text(dict(change(before)), summed=True)
        design = read_design(text)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, text)
            sync_folder(path.parent)
        except OSError as error:
            raise trouble(path, error) from error
    return design


def remove_figure(key: str, *, place: Place = None) -> None:
    """Take a figure off the list; `restore_figure` brings it back as it was."""
    _rename(_path(key, place), _path(key, place, ".json.removed"))


def restore_figure(key: str, *, place: Place = None) -> None:
    """Bring back a figure that was removed."""
    _rename(_path(key, place, ".json.removed"), _path(key, place))


def add_event(key: str, event: Mapping[str, Any], *, place: Place = None) -> None:
    """Add an event to a figure's logbook: a line of JSON after its checksum, safe on return.

    Raises
    ------
    ValueError
        For what JSON cannot hold, or more than 4000 signs of it.
    StoreError
        For a disk that refuses.
    """
    if not isinstance(event, Mapping) or not event:
        raise refuse("event", "a mapping that holds something", event)
    try:
        line = summed_line(json.dumps(dict(event), allow_nan=False))
    except (TypeError, ValueError) as error:
        raise refuse("event", "of texts and finite numbers", error) from None
    check_text("event", line, LONGEST_EVENT)
    path = _path(key, place, ".events")
    with _ONE_AT_A_TIME:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.is_symlink() or (path.exists() and not is_plain_file(path)):
                raise StoreError(f"{path} is a link, pipe or folder and no logbook; move it away.")
            with path.open("ab+") as stream:
                # a line torn by a power cut must not take this one with it
                stream.write(b"" if _ends_whole(stream) else b"\n")
                stream.write(f"{line}\n".encode("ascii"))
                stream.flush()
                os.fsync(stream.fileno())
        except StoreError:
            raise
        except OSError as error:
            raise trouble(path, error) from error


def read_events(key: str, *, place: Place = None) -> tuple[list[dict[str, Any]], int]:
    """Return a figure's events in their order, and how many lines could not be read.

    An empty event stands where a line cannot be read or was altered, so that the others keep
    their numbers. StoreError where the disk refuses.
    """
    path = _path(key, place, ".events")
    try:
        lines = read_whole("logbook", path, LARGEST_LOGBOOK).splitlines()
    except FileNotFoundError:
        lines = []
    except ValueError as error:
        raise StoreError(f"The logbook of this figure is not read: {error}.") from error
    except OSError as error:
        raise trouble(path, error) from error
    events, lost = [], 0
    for line in filter(bytes.strip, lines):
        event = _event_in(line)
        lost += event is None
        events.append(event or {})
    return events, lost


def _event_in(line: bytes) -> dict[str, Any] | None:
    """Return the event in a line, None where there is none or the line was altered."""
    try:
        plain, whole = line_without_sum(line.decode("ascii"))
        event = json.loads(plain)
    except (ValueError, RecursionError):
        return None
    return event if whole and isinstance(event, dict) else None


def _path(key: str, place: Place, ending: str = ".json") -> Path:
    if not is_key(key):
        raise refuse("figure key", "8 signs of 0 to 9 and a to f", key)
    return figures_folder(place) / f"{key}{ending}"


def _looked_at(key: str, path: Path) -> KeptFigure:
    changed = 0.0
    try:
        changed = path.stat().st_mtime
        name = str(read_design_file(path)["name"])
    except (ValueError, OSError) as error:  # one that nobody may read hides no other
        return KeptFigure(key=key, name=f"figure {key}", changed=changed, damage=str(error))
    return KeptFigure(key=key, name=name, changed=changed)


def _rename(path: Path, target: Path) -> None:
    with _ONE_AT_A_TIME:
        try:
            path.replace(target)
            sync_folder(path.parent)
        except OSError as error:
            raise trouble(path, error) from error


def _ends_whole(stream: BinaryIO) -> bool:
    if stream.seek(0, os.SEEK_END) == 0:
        return True
    stream.seek(-1, os.SEEK_END)
    return stream.read(1) == b"\n"
