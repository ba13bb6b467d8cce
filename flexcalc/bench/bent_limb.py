"""What limbs bent and let go say about wire over elastomer, by one-dimensional quadrature.

Nothing is inverted here: a share near the most that a wire can keep fits many strengths, and
the quadrature says so by hardly narrowing. A test far from all that was to be expected is not
believed: either it or the model is wrong, and what is known gets wider.
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
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.limb.substances import MOST_BACK_STRESS

NODES, REACH = 33, 5.0
DENSE = 20001
FARTHEST = 18.0
"""Logarithm of the greatest chain factor that is tried."""
MOST_FACTORS, TOGETHER = 100_000, 1000
"""Chain factors that are taken, and how many of them at a time."""
ODD = 3.0
"""Combined standard errors between reading and model at which a test is called odd."""
STEP = 0.05
"""Of a back-stress share and of the logarithm of the chain factor, for their slopes."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """``mean`` and ``deviation`` of the logarithm of the chain factor after the tests.

    The chain factor multiplies wire over elastomer as the model has it. ``odd``: the logarithm at
    which the model would meet the oddest test, 0 where none is odd; those that are odd are not in
    mean and deviation.
    """

    mean: float
    deviation: float
    odd: float
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
    return _kept(test, test.limb, factors)


def saturation_slope(test: PoseTest, offset: float) -> float:
    """Return the logarithm of the chain factor that one of the logarithm of the saturation stress
    is worth.

    From -1 to 0: a print that softens less pulls more. What is left of -1 is the modulus's own:
    both together scale the pull. ``offset`` as in `chain_evidence`.
    """
    elastomer = test.limb.elastomer
    if math.isinf(elastomer.saturation_stress):
        return 0.0
    harder = replace(elastomer, saturation_stress=elastomer.saturation_stress * math.exp(STEP))
    slope = _slope(test, replace(test.limb, elastomer=harder), STEP, offset)
    return min(max(slope, -1.0), 0.0)


def back_stress_slope(test: PoseTest, offset: float) -> float:
    """Return the logarithm of the chain factor that one unit of back-stress share is worth.

    Below 0: a wire that yields sooner when it is bent back keeps less. ``offset`` as in
    `chain_evidence`.
    """
    wire = test.limb.wire
    if wire is None or wire.metal.reversal != "mixed":
        return 0.0
    step = STEP if wire.metal.back_stress + STEP <= MOST_BACK_STRESS else -STEP
    metal = replace(wire.metal, back_stress=wire.metal.back_stress + step)
    return _slope(test, replace(test.limb, wire=replace(wire, metal=metal)), step, offset)


def _slope(test: PoseTest, other: Limb, step: float, offset: float) -> float:
    """Return the logarithm of the chain factor that a step to another limb is worth, over it."""
    near = np.exp(np.clip(offset + np.array([-STEP, 0.0, STEP]), -FARTHEST, FARTHEST))
    first, middle, higher = _kept(test, test.limb, near)
    rise = float(higher - first) / (2 * STEP)
    fall = float(_kept(test, other, near[1:2])[0] - middle) / step
    return fall / rise if rise > 1e-6 else 0.0


def _kept(test: PoseTest, limb: Limb, factors: Array) -> Array:
    bend = Bend(start=0.0, angle=test.angle_set, radius=test.radius)
    setting = Setting(
        bends=(bend,), clamp_angle=0.0, hold_time=test.hold_time, rest_time=test.rest_time
    )
    one = one_limb(limb, setting)
    length = max(limb.length, bend.end)
    stretches = bent_stretches(setting, length, limb_width(limb))

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
    before = _weights(log_weight)
    misfits, odd, away = [], 0.0, 0.0
    for test, offset in zip(tests, offsets, strict=True):
        # beyond the ends the limb keeps all or nothing
        factors = np.exp(np.clip(nodes + offset, -FARTHEST, FARTHEST))
        kept = PchipInterpolator(nodes, kept_angles(test, factors))(dense)
        misfit = (kept - test.angle_kept) / test.error
        expected = float(before @ kept)
        doubt = math.hypot(math.sqrt(float(before @ (kept - expected) ** 2)), test.error)
        off = max(abs(test.angle_kept - expected) / doubt, float(np.abs(misfit).min()))
        if off > ODD:
            away = max(away, off)
            needed = float(dense[np.argmin(np.abs(misfit))])
            odd = needed if abs(needed) > abs(odd) else odd
        else:
            log_weight = log_weight - 0.5 * misfit**2
            misfits.append(misfit)
    if not misfits:
        found = _cautions(away, 0.0)
        return Evidence(mean=0.0, deviation=prior_deviation, odd=odd, cautions=found)
    weight = _weights(log_weight)
    mean = float(weight @ dense)
    deviation = math.sqrt(float(weight @ (dense - mean) ** 2))
    found = _cautions(away, deviation / prior_deviation)
    return Evidence(mean=mean, deviation=deviation, odd=odd, cautions=found)


def _weights(logarithms: Array) -> Array:
    weight = np.exp(logarithms - logarithms.max())
    return np.asarray(weight / weight.sum())


def _cautions(away: float, left: float) -> tuple[Caution, ...]:
    found = []
    if away > ODD:
        text = (
            f"A limb kept an angle {away:.1f} standard errors from what was to be expected. Either "
            "the reading or what is assumed is wrong, so the band gets wider. Check how the limb "
            "was bent and read, and the sizes of wire and print."
        )
        found.append(Caution(key="pose test odd", text=text))
    if left > 0.8:
        text = (
            "The limb kept so much, or so little, that its bend says little about wire and "
            "print. Bend it tighter or less tight, or take a thinner or thicker wire."
        )
        found.append(Caution(key="pose test dull", text=text))
    return tuple(found)
