"""One step of a batch of chains, shortened until it leads downhill in energy."""

from __future__ import annotations

import numpy as np

from flexcalc.balance import Array, Chain, Forces, forces

MOST_CUTS, MOST_LATE_CUTS = 29, 14  # of one step that leads uphill


def descended(
    chain: Chain, base: Array, step: Array, load: Array, slope: Array, late: bool
) -> tuple[Array, Forces, Array]:
    """Return the angles (B, N) [rad] after a step, the forces there, and the work (B,) it took.

    Where a slope (B,) is given (not minus infinity) the step is shortened until the energy falls
    along it. The fall is judged by the trapezium rule on the slopes at both ends. Late, among the
    corners of a law, that rule lets steps lead round in circles: then the end is not to rise by
    much. The work is how often the moment of a joint was worked out.
    """
    angles = base + step
    there = forces(chain, angles)
    rows = np.flatnonzero(np.isfinite(slope))
    share, part = np.ones(len(base)), there.take(rows)
    work = np.full(len(base), float(step.shape[1]))
    for trial in range(MOST_LATE_CUTS if late else MOST_CUTS):
        ends = np.sum(part.gradient(load[rows]) * step[rows], axis=1)
        uphill = ends > (-0.1 if late else -0.5) * slope[rows]
        rows, ends = rows[uphill], ends[uphill]
        if rows.size == 0:
            break
        if late:
            share[rows] *= np.clip(slope[rows] / (slope[rows] - ends), 0.1, 0.7)
        else:
            share[rows] *= 0.5 if trial < 3 else 0.2
        angles[rows] = base[rows] + share[rows, None] * step[rows]
        # the others stay as they are, so only these are worked out again
        narrow = chain.take(rows)
        part = forces(chain, angles).take(rows) if narrow is None else forces(narrow, angles[rows])
        there.put(rows, part)
        work[rows] += step.shape[1]
    return angles, there, work
