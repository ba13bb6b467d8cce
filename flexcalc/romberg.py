"""Refine resting shapes to the last digits: chains of N, 2N, 4N ... segments, extrapolated.

Everything a chain yields errs by a series in even powers of the segment's length (Romberg).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flexcalc.chain import ChainShape, solve_chain
from flexcalc.follow import Array, Mask, Rows
from flexcalc.mesh import Mesh, Rods, cut_rod

WANTED = 1e-8  # of the length, of a radian, of the root moment
MOST_LEVELS = 6
LAYER = 0.5  # segments per length over which the shape bends, at the first level
CURL = 0.5  # rad of natural bend per segment, at the first level
MOST_HALVINGS = 5


@dataclass(frozen=True, kw_only=True)
class UnitShapes:
    """Rods of length 1 at rest: x to the right and y up from the clamp, at the nodes (R, n).

    ``moment`` (R,) of the loads about the clamp; ``stable`` (R,) and ``error`` (R,), the
    estimated greatest error of the positions.
    """

    x: Array
    y: Array
    angles: Array
    moment: Array
    stable: Mask
    error: Array


def unit_shapes(rods: Rods, clamp: Array, breaks: tuple[float, ...], least: int) -> UnitShapes:
    """Return the resting shapes of rods of length 1 at the nodes of the coarsest mesh."""
    coarse = cut_rod(breaks, least, 0)
    every = np.arange(len(clamp))
    halvings = _halvings(rods, coarse, every)
    count = len(coarse.nodes)
    packed = np.empty((len(clamp), 3 * count + 1))
    stable, error = np.empty(len(clamp), dtype=bool), np.empty(len(clamp))
    for first in np.unique(halvings):
        rows = np.flatnonzero(halvings == first)
        packed[rows], stable[rows], error[rows] = _refined(
            rods, rows, clamp[rows], (breaks, least), int(first)
        )
    x, y, angles = packed[:, :-1].reshape(len(clamp), 3, count).swapaxes(0, 1)
    return UnitShapes(x=x, y=y, angles=angles, moment=packed[:, -1], stable=stable, error=error)


def _halvings(rods: Rods, mesh: Mesh, rows: Rows) -> Rows:
    """How often the coarsest mesh is halved before the first chain resolves each rod."""
    law = rods.law(mesh, rows)
    layer = np.sqrt(rods.loads(mesh, rows) / law.flexural_rigidity) * mesh.segments / LAYER
    curl = np.abs(law.natural_curvature) * mesh.joints / CURL
    need = np.maximum(layer.max(axis=1), curl.max(axis=1))
    steps = np.ceil(np.log2(np.maximum(need, 1.0)))
    return np.asarray(np.minimum(steps, MOST_HALVINGS), dtype=np.intp)


def _refined(
    rods: Rods, rows: Rows, clamp: Array, cut: tuple[tuple[float, ...], int], first: int
) -> tuple[Array, Mask, Array]:
    """Return packed shapes, stable and error of rods that start at the same mesh."""
    mesh = cut_rod(*cut, first)
    law = rods.law(mesh, rows)
    turns = np.broadcast_to(law.natural_curvature * mesh.joints, (len(rows), len(mesh.middles)))
    start = clamp[:, None] + np.cumsum(turns, axis=1)
    chain = solve_chain(law, mesh.joints, mesh.segments, clamp, rods.loads(mesh, rows), start)
    stable = chain.stable
    stride = 2**first
    nodal, values = _values(rods, mesh, rows, chain, clamp, stride)
    result, error = values.copy(), np.full(len(rows), np.inf)
    table, going = [values], np.arange(len(rows))
    angles = chain.angles
    for level in range(1, MOST_LEVELS + 1):
        start = _halved(nodal, angles)
        mesh, stride = cut_rod(*cut, first + level), 2 * stride
        some, held = rows[going], clamp[going]
        chain = solve_chain(
            rods.law(mesh, some), mesh.joints, mesh.segments, held, rods.loads(mesh, some),
            start, start_load=1.0,
        )  # fmt: skip
        nodal, values = _values(rods, mesh, some, chain, held, stride)
        before, table = table[-1], _next_row(table, values)
        # the second is for shapes that are not smooth, where the orders gain nothing
        left = np.maximum(np.abs(table[-1] - table[-2]), np.abs(table[-1] - before) / 16)
        left[:, -1] /= 1 + np.abs(values[:, -1])
        worst = left.max(axis=1)
        result[going], error[going] = table[-1], worst
        open_ = worst > WANTED
        if not open_.any():
            break
        going, nodal, angles = going[open_], nodal[open_], chain.angles[open_]
        table = [row[open_] for row in table]
    return result, stable, error


def _next_row(table: list[Array], values: Array) -> list[Array]:
    row = [values]
    for order, before in enumerate(table, start=1):
        row.append(row[-1] + (row[-1] - before) / (4**order - 1))
    return row


def _halved(nodal: Array, angles: Array) -> Array:
    """Angles of the half segments, between those of nodes and segments."""
    halves = np.empty((angles.shape[0], 2 * angles.shape[1]))
    halves[:, 0::2] = (nodal[:, :-1] + angles) / 2
    halves[:, 1::2] = (angles + nodal[:, 1:]) / 2
    return halves


def _values(
    rods: Rods, mesh: Mesh, rows: Rows, chain: ChainShape, clamp: Array, stride: int
) -> tuple[Array, Array]:
    """Return the angles at all nodes, and x, y, angle at every ``stride``-th and the moment."""
    rigid, curl, _, _ = rods.bends(mesh, rows)
    moments = np.append(chain.moments, np.zeros((len(rows), 1)), axis=1)
    turns = (mesh.before * (moments / rigid + curl))[:, 1:]
    nodal = np.concatenate([clamp[:, None], chain.angles + turns], axis=1)
    zero = np.zeros((len(rows), 1))
    x = np.cumsum(mesh.segments * np.sin(chain.angles), axis=1)
    y = np.cumsum(-mesh.segments * np.cos(chain.angles), axis=1)
    places = [np.append(zero, way, axis=1)[:, ::stride] for way in (x, y)]
    return nodal, np.concatenate([*places, nodal[:, ::stride], -chain.moments[:, :1]], axis=1)
