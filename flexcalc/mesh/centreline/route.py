"""A first way through a body: from the root to its farthest point, over the surface.

The surface is sampled evenly, so that the way does not hang on how it is triangulated. Bands of
equal walking distance from the root, each the part that joins on to the way, give middles.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from data.rules import Array
from flexcalc.mesh.solid import Solid
from flexcalc.mesh.surface import Whole

SAMPLES = 7000
NEIGHBOURS = 10


def rough_route(solid: Solid, root: Array) -> tuple[Array, Array]:
    """Return middles (p, 3) [m] from the root to the farthest point, and mean radii (p,) [m]."""
    spots, spacing = even_samples(solid.vertices, solid.triangles)
    graph = _neighbours(spots, spacing)
    start = int(cKDTree(spots).query(root)[1])
    distance, before = dijkstra(graph, indices=np.array(start), return_predecessors=True)
    reached = np.isfinite(distance)
    tip = int(np.where(reached, distance, -1).argmax())
    way = [tip]
    while way[-1] != start:
        way.append(int(before[way[-1]]))
    bands = _bands(graph, distance, way[::-1], 2.5 * spacing)
    middles = np.array([spots[band].mean(axis=0) for band in bands])
    radii = np.array(
        [
            np.linalg.norm(spots[band] - middle, axis=1).mean()
            for band, middle in zip(bands, middles, strict=True)
        ]
    )
    return middles, radii


def even_samples(vertices: Array, triangles: Whole) -> tuple[Array, float]:
    """Return points (n, 3) spread evenly over triangles and about how far they are apart. [m]"""
    a, b, c = vertices[triangles.T]
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    chance = np.random.default_rng(1)
    face = np.searchsorted(
        np.cumsum(areas), areas.sum() * (np.arange(4 * SAMPLES) + 0.5) / (4 * SAMPLES)
    )
    face = np.minimum(face, len(areas) - 1)
    u, v = chance.random((2, len(face), 1))
    over = u + v > 1
    u, v = np.where(over, 1 - u, u), np.where(over, 1 - v, v)
    spots = a[face] + u * (b - a)[face] + v * (c - a)[face]
    spacing = float(np.sqrt(areas.sum() / SAMPLES))
    grid = np.floor((spots - spots.min(axis=0)) / spacing).astype(np.int64)
    keys = (grid[:, 0] << 40) + (grid[:, 1] << 20) + grid[:, 2]
    _, first = np.unique(keys, return_index=True)
    return spots[first], spacing


def _neighbours(spots: Array, spacing: float) -> csr_array:
    tree: Any = cKDTree(spots)
    far, near = tree.query(spots, k=NEIGHBOURS + 1, distance_upper_bound=3 * spacing)
    rows = np.repeat(np.arange(len(spots)), NEIGHBOURS)
    columns, lengths = near[:, 1:].ravel(), far[:, 1:].ravel()
    good = np.isfinite(lengths)
    shape = (len(spots), len(spots))
    graph = coo_array((lengths[good] + 1e-12, (rows[good], columns[good])), shape=shape).tocsr()
    return graph.maximum(graph.T).tocsr()


def _bands(graph: csr_array, distance: Array, way: list[int], thickness: float) -> list[Whole]:
    """Return the samples of each band of walking distance that hang together with the way."""
    reached = np.where(np.isfinite(distance), distance, -thickness)
    level = np.floor(reached / thickness).astype(np.int64)
    ends = graph.tocoo()
    same = level[ends.row] == level[ends.col]
    within = coo_array((ends.data[same], (ends.row[same], ends.col[same])), shape=graph.shape)
    _, labels = connected_components(within, directed=False)
    order = np.argsort(labels, kind="stable")
    first = np.searchsorted(labels[order], np.arange(labels.max() + 2))
    bands: list[Whole] = []
    seen: set[int] = set()
    for spot in way:
        label = int(labels[spot])
        if label not in seen and level[spot] not in {int(level[band[0]]) for band in bands[-1:]}:
            seen.add(label)
            bands.append(order[first[label] : first[label + 1]])
    return bands
