"""A figure: its limbs, where each is clamped, and the body that carries them.

Places on a figure are (forward, up, to its left) from a point of the maker's choice. Each limb lies
in an upright plane; ``facing`` turns that plane from forward to the left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from data.plain import object_of, plain_fields
from data.rules import (
    Array,
    check_kind,
    check_name,
    check_number,
    check_numbers,
    check_whole,
    plain_numbers,
    refuse,
)
from flexcalc.verdict.plan import LimbPlan, limb_plan_from

FARTHEST = 2.0
"""How far from the figure's own point anything may lie. [m]"""
MOST_LIMBS = 30


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a limb is clamped on its figure and what it is there for.

    ``at`` (forward, up, left) [m]; ``facing`` [rad] from forward to the left. With ``twin`` the
    figure has the limb twice, the second one mirrored to the other side. ``foot`` (length, width)
    [m] of the foot at its tip, (0, 0) where it does not stand on it. ``magnets`` in the limb,
    each ``magnet`` (diameter, thickness) [m].
    """

    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    facing: float = 0.0
    twin: bool = False
    foot: tuple[float, float] = (0.0, 0.0)
    magnets: int = 0
    magnet: tuple[float, float] = (0.005, 0.002)

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", _sizes("place", self.at, 3, -FARTHEST, FARTHEST))
        check_number("facing", self.facing, least=-math.pi, most=math.pi, unit="rad")
        check_kind("twin", self.twin, bool, "True or False")
        object.__setattr__(self, "foot", _sizes("foot", self.foot, 2, 0.0, 1.0))
        if (self.foot[0] > 0) != (self.foot[1] > 0):
            raise refuse("foot", "given with its length and its width, or with neither", self.foot)
        object.__setattr__(self, "magnets", check_whole("magnets", self.magnets, least=0, most=20))
        object.__setattr__(self, "magnet", _sizes("magnet", self.magnet, 2, 5e-4, 0.1))
        plain_numbers(self)

    @property
    def stands(self) -> bool:
        """True where the figure stands on the limb's tip."""
        return self.foot[0] > 0

    @property
    def count(self) -> int:
        """How many of the limb there are."""
        return 2 if self.twin else 1


@dataclass(frozen=True, kw_only=True)
class Body:
    """What carries the limbs, and all else that is no limb: ``mass`` [kg] and its middle ``at``."""

    mass: float = 0.0
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        check_number("body mass", self.mass, least=0.0, most=50.0, unit="kg")
        object.__setattr__(self, "at", _sizes("body place", self.at, 3, -FARTHEST, FARTHEST))
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class FigureLimb:
    """A limb of a figure: how it is made and posed, and where it is."""

    plan: LimbPlan
    place: Place = field(default_factory=Place)

    def __post_init__(self) -> None:
        check_kind("limb plan", self.plan, LimbPlan, "a LimbPlan")
        check_kind("limb place", self.place, Place, "a Place")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """Limbs and body under a name; no two limbs have the same name."""

    name: str
    limbs: tuple[FigureLimb, ...] = ()
    body: Body = field(default_factory=Body)

    def __post_init__(self) -> None:
        check_name("figure name", self.name)
        if not isinstance(self.limbs, (tuple, list)) or len(self.limbs) > MOST_LIMBS:
            raise refuse("figure limbs", f"at most {MOST_LIMBS} limbs", self.limbs)
        for limb in self.limbs:
            check_kind("figure limb", limb, FigureLimb, "a FigureLimb")
        object.__setattr__(self, "limbs", tuple(self.limbs))
        check_kind("figure body", self.body, Body, "a Body")


PLACE_FIELDS = ["at", "facing", "twin", "foot", "magnets", "magnet"]
BODY_FIELDS = ["mass", "at"]


def plain_place(place: Place) -> dict[str, Any]:
    """Return a place as plain data for a design file."""
    check_kind("limb place", place, Place, "a Place")
    return plain_fields(place, PLACE_FIELDS, {})


def place_from(value: object) -> Place:
    """Return the place that plain data describes; ValueError as the class refuses."""
    place: Place = object_of(Place, value, "place", PLACE_FIELDS, {})
    return place


def plain_body(body: Body) -> dict[str, Any]:
    """Return a body as plain data for a design file."""
    check_kind("figure body", body, Body, "a Body")
    return plain_fields(body, BODY_FIELDS, {})


def body_from(value: object) -> Body:
    """Return the body that plain data describes; ValueError as the class refuses."""
    body: Body = object_of(Body, value, "body", BODY_FIELDS, {})
    return body


def figure_from(design: Mapping[str, Any]) -> Figure:
    """Return the figure of a design, see `data.store.design.read_design`.

    Raises
    ------
    ValueError
        For a limb, a place or a body that is refused.
    """
    check_kind("design", design, Mapping, "a mapping of parts")
    places = design.get("places") or [{}] * len(design["limbs"])
    limbs = tuple(
        FigureLimb(plan=limb_plan_from(kept), place=place_from(place))
        for kept, place in zip(design["limbs"], places, strict=True)
    )
    body = design.get("body")
    return Figure(
        name=design["name"].strip() or "figure",
        limbs=limbs,
        body=Body() if body is None else body_from(body),
    )


def on_figure(line: ArrayLike, place: Place, twin: bool = False) -> Array:
    """Return a limb's points where they are on the figure.

    Parameters
    ----------
    line : array_like (n, 2) or (n, 3)
        From the clamp, ahead and up in the limb's plane, and to the left of it if given. [m]
    place : Place
        Where it is clamped.
    twin : bool
        True for the mirrored one.

    Returns
    -------
    ndarray (n, 3)
        Forward, up, to the left. [m]
    """
    points = check_numbers("line", line, least=-100.0, most=100.0, unit="m")
    if points.ndim != 2 or points.shape[1] not in (2, 3):
        raise refuse("line", "of shape (n, 2) or (n, 3)", points.shape)
    ahead, up = points[:, 0], points[:, 1]
    left = points[:, 2] if points.shape[1] == 3 else np.zeros(len(points))
    sine, cosine = math.sin(place.facing), math.cos(place.facing)
    made = np.column_stack([ahead * cosine - left * sine, up, ahead * sine + left * cosine])
    made = made + np.array(place.at)
    return np.asarray(made * np.array([1.0, 1.0, -1.0]) if twin else made, float)


def twins(place: Place) -> tuple[bool, ...]:
    """Return False for a limb and, where it has a twin, True for that."""
    return (False, True) if place.twin else (False,)


def _sizes(name: str, value: Sequence[float], count: int, least: float, most: float) -> Any:
    numbers = check_numbers(name, value, least=least, most=most, unit="m")
    if numbers.shape != (count,):
        raise refuse(name, f"{count} lengths", value)
    return tuple(float(number) for number in numbers)
