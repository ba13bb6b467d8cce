"""The bench as a maker types it: texts in, readings and own materials out, refusals by field.

Several readings of one thing are parted by semicolons, so that a comma stays a decimal comma.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TypeVar

from data.page.form import FormReader, whole_form
from data.rules import check_kind, check_number, refuse
from flexcalc.gauge import parse_length
from flexcalc.inputs import Elastomer, Limb, Metal
from flexcalc.outline import RoundedRectangle
from flexcalc.own import find_elastomer, find_metal, find_printer
from flexcalc.printer import Printer
from flexcalc.readings import Droop, MandrelBend, PinGauge, PoseTest

Form = Mapping[str, str]
T = TypeVar("T")
MOST_READINGS = 40

DEFAULTS: dict[str, str] = {
    "droop_filament": "TPU 85A",
    "droop_length": "120",
    "droop_width": "12",
    "droop_thickness": "2",
    "droop_drop": "",
    "droop_time": "60",
    "droop_error": "3",
    "bent_metal": "annealed aluminium 1100",
    "bent_wire": "2",
    "bent_mandrel": "40",
    "bent_wound": "360",
    "bent_kept": "",
    "bent_error": "2",
    "pins_printer": "untested printer",
    "pins_printed": "lying",
    "pins_drawn": "2.8; 2.9; 3.0; 3.1; 3.2; 3.3; 3.4",
    "pins_entered": "",
    "pins_step": "0.1",
    "pose_radius": "45",
    "pose_set": "90",
    "pose_kept": "",
    "pose_hold": "5",
    "pose_rest": "0",
    "pose_error": "3",
}
BLAME = {
    "droop length": "droop_length",
    "outline width": "droop_width",
    "outline height": "droop_thickness",
    "droop drop": "droop_drop",
    "droop time": "droop_time",
    "droop error": "droop_error",
    "wire diameter": "bent_wire",
    "mandrel diameter": "bent_mandrel",
    "angle before": "bent_wound",
    "angle after": "bent_kept",
    "mandrel error": "bent_error",
    "pin gauge orientation": "pins_printed",
    "drawn diameters": "pins_drawn",
    "pins": "pins_entered",
    "pin step": "pins_step",
    "pose test limb": "pose_radius",
    "pose test radius": "pose_radius",
    "bend radius": "pose_radius",
    "angle set": "pose_set",
    "angle kept": "pose_kept",
    "pose error": "pose_error",
    "hold time": "pose_hold",
    "rest time": "pose_rest",
}
"""Which field caused a refusal, by the name the refusal begins with."""


def strip_sizes(form: Form) -> tuple[float, float, float]:
    """Return length, width and thickness typed for a droop strip; as `droop_readings`. [m]"""
    reader = _reader(form)
    length, width, thickness = (
        reader.get(f"droop_{key}", typed_length(f"strip {key}"))
        for key in ("length", "width", "thickness")
    )
    reader.stop_at_errors()
    return length, width, thickness


def droop_readings(form: Form) -> tuple[Elastomer, list[Droop]]:
    """Return the filament and the droops typed, none where no drop is typed.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read.
    """
    reader = _reader(form)
    filament = reader.get("droop_filament", find_elastomer)
    length = reader.get("droop_length", typed_length("droop length"))
    sizes = [
        reader.get(f"droop_{key}", typed_length(f"strip {key}")) for key in ("width", "thickness")
    ]
    drops = reader.get("droop_drop", _many(typed_length("droop drop")))
    time = reader.get("droop_time", lambda text: number("droop time", text))
    error = reader.get("droop_error", lambda text: number("droop error", text) / 100)
    reader.stop_at_errors()
    outline = reader.build(
        "droop_width",
        lambda: RoundedRectangle(width=sizes[0], height=sizes[1], corner_radius=0.0),
    )
    reader.stop_at_errors()
    droops = [
        reader.build(
            "droop_drop",
            lambda drop=drop: Droop(  # type: ignore[misc]
                length=length, drop=drop, outline=outline, time=time, error=error
            ),
        )
        for drop in drops
    ]
    reader.stop_at_errors()
    return filament, droops


def mandrel_readings(form: Form) -> tuple[Metal, list[MandrelBend]]:
    """Return the metal and the bends round a mandrel; as `droop_readings`."""
    reader = _reader(form)
    metal = reader.get("bent_metal", find_metal)
    wire = reader.get("bent_wire", typed_length("wire diameter"))
    mandrel = reader.get("bent_mandrel", typed_length("mandrel diameter"))
    wound = reader.get("bent_wound", _angle("angle before"))
    kept = reader.get("bent_kept", _many(_angle("angle after")))
    error = reader.get("bent_error", _angle("mandrel error"))
    reader.stop_at_errors()
    bends = [
        reader.build(
            "bent_kept",
            lambda after=after: MandrelBend(  # type: ignore[misc]
                wire_diameter=wire,
                mandrel_diameter=mandrel,
                angle_before=wound,
                angle_after=after,
                error=error,
            ),
        )
        for after in kept
    ]
    reader.stop_at_errors()
    return metal, bends


def pin_readings(form: Form) -> tuple[Printer, list[PinGauge]]:
    """Return the printer and the strip of holes with its pins; as `droop_readings`."""
    reader = _reader(form)
    printer = reader.get("pins_printer", find_printer)
    drawn = reader.get("pins_drawn", _many(typed_length("drawn diameters")))
    pins = reader.get("pins_entered", _many(typed_length("pins")))
    step = reader.get("pins_step", typed_length("pin step"))
    reader.stop_at_errors()
    if not pins:
        return printer, []
    gauge = reader.build(
        "pins_entered",
        lambda: PinGauge(
            drawn_diameters=tuple(drawn),
            pins=tuple(pins),
            orientation=reader.form["pins_printed"],
            step=step,
        ),
    )
    reader.stop_at_errors()
    return printer, [gauge]


def pose_readings(form: Form, limb: Limb) -> list[PoseTest]:
    """Return the tests of a limb bent and let go; as `droop_readings`."""
    reader = _reader(form)
    radius = reader.get("pose_radius", typed_length("pose test radius"))
    angle = reader.get("pose_set", _angle("angle set"))
    kept = reader.get("pose_kept", _many(_angle("angle kept")))
    hold = reader.get("pose_hold", lambda text: number("hold time", text))
    rest = reader.get("pose_rest", lambda text: number("rest time", text))
    error = reader.get("pose_error", _angle("pose error"))
    reader.stop_at_errors()
    tests = [
        reader.build(
            "pose_kept",
            lambda after=after: PoseTest(  # type: ignore[misc]
                limb=limb,
                radius=radius,
                angle_set=angle,
                angle_kept=after,
                hold_time=hold,
                rest_time=rest,
                error=error,
            ),
        )
        for after in kept
    ]
    reader.stop_at_errors()
    return tests


def number(name: str, text: str, least: float = -1e12, most: float = 1e12) -> float:
    """Return a number typed with a decimal point or comma."""
    check_kind(name, text, str, "a text")
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        raise refuse(name, "a number", text) from None
    return check_number(name, value, least=least, most=most)


def _reader(form: Form) -> FormReader:
    return FormReader(whole_form(form, DEFAULTS), BLAME)


def typed_length(name: str) -> Callable[[str], float]:
    """Return what reads a length that is called ``name`` in a refusal. [m]"""
    return lambda text: parse_length(text, name)


def _angle(name: str) -> Callable[[str], float]:
    return lambda text: math.radians(number(name, text.strip().removesuffix("°")))


def _many(read: Callable[[str], T]) -> Callable[[str], list[T]]:
    def read_all(text: str) -> list[T]:
        parts = [part for part in text.split(";") if part.strip()]
        if len(parts) > MOST_READINGS:
            raise refuse("readings", f"at most {MOST_READINGS} at a time", len(parts))
        return [read(part) for part in parts]

    return read_all
