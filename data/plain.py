"""Frozen input objects as plain data for a file, and back through their own classes.

An object is a mapping of its fields by name, in SI; where it could be of several classes, with
``kind``, the name of its class. Arrays become lists, infinity becomes "unlimited". What a class
refuses is refused here with the same sentence.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any, TypeAlias

import numpy as np

from data.rules import refuse

Classes: TypeAlias = Mapping[str, type]
UNLIMITED = "unlimited"


def plain_value(value: Any, classes: Classes) -> Any:
    """Return a value as mappings, lists, texts and finite numbers, ready for JSON.

    ``classes`` are those whose objects may stand in it, by name; ValueError for any other object.
    """
    if is_dataclass(value) and type(value).__name__ in classes:
        return {
            "kind": type(value).__name__,
            **plain_fields(value, [each.name for each in fields(value)], classes),
        }
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, (list, tuple)):
        return [plain_value(inner, classes) for inner in value]
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, float):
        return UNLIMITED if value == math.inf else value
    raise refuse("design value", "an input object, text or number", type(value).__name__)


def plain_fields(thing: Any, names: Sequence[str], classes: Classes) -> dict[str, Any]:
    """Return the named fields of an object as plain data, for a place that takes one class only."""
    return {name: plain_value(getattr(thing, name), classes) for name in names}


def value_from(value: Any, place: str, classes: Classes) -> Any:
    """Return what plain data describes: lists as tuples, mappings as objects of their ``kind``.

    ``place`` is what the value is called in a refusal.

    Raises
    ------
    ValueError
        For an unknown kind or field, a missing field, or a value that the class refuses.
    """
    if isinstance(value, list):
        return tuple(value_from(inner, place, classes) for inner in value)
    if isinstance(value, Mapping):
        return object_from(value, place, classes)
    return math.inf if isinstance(value, str) and value == UNLIMITED else value


def object_from(value: object, place: str, classes: Classes) -> Any:
    """Return the object that a mapping with its ``kind`` describes; errors as `value_from`."""
    given = dict(checked_mapping(value, place, "a mapping with its kind"))
    kind = given.pop("kind", None)
    if not isinstance(kind, str) or kind not in classes:
        raise refuse(f"{place} kind", "one of " + ", ".join(classes), kind)
    names = sorted(each.name for each in fields(classes[kind]))
    return object_of(classes[kind], given, kind, names, classes)


def object_of(made: Any, value: object, place: str, names: Sequence[str], classes: Classes) -> Any:
    """Return the object of the class ``made`` that a mapping of its fields describes.

    ``names`` are the fields that may stand in it; errors as `value_from`.
    """
    given = checked_mapping(value, place, "a mapping of fields")
    for key in given:
        if key not in names:
            raise refuse(f"{place} field", "one of " + ", ".join(names), key)
    rebuilt = {key: value_from(inner, f"{place} {key}", classes) for key, inner in given.items()}
    try:
        return made(**rebuilt)
    except TypeError as error:
        raise refuse(place, "given with all its fields, each of its type", error) from None


def checked_mapping(value: object, place: str, rule: str) -> Mapping[str, Any]:
    """Return ``value`` if it is a mapping of texts to anything; ValueError otherwise."""
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise refuse(place, rule, type(value).__name__)
    return value
