"""One row of the swatch log as a maker types it: texts in, a row out, and back.

A row that is edited keeps, to the last bit, whatever was not touched: a share of 1/7 does not
change because its parts were shown rounded.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np

from data.page.form import FormReader, checked_form, whole_form
from data.rules import check_kind, check_number, check_whole, refuse
from tinting.batch import volume_share
from tinting.colorimetry import OBSERVERS, light_names
from tinting.form import KINDS, read_number
from tinting.grid import check_lab
from tinting.inputs import BACKINGS
from tinting.screen import srgb_from_hex
from tinting.spectrum import lab_of_screen_colour
from tinting.swatches import GEOMETRIES, MOST_DYES, READING_ERROR, SwatchRecord, Triple

OTHER = "another, by name"
NO_DYE = "none"
ROWS = range(1, MOST_DYES + 1)
DEFAULTS: dict[str, str] = {
    "base": "off-white TPU",
    "newbase": "",
    "kind": "opaque: pigmented or white",
    "basecolour": "88.5 -0.8 6.5",
    "thickness": "1.2",
    "backing": "as in use",
    **{f"dye{row}": "reed green" if row == 1 else NO_DYE for row in ROWS},
    **{f"newdye{row}": "" for row in ROWS},
    **{f"parts{row}": "1" for row in ROWS},
    "alcohol": "9",
    "coats": "1",
    "grade": "99",
    "minutes": "30",
    "colour": "",
    "method": "photo",
    "light": "D65",
    "observer": "10",
    "geometry": "unknown",
    "note": "",
}
CHOICES: dict[str, tuple[str, ...]] = {
    "kind": tuple(KINDS),
    "backing": BACKINGS,
    "method": tuple(READING_ERROR),
    "light": light_names(),
    "observer": tuple(str(degree) for degree in OBSERVERS),
    "geometry": GEOMETRIES,
}
_BLAME = {
    "base lab": "basecolour",
    "base colour": "basecolour",
    "base name": "newbase",
    "base thickness": "thickness",
    "swatch lab": "colour",
    "swatch colour": "colour",
    "swatch coats": "coats",
    "swatch note": "note",
    "swatch shares": "alcohol",
    "alcohol grade": "grade",
    "drying time": "minutes",
}
_PARTS_OF = {
    "base_name": ("base", "newbase"),
    "base_kind": ("kind",),
    "base_lab": ("basecolour", "light", "observer"),
    "thickness": ("thickness",),
    "shares": ("alcohol", *(f"{key}{row}" for row in ROWS for key in ("dye", "newdye", "parts"))),
    "alcohol_grade": ("grade",),
    "drying_time": ("minutes",),
    "lab": ("colour", "light", "observer"),
}
"""The fields that make up each part of a row that typing could round."""


def rows_shown(form: Mapping[str, str]) -> int:
    """Return how many rows of dye to draw: one more than are filled, at most 20."""
    typed = checked_form(form)
    filled = [row for row in ROWS if typed.get(f"dye{row}", NO_DYE) != NO_DYE]
    return min(max(filled, default=0) + 1, MOST_DYES)


def record_from_form(form: Mapping[str, str], before: SwatchRecord | None = None) -> SwatchRecord:
    """Return the row that a form describes.

    Parameters
    ----------
    form : mapping
        Field key to text; keys that are missing take the default.
    before : SwatchRecord, optional
        The row that is edited: it keeps its id, time, picture and whatever was not touched.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read.
    """
    reader = FormReader(whole_form(form, DEFAULTS), _BLAME)
    fields = _fields(reader)
    reader.stop_at_errors()
    if before is None:
        record = reader.build("colour", lambda: SwatchRecord(**fields))
    else:
        check_kind("record", before, SwatchRecord, "a SwatchRecord")
        fields |= _untouched(reader.form, before)
        record = reader.build("colour", lambda: dataclasses.replace(before, **fields))
    reader.stop_at_errors()
    return record


def form_from_record(record: SwatchRecord) -> dict[str, str]:
    """Return the form that would ask for a row, numbers rounded to be read."""
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    kinds = {kind: words for words, kind in KINDS.items()}
    least = min((share for share in record.shares.values() if share > 0), default=1.0)
    rest = max(1 - sum(record.shares.values()), 0.0)
    form = {
        **DEFAULTS,
        "base": record.base_name,
        "kind": kinds[record.base_kind],
        "basecolour": _triple(record.base_lab),
        "thickness": f"{record.thickness * 1e3:.6g}",
        "backing": record.backing,
        "dye1": NO_DYE,
        "alcohol": f"{rest / least:.6g}" if record.shares else "1",
        "coats": str(record.coats),
        "grade": f"{record.alcohol_grade * 100:.6g}",
        "minutes": f"{record.drying_time / 60:.6g}",
        "colour": _triple(record.lab),
        "method": record.method,
        "light": record.light,
        "observer": str(record.observer),
        "geometry": record.geometry,
        "note": record.note,
    }
    for row, (name, share) in enumerate(record.shares.items(), start=1):
        form |= {f"dye{row}": name, f"parts{row}": f"{share / least:.6g}"}
    return form


def _fields(reader: FormReader) -> dict[str, Any]:
    observer = int(reader.form["observer"]) if reader.form["observer"] in ("2", "10") else 10
    light = reader.form["light"] if reader.form["light"] in light_names() else "D65"

    def colour(name: str, key: str) -> Triple:
        return reader.get(key, lambda text: _colour(name, text, light, observer))

    kind = reader.form["kind"]
    return {
        "base_name": _name(reader, "base", "newbase", "base name"),
        "base_kind": KINDS.get(kind, kind),
        "base_lab": colour("base colour", "basecolour"),
        "thickness": reader.get("thickness", lambda text: _number("base thickness", text, 1e-3)),
        "backing": reader.form["backing"],
        "shares": _shares(reader),
        "coats": reader.get("coats", _whole),
        "alcohol_grade": reader.get(
            "grade", lambda text: _number("alcohol grade", text, 0.01, 100)
        ),
        "drying_time": reader.get("minutes", lambda text: _number("drying time", text, 60.0)),
        "lab": colour("swatch colour", "colour"),
        "method": reader.form["method"],
        "light": reader.form["light"],
        "observer": observer,
        "geometry": reader.form["geometry"],
        "note": reader.form["note"],
    }


def _shares(reader: FormReader) -> dict[str, float]:
    named: dict[str, float] = {}
    for row in ROWS:
        if reader.form[f"dye{row}"] == NO_DYE:
            continue
        name = _name(reader, f"dye{row}", f"newdye{row}", "dye name")
        parts = reader.get(f"parts{row}", lambda text: _number("parts of dye", text, 1.0))
        if name in named:
            reader.errors.setdefault(f"dye{row}", str(refuse("dye name", "given once", name)))
        named[name] = parts
    alcohol = reader.get("alcohol", lambda text: _number("parts of alcohol", text, 1.0))
    if reader.errors or not named:
        return {}
    total = sum(named.values())
    share = reader.build("alcohol", lambda: volume_share(total, alcohol))
    if reader.errors or total <= 0:
        return dict.fromkeys(named, 0.0)
    return {name: share * parts / total for name, parts in named.items()}


def _untouched(form: Mapping[str, str], before: SwatchRecord) -> dict[str, Any]:
    shown = form_from_record(before)
    return {
        part: getattr(before, part)
        for part, keys in _PARTS_OF.items()
        if all(form[key] == shown[key] for key in keys)
    }


def _name(reader: FormReader, key: str, other: str, what: str) -> str:
    if reader.form[key] != OTHER:
        return reader.form[key]
    typed = reader.form[other].strip()
    if not typed:
        reader.errors[other] = str(refuse(what, "typed", typed))
    return typed


def _colour(name: str, text: str, light: str, observer: int) -> Triple:
    """CIELAB of three numbers as they stand, or of a screen colour seen under the light."""
    plain = text.strip().lower().replace("lab", " ").replace("*", " ")
    if plain.startswith("#"):
        lab = lab_of_screen_colour(srgb_from_hex(plain), light, observer)
    else:
        numbers = plain.replace(";", " ").replace(", ", " ").split()
        if len(numbers) != 3:
            raise refuse(name, "a colour like #9aa86b or three numbers L a b", text)
        lab = check_lab(name, np.array([read_number(name, number) for number in numbers]))
    return float(lab[0]), float(lab[1]), float(lab[2])


def _number(name: str, text: str, scale: float, most: float = 1e9) -> float:
    return check_number(name, read_number(name, text), least=0.0, most=most) * scale


def _whole(text: str) -> int:
    return check_whole("swatch coats", read_number("swatch coats", text), least=0, most=50)


def _triple(lab: Triple) -> str:
    return " ".join(f"{value:.6g}" for value in lab)
