"""Resting shapes from two chains, of N and 2N segments, extrapolated (Richardson).

Everything a chain yields errs by a series in even powers of the segment's length. N is chosen so
that what is left, of the fourth power, is below the accuracy that is wanted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flexcalc.rod.chain import Array, ChainShape, Mask, Rows, solve_chain
from flexcalc.rod.scaling import GivenRods
from flexcalc.rod.spacing import Mesh, cut_rod

FINENESS = 0.35
"""Segments of the first chain over the length in which the shape bends, times the fourth root of
the accuracy."""
MOST_SEGMENTS = 4096


@dataclass(frozen=True, kw_only=True)
class UnitShapes:
    """Rods of length 1 at rest: x to the right and y up from the clamp, at the nodes (R, n).

    ``moment`` (R,) of the loads about the clamp; ``stable`` (R,) and ``error`` (R,), the greatest
    difference that the extrapolation made to positions, angles and moment / (1 + moment).
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
    halvings = _halvings(given, coarse, every, wanted)
    packed = np.empty((len(every), 3 * len(coarse.nodes) + 1))
    stable, error = np.empty(len(every), dtype=bool), np.empty(len(every))
    for first in np.unique(halvings):
        rows = np.flatnonzero(halvings == first)
        packed[rows], stable[rows], error[rows] = _extrapolated(given, rows, int(first))
    x, y, angles = packed[:, :-1].reshape(len(every), 3, -1).swapaxes(0, 1)
    return UnitShapes(x=x, y=y, angles=angles, moment=packed[:, -1], stable=stable, error=error)


def _halvings(given: GivenRods, mesh: Mesh, rows: Rows, wanted: float) -> Rows:
    """How often the coarsest mesh is halved before the first chain resolves each rod."""
    law = given.rods.law(mesh, rows)
    layer = np.sqrt(given.rods.loads(mesh, rows) / law.flexural_rigidity) * mesh.segments
    curl = np.abs(law.natural_curvature) * mesh.joints
    need = FINENESS * np.maximum(layer.max(axis=1), curl.max(axis=1)) / wanted**0.25
    need[given.straight(mesh)] = 1.0
    steps = np.ceil(np.log2(np.clip(need, 1.0, MOST_SEGMENTS / len(mesh.segments))))
    return np.asarray(np.maximum(steps, 0.0), dtype=np.intp)


def _extrapolated(given: GivenRods, rows: Rows, first: int) -> tuple[Array, Mask, Array]:
    """Return packed shapes, stable and error of rods that start at the same mesh."""
    mesh = cut_rod(given.breaks, given.segments, first)
    turns = given.rods.law(mesh, rows).natural_curvature * mesh.joints
    start = given.clamp[rows, None] + np.cumsum(turns + np.zeros_like(mesh.middles), axis=1)
    chain, nodal, coarse = _level(given, rows, start, first, 0)
    _, _, fine = _level(given, rows, _halved(nodal, chain.angles), first, 1)
    gain = (fine - coarse) / 3
    left = np.abs(gain)
    left[:, -1] /= 1 + np.abs(fine[:, -1])
    return fine + gain, chain.stable, left.max(axis=1)


def _level(
    given: GivenRods, rows: Rows, start: Array, first: int, level: int
) -> tuple[ChainShape, Array, Array]:
    """Solve one chain; return it, its angles at all nodes and its values at the coarsest."""
    mesh, clamp = cut_rod(given.breaks, given.segments, first + level), given.clamp[rows]
    law, loads = given.rods.law(mesh, rows), given.rods.loads(mesh, rows)
    chain = solve_chain(
        law, mesh.joints, mesh.segments, clamp, loads, start, start_load=float(level)
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


def _halved(nodal: Array, angles: Array) -> Array:
    """Angles of the half segments, between those of nodes and segments."""
    halves = np.empty((angles.shape[0], 2 * angles.shape[1]))
    halves[:, 0::2] = (nodal[:, :-1] + angles) / 2
    halves[:, 1::2] = (angles + nodal[:, 1:]) / 2
    return halves
