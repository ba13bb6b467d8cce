"""What is said of a field of the limb form: how to write it, what it must lie between, its value.

A refusal speaks the unit of its field and shows how to write it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from data.page.form import Field, RefusedFieldsError
from data.rules import Bounds, shown
from flexcalc.forms.limb_form import (
    BEND_KEYS,
    BEND_ROWS,
    FIELDS,
    LENGTHS,
    degrees,
    degrees_of_swing,
    percent,
)
from flexcalc.limb.gauge import RULE

MISSING = {"start": "12", "angle": "50", "radius": "45"}
"""What can be typed for a bend, as it is said where something of it is missing."""
EXAMPLES = {
    "wire": "2.5, 3/32 in or AWG 12",
    "payload": "40 g or 2 oz",
    "hold": "5 s or 1 min",
    "pause": "60 s or 2 min",
    "temperature": "23",
    "wall": "1.6, 1/16 in or solid",
    "channel": "sized, 3.1 or 1/8 in",
    "strands": "1",
    "places": "3",
    "presses": "1",
    "re_poses": "50",
    "points": "-6 -4, 6 -4, 6 4",
    "before": "12 50 45; 75 -100 42",
    "poses": "resting: 12 50 45 then looking: 12 20 45",
    "further": "1.2; 1.1",
}
LENGTH, ANGLE, SHARE = "90, 90 mm or 3 1/2 in", "50 or -50", "85"


def refusal_words(form: Mapping[str, str], refused: RefusedFieldsError) -> RefusedFieldsError:
    """Return refusals in the words of their fields, each with an example or its bounds."""
    errors = {
        key: _words(FIELDS[key], form.get(key, ""), refused, key) if key in FIELDS else sentence
        for key, sentence in refused.errors.items()
    }
    missing = set()
    for row in range(1, BEND_ROWS + 1):
        if any(form[f"{key}{row}"].strip() for key in BEND_KEYS):
            for key, example in MISSING.items():
                if not form[f"{key}{row}"].strip():
                    errors[f"{key}{row}"] = f"Still missing: write {example}."
                    missing.add(f"{key}{row}")
    return RefusedFieldsError(errors, refused.refused, refused.unread, missing)


def _words(field: Field, typed: str, refused: RefusedFieldsError, key: str) -> str:
    found = refused.refused.get(key)
    if found is None:
        return refused.errors[key]
    got = shown(typed.strip()[:60])
    if found.bounds is not None and _scale(field) is not None:
        return f"{field.label}: {_between(field, found.bounds)}; got {got}."
    if key in refused.unread:
        rule = "" if found.rule in (RULE, "a number") else f" ({found.rule})"
        return f"{field.label}: write {example_of(field)}{rule}; got “{got}”."
    return f"{field.label}: {found.rule}; got {found.got}."


def example_of(field: Field) -> str:
    """Return how a field can be written."""
    name = field.key.rstrip("0123456789")
    if name in EXAMPLES:
        return EXAMPLES[name]
    if field.read in LENGTHS:
        return LENGTH
    if field.read in (degrees, degrees_of_swing):
        return ANGLE
    return SHARE if field.read is percent else field.default or "a number"


def _scale(field: Field) -> tuple[float, str] | None:
    """Return what a value in SI is multiplied by to be said in the field's unit, and that unit."""
    name = field.key.rstrip("0123456789")
    if field.read in LENGTHS:
        return 1e3, " mm"
    if field.read in (degrees, degrees_of_swing) or name in ("angle", "swing", "direction"):
        return 180.0 / math.pi, "°"
    known = {"payload": (1e3, " g"), "hold": (1.0, " s"), "pause": (1.0, " s")}
    known |= {"temperature": (1.0, " °C"), "share": (1.0, " %"), "infill": (1.0, " %")}
    known |= {"probability": (1.0, " %"), "strands": (1.0, ""), "places": (1.0, "")}
    known |= {"presses": (1.0, ""), "re_poses": (1.0, "")}
    return known.get(name)


def _between(field: Field, bounds: Bounds) -> str:
    times, unit = _scale(field) or (1.0, "")
    ends = [
        f"{word} {end * times:.4g}{unit}"
        for word, end in (("from", bounds.low), ("to", bounds.high))
        if end is not None
    ]
    return " ".join(ends) if ends else "a number"


ASSUMED = (
    ("printed", ""), ("wall", "wall {} mm"), ("infill", "infill {} %"), ("sleeve", "sleeve {} mm"),
    ("printer", ""), ("bent", "bent {}"), ("hold", "held {} s"), ("temperature", "{} °C"),
    ("presses", "pressed {}×"), ("sag", "may sag {} mm"), ("re_poses", "{} re-poses"),
    ("probability", "{} % sure"),
)  # fmt: skip
"""What a limb rests on that is not asked before "more", and how it is said."""


def assumed(form: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return what was not typed but assumed, in words, with the key of its field."""
    return [
        ((words or "{}").format(form[key].split(",")[0]), key)
        for key, words in ASSUMED
        if form[key] == FIELDS[key].default
    ]
