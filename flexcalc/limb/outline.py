"""Outlines of a limb's cross-section: what the slicer sees when it cuts across the limb.

x runs sideways and y upwards in the bending plane; the limb bends about x. The origin is the
centre of the drawn shape (for a D, the centre of its circle).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from data.rules import check_number, plain_numbers, refuse

SMALLEST, LARGEST = 5e-4, 0.3


@dataclass(frozen=True, kw_only=True)
class Round:
    """A circle of ``diameter`` [m]."""

    diameter: float

    def __post_init__(self) -> None:
        check_number("outline diameter", self.diameter, least=SMALLEST, most=LARGEST, unit="m")
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class Ellipse:
    """An ellipse ``width`` [m] along x by ``height`` [m] along y."""

    width: float
    height: float

    def __post_init__(self) -> None:
        check_number("outline width", self.width, least=SMALLEST, most=LARGEST, unit="m")
        check_number("outline height", self.height, least=SMALLEST, most=LARGEST, unit="m")
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class RoundedRectangle:
    """A rectangle ``width`` by ``height`` [m] with corners of ``corner_radius`` [m]."""

    width: float
    height: float
    corner_radius: float

    def __post_init__(self) -> None:
        check_number("outline width", self.width, least=SMALLEST, most=LARGEST, unit="m")
        check_number("outline height", self.height, least=SMALLEST, most=LARGEST, unit="m")
        half = min(self.width, self.height) / 2
        check_number("corner radius", self.corner_radius, least=0.0, most=half, unit="m")
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class DShape:
    """A circle of ``diameter`` [m] with a flat cut across its bottom, to print lying down.

    ``flat_height`` [m] is how far the flat stands above the lowest point of the whole circle;
    a negative value is read as the drawing's other dimension, the y of the flat measured from
    the circle's centre (-0.003 for a flat 3 mm below it).
    """

    diameter: float
    flat_height: float

    def __post_init__(self) -> None:
        check_number("outline diameter", self.diameter, least=SMALLEST, most=LARGEST, unit="m")
        radius = self.diameter / 2
        check_number(
            "flat height", self.flat_height, above=-radius, below=0.95 * self.diameter, unit="m"
        )
        if self.flat_height == 0:
            raise refuse("flat height", "other than 0 (a circle without a flat is Round)", 0)
        plain_numbers(self)

    @property
    def flat_y(self) -> float:
        """y of the flat, from the centre of the circle. [m]"""
        return self.flat_height if self.flat_height < 0 else self.flat_height - self.diameter / 2


@dataclass(frozen=True, kw_only=True)
class Polygon:
    """A free closed outline; ``points`` are its corners ((x, y), ...) [m], each once."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        try:
            points = tuple((x, y) for x, y in self.points)
        except (TypeError, ValueError):
            raise refuse("outline points", "pairs (x, y)", type(self.points).__name__) from None
        if not 3 <= len(points) <= 2000:
            raise refuse("outline points", "3 to 2000 corners", f"{len(points)}")
        if not all(
            type(value) is float and abs(value) <= LARGEST for pair in points for value in pair
        ):
            points = tuple((_coordinate(x), _coordinate(y)) for x, y in points)
        object.__setattr__(self, "points", points)

    @cached_property
    def _hash(self) -> int:
        # what is kept of an outline is asked for by it a hundred thousand times a table of wires
        return hash(self.points)

    def __hash__(self) -> int:
        return self._hash


def _coordinate(value: object) -> float:
    return check_number("outline point", value, least=-LARGEST, most=LARGEST, unit="m")


Outline: TypeAlias = Round | Ellipse | RoundedRectangle | DShape | Polygon
OUTLINES = (Round, Ellipse, RoundedRectangle, DShape, Polygon)


def check_outline(name: str, value: object) -> None:
    """Raise the ValueError if ``value`` is not an outline."""
    if not isinstance(value, OUTLINES):
        raise refuse(name, "one of the outlines", type(value).__name__)
