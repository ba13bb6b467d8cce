"""The limb as a maker types it: texts in, frozen inputs out, every refusal beside its field.

Lengths are typed in any unit `parse_length` knows; angles in degrees, loads in grams, shares in
per cent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from data import read_demo
from data.page.form import (
    Field,
    FormReader,
    Reader,
    default_form,
    fields_by_key,
    measured,
    number,
    one_of,
    reads,
    several,
    whole_number,
)
from data.page.measures import CELSIUS, HOURS, KILOGRAMS, METRES, RADIANS, SECONDS
from data.rules import refuse
from data.store.folder import StoreError
from flexcalc.build.channel import size_channel
from flexcalc.limb.along import TIGHTEST
from flexcalc.limb.gauge import RULE, parse_length
from flexcalc.limb.inputs import (
    INFILL_PATTERNS,
    MOST_BEFORE,
    MOST_PLACES_MISSED,
    Along,
    Bend,
    Limb,
    Setting,
    Wire,
)
from flexcalc.limb.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.limb.own_materials import find_elastomer, find_metal, find_printer
from flexcalc.verdict.plan import MOST_POSES, LimbPlan, NamedPose, Wish

Form = Mapping[str, str]
T = TypeVar("T")

OUTLINE_FIELDS = {
    "round": ("diameter",),
    "ellipse": ("width", "height"),
    "rounded rectangle": ("width", "height", "corner"),
    "D, flat side down": ("diameter", "flat"),
    "free polygon": ("points",),
}
TIP_FIELDS = {
    "round": ("tip_diameter",),
    "ellipse": ("tip_width", "tip_height"),
    "rounded rectangle": ("tip_width", "tip_height", "tip_corner"),
    "D, flat side down": ("tip_diameter", "tip_flat"),
    "free polygon": ("tip_points",),
}
"""Sizes at the tip of a tapered limb; a field that is empty is as at the clamp."""
CURLS = ("curl_root", "curl_tip")
BEND_ROWS = 3
BEND_KEYS = ("start", "angle", "radius", "swing")
PRINTED = ("lying, channel with a 45° roof", "lying, round channel", "upright")
BENT = ("by hand", "round a former")
PLACE_APART = 0.025
"""Arc of a bend that one press of the thumb makes where nothing else is said. [m]"""
NO_WIRE, SIZED = "no wire", "sized"
ANCHORED = ("may turn in its channel", "held against turning at the root")
STRAIGHT, THEN = "straight", "then"
"""A pose before without bends, and what stands between two poses before."""
ANY_LENGTH = "mm"
LENGTH_EXAMPLE, ANGLE_EXAMPLE = "90, 90 mm or 3 1/2 in", "50 or -50"
AS_AT_THE_CLAMP = "mm; empty: as at the clamp"
CURL_UNIT = "mm, negative: down; empty: straight"
TIP = 1
"""Row of the fields that say of the tip what others say of the clamp."""


length = Reader(read=parse_length, times=1e3, unit="mm", example=LENGTH_EXAMPLE, rule=RULE)
_says_length = reads(times=1e3, unit="mm", example=LENGTH_EXAMPLE, rule=RULE)


@_says_length
def length_or_zero(text: str, name: str) -> float:
    """Return a length, 0 where nothing or 0 is typed. [m]"""
    return 0.0 if text.strip() in ("0", "", "0.0") else parse_length(text, name)


@_says_length
def signed_length(text: str, name: str) -> float:
    """Return a length that may be negative. [m]"""
    bare = text.strip()
    if bare.startswith(("-", "−")):
        return -length_or_zero(bare[1:], name)
    return length_or_zero(bare, name)


@reads(times=1e3, unit="mm", example="1.6, 1/16 in or solid", rule=RULE)
def wall(text: str, name: str) -> float | None:
    """Return the thickness of a wall [m], None for a solid limb."""
    return None if text.strip().lower() in ("", "solid") else parse_length(text, name)


@reads(times=1e3, unit="mm", example="sized, 3.1 or 1/8 in", rule=RULE)
def channel(text: str, name: str) -> float | None:
    """Return the diameter of a finished channel [m], None for one sized for its wire."""
    return None if text.strip().lower() == SIZED else length_or_zero(text, name)


@_says_length
def optional_length(text: str, name: str) -> float | None:
    """Return a length [m], None where nothing is typed."""
    return parse_length(text, name) if text.strip() else None


@_says_length
def _zero_or_empty(text: str, name: str) -> float | None:
    """Return a length or 0 [m], None where nothing is typed."""
    return length_or_zero(text, name) if text.strip() else None


@reads(example=LENGTH_EXAMPLE, rule=RULE)
def _curl(text: str, name: str) -> float:
    """Return the curvature [1/m] of a limb printed round a typed radius, 0 where none is typed."""
    radius = signed_length(text, name)
    if 0 < abs(radius) < 1 / TIGHTEST:
        raise refuse(name, f"a radius of at least {1e3 / TIGHTEST:g} mm", text)
    return 1 / radius if radius else 0.0


degrees = measured(RADIANS, least=-4 * math.pi, most=4 * math.pi, example=ANGLE_EXAMPLE)
degrees_of_swing = measured(RADIANS, least=-2 * math.pi, most=2 * math.pi, example=ANGLE_EXAMPLE)
percent = number(least=0.0, most=100.0, per=100.0, sign="%", example="85")
grams = measured(KILOGRAMS, least=0.0, most=5.0, example="40 g or 2 oz")
hours = measured(HOURS, least=0.0, most=7.2e8, unit="h", example="24 or 30 min")
ABOUT = ("+/-", "+-", "±")
"""How one may write that a number is known only so well."""


def known_within(read: Reader[T], apart: Reader[Any], example: str) -> Reader[tuple[T, Any]]:
    """Return what reads a value and, behind "±", how far it may be off; None where nothing is."""

    def read_both(text: str, name: str) -> tuple[T, Any]:
        for sign in ABOUT:
            text = text.replace(sign, ABOUT[-1])
        value, sign, off = text.partition(ABOUT[-1])
        return read(value, name), apart(off, name) if sign else None

    return Reader(read=read_both, example=example, times=read.times, unit=read.unit, rule=read.rule)


def seconds(least: float, example: str) -> Reader[float]:
    """Return what reads a time from ``least`` seconds on. [s]"""
    return measured(SECONDS, least=least, most=1e9, example=example)


@reads(times=1.0, example="3")
def _places(text: str, name: str) -> int | None:
    """Return a number of places, None for as many as the bends are long."""
    return None if not text.strip() else whole_number(least=1, most=20)(text, name)


def _poses_before(text: str, name: str) -> tuple[tuple[Bend, ...], ...]:
    """Return the bends of the poses before, the oldest first; none where nothing is typed."""
    if not text.strip():
        return ()
    return tuple(_typed_bends(part, name) for part in text.split(THEN))


def _named_poses(text: str, name: str) -> tuple[tuple[str, tuple[Bend, ...]], ...]:
    """Return the names of poses with their bends, in their order; none where nothing is typed."""
    found = []
    for part in text.split(THEN) if text.strip() else ():
        called, colon, bends = part.partition(":")
        if not colon:
            raise refuse(name, "poses as “name: start angle radius; …”", part)
        found.append((called.strip(), _typed_bends(bends, name)))
    return tuple(found)


def _typed_bends(text: str, name: str) -> tuple[Bend, ...]:
    if text.strip() == STRAIGHT:
        return ()
    rule = f"start, angle, radius and perhaps swing of each bend, ; between, or {STRAIGHT}"
    bends = []
    for part in text.split(";"):
        typed = part.split()
        if not 3 <= len(typed) <= 4:
            raise refuse(name, rule, part)
        start, radius = (length_or_zero(each, name) for each in (typed[0], typed[2]))
        angle, swing = (degrees(each, name) for each in (typed[1], [*typed, "0"][3]))
        bends.append(Bend(start=start, angle=angle, radius=radius, swing=swing))
    return tuple(bends)


@reads(times=180 / math.pi, unit="°", example=ANGLE_EXAMPLE)
def _swing(text: str, name: str) -> float:
    """Return how far a bend swings to the left [rad], 0 where nothing is typed."""
    return degrees_of_swing(text, name) if text.strip() else 0.0


coordinate = measured(METRES, least=-1e3, most=1e3, example="-6")
"""Reads a place along an axis, of either sign. [m]"""


def _points(text: str, name: str) -> tuple[tuple[float, float], ...]:
    pairs = [pair.split() for pair in text.replace(";", ",").split(",") if pair.strip()]
    if any(len(pair) != 2 for pair in pairs):
        raise refuse(name, "pairs x y in mm, or as 0.25in, separated by commas", text)
    return tuple((coordinate(x, name), coordinate(y, name)) for x, y in pairs)


def found_by(find: Callable[[str], T]) -> Callable[[str, str], T]:
    """Return what reads a name by ``find``, whose trouble with the user's folder is a refusal."""

    def read(text: str, name: str) -> T:
        try:
            return find(text)
        except StoreError as error:
            raise refuse(name, "readable from your folder", error) from None

    return read


def _bend_fields() -> list[Field]:
    rows = []
    for row in range(1, BEND_ROWS + 1):
        for key, label, unit, read, becomes in (
            ("start", "starts at", "mm", length_or_zero, ("bend start",)),
            ("angle", "angle", "°", degrees, ("bend angle", "bend end")),
            ("radius", "radius", "mm", length, ("bend radius",)),
            ("swing", "swings left", "°", _swing, ("bend swing",)),
        ):
            made = Field(
                key=f"{key}{row}", label=f"Bend {row} {label}", unit=unit, read=read,
                becomes=becomes, row=row,
            )  # fmt: skip
            rows.append(made)
    return rows


_DEMO = read_demo("limbs")
FIELDS = fields_by_key(
    [
        Field(key="elastomer", label="Filament", read=found_by(find_elastomer)),
        Field(key="outline", label="Shape of the cross-section", read=one_of(OUTLINE_FIELDS)),
        Field(key="diameter", label="Outside diameter", unit=ANY_LENGTH, read=length_or_zero,
              becomes=("outline diameter",)),
        Field(key="width", label="Width", unit=ANY_LENGTH, read=length_or_zero,
              becomes=("outline width",)),
        Field(key="height", label="Height, in the plane it bends in", unit=ANY_LENGTH,
              read=length_or_zero, becomes=("outline height",)),
        Field(key="corner", label="Corner radius", unit=ANY_LENGTH, read=length_or_zero,
              becomes=("corner radius",)),
        Field(key="flat", label="Height cut off for the flat", unit=ANY_LENGTH,
              read=length_or_zero, becomes=("flat height",)),
        Field(key="points", label="Corners x y, x y, …", unit="mm", read=_points,
              becomes=("outline points", "outline point", "outline polygon"),
              example="-6 -4, 6 -4, 6 4"),
        Field(key="tip_diameter", label="Outside diameter at the tip", unit=AS_AT_THE_CLAMP,
              read=optional_length, becomes=("outline diameter",), row=TIP),
        Field(key="tip_width", label="Width at the tip", unit=AS_AT_THE_CLAMP,
              read=optional_length, becomes=("outline width",), row=TIP),
        Field(key="tip_height", label="Height at the tip", unit=AS_AT_THE_CLAMP,
              read=optional_length, becomes=("outline height",), row=TIP),
        Field(key="tip_corner", label="Corner radius at the tip", unit=AS_AT_THE_CLAMP,
              read=_zero_or_empty, becomes=("corner radius",), row=TIP),
        Field(key="tip_flat", label="Height cut off at the tip", unit=AS_AT_THE_CLAMP,
              read=optional_length, becomes=("flat height",), row=TIP),
        Field(key="tip_points", label="Corners at the tip", unit="mm; empty: as at the clamp",
              read=_points, becomes=("outline points", "outline point", "outline polygon",
                                     "outline stations"), row=TIP),
        Field(key="curl_root", label="Printed curved, at the clamp to a radius of", unit=CURL_UNIT,
              read=_curl, becomes=("natural curvature",)),
        Field(key="curl_tip", label="Printed curved, at the tip to a radius of", unit=CURL_UNIT,
              read=_curl, becomes=("natural curvature",), row=TIP),
        Field(key="inserted", label="Wire in the curved limb before it is posed for",
              unit="hours", read=hours, becomes=("inserted before",)),
        Field(key="length", label="Length from clamp to tip", unit=ANY_LENGTH, read=length,
              becomes=("limb length",)),
        Field(key="wall", label="Wall thickness", unit="mm or “solid”",
              read=wall, becomes=("wall",)),
        Field(key="infill", label="Infill inside the wall", unit="%", read=percent,
              becomes=("infill",)),
        Field(key="pattern", label="Infill pattern", default="lines", read=one_of(INFILL_PATTERNS),
              becomes=("infill pattern",)),
        Field(key="metal", label="Wire", read=found_by(find_metal)),
        Field(key="wire", label="Wire diameter", unit="mm, in, AWG 12",
              read=length, becomes=("wire diameter",), example="2.5, 3/32 in or AWG 12"),
        Field(key="strands", label="Strands twisted together",
              read=whole_number(least=1, most=7), becomes=("wire strands",)),
        Field(key="anchored", label="The wire's end", default=ANCHORED[0], read=one_of(ANCHORED),
              becomes=("wire anchored",)),
        Field(key="channel", label="Channel in the finished part",
              unit="mm or “sized”; 0: the bore", read=channel,
              becomes=("channel diameter", "channel")),
        Field(key="sleeve", label="Solid sleeve around the channel", unit=ANY_LENGTH,
              read=length_or_zero, becomes=("sleeve",)),
        Field(key="offset", label="Channel above the centre", unit="mm, may be negative",
              read=signed_length, becomes=("channel offset",)),
        Field(key="printed", label="How the limb lies in the printer", read=one_of(PRINTED)),
        Field(key="printer", label="Printer", read=found_by(find_printer)),
        Field(key="direction", label="Direction at the clamp",
              unit="°, 90 is level", read=degrees,
              becomes=("clamp angle",)),
        Field(key="payload", label="Weight at the tip", unit="g",
              read=grams, becomes=("payload",)),
        Field(key="hold", label="Held in the hand before letting go", unit="s",
              read=seconds(0.0, "5 s or 1 min"), becomes=("hold time",)),
        Field(key="bent", label="How it is bent", read=one_of(BENT)),
        Field(key="lever", label="From the thumb to the fingers",
              unit=f"{ANY_LENGTH}; how well kept as 40 ± 5",
              read=known_within(length, length_or_zero, "40 or 40 ± 5"),
              becomes=("lever", "lever factor")),
        Field(key="places", label="Places pressed in each bend",
              unit="empty: every 25 mm; as 3 ± 0 where they are marked",
              read=known_within(
                  _places, whole_number(least=0, most=MOST_PLACES_MISSED), "3 or 3 ± 0"
              ),
              becomes=("places", "places missed")),
        Field(key="presses", label="Times it is pressed into the pose",
              read=whole_number(least=1, most=20), becomes=("presses",)),
        Field(key="pause", label="Let go between two presses for", unit="s",
              read=seconds(1.0, "60 s or 2 min"), becomes=("press pause",)),
        Field(key="before", label="The pose before: start, angle, radius, swing of each bend",
              unit="mm, °, mm, °; ; between bends, “then” between poses, “straight”",
              read=_poses_before, becomes=("last bends", "last bend end"),
              example="12 50 45; 75 -100 42"),
        Field(key="before_time", label="Held in the pose before for",
              unit="hours; with ; between poses", read=several(hours, MOST_BEFORE),
              becomes=("last time",)),
        Field(key="further", label="Bent further in the hand than wanted",
              unit="times, with ; between bends; empty: as wanted",
              read=several(number(least=1.0), BEND_ROWS), becomes=("over-bend",),
              example="1.2; 1.1"),
        Field(key="poses", label="Poses it takes one after the other, each as “name: start, "
              "angle, radius of each bend”",
              unit="mm, °, mm; “then” between poses; empty: the one above alone",
              read=_named_poses, becomes=("poses", "pose name"),
              example="resting: 12 50 45 then looking: 12 20 45"),
        Field(key="poses_time", label="Stays in a pose before the next for", default="24",
              unit="hours; with ; between poses, or one for all", read=several(hours, MOST_POSES),
              becomes=("stays",)),
        Field(key="temperature", label="Temperature of the room",
              unit="°C; by a thermometer as 21 ± 1",
              read=known_within(
                  measured(CELSIUS, least=5.0, most=40.0, unit="°C"),
                  measured(CELSIUS, least=0.0, most=15.0, unit="K"),
                  "23 or 21 ± 1",
              ),
              becomes=("temperature", "temperature spread")),
        Field(key="share", label="Bend it should keep", unit="%", read=percent,
              becomes=("share to keep",)),
        Field(key="sag", label="The tip may sag by", unit=ANY_LENGTH, read=length,
              becomes=("sag allowed",)),
        Field(key="re_poses", label="The wire bears", unit="re-poses", default="50",
              read=number(least=1.0), becomes=("re-poses wanted",)),
        Field(key="probability", label="All of this with a probability of", unit="%",
              default="80", read=percent, becomes=("probability wanted",)),
        Field(key="tip", label="The tip stays within", unit="mm; empty: not asked",
              read=optional_length, becomes=("tip within",)),
        *_bend_fields(),
    ],
    defaults=_DEMO["demo"],
)  # fmt: skip
"""Every field of the limb form; the demo is the neck of the marsh heron with a resin fish in its
beak (invented)."""
DEFAULTS = default_form(FIELDS)
PRESETS: dict[str, dict[str, str]] = _DEMO["presets"]
"""Starting points, each as what differs from the demo (invented)."""
BLANK = {
    **{f"{key}{row}": "" for row in range(1, BEND_ROWS + 1) for key in BEND_KEYS},
    "outline": "round",
    "direction": "90",
    "payload": "0",
    "printed": PRINTED[2],
}
"""A straight limb to begin one's own with, as what differs from the demo."""


def plan_from_form(
    form: Form, name: str = "limb", *, own: tuple[Along, float] | None = None
) -> LimbPlan:
    """Return the limb question that a form asks.

    Parameters
    ----------
    form : mapping
        Field key to text; keys that are missing take the demo's text.
    name : str
        Of the limb.
    own : (Along, float), optional
        Outlines along the limb and its length [m], measured in a mesh; the form's own outline,
        length and curve are not read then.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, or the field that the inputs refuse.
    """
    reader = FormReader(form, FIELDS)
    rows = [row for row in range(1, BEND_ROWS + 1) if _is_typed(reader.form, row)]
    tip = TIP_FIELDS.get(reader.form["outline"], ()) if own is None else ()
    value = reader.values(
        [*_wanted(reader.form, own), *tip, *(f"{k}{row}" for row in rows for k in BEND_KEYS)]
    )
    outline: Outline | Along
    if own is not None:
        outline, value["length"] = own
    else:
        root = reader.build("outline", lambda: _outline(value))
        reader.stop_at_errors()
        outline = reader.built(tip[0], lambda: _along(value, root, tip))
    bends = [reader.build(f"start{row}", lambda row=row: _bend(value, row)) for row in rows]  # type: ignore[misc]
    reader.stop_at_errors()
    for row, bend in zip(rows, bends, strict=True):
        reader.build(f"start{row}", lambda bend=bend: _check_fits(bend, bends, value["length"]))  # type: ignore[misc]
    reader.stop_at_errors()
    further = reader.built("further", lambda: _bent_further(bends, value["further"]))
    setting = reader.built("before", lambda: _setting(value, further))
    value["poses"] = reader.built("poses", lambda: _poses(value, setting))
    return reader.built("length", lambda: _plan(value, outline, setting, name))


def _wanted(form: Form, own: object) -> list[str]:
    """Return the keys that a form has to be read by, without those of its bends."""
    left_out = {*(key for keys in OUTLINE_FIELDS.values() for key in keys)}
    left_out -= set(OUTLINE_FIELDS.get(form["outline"], ()))
    if own is not None:
        left_out = {"outline", "length", *CURLS}
        left_out |= {key for keys in OUTLINE_FIELDS.values() for key in keys}
    if form["metal"] == NO_WIRE:
        left_out |= {"metal", "wire", "strands", "anchored"}
    plain = [key for key, field in FIELDS.items() if not field.row and key not in left_out]
    return plain if own is not None else [*plain, CURLS[1]]


def _is_typed(form: Form, row: int) -> bool:
    return any(form[f"{key}{row}"].strip() for key in BEND_KEYS)


def _bend(value: Mapping[str, Any], row: int) -> Bend:
    start, angle, radius, swing = (value[f"{key}{row}"] for key in BEND_KEYS)
    return Bend(start=start, angle=angle, radius=radius, swing=swing)


def _check_fits(bend: Bend, bends: list[Bend], length: float) -> None:
    """Refuse a bend that ends beyond the limb or begins within another, at its own row."""
    if bend.end > length * (1 + 1e-9):
        rule = f"at most the limb length {1e3 * length:.3g} mm"
        raise refuse("bend end", rule, f"{1e3 * bend.end:.3g} mm")
    for other in bends:
        if other is not bend and other.start <= bend.start < other.end * (1 - 1e-9):
            rule = f"at least {1e3 * other.end:.3g} mm, where the bend before it ends"
            raise refuse("bend start", rule, f"{1e3 * bend.start:.3g} mm")


def _plan(
    value: Mapping[str, Any], outline: Outline | Along, setting: Setting, name: str
) -> LimbPlan:
    wire, orientation = _wire(value), value["printed"].split(",")[0]
    hole, sleeve = value["channel"], value["sleeve"]
    if hole is None:
        hole, sleeve = 0.0, sleeve if wire else 0.0  # without a wire nothing needs room
        if wire is not None:
            across = wire.bundle_diameter
            hole = size_channel(across, orientation, printer=value["printer"]).opening
    limb = Limb(
        elastomer=value["elastomer"],
        outline=outline,
        length=value["length"],
        wall=value["wall"],
        infill=value["infill"],
        infill_pattern=value["pattern"],
        channel_diameter=hole,
        channel_offset=(0.0, value["offset"]),
        sleeve=sleeve,
        wire=wire,
        channel_roofed=value["printed"] == PRINTED[0],
        inserted_before=value["inserted"],
        wire_anchored=wire is not None and value["anchored"] == ANCHORED[1],
    )
    return LimbPlan(
        name=name,
        limb=limb,
        setting=setting,
        wish=Wish(
            share=value["share"],
            sag=value["sag"],
            re_poses=value["re_poses"],
            probability=value["probability"],
            tip_within=value["tip"],
        ),
        printer=value["printer"],
        orientation=orientation,
        channel="sized" if value["channel"] is None else "typed",
        poses=value["poses"],
    )


def _setting(value: Mapping[str, Any], bends: tuple[Bend, ...]) -> Setting:
    poses, times = value["before"], value["before_time"]
    if poses and len(poses) != len(times):
        raise refuse("last time", f"{len(poses)}, one for each pose before", len(times))
    alone = len(poses) == 1 and bool(poses[0])
    (lever, off), (places, missed) = value["lever"], value["places"]
    temperature, apart = value["temperature"]
    known: dict[str, Any] = {}
    if off is not None:
        known["lever_factor"] = math.exp(off / lever)
    if missed is not None:
        known["places_missed"] = missed
    if apart is not None:
        known["temperature_spread"] = apart
    return Setting(
        bends=bends,
        clamp_angle=value["direction"],
        payload=value["payload"],
        hold_time=value["hold"],
        bent_by="hands" if value["bent"] == BENT[0] else "former",
        lever=lever,
        places=places or _usual_places(bends),
        presses=value["presses"],
        press_pause=value["pause"],
        last_bends=poses[0] if alone else tuple(zip(poses, times, strict=False)),
        last_time=times[0] if alone else 0.0,
        temperature=temperature,
        **known,
    )


def _bent_further(bends: list[Bend], factors: list[float]) -> tuple[Bend, ...]:
    if factors and len(factors) != len(bends):
        raise refuse("over-bend", f"{len(bends)}, one for each bend", len(factors))
    wanted = factors or [1.0] * len(bends)
    return tuple(replace(b, over_bend=f) for b, f in zip(bends, wanted, strict=True))


def _poses(value: Mapping[str, Any], setting: Setting) -> tuple[NamedPose, ...]:
    """Return the poses typed: the setting with other bends."""
    named, times = value["poses"], value["poses_time"]
    if named and len(times) not in (1, len(named)):
        raise refuse("stays", f"one time, or {len(named)}, one for each pose", len(times))
    stays = times if len(times) == len(named) else times * len(named)
    return tuple(
        NamedPose(
            name=called,
            setting=replace(
                setting,
                bends=bends,
                last_bends=(),
                last_time=0.0,
            ),
            stays=time,
        )
        for (called, bends), time in zip(named, stays, strict=True)
    )


def _along(value: Mapping[str, Any], root: Outline, tip: tuple[str, ...]) -> Outline | Along:
    """Return the outline along a limb: the one at the clamp where nothing changes."""
    typed = {key.removeprefix("tip_"): value[key] for key in tip if value[key] not in (None, ())}
    curls = tuple(zip((0.0, 1.0), (value[key] for key in CURLS), strict=True))
    if not typed and not any(curl for _, curl in curls):
        return root
    end = _outline({**value, **typed}) if typed else root
    return Along(stations=((0.0, root), (1.0, end)), natural_curvature=curls)


def _usual_places(bends: tuple[Bend, ...]) -> int:
    """Return one place for every 25 mm of the longest bend."""
    longest = max((abs(bend.angle) * bend.radius for bend in bends), default=0.0)
    return min(max(math.ceil(longest / PLACE_APART - 1e-9), 1), 20)


def _outline(value: Mapping[str, Any]) -> Outline:
    kind = value["outline"]
    if kind == "round":
        return Round(diameter=value["diameter"])
    if kind == "ellipse":
        return Ellipse(width=value["width"], height=value["height"])
    if kind == "rounded rectangle":
        return RoundedRectangle(
            width=value["width"], height=value["height"], corner_radius=value["corner"]
        )
    if kind == "free polygon":
        return Polygon(points=value["points"])
    return DShape(diameter=value["diameter"], flat_height=value["flat"])


def _wire(value: Mapping[str, Any]) -> Wire | None:
    if "metal" not in value:
        return None
    return Wire(metal=value["metal"], diameter=value["wire"], strands=value["strands"])
