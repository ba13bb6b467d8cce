"""The limb as a maker types it: texts in, frozen inputs out, every refusal beside its field.

A form is a plain mapping of field key to text, so that a page, a link and an undo step all hold
the same thing. Lengths are typed in any unit `parse_length` knows; angles in degrees, loads in
grams, shares in per cent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TypeVar

from data import read_demo
from data.page.form import FormReader, RefusedFieldsError, whole_form
from data.rules import check_number, refuse
from data.store.folder import StoreError
from flexcalc.gauge import parse_length
from flexcalc.inputs import Bend, Limb, Setting, Wire
from flexcalc.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.own import find_elastomer, find_metal, find_printer
from flexcalc.plan import LimbPlan, Wish

Form = Mapping[str, str]
T = TypeVar("T")

OUTLINE_FIELDS = {
    "round": ("diameter",),
    "ellipse": ("width", "height"),
    "rounded rectangle": ("width", "height", "corner"),
    "D, flat side down": ("diameter", "flat"),
    "free polygon": ("points",),
}
BEND_ROWS = 3
PRINTED = ("lying, channel with a 45° roof", "lying, round channel", "upright")
DEFAULTS: dict[str, str] = read_demo("limbs")["demo"]
"""The demo: the neck of the marsh heron with a resin fish in its beak (invented)."""
PRESETS: dict[str, dict[str, str]] = read_demo("limbs")["presets"]
"""Starting points, each as what differs from the demo (invented)."""

BLAME = {
    "outline diameter": "diameter",
    "outline width": "width",
    "outline height": "height",
    "outline point": "points",
    "outline points": "points",
    "outline polygon": "points",
    "corner radius": "corner",
    "flat height": "flat",
    "limb length": "length",
    "wall": "wall",
    "infill": "infill",
    "channel diameter": "channel",
    "channel offset": "offset",
    "channel": "channel",
    "sleeve": "sleeve",
    "wire diameter": "wire",
    "wire strands": "strands",
    "clamp angle": "direction",
    "payload": "payload",
    "hold time": "hold",
    "bend end": "angle1",
    "bend start": "start1",
    "bend angle": "angle1",
    "bend radius": "radius1",
    "share to keep": "share",
    "sag allowed": "sag",
}
"""Which field caused a refusal, by the name the refusal begins with."""


def plan_from_form(form: Form, name: str = "limb") -> LimbPlan:
    """Return the limb question that a form asks.

    Parameters
    ----------
    form : mapping
        Field key to text; keys that are missing take the demo's text.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, or the field that the inputs refuse.
    """
    reader = FormReader(whole_form(form, DEFAULTS), BLAME)
    outline = _outline(reader)
    wall = reader.get("wall", _wall)
    infill = reader.get("infill", _percent)
    lengths = {key: reader.get(key, _length_or_zero) for key in ("channel", "sleeve")}
    offset = reader.get("offset", _signed_length)
    length = reader.get("length", _length("limb length"))
    wire = _wire(reader)
    elastomer = reader.get("elastomer", _from_folder(find_elastomer))
    printer = reader.get("printer", _from_folder(find_printer))
    setting = _setting(reader)
    share = reader.get("share", _percent)
    sag = reader.get("sag", _length("sag allowed"))
    reader.stop_at_errors()
    limb = reader.build(
        "length",
        lambda: Limb(
            elastomer=elastomer,
            outline=outline,
            length=length,
            wall=wall,
            infill=infill,
            channel_diameter=lengths["channel"],
            channel_offset=(0.0, offset),
            sleeve=lengths["sleeve"],
            wire=wire,
            channel_roofed=reader.form["printed"] == PRINTED[0],
        ),
    )
    wish = reader.build("share", lambda: Wish(share=share, sag=sag))
    reader.stop_at_errors()
    printed = reader.form["printed"]
    if printed not in PRINTED:
        raise RefusedFieldsError({"printed": str(refuse("printed", "one of the ways", printed))})
    plan = reader.build(
        "length",
        lambda: LimbPlan(
            name=name,
            limb=limb,
            setting=setting,
            wish=wish,
            printer=printer,
            orientation=printed.split(",")[0],
        ),
    )
    reader.stop_at_errors()
    return plan


def _outline(reader: FormReader) -> Outline:
    kind = reader.form["outline"]
    if kind not in OUTLINE_FIELDS:
        reader.errors["outline"] = str(refuse("outline", "one of the outlines", kind))
        return Round(diameter=0.01)
    if kind == "free polygon":
        points = reader.get("points", _points)
        return reader.build("points", lambda: Polygon(points=points))
    read = [reader.get(key, _length_or_zero) for key in OUTLINE_FIELDS[kind]]
    if reader.errors:
        return Round(diameter=0.01)
    make: dict[str, Callable[[], Outline]] = {
        "round": lambda: Round(diameter=read[0]),
        "ellipse": lambda: Ellipse(width=read[0], height=read[1]),
        "rounded rectangle": lambda: RoundedRectangle(
            width=read[0], height=read[1], corner_radius=read[2]
        ),
        "D, flat side down": lambda: DShape(diameter=read[0], flat_height=read[1]),
    }
    return reader.build(OUTLINE_FIELDS[kind][0], make[kind])


def _wire(reader: FormReader) -> Wire | None:
    if reader.form["metal"] == "no wire":
        return None
    metal = reader.get("metal", _from_folder(find_metal))
    diameter = reader.get("wire", _length("wire diameter"))
    strands = reader.get("strands", _whole)
    if reader.errors:
        return None
    return reader.build("wire", lambda: Wire(metal=metal, diameter=diameter, strands=strands))


def _setting(reader: FormReader) -> Setting:
    bends = []
    for row in range(1, BEND_ROWS + 1):
        keys = [f"{part}{row}" for part in ("start", "angle", "radius")]
        if not any(reader.form[key].strip() for key in keys):
            continue
        start = reader.get(keys[0], _length_or_zero)
        angle = reader.get(keys[1], _degrees)
        radius = reader.get(keys[2], _length("bend radius"))
        if not set(keys) & set(reader.errors):
            bends.append(_bend(reader, keys[0], start, angle, radius))
    direction = reader.get("direction", _degrees)
    payload = reader.get("payload", lambda text: _number("payload", text, least=0.0) / 1000)
    hold = reader.get("hold", lambda text: _number("hold time", text, least=0.0))
    reader.stop_at_errors()
    return reader.build(
        "start1",
        lambda: Setting(bends=tuple(bends), clamp_angle=direction, payload=payload, hold_time=hold),
    )


def _bend(reader: FormReader, key: str, start: float, angle: float, radius: float) -> Bend:
    return reader.build(key, lambda: Bend(start=start, angle=angle, radius=radius))


def _number(name: str, text: str, **bounds: float) -> float:
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        raise refuse(name, "a number", text) from None
    return check_number(name, number, **bounds)  # type: ignore[arg-type]


def _whole(text: str) -> int:
    number = _number("wire strands", text, least=1.0, most=7.0)
    if number != int(number):
        raise refuse("wire strands", "a whole number", text)
    return int(number)


def _percent(text: str) -> float:
    return _number("share", text.strip().removesuffix("%"), least=0.0, most=100.0) / 100


def _degrees(text: str) -> float:
    number = _number("angle", text.strip().removesuffix("°"), least=-720.0, most=720.0)
    return math.radians(number)


def _from_folder(find: Callable[[str], T]) -> Callable[[str], T]:
    """Return a look-up by name whose trouble with the user's folder is said at the field."""

    def found(name: str) -> T:
        try:
            return find(name)
        except StoreError as error:
            raise refuse("name", "readable from your folder", error) from None

    return found


def _length(name: str) -> Callable[[str], float]:
    return lambda text: parse_length(text, name)


def _wall(text: str) -> float | None:
    return None if text.strip().lower() in ("", "solid") else parse_length(text, "wall")


def _length_or_zero(text: str) -> float:
    return 0.0 if text.strip() in ("0", "", "0.0") else parse_length(text)


def _signed_length(text: str) -> float:
    stripped = text.strip()
    if stripped.startswith("-"):
        return -_length_or_zero(stripped[1:])
    return _length_or_zero(stripped)


def _points(text: str) -> tuple[tuple[float, float], ...]:
    pairs = [pair.split() for pair in text.replace(";", ",").split(",") if pair.strip()]
    if any(len(pair) != 2 for pair in pairs):
        raise refuse("outline points", "pairs x y [mm] parted by commas", text)
    return tuple(
        (_number("outline point", x) / 1000, _number("outline point", y) / 1000) for x, y in pairs
    )
