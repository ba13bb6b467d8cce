"""From triangles as read to a body whose inside is known: turned outward, overlaps made one."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from data.rules import Array, Caution, refuse
from flexcalc.mesh.surface import (
    Edges,
    Surface,
    Whole,
    body_labels,
    corner_volumes,
    edges_of,
    surface_edges,
)

MOST_TRIANGLES = 300_000
"""Above this many a surface is simplified first."""
SIMPLIFIED = 1e-5
"""How far simplifying may move the skin. [m]"""
FINEST = 1e-6
"""Detail that is kept where a channel is cut. [m]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Solid:
    """A body of triangles seen from outside counter-clockwise.

    ``closed``: nothing open, crowded or one-sided; ``turned``: some triangles had to be turned;
    ``edges`` are those of ``triangles``.
    """

    vertices: Array = field(repr=False)
    triangles: Whole = field(repr=False)
    edges: Edges = field(repr=False)
    closed: bool
    turned: bool
    cautions: tuple[Caution, ...]


@lru_cache(maxsize=4)
def solid_of(surface: Surface) -> Solid:
    """Return the body of a surface; an open one is turned outward as far as that has a sense."""
    triangles, edges = surface.triangles, surface_edges(surface)
    if (edges.uses > 2).any():
        triangles = _without_doubles(triangles)
        edges = edges_of(triangles)
    triangles, edges, vertices = _unpinched(surface.vertices, triangles, edges)
    turned = False
    if not edges.consistent[edges.uses == 2].all():
        triangles, turned = _one_sided(triangles, edges), True
        edges = edges_of(triangles)
    labels = body_labels(triangles, len(vertices))
    flipped = _inside_out(vertices, triangles, labels)
    if flipped.any():
        triangles, turned = np.where(flipped[labels, None], triangles[:, ::-1], triangles), True
        edges = edges_of(triangles)
    closed = bool((edges.uses == 2).all() and edges.consistent.all())
    read = len(triangles)
    if closed and (labels.any() or read > MOST_TRIANGLES):
        body = joined_body(vertices, triangles, labels)
        closed = body is not None
        if closed:
            vertices, triangles = body_triangles(body)
            edges = edges_of(triangles)
    mended = None if closed or not labels.any() else _mended(vertices, triangles, edges)
    cautions = _cautions(read, vertices, triangles, edges, closed, mended is not None)
    if mended is not None:
        vertices, triangles = mended
        edges = edges_of(triangles)
    return Solid(
        vertices=vertices,
        triangles=triangles,
        edges=edges,
        closed=closed,
        turned=turned,
        cautions=cautions,
    )


@lru_cache(maxsize=2)
def body_of(surface: Surface) -> Any:
    """Return the exact solid (of manifold3d) of a closed surface, for cutting: with no more
    triangles than its shape needs, to a micrometre.

    Raises
    ------
    ValueError
        For a surface that is not closed.
    """
    solid = solid_of(surface)
    body = manifold_of(solid.vertices, solid.triangles) if solid.closed else None
    if body is None:
        where = _bad_place(surface.vertices, surface_edges(surface))
        raise refuse("mesh", "closed before a channel is cut: mend it", where)
    return body.simplify(FINEST)


def printed_skin(surface: Surface) -> float:
    """Return the area of a surface's body, overlaps of its parts left out. [m2]"""
    solid = solid_of(surface)
    a, b, c = solid.vertices[solid.triangles.T]
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def manifold_of(vertices: Array, triangles: Whole) -> Any:
    """Return the exact solid of closed triangles, or None if they are none."""
    import manifold3d

    mesh = manifold3d.Mesh64(
        np.ascontiguousarray(vertices, np.float64), np.ascontiguousarray(triangles, np.uint64)
    )
    body = manifold3d.Manifold(mesh)
    good = body.status() == manifold3d.Error.NoError and not body.is_empty()
    return body if good else None


def body_triangles(body: Any) -> tuple[Array, Whole]:
    """Return vertices (n, 3) and triangles (m, 3) of an exact solid."""
    mesh = body.to_mesh64()
    vertices = np.array(mesh.vert_properties, float)[:, :3].copy()
    triangles = np.array(mesh.tri_verts, np.int64)
    if len(mesh.merge_from_vert):
        same = np.arange(len(vertices))
        same[np.asarray(mesh.merge_from_vert, np.int64)] = np.asarray(mesh.merge_to_vert, np.int64)
        triangles = same[triangles]
    return vertices, triangles


def solid_from(body: Any) -> Solid:
    """Return the triangles of an exact solid."""
    vertices, triangles = body_triangles(body)
    return Solid(
        vertices=vertices,
        triangles=triangles,
        edges=edges_of(triangles),
        closed=True,
        turned=False,
        cautions=(),
    )


def joined_body(vertices: Array, triangles: Whole, labels: Whole) -> Any:
    """Return one exact solid of all bodies, voids kept as voids; None if one is no solid."""
    import manifold3d

    volumes = np.bincount(labels, weights=corner_volumes(vertices, triangles))
    solids: list[Any] = []
    voids: list[Any] = []
    for label, volume in enumerate(volumes):
        faces = triangles[labels == label]
        used, numbers = np.unique(faces, return_inverse=True)
        faces = numbers.reshape(faces.shape)
        body = manifold_of(vertices[used], faces if volume > 0 else faces[:, ::-1])
        if body is None:
            return None
        (solids if volume > 0 else voids).append(body)
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    if voids:
        whole = whole - manifold3d.Manifold.batch_boolean(voids, manifold3d.OpType.Add)
    if len(triangles) > MOST_TRIANGLES:
        whole = whole.simplify(SIMPLIFIED)
    return None if whole.is_empty() else whole


def _mended(vertices: Array, triangles: Whole, edges: Edges) -> tuple[Array, Whole] | None:
    """Return open bodies as one whose holes are filled, for its sections; None if that fails.

    Bodies that overlap count once only if their insides are known. Each hole is closed with
    triangles from its edge to its middle.
    """
    once = edges.uses[edges.of] == 1
    if not once.any() or not (edges.uses <= 2).all():
        return None
    ends = np.stack([triangles, np.roll(triangles, -1, axis=1)], 2)[once]
    start, stop = ends.T
    size = len(vertices)
    if (np.bincount(start, minlength=size) != np.bincount(stop, minlength=size)).any():
        return None
    graph = coo_array((np.ones(len(start), np.int8), (start, stop)), shape=(size, size))
    _, labels = connected_components(graph, directed=False)
    _, hole = np.unique(labels[start], return_inverse=True)
    count = np.bincount(hole)
    middles = np.stack([np.bincount(hole, axis) / count for axis in vertices[start].T], 1)
    filled = np.vstack([triangles, np.stack([stop, start, size + hole], 1)])
    corners = np.vstack([vertices, middles])
    body = joined_body(corners, filled, body_labels(filled, len(corners)))
    return None if body is None else body_triangles(body)


def _without_doubles(triangles: Whole) -> Whole:
    """Return triangles of which no two have the same three corners.

    Of two that look the same way one is kept, of two that look opposite ways none.
    """
    turn = np.argmin(triangles, axis=1)[:, None]
    low, middle, high = np.take_along_axis(triangles, (np.arange(3) + turn) % 3, 1).T
    odd = middle > high
    ordered = np.stack([low, np.minimum(middle, high), np.maximum(middle, high)], 1)
    _, first, same = np.unique(ordered, axis=0, return_index=True, return_inverse=True)
    same = same.reshape(-1)
    ways = np.bincount(same, weights=np.where(odd, -1.0, 1.0))
    kept = first[ways != 0]
    # the first of each kind may be the one that is outvoted
    wrong = np.where(odd[kept], -1.0, 1.0) * ways[same[kept]] < 0
    faces = np.where(wrong[:, None], triangles[kept, ::-1], triangles[kept])
    return np.asarray(faces[np.argsort(kept)], np.int64)


def _unpinched(vertices: Array, triangles: Whole, edges: Edges) -> tuple[Whole, Edges, Array]:
    """Part triangles at edges that two sheets share, each sheet keeping corners of its own.

    Only where the triangles at such an edge run along it as often one way as the other; nothing
    is parted where no edge is crowded.
    """
    crowded = edges.uses > 2
    if not crowded.any() or not edges.consistent[crowded].all():
        return triangles, edges, vertices
    # pair the triangles along each edge, one way with the other, in their order round it
    half = np.argsort(edges.of.ravel() * 2 + edges.forward.ravel(), kind="stable")
    ahead = edges.forward.ravel()[half]
    one, two = half[ahead], half[~ahead]
    if len(one) != len(two) or (edges.of.ravel()[one] != edges.of.ravel()[two]).any():
        return triangles, edges, vertices
    # a corner is one for all triangles that hang together round it
    other_one = one // 3 * 3 + (one % 3 + 1) % 3
    other_two = two // 3 * 3 + (two % 3 + 1) % 3
    rows, columns = np.concatenate([one, other_one]), np.concatenate([other_two, two])
    size = triangles.size
    graph = coo_array((np.ones(len(rows), np.int8), (rows, columns)), shape=(size, size))
    _, labels = connected_components(graph, directed=False)
    _, first, numbers = np.unique(labels, return_index=True, return_inverse=True)
    apart = numbers.reshape(triangles.shape)
    return apart, edges_of(apart), vertices[triangles.ravel()[first]]


def _one_sided(triangles: Whole, edges: Edges) -> Whole:
    """Return the triangles turned so that neighbours agree on which side is out.

    Each triangle stands twice in a graph, as it is and turned; neighbours that agree join their
    like sides, others their unlike ones. A one-sided surface joins both, and stays as it is.
    """
    count = len(triangles)
    paired = (edges.uses == 2)[edges.of]
    order = np.argsort(edges.of[paired], kind="stable")
    face = np.broadcast_to(np.arange(count)[:, None], (count, 3))[paired][order].reshape(-1, 2)
    ahead = edges.forward[paired][order].reshape(-1, 2)
    left, right = face.T
    crossed = np.where(ahead[:, 0] == ahead[:, 1], count, 0)
    rows = np.concatenate([left, left + count])
    columns = np.concatenate([right + crossed, right + (count - crossed)])
    graph = coo_array((np.ones(len(rows), np.int8), (rows, columns)), shape=(2 * count, 2 * count))
    _, labels = connected_components(graph, directed=False)
    # of the two mirror components of a body the one that turns fewer triangles is kept
    kept = np.bincount(labels[:count], minlength=labels.max() + 1)
    as_is, other = labels[:count], labels[count:]
    turn = (kept[other] > kept[as_is]) | ((kept[other] == kept[as_is]) & (other < as_is))
    return np.where(turn[:, None], triangles[:, ::-1], triangles)


def _inside_out(vertices: Array, triangles: Whole, labels: Whole) -> Any:
    """Return which bodies (b,) have to be turned: all but voids within another body."""
    volumes = np.bincount(labels, weights=corner_volumes(vertices, triangles))
    whole = bool(volumes.sum() < 0)
    signs = -volumes if whole else volumes
    flipped = np.full(len(volumes), whole)
    for label in np.flatnonzero(signs < 0):
        probe = vertices[triangles[labels == label][0, 0]]
        around = np.isin(labels, np.flatnonzero(signs > 0))
        if abs(winding(probe, vertices, triangles[around])) < 0.5:
            flipped[label] = not whole
    return flipped


def winding(point: Array, vertices: Array, triangles: Whole) -> float:
    """Return how often triangles wind round a point. Source: van Oosterom and Strackee 1983."""
    a, b, c = (vertices - point)[triangles.T]
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    dots = [np.einsum("ij,ij->i", p, q) for p, q in ((a, b), (b, c), (c, a))]
    height = np.einsum("ij,ij->i", a, np.cross(b, c))
    base = la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb
    return float(np.arctan2(height, base).sum() / (2 * np.pi))


def _cautions(
    read: int, vertices: Array, triangles: Whole, edges: Edges, closed: bool, mended: bool
) -> tuple[Caution, ...]:
    if closed and read <= MOST_TRIANGLES:
        return ()
    if closed:
        text = (
            f"{read} triangles were simplified to {len(triangles)}; the skin moved by less than "
            f"{SIMPLIFIED * 1e3:g} mm."
        )
        return (Caution(key="mesh_simplified", text=text),)
    found = () if mended else _open_cautions(vertices, triangles)
    text = (
        "The surface is not closed: sections are near enough, a channel needs it mended. There "
        f"is {_bad_place(vertices, edges)}."
    )
    return (Caution(key="mesh_open", text=text), *found)


def _open_cautions(vertices: Array, triangles: Whole) -> tuple[Caution, ...]:
    """Say so where an open surface has several bodies, which cannot be joined then."""
    labels = body_labels(triangles, len(vertices))
    counts = np.bincount(labels)
    parts = int((counts > 0.01 * len(triangles)).sum())
    if parts < 2:
        return ()
    text = f"An open surface of {parts} bodies: where they overlap they count twice."
    return (Caution(key="bodies_not_joined", text=text),)


def _bad_place(vertices: Array, edges: Edges) -> str:
    bad = np.flatnonzero((edges.uses != 2) | ~edges.consistent)
    if not len(bad):
        return "no open edge, but its triangles make no solid"
    where = place(vertices[edges.ends[bad[0]]].mean(axis=0))
    return f"the first of {len(bad)} bad edges near {where}"


def place(point: Array) -> str:
    """Return a point as a refusal names it, in millimetres."""
    x, y, z = (float(value) * 1e3 for value in point)
    return f"({x:.1f}, {y:.1f}, {z:.1f}) mm"
