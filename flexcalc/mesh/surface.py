"""A surface of triangles: what was read, what is wrong with it, and how its edges hang together."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from data.rules import Array, Caution, check_kind, refuse

Whole = NDArray[np.int64]
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "inch": 25.4e-3}
"""Units that a maker may name. [m]"""
LIKELY = (0.015, 0.8)
"""Longest side of a limb that a maker is likely to print. [m]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """Triangles as they were read, corners that fall together made one.

    ``vertices`` (n, 3) [m] and ``triangles`` (m, 3), seen from outside counter-clockwise if the
    file is right; ``unit`` is the unit of the file, "mm", "cm", "m", "inch" or one that only a
    3MF knows, ``per_unit`` its length [m]; ``dropped`` triangles had no area and are left out;
    ``sha256`` is that of the file.
    """

    vertices: Array = field(repr=False)
    triangles: Whole = field(repr=False)
    unit: str
    per_unit: float
    dropped: int
    sha256: str
    cautions: tuple[Caution, ...]

    def __post_init__(self) -> None:
        corners, faces = self.vertices, self.triangles
        if corners.ndim != 2 or corners.shape[1] != 3 or not np.isfinite(corners).all():
            raise refuse("vertices", "finite numbers in three columns", corners.shape)
        if faces.ndim != 2 or faces.shape[1] != 3 or len(faces) < 4:
            raise refuse("mesh", "a body of at least four triangles", f"{len(faces)} triangles")
        if faces.min() < 0 or faces.max() >= len(corners):
            raise refuse("triangles", f"numbers of corners below {len(corners)}", faces.max())

    @property
    def size(self) -> tuple[float, float, float]:
        """Extent along x, y and z. [m]"""
        x, y, z = np.ptp(self.vertices, axis=0).tolist()
        return x, y, z


@dataclass(frozen=True, kw_only=True)
class Health:
    """What a look at the triangles finds.

    ``triangles`` kept and ``dropped``; ``bodies`` that share no corner; ``open_edges`` with one
    triangle and ``crowded_edges`` with more than two; ``turned``: some triangles had their
    inside out; ``volume`` [m3] of all bodies together, overlaps counted once where the surface
    is closed; ``likely_units``: those in which the longest side is that of a limb, millimetres
    first; ``size`` [m] along x, y, z.
    """

    triangles: int
    dropped: int
    bodies: int
    open_edges: int
    crowded_edges: int
    closed: bool
    turned: bool
    volume: float
    likely_units: tuple[str, ...]
    size: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Edges:
    """Edges of triangles: ``of`` (m, 3) numbers the edges that start at each corner.

    ``ends`` (e, 2) corners in ascending order; ``uses`` (e,) triangles at each; ``forward``
    (m, 3) tells whether the triangle runs from the lower corner to the higher.
    """

    of: Whole
    ends: Whole
    uses: Whole
    forward: NDArray[np.bool_]

    @property
    def consistent(self) -> NDArray[np.bool_]:
        """Edges (e,) whose triangles run along them once in each direction, as they should."""
        along = np.bincount(self.of[self.forward], minlength=len(self.uses))
        return np.asarray(2 * along == self.uses, np.bool_)


def likely_units(longest: float) -> tuple[str, ...]:
    """Return the units in which a longest side of so many units is a limb's."""
    low, high = LIKELY
    return tuple(unit for unit, length in UNITS.items() if low <= longest * length <= high)


def edges_of(triangles: Whole) -> Edges:
    """Return the edges of triangles (m, 3)."""
    start, stop = triangles, np.roll(triangles, -1, axis=1)
    low, high = np.minimum(start, stop), np.maximum(start, stop)
    count = int(triangles.max()) + 1
    keys, of, uses = np.unique(low * count + high, return_inverse=True, return_counts=True)
    return Edges(
        of=of.reshape(triangles.shape),
        ends=np.stack([keys // count, keys % count], axis=1),
        uses=uses,
        forward=np.asarray(start < stop, np.bool_),
    )


@lru_cache(maxsize=4)
def surface_edges(surface: Surface) -> Edges:
    """Return the edges of a surface as it was read."""
    return edges_of(surface.triangles)


def body_labels(triangles: Whole, corners: int) -> Whole:
    """Return the number of the body (m,) of each triangle; bodies share no corner."""
    first, second, third = triangles.T
    pairs = (np.concatenate([first, second]), np.concatenate([second, third]))
    graph = coo_array((np.ones(len(pairs[0]), np.int8), pairs), shape=(corners, corners))
    _, labels = connected_components(graph, directed=False)
    _, numbers = np.unique(labels[first], return_inverse=True)
    return np.asarray(numbers, np.int64)


def corner_volumes(corners: Array, triangles: Whole) -> Array:
    """Return the signed volumes (m,) between each triangle and the middle of the corners. [m3]"""
    a, b, c = (corners - corners.mean(axis=0))[triangles.T]
    return np.asarray(np.einsum("ij,ij->i", a, np.cross(b, c)) / 6, float)


def surface_health(surface: Surface) -> Health:
    """Return what is right and wrong with a surface."""
    from flexcalc.mesh.solid import solid_of

    check_kind("surface", surface, Surface, "a Surface")
    edges = surface_edges(surface)
    solid = solid_of(surface)
    labels = body_labels(surface.triangles, len(surface.vertices))
    return Health(
        triangles=len(surface.triangles),
        dropped=surface.dropped,
        bodies=int(labels.max()) + 1,
        open_edges=int((edges.uses == 1).sum()),
        crowded_edges=int((edges.uses > 2).sum()),
        closed=bool((edges.uses == 2).all()),
        turned=solid.turned,
        volume=float(corner_volumes(solid.vertices, solid.triangles).sum()),
        likely_units=likely_units(max(surface.size) / surface.per_unit),
        size=surface.size,
    )
