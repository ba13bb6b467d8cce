"""A design as one file: open JSON with a version, read with suspicion.

The envelope is read here; each package reads its own part (`flexcalc.verdict.plan`,
`tinting.mix.plan`).
Version 1 held one limb under ``limb``; version 2 holds ``limbs``, a list. Since version 3 a limb
says whether its channel is sized for its wire; in older files it is the one typed.
Since version 4 a tint may say whose hand lays it on; in older files that was not measured.
Since version 5 several poses before may each have their time; in older files there is at most one.
Since version 6 a limb may say which mesh it was measured in; in older files all were typed.
Since version 7 ``places`` says where each limb is on the figure, ``tints`` holds a tint of its own
for a limb (or null), ``body`` what carries the limbs, ``logbook`` what happened to them; older
files have none.
Since version 8 a bend may be planned further than it is wanted, a filament says how far the model
misses limbs of it, and a room how well its temperature is known; in older files nothing is said of
these. Since version 9 a limb may have several poses in their order; in older files it has one.
Since version 10 a bend may swing about the limb's own axis, a wire may be anchored, and outlines
may be printed curved sideways and twisted; in older files every limb stays in its plane.
Since version 11 a file in the user's folder ends with a checksum of itself; one that is handed on
has none, and may be edited. Since version 12 a limb from a mesh says its printed surface, hand and
all; in older files that of its outlines counts.
Since version 13 a filament says how well the stress at which it softens is known, and a setting how
well lever and places of the hands are; in older files nothing is said of these.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from data.rules import Refused, check_kind, check_text, refuse
from data.store.folder import read_whole
from data.store.sums import with_sum, without_sum

FORMAT, VERSION = "limb and tint design", 13
LARGEST, DEEPEST = 4_000_000, 16
PARTS = ("name", "limbs", "tint", "note", "places", "tints", "body", "logbook")
MOST_EVENTS = 2000
SUM = "design checksum"
"""What is refused, by name, of a file that was altered since it was written."""


def design_text(parts: Mapping[str, Any], *, summed: bool = False) -> str:
    """Return the text of a design file from its parts, see `read_design`.

    It is ``summed`` where it ends with a checksum of itself.
    """
    check_kind("design", parts, Mapping, "a mapping of parts")
    _check_keys("design", parts, PARTS)
    _check_texts({"name": "", "note": "", **parts})
    whole = {"format": FORMAT, "version": VERSION, **parts}
    try:
        text = json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False)
        text = (with_sum(text) if summed else text) + "\n"
        size = len(text.encode())
    except (TypeError, ValueError) as error:
        raise refuse("design", "of texts and finite numbers", error) from None
    if size > LARGEST:  # it could not be opened again
        raise refuse("design", f"at most {LARGEST // 10**6} MB as a file", f"{size} bytes")
    return text


def read_design(text: str | bytes, *, altered: bool = False) -> dict[str, Any]:
    """Return the parts of a design file.

    ``name``, ``note``, ``limbs`` (a list), ``tint`` (a mapping or None), ``places`` and ``tints``
    (each empty or one per limb), ``body`` (a mapping or None) and ``logbook`` (a list).

    Parameters
    ----------
    text : str or bytes
        The file, UTF-8, at most 4 MB.
    altered : bool
        True to take one whose checksum says that it was altered as it stands.

    Raises
    ------
    ValueError
        With the reason, for a file that is too large, damaged, nested too deeply, not a design,
        from a newer version, with a key given twice or a number that is not finite, or altered
        since it was written.
    """
    plain, whole_file = without_sum(_decoded(text))
    if not (whole_file or altered):
        raise refuse(SUM, "that of what stands in the file", "another: it was altered")
    design = _parsed(plain)
    if not isinstance(design, dict) or design.get("format") != FORMAT:
        raise refuse("design file", f"a file of the format {FORMAT!r}", "another")
    version = design.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise refuse("design version", f"a whole number from 1 to {VERSION}", version)
    if version > VERSION:
        raise refuse("design version", f"at most {VERSION}; a newer edition wrote this", version)
    parts = {key: value for key, value in design.items() if key not in ("format", "version")}
    if version == 1:
        parts = _from_version_1(parts)
    _check_keys("design", parts, PARTS)
    whole = {**empty_design("design"), **parts}
    _check_parts(whole)
    return whole


def read_design_file(path: Path, *, altered: bool = False) -> dict[str, Any]:
    """Return the parts of the design in a file; OSError where it cannot be read."""
    return read_design(read_whole("design file", path, LARGEST), altered=altered)


def empty_design(name: str) -> dict[str, Any]:
    """Return the parts of a design that holds nothing yet."""
    lists: dict[str, Any] = {"limbs": [], "places": [], "tints": [], "logbook": []}
    return {"name": name, "note": "", "tint": None, "body": None, **lists}


def _from_version_1(parts: dict[str, Any]) -> dict[str, Any]:
    limb = parts.pop("limb", None)
    return parts if limb is None else {**parts, "limbs": [limb]}


def _check_parts(parts: Mapping[str, Any]) -> None:
    _check_texts(parts)
    if not isinstance(parts["limbs"], list) or len(parts["limbs"]) > 30:
        raise refuse("design limbs", "a list of at most 30 limbs", type(parts["limbs"]).__name__)
    for name in ("tint", "body"):
        if parts[name] is not None and not isinstance(parts[name], dict):
            raise refuse(f"design {name}", "a mapping or null", type(parts[name]).__name__)
    count = len(parts["limbs"])
    for name in ("places", "tints"):
        if not isinstance(parts[name], list) or len(parts[name]) not in (0, count):
            raise refuse(f"design {name}", "a list, empty or one per limb", parts[name])
    _check_mappings("design places", parts["places"])
    _check_mappings("design tints", [tint for tint in parts["tints"] if tint is not None])
    if not isinstance(parts["logbook"], list) or len(parts["logbook"]) > MOST_EVENTS:
        raise refuse("design logbook", f"a list of at most {MOST_EVENTS} events", "another")
    _check_mappings("design logbook", parts["logbook"])


def _check_mappings(name: str, things: list[Any]) -> None:
    for thing in things:
        if not isinstance(thing, dict):
            raise refuse(name, "a list of mappings", type(thing).__name__)


def _check_texts(parts: Mapping[str, Any]) -> None:
    check_text("design name", parts["name"], 80, empty=True)
    check_text("design note", parts["note"], 4000, empty=True, lines=True)


def _check_keys(name: str, found: Mapping[str, Any], known: tuple[str, ...]) -> None:
    for key in found:
        if key not in known:
            raise refuse(f"{name} key", "one of " + ", ".join(known), key)


def _decoded(text: str | bytes) -> str:
    if not isinstance(text, (str, bytes)):
        raise refuse("design file", "text", type(text).__name__)
    if len(text) > LARGEST:
        raise refuse("design file", f"at most {LARGEST} bytes", len(text))
    if isinstance(text, str):
        return text
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse("design file", "UTF-8 text", "other bytes") from None


def _parsed(text: str) -> Any:
    try:
        design = json.loads(text, parse_constant=_not_finite, object_pairs_hook=_once)
    except json.JSONDecodeError as error:
        raise refuse("design file", "whole JSON", f"an error in line {error.lineno}") from None
    except RecursionError:
        raise refuse("design file", f"nested at most {DEEPEST} deep", "deeper") from None
    except Refused:
        raise
    except ValueError:
        raise refuse("design file", "of readable numbers", "one with too many digits") from None
    _check_depth(design, DEEPEST)
    return design


def _not_finite(text: str) -> float:
    raise refuse("design number", "finite", text)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    mapping = dict(pairs)
    if len(mapping) < len(pairs):
        keys = [key for key, _ in pairs]
        raise refuse("design key", "given once", next(k for k in keys if keys.count(k) > 1))
    return mapping


def _check_depth(value: Any, left: int) -> None:
    if left == 0:
        raise refuse("design file", f"nested at most {DEEPEST} deep", "deeper")
    if isinstance(value, float) and value in (float("inf"), float("-inf")):
        raise refuse("design number", "finite", value)
    if isinstance(value, (list, dict)):
        for inner in value.values() if isinstance(value, dict) else value:
            _check_depth(inner, left - 1)
