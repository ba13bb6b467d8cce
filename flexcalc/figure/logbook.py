"""What happened to the limbs of a figure: built, re-posed, measured again, given a new wire.

An event is a line in the user's folder and is never changed; one written by mistake is taken back
by another. From them follow the re-poses a wire has borne and how its bend has held.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from data.rules import (
    check_choice,
    check_kind,
    check_name,
    check_number,
    check_numbers,
    check_text,
    check_whole,
    refuse,
)
from flexcalc.build.life import WireLife

KINDS = ("built", "re-posed", "angle read", "colour read", "new wire", "note", "taken back")
SOON = 0.8
"""Share of the least life from which a new wire is got."""
DAY = 86400.0


@dataclass(frozen=True, kw_only=True)
class Event:
    """One event of a limb, by its name, on a day ("2026-05-31").

    ``times`` of "re-posed"; ``bend`` (counted from 1) and ``angle`` [rad] of "angle read"; ``lab``
    of "colour read"; ``line`` (counted from 1) of "taken back"; ``note`` of any. The others are 0.
    """

    limb: str
    kind: str
    day: str
    times: int = 0
    bend: int = 0
    angle: float = 0.0
    lab: tuple[float, float, float] = (0.0, 0.0, 0.0)
    line: int = 0
    note: str = ""

    def __post_init__(self) -> None:
        check_name("limb name", self.limb)
        check_choice("event kind", self.kind, KINDS)
        _day(self.day)
        for name, most in (("times", 10**6), ("bend", 20), ("line", 10**6)):
            check_whole(f"event {name}", getattr(self, name), least=0, most=most)
        check_number("event angle", self.angle, least=0.0, most=4 * math.pi, unit="rad")
        lab = check_numbers("event lab", self.lab, least=-200.0, most=200.0)
        if lab.shape != (3,):
            raise refuse("event lab", "three numbers L*, a*, b*", self.lab)
        object.__setattr__(self, "lab", tuple(float(value) for value in lab))
        check_text("event note", self.note, 500, empty=True, lines=True)
        wanted = {"re-posed": "times", "angle read": "bend", "taken back": "line"}
        if self.kind in wanted and not getattr(self, wanted[self.kind]):
            raise refuse(f"event {wanted[self.kind]}", "at least 1", 0)


def plain_event(event: Event) -> dict[str, Any]:
    """Return an event as plain data, without what its kind does not use."""
    check_kind("event", event, Event, "an Event")
    made = {"limb": event.limb, "kind": event.kind, "day": event.day}
    for name in ("times", "bend", "angle", "line", "note"):
        if getattr(event, name):
            made[name] = getattr(event, name)
    return {**made, "lab": list(event.lab)} if event.kind == "colour read" else made


def event_from(value: Mapping[str, Any]) -> Event:
    """Return the event that plain data describes; ValueError for what is none."""
    check_kind("event", value, Mapping, "a mapping of fields")
    known = set(Event.__dataclass_fields__)
    for key in value:
        if key not in known:
            raise refuse("event field", "one of " + ", ".join(sorted(known)), key)
    try:
        return Event(**value)
    except TypeError as error:
        raise refuse("event", "given with limb, kind and day", error) from None


Lines = Sequence[Event | None]
"""The lines of a logbook: an event each, None where a line cannot be read."""


def events_from(found: Sequence[Mapping[str, Any]]) -> tuple[Event | None, ...]:
    """Return the events of a logbook's lines, None for an empty one, which could not be read.

    Errors as `event_from`.
    """
    return tuple(event_from(one) if one else None for one in found)


def whole_lines(lines: Lines) -> list[dict[str, Any]]:
    """Return the lines that can be read as plain data, their references to lines counted anew."""
    kept = [number for number, event in enumerate(lines, start=1) if event is not None]
    moved = {number: place for place, number in enumerate(kept, start=1)}
    made = []
    for event in lines:
        if event is not None:
            line = moved.get(event.line, len(lines) + 1) if event.line else 0
            made.append(plain_event(replace(event, line=line)))
    return made


def standing_events(lines: Lines) -> list[tuple[int, Event]]:
    """Return the events that stand with their lines, without those taken back."""
    events = [(n, event) for n, event in enumerate(lines, start=1) if event is not None]
    gone = {event.line for _, event in events if event.kind == "taken back"}
    return [(n, each) for n, each in events if n not in gone and each.kind != "taken back"]


def logged_names(limb: str, twin: bool) -> tuple[str, ...]:
    """Return under which names the logbook knows a limb: each of a pair has a wire of its own."""
    check_name("limb name", limb)
    return (limb, f"{limb[:72]}, twin") if twin else (limb,)


@dataclass(frozen=True, kw_only=True)
class LimbLog:
    """What the logbook says of one limb.

    ``used`` re-poses of the wire that is in it, the ``wires``-th; ``least`` and ``most`` re-poses
    that such a wire bears (0 where nothing bends); ``state`` is "fine", "soon" or "due". ``angles``
    are the readings since the limb was posed last, (bend, days after, angle [rad]); ``colours``
    the readings (day, CIELAB), the last one last. ``sentence`` says it.
    """

    limb: str
    used: int
    wires: int
    least: float
    most: float
    state: str
    angles: tuple[tuple[int, float, float], ...] = field(repr=False)
    colours: tuple[tuple[str, tuple[float, float, float]], ...] = field(repr=False)
    sentence: str

    def __str__(self) -> str:
        return self.sentence


def limb_log(limb: str, events: Lines, life: WireLife | None) -> LimbLog:
    """Return what events say of a limb whose wire has a ``life``, None where nothing bends."""
    check_name("limb name", limb)
    used, wires, posed = 0, 1, ""
    angles: list[tuple[int, float, float]] = []
    colours = []
    own = [event for _, event in standing_events(events) if event.limb == limb]
    for event in sorted(own, key=lambda event: event.day):
        if event.kind == "new wire":
            used, wires = 0, wires + 1
        if event.kind == "re-posed":
            used += event.times
        if event.kind in ("built", "new wire", "re-posed"):
            posed, angles = event.day, []
        if event.kind == "angle read" and posed:
            days = (_day(event.day) - _day(posed)).days
            angles.append((event.bend, float(days), event.angle))
        if event.kind == "colour read":
            colours.append((event.day, event.lab))
    least, most = (life.low, life.high) if life else (0.0, 0.0)
    state = "fine"
    if life and used >= SOON * least:
        state = "due" if used >= least else "soon"
    return LimbLog(
        limb=limb,
        used=used,
        wires=wires,
        least=least,
        most=most,
        state=state,
        angles=tuple(angles),
        colours=tuple(colours),
        sentence=_sentence(limb, used, least, most, state),
    )


def _sentence(limb: str, used: int, least: float, most: float, state: str) -> str:
    if not most:
        return f"{limb}: nothing in it wears out by bending."
    borne = f"{used} re-poses of {least:.0f} to {most:.0f} that its wire bears"
    if state == "due":
        return f"{limb}: the wire is due: {borne} are used up."
    if state == "soon":
        return f"{limb}: get a new wire: {borne} are used up, {least - used:.0f} are safe."
    return f"{limb}: {borne} are used up, {least - used:.0f} are safe."


def _day(text: object) -> date:
    check_kind("event day", text, str, "a day such as 2026-05-31")
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise refuse("event day", "a day such as 2026-05-31", text) from None
