"""Changes of a figure's design, as plain data: a limb added or renewed, copied, placed, taken off.

A limb is known by its name, so no two of a figure have the same. What is refused today can be kept
and opened all the same, so nothing here makes inputs of the limbs.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from data.rules import check_kind, refuse
from flexcalc.figure.figure import MOST_LIMBS, Place, plain_place

Design = Mapping[str, Any]
LONGEST_NAME = 80


def limb_names(design: Design) -> list[str]:
    """Return the names of a design's limbs, in order."""
    return [str(limb.get("name", "")) for limb in design["limbs"]]


def place_of(design: Design, name: str) -> Mapping[str, Any]:
    """Return the place of a limb as plain data, that of a new limb where none was given."""
    index = _index(design, name)
    return design["places"][index] if design["places"] else plain_place(Place())


def own_tint_of(design: Design, name: str) -> Mapping[str, Any] | None:
    """Return the tint of a limb's own as plain data, None where it has that of the figure."""
    index = _index(design, name)
    return design["tints"][index] if design["tints"] else None


def with_limb(design: Design, kept: Mapping[str, Any]) -> dict[str, Any]:
    """Return the design with a limb in place of the one of its name, or with one more.

    Place and tint of a limb that was there stay as they are.
    """
    check_kind("limb", kept, Mapping, "a mapping")
    rows, names = _rows(design), limb_names(design)
    if kept["name"] in names:
        index = names.index(kept["name"])
        rows[index] = (kept, *rows[index][1:])
    else:
        rows.append((kept, plain_place(Place()), None))
    return _of_rows(design, rows)


def copied(design: Design, name: str) -> dict[str, Any]:
    """Return the design with a copy of a limb behind it, under a name of its own."""
    rows, index = _rows(design), _index(design, name)
    kept, place, tint = rows[index]
    made = {**kept, "name": _free_name(f"{name[:70]} copy", limb_names(design))}
    return _of_rows(design, [*rows[: index + 1], (made, place, tint), *rows[index + 1 :]])


def without_limb(design: Design, name: str) -> dict[str, Any]:
    """Return the design without a limb."""
    rows, index = _rows(design), _index(design, name)
    return _of_rows(design, rows[:index] + rows[index + 1 :])


def with_place(design: Design, name: str, place: Place) -> dict[str, Any]:
    """Return the design with a limb at another place."""
    rows, index = _rows(design), _index(design, name)
    rows[index] = (rows[index][0], plain_place(place), rows[index][2])
    return _of_rows(design, rows)


def with_tint(design: Design, name: str, tint: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return the design with a limb's own tint, or with None the figure's for it."""
    rows, index = _rows(design), _index(design, name)
    rows[index] = (*rows[index][:2], tint)
    return _of_rows(design, rows)


def with_distinct_names(design: Design) -> dict[str, Any]:
    """Return the design with a number behind every name that an earlier limb has."""
    taken: list[str] = []
    rows = []
    for kept, place, tint in _rows(design):
        name = _free_name(str(kept.get("name", "")), taken)
        taken.append(name)
        rows.append(({**kept, "name": name} if "name" in kept else kept, place, tint))
    return _of_rows(design, rows)


Row = tuple[Mapping[str, Any], Mapping[str, Any], Mapping[str, Any] | None]
"""A limb, its place and its own tint."""


def _rows(design: Design) -> list[Row]:
    limbs = design["limbs"]
    places = design["places"] or [plain_place(Place()) for _ in limbs]
    tints = design["tints"] or [None] * len(limbs)
    return list(zip(limbs, places, tints, strict=True))


def _of_rows(design: Design, rows: list[Row]) -> dict[str, Any]:
    if len(rows) > MOST_LIMBS:
        raise refuse("figure limbs", f"at most {MOST_LIMBS} limbs", len(rows))
    return {
        **design,
        "limbs": [row[0] for row in rows],
        "places": [row[1] for row in rows],
        "tints": [row[2] for row in rows],
    }


def _index(design: Design, name: str) -> int:
    names = limb_names(design)
    if name not in names:
        raise refuse("limb name", "that of a limb of the figure", name)
    return names.index(name)


def _free_name(name: str, taken: list[str]) -> str:
    if name not in taken:
        return name
    numbered = (f"{name[: LONGEST_NAME - 4]} {number}" for number in range(2, MOST_LIMBS + 3))
    return next(each for each in numbered if each not in taken)
