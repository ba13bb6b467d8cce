"""Read the triangles of a 3MF file: a ZIP with XML inside, placed objects and their unit.

Nothing is unpacked before its size is known to be bearable, and no document type is read.
"""

from __future__ import annotations

import io
import posixpath
import struct
import zipfile
import zlib
from array import array
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np

from data.rules import Array, Refused, refuse
from flexcalc.mesh.surface import Whole

UNITS = {
    "micron": 1e-6,
    "millimeter": 1e-3,
    "centimeter": 1e-2,
    "inch": 25.4e-3,
    "foot": 0.3048,
    "meter": 1.0,
}
"""Units of a 3MF. [m] Source: 3MF core specification, attribute unit (memory)."""
MOST_UNPACKED = 200 * 2**20
"""Bytes of XML that are read at most."""
CHUNK = 2**18
DEEPEST = 16
MOST_PLACED = 10_000


@dataclass(kw_only=True)
class Object3:
    """One object of a model file while it is read: its own triangles or placed others."""

    kind: str
    corners: array[float] = field(default_factory=lambda: array("d"))
    faces: array[int] = field(default_factory=lambda: array("q"))
    parts: list[tuple[str, str, Array]] = field(default_factory=list)


@dataclass(kw_only=True)
class Model:
    """One model file while it is read."""

    path: str
    most: int
    unit: str = "millimeter"
    objects: dict[str, Object3] = field(default_factory=dict)
    items: list[tuple[str, str, Array]] = field(default_factory=list)
    open: Object3 | None = None

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Take in an element; a name keeps only what stands after its colon."""
        name = tag.rpartition(":")[2]
        if self.open is not None and name == "vertex":
            self.open.corners.extend((float(given["x"]), float(given["y"]), float(given["z"])))
        elif self.open is not None and name == "triangle":
            self.open.faces.extend((int(given["v1"]), int(given["v2"]), int(given["v3"])))
            if len(self.open.faces) > 3 * self.most:
                raise refuse("triangles", f"at most {self.most}", "more in one object")
        elif name == "object":
            self.open = Object3(kind=given.get("type", "model"))
            self.objects[given["id"]] = self.open
        elif self.open is not None and name == "component":
            self.open.parts.append(self.placed(given))
        elif name == "item":
            self.items.append(self.placed(given))
        elif name == "model":
            self.unit = given.get("unit", "millimeter")

    def end(self, tag: str) -> None:
        """Close an element."""
        if tag.rpartition(":")[2] == "object":
            self.open = None

    def placed(self, given: dict[str, str]) -> tuple[str, str, Array]:
        """Return the file, the number and the placing (4, 3) of an object that is referred to."""
        path = next((given[key] for key in given if key.rpartition(":")[2] == "path"), self.path)
        turn = np.vstack([np.eye(3), np.zeros(3)])
        if "transform" in given:
            turn = np.array([float(word) for word in given["transform"].split()])
            turn = turn.reshape(4, 3)
        return path.lstrip("/"), given["objectid"], turn


UNPACKING = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError,
    ValueError, OSError,
)  # fmt: skip
"""What unpacking a damaged archive may raise; a place before the file's start is a ValueError."""


def read_threemf(data: bytes, most: int) -> tuple[Array, Whole, str]:
    """Return vertices (n, 3) in the file's own unit, triangles (m, 3) and the unit's name."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _Package(archive, most).build()
    except Refused:
        raise
    except UNPACKING as error:
        raise refuse("3MF file", "a whole ZIP archive", str(error) or "one broken off") from None
    except expat.ExpatError as error:
        raise refuse("3MF file", "XML that can be read", str(error)) from None
    except (KeyError, OverflowError) as error:
        raise refuse("3MF file", "complete", f"no {error}") from None


class _Package:
    """The archive, and how much of it was read."""

    def __init__(self, archive: zipfile.ZipFile, most: int) -> None:
        self.archive, self.most = archive, most
        self.left = MOST_UNPACKED
        self.models: dict[str, Model] = {}
        self.placed = 0
        self.corners: list[Array] = []
        self.faces: list[Whole] = []
        self.counts = [0, 0]

    def build(self) -> tuple[Array, Whole, str]:
        """Put every item of the build in its place."""
        first = self.model(self._start_part())
        if first.unit not in UNITS:
            raise refuse("3MF unit", f"one of {', '.join(UNITS)}", first.unit)
        for path, number, turn in first.items:
            self._place(path, number, [turn])
        if not self.faces:
            raise refuse("3MF file", "a build with triangles in it", f"{len(first.items)} items")
        return np.concatenate(self.corners), np.concatenate(self.faces), first.unit

    def model(self, path: str) -> Model:
        """Return a model file, read once."""
        if path not in self.models:
            model = Model(path=path, most=self.most)
            parser = expat.ParserCreate()
            parser.StartElementHandler = model.start
            parser.EndElementHandler = model.end
            parser.StartDoctypeDeclHandler = _no_doctype
            try:
                for chunk in self._chunks(path):
                    parser.Parse(chunk, False)
                parser.Parse(b"", True)
            except (ValueError, TypeError) as error:
                if hasattr(error, "rule"):
                    raise
                where = f"{path} line {parser.CurrentLineNumber}"
                raise refuse("3MF file", f"numbers where it should ({where})", error) from None
            self.models[path] = model
        return self.models[path]

    def _chunks(self, path: str):  # type: ignore[no-untyped-def]
        names = {name.lstrip("/").lower(): name for name in self.archive.namelist()}
        with self.archive.open(names[path.lower()]) as part:
            while chunk := part.read(CHUNK):
                self.left -= len(chunk)
                if self.left < 0:
                    rule = f"at most {MOST_UNPACKED // 2**20} MB when unpacked"
                    raise refuse("3MF file", rule, "more")
                yield chunk

    def _start_part(self) -> str:
        """Return the model file that the package's relations name, or the only one there is."""
        found: list[str] = []

        def note(tag: str, given: dict[str, str]) -> None:
            kind = given.get("Type", "")
            if tag.rpartition(":")[2] == "Relationship" and kind.endswith("/3dmodel"):
                found.append(posixpath.normpath(given.get("Target", "").lstrip("/")))

        names = [name for name in self.archive.namelist() if name.lower().endswith(".model")]
        if "_rels/.rels" in self.archive.namelist():
            parser = expat.ParserCreate()
            parser.StartElementHandler = note
            parser.StartDoctypeDeclHandler = _no_doctype
            for chunk in self._chunks("_rels/.rels"):
                parser.Parse(chunk, False)
        if not found and not names:
            raise refuse("3MF file", "a package with a model in it", "none")
        return found[0] if found else names[0].lstrip("/")

    def _place(self, path: str, number: str, turns: list[Array]) -> None:
        """Add an object, its parts in their places. ``turns`` run from the outermost inward."""
        self.placed += 1
        if len(turns) > DEEPEST or self.placed > MOST_PLACED:
            raise refuse("3MF file", f"of at most {MOST_PLACED} objects, {DEEPEST} deep", "more")
        thing = self.model(path).objects[number]
        if thing.kind not in ("model", "solidsupport"):
            return
        if len(thing.faces):
            self._add(path, thing, turns)
        for inner, part, turn in thing.parts:
            self._place(inner, part, [*turns, turn])

    def _add(self, path: str, thing: Object3, turns: list[Array]) -> None:
        self.counts[0] += len(thing.faces) // 3
        self.counts[1] += len(thing.corners) // 3
        if self.counts[0] > self.most or self.counts[1] > 3 * self.most:
            raise refuse("triangles", f"at most {self.most}", "more in all objects together")
        corners = np.array(thing.corners, float).reshape(-1, 3)
        faces = np.array(thing.faces, np.int64).reshape(-1, 3)
        if faces.min() < 0 or faces.max() >= len(corners):
            rule = f"triangles of corners that are there ({path})"
            raise refuse("3MF file", rule, f"corner {faces.max()} of {len(corners)}")
        for turn in reversed(turns):
            corners = corners @ turn[:3] + turn[3]
            if np.linalg.det(turn[:3]) < 0:  # a mirror turns the triangles inside out
                faces = faces[:, ::-1]
        self.faces.append(faces + sum(len(part) for part in self.corners))
        self.corners.append(corners)


def _no_doctype(*_: object) -> None:
    raise refuse("3MF file", "XML without a document type", "one with")
