"""Sections along the line of a limb: area, second moments, room inside and cover over the line."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from data.rules import Array, check_kind, check_numbers, check_whole, refuse
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.cuts import Planes, planes_across
from flexcalc.mesh.sections import Sections, sections_at
from flexcalc.mesh.solid import place, solid_of
from flexcalc.mesh.surface import Surface, Whole

UP = (0.0, 0.0, 1.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Slices:
    """Sections (n,) square to a line, in the middle of equal parts of its length.

    ``arc_length`` [m] and ``share`` of the length; ``area`` [m2] of the material; ``centroid``
    (n, 3) [m]; ``second_moments`` (n, 3) [m4] about it, the integrals of y^2, x^2 and xy, y
    towards ``up``; ``inscribed_radius`` [m] of the largest circle within the outer edge and
    ``roomiest`` (n, 3) [m] its middle; ``cover`` [m] the least distance from the line to the
    outer edge, negative outside; ``perimeter`` [m] of the outer edge; ``hole_diameter`` [m] of
    the largest hole already there, of a circle of its area, and ``hole_cover`` [m] the least
    distance from it to the outer edge, both 0 where there is none; ``height`` and ``width``
    (n, 2) [m] the lowest and highest y and x of the outer edge from the line; ``pieces`` how
    many sections the plane has there.
    """

    arc_length: Array = field(repr=False)
    share: Array = field(repr=False)
    area: Array = field(repr=False)
    centroid: Array = field(repr=False)
    second_moments: Array = field(repr=False)
    inscribed_radius: Array = field(repr=False)
    roomiest: Array = field(repr=False)
    cover: Array = field(repr=False)
    perimeter: Array = field(repr=False)
    hole_diameter: Array = field(repr=False)
    hole_cover: Array = field(repr=False)
    height: Array = field(repr=False)
    width: Array = field(repr=False)
    pieces: Whole = field(repr=False)


def check_line(surface: Surface, line: Line) -> None:
    """Refuse a line that is not that surface's."""
    check_kind("surface", surface, Surface, "a Surface")
    check_kind("line", line, Line, "a Line")
    if line.sha256 != surface.sha256:
        raise refuse("line", "the line of this mesh", "one of another file")


def check_up(up: object) -> Array:
    """Return a direction as a unit vector (3,)."""
    vector = check_numbers("up", up, least=-1e6, most=1e6)
    if vector.shape != (3,) or not np.linalg.norm(vector) > 0:
        raise refuse("up", "a direction (x, y, z)", up)
    return np.asarray(vector / np.linalg.norm(vector), float)


def planes_at(line: Line, shares: Array, up: Array) -> Planes:
    """Return planes square to a line at shares (n,) of its length."""
    return planes_across(line.point_at(shares), line.tangent_at(shares), up)


def sections_along(surface: Surface, line: Line, shares: Array, up: Array) -> Sections:
    """Return the sections of a limb at shares (n,) of its line.

    Raises
    ------
    ValueError
        Where the line leaves the body before its wrist.
    """
    planes = planes_at(line, shares, up)
    places = shares * line.length
    found = sections_at(solid_of(surface), planes, reach=2 * line.radius, places=places)
    lost = np.flatnonzero((found.main < 0) & (shares < line.wrist_share))
    if len(lost):
        spot = planes.origins[int(lost[0])]
        raise refuse("line", "within the body up to its wrist", f"none at {place(spot)}")
    return found


def limb_slices(surface: Surface, line: Line, count: int, *, up: object = UP) -> Slices:
    """Return sections in the middle of ``count`` equal parts of a line's length.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`.
    count : int
        1 to 1000.
    up : (float, float, float)
        Direction that the sections' y axis points to as nearly as it can.

    Returns
    -------
    Slices
        Arrays (count,).
    """
    check_line(surface, line)
    count = check_whole("count", count, least=1, most=1000)
    shares = (np.arange(count) + 0.5) / count
    sections = sections_along(surface, line, shares, check_up(up))
    area, centroid, moments = sections.net()
    rows = [_measures(sections, k) for k in range(count)]
    inscribed, rooms, cover, perimeter, hole, hole_cover = zip(*rows, strict=True)
    every = slice(None)
    return Slices(
        arc_length=shares * line.length,
        share=shares,
        area=area,
        centroid=sections.planes.lifted(every, centroid),
        second_moments=moments,
        inscribed_radius=np.array(inscribed),
        roomiest=sections.planes.lifted(every, np.array(rooms)),
        cover=np.array(cover),
        perimeter=np.array(perimeter),
        hole_diameter=np.array(hole),
        hole_cover=np.array(hole_cover),
        height=np.array([_extent(sections, k, 1) for k in range(count)]),
        width=np.array([_extent(sections, k, 0) for k in range(count)]),
        pieces=sections.pieces,
    )


def section_area(sections: Sections, k: int) -> Any:
    """Return section number ``k`` within its outer edge as a shapely Polygon, mended if crossed."""
    from shapely import Polygon, make_valid

    ring = sections.curves.ring(int(sections.main[k]))
    if len(ring) < 3:
        return Polygon()
    shape = Polygon(ring)
    if not shape.is_valid:
        parts = [make_valid(shape)]
        parts = [part for whole in parts for part in getattr(whole, "geoms", [whole])]
        parts = [part for part in parts if part.geom_type == "Polygon"]
        shape = max(parts, key=lambda part: part.area, default=Polygon())
    return shape


def _extent(sections: Sections, k: int, axis: int) -> tuple[float, float]:
    """Return the lowest and highest x or y of a section's outer edge, 0 where it is none. [m]"""
    if sections.main[k] < 0:
        return 0.0, 0.0
    curve = int(sections.main[k])
    rows = slice(int(sections.curves.first[curve]), int(sections.curves.first[curve + 1]))
    across = sections.curves.segments[rows, axis]
    return float(across.min()), float(across.max())


def _measures(sections: Sections, k: int) -> tuple[float, Any, float, float, float, float]:
    """Return inscribed radius and middle, cover, perimeter, hole's diameter and its cover."""
    from shapely import Point, Polygon, maximum_inscribed_circle

    if sections.main[k] < 0:
        return 0.0, (0.0, 0.0), 0.0, 0.0, 0.0, 0.0
    shape = section_area(sections, k)
    if shape.area <= 0:
        return 0.0, (0.0, 0.0), 0.0, 0.0, 0.0, 0.0
    outer = Polygon(shape.exterior)
    spoke = maximum_inscribed_circle(outer, tolerance=1e-3 * np.sqrt(outer.area))
    middle = spoke.coords[0]
    here = Point(0.0, 0.0)
    cover = outer.exterior.distance(here)
    diameter, hole_cover = 0.0, 0.0
    for hole in sections.holes[k]:
        size = float(np.sqrt(-4 * sections.curves.area[hole] / np.pi))
        if size > diameter:
            ring = Polygon(sections.curves.ring(hole))
            diameter, hole_cover = size, float(outer.exterior.distance(ring))
    return (
        float(spoke.length),
        middle,
        float(cover if outer.contains(here) else -cover),
        float(outer.exterior.length),
        diameter,
        hole_cover,
    )
