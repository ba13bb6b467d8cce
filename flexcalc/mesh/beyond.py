"""What hangs together beyond one section of a body, cut exactly: its volume, centre and reach."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from data.rules import Array
from flexcalc.mesh.sections import Sections
from flexcalc.mesh.solid import Solid
from flexcalc.mesh.surface import Whole


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """The part of a body on the far side of a section.

    ``volume`` [m3], ``skin`` [m2] of its surface without the section, ``centre`` (3,) [m],
    ``reach`` [m] how far it goes square to the section,
    ``corners`` (n,) which corners of the body it holds; ``apart``: the section does part the body.
    """

    volume: float
    skin: float
    centre: Array = field(repr=False)
    reach: float
    corners: NDArray[np.bool_] = field(repr=False)
    apart: bool


def part_beyond(solid: Solid, sections: Sections, k: int, way: int = 1) -> Part:
    """Return the part beyond section number ``k``, ``way`` 1 along its normal or -1 against it."""
    curves = sections.curves
    rows = np.concatenate(
        [
            np.arange(curves.first[curve], curves.first[curve + 1])
            for curve in (int(sections.main[k]), *sections.holes[k])
        ]
    )
    crossing = np.unique(curves.faces[rows])
    origin, normal = sections.planes.origins[k], way * sections.planes.normals[k]
    heights = (solid.vertices - origin) @ normal
    above = heights >= 0 if way > 0 else heights > 0
    ends = solid.edges.ends
    cut_edges = np.unique(solid.edges.of[crossing])
    cut_edges = cut_edges[above[ends[cut_edges, 0]] != above[ends[cut_edges, 1]]]
    whole = np.ones(len(ends), bool)
    whole[cut_edges] = False
    count = len(solid.vertices)
    pairs = (ends[whole, 0], ends[whole, 1])
    graph = coo_array((np.ones(len(pairs[0]), np.int8), pairs), shape=(count, count))
    _, labels = connected_components(graph, directed=False)
    rim = ends[cut_edges].ravel()
    far, near = np.unique(labels[rim[above[rim]]]), np.unique(labels[rim[~above[rim]]])
    corners = np.isin(labels, far)
    faces = solid.triangles[corners[solid.triangles].all(axis=1)]
    clipped = _clipped(solid.vertices, solid.triangles[crossing], heights)
    corners_of = np.concatenate([solid.vertices[faces], clipped]) - origin
    pieces = np.einsum("ij,ij->i", corners_of[:, 0], np.cross(corners_of[:, 1], corners_of[:, 2]))
    volume = float(pieces.sum() / 6)
    sides = corners_of[:, 1:] - corners_of[:, :1]
    first = (pieces[:, None] * corners_of.sum(axis=1)).sum(axis=0) / 24
    return Part(
        volume=volume,
        skin=float(np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1).sum() / 2),
        centre=origin + first / (volume or np.inf),
        reach=float(heights[corners].max(initial=0.0)),
        corners=corners,
        apart=not np.isin(far, near).any(),
    )


def _clipped(vertices: Array, triangles: Whole, heights: Array) -> Array:
    """Return the triangles (m, 3, 3) that remain of crossing ones above the plane."""
    above = heights[triangles] >= 0
    made = []
    for count in (1, 2):
        some = triangles[above.sum(axis=1) == count]
        up = above[above.sum(axis=1) == count]
        alone = np.argmax(up if count == 1 else ~up, axis=1)
        a, b, c = (np.take_along_axis(some, ((alone + i) % 3)[:, None], 1)[:, 0] for i in range(3))
        ha, hb, hc = heights[a], heights[b], heights[c]
        ab = vertices[a] + (ha / (ha - hb))[:, None] * (vertices[b] - vertices[a])
        ac = vertices[a] + (ha / (ha - hc))[:, None] * (vertices[c] - vertices[a])
        if count == 1:
            made.append(np.stack([vertices[a], ab, ac], 1))
        else:
            made.append(np.stack([ab, vertices[b], vertices[c]], 1))
            made.append(np.stack([ab, vertices[c], ac], 1))
    return np.concatenate(made)
