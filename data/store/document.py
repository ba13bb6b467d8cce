"""The text form of one kept entry, and what may stand in it.

Plain ASCII JSON with the number of the step that wrote it inside, so that a text found loose in
a damaged file tells all it needs: what it is, and whether another one is newer. It ends with a
checksum of itself, so that a number that the disk has altered is noticed; texts of the first
format have none.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, TypeAlias

from data.rules import check_kind, check_text, refuse
from data.store.folder import DamagedStoreError
from data.store.sums import with_sum, without_sum

Fields: TypeAlias = Mapping[str, Any]
LONGEST_NAME, LONGEST_ENTRY, DEEPEST_ENTRY = 120, 100_000, 8


def document_text(step: int, kind: str, name: str, fields: Fields) -> str:
    """Return the text that is kept for an entry; empty fields mean that it is gone."""
    check_fields(kind, fields)
    whole = {"step": step, "kind": kind, "name": name, "fields": fields}
    try:
        text = json.dumps(whole, default=dict, allow_nan=False)
    except ValueError as error:
        raise refuse(f"{kind} fields", "finite numbers and text", error) from None
    if len(text) > LONGEST_ENTRY:
        raise refuse(f"{kind} fields", f"at most {LONGEST_ENTRY} characters", len(text))
    return with_sum(text)


def check_fields(kind: str, fields: object) -> None:
    """Raise the ValueError if ``fields`` are not of what JSON can hold, at most 8 deep."""
    check_kind(f"{kind} fields", fields, Mapping, "a mapping of text to values")
    _check_json(f"{kind} fields", fields, DEEPEST_ENTRY)


def open_document(text: str) -> dict[str, Any]:
    """Return step, kind, name and fields of a kept text; DamagedStoreError if it is not one."""
    try:
        plain, whole = without_sum(text)
        if not whole:
            raise ValueError("altered")
        document = json.loads(plain, parse_constant=_not_a_number)
        known = set(document) == {"step", "kind", "name", "fields"}
        if not known or not isinstance(document["fields"], dict):
            raise TypeError("other keys")
    except (ValueError, TypeError, RecursionError):
        shown = repr(text[:60]) if isinstance(text, str) else type(text).__name__
        raise DamagedStoreError(f"An entry cannot be read any more: {shown}.") from None
    return dict(document)


def check_kind_name(kind: object) -> str:
    """Return ``kind`` if it is 1 to 40 lower-case letters; ValueError otherwise."""
    plain = isinstance(kind, str) and kind.isascii() and kind.isalpha() and kind.islower()
    if not isinstance(kind, str) or not plain or len(kind) > 40:
        raise refuse("kind", "1 to 40 lower-case letters", kind)
    return kind


def check_entry_name(kind: str, name: object) -> None:
    """Raise the ValueError if ``name`` cannot be the name of an entry."""
    check_text(f"{kind} name", name, LONGEST_NAME)


def _not_a_number(text: str) -> float:
    raise ValueError(text)


def _check_json(name: str, value: object, depth: int) -> None:
    if depth == 0:
        raise refuse(name, f"nested at most {DEEPEST_ENTRY} deep", "deeper ones")
    if isinstance(value, Mapping):
        for key, inner in value.items():
            check_kind(f"{name} key", key, str, "a text")
            _check_json(name, inner, depth - 1)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            _check_json(name, inner, depth - 1)
    elif not isinstance(value, (str, int, float, bool)) and value is not None:
        raise refuse(name, "text, numbers, lists and mappings", type(value).__name__)
