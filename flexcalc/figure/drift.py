"""How a bend has held over weeks, and what that teaches of the elastomer's relaxation.

The bend as it was first left by the hand is free within a tenth: what is learned comes from how
the readings change with time, not from how large they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from data import read_table
from data.rules import Array, check_kind, check_number, check_whole, refuse
from flexcalc.limb.substances import Elastomer
from flexcalc.pose.pose import hold_poses
from flexcalc.section.elastomer import set_after
from flexcalc.verdict.plan import LimbPlan

DAY, MONTH, YEAR = 86400.0, 30 * 86400.0, 365 * 86400.0
LEAST, MOST = 0.002, 0.35
"""Relaxation exponents that are looked at."""
TRIED, FINE = 7, 241
SPREADS = 3.0
FIRST = 0.1
"""Spread of the bend as it was first left, against what is reckoned."""


@dataclass(frozen=True, kw_only=True)
class Drift:
    """What readings of a limb's bends taught.

    ``rows``: (bend, days, angle read, angle expected before, angle expected now), angles [rad];
    ``before`` and ``now`` are the elastomer's relaxation exponent with its spread; ``weight`` the
    share of what is known now that the readings gave, 0 to 1; ``set_month`` the share of a pose
    that a month sets into the elastomer; ``year`` the angle of each bend expected after a year
    [rad]. ``elastomer`` is the one with the new exponent.
    """

    rows: tuple[tuple[int, float, float, float, float], ...] = field(repr=False)
    before: tuple[float, float]
    now: tuple[float, float]
    weight: float
    set_month: float
    year: tuple[float, ...]
    elastomer: Elastomer = field(repr=False)

    @property
    def sentence(self) -> str:
        """It in words."""
        return (
            f"Relaxation exponent {self.before[0]:.3f} ± {self.before[1]:.3f} before, "
            f"{self.now[0]:.3f} ± {self.now[1]:.3f} now: the readings count {self.weight:.0%}. "
            f"A month in one pose sets {self.set_month:.0%} of it into the limb."
        )


def drift(plan: LimbPlan, readings: Sequence[tuple[int, float, float]]) -> Drift:
    """Return what readings of a limb's bends teach.

    Parameters
    ----------
    plan : LimbPlan
        The limb as it was built and posed.
    readings : sequence of (int, float, float)
        Bend, counted from 1; days after it was posed, 0 to 100 000; its angle then [rad].

    Raises
    ------
    ValueError
        For no reading, a bend the limb has not, or a limb that hangs slack.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    rows = _checked(plan, readings)
    elastomer = plan.limb.elastomer
    middle, spread = elastomer.relaxation_exponent, max(elastomer.relaxation_spread, 1e-3)
    low = min(max(middle - SPREADS * spread, LEAST), MOST)
    high = max(min(middle + SPREADS * spread, MOST), low + spread)
    tried = np.linspace(low, high, TRIED)
    times = np.unique([*(max(days, 0.01) * DAY for _, days, _ in rows), YEAR])
    angles = np.array([_angles(plan, float(each), times) for each in tried])
    grid = np.linspace(low, high, FINE)
    place = [int(np.searchsorted(times, max(days, 0.01) * DAY)) for _, days, _ in rows]
    bends = [bend - 1 for bend, _, _ in rows]
    expected = np.array(
        [np.interp(grid, tried, angles[:, t, b]) for t, b in zip(place, bends, strict=True)]
    )
    read = np.array([angle for _, _, angle in rows])
    weights, first = _likely(grid, expected, read, (middle, spread))
    now = float(weights @ grid)
    left = float(np.sqrt(weights @ (grid - now) ** 2))
    known = replace(elastomer, relaxation_exponent=now, relaxation_spread=min(left, spread))
    told = [
        (bend, days, angle, float(np.interp(middle, grid, row)),
         float(np.interp(now, grid, row) * np.interp(now, grid, first)))
        for (bend, days, angle), row in zip(rows, expected, strict=True)
    ]  # fmt: skip
    year = int(np.searchsorted(times, YEAR))
    return Drift(
        rows=tuple(told),
        before=(middle, spread),
        now=(now, left),
        weight=max(0.0, 1 - (left / spread) ** 2),
        set_month=float(set_after(known, MONTH)),
        year=tuple(
            float(np.interp(now, tried, angles[:, year, b]) * np.interp(now, grid, first))
            for b in range(angles.shape[2])
        ),
        elastomer=known,
    )


def _checked(
    plan: LimbPlan, readings: Sequence[tuple[int, float, float]]
) -> list[tuple[int, float, float]]:
    if not isinstance(readings, (list, tuple)) or not readings:
        raise refuse("readings", "a list with at least one reading", readings)
    count = len(plan.setting.bends)
    rows = []
    for bend, days, angle in readings:
        number = check_whole("bend", bend, least=1, most=max(count, 1))
        if number > count:
            raise refuse("bend", "one that the limb has", bend)
        since = check_number("days", days, least=0.0, most=1e5)
        rows.append((number, since, check_number("angle", angle, least=0.0, most=13.0, unit="rad")))
    return rows


def _angles(plan: LimbPlan, exponent: float, times: Array) -> Array:
    """Return the angle of each bend (times, bends) under load with a relaxation exponent. [rad]"""
    elastomer = replace(plan.limb.elastomer, relaxation_exponent=exponent)
    limb = replace(plan.limb, elastomer=elastomer)
    poses = hold_poses(limb, plan.setting, [float(time) for time in times])
    wanted = np.array([abs(bend.angle) for bend in plan.setting.bends])
    return np.array([np.array(pose.loaded_share) * wanted for pose in poses])


def _likely(
    grid: Array, expected: Array, read: Array, prior: tuple[float, float]
) -> tuple[Array, Array]:
    """Return the weight of each exponent, and how large the bend was first left with it."""
    error = read_table("constants")["bench measurement"]["pose_error"].value
    sure = (expected**2).sum(axis=0) / error**2 + 1 / FIRST**2
    first = ((expected * read[:, None]).sum(axis=0) / error**2 + 1 / FIRST**2) / sure
    off = ((read[:, None] - first * expected) ** 2).sum(axis=0) / error**2
    off = off + ((first - 1) / FIRST) ** 2 + ((grid - prior[0]) / prior[1]) ** 2 + np.log(sure)
    weights = np.exp(-(off - off.min()) / 2)
    return np.asarray(weights / weights.sum(), float), np.asarray(first, float)
