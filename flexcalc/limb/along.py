"""An outline that changes along the limb, and a limb that is printed curved.

Between two stations every size of the outline changes evenly. The section at a share of the
length is a plain outline there, so everything that is known of plain outlines holds for it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np

from data.rules import check_kind, check_number, refuse
from flexcalc.limb.outline import OUTLINES, DShape, Outline, Polygon

RESAMPLED = 180
"""Corners of polygons that had different numbers of them, at equal angles about their middles."""
TIGHTEST = 1e3  # 1/m


@dataclass(frozen=True, kw_only=True)
class Along:
    """Outlines along a limb, and its curvature as printed.

    ``stations``: pairs of a share of the length and the outline there, the first share 0, the
    last 1, rising; all of one kind. ``natural_curvature``: pairs of a share and the curvature
    there [1/m], positive as a positive `Bend.angle`, straight in between; a limb without them is
    printed straight. ``sideways_curvature`` likewise, positive to the left of someone who looks
    from root to tip, and ``natural_twist`` [rad/m], by which the outlines turn from root to tip,
    clockwise to him where it is positive; both about the axes of the outlines, whose x points to
    the left.
    """

    stations: tuple[tuple[float, Outline], ...]
    natural_curvature: tuple[tuple[float, float], ...] = ()
    sideways_curvature: tuple[tuple[float, float], ...] = ()
    natural_twist: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        stations = _pairs("outline stations", self.stations)
        for _, outline in stations:
            check_kind("outline stations", outline, OUTLINES, "pairs (share, outline)")
        kinds = {type(outline) for _, outline in stations}
        if len(kinds) > 1:
            names = " and ".join(sorted(kind.__name__ for kind in kinds))
            raise refuse("outline stations", "outlines of one kind", names)
        object.__setattr__(self, "stations", _alike(stations))
        for name in ("natural_curvature", "sideways_curvature", "natural_twist"):
            object.__setattr__(self, name, _bent(name.replace("_", " "), getattr(self, name)))

    @property
    def even(self) -> bool:
        """True where the outline is the same all along."""
        return all(outline == self.stations[0][1] for _, outline in self.stations)

    @property
    def shares(self) -> tuple[float, ...]:
        """Shares of the length at which the outline's change has a corner, from 0 to 1."""
        return (0.0, 1.0) if self.even else tuple(share for share, _ in self.stations)

    def outline_at(self, share: float) -> Outline:
        """Return the outline at a share of the length."""
        place = check_number("share of the length", share, least=0.0, most=1.0)
        for (start, first), (end, second) in itertools.pairwise(self.stations):
            if place <= end:
                return _mixed(first, second, (place - start) / (end - start))
        return self.stations[-1][1]

    def natural_at(self, share: float) -> float:
        """Return the curvature as printed at a share of the length. [1/m]"""
        place = check_number("share of the length", share, least=0.0, most=1.0)
        if not self.natural_curvature:
            return 0.0
        places, values = zip(*self.natural_curvature, strict=True)
        return float(np.interp(place, places, values))


def _bent(name: str, values: Iterable[Any]) -> tuple[tuple[float, float], ...]:
    """Return pairs of a share and a curvature, none where all of them are 0."""
    if not _given(values):
        return ()
    pairs = tuple(
        (share, check_number(name, value, least=-TIGHTEST, most=TIGHTEST))
        for share, value in _pairs(name, values)
    )
    return pairs if any(value for _, value in pairs) else ()


def _given(pairs: object) -> bool:
    return not (isinstance(pairs, tuple | list) and len(pairs) == 0)


def _pairs(name: str, values: Iterable[Any]) -> tuple[tuple[float, Any], ...]:
    try:
        pairs = tuple((share, value) for share, value in values)
    except (TypeError, ValueError):
        raise refuse(name, "pairs of a share and a value", type(values).__name__) from None
    if not 2 <= len(pairs) <= 50:
        raise refuse(name, "2 to 50 pairs", len(pairs))
    shares = [check_number(f"{name} share", share, least=0.0, most=1.0) for share, _ in pairs]
    if shares[0] != 0 or shares[-1] != 1:
        raise refuse(name, "from share 0 to share 1", f"{shares[0]:g} to {shares[-1]:g}")
    for before, after in itertools.pairwise(shares):
        if after - before < 1e-6:
            raise refuse(name, "shares that rise", f"{before:g} then {after:g}")
    return tuple((share, value) for share, (_, value) in zip(shares, pairs, strict=True))


def _alike(stations: tuple[tuple[float, Outline], ...]) -> tuple[tuple[float, Outline], ...]:
    """Return stations whose polygons have equally many corners, whose flats are measured alike."""
    first = stations[0][1]
    if isinstance(first, Polygon):
        counts = {len(outline.points) for _, outline in stations if isinstance(outline, Polygon)}
        if len(counts) > 1:
            return tuple(
                (share, _resampled(outline))
                for share, outline in stations
                if isinstance(outline, Polygon)
            )
    # a flat is told in two ways; from the lowest point of the circle it can be mixed
    return tuple(
        (share, replace(outline, flat_height=outline.flat_y + outline.diameter / 2))
        if isinstance(outline, DShape)
        else (share, outline)
        for share, outline in stations
    )


def _resampled(outline: Polygon) -> Polygon:
    """Return a polygon's outline at equal angles about its middle.

    Raises
    ------
    ValueError
        Where a ray from the middle meets the outline more than once.
    """
    from shapely import LineString, Point
    from shapely import Polygon as Area

    area = Area(outline.points)
    middle = area.centroid
    reach = 2 * max(Point(corner).distance(middle) for corner in outline.points)
    corners = []
    for angle in np.arange(RESAMPLED) * (2 * math.pi / RESAMPLED):
        end = (middle.x + reach * math.cos(angle), middle.y + reach * math.sin(angle))
        met = LineString([(middle.x, middle.y), end]).intersection(area)
        if met.geom_type != "LineString" or met.is_empty:
            rule = "polygons of equally many corners, or ones without folds seen from the middle"
            raise refuse("outline stations", rule, f"{len(outline.points)} corners")
        corners.append(tuple(met.coords[-1]))
    return Polygon(points=tuple((float(x), float(y)) for x, y in corners))


@lru_cache(maxsize=1024)
def _mixed(first: Outline, second: Outline, share: float) -> Outline:
    if share == 0 or first == second:
        return first
    if share == 1:
        return second
    if isinstance(first, Polygon) and isinstance(second, Polygon):
        mixed = (1 - share) * np.array(first.points) + share * np.array(second.points)
        return Polygon(points=tuple((float(x), float(y)) for x, y in mixed))
    sizes = {
        field.name: (1 - share) * getattr(first, field.name) + share * getattr(second, field.name)
        for field in fields(first)
    }
    return type(first)(**sizes)
