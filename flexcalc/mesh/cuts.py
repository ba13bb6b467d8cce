"""Cut a surface with many planes at once: closed curves with their areas and moments.

A triangle that a plane crosses gives one segment, the material to its left seen against the
plane's normal. Green's sums over the segments give area, centroid and second moments exactly.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from data.rules import Array
from flexcalc.mesh.solid import Solid
from flexcalc.mesh.surface import Whole

AT_ONCE = 1_000_000
"""Pairs of a triangle and a plane that are held at once."""
BUNDLE = 32


@dataclass(frozen=True, kw_only=True, eq=False)
class Planes:
    """``origins``, ``xs``, ``ys`` and ``normals``, each (k, 3), x cross y the normal. [m]"""

    origins: Array = field(repr=False)
    xs: Array = field(repr=False)
    ys: Array = field(repr=False)
    normals: Array = field(repr=False)

    def __len__(self) -> int:
        return len(self.origins)

    def lifted(self, plane: Whole | slice, points: Array) -> Array:
        """Return points (n, 2) in planes as points (n, 3) in space."""
        x, y = points[:, :1], points[:, 1:]
        return np.asarray(self.origins[plane] + x * self.xs[plane] + y * self.ys[plane], float)


@dataclass(frozen=True, kw_only=True, eq=False)
class Curves:
    """All curves (l,) in which planes cut a surface.

    ``plane`` is the plane's number, ``area`` [m2] positive round material and negative round a
    hole, ``centroid`` (l, 2) [m], ``moments`` (l, 3) [m4] the integrals of y^2, x^2 and xy about
    it, ``winding`` how often the curve goes round the plane's origin, ``gap`` [m] what is
    missing to close it. ``segments`` (s, 4) hold x0, y0, x1, y1 [m], those of curve i from
    ``first[i]`` to ``first[i + 1]``; ``nodes`` (s, 2) the edges they run between and ``faces``
    (s,) the triangles they lie in.
    """

    plane: Whole = field(repr=False)
    area: Array = field(repr=False)
    centroid: Array = field(repr=False)
    moments: Array = field(repr=False)
    winding: Array = field(repr=False)
    gap: Array = field(repr=False)
    segments: Array = field(repr=False)
    first: Whole = field(repr=False)
    nodes: Whole = field(repr=False)
    faces: Whole = field(repr=False)

    def ring(self, curve: int) -> Array:
        """Return the corners (n, 2) of a curve in their order along it. [m]"""
        rows = slice(int(self.first[curve]), int(self.first[curve + 1]))
        starts, stops = self.nodes[rows].T
        ascending = np.argsort(starts, kind="stable")
        spot = np.searchsorted(starts[ascending], stops).clip(0, len(starts) - 1)
        ahead = ascending[spot]
        after = np.where(starts[ahead] == stops, ahead, -1).tolist()
        free = np.flatnonzero(~np.isin(starts, stops))
        row = int(free[0]) if len(free) else 0
        order: list[int] = []
        for _ in after:
            order.append(row)
            row = after[row]
            if row < 0:
                break
        return self.segments[rows][order, :2]


def planes_across(points: Array, tangents: Array, up: Array) -> Planes:
    """Return planes (k,) square to tangents (k, 3), y as near to ``up`` as that allows.

    Where the tangent runs nearly along ``up``, y is carried on from its neighbour.
    """
    ys = np.array(up - (tangents @ up)[:, None] * tangents)
    lengths = np.linalg.norm(ys, axis=1)
    good = lengths > 0.2
    if not good.any():
        spare = np.eye(3)[np.abs(tangents[0]).argmin()]
        ys[0] = spare - (tangents[0] @ spare) * tangents[0]
        good[0] = True
    start = int(np.flatnonzero(good)[0])
    for k in [*range(start + 1, len(ys)), *range(start - 1, -1, -1)]:
        if not good[k]:
            before = ys[k - 1] if k > start else ys[k + 1]
            ys[k] = before - (before @ tangents[k]) * tangents[k]
        ys[k] /= np.linalg.norm(ys[k])
    ys[start] /= np.linalg.norm(ys[start])
    return Planes(origins=points, xs=np.cross(ys, tangents), ys=ys, normals=tangents)


def cut(solid: Solid, planes: Planes) -> Curves:
    """Return the curves in which planes cut a solid's surface, ordered by plane."""
    parts = list(_segments(solid, planes))
    plane, face, start, stop, ends = (
        np.concatenate([part[column] for part in parts]) for column in range(5)
    )
    edges = len(solid.edges.uses)
    keys, numbers = np.unique(
        np.concatenate([plane * edges + start, plane * edges + stop]), return_inverse=True
    )
    tails, heads = numbers[: len(start)], numbers[len(start) :]
    graph = coo_array((np.ones(len(tails), np.int8), (tails, heads)), shape=(len(keys),) * 2)
    count, labels = connected_components(graph, directed=False)
    return _measured(count, labels[tails], plane, face, np.stack([tails, heads], 1), ends)


def _segments(solid: Solid, planes: Planes) -> Iterator[tuple[Whole, Whole, Whole, Whole, Array]]:
    """Yield plane, triangle, edges and ends (s, 4) of the segments, some planes at a time."""
    vertices, bundles = solid.vertices, bundles_of(solid)
    offsets = np.einsum("ij,ij->i", planes.normals, planes.origins)
    away = np.abs(planes.normals @ bundles.centres.T - offsets[:, None])
    near = away <= bundles.radii
    load = np.cumsum(near.sum(axis=1)) * BUNDLE
    low = 0
    while low < len(planes):
        high = int(np.searchsorted(load, (load[low - 1] if low else 0) + AT_ONCE)) + 1
        plane, bundle = np.nonzero(near[low:high])
        plane = np.repeat(plane + low, BUNDLE)
        face = bundles.faces[bundle].ravel()
        plane, face = plane[face >= 0], face[face >= 0]
        low = high
        corners = solid.triangles[face]
        nx, ny, nz = planes.normals[plane].T
        heights = []
        for corner in corners.T:
            x, y, z = vertices[corner].T
            heights.append(x * nx + y * ny + z * nz - offsets[plane])
        code = sum((heights[i] >= 0) * (1 << i) for i in range(3))
        crossed = (code > 0) & (code < 7)
        plane, face, corners, code = plane[crossed], face[crossed], corners[crossed], code[crossed]
        height = np.stack([values[crossed] for values in heights], 1)
        falling, rising = FALLING[code], RISING[code]
        ends = [_points(vertices, corners, height, start) for start in (falling, rising)]
        flat = []
        for spot in ends:
            beside = spot - planes.origins[plane]
            flat += [
                np.einsum("ij,ij->i", beside, planes.xs[plane]),
                np.einsum("ij,ij->i", beside, planes.ys[plane]),
            ]
        of = solid.edges.of
        yield plane, face, of[face, falling], of[face, rising], np.stack(flat, 1)


def _points(vertices: Array, corners: Whole, heights: Array, start: Whole) -> Array:
    """Return where the edges that start at a corner of each triangle cross the plane."""
    pick = np.arange(len(corners))
    after = (start + 1) % 3
    one, two = corners[pick, start], corners[pick, after]
    h1, h2 = heights[pick, start], heights[pick, after]
    # the lower corner first, so that both triangles of an edge find the same point
    swap = one > two
    one, two = np.where(swap, two, one), np.where(swap, one, two)
    h1, h2 = np.where(swap, h2, h1), np.where(swap, h1, h2)
    share = (h1 / (h1 - h2))[:, None]
    return np.asarray(vertices[one] * (1 - share) + vertices[two] * share, float)


@dataclass(frozen=True, kw_only=True, eq=False)
class Bundles:
    """Triangles that lie together: ``faces`` (b, BUNDLE) in balls ``centres`` (b, 3), ``radii``."""

    faces: Whole
    centres: Array
    radii: Array


@lru_cache(maxsize=4)
def bundles_of(solid: Solid) -> Bundles:
    """Sort triangles along a curve that fills space, and bundle them; the last one is repeated."""
    corners = solid.vertices[solid.triangles]
    middles = corners.mean(axis=1)
    low, span = middles.min(axis=0), np.ptp(middles, axis=0).max()
    grid = np.clip((middles - low) / (span or 1.0) * 1023, 0, 1023).astype(np.int64)
    key = np.zeros(len(grid), np.int64)
    for bit in range(10):
        for axis in range(3):
            key |= ((grid[:, axis] >> bit) & 1) << (3 * bit + axis)
    order = np.argsort(key, kind="stable")
    short = -len(order) % BUNDLE
    full = np.concatenate([order, np.full(short, order[-1])]).reshape(-1, BUNDLE)
    centres = middles[full].mean(axis=1)
    away = np.linalg.norm(corners[full] - centres[:, None, None], axis=3)
    if short:
        keep = np.arange(BUNDLE) < BUNDLE - short
        full[-1, ~keep] = -1
    return Bundles(faces=full, centres=centres, radii=away.max(axis=(1, 2)))


def _starts(falling: bool) -> Whole:
    """Return for each code of corners above the plane at which corner the edge starts."""
    table = np.zeros(8, np.int64)
    for code in range(1, 7):
        above = [bool(code >> corner & 1) for corner in range(3)]
        for corner in range(3):
            if above[corner] != above[(corner + 1) % 3] and above[corner] == falling:
                table[code] = corner
    return table


FALLING, RISING = _starts(True), _starts(False)


def _measured(
    count: int,
    labels: NDArray[np.int32],
    plane: Whole,
    faces: Whole,
    nodes: Whole,
    ends: Array,
) -> Curves:
    """Sort the segments by plane and curve, close what is open, and sum them up."""
    of_curve = np.zeros(count, np.int64)
    of_curve[labels] = plane
    rank = np.empty(count, np.int64)
    rank[np.argsort(of_curve, kind="stable")] = np.arange(count)
    curve = rank[labels]
    order = np.argsort(curve, kind="stable")
    curve, ends, nodes = curve[order], ends[order], nodes[order]
    chords, gaps = _chords(count, curve, ends, nodes)
    whose = np.concatenate([curve, chords[0]])
    x0, y0, x1, y1 = np.concatenate([ends, chords[1]]).T

    def total(values: Array) -> Array:
        return np.asarray(np.bincount(whose, weights=values, minlength=count), float)

    cross = x0 * y1 - x1 * y0
    area = total(cross) / 2
    safe = np.where(np.abs(area) > 1e-30, area, np.inf)
    cx, cy = total(cross * (x0 + x1)) / 6 / safe, total(cross * (y0 + y1)) / 6 / safe
    second = [
        total(cross * (y0 * y0 + y0 * y1 + y1 * y1)) / 12 - area * cy * cy,
        total(cross * (x0 * x0 + x0 * x1 + x1 * x1)) / 12 - area * cx * cx,
        total(cross * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0)) / 24 - area * cx * cy,
    ]
    turn = total(np.arctan2(cross, x0 * x1 + y0 * y1)) / (2 * np.pi)
    return Curves(
        plane=np.sort(of_curve),
        area=area,
        centroid=np.stack([cx, cy], 1),
        moments=np.stack(second, 1),
        winding=turn,
        gap=gaps,
        segments=ends,
        first=np.searchsorted(curve, np.arange(count + 1)),
        nodes=nodes,
        faces=faces[order],
    )


def _chords(
    count: int, curve: Whole, ends: Array, nodes: Whole
) -> tuple[tuple[Whole, Array], Array]:
    """Return straight pieces that close curves with two loose ends, and the gap of each curve."""
    size = int(nodes.max()) + 1 if len(nodes) else 0
    leave = np.bincount(nodes[:, 0], minlength=size)
    enter = np.bincount(nodes[:, 1], minlength=size)
    loose_start = np.flatnonzero(enter[nodes[:, 0]] < leave[nodes[:, 0]])
    loose_stop = np.flatnonzero(leave[nodes[:, 1]] < enter[nodes[:, 1]])
    gaps = np.zeros(count)
    one_start, one_stop = _alone(curve, loose_start), _alone(curve, loose_stop)
    both = np.intersect1d(curve[one_start], curve[one_stop])
    starts = one_start[np.isin(curve[one_start], both)]
    stops = one_stop[np.isin(curve[one_stop], both)]
    pieces = np.hstack([ends[stops, 2:], ends[starts, :2]])
    gaps[curve[loose_start]] = np.inf
    gaps[curve[loose_stop]] = np.inf
    gaps[both] = np.linalg.norm(pieces[:, 2:] - pieces[:, :2], axis=1)
    return (curve[starts], pieces), gaps


def _alone(curve: Whole, loose: Whole) -> Whole:
    """Return those of the loose segments that are the only ones of their curve."""
    counts = np.bincount(curve[loose])
    return np.asarray(loose[counts[curve[loose]] == 1] if len(loose) else loose, np.int64)


def faces_near(solid: Solid, start: Array, stop: Array) -> Array:
    """Return the corners (m, 3, 3) of all triangles that a straight piece may cross. [m]"""
    bundles = bundles_of(solid)
    along = stop - start
    share = np.clip((bundles.centres - start) @ along / max(float(along @ along), 1e-30), 0.0, 1.0)
    gap = np.linalg.norm(bundles.centres - start - share[:, None] * along, axis=1)
    faces = bundles.faces[gap <= bundles.radii].ravel()
    return np.asarray(solid.vertices[solid.triangles[faces[faces >= 0]]], float)
