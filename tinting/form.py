"""The tint as a maker types it: texts in, a plan out, every refusal beside its field."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from data import read_demo
from data.page.form import FormReader, whole_form
from data.rules import check_kind, check_number, refuse
from tinting.batch import volume_share
from tinting.demo import demo_base, demo_base_names
from tinting.grid import Array, check_lab
from tinting.inputs import SCATTERING_THICKNESS, Base, Dye, base_from_lab
from tinting.plan import TintPlan
from tinting.screen import srgb_from_hex
from tinting.spectrum import lab_of_screen_colour

Form = Mapping[str, str]
OWN_BASE = "my own, by its colour"
NO_DYE = "none"
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
DEFAULTS: dict[str, str] = read_demo("tint")["demo"]
"""The demo: reed green on the heron's off-white TPU (invented)."""

BLAME = {
    "base lab": "colour",
    "base reflectance": "colour",
    "rgb": "colour",
    "coats": "coats",
    "mix": "parts1",
    "mix shares": "parts1",
    "target lab": "target",
    "batch volume": "batch",
    "drop volume": "drop",
    "room volume": "room",
    "area": "area",
    "parts of dye": "parts1",
    "parts of alcohol": "alcohol",
}
"""Which field caused a refusal, by the name the refusal begins with."""


def colour_from_text(text: str, name: str = "colour") -> Array:
    """Return CIELAB (3,) under D65 for 10 degree from "#9aa86b" or "L a b" as three numbers.

    A screen colour is given the smoothest spectrum that has it and looked at again.
    """
    check_kind(name, text, str, "a text")
    plain = text.strip().lower().replace("lab", " ").replace("*", " ")
    if plain.startswith("#"):
        return lab_of_screen_colour(srgb_from_hex(plain))
    numbers = plain.replace(";", " ").replace(", ", " ").split()
    if len(numbers) != 3:
        raise refuse(name, "a colour like #9aa86b or three numbers L a b", text)
    return check_lab(f"{name} lab", [read_number(name, number) for number in numbers])


def read_number(name: str, text: str) -> float:
    """Return the number a text says, with point or comma; ValueError otherwise."""
    check_kind(name, text, str, "a text")
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        raise refuse(name, "a number", text) from None
    if not math.isfinite(number):
        raise refuse(name, "a finite number", text)
    return number


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
    reader = FormReader(whole_form(form, DEFAULTS), BLAME)
    base = _base(reader)
    mix = _mix(reader, {dye.name: dye for dye in dyes})
    coats = reader.get("coats", lambda text: int(_whole("coats", text)))
    target = reader.get("target", lambda text: colour_from_text(text, "target"))
    scales = {"batch": 1e-6, "drop": 1e-6, "room": 1.0}
    volumes = {
        key: reader.get(key, _scaled(f"{key} volume", scale)) for key, scale in scales.items()
    }
    area = reader.get("area", _scaled("area", 1e-4))
    reader.stop_at_errors()
    plan = reader.build(
        "coats",
        lambda: TintPlan(
            name=name,
            base=base,
            mix=mix,
            coats=coats,
            target=target,
            lights=LIGHT_SETS.get(reader.form["lights"], ("D65",)),
            batch_volume=volumes["batch"],
            drop_volume=volumes["drop"],
            room_volume=volumes["room"],
            area=area,
        ),
    )
    reader.stop_at_errors()
    return plan


def _base(reader: FormReader) -> Base:
    chosen = reader.form["base"]
    if chosen in demo_base_names():
        return demo_base(chosen)
    if chosen != OWN_BASE:
        return reader.get("base", demo_base)
    kind = KINDS.get(reader.form["kind"], reader.form["kind"])
    if kind not in SCATTERING_THICKNESS:
        reader.errors["kind"] = str(refuse("base kind", "one of the kinds", kind))
    lab = reader.get("colour", lambda text: colour_from_text(text, "base"))
    if reader.errors:
        return demo_base()
    return reader.build("colour", lambda: base_from_lab(lab, kind, name="own base"))


def _mix(reader: FormReader, dyes: Mapping[str, Dye]) -> tuple[tuple[Dye, float], ...]:
    alcohol = reader.get("alcohol", _scaled("parts of alcohol", 1.0))
    named = []
    for row in range(1, DYE_ROWS + 1):
        name = reader.form[f"dye{row}"]
        if name == NO_DYE:
            continue
        if name not in dyes:
            reader.errors[f"dye{row}"] = str(refuse("dye", "one of the dyes", name))
            continue
        parts = reader.get(f"parts{row}", _scaled("parts of dye", 1.0, least=0.0))
        named.append((dyes[name], parts))
    if reader.errors:
        return ()
    total = sum(parts for _, parts in named)
    share = reader.build("alcohol", lambda: volume_share(total, alcohol)) if total else 0.0
    if reader.errors or not total:
        return ()
    return tuple((dye, share * parts / total) for dye, parts in named if parts)


def _scaled(name: str, scale: float, least: float = 0.0) -> Callable[[str], float]:
    return lambda text: check_number(name, read_number(name, text), least=least, most=1e6) * scale


def _whole(name: str, text: str) -> float:
    number = read_number(name, text)
    if number != number // 1:
        raise refuse(name, "a whole number", text)
    return number
