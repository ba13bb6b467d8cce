"""What limbs bent and let go say about wire over elastomer, by one-dimensional quadrature.

Nothing is inverted here: a share near the most that a wire can keep fits many strengths, and
the quadrature says so by hardly narrowing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, Caution, check_kind, check_numbers
from flexcalc.bench.readings import PoseTest
from flexcalc.joints.limbs import limb_width, one_limb
from flexcalc.joints.posed import WEIGHTLESS, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Setting

NODES, REACH = 33, 5.0
DENSE = 20001
FARTHEST = 18.0
"""Logarithm of the greatest chain factor that is tried."""
MOST_FACTORS, TOGETHER = 100_000, 1000
"""Chain factors that are taken, and how many of them at a time."""
ODD = 3.0
"""Standard errors between reading and model at which a test is called odd."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """``mean`` and ``deviation`` of the logarithm of the chain factor after the tests.

    The chain factor multiplies wire over elastomer as the model has it.
    """

    mean: float
    deviation: float
    cautions: tuple[Caution, ...]


def kept_angles(test: PoseTest, chain_factors: ArrayLike) -> Array:
    """Return the angle that the tested limb would keep for some chain factors.

    Parameters
    ----------
    test : PoseTest
        Limb, bend and times.
    chain_factors : array_like (...)
        Wire over elastomer in truth over that of the model, 1e-8 to 1e8; at most 100 000.

    Returns
    -------
    ndarray (...)
        Rising with the factor. [rad]

    Notes
    -----
    The chain of `hold_pose` without weight, the elastomer's rigidity divided by the factor.
    """
    check_kind("pose test", test, PoseTest, "a PoseTest")
    factors = check_numbers(
        "chain factors", chain_factors, least=1e-8, most=1e8, longest=MOST_FACTORS
    )
    bend = Bend(start=0.0, angle=test.angle_set, radius=test.radius)
    setting = Setting(
        bends=(bend,), clamp_angle=0.0, hold_time=test.hold_time, rest_time=test.rest_time
    )
    one = one_limb(test.limb, setting)
    length = max(test.limb.length, bend.end)
    stretches = bent_stretches(setting, length, limb_width(test.limb))

    def kept(some: Array) -> Array:
        many = one.take(np.zeros(some.size, dtype=np.intp))
        many = replace(many, rigidity=many.rigidity / some[:, None])
        posed = pose_limbs(
            many, setting, stretches, length, WEIGHTLESS, (setting.rest_time,), weightless=True
        )
        return posed.looks[0].retained[:, 0] * test.angle_set

    flat = factors.ravel()
    parts = [kept(flat[start : start + TOGETHER]) for start in range(0, flat.size, TOGETHER)]
    return np.concatenate(parts).reshape(factors.shape)


def chain_evidence(
    tests: Sequence[PoseTest], offsets: Sequence[float], prior_deviation: float
) -> Evidence:
    """Return what pose tests say about the logarithm of the chain factor.

    Parameters
    ----------
    tests : sequence of PoseTest
        All of the same print and wire.
    offsets : sequence of float
        For each test the logarithm by which its limb's wire over elastomer is assumed below that
        of the prior.
    prior_deviation : float
        Standard deviation of the logarithm before the tests; its mean is 0.
    """
    from scipy.interpolate import PchipInterpolator

    nodes = prior_deviation * np.linspace(-REACH, REACH, NODES)
    dense = np.linspace(nodes[0], nodes[-1], DENSE)
    log_weight = -0.5 * (dense / prior_deviation) ** 2
    misfits = []
    for test, offset in zip(tests, offsets, strict=True):
        # beyond the ends the limb keeps all or nothing
        factors = np.exp(np.clip(nodes + offset, -FARTHEST, FARTHEST))
        kept = PchipInterpolator(nodes, kept_angles(test, factors))(dense)
        misfit = (kept - test.angle_kept) / test.error
        log_weight = log_weight - 0.5 * misfit**2
        misfits.append(misfit)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    mean = float(weight @ dense)
    deviation = math.sqrt(float(weight @ (dense - mean) ** 2))
    return Evidence(
        mean=mean,
        deviation=deviation,
        cautions=_cautions(np.array(misfits), weight, deviation / prior_deviation),
    )


def _cautions(misfits: Array, weight: Array, left: float) -> tuple[Caution, ...]:
    found = []
    odd = np.abs(misfits @ weight)
    if odd.max() > ODD:
        text = (
            f"A limb kept an angle {odd.max():.1f} standard errors from anything the model "
            "allows. Check how it was bent and read, or the sizes of wire and print."
        )
        found.append(Caution(key="pose test odd", text=text))
    if left > 0.8:
        text = (
            "The limb kept so much, or so little, that its bend says little about wire and "
            "print. Bend it tighter or less tight, or take a thinner or thicker wire."
        )
        found.append(Caution(key="pose test dull", text=text))
    return tuple(found)
