"""Triangles of the surface where a function of space is zero, by tetrahedra (numpy only)."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np

from data.rules import Array
from flexcalc.mesh.surface import Whole

CORNERS = np.array(list(itertools.product((0, 1), repeat=3)))
TETRAHEDRA = [
    [0, *[sum(1 << (2 - axis) for axis in order[: i + 1]) for i in range(3)]]
    for order in itertools.permutations(range(3))
]
"""Six tetrahedra of a cube, all about its long diagonal, so that neighbours match."""


def level_surface(
    function: Callable[[Array], Array], low: Array, high: Array, step: float
) -> tuple[Array, Whole]:
    """Return vertices and triangles of the zero level of a function, negative inside."""
    counts = np.ceil((high - low) / step).astype(int) + 1
    axes = [low[i] + step * np.arange(counts[i]) for i in range(3)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, 3)
    values = function(points)
    values = np.where(np.abs(values) < 1e-9, 1e-9, values)
    strides = np.array([counts[1] * counts[2], counts[2], 1])
    cubes = np.stack(np.meshgrid(*[np.arange(n - 1) for n in counts], indexing="ij"), -1)
    base = cubes.reshape(-1, 3) @ strides
    corners = base[:, None] + CORNERS @ strides
    inside = values[corners] < 0
    corners = corners[inside.any(axis=1) & ~inside.all(axis=1)]
    tets = np.concatenate([corners[:, tet] for tet in TETRAHEDRA])
    order = np.argsort(values[tets] >= 0, axis=1, kind="stable")
    tets = np.take_along_axis(tets, order, 1)  # the corners inside come first
    inner = (values[tets] < 0).sum(axis=1)
    pairs, towards = [], []
    for count, triangles in (
        (1, [[(0, 1), (0, 2), (0, 3)]]),
        (2, [[(0, 2), (0, 3), (1, 3)], [(0, 2), (1, 3), (1, 2)]]),
        (3, [[(0, 3), (1, 3), (2, 3)]]),
    ):
        some = tets[inner == count]
        out = points[some[:, count:]].mean(axis=1) - points[some[:, :count]].mean(axis=1)
        for triangle in triangles:
            pairs.append(np.stack([some[:, list(pair)] for pair in triangle], 1))
            towards.append(out)
    edges = np.sort(np.concatenate(pairs).reshape(-1, 2), axis=1)
    keys, faces = np.unique(edges[:, 0] * len(points) + edges[:, 1], return_inverse=True)
    one, two = keys // len(points), keys % len(points)
    share = (values[one] / (values[one] - values[two]))[:, None]
    vertices = points[one] * (1 - share) + points[two] * share
    faces = faces.reshape(-1, 3)
    a, b, c = vertices[faces.T]
    wrong = np.einsum("ij,ij->i", np.cross(b - a, c - a), np.concatenate(towards)) < 0
    faces[wrong] = faces[wrong, ::-1]
    return vertices, faces
