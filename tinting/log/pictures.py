"""The pictures beside the swatch log: named by their content, written whole or not at all.

A picture is written under a passing name, synced and renamed before the row that names it is
kept, so a row never names a picture that is not there. What a kill leaves behind is a picture
without a row, which `sweep` finds. Only plain pixels are kept: place, date and remarks are gone.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Container
from pathlib import Path

from data.rules import check_kind, refuse
from data.store.folder import (
    HALF,
    has_file,
    is_plain_file,
    names_in,
    read_whole,
    sync_folder,
    trouble,
    write_whole,
)
from tinting.log.record import check_photo_name
from tinting.photo.picture import MOST_BYTES, picture_jpeg, read_picture

_PLAIN_SEGMENTS = (0xC0, 0xC4, 0xDB, 0xDD, 0xE0)
"""Baseline frame, Huffman tables, quantisation, restart interval, JFIF header: no remarks."""
_JFIF_LENGTH = 16


def photo_folder(log: Path) -> Path:
    """Return the folder of the pictures that belong to a log file."""
    return log.with_name(f"{log.stem}-photos")


def plain_photo(photo: bytes) -> bytes:
    """Return a picture as a JPEG of pixels only, upright, at most 2000 pixels a side.

    One that is of that form already is returned as it is, so that a picture keeps its name when
    it travels. ValueError for what is no whole JPEG, PNG or WebP picture, or too large.
    """
    check_kind("photo", photo, bytes, "the content of a picture file")
    picture = read_picture(photo)
    if _is_plain(photo) and max(picture.width, picture.height) <= 2000:
        return photo
    return picture_jpeg(picture, longest_side=2000)


def photo_name(plain: bytes) -> str:
    """Return the file name of a plain picture: the first half of its SHA-256."""
    return f"{hashlib.sha256(plain).hexdigest()[:32]}.jpg"


def keep_photo(folder: Path, plain: bytes) -> str:
    """Write a plain picture, if it is not there yet, and return its name; safe on return.

    What stands in its place, such as a link or a picture that was hurt, is replaced.
    """
    name = photo_name(plain)
    file = folder / name
    if is_plain_file(file) and _is_named_so(file.name, file.read_bytes()):
        return name
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(file, plain)
    sync_folder(folder)
    return name


def load_photo(folder: Path, name: str) -> bytes:
    """Return a kept picture.

    Raises
    ------
    ValueError
        If it is not there, or is not the picture any more that was kept under its name.
    StoreError
        If the folder or the disk refuses.
    """
    check_photo_name(name)
    file = folder / name
    if not name or not has_file(file):
        raise refuse("swatch photo", "a picture beside the log", name)
    try:
        content = read_whole("swatch photo", file, MOST_BYTES)
    except OSError as error:
        raise trouble(file, error) from error
    if not _is_named_so(name, content):
        raise refuse("swatch photo", "the picture that was kept", f"{name}, which is hurt")
    return content


def photo_bytes(folder: Path, name: str) -> int:
    """Return how many bytes a kept picture has, 0 if there is none."""
    file = folder / name
    return file.stat().st_size if name and has_file(file) else 0


def photo_names(folder: Path) -> tuple[str, ...]:
    """Return the names of all pictures of a log."""
    return tuple(name for name in names_in(folder) if name.endswith(".jpg"))


def sweep(folder: Path, named: Container[str]) -> tuple[str, ...]:
    """Remove pictures that no row names and what a kill left half written; return their names.

    To be called while nobody else can write to the log.
    """
    swept = []
    for name in names_in(folder):
        if name.endswith((".jpg", HALF)) and name not in named:
            with contextlib.suppress(FileNotFoundError):
                (folder / name).unlink()
            swept.append(name)
    return tuple(swept)


def _is_named_so(name: str, content: bytes) -> bool:
    """Say whether a file holds what its name, made of its content, says."""
    return photo_name(content) == name


def _is_plain(photo: bytes) -> bool:
    """Say whether a JPEG holds nothing but what is needed to draw it, from first to last byte."""
    if photo[:2] != b"\xff\xd8" or photo[-2:] != b"\xff\xd9":
        return False
    place = 2
    while photo[place : place + 1] == b"\xff" and place + 4 <= len(photo):
        marker, length = photo[place + 1], int.from_bytes(photo[place + 2 : place + 4])
        if marker == 0xDA:
            break
        if marker not in _PLAIN_SEGMENTS or (marker == 0xE0 and length != _JFIF_LENGTH):
            return False
        place += 2 + length
    else:
        return False
    pixels = photo[place + 2 : -2]
    # within the pixels a marker byte is followed by 0 or a restart number, nothing else
    parts = pixels.split(b"\xff")[1:]
    return all(part[:1] and (part[0] == 0 or 0xD0 <= part[0] <= 0xD7) for part in parts)
