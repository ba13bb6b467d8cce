"""What the maker has and wants: metals, elastomers, wires, limbs, bends and settings.

Everything is SI (m, kg, N, Pa, rad, s) and frozen. The admitted ranges are wide on purpose:
outside them the thing is impossible at this scale, inside them a result carries cautions.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from data.rules import check_kind, check_number, check_whole, refuse
from flexcalc.outline import OUTLINES, Outline
from flexcalc.shape import check_fit

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2], ISO 80000-3."""


@dataclass(frozen=True, kw_only=True)
class Metal:
    """A wire metal: sigma = E eps, then K eps^n from the crossing on (Hollomon).

    ``elastic_modulus`` and ``strength_coefficient`` [Pa], ``hardening_exponent`` (0 is
    elastic-perfectly-plastic), ``density`` [kg/m3]. With ``yield_stress`` [Pa] given the law is
    Ludwik's, sigma_y + K p^n over the plastic strain p. ``strength_factor`` (x/÷) and
    ``exponent_spread`` (+/-) are one standard deviation each.
    """

    name: str
    elastic_modulus: float
    strength_coefficient: float
    hardening_exponent: float
    density: float
    yield_stress: float | None = None
    strength_factor: float = 1.12
    exponent_spread: float = 0.02

    def __post_init__(self) -> None:
        _check_name("metal name", self.name)
        check_number("metal elastic modulus", self.elastic_modulus, least=1e8, most=1e12, unit="Pa")
        check_number(
            "metal strength coefficient", self.strength_coefficient, least=1e5, most=1e10, unit="Pa"
        )
        check_number("metal hardening exponent", self.hardening_exponent, least=0.0, most=0.8)
        check_number("metal density", self.density, least=100.0, most=25000.0, unit="kg/m3")
        if self.yield_stress is not None:
            check_number("metal yield stress", self.yield_stress, least=1e5, most=1e10, unit="Pa")
        check_number("metal strength factor", self.strength_factor, least=1.0, most=3.0)
        check_number("metal exponent spread", self.exponent_spread, least=0.0, most=0.3)
        strongest = max(self.strength_coefficient, self.yield_stress or 0.0)
        if strongest > 0.2 * self.elastic_modulus:
            raise refuse("metal strength", "at most a fifth of the elastic modulus", strongest)


@dataclass(frozen=True, kw_only=True)
class Elastomer:
    """A printed TPU: sigma = E eps / (1 + (E|eps|/saturation)^1.7)^(1/1.7).

    ``elastic_modulus`` [Pa] at small strain, ten seconds after loading; ``density`` [kg/m3];
    ``poisson_ratio``; ``saturation_stress`` [Pa], ``math.inf`` for a linear one;
    ``relaxation_exponent`` m of E(t) = E(10 s) (t/10 s)^-m. ``modulus_factor`` (x/÷) and
    ``relaxation_spread`` (+/-) are one standard deviation each.
    """

    name: str
    elastic_modulus: float
    density: float
    poisson_ratio: float
    saturation_stress: float
    relaxation_exponent: float
    modulus_factor: float = 1.7
    relaxation_spread: float = 0.02

    def __post_init__(self) -> None:
        _check_name("elastomer name", self.name)
        check_number(
            "elastomer elastic modulus", self.elastic_modulus, least=1e4, most=1e10, unit="Pa"
        )
        check_number("elastomer density", self.density, least=100.0, most=5000.0, unit="kg/m3")
        check_number("elastomer poisson ratio", self.poisson_ratio, least=0.0, below=0.5)
        if self.saturation_stress != math.inf:
            check_number(
                "elastomer saturation stress", self.saturation_stress, least=1e4, unit="Pa"
            )
        check_number("elastomer relaxation exponent", self.relaxation_exponent, least=0.0, most=0.4)
        check_number("elastomer modulus factor", self.modulus_factor, least=1.0, most=5.0)
        check_number("elastomer relaxation spread", self.relaxation_spread, least=0.0, most=0.2)


@dataclass(frozen=True, kw_only=True)
class Wire:
    """A round armature wire of ``diameter`` [m], or ``strands`` of it twisted together."""

    metal: Metal
    diameter: float
    strands: int = 1

    def __post_init__(self) -> None:
        check_kind("wire metal", self.metal, Metal, "a Metal")
        check_number("wire diameter", self.diameter, least=5e-5, most=0.05, unit="m")
        check_whole("wire strands", self.strands, least=1, most=7)

    @property
    def bundle_diameter(self) -> float:
        """Diameter of the circle around the touching strands. [m]

        Source: packing of equal circles in a circle, closed forms for 1 to 7.
        """
        packing = (1.0, 2.0, 1 + 2 / math.sqrt(3), 1 + math.sqrt(2), 2.70130, 3.0, 3.0)
        return self.diameter * packing[self.strands - 1]


@dataclass(frozen=True, kw_only=True)
class Limb:
    """A printed limb: outline, wall and infill, channel, sleeve and the wire in it.

    ``length`` [m] from the clamp to the tip. ``wall`` [m], None for solid; ``infill`` is the
    relative density of the core inside the wall (0 leaves a bore). ``channel_diameter`` [m] and
    ``channel_offset`` (x, y) [m] from the outline's origin; ``sleeve`` [m] is the thickness of
    solid TPU printed around the channel. A hollow limb without infill or sleeve needs no
    channel: diameter 0 is then the bore itself. ``channel_roofed`` adds the 45 degree roof of a
    lying channel.
    """

    elastomer: Elastomer
    outline: Outline
    length: float
    wall: float | None = None
    infill: float = 0.0
    channel_diameter: float = 0.0
    channel_offset: tuple[float, float] = (0.0, 0.0)
    sleeve: float = 0.0
    wire: Wire | None = None
    channel_roofed: bool = False

    def __post_init__(self) -> None:
        check_kind("limb elastomer", self.elastomer, Elastomer, "an Elastomer")
        if not isinstance(self.outline, OUTLINES):
            raise refuse("limb outline", "one of the outlines", type(self.outline).__name__)
        check_number("limb length", self.length, least=1e-3, most=10.0, unit="m")
        if self.wall is not None:
            check_number("wall", self.wall, least=5e-5, most=0.5, unit="m")
        check_number("infill", self.infill, least=0.0, most=1.0)
        check_number("channel diameter", self.channel_diameter, least=0.0, most=1.0, unit="m")
        check_number("sleeve", self.sleeve, least=0.0, most=0.5, unit="m")
        self._check_offset()
        if self.wire is not None:
            check_kind("limb wire", self.wire, Wire, "a Wire or None")
        self._check_channel()
        check_fit(
            self.outline,
            self.wall,
            self.channel_diameter,
            self.channel_offset,
            self.channel_roofed,
            bore_wire_diameter=self.wire.bundle_diameter
            if self.wire is not None and self.wire_runs_in_bore
            else 0.0,
        )

    def _check_offset(self) -> None:
        try:
            x, y = self.channel_offset
        except (TypeError, ValueError):
            raise refuse("channel offset", "a pair (x, y)", self.channel_offset) from None
        for value in (x, y):
            check_number("channel offset", value, least=-1.0, most=1.0, unit="m")
        object.__setattr__(self, "channel_offset", (x, y))

    def _check_channel(self) -> None:
        if self.sleeve > 0 and self.channel_diameter == 0:
            raise refuse("channel diameter", "above 0 m where there is a sleeve", 0)
        if self.wire is None or self.wire_runs_in_bore:
            return
        bundle = self.wire.bundle_diameter
        if self.channel_diameter < bundle * (1 - 1e-12):
            raise refuse(
                "wire diameter",
                f"at most the channel diameter {self.channel_diameter:g} m",
                f"{bundle:g} m",
            )

    @property
    def wire_runs_in_bore(self) -> bool:
        """True where the wire lies in the bore of a hollow limb, without a channel of its own."""
        hollow = self.wall is not None and self.infill == 0 and self.sleeve == 0
        return hollow and self.channel_diameter == 0


@dataclass(frozen=True, kw_only=True)
class Bend:
    """One bend of a pose: from ``start`` [m] along the limb, by ``angle`` [rad] at ``radius`` [m].

    A positive angle curls upward (away from hanging down), a negative one downward.
    """

    start: float
    angle: float
    radius: float

    def __post_init__(self) -> None:
        check_number("bend start", self.start, least=0.0, most=10.0, unit="m")
        check_number("bend angle", self.angle, least=-4 * math.pi, most=4 * math.pi, unit="rad")
        check_number("bend radius", self.radius, least=5e-4, most=100.0, unit="m")

    @property
    def curvature(self) -> float:
        """Signed curvature. [1/m]"""
        return math.copysign(1 / self.radius, self.angle) if self.angle else 0.0

    @property
    def end(self) -> float:
        """Where the bend ends along the limb. [m]"""
        return self.start + abs(self.angle) * self.radius


@dataclass(frozen=True, kw_only=True)
class Setting:
    """How a limb is posed and loaded.

    ``clamp_angle`` [rad] is the direction of the limb at its clamp from straight down (0 hanging,
    pi/2 level, pi upright); ``payload`` [kg] hangs at the tip; ``hold_time`` [s] is how long the
    hand holds the pose before letting go, ``rest_time`` [s] how long after that one looks.
    """

    bends: tuple[Bend, ...]
    clamp_angle: float
    payload: float = 0.0
    hold_time: float = 5.0
    rest_time: float = 0.0

    def __post_init__(self) -> None:
        try:
            bends = tuple(sorted(self.bends, key=lambda bend: bend.start))
        except (TypeError, AttributeError):
            raise refuse("setting bends", "a sequence of Bend", self.bends) from None
        if len(bends) > 20:
            raise refuse("setting bends", "at most 20", len(bends))
        for bend in bends:
            check_kind("setting bends", bend, Bend, "a sequence of Bend")
        for first, second in itertools.pairwise(bends):
            if second.start < first.end * (1 - 1e-9):
                raise refuse(
                    "bend start",
                    f"at least {first.end:g} m, where the bend before it ends",
                    f"{second.start:g} m",
                )
        object.__setattr__(self, "bends", bends)
        check_number("clamp angle", self.clamp_angle, least=-math.pi, most=math.pi, unit="rad")
        check_number("payload", self.payload, least=0.0, most=100.0, unit="kg")
        check_number("hold time", self.hold_time, least=0.0, most=1e9, unit="s")
        check_number("rest time", self.rest_time, least=0.0, most=1e9, unit="s")


def _check_name(what: str, name: object) -> None:
    if not isinstance(name, str) or not name.strip() or len(name) > 80:
        raise refuse(what, "a text of 1 to 80 characters", name)
