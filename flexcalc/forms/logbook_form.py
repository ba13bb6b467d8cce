"""An event of a limb as a maker types it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from data.page.form import Field, FormReader, fields_by_key, measured, one_of, reads, typed_number
from data.page.measures import RADIANS
from data.rules import refuse
from flexcalc.figure.logbook import KINDS, Event

TYPED = tuple(kind for kind in KINDS if kind != "taken back")
WANTS = {
    "re-posed": ("times",),
    "angle read": ("bend", "angle"),
    "colour read": ("lab",),
}
"""The fields of an event, by its kind, besides day and note."""


@reads(example="62 -16 28")
def _lab(text: str, name: str) -> tuple[float, float, float]:
    parts = text.replace(";", " ").split()
    if len(parts) != 3:
        raise refuse(name, "three numbers L* a* b*, such as 62 -16 28", text)
    lightness, a, b = (typed_number(part, name, least=-200.0, most=200.0) for part in parts)
    return lightness, a, b


@reads(times=1.0, example="1")
def _count(text: str, name: str) -> int:
    value = typed_number(text, name, least=1.0, most=1e6)
    if value != round(value):
        raise refuse(name, "a whole number", text)
    return int(value)


FIELDS = fields_by_key(
    [
        Field(key="kind", label="What happened", default="re-posed", read=one_of(TYPED),
              becomes=("event kind",)),
        Field(key="day", label="Day", unit="year-month-day", becomes=("event day",)),
        Field(key="times", label="How often", default="1", read=_count, becomes=("event times",)),
        Field(key="bend", label="Bend, counted from the clamp", default="1", read=_count,
              becomes=("event bend",)),
        Field(key="angle", label="Angle it keeps", unit="°", becomes=("event angle",),
              read=measured(RADIANS, least=0.0, most=4 * math.pi, example="85")),
        Field(key="lab", label="Colour read", unit="CIELAB", read=_lab, becomes=("event lab",)),
        Field(key="note", label="Note", becomes=("event note",)),
    ]
)  # fmt: skip


def event_from_form(form: Mapping[str, str], limb: str) -> Event:
    """Return the event that a form tells; RefusedFieldsError with every field refused."""
    reader = FormReader(form, FIELDS)
    kind = reader.form["kind"]
    value = reader.values(("kind", "day", "note", *WANTS.get(kind, ())))
    return reader.built("day", lambda: Event(limb=limb, **value))
