"""The outlines of a limb along its line, for a limb whose section changes from root to wrist."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from data.rules import Array, check_whole, refuse
from flexcalc.mesh.cuts import Planes
from flexcalc.mesh.line import Line
from flexcalc.mesh.sections import Sections
from flexcalc.mesh.slices import UP, check_line, check_up, planes_at, section_area, sections_along
from flexcalc.mesh.solid import place
from flexcalc.mesh.surface import Surface

EDGE = 0.004
"""How far from an end its own outline is taken, a share of the limb: the end itself has none."""
PLAIN = 2e-3
"""How far an outline may be from the section's edge, a share of its radius."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LimbShape:
    """A limb from its root's end to its wrist, as a rod sees it.

    ``length`` [m]; ``share`` (n,) of it; ``outlines``, n polygons (corners, 2) [m] about the
    section's centroid, counter-clockwise seen against the line, y towards ``up``;
    ``natural_curvature`` (n, 2) [1/m], the line's curvature towards each section's x and y.
    """

    length: float
    share: Array = field(repr=False)
    outlines: tuple[Array, ...] = field(repr=False)
    natural_curvature: Array = field(repr=False)


def limb_shape(surface: Surface, line: Line, *, up: object = UP, stations: int = 41) -> LimbShape:
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
    inner = np.clip(share, EDGE, 1 - EDGE) * line.wrist_share
    sections = sections_along(surface, line, inner, check_up(up))
    outlines = tuple(_outline(sections, k) for k in range(count))
    return LimbShape(
        length=line.limb_length,
        share=share,
        outlines=outlines,
        natural_curvature=line_curvature(line, inner, planes_at(line, inner, check_up(up))),
    )


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
