"""Refine resting shapes to the last digits: chains of N, 2N, 4N ... segments, extrapolated.

Everything a chain yields errs by a series in even powers of the segment's length (Romberg).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flexcalc.chain import Array, ChainShape, Mask, Rows, solve_chain
from flexcalc.spacing import Mesh, Rods, cut_rod
from flexcalc.unit import GivenRods

MOST_LEVELS = 6
LAYER = 0.5  # segments per length over which the shape bends, at the first level
CURL = 0.5  # rad of natural bend per segment, at the first level
MOST_HALVINGS = 5


@dataclass(frozen=True, kw_only=True)
class UnitShapes:
    """Rods of length 1 at rest: x to the right and y up from the clamp, at the nodes (R, n).

    ``moment`` (R,) of the loads about the clamp; ``stable`` (R,) and ``error`` (R,), the estimated
    greatest error of positions, angles and of moment / (1 + moment).
    """

    x: Array
    y: Array
    angles: Array
    moment: Array
    stable: Mask
    error: Array


def unit_shapes(given: GivenRods, wanted: float) -> UnitShapes:
    """Return the resting shapes of rods of length 1, to ``wanted``, at the coarsest nodes."""
    every = np.arange(len(given.clamp))
    coarse = cut_rod(given.breaks, given.segments, 0)
    halvings = _halvings(given.rods, coarse, every)
    packed = np.empty((len(every), 3 * len(coarse.nodes) + 1))
    stable, error = np.empty(len(every), dtype=bool), np.empty(len(every))
    for first in np.unique(halvings):
        rows = np.flatnonzero(halvings == first)
        packed[rows], stable[rows], error[rows] = _refined(given, rows, int(first), wanted)
    x, y, angles = packed[:, :-1].reshape(len(every), 3, -1).swapaxes(0, 1)
    return UnitShapes(x=x, y=y, angles=angles, moment=packed[:, -1], stable=stable, error=error)


def _halvings(rods: Rods, mesh: Mesh, rows: Rows) -> Rows:
    """How often the coarsest mesh is halved before the first chain resolves each rod."""
    law = rods.law(mesh, rows)
    layer = np.sqrt(rods.loads(mesh, rows) / law.flexural_rigidity) * mesh.segments / LAYER
    curl = np.abs(law.natural_curvature) * mesh.joints / CURL
    need = np.maximum(layer.max(axis=1), curl.max(axis=1))
    steps = np.ceil(np.log2(np.maximum(need, 1.0)))
    return np.asarray(np.minimum(steps, MOST_HALVINGS), dtype=np.intp)


def _refined(given: GivenRods, rows: Rows, first: int, wanted: float) -> tuple[Array, Mask, Array]:
    """Return packed shapes, stable and error of rods that start at the same mesh."""
    mesh = cut_rod(given.breaks, given.segments, first)
    turns = given.rods.law(mesh, rows).natural_curvature * mesh.joints
    start = given.clamp[rows, None] + np.cumsum(turns + np.zeros_like(mesh.middles), axis=1)
    chain, nodal, values = _level(given, rows, start, first, 0)
    stable, result, error = chain.stable, values.copy(), np.full(len(rows), np.inf)
    table, going = [values], np.arange(len(rows))
    for level in range(1, MOST_LEVELS + 1):
        halves = _halved(nodal, chain.angles)[error[going] > wanted]
        table = [row[error[going] > wanted] for row in table]
        going = going[error[going] > wanted]
        chain, nodal, values = _level(given, rows[going], halves, first, level)
        before, table = table[-1], _next_row(table, values)
        # the second is for shapes that are not smooth, where the orders gain nothing
        left = np.maximum(np.abs(table[-1] - table[-2]), np.abs(table[-1] - before) / 16)
        left[:, -1] /= 1 + np.abs(values[:, -1])
        result[going], error[going] = table[-1], left.max(axis=1)
        if error.max() <= wanted:
            break
    return result, stable, error


def _level(
    given: GivenRods, rows: Rows, start: Array, first: int, level: int
) -> tuple[ChainShape, Array, Array]:
    """Solve one chain; return it, its angles at all nodes and its values at the coarsest."""
    mesh, clamp = cut_rod(given.breaks, given.segments, first + level), given.clamp[rows]
    law, loads = given.rods.law(mesh, rows), given.rods.loads(mesh, rows)
    chain = solve_chain(
        law, mesh.joints, mesh.segments, clamp, loads, start, start_load=min(level, 1)
    )
    rigid, curl, _, _ = given.rods.bends(mesh, rows)
    zero = np.zeros((len(rows), 1))
    moments = np.append(chain.moments, zero, axis=1)
    turns = (mesh.before * (moments / rigid + curl))[:, 1:]
    nodal = np.append(clamp[:, None], chain.angles + turns, axis=1)
    ways = (mesh.segments * np.sin(chain.angles), -mesh.segments * np.cos(chain.angles))
    lines = [np.append(zero, np.cumsum(way, axis=1), axis=1) for way in ways]
    stations = [line[:, :: 2 ** (first + level)] for line in (*lines, nodal)]
    return chain, nodal, np.concatenate([*stations, -chain.moments[:, :1]], axis=1)


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
