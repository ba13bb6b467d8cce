"""The bench as a maker types it: texts in, readings and a magnet out, refusals by field.

Several readings of one thing are separated by semicolons, so that a comma stays a decimal comma.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from data import read_table
from data.page.form import (
    Field,
    FormReader,
    default_form,
    fields_by_key,
    measured,
    number,
    one_of,
    several,
)
from data.page.measures import KILOGRAMS, RADIANS, SECONDS
from flexcalc.bench.readings import Droop, KinkTest, MandrelBend, PinGauge, PoseTest
from flexcalc.build.magnet import PARTNERS
from flexcalc.forms.limb_form import ANY_LENGTH, found_by, length, length_or_zero
from flexcalc.limb.inputs import Elastomer, Limb, Metal
from flexcalc.limb.outline import RoundedRectangle
from flexcalc.limb.own_materials import find_elastomer, find_metal, find_printer
from flexcalc.limb.printer import Printer

Form = Mapping[str, str]
MOST_READINGS = 40
GRADES = ("N35", "N42", "N52")
lengths = several(length, MOST_READINGS)
angle = measured(RADIANS, least=-1e12, most=1e12, example="200 or 1.5 turns")
angles = several(angle, MOST_READINGS)
seconds = measured(SECONDS, least=-1e12, most=1e12, example="60 s or 1 min")
error_share = number(least=-1e12, most=1e12, per=100.0, sign="%", example="3")

DROOP = (
    Field(key="droop_filament", label="Filament it was printed from", default="TPU 80A",
          read=found_by(find_elastomer)),
    Field(key="droop_length", label="Strip beyond the clamp, long", unit=ANY_LENGTH,
          default="120", read=length, becomes=("droop length",)),
    Field(key="droop_width", label="Wide", unit=ANY_LENGTH, default="12", read=length,
          becomes=("outline width",)),
    Field(key="droop_thickness", label="Thick, the way it hangs", unit=ANY_LENGTH, default="2",
          read=length, becomes=("outline height",)),
    Field(key="droop_drop", label="Tip below the clamp",
          unit="mm, or say in; several with ; between", read=lengths, becomes=("droop drop",)),
    Field(key="droop_time", label="Read after hanging for", unit="s", default="60", read=seconds,
          becomes=("droop time",)),
    Field(key="droop_error", label="Reading repeats within", unit="± %", default="3",
          read=error_share, becomes=("droop error",)),
)  # fmt: skip
MANDREL = (
    Field(key="bent_metal", label="Metal it is sold as", default="annealed low-carbon steel",
          read=found_by(find_metal)),
    Field(key="bent_wire", label="Wire diameter", unit="mm, in, AWG or SWG", default="2.6",
          example="2.5, 3/32 in or AWG 12", read=length, becomes=("wire diameter",)),
    Field(key="bent_mandrel", label="Mandrel diameter", unit=ANY_LENGTH, default="40",
          read=length, becomes=("mandrel diameter",)),
    Field(key="bent_wound", label="Wound round it", unit="°, 360 is one turn", default="360",
          read=angle, becomes=("angle before",)),
    Field(key="bent_kept", label="Angle it keeps when let go",
          unit="°; several with ; between", read=angles, becomes=("angle after",)),
    Field(key="bent_error", label="Angle reads within", unit="± °", default="2", read=angle,
          becomes=("mandrel error",)),
)  # fmt: skip
PINS = (
    Field(key="pins_printer", label="Printer", default="untested printer",
          read=found_by(find_printer)),
    Field(key="pins_printed", label="The holes were printed", default="lying",
          becomes=("pin gauge orientation",)),
    Field(key="pins_drawn", label="Holes as drawn", unit="mm, with ; between",
          default="2.8; 2.9; 3.0; 3.1; 3.2; 3.3; 3.4", read=lengths,
          becomes=("drawn diameters",)),
    Field(key="pins_entered", label="Largest pin that enters each", unit="mm, with ; between",
          read=lengths, becomes=("pins",)),
    Field(key="pins_step", label="Next larger pin is thicker by", unit="mm", default="0.1",
          read=length, becomes=("pin step",)),
)  # fmt: skip
POSE = (
    Field(key="pose_radius", label="Bent to a radius of",
          unit="mm, or say in; to the limb's middle", default="45", read=length,
          becomes=("pose test radius", "pose test limb", "bend radius")),
    Field(key="pose_set", label="By an angle of", unit="°", default="90", read=angle,
          becomes=("angle set",)),
    Field(key="pose_kept", label="Angle it keeps when let go",
          unit="°; several with ; between", read=angles, becomes=("angle kept",)),
    Field(key="pose_hold", label="Held for", unit="s", default="5", read=seconds,
          becomes=("hold time",)),
    Field(key="pose_rest", label="Read after letting go", unit="s", default="0", read=seconds,
          becomes=("rest time",)),
    Field(key="pose_error", label="Angles read within", unit="± °", default="3", read=angle,
          becomes=("pose error",)),
)  # fmt: skip
KINK = (
    Field(key="kink_printer", label="Printer the limb came from", default="untested printer",
          read=found_by(find_printer)),
    Field(key="kink_held", label="Thinnest rod it goes round unkinked", unit=ANY_LENGTH,
          read=several(length, 1), becomes=("held diameter",)),
    Field(key="kink_kinked", label="Thickest rod it kinks round", unit=ANY_LENGTH,
          read=several(length, 1), becomes=("kinked diameter", "measurements")),
    Field(key="kink_error", label="Radius repeats from limb to limb within", unit="± %",
          default="10", read=error_share, becomes=("kink error",)),
)  # fmt: skip
MAGNET = (
    Field(key="magnet_diameter", label="Magnet diameter", unit=ANY_LENGTH, default="6",
          read=length, becomes=("magnet diameter",)),
    Field(key="magnet_thickness", label="Magnet thickness", unit=ANY_LENGTH, default="2",
          read=length, becomes=("magnet thickness",)),
    Field(key="magnet_grade", label="Grade", default="N42", read=one_of(GRADES)),
    Field(key="magnet_gap", label="Plastic between the faces, all of it", unit=ANY_LENGTH,
          default="1", read=length_or_zero, becomes=("magnet gap",)),
    Field(key="magnet_partner", label="It holds on to another …", default="disc",
          read=one_of(PARTNERS), becomes=("magnet partner",)),
    Field(key="magnet_payload", label="Weight of the object", unit="g", default="12",
          read=measured(KILOGRAMS, least=0.0, most=100.0, example="12 g or 1/2 oz"),
          becomes=("payload",)),
    Field(key="magnet_arm", label="Its middle stands off by", unit=ANY_LENGTH, default="20",
          read=length_or_zero, becomes=("payload arm",)),
)  # fmt: skip
FIELDS = fields_by_key([*DROOP, *MANDREL, *PINS, *POSE, *KINK, *MAGNET])
"""Every field of the bench but those of own materials."""
DEFAULTS = default_form(FIELDS)


def strip_sizes(form: Form) -> tuple[float, float, float]:
    """Return length, width and thickness typed for a droop strip; as `droop_readings`. [m]"""
    keys = ("droop_length", "droop_width", "droop_thickness")
    length, width, thickness = FormReader(form, fields_by_key(DROOP)).values(keys).values()
    return length, width, thickness


def droop_readings(form: Form) -> tuple[Elastomer, list[Droop]]:
    """Return the filament and the droops typed, none where no drop is typed.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read.
    """
    reader, value = _read(form, DROOP)

    def droop(drop: float) -> Droop:
        return Droop(
            length=value["droop_length"],
            drop=drop,
            outline=outline,
            time=value["droop_time"],
            error=value["droop_error"],
        )

    outline = reader.built(
        "droop_width",
        lambda: RoundedRectangle(
            width=value["droop_width"], height=value["droop_thickness"], corner_radius=0.0
        ),
    )
    droops = reader.built("droop_drop", lambda: [droop(each) for each in value["droop_drop"]])
    return value["droop_filament"], droops


def mandrel_readings(form: Form) -> tuple[Metal, list[MandrelBend]]:
    """Return the metal and the bends round a mandrel; as `droop_readings`."""
    reader, value = _read(form, MANDREL)

    def bend(after: float) -> MandrelBend:
        return MandrelBend(
            wire_diameter=value["bent_wire"],
            mandrel_diameter=value["bent_mandrel"],
            angle_before=value["bent_wound"],
            angle_after=after,
            error=value["bent_error"],
        )

    bends = reader.built("bent_kept", lambda: [bend(each) for each in value["bent_kept"]])
    return value["bent_metal"], bends


def pin_readings(form: Form) -> tuple[Printer, list[PinGauge]]:
    """Return the printer and the strip of holes with its pins; as `droop_readings`."""
    reader, value = _read(form, PINS)
    if not value["pins_entered"]:
        return value["pins_printer"], []
    gauge = reader.built(
        "pins_entered",
        lambda: PinGauge(
            drawn_diameters=tuple(value["pins_drawn"]),
            pins=tuple(value["pins_entered"]),
            orientation=value["pins_printed"],
            step=value["pins_step"],
        ),
    )
    return value["pins_printer"], [gauge]


def pose_readings(form: Form, limb: Limb) -> list[PoseTest]:
    """Return the tests of a limb bent and let go; as `droop_readings`."""
    reader, value = _read(form, POSE)

    def test(after: float) -> PoseTest:
        return PoseTest(
            limb=limb,
            radius=value["pose_radius"],
            angle_set=value["pose_set"],
            angle_kept=after,
            hold_time=value["pose_hold"],
            rest_time=value["pose_rest"],
            error=value["pose_error"],
        )

    return reader.built("pose_kept", lambda: [test(each) for each in value["pose_kept"]])


def kink_readings(form: Form, limb: Limb) -> tuple[Printer, list[KinkTest]]:
    """Return the printer and the test of a limb bent until it kinks; as `droop_readings`."""
    reader, value = _read(form, KINK)
    if not (value["kink_held"] and value["kink_kinked"]):
        return value["kink_printer"], []
    test = reader.built(
        "kink_kinked",
        lambda: KinkTest(
            limb=limb,
            held_diameter=value["kink_held"][0],
            kinked_diameter=value["kink_kinked"][0],
            error=value["kink_error"],
        ),
    )
    return value["kink_printer"], [test]


@dataclass(frozen=True, kw_only=True)
class MagnetQuestion:
    """A disc magnet in a hand: sizes [m], ``remanence`` [T], what it faces, and what it bears."""

    diameter: float
    thickness: float
    remanence: float
    gap: float
    partner: str
    payload: float
    arm: float


def magnet_question(form: Form) -> MagnetQuestion:
    """Return the magnet typed; RefusedFieldsError with every field that cannot be read."""
    _, value = _read(form, MAGNET)
    grade = value.pop("magnet_grade").lower()
    return MagnetQuestion(
        remanence=read_table("constants")["magnet"][f"remanence_{grade}"].value,
        **{key.removeprefix("magnet_"): each for key, each in value.items()},
    )


def _read(form: Form, fields: tuple[Field, ...]) -> tuple[FormReader, dict[str, Any]]:
    reader = FormReader(form, fields_by_key(fields))
    return reader, reader.values(field.key for field in fields)
