"""Steps that see past the corners of a law: Newton's with secants in place of the tangents.

A wire that yields gives way a thousand times more easily past a corner of its law than before
it. Newton's step from past the corner does not know of it, goes far too far back and is cut to
next to nothing, again and again. The secant over the step that a joint is about to take knows
both sides.
"""

from __future__ import annotations

import numpy as np

from flexcalc.balance import Array, Chain, Forces, Rows
from flexcalc.tridiagonal import chain_steps

ROUNDS = 4
LARGEST_STEP = 1.0  # rad
ALIKE = 1e-3  # of a step, by which two rounds may differ in the end


def secant_steps(
    chain: Chain, angles: Array, found: Forces, load: Array, steps: Array, rows: Rows
) -> Array:
    """Return ``steps`` (B, N) [rad] with those of some members made anew with secants.

    ``found`` are the forces at ``angles`` (B, N), ``load`` (B,) the share of the full load. Each
    round takes the secants over the step before; they lead downhill in energy as Newton's do.
    Source: the method of Kachanov for laws that soften, any text on iterations in plasticity.
    """
    narrow = chain.take(rows)
    if narrow is None:
        narrow, rows = chain, np.arange(len(angles))
    here = found.take(rows)
    base, side = narrow.curvatures(angles[rows]), -here.gradient(load[rows])
    bowl, step = load[rows][:, None] * here.bowl, steps[rows]
    for _ in range(ROUNDS):
        turned = narrow.curvatures(angles[rows] + step)
        far = np.abs(turned - base) > 1e-12 * np.maximum(np.abs(base), 1.0)
        rise = (narrow.law(turned)[0] - here.moments) / np.where(far, turned - base, 1.0)
        stiffness = np.where(far & (rise > 0), rise / narrow.joints, here.stiffness)
        made = chain_steps(stiffness, bowl, [side])[0][0]
        size = np.abs(made).max(axis=1, keepdims=True)
        made *= np.minimum(1, LARGEST_STEP / np.maximum(size, 1e-300))
        apart = np.abs(made - step).max()
        step = made
        if apart < ALIKE * size.max():
            break
    anew = steps.copy()
    anew[rows] = step
    return anew
