"""A body from the side, drawn from slices across its longest axis, and its two ends."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from data.rules import Array, check_kind, check_numbers, refuse
from flexcalc.mesh.centreline.route import even_samples, rough_route
from flexcalc.mesh.cuts import Planes, cut
from flexcalc.mesh.solid import Solid, body_of, body_triangles, solid_of
from flexcalc.mesh.surface import Surface

SLICES = 160
FEW = 2000
"""Triangles with which a body is drawn as it is turned."""
COARSE, COARSER, MOST_ROUNDS = 2e-4, 1.6, 16
"""Share of its size by which a body may move first to have fewer of them, how much more each time
after, and how often."""
INNER = (0.25, 0.7)
"""Shares of the way from one end to the other between which thickness tells root from wrist."""
TILTED = np.array([1.0, 2.0, 3.0]) * 1e-3
"""Which way an axis points where both would do: along the file's own, its last first."""


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """A body from the side on which it is largest.

    ``origin`` (3,) [m] and ``axes`` (2, 3), to the right and up; ``rings``, outlines (n, 2) [m]
    of what is seen, holes as well; ``spots`` (n, 3) [m] spread over the surface.
    """

    origin: Array = field(repr=False)
    axes: Array = field(repr=False)
    rings: tuple[Array, ...] = field(repr=False)
    spots: Array = field(repr=False)

    def flat(self, points: object) -> Array:
        """Return points (n, 3) as seen (n, 2). [m]"""
        given = check_numbers("points", points, least=-1e3, most=1e3, unit="m")
        if given.ndim != 2 or given.shape[1] != 3:
            raise refuse("points", "of shape (n, 3)", given.shape)
        return np.asarray((given - self.origin) @ self.axes.T, float)

    def spot_at(self, seen: object) -> Array:
        """Return the point (3,) on the surface that is seen nearest to a place (2,). [m]"""
        place = check_numbers("place", seen, least=-1e3, most=1e3, unit="m")
        if place.shape != (2,):
            raise refuse("place", "a pair (x, y)", place.shape)
        found = cKDTree(self.flat(self.spots)).query(place)[1]
        return np.asarray(self.spots[int(found)], float)


def side_view(surface: Surface) -> View:
    """Return a body from the side on which it is largest."""
    check_kind("surface", surface, Surface, "a Surface")
    solid = solid_of(surface)
    spots, _ = even_samples(solid.vertices, solid.triangles)
    origin = (solid.vertices.min(axis=0) + solid.vertices.max(axis=0)) / 2
    _, _, axes = np.linalg.svd(spots - spots.mean(axis=0), full_matrices=False)
    towards = np.sign((axes[:2] + TILTED).sum(axis=1))
    axes = axes[:2] * np.where(towards == 0, 1.0, towards)[:, None]
    return View(origin=origin, axes=axes, rings=_rings(solid, origin, axes), spots=spots)


def ends_of(surface: Surface) -> Array:
    """Return the two ends (2, 3) of a body, points on its surface. [m]

    First the one towards which the body is thicker farther in, where neither hand nor torso is.
    """
    check_kind("surface", surface, Surface, "a Surface")
    solid = solid_of(surface)
    spots, _ = even_samples(solid.vertices, solid.triangles)
    far = spots - spots.mean(axis=0)
    first, _ = rough_route(solid, spots[int((far**2).sum(axis=1).argmax())])
    middles, radii = rough_route(solid, first[-1])
    ends = middles[[0, -1]]
    place = np.linspace(0.0, 1.0, len(radii))
    inner = (place > INNER[0]) & (place < INNER[1])
    if inner.sum() > 1 and np.polyfit(place[inner], radii[inner], 1)[0] > 0:
        ends = ends[::-1]
    return np.asarray(spots[cKDTree(spots).query(ends)[1]], float)


def few_triangles(surface: Surface) -> Array:
    """Return corners (m, 3, 3) of about FEW triangles that look like a closed body. [m]

    Raises
    ------
    ValueError
        For a surface that is not closed.
    """
    check_kind("surface", surface, Surface, "a Surface")
    body = body_of(surface)
    slack = COARSE * max(surface.size)
    for _ in range(MOST_ROUNDS):
        if body.num_tri() <= FEW:
            break
        body, slack = body.simplify(slack), COARSER * slack
    vertices, triangles = body_triangles(body)
    return np.asarray(vertices[triangles], float)


def _rings(solid: Solid, origin: Array, axes: Array) -> tuple[Array, ...]:
    """Return the outlines of all that is between the slices' lowest and highest places."""
    from shapely import Polygon, unary_union

    right, up = axes
    along = (solid.vertices - origin) @ right
    low, high = float(along.min()), float(along.max())
    places = np.linspace(low, high, SLICES + 1)
    inner = np.clip(places, low + 1e-3 * (high - low), high - 1e-3 * (high - low))
    every = np.ones((len(places), 1))
    # x cross y is the normal: up, then across, then right
    planes = Planes(
        origins=origin + inner[:, None] * right,
        xs=every * up,
        ys=every * np.cross(right, up),
        normals=every * right,
    )
    spans = _spans(solid, planes)
    pieces = []
    for k, (here, after) in enumerate(itertools.pairwise(spans)):
        x0, x1 = places[k], places[k + 1]
        for a, b in here:
            for c, d in after:
                if min(b, d) > max(a, c):
                    pieces.append(Polygon([(x0, a), (x1, c), (x1, d), (x0, b)]))
    grain = (high - low) * 1e-4
    seen = unary_union([piece.buffer(grain, join_style="mitre") for piece in pieces])
    found = []
    for part in getattr(seen.simplify(grain), "geoms", [seen.simplify(grain)]):
        found += [np.asarray(ring.coords, float) for ring in (part.exterior, *part.interiors)]
    return tuple(found)


def _spans(solid: Solid, planes: Planes) -> list[list[tuple[float, float]]]:
    """Return from where to where material lies along x in each plane, apart from one another."""
    curves = cut(solid, planes)
    spans: list[list[tuple[float, float]]] = [[] for _ in range(len(planes))]
    for number in np.flatnonzero(curves.area > 0).tolist():
        rows = slice(int(curves.first[number]), int(curves.first[number + 1]))
        across = curves.segments[rows, 0]
        spans[int(curves.plane[number])].append((float(across.min()), float(across.max())))
    return [_merged(sorted(each)) for each in spans]


def _merged(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[Any] = []
    for low, high in ordered:
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged
