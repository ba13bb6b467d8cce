"""The tint as a maker types it: texts in, a plan out, every refusal beside its field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from data import read_demo
from data.page.form import (
    Field,
    FormReader,
    Reader,
    default_form,
    fields_by_key,
    measured,
    typed_number,
    whole_number,
)
from data.page.measures import CUBIC_METRES, MILLILITRES, SQUARE_CENTIMETRES
from data.rules import check_kind, refuse
from tinting.colour.colorimetry import light_names, light_words
from tinting.colour.grid import Array, check_lab
from tinting.colour.screen import srgb_from_hex
from tinting.colour.spectrum import hex_from_lab, lab_of_screen_colour
from tinting.forms.spellings import (
    amount,
    is_screen_colour,
    screen_colour,
    thinning,
    thinning_words,
)
from tinting.mix.batch import volume_share
from tinting.mix.plan import TintPlan
from tinting.skin.demo import demo_base
from tinting.skin.inputs import Base, Dye, base_from_lab

Form = Mapping[str, str]
OWN_BASE = "my own, by its colour"
NO_DYE = "none"
COLOUR = "a colour like #9aa86b or three numbers L a b"
DYE_ROWS = 3
KINDS = {
    "translucent: light shows through a thin wall": "translucent",
    "opaque: pigmented or white": "opaque",
    "I cannot tell": "unknown",
}
LIGHT_SETS: dict[str, tuple[str, ...]] = {
    "daylight (D65)": ("D65",),
    "daylight and lamp light (D65, A)": ("D65", "A"),
    "daylight, lamp and shop light (D65, A, shop LED)": ("D65", "A", "shop LED"),
}

LOOKS = {f"{light_words(light)} ({light})": light for light in light_names()}
"""The lights to look under, as they are named in the form."""


def light_of(text: str) -> str:
    """Return the light that a form's text names, in words or by its code; daylight for others."""
    check_kind("light", text, str, "a text")
    return text if text in light_names() else LOOKS.get(text, "D65")


def colour_from_text(
    text: str, name: str = "colour", light: str = "D65", observer: int = 10
) -> Array:
    """Return CIELAB (3,) from "#9aa86b" or "L a b", three numbers that are taken as they stand.

    Usual spellings of both are read, "9aa86b", "rgb(154, 168, 107)", "lab(62 -16 28)".

    A screen colour is given the smoothest spectrum that has it and looked at again, under
    ``light`` for ``observer`` [degree].
    """
    check_kind(name, text, str, "a text")
    if is_screen_colour(text):
        return lab_of_screen_colour(srgb_from_hex(screen_colour(text, name)), light, observer)
    bare = re.sub(r"[lab]\*?|[*():=]", " ", text.strip().lower())
    numbers = bare.replace(";", " ").replace(", ", " ").split()
    if len(numbers) != 3:
        raise refuse(name, COLOUR, text)
    return check_lab(f"{name} lab", [typed_number(number, name) for number in numbers])


colour = Reader(read=colour_from_text, example="#9aa86b or 62 -16 28", rule=COLOUR)


def colour_words(text: str) -> str:
    """Say a colour typed in hex as L a b and the other way round, "" while it cannot be read."""
    try:
        lightness, a, b = colour_from_text(text)
    except ValueError:
        return ""
    if is_screen_colour(text):
        return f"L {lightness:.1f} a {a:.1f} b {b:.1f}"
    return hex_from_lab((lightness, a, b))


def thinning_of(form: Form) -> str:
    """Say how the mix of a form of dyes is thinned, "" while it cannot be read."""
    rows = [key[3:] for key, name in form.items() if re.fullmatch(r"dye[0-9]+", key)
            and name != NO_DYE]  # fmt: skip
    return thinning_words(form["alcohol"], [form[f"parts{row}"] for row in rows])


def millilitres(example: str) -> Reader[float]:
    """Return what reads a volume of up to a cubic metre. [m3]"""
    return measured(MILLILITRES, least=0.0, most=1.0, unit="mL", example=example)


def _dye_fields() -> list[Field]:
    made = []
    for row in range(1, DYE_ROWS + 1):
        made.append(Field(key=f"dye{row}", label=f"Dye {row}", becomes=("dye",), row=row))
        parts = Field(key=f"parts{row}", label=f"Parts of dye {row}", read=amount(1e6), row=row,
                      becomes=("parts of dye", "mix", "mix shares"))  # fmt: skip
        made.append(parts)
    return made


FIELDS = fields_by_key(
    [
        Field(key="base", label="Base: the part as it is printed", becomes=("base name",)),
        Field(key="kind", becomes=("base kind",), label="Translucent or opaque? The most important "
              "question: hold the bare part to a light"),
        Field(key="colour", label="Colour of the bare part", unit="#rrggbb, or L a b under D65",
              read=colour, becomes=("base", "base lab", "base reflectance", "rgb")),
        *_dye_fields(),
        Field(key="alcohol", label="Parts of alcohol", unit="or 1:9, or dye in %",
              read=thinning(1e6), becomes=("parts of alcohol",)),
        Field(key="coats", label="Coats", read=whole_number(least=0, most=50), becomes=("coats",)),
        Field(key="light", label="Light to look under"),
        Field(key="target", label="Target colour", unit="#rrggbb, or L a b under D65",
              read=colour, becomes=("target", "target lab")),
        Field(key="lights", label="Lights in which a recipe has to match"),
        Field(key="batch", label="Batch to mix", unit="mL", read=millilitres("30 or 1 fl oz"),
              becomes=("batch volume",)),
        Field(key="drop", label="One drop", unit="mL", read=millilitres("0.03 or 30 µL"),
              becomes=("drop volume",)),
        Field(key="area", label="Surface to dye", unit="cm²", becomes=("area",),
              read=measured(SQUARE_CENTIMETRES, least=0.0, most=100.0, unit="cm²",
                            example="60 cm² or 9 in²")),
        Field(key="room", label="Closed room", unit="m³", becomes=("room volume",),
              read=measured(CUBIC_METRES, least=0.0, most=1e6, unit="m³",
                            example="30 m³ or 1000 ft³")),
    ],
    defaults=read_demo("tint")["demo"],
)  # fmt: skip
"""Every field of the tint form; the demo is reed green on the heron's off-white TPU (invented)."""
DEFAULTS = default_form(FIELDS)


def plan_from_form(form: Form, dyes: Sequence[Dye], name: str = "tint") -> TintPlan:
    """Return the tint that a form asks for.

    Parameters
    ----------
    form : mapping
        Field key to text; keys that are missing take the demo's text.
    dyes : sequence of Dye
        Those that can be named in it.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, or the field that the plan refuses.
    """
    check_kind("dyes", dyes, Sequence, "a list of dyes")
    for dye in dyes:
        check_kind("each of the dyes", dye, Dye, "a Dye")
    reader = FormReader(form, FIELDS)
    base = _base(reader)
    mix = _mix(reader, {dye.name: dye for dye in dyes})
    value = reader.values(("coats", "target", "batch", "drop", "room", "area"))
    return reader.built(
        "coats",
        lambda: TintPlan(
            name=name,
            base=base,
            mix=mix,
            coats=value["coats"],
            target=value["target"],
            lights=LIGHT_SETS.get(reader.form["lights"], ("D65",)),
            batch_volume=value["batch"],
            drop_volume=value["drop"],
            room_volume=value["room"],
            area=value["area"],
        ),
    )


def _base(reader: FormReader) -> Base:
    chosen = reader.form["base"]
    if chosen != OWN_BASE:
        return reader.build("base", lambda: demo_base(chosen))
    kind = KINDS.get(reader.form["kind"], reader.form["kind"])
    lab = reader.value("colour")
    if reader.errors:
        return demo_base()
    return reader.build("colour", lambda: base_from_lab(lab, kind, name="own base"))


def _mix(reader: FormReader, dyes: Mapping[str, Dye]) -> tuple[tuple[Dye, float], ...]:
    thinned = reader.value("alcohol")
    named = []
    for row in range(1, DYE_ROWS + 1):
        name = reader.form[f"dye{row}"]
        if name == NO_DYE:
            continue
        if name not in dyes:
            reader.note(f"dye{row}", refuse("dye", "one of the dyes", name))
            continue
        named.append((dyes[name], reader.value(f"parts{row}")))
    if reader.errors:
        return ()
    total = sum(parts for _, parts in named)
    share = (
        reader.build("alcohol", lambda: volume_share(total, thinned.parts_for(total)))
        if total
        else 0.0
    )
    if reader.errors or not total:
        return ()
    return tuple((dye, share * parts / total) for dye, parts in named if parts)
