"""Newton's systems of a batch of chains in space: blocks of three, banded, laid end to end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from data.rules import Array

NEUTRAL = 1e-4
"""Of the softest diagonal over the square of the number of blocks, about what a chain sets
against its softest bend: a system that is positive definite with so much added counts as such.
An upright column that has buckled turns about the vertical without any work."""
MORE_SHIFT, TRIES = 8.0, 20  # of what is added where that is not enough


def block_steps(
    diagonal: Array, coupling: Array, sides: list[Array]
) -> tuple[list[Array], NDArray[np.bool_]]:
    """Solve a batch of symmetric systems whose blocks of three couple with their neighbours.

    Parameters
    ----------
    diagonal : array (3, 3, B, N)
        Blocks on the diagonal; the lower half is read.
    coupling : array (3, 3, B, N)
        Block of row i and column i + 1; the last of each member is not read.
    sides : list of array (3, B, N)
        Right hand sides.

    Returns
    -------
    list of array (3, B, N)
        The solutions. Where a system is not positive definite, those of one with as much added
        to its diagonal as makes it so, which lead downhill in energy.
    array (B,) of bool
        True where the system itself is positive definite.
    """
    from scipy.linalg.lapack import dpbtrf, dpbtrs

    _, _, batch, count = diagonal.shape
    band = np.zeros((batch, count, 3, 6))
    for column in range(3):
        for row in range(column, 3):
            band[:, :, column, row - column] = diagonal[row, column]
        for row in range(3):
            band[:, :-1, column, 3 + row - column] = coupling[column, row, :, :-1]
    size = 3 * count
    whole = band.reshape(batch, size, 6)
    kept = whole.copy()
    sound = np.ones(batch, dtype=bool)
    member = 0
    while member < batch:
        # in place; where LAPACK stops, the members behind are still as they were given
        info = dpbtrf(_columns(whole[member:]), lower=1, overwrite_ab=1)[1]
        if info == 0:
            break
        member += (info - 1) // size
        whole[member], sound[member] = _made_positive(kept[member])
        member += 1
    flat = np.stack([side.reshape(3, -1).T.ravel() for side in sides], axis=1)
    solution = dpbtrs(_columns(whole), flat, lower=1)[0]
    found = [solution[:, k].reshape(batch, count, 3) for k in range(len(sides))]
    return [np.ascontiguousarray(np.moveaxis(one, -1, 0)) for one in found], sound


def _columns(band: Array) -> Array:
    return band.reshape(-1, 6).T


def _made_positive(band: Array) -> tuple[Array, bool]:
    """Return the factors (n, 6) of one system with enough added to its diagonal, and whether
    next to nothing was enough."""
    from scipy.linalg.lapack import dpbtrf

    soft = _softest(band)
    least = NEUTRAL * soft / (len(band) / 3) ** 2
    # no system needs more than the sum of all that stands in it
    most = 3 * float(np.abs(band).sum())
    for added in (*least * MORE_SHIFT ** np.arange(TRIES), most):
        moved = band.copy()
        moved[:, 0] += added
        factors, info = dpbtrf(_columns(moved), lower=1)
        if info == 0:
            return np.asarray(factors.T), bool(added == least)
    raise RuntimeError(f"a system with a soft diagonal of {soft:g} that nothing makes positive")


def _softest(band: Array) -> float:
    """Return the least stiffness of a block on the diagonal, the middle one of all blocks."""
    blocks = np.zeros((len(band) // 3, 3, 3))
    for column in range(3):
        for row in range(column, 3):
            blocks[:, row, column] = band[column::3, row - column]
    return float(np.median(np.abs(np.linalg.eigvalsh(blocks)[:, 0])))
