"""What is said of a limb form as a whole: what of a bend is missing, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping

from data.page.form import RefusedFieldsError
from flexcalc.forms.limb_form import BEND_KEYS, BEND_ROWS, FIELDS

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
