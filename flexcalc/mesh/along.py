"""The outlines of a limb along its line, for a limb whose section changes from root to wrist."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from data.rules import Array, check_numbers, check_whole, refuse
from flexcalc.limb.along import Along
from flexcalc.limb.outline import Polygon
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.cuts import Planes
from flexcalc.mesh.sections import Sections
from flexcalc.mesh.slices import UP, check_line, check_up, planes_at, section_area, sections_along
from flexcalc.mesh.solid import place
from flexcalc.mesh.surface import Surface

ENDS = (0.004, 0.996)
"""Shares of the limb at which the outlines of its ends are taken: an end itself has none."""
CORNERS = 72
"""Corners of the polygons of `limb_along`."""
FOLD = 0.02
"""Angle by which an outline may run back as seen from its middle: the grain of a mesh. [rad]"""
SIDEWAYS = math.radians(10.0)
"""Turn of the line out of the bending plane from which the limb is followed in space."""
MOST_SPIN = 60.0
"""Greatest twist of the outlines' axes anywhere, times the length of the limb. [rad]"""
DENSE = 101
PLAIN = 2e-3
"""How far an outline may be from the section's edge, a share of its radius."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimbShape:
    """A limb from its root's end to its wrist, as a rod sees it.

    ``length`` [m]; ``share`` (n,) of it; ``outlines``, n polygons (corners, 2) [m] about the
    section's centroid, counter-clockwise seen against the line, y towards ``up``;
    ``natural_curvature`` (n, 2) [1/m], the line's curvature towards each section's x and y;
    ``natural_twist`` (n,) [rad/m], by which the sections' axes turn about the line.
    """

    length: float
    share: Array = field(repr=False)
    outlines: tuple[Array, ...] = field(repr=False)
    natural_curvature: Array = field(repr=False)
    natural_twist: Array = field(repr=False)


def limb_shape(
    surface: Surface,
    line: Line,
    *,
    up: object = UP,
    stations: int = 41,
    ends: tuple[float, float] = ENDS,
) -> LimbShape:
    """Return outlines and natural curvature from the root's end to the wrist.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`.
    up : (float, float, float)
        Direction that the outlines' y axis points to as nearly as it can.
    stations : int
        How many, 2 to 1000, the first and last close to the ends.
    ends : (float, float)
        Shares of the limb before and beyond which the outline is the one there.

    Returns
    -------
    LimbShape
        Outlines keep the section's area; holes in the mesh are left out.

    Raises
    ------
    ValueError
        Where a section crosses itself so much that it has no outline.
    """
    check_line(surface, line)
    count = check_whole("stations", stations, least=2, most=1000)
    share = np.linspace(0.0, 1.0, count)
    first, last = check_numbers("ends", ends, least=1e-6, most=1 - 1e-6).tolist()
    inner = np.clip(share, first, last) * line.wrist_share
    sections = sections_along(surface, line, inner, check_up(up))
    outlines = tuple(_outline(sections, k) for k in range(count))
    return LimbShape(
        length=line.limb_length,
        share=share,
        outlines=outlines,
        natural_curvature=line_curvature(line, inner, planes_at(line, inner, check_up(up))),
        natural_twist=_axes_twist(line, inner, check_up(up)),
    )


def limb_along(
    surface: Surface,
    line: Line,
    *,
    up: object = UP,
    stations: int = 41,
    ends: tuple[float, float] = ENDS,
) -> Along:
    """Return a limb's outlines along its length and its curvature as printed.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`; the limb ends at its wrist.
    up : (float, float, float)
        Upward when the limb stands in its figure: y of the outlines points there. What the line
        bends sideways is in it where it leaves its plane by more than SIDEWAYS.
    stations : int
        How many outlines, 2 to 50.
    ends : (float, float)
        Shares of the limb before and beyond which the outline is the one there.

    Returns
    -------
    Along
        Polygons of equally many corners at equal angles about the section's centroid.

    Raises
    ------
    ValueError
        For a section with folds, that a ray from its centroid meets more than once, naming where.
    """
    count = check_whole("stations", stations, least=2, most=50)
    shape = limb_shape(surface, line, up=up, stations=count, ends=ends)
    outlines = []
    for share, outline in zip(shape.share.tolist(), shape.outlines, strict=True):
        where = place(line.point_at(share * line.wrist_share))
        corners = _spokes(outline, where)
        points = tuple((float(x), float(y)) for x, y in corners)
        outlines.append((share, Polygon(points=points)))
    shares = shape.share.tolist()

    def pairs(values: Array) -> tuple[tuple[float, float], ...]:
        return tuple(zip(shares, values.tolist(), strict=True))

    towards_side, towards_up = shape.natural_curvature.T
    in_space = leaves_plane(line, check_up(up))
    return Along(
        stations=tuple(outlines),
        natural_curvature=pairs(towards_up),
        sideways_curvature=pairs(towards_side) if in_space else (),
        natural_twist=pairs(shape.natural_twist) if in_space else (),
    )


def sideways_turn(line: Line, up: Array) -> float:
    """Return how far a line turns out of the plane that holds ``up``, all turns added. [rad]"""
    shares = np.linspace(0.0, line.wrist_share, DENSE)
    bend = line_curvature(line, shares, planes_at(line, shares, up))
    return float(np.trapezoid(np.abs(bend[:, 0]), shares * line.length))


def leaves_plane(line: Line, up: Array) -> bool:
    """Tell whether a line leaves the plane that holds ``up`` by so much that it counts.

    Where it runs towards ``up`` itself the outlines' axes spin, and it is taken to stay.
    """
    shares = np.linspace(0.0, line.wrist_share, DENSE)
    spins = np.abs(_axes_twist(line, shares, up)).max() * line.limb_length > MOST_SPIN
    return bool(sideways_turn(line, up) > SIDEWAYS and not spins)


def _axes_twist(line: Line, shares: Array, up: Array) -> Array:
    """Return by how much (n,) the axes of planes across a line turn about it. [rad/m]"""
    inside = line.arc_length <= line.limb_length * (1 + 1e-9)
    arc = line.arc_length[inside]
    planes = planes_at(line, arc / line.length, up)
    turning = np.gradient(planes.ys, arc, axis=0)
    twist = -np.einsum("ij,ij->i", turning, planes.xs)
    return np.asarray(np.interp(shares * line.length, arc, twist))


def _spokes(outline: Array, where: str) -> Array:
    """Return an outline at equal angles about the origin, its area kept."""
    ring = np.vstack([outline, outline[:1]])
    # so many points to an edge that its straightness is kept between two angles
    share = np.arange(16) / 16
    dense = (ring[:-1, None] * (1 - share[:, None]) + ring[1:, None] * share[:, None]).reshape(
        -1, 2
    )
    turn = np.unwrap(np.arctan2(dense[:, 1], dense[:, 0]))
    if not (np.diff(turn) > -FOLD).all() or abs(turn[-1] - turn[0] - 2 * np.pi) > 1.0:
        raise refuse("section", "without folds as seen from its middle", f"one with, at {where}")
    order = np.argsort(turn)
    angles = 2 * np.pi * np.arange(CORNERS) / CORNERS
    reach = np.interp(angles, turn[order], np.hypot(*dense[order].T), period=2 * np.pi)
    corners = reach[:, None] * np.stack([np.cos(angles), np.sin(angles)], 1)
    grown = math.sqrt(_area(outline) / _area(corners))
    return np.asarray(corners * grown, float)


def _area(ring: Array) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def line_curvature(line: Line, shares: Array, planes: Planes) -> Array:
    """Return the curvature (n, 2) of a line towards the x and y axes of planes across it. [1/m]"""
    inside = line.arc_length <= line.limb_length * (1 + 1e-9)
    arc, tangents = line.arc_length[inside], line.tangents[inside]
    bend = np.gradient(tangents, arc, axis=0)
    at = np.stack([np.interp(shares * line.length, arc, column) for column in bend.T], 1)
    towards = [np.einsum("ij,ij->i", at, axis) for axis in (planes.xs, planes.ys)]
    return np.stack(towards, 1)


def _outline(sections: Sections, k: int) -> Array:
    """Return a section's outer edge with few corners and its own area, about its centroid."""
    from shapely import Polygon

    shape = section_area(sections, k)
    where = place(sections.planes.origins[k])
    if shape.area <= 0.9 * sections.area[k]:
        raise refuse("section", "an edge that does not cross itself", f"one that does at {where}")
    radius = float(np.sqrt(shape.area / np.pi))
    plain = Polygon(shape.exterior).simplify(PLAIN * radius)
    ring = np.asarray(plain.exterior.coords, float)[:-1]
    if plain.exterior.is_ccw is False:
        ring = ring[::-1]
    middle = np.array([plain.centroid.x, plain.centroid.y])
    grown = float(np.sqrt(sections.area[k] / plain.area))
    return np.asarray((ring - middle) * grown, float)
