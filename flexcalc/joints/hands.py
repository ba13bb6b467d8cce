"""A bend made by hand: the thumb presses, fingers hold on both sides, and the limb is no arc.

Between the thumb and a finger, an arm away, the moment falls from M0 to nothing; the thumb's
width keeps it level in the middle. Hands that move along press at several places, and each joint
keeps the sharpest it was given. M0 is the one that makes the angle.

Source: three-point bending, any text; the arms, the thumb and the places are a model of hands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from data.rules import Array

Law = Callable[[Array], tuple[Array, Array]]
MOST_STEPS = 80
LEAST_TURN = 1e-9  # rad
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
    law: Law, free: Array, shares: Array, lengths: Array, angle: Array, close: float
) -> Pressed:
    """Return the curvatures by which presses turn a limb by an angle.

    Parameters
    ----------
    law : callable
        Curvature (B, n) -> moment and slope (B, n) of a joint in the hand. [1/m, N m, N m2]
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
    height = np.zeros(len(free))
    for number in range(MOST_STEPS):
        moment, slope = law(free + side * extra)
        moment = np.where(pulled, side * moment, 1.0)
        power = np.where(pulled, np.maximum(extra * slope / moment, 0.01), 1.0)
        off = np.where(pulled, level - np.log(moment), 0.0)
        height = _height(height, off, power, lengths * extra, goal, first=number == 0)
        step = np.clip((off + height[:, None]) / power, -LONGEST_STEP, LONGEST_STEP)
        step = np.where(pulled, step, 0.0) * (1.0 if number < 20 else 0.5)
        extra = extra * np.exp(step)
        if np.abs(step).max() < close:
            return Pressed(curvature=free + side * extra, moment=np.exp(height))
    raise RuntimeError(
        f"no press found in {MOST_STEPS} steps for angles up to {np.abs(angle).max():.6g} rad over "
        f"{lengths.sum():.6g} m"
    )


def _height(
    height: Array, off: Array, power: Array, turns: Array, goal: Array, first: bool
) -> Array:
    """Return the logarithm (B,) of M0 that makes the angle if each joint is a power law."""
    total = turns.sum(axis=1)
    if first:
        height = -np.sum(turns * off, axis=1) / total
    for _ in range(8):
        step = np.clip((off + height[:, None]) / power, -LONGEST_STEP, LONGEST_STEP)
        grown = turns * np.exp(step)
        total = grown.sum(axis=1)
        free = np.abs(step) < LONGEST_STEP
        rise = np.sum(np.where(free, grown / power, 0.0), axis=1) / total
        change = np.clip(np.log(goal / total) / np.maximum(rise, 0.2), -1.0, 1.0)
        height = height + change
        if np.abs(change).max() < 1e-10:
            break
    return height
