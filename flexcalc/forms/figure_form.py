"""Where a limb is on its figure and what carries it, as a maker types it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from data.page.form import Field, FormReader, fields_by_key, measured, whole_number
from data.page.measures import KILOGRAMS
from flexcalc.figure.figure import Body, Place
from flexcalc.forms.limb_form import degrees, length_or_zero, signed_length

Form = Mapping[str, str]
MM = "mm, or say in"
PLACE_FIELDS = fields_by_key(
    [
        Field(key="forward", label="Clamped forward of the figure's own point by", unit=MM,
              default="0", read=signed_length, becomes=("place",)),
        Field(key="up", label="Clamped above it by", unit=MM, default="0", read=signed_length),
        Field(key="left", label="Clamped to its left by", unit=MM, default="0",
              read=signed_length),
        Field(key="facing", label="Its plane is turned from forward to the left by", unit="°",
              default="0", read=degrees, becomes=("facing",)),
        Field(key="foot_length", label="Foot at the tip, length", unit=f"{MM}; 0: none",
              default="0", read=length_or_zero, becomes=("foot",)),
        Field(key="foot_width", label="Foot at the tip, width", unit=MM, default="0",
              read=length_or_zero),
        Field(key="magnets", label="Magnets in it", default="0",
              read=whole_number(least=0, most=20), becomes=("magnets",)),
        Field(key="magnet_diameter", label="Magnet, diameter", unit=MM, default="5",
              read=length_or_zero, becomes=("magnet",)),
        Field(key="magnet_thickness", label="Magnet, thickness", unit=MM, default="2",
              read=length_or_zero),
    ]
)  # fmt: skip
BODY_FIELDS = fields_by_key(
    [
        Field(key="mass", label="Body and all that is no limb, mass", unit="g", default="0",
              read=measured(KILOGRAMS, least=0.0, most=1e6, example="40 g or 2 oz"),
              becomes=("body mass",)),
        Field(key="forward", label="Its middle forward of the figure's own point by", unit=MM,
              default="0", read=signed_length, becomes=("body place",)),
        Field(key="up", label="Its middle above it by", unit=MM, default="0", read=signed_length),
        Field(key="left", label="Its middle to the left by", unit=MM, default="0",
              read=signed_length),
    ]
)  # fmt: skip


def place_from_form(form: Form, *, twin: bool = False) -> Place:
    """Return the place that a form asks for; RefusedFieldsError with every field refused."""
    reader = FormReader(form, PLACE_FIELDS)
    value = reader.values(PLACE_FIELDS)
    return reader.built(
        "forward",
        lambda: Place(
            at=(value["forward"], value["up"], value["left"]),
            facing=value["facing"],
            twin=twin,
            foot=(value["foot_length"], value["foot_width"]),
            magnets=value["magnets"],
            magnet=(value["magnet_diameter"], value["magnet_thickness"]),
        ),
    )


def form_from_place(place: Place) -> dict[str, str]:
    """Return the form that would ask for a place."""
    sizes = (*place.at, math.degrees(place.facing) / 1e3, *place.foot)
    texts = [_text(1e3 * size) for size in sizes]
    texts += [str(place.magnets), *(_text(1e3 * size) for size in place.magnet)]
    return dict(zip(PLACE_FIELDS, texts, strict=True))


def body_from_form(form: Form) -> Body:
    """Return the body that a form asks for; RefusedFieldsError with every field refused."""
    reader = FormReader(form, BODY_FIELDS)
    value = reader.values(BODY_FIELDS)
    return reader.built(
        "mass",
        lambda: Body(mass=value["mass"], at=(value["forward"], value["up"], value["left"])),
    )


def form_from_body(body: Body) -> dict[str, str]:
    """Return the form that would ask for a body."""
    texts = [_text(1e3 * size) for size in (body.mass, *body.at)]
    return dict(zip(BODY_FIELDS, texts, strict=True))


def _text(number: float) -> str:
    return f"{number + 0.0:.10g}"
