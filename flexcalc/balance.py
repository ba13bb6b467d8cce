"""The forces on the segments of a chain, and how they change with its shape."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.intp]
MomentLaw: TypeAlias = Callable[[Array], tuple[Array, Array]]
"""Curvature (B, N) [1/m] -> moment (B, N) [N m] and its positive slope (B, N) [N m2]."""


@dataclass(frozen=True, kw_only=True)
class Chain:
    """``law`` of the joints, their lengths ``joints`` (N,) [m], ``clamp`` angles (B,) [rad].

    ``pull`` (B, N) is load times length of each segment. [N m]
    """

    law: MomentLaw
    joints: Array
    clamp: Array
    pull: Array

    def curvatures(self, angles: Array) -> Array:
        """Curvature of the joints (B, N) [1/m] for the angles of the segments (B, N) [rad]."""
        turns = np.empty_like(angles)
        turns[:, 0] = angles[:, 0] - self.clamp
        np.subtract(angles[:, 1:], angles[:, :-1], out=turns[:, 1:])
        turns /= self.joints
        return turns

    def take(self, rows: Rows) -> Chain | None:
        """Return the chain of some members, or None where the law cannot be narrowed."""
        narrow = getattr(self.law, "take", None)
        if narrow is None:
            return None
        return Chain(
            law=narrow(rows), joints=self.joints, clamp=self.clamp[rows], pull=self.pull[rows]
        )


@dataclass(frozen=True, kw_only=True)
class Forces:
    """Moments of the joints, turning effect of the full load, and the slopes of both (B, N)."""

    moments: Array
    outer: Array
    stiffness: Array
    bowl: Array

    def gradient(self, load: Array) -> Array:
        """Moment out of balance on each segment at a share ``load`` (B,) of the full load."""
        balance = load[:, None] * self.outer
        balance += self.moments
        balance[:, :-1] -= self.moments[:, 1:]
        return balance

    def take(self, rows: Rows) -> Forces:
        """Return the forces of some members."""
        return Forces(**{name: value[rows] for name, value in vars(self).items()})

    def put(self, rows: Rows, part: Forces) -> None:
        """Put the forces of some members in place of theirs."""
        for name, value in vars(part).items():
            vars(self)[name][rows] = value


def forces(chain: Chain, angles: Array) -> Forces:
    """Return the forces on the segments (B, N) at the full load. [N m]"""
    moments, tangents = chain.law(chain.curvatures(angles))
    return Forces(
        moments=np.array(moments),
        outer=chain.pull * np.sin(angles),
        stiffness=tangents / chain.joints,
        bowl=chain.pull * np.cos(angles),
    )
