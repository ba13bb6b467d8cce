"""One row of the swatch log as a maker types it: texts in, a row out, and back.

A row that is edited keeps, to the last bit, whatever was not touched: a share of 1/7 does not
change because its parts were shown rounded.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from data.page.form import (
    Field,
    FormReader,
    checked_form,
    default_form,
    fields_by_key,
    measured,
    whole_number,
)
from data.page.measures import METRES, MINUTES
from data.rules import check_kind, refuse
from tinting.colour.colorimetry import OBSERVERS, light_names
from tinting.forms.spellings import amount, thinning
from tinting.forms.tint import KINDS, colour_from_text
from tinting.learn.repeats import one_spelling
from tinting.log.bottles import Bottle
from tinting.log.record import (
    GEOMETRIES,
    MOST_DYES,
    READING_ERROR,
    SwatchRecord,
    Triple,
    folded,
)
from tinting.mix.batch import volume_share
from tinting.skin.demo import demo_base_names, demo_dyes
from tinting.skin.inputs import BACKINGS

OTHER = "another, by name"
NO_DYE = "none"
ROWS = range(1, MOST_DYES + 1)


def _dye_fields() -> list[Field]:
    made = []
    for row in ROWS:
        dye = "reed green" if row == 1 else NO_DYE
        made += [
            Field(key=f"dye{row}", label=f"Dye {row}", default=dye, row=row),
            Field(key=f"newdye{row}", label=f"Name of dye {row}", becomes=("dye name",), row=row),
            Field(key=f"parts{row}", label=f"Parts of dye {row}", default="1", read=_AMOUNT,
                  becomes=("parts of dye",), row=row),
        ]  # fmt: skip
    return made


_AMOUNT = amount(1e9)
FIELDS = fields_by_key(
    [
        Field(key="base", label="Base: the part that was dyed", default="off-white TPU"),
        Field(key="newbase", label="Name of the base", becomes=("base name",)),
        Field(key="kind", label="Translucent or opaque? Hold the bare part to a light",
              default="opaque: pigmented or white", becomes=("base kind",)),
        Field(key="basecolour", label="Colour of the bare part", unit="L a b, or #rrggbb",
              default="88.5 -0.8 6.5", becomes=("base colour", "base lab")),
        Field(key="thickness", label="Thickness of its wall", unit="mm", default="1.2",
              read=measured(METRES, least=0.0, most=1e6, example="1.2 or 3/64 in"),
              becomes=("base thickness",)),
        Field(key="backing", label="What stood behind it", default="as in use"),
        *_dye_fields(),
        Field(key="alcohol", label="Parts of alcohol", unit="or 1:9, or dye in %", default="9",
              read=thinning(1e9),
              becomes=("parts of alcohol", "swatch shares")),
        Field(key="coats", label="Coats", default="1", read=whole_number(least=0, most=50),
              becomes=("swatch coats",)),
        Field(key="minutes", label="Dried for", unit="min", default="30",
              read=measured(MINUTES, least=0.0, most=6e10, unit="min", example="30 min or 2 h"),
              becomes=("drying time",)),
        Field(key="colour", label="Measured colour", unit="L a b, or #rrggbb",
              becomes=("swatch colour", "swatch lab")),
        Field(key="method", label="Measured by", default="photo"),
        Field(key="light", label="Measured under the light", default="D65"),
        Field(key="observer", label="Observer", unit="°", default="10"),
        Field(key="geometry", label="Geometry of the reading", default="unknown"),
        Field(key="note", label="Note", becomes=("swatch note",)),
    ]
)  # fmt: skip
DEFAULTS = default_form(FIELDS)
CHOICES: dict[str, tuple[str, ...]] = {
    "kind": tuple(KINDS),
    "backing": BACKINGS,
    "method": tuple(READING_ERROR),
    "light": light_names(),
    "observer": tuple(str(degree) for degree in OBSERVERS),
    "geometry": GEOMETRIES,
}
_PARTS_OF = {
    "base_name": ("base", "newbase"),
    "base_kind": ("kind",),
    "base_lab": ("basecolour", "light", "observer"),
    "thickness": ("thickness",),
    "shares": ("alcohol", *(f"{key}{row}" for row in ROWS for key in ("dye", "newdye", "parts"))),
    "drying_time": ("minutes",),
    "lab": ("colour", "light", "observer"),
}
"""The fields that make up each part of a row that typing could round."""


def known_names(
    records: Sequence[SwatchRecord], bottles: Sequence[Bottle] = ()
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the bases and the dyes of bottles and log, each spelled once.

    Bottles come first; those no longer owned are left out where the log does not name them. Where
    log or bottles are empty, bases or dyes are those of the demo.
    """
    rows = one_spelling(records)
    bases = dict.fromkeys(row.base_name for row in rows) or dict.fromkeys(demo_base_names())
    dyes = {folded(bottle.name): bottle.name for bottle in bottles if bottle.owned}
    for row in rows:
        for name in row.shares:
            dyes.setdefault(folded(name), name)
    return tuple(bases), tuple(dyes.values()) or tuple(dye.name for dye in demo_dyes())


def remembered(records: Sequence[SwatchRecord], base: str = "") -> dict[str, str]:
    """Return what a new row probably shares with the latest one: its part and how it was read.

    With ``base`` only the part, by the latest row on that base; nothing where there is none.
    """
    check_kind("base", base, str, "the name of a base")
    rows = [row for row in records if not base or folded(row.base_name) == folded(base)]
    if not rows:
        return {}
    part, reading = ("kind", "basecolour", "thickness", "backing"), ("base", "minutes", "method",
                     "light", "observer", "geometry")  # fmt: skip
    form = form_from_record(rows[-1])
    return {key: form[key] for key in (part if base else (*part, *reading))}


def spelled_as_known(record: SwatchRecord, records: Sequence[SwatchRecord]) -> SwatchRecord:
    """Return a row with base and dyes as the log spells them ("Pond Blue" for "pond blue")."""
    return one_spelling([*records, record])[-1]


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
    reader = FormReader(form, FIELDS)
    fields = _fields(reader)
    reader.stop_at_errors()
    if before is None:
        return reader.built("colour", lambda: SwatchRecord(**fields))
    check_kind("record", before, SwatchRecord, "a SwatchRecord")
    fields |= _untouched(reader.form, before)
    return reader.built("colour", lambda: dataclasses.replace(before, **fields))


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
        return reader.build(key, lambda: _colour(name, reader.form[key], light, observer))

    kind = reader.form["kind"]
    return {
        "base_name": _name(reader, "base", "newbase", "base name"),
        "base_kind": KINDS.get(kind, kind),
        "base_lab": colour("base colour", "basecolour"),
        "thickness": reader.value("thickness"),
        "backing": reader.form["backing"],
        "shares": _shares(reader),
        "coats": reader.value("coats"),
        "drying_time": reader.value("minutes"),
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
        parts = reader.value(f"parts{row}")
        if name in named:
            reader.note(f"dye{row}", refuse("dye name", "given once", name))
        named[name] = parts
    thinned = reader.value("alcohol")
    if reader.errors or not named:
        return {}
    total = sum(named.values())
    share = reader.build("alcohol", lambda: volume_share(total, thinned.parts_for(total)))
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
        reader.note(other, refuse(what, "typed", typed))
    return typed


def _colour(name: str, text: str, light: str, observer: int) -> Triple:
    lightness, a, b = colour_from_text(text, name, light, observer)
    return float(lightness), float(a), float(b)


def _triple(lab: Triple) -> str:
    return " ".join(f"{value:.6g}" for value in lab)
