"""What is said of a limb form as a whole: what of a bend is missing, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping

from data.page.form import RefusedFieldsError
from flexcalc.forms.limb_form import BEND_KEYS, BEND_ROWS, BENT, DEFAULTS, FIELDS, NO_WIRE

MISSING = {"start": "12", "angle": "50", "radius": "45"}
"""What can be typed for a bend, as it is said where something of it is missing."""


def with_missing(form: Mapping[str, str], refused: RefusedFieldsError) -> RefusedFieldsError:
    """Return refusals in which every empty field of a bend that was begun says what is missing."""
    errors, known = dict(refused.errors), dict(refused.refused)
    missing = set()
    for row in range(1, BEND_ROWS + 1):
        if any(form[f"{key}{row}"].strip() for key in BEND_KEYS):
            for key, example in MISSING.items():
                if not form[f"{key}{row}"].strip():
                    errors[f"{key}{row}"] = f"Still missing: write {example}."
                    missing.add(f"{key}{row}")
                    known.pop(f"{key}{row}", None)
    return RefusedFieldsError(errors, known, refused.unread, missing)


ASSUMED = (
    ("printed", ""), ("printer", ""), ("wall", "wall {} mm"), ("infill", "infill {} %"),
    ("pattern", "in {}"), ("channel", "channel {}"), ("offset", "centred"),
    ("sleeve", "sleeve {} mm"), ("strands", "{} strand"), ("anchored", "its end {}"),
    ("bent", "bent {}"), ("lever", "fingers {} mm away"), ("places", "pressed every 25 mm"),
    ("hold", "held {} s"), ("presses", "pressed {}×"), ("before", "no pose before"),
    ("temperature", "{} °C"), ("sag", "may sag {} mm"), ("re_poses", "{} re-poses"),
    ("probability", "{} % sure"),
)  # fmt: skip
"""What a limb rests on that is not asked before "more", and how it is said."""
OF_A_WIRE = ("channel", "offset", "sleeve", "strands", "anchored")
OF_HANDS = ("lever", "places")


def assumed(form: Mapping[str, str], start: Mapping[str, str] = DEFAULTS) -> list[tuple[str, str]]:
    """Return what was not typed but assumed, in words, with the key of its field.

    ``start`` is the form that was started from.
    """
    idle = {*(OF_A_WIRE if form["metal"] == NO_WIRE else ())}
    idle |= {*(OF_HANDS if form["bent"] != BENT[0] else ())}
    idle |= {*(("infill", "pattern") if form["wall"] == "solid" else ())}
    return [
        ((words or "{}").format(form[key].split(",")[0]), key)
        for key, words in ASSUMED
        if form[key] == start.get(key, FIELDS[key].default) and key not in idle
    ]
