"""Whether each drawn limb is bent without a kink, and whether its wire lives as long as wanted.

Where a limb kinks and how long a wire lives are bands of their own, `Kink` and `WireLife`: two
more axes of the low-discrepancy points, always the same for a seed, so that sample, verdict and
wire table mean one thing by "holds".
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.build.kink import Kink
from flexcalc.build.life import WireLife
from flexcalc.spread.likely_limbs import AXES

Mask = NDArray[np.bool_]


def limits_met(
    kink: Kink, life: WireLife | None, curvature: float, re_poses: float, samples: int, seed: int
) -> tuple[Mask, Mask]:
    """Return which drawn limbs do not kink and which wires live long enough, masks (samples,).

    ``curvature`` [1/m] is the greatest in the hand, 0 without a bend; ``life`` is that of the wire
    there, None without one. The logarithm of the kink radius is normal, that of the life lies
    evenly between its laws.
    """
    unit = _unit(samples, seed)
    straight = np.asarray(curvature * kink_radii(kink, samples, seed) <= 1.0)
    if life is None:
        return straight, np.ones(samples, dtype=bool)
    low, high = math.log(max(life.low, 1e-300)), math.log(max(life.high, 1e-300))
    return straight, np.asarray(low + unit[:, 1] * (high - low) >= math.log(re_poses))


def kink_radii(kink: Kink, samples: int, seed: int) -> Array:
    """Return the radius at which each drawn limb kinks (samples,). [m]"""
    from scipy.special import ndtri

    return np.asarray(kink.radius * np.exp(kink.deviation * ndtri(_unit(samples, seed)[:, 0])))


def _unit(samples: int, seed: int) -> Array:
    from scipy.stats import qmc

    power = max(math.ceil(math.log2(samples)), 1)
    count = len(AXES) + 2
    points = qmc.Sobol(count, scramble=True, seed=seed).random_base2(power)[:samples, -2:]
    return np.clip(np.asarray(points, dtype=np.float64), 1e-9, 1 - 1e-9)
