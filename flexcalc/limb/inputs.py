"""What the maker has and wants: wires, limbs, bends and settings.

Everything is SI (m, kg, N, Pa, rad, s) and frozen. The admitted ranges are those of what is
printed at home; inside them a result carries cautions where nothing was tried.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from data import read_table
from data.rules import (
    check_choice,
    check_kind,
    check_number,
    check_numbers,
    check_whole,
    plain_numbers,
    refuse,
)
from flexcalc.limb.along import Along as Along
from flexcalc.limb.channel_fit import check_fit
from flexcalc.limb.outline import Outline, check_outline
from flexcalc.limb.substances import Elastomer as Elastomer
from flexcalc.limb.substances import Metal as Metal

BENT_BY = ("former", "hands")
MOST_BEFORE = 10
GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2], ISO 80000-3."""
INFILL_PATTERNS = ("lines", "isotropic")


@dataclass(frozen=True, kw_only=True)
class Wire:
    """A round armature wire of ``diameter`` [m], or ``strands`` of it twisted together."""

    metal: Metal
    diameter: float
    strands: int = 1

    def __post_init__(self) -> None:
        check_kind("wire metal", self.metal, Metal, "a Metal (see load_metal)")
        check_number("wire diameter", self.diameter, least=1e-4, most=0.02, unit="m")
        object.__setattr__(
            self, "strands", check_whole("wire strands", self.strands, least=1, most=7)
        )
        plain_numbers(self)

    @property
    def bundle_diameter(self) -> float:
        """Diameter of the circle around the touching strands. [m]

        Source: packing of equal circles in a circle, closed forms for 1 to 7.
        """
        packing = (1.0, 2.0, 1 + 2 / math.sqrt(3), 1 + math.sqrt(2), 2.70130, 3.0, 3.0)
        return self.diameter * packing[self.strands - 1]

    @property
    def mass_per_length(self) -> float:
        """Mass of the wire, strands added. [kg/m]"""
        return self.strands * self.metal.density * math.pi * self.diameter**2 / 4


@dataclass(frozen=True, kw_only=True)
class Limb:
    """A printed limb: outline, wall and infill, channel, sleeve and the wire in it.

    ``outline`` may change along the limb, see `Along`: what is said of its section is then said of
    the one half way, but where the whole limb or its weakest place is meant. ``length`` [m] from
    the clamp to the tip. ``wall`` [m], None for solid; ``infill`` is the
    relative density of the core inside the wall (0 leaves a bore). ``channel_diameter`` [m] and
    ``channel_offset`` (x, y) [m] from the outline's origin; ``sleeve`` [m] is the thickness of
    solid TPU printed around the channel. A hollow limb without infill or sleeve needs no
    channel: diameter 0 is then the bore itself. ``channel_roofed`` adds the 45 degree roof of a
    lying channel. ``infill_pattern`` is "lines" or, for gyroid and the like that are alike in all
    directions, "isotropic": lines prop a wall less against kinking.
    ``inserted_before`` [s]: how long a straight wire has been in a limb that
    was printed curved. ``wire_anchored`` says that the wire cannot turn about its own axis at the
    root: its end is bent or flattened and held in a slot.
    """

    elastomer: Elastomer
    outline: Outline | Along
    length: float
    wall: float | None = None
    infill: float = 0.0
    channel_diameter: float = 0.0
    channel_offset: tuple[float, float] = (0.0, 0.0)
    sleeve: float = 0.0
    wire: Wire | None = None
    channel_roofed: bool = False
    infill_pattern: str = "lines"
    inserted_before: float = 86400.0
    wire_anchored: bool = False

    def __post_init__(self) -> None:
        check_kind(
            "limb elastomer",
            self.elastomer,
            Elastomer,
            "an Elastomer (see load_elastomer)",
        )
        if not isinstance(self.outline, Along):
            check_outline("limb outline", self.outline)
        check_number("limb length", self.length, least=5e-3, most=1.0, unit="m")
        if self.wall is not None:
            check_number("wall", self.wall, least=1e-4, most=0.15, unit="m")
        check_number("infill", self.infill, least=0.0, most=1.0)
        check_choice("infill pattern", self.infill_pattern, INFILL_PATTERNS)
        check_number("channel diameter", self.channel_diameter, least=0.0, most=0.3, unit="m")
        check_number("sleeve", self.sleeve, least=0.0, most=0.15, unit="m")
        check_kind("channel roofed", self.channel_roofed, bool, "True or False")
        self._check_offset()
        if self.wire is not None:
            check_kind("limb wire", self.wire, Wire, "a Wire or None")
        check_number("inserted before", self.inserted_before, least=0.0, most=1e9, unit="s")
        check_kind("wire anchored", self.wire_anchored, bool, "True or False")
        plain_numbers(self)
        self._check_channel()
        in_bore = self.wire is not None and self.wire_runs_in_bore
        for outline in outlines_of(self):
            check_fit(
                outline,
                self.wall,
                self.channel_diameter,
                self.channel_offset,
                self.channel_roofed,
                bore_wire_diameter=self.wire.bundle_diameter if self.wire and in_bore else 0.0,
            )

    def _check_offset(self) -> None:
        place = check_numbers("channel offset", self.channel_offset, least=-0.3, most=0.3, unit="m")
        if place.shape != (2,):
            raise refuse("channel offset", "a pair (x, y)", self.channel_offset)
        object.__setattr__(self, "channel_offset", (float(place[0]), float(place[1])))

    def _check_channel(self) -> None:
        if self.sleeve > 0 and self.channel_diameter == 0:
            raise refuse("channel diameter", "above 0 m where there is a sleeve", 0)
        if self.wire is None or self.wire_runs_in_bore:
            return
        bundle = self.wire.bundle_diameter
        if self.channel_diameter < bundle * (1 - 1e-12):
            raise refuse(
                "wire diameter",
                f"at most the channel diameter {1e3 * self.channel_diameter:.3g} mm",
                f"{1e3 * bundle:.3g} mm",
            )

    @property
    def middle_outline(self) -> Outline:
        """The outline, half way along where it changes along the limb."""
        return self.outline.outline_at(0.5) if isinstance(self.outline, Along) else self.outline

    @property
    def wire_runs_in_bore(self) -> bool:
        """True where the wire lies in the bore of a hollow limb, without a channel of its own."""
        hollow = self.wall is not None and self.infill == 0 and self.sleeve == 0
        return hollow and self.channel_diameter == 0


def outlines_of(limb: Limb) -> tuple[Outline, ...]:
    """Return the outlines of a limb: its one, or those at its stations and half way between."""
    return _outlines_along(limb.outline) if isinstance(limb.outline, Along) else (limb.outline,)


@lru_cache(maxsize=64)
def _outlines_along(outline: Along) -> tuple[Outline, ...]:
    if outline.even:
        return (outline.stations[0][1],)
    middles = [(start + end) / 2 for start, end in itertools.pairwise(outline.shares)]
    return tuple(outline.outline_at(share) for share in sorted([*outline.shares, *middles]))


def limb_at(limb: Limb, share: float) -> Limb:
    """Return the limb with one outline, the one it has at a share of its length."""
    if not isinstance(limb.outline, Along):
        return limb
    return replace(limb, outline=limb.outline.outline_at(share))


@dataclass(frozen=True, kw_only=True)
class Bend:
    """One bend of a pose: from ``start`` [m] along the limb, by ``angle`` [rad] at ``radius`` [m].

    A positive angle curls upward (away from hanging down), a negative one downward. ``rigid``
    says that a corner piece holds it, so that it neither springs back nor sags. ``over_bend`` is
    how many times as far the same length of limb is bent in the hand, so that ``angle`` is left.
    ``swing`` [rad] turns the bend about the limb's own axis at its start: 0 is up, pi/2 to the
    left of someone who looks from root to tip, pi down.
    """

    start: float
    angle: float
    radius: float
    rigid: bool = False
    over_bend: float = 1.0
    swing: float = 0.0

    def __post_init__(self) -> None:
        check_number("bend start", self.start, least=0.0, most=1.0, unit="m")
        check_number("bend angle", self.angle, least=-4 * math.pi, most=4 * math.pi, unit="rad")
        check_number("bend radius", self.radius, least=5e-4, most=10.0, unit="m")
        check_kind("bend rigid", self.rigid, bool, "True or False")
        turns = 4 * math.pi / max(abs(self.angle), math.pi)
        check_number("over-bend", self.over_bend, least=1.0, most=turns)
        check_number("bend swing", self.swing, least=-2 * math.pi, most=2 * math.pi, unit="rad")
        plain_numbers(self)

    @property
    def curvature(self) -> float:
        """Signed curvature in the plane of the bend. [1/m]"""
        return math.copysign(1 / self.radius, self.angle) if self.angle else 0.0

    @property
    def hand_curvature(self) -> float:
        """Signed curvature in the hand, round a former. [1/m]"""
        return self.curvature * (1.0 if self.rigid else self.over_bend)

    @property
    def end(self) -> float:
        """Where the bend ends along the limb. [m]"""
        return self.start + abs(self.angle) * self.radius


def in_the_hand(bend: Bend) -> Bend:
    """Return a bend as the hand makes it: itself, or bent further by its own ``over_bend``."""
    check_kind("bend", bend, Bend, "a Bend")
    if bend.rigid or bend.over_bend == 1:
        return bend
    factor = bend.over_bend
    return replace(bend, angle=bend.angle * factor, radius=bend.radius / factor, over_bend=1.0)


MOST_LEVER_FACTOR, MOST_PLACES_MISSED = 5.0, 10


def _room_spread() -> float:
    row = read_table("constants")["room"]["temperature"]
    return (row.high - row.low) / 2


def _lever_factor() -> float:
    row = read_table("constants")["hand"]["bending_lever"]
    return math.sqrt(row.high / row.low)


def _places_missed() -> int:
    return round(read_table("constants")["hand"]["places_missed"].high)


@dataclass(frozen=True, kw_only=True)
class Setting:
    """How a limb is posed and loaded.

    ``clamp_angle`` [rad] is the direction of the limb at its clamp from straight down (0 hanging,
    pi/2 level, pi upright); ``payload`` [kg] hangs at the tip; ``hold_time`` [s] is how long the
    hand holds the pose before letting go, ``rest_time`` [s] how long after that one looks.

    ``bent_by`` a "former" each bend is an arc; by "hands" the thumb presses at ``places`` evenly
    along it, with fingers ``lever`` [m] away on both sides, and its radius only says how long
    it is. Where ``presses`` is above 1 the limb is let go for ``press_pause`` [s] and bent again.
    ``last_bends`` were held for ``last_time`` [s] before; of several poses before, the oldest
    first, each is a pair of its bends and its time, and the limb was bent from one straight into
    the next. ``temperature`` of the room [degrees Celsius], +/- ``temperature_spread`` [K];
    ``lever_factor`` (x/÷) is how well the lever is known: one standard deviation each. A hand may
    press ``places_missed`` more or fewer places than planned, where there are several.
    """

    bends: tuple[Bend, ...]
    clamp_angle: float
    payload: float = 0.0
    hold_time: float = 5.0
    rest_time: float = 0.0
    bent_by: str = "former"
    lever: float = 0.04
    places: int = 1
    presses: int = 1
    press_pause: float = 60.0
    last_bends: tuple[Bend, ...] | tuple[tuple[tuple[Bend, ...], float], ...] = ()
    last_time: float = 0.0
    temperature: float = 23.0
    temperature_spread: float = field(default_factory=lambda: _room_spread())
    lever_factor: float = field(default_factory=lambda: _lever_factor())
    places_missed: int = field(default_factory=lambda: _places_missed())

    def __post_init__(self) -> None:
        object.__setattr__(self, "bends", _checked_bends("setting bends", self.bends))
        object.__setattr__(self, "last_bends", _checked_before(self.last_bends, self.last_time))
        check_choice("bent by", self.bent_by, BENT_BY)
        check_number("lever", self.lever, least=1e-3, most=1.0, unit="m")
        object.__setattr__(self, "places", check_whole("places", self.places, least=1, most=20))
        object.__setattr__(self, "presses", check_whole("presses", self.presses, least=1, most=20))
        check_number("press pause", self.press_pause, least=1.0, most=1e9, unit="s")
        check_number("last time", self.last_time, least=0.0, most=1e9, unit="s")
        check_number("temperature", self.temperature, least=5.0, most=40.0, unit="degC")
        check_number("temperature spread", self.temperature_spread, least=0.0, most=15.0, unit="K")
        widest = MOST_LEVER_FACTOR
        check_number("lever factor", self.lever_factor, least=1.0, most=widest)
        missed = check_whole("places missed", self.places_missed, least=0, most=MOST_PLACES_MISSED)
        object.__setattr__(self, "places_missed", missed)
        check_number("clamp angle", self.clamp_angle, least=-math.pi, most=math.pi, unit="rad")
        check_number("payload", self.payload, least=0.0, most=5.0, unit="kg")
        check_number("hold time", self.hold_time, least=0.0, most=1e9, unit="s")
        check_number("rest time", self.rest_time, least=0.0, most=1e9, unit="s")
        plain_numbers(self)

    @property
    def poses_before(self) -> tuple[tuple[tuple[Bend, ...], float], ...]:
        """The poses before, the oldest first: pairs of bends and how long they were held [s]."""
        alone = tuple(bend for bend in self.last_bends if isinstance(bend, Bend))
        if alone:
            return ((alone, self.last_time),)
        return tuple(pair for pair in self.last_bends if not isinstance(pair, Bend))


def _checked_before(given: Iterable[Any], time: float) -> tuple[Any, ...]:
    """Return the bends of the pose before, or pairs of bends and time of several."""
    rule = "a sequence of Bend, or of pairs of them and their time"
    try:
        entries = tuple(given)
    except TypeError:
        raise refuse("last bends", rule, given) from None
    if all(isinstance(entry, Bend) for entry in entries):
        return _checked_bends("last bends", entries)
    if len(entries) > MOST_BEFORE:
        raise refuse("last bends", f"at most {MOST_BEFORE} poses", len(entries))
    if time != 0:
        raise refuse("last time", "0 where every pose before has its own", time)
    found = []
    for entry in entries:
        if not isinstance(entry, tuple | list) or len(entry) != 2:
            raise refuse("last bends", rule, entry)
        held = check_number("last time", entry[1], least=0.0, most=1e9, unit="s")
        found.append((_checked_bends("last bends", entry[0]), held))
    return tuple(found)


def _checked_bends(name: str, bends: Iterable[Bend]) -> tuple[Bend, ...]:
    """Return bends in their order along the limb, each beginning behind the one before."""
    try:
        ordered = tuple(sorted(bends, key=lambda bend: bend.start))
    except (TypeError, AttributeError):
        raise refuse(name, "a sequence of Bend", bends) from None
    if len(ordered) > 20:
        raise refuse(name, "at most 20", len(ordered))
    for bend in ordered:
        check_kind(name, bend, Bend, "a sequence of Bend")
    for first, second in itertools.pairwise(ordered):
        if second.start < first.end * (1 - 1e-9):
            raise refuse(
                "bend start",
                f"at least {1e3 * first.end:.3g} mm, where the bend before it ends",
                f"{1e3 * second.start:.3g} mm",
            )
    return ordered
