"""When a straight limb, clamped upright, buckles under its own weight and a load at its tip."""

from __future__ import annotations

import numpy as np

from flexcalc.rod.chain import Array, Rows
from flexcalc.rod.spacing import Mesh, Rods, cut_rod
from flexcalc.rod.tridiagonal import chain_steps


def share_of_buckling_load(rods: Rods, breaks: tuple[float, ...]) -> Array:
    """Return the load (B,) over the one that buckles the straight rods, clamped upright.

    Relative error below 1e-4.
    """
    rows = np.arange(len(rods.tip))
    first, second = (_greatest_share(rods, cut_rod(breaks, 8, some), rows) for some in (0, 1))
    return np.asarray(second + (second - first) / 3)


def _greatest_share(rods: Rods, mesh: Mesh, rows: Rows) -> Array:
    """Largest ratio of the load's work to the joints' energy, by inverse iteration."""
    law = rods.law(mesh, rows)
    pull = rods.loads(mesh, rows) * mesh.segments
    stiffness = np.broadcast_to(law.flexural_rigidity, pull.shape) / mesh.joints
    greatest = np.maximum(pull.max(axis=1), np.finfo(float).tiny)
    pull = pull / greatest[:, None]
    shape = np.broadcast_to(mesh.middles, pull.shape)
    for _ in range(4):
        (shape,), _ = chain_steps(stiffness, np.zeros_like(pull), [pull * shape])
        shape = shape / np.maximum(np.abs(shape).max(axis=1), np.finfo(float).tiny)[:, None]
    turns = np.diff(shape, axis=1, prepend=0.0)
    energy = np.maximum(np.sum(stiffness * turns**2, axis=1), np.finfo(float).tiny)
    return np.asarray(greatest * np.sum(pull * shape**2, axis=1) / energy)
