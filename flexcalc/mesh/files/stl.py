"""Read the triangles of an STL file, binary or text."""

from __future__ import annotations

import re

import numpy as np

from data.rules import Array, refuse

HEAD = 84
RECORD = 50
VERTEX = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)


def read_stl(data: bytes, most: int) -> Array:
    """Return the corners (m, 3, 3) of the triangles of an STL file, in its own unit.

    ``most`` triangles are admitted. A count in the head of a binary file that is more than the
    bytes hold is refused; bytes after the last triangle are let pass.
    """
    if len(data) >= HEAD and not _reads_as_text(data):
        return _binary(data, most)
    return _text(data, most)


def _reads_as_text(data: bytes) -> bool:
    """Text says solid first; so do some binary files, whose length fits their count."""
    count = int.from_bytes(data[80:HEAD], "little")
    if len(data) == HEAD + RECORD * count:
        return False
    return data[:512].lstrip().lower().startswith(b"solid") and b"\0" not in data[:512]


def _binary(data: bytes, most: int) -> Array:
    count = int.from_bytes(data[80:HEAD], "little")
    held = (len(data) - HEAD) // RECORD
    if count > held:
        rule = f"whole: its head promises {count} triangles"
        raise refuse("STL file", rule, f"bytes for {held}")
    if count > most:
        raise refuse("triangles", f"at most {most}", count)
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
    records = np.frombuffer(data, record, count=count, offset=HEAD)
    with np.errstate(invalid="ignore"):  # a NaN is refused by whoever reads on
        return records["corners"].astype(float)


def _text(data: bytes, most: int) -> Array:
    facets = len(re.findall(rb"\bendfacet\b", data, re.IGNORECASE))
    if facets == 0:
        raise refuse("file", "an STL or 3MF with triangles in it", f"{len(data)} other bytes")
    if facets > most:
        raise refuse("triangles", f"at most {most}", facets)
    words = VERTEX.findall(data)
    if len(words) != 3 * facets:
        rule = f"whole: {facets} facets of three corners"
        raise refuse("STL file", rule, f"{len(words)} corners")
    try:
        numbers = np.array(words).astype(float)
    except ValueError:
        raise refuse("STL file", "numbers where corners are given", _first_word(words)) from None
    return numbers.reshape(facets, 3, 3)


def _first_word(words: list[tuple[bytes, bytes, bytes]]) -> str:
    """Return the first word that is no number."""
    for corner in words:
        for word in corner:
            try:
                float(word)
            except ValueError:
                return word[:40].decode("latin-1")
    return "a word that is none"
