"""What a maker reads on the bench: a drooping strip, a sprung wire, pins, a limb let go or kinked.

Errors are one standard deviation of the reading, repeated; the defaults are rows of
data/constants.csv (bench measurement).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TypeAlias

from data import read_table
from data.rules import Caution, check_choice, check_kind, check_number, plain_numbers, refuse
from flexcalc.limb.inputs import Limb
from flexcalc.limb.outline import Outline, check_outline
from flexcalc.limb.printer import ORIENTATIONS
from flexcalc.pose.retained import check_wire_fits

MOST_DROP = 0.9
"""Greatest droop that is inverted, as a share of the length."""
DULL = 2.0
"""Relative error of a result over that of its reading, above which the reading is dull."""


def bench_constant(quantity: str) -> float:
    """Return a usual error of the bench, by the name of its row."""
    return read_table("constants")["bench measurement"][quantity].value


@dataclass(frozen=True, kw_only=True)
class Droop:
    """A printed strip or bare limb, clamped level, that hangs under its own weight alone.

    ``length`` [m] beyond the clamp; ``drop`` [m] of its tip below the clamp, read ``time`` [s]
    after it was let hang; ``outline``, ``wall`` and ``infill`` as it was printed, its flat side
    down (bent about x). ``error`` is the repeat error as a share of the drop, ``thickness_error``
    that of the thickness: the modulus goes as one over its square.
    """

    length: float
    drop: float
    outline: Outline
    wall: float | None = None
    infill: float = 0.0
    time: float = 10.0
    error: float = field(default_factory=lambda: bench_constant("droop_error"))
    thickness_error: float = field(default_factory=lambda: bench_constant("thickness_error"))

    def __post_init__(self) -> None:
        length = check_number("droop length", self.length, least=5e-3, most=1.0, unit="m")
        check_outline("droop outline", self.outline)
        most = MOST_DROP * length
        check_number("droop drop", self.drop, least=1e-5 * length, most=most, unit="m")
        if self.wall is not None:
            check_number("droop wall", self.wall, least=1e-4, most=0.15, unit="m")
        check_number("droop infill", self.infill, least=0.0, most=1.0)
        check_number("droop time", self.time, least=0.1, most=1e8, unit="s")
        check_number("droop error", self.error, least=1e-4, most=0.5)
        check_number("thickness error", self.thickness_error, least=0.0, most=0.5)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class MandrelBend:
    """A straight annealed wire wound tightly round a mandrel and let go.

    ``wire_diameter`` and ``mandrel_diameter`` [m]; ``angle_before`` [rad] wound round the
    mandrel, whole turns counted, and ``angle_after`` [rad] that the same piece keeps.
    ``error`` [rad] of the angle sprung back.
    """

    wire_diameter: float
    mandrel_diameter: float
    angle_before: float
    angle_after: float
    error: float = field(default_factory=lambda: bench_constant("angle_error"))

    def __post_init__(self) -> None:
        wire = check_number("wire diameter", self.wire_diameter, least=1e-4, most=0.02, unit="m")
        check_number("mandrel diameter", self.mandrel_diameter, least=wire, most=1.0, unit="m")
        check_number("angle before", self.angle_before, least=0.05, most=200.0, unit="rad")
        check_number("angle after", self.angle_after, least=0.0, below=self.angle_before)
        check_number("mandrel error", self.error, least=1e-4, most=1.0, unit="rad")
        plain_numbers(self)

    @property
    def curvature(self) -> float:
        """Curvature of the wire's middle on the mandrel. [1/m]"""
        return 2 / (self.mandrel_diameter + self.wire_diameter)


@dataclass(frozen=True, kw_only=True)
class PinGauge:
    """A printed strip of holes and the pins of known size that enter them.

    ``drawn_diameters`` [m] of the holes and ``pins`` [m], for each hole the largest pin that
    enters; the pin ``step`` [m] larger does not. ``orientation``: how the holes were printed.
    ``error`` [m]: how much holes of one size scatter.
    """

    drawn_diameters: tuple[float, ...]
    pins: tuple[float, ...]
    orientation: str
    step: float = 1e-4
    error: float = field(default_factory=lambda: bench_constant("hole_error"))

    def __post_init__(self) -> None:
        check_choice("pin gauge orientation", self.orientation, ORIENTATIONS)
        drawn = _numbers("drawn diameters", self.drawn_diameters)
        pins = _numbers("pins", self.pins)
        if len(drawn) != len(pins):
            raise refuse("pins", f"one for each of the {len(drawn)} holes", f"{len(pins)}")
        check_number("pin step", self.step, least=1e-6, most=2e-3, unit="m")
        check_number("hole error", self.error, least=1e-6, most=1e-3, unit="m")
        for hole, pin in zip(drawn, pins, strict=True):
            if not -5e-4 < hole - pin < min(2e-3, hole):
                raise refuse(
                    "pins", "from 0.5 mm over to 2 mm under their hole", f"{pin:g} m in {hole:g} m"
                )
        object.__setattr__(self, "drawn_diameters", drawn)
        object.__setattr__(self, "pins", pins)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class PoseTest:
    """A limb with its wire, bent to an arc by hand and let go, lying so that no weight bends it.

    ``limb`` with the materials as assumed; ``radius`` [m] of the arc as set, to the limb's
    middle; ``angle_set`` and ``angle_kept`` [rad]; held for ``hold_time`` [s] and read
    ``rest_time`` [s] after letting go. ``error`` [rad] of both readings together.
    """

    limb: Limb
    radius: float
    angle_set: float
    angle_kept: float
    hold_time: float = 5.0
    rest_time: float = 0.0
    error: float = field(default_factory=lambda: bench_constant("pose_error"))

    def __post_init__(self) -> None:
        check_kind("pose test limb", self.limb, Limb, "a Limb")
        if self.limb.wire is None:
            raise refuse("pose test limb", "one with a wire", "none")
        check_number("pose test radius", self.radius, least=5e-4, most=10.0, unit="m")
        most = min(self.limb.length / self.radius, 4 * math.pi) * (1 + 1e-9)
        angle = check_number("angle set", self.angle_set, least=0.05, most=most, unit="rad")
        slack = check_number("pose error", self.error, least=1e-4, most=1.0, unit="rad")
        check_number("angle kept", self.angle_kept, least=0.0, most=angle + 3 * slack, unit="rad")
        check_number("hold time", self.hold_time, least=0.0, most=1e9, unit="s")
        check_number("rest time", self.rest_time, least=0.0, most=1e9, unit="s")
        check_wire_fits(self.limb.wire, 1 / self.radius)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class KinkTest:
    """A limb bent round ever thinner mandrels until it kinks, or creases inside if it is solid.

    ``limb`` as it was printed; ``held_diameter`` [m] of the thinnest mandrel that it goes round
    without a kink, ``kinked_diameter`` [m] of the thickest at which it kinks. ``error`` is one
    standard deviation of the logarithm of the radius from limb to limb.
    """

    limb: Limb
    held_diameter: float
    kinked_diameter: float
    error: float = field(default_factory=lambda: bench_constant("kink_error"))

    def __post_init__(self) -> None:
        check_kind("kink test limb", self.limb, Limb, "a Limb")
        held = check_number("held diameter", self.held_diameter, above=0.0, most=10.0, unit="m")
        check_number("kinked diameter", self.kinked_diameter, least=0.0, below=held, unit="m")
        check_number("kink error", self.error, least=1e-3, most=0.5)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One number that a reading yields, in SI.

    ``error`` is one standard deviation: a factor (x/÷, 1 or more) where ``as_factor``, else in
    the unit of ``value``.
    """

    name: str
    unit: str
    value: float
    error: float
    as_factor: bool
    cautions: tuple[Caution, ...] = ()


Reading: TypeAlias = Droop | MandrelBend | PinGauge | PoseTest | KinkTest
READINGS = (Droop, MandrelBend, PinGauge, PoseTest, KinkTest)


def _numbers(name: str, values: object) -> tuple[float, ...]:
    rule = "a sequence of 1 to 200 numbers"
    if isinstance(values, str | bytes):
        raise refuse(name, rule, values)
    try:
        numbers: tuple[object, ...] = tuple(values)  # type: ignore[arg-type]
    except TypeError:
        raise refuse(name, rule, type(values).__name__) from None
    if not 1 <= len(numbers) <= 200:
        raise refuse(name, rule, f"{len(numbers)}")
    return tuple(check_number(name, one, least=2e-4, most=0.1, unit="m") for one in numbers)
