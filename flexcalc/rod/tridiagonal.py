"""Solve a batch of symmetric tridiagonal systems and say which are positive definite."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LEAST_PIVOT = 1e-9  # of the diagonal, against division by zero


def chain_steps(
    stiffness: NDArray[np.float64], bowl: NDArray[np.float64], sides: list[NDArray[np.float64]]
) -> tuple[list[NDArray[np.float64]], NDArray[np.bool_]]:
    """Solve Newton's systems of a batch of chains, all laid end to end as one system.

    Parameters
    ----------
    stiffness : array (B, N)
        Stiffness of the joint before each segment, positive. [N m]
    bowl : array (B, N)
        Curvature of the load's energy at each segment. [N m]
    sides : list of array (B, N)
        Right hand sides.

    Returns
    -------
    list of array (B, N)
        The solutions. Where a system is not positive definite, those of a system with the
        signs of its pivots made positive, which lead downhill in energy.
    array (B,) of bool
        True where the system itself is positive definite (all pivots positive).
    """
    from scipy.linalg.lapack import dpttrf, dpttrs

    batch, count = stiffness.shape
    joined = stiffness.copy()
    joined[:, :-1] += stiffness[:, 1:]
    coupling = np.zeros_like(stiffness)
    np.negative(stiffness[:, 1:], out=coupling[:, :-1])
    pivots, factors = (joined + bowl).ravel(), coupling.ravel()
    sound = np.ones(batch, dtype=bool)
    row = 0
    while row < pivots.size - 1:
        # factorised in place and stopped by LAPACK at a pivot that is not positive
        info = dpttrf(pivots[row:], factors[row:-1], overwrite_d=1, overwrite_e=1)[2]
        if info == 0:
            break
        row += info - 1
        sound[row // count] = False
        pivots[row] = max(-pivots[row], LEAST_PIVOT * joined.flat[row])
    flat = np.stack([side.ravel() for side in sides], axis=1)
    solution = dpttrs(pivots, factors[:-1], flat)[0]
    return [solution[:, k].reshape(batch, count) for k in range(len(sides))], sound
