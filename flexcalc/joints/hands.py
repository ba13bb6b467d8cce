"""A bend made by hand: the thumb presses, fingers hold on both sides, and the limb is no arc.

Between the thumb and a finger, an arm away, the moment falls from M0 to nothing; the thumb's
width keeps it level in the middle. Hands that move along press at several places, and each joint
keeps the sharpest it was given. M0 is the one that makes the angle.

Source: three-point bending, any text; the arms, the thumb and the places are a model of hands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.wire.roots import increasing_root


class HandLaw(Protocol):
    """Moment [N m] and slope [N m2] of joints in the hand, for curvatures (B, n) [1/m]."""

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return both."""

    def take(self, rows: NDArray[np.intp]) -> HandLaw:
        """Return the law of some limbs."""


QUICK_STEPS, HALVINGS = 100, 48
MOST_STEPS = 200
LEAST_MOMENT = 1e-300
TIGHTEST = 1e5  # 1/m, beyond any limb
NARROW = 0.6  # of the limbs still under way, below which the others are left alone
LEAST_TURN = 1e-9  # rad
FARTHEST = 200.0
LONGEST_STEP = 2.5
"""Of the logarithm of a curvature."""


@dataclass(frozen=True, kw_only=True)
class Press:
    """A thumb at ``middle`` [m] with an arm on each side, ``left`` to the clamp, ``right`` to the
    tip [m], and the ``thumb``'s width [m]."""

    middle: float
    left: float
    right: float
    thumb: float = 0.0

    def moment(self, place: Array) -> Array:
        """Return the moment at places (n,) [m] as a share of M0."""
        off = place - self.middle
        arm = np.where(off < 0, self.left, self.right)
        level = np.minimum(self.thumb / 2, 0.9 * arm)
        return np.asarray(np.maximum(1 - np.maximum(np.abs(off), level) / arm, 0.0))

    @property
    def force(self) -> float:
        """Force of the thumb over M0. [1/m]"""
        return 1 / self.left + 1 / self.right


def pressed_moment(presses: Sequence[Press], place: Array) -> Array:
    """Return the greatest moment at places (n,) [m] that any press gives, as a share of M0."""
    return np.asarray(np.max([press.moment(place) for press in presses], axis=0))


def breaks(presses: Sequence[Press]) -> list[float]:
    """Return the places where the moment along the limb has a corner, in order. [m]"""
    corners: set[float] = set()
    for press in presses:
        half = press.thumb / 2
        corners |= {press.middle - press.left, press.middle + press.right}
        corners |= {
            press.middle - min(half, 0.9 * press.left),
            press.middle + min(half, 0.9 * press.right),
        }
    for first in presses:
        for second in presses:
            if second.middle > first.middle:
                corners.add(_crossing(first, second))
    start = min(press.middle - press.left for press in presses)
    end = max(press.middle + press.right for press in presses)
    ordered = sorted(corner for corner in corners if start <= corner <= end)
    kept = [ordered[0]]
    for corner in ordered[1:]:
        if corner - kept[-1] > 1e-6 * (end - start):
            kept.append(corner)
    return kept


def _crossing(first: Press, second: Press) -> float:
    """Return where the fall of one press meets the rise of the next. [m]"""
    tip, start = first.middle + first.right, second.middle - second.left
    if start >= tip:
        return tip
    return (tip / first.right + start / second.left) / (1 / first.right + 1 / second.left)


@dataclass(frozen=True, kw_only=True)
class Pressed:
    """What hands make of a bend: ``curvature`` (B, n) at the places [1/m] and ``moment`` (B,),
    M0 without sign [N m]."""

    curvature: Array
    moment: Array


def pressed_to(
    law: HandLaw, free: Array, shares: Array, lengths: Array, angle: Array, close: float
) -> Pressed:
    """Return the curvatures by which presses turn a limb by an angle.

    Parameters
    ----------
    law : HandLaw
        Of fresh joints.
    free : array (B, n)
        Curvature at which the moment is nothing. [1/m]
    shares : array (n,)
        Moment over M0 at the places.
    lengths : array (n,)
        Length of limb that each place stands for; 0 for one that is only looked at. [m]
    angle : array (B,)
        Turn of all the places together, either sign. [rad]
    close : float
        Last relative change of a curvature.

    Notes
    -----
    Newton's method on the logarithms: moment over curvature is nearly a power law.
    """
    excess = angle - np.sum(lengths * free, axis=1)
    goal, pulled = np.maximum(np.abs(excess), LEAST_TURN), shares > 0
    side = np.copysign(1.0, excess)[:, None]
    level = np.log(np.where(pulled, shares, 1.0))
    turned = shares**1.5
    extra = turned * (goal / np.sum(lengths * turned))[:, None]
    found, moment_there = free.copy(), np.zeros(len(free))
    rows, height = np.arange(len(free)), np.zeros(len(free))
    pace, before = np.ones_like(extra), np.zeros_like(extra)
    for number in range(QUICK_STEPS):
        moment, slope = law.moment(free + side * extra)
        moment = np.where(pulled, np.maximum(side * moment, LEAST_MOMENT), 1.0)
        power = np.where(pulled, np.maximum(extra * slope / moment, 0.01), 1.0)
        off = np.where(pulled, level - np.log(moment), 0.0)
        height = _height(height, off, power, lengths * extra, goal, first=number == 0)
        step = np.clip((off + height[:, None]) / power, -LONGEST_STEP, LONGEST_STEP)
        step = np.where(pulled, step, 0.0)
        # over a corner of the law a step leads to and fro: such joints go more slowly
        astray = (step * before < 0) & (np.abs(step) > 0.3 * np.abs(before))
        pace = np.where(astray, pace / 2, np.minimum(1.5 * pace, 1.0))
        before, extra = step, np.minimum(extra * np.exp(pace * step), TIGHTEST)
        found[rows], moment_there[rows] = free + side * extra, np.exp(height)
        more = np.flatnonzero(np.abs(step).max(axis=1) >= close)
        if more.size == 0:
            return Pressed(curvature=found, moment=moment_there)
        if more.size < NARROW * len(rows):
            law, rows, free, side = law.take(more), rows[more], free[more], side[more]
            height, goal, extra = height[more], goal[more], extra[more]
            pace, before = pace[more], before[more]
    if more.size < len(rows):
        law, rows, free, side, goal = law.take(more), rows[more], free[more], side[more], goal[more]
    extra, moment_there[rows] = _halved(law, free, side, shares, lengths, goal)
    found[rows] = free + side * extra
    return Pressed(curvature=found, moment=moment_there)


def _halved(
    law: HandLaw, free: Array, side: Array, shares: Array, lengths: Array, goal: Array
) -> tuple[Array, Array]:
    """Return the same by halving the curvature of the sharpest place: for laws that hardly rise.

    Curvatures (B, n) beyond the free ones [1/m] and M0 (B,) [N m].
    """
    top = int(np.argmax(shares))
    nothing, far = np.zeros(free.shape), np.full(free.shape, TIGHTEST)
    low = np.full(len(free), np.log(1e-9))
    high = np.full(len(free), np.log(TIGHTEST))
    extra, moment = nothing, np.zeros(len(free))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        sharp = free + side * np.exp(middle)[:, None]
        moment = np.maximum((side * law.moment(sharp)[0])[:, top], 0.0) / shares[top]

        def beyond(x: Array, moment: Array = moment) -> tuple[Array, Array]:
            value, slope = law.moment(free + side * x)
            return side * value - shares * moment[:, None], slope

        extra = np.where(
            shares > 0, increasing_root(beyond, nothing, far, nothing + 1.0, 1e-12), 0.0
        )
        extra[:, top] = np.exp(middle)
        over = extra @ lengths > goal
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return extra, moment


def _height(
    height: Array, off: Array, power: Array, turns: Array, goal: Array, first: bool
) -> Array:
    """Return the logarithm (B,) of M0 that makes the angle if each joint is a power law."""
    if first:
        height = -np.sum(turns * off, axis=1) / turns.sum(axis=1)
    for _ in range(MOST_STEPS):
        # the logarithm of the turn is convex in that of M0, so that Newton ends on one side
        grown = turns * np.exp(np.clip((off + height[:, None]) / power, -FARTHEST, FARTHEST))
        total = grown.sum(axis=1)
        rise = np.sum(grown / power, axis=1) / total
        change = np.clip(np.log(goal / total) / rise, -1.0, 1.0)
        height = height + change
        if np.abs(change).max() < 1e-9:
            break
    return height
