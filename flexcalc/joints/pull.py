"""The elastomer at every joint: the sum of the steps in which its curvature was changed.

Each step keeps its own age: M(t) = sum of e(t - T) (G(u after) - G(u before)), G the moment at
ten seconds over u = curvature less natural curvature, e the relaxed share. A letting-go is one
step at its own instant to wherever the joint stands now: what it moved since counts as of then.
No age below one second enters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.section.elastomer import FIRST_LOOK, PROFILE_NODES, REFERENCE_TIME, Softening

Rows = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class Softenings:
    """Softening tables of some sections, or one of all: ``scale`` (n,) [1/m], ``values`` and
    ``slopes`` (n, nodes) over the scale, ``step`` of the node coordinate."""

    scale: Array
    step: float
    values: Array
    slopes: Array

    def at_joints(self, joints: Rows) -> Softenings:
        """Return the tables of some joints."""
        if len(self.scale) == 1:
            return self
        return replace(
            self, scale=self.scale[joints], values=self.values[joints], slopes=self.slopes[joints]
        )

    def effective(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment over flexural rigidity [1/m] at curvatures (B, N), and its slope."""
        bent = np.abs(curvature) / self.scale
        place = np.log1p(bent) / self.step
        index = np.minimum(place.astype(np.intp), PROFILE_NODES - 2)
        share = np.minimum(place - index, 1.0)
        past = np.maximum(place - (PROFILE_NODES - 1), 0.0)
        if len(self.scale) > 1:
            index = index + PROFILE_NODES * np.arange(len(self.scale))
        values, slopes = self.values.ravel(), self.slopes.ravel()
        low, rise = values[index], slopes[index] * self.step
        high, onward = values[index + 1], slopes[index + 1] * self.step
        gap = high - low
        bow, twist = 3 * gap - 2 * rise - onward, rise + onward - 2 * gap
        value = low + share * (rise + share * (bow + share * twist)) + past * onward
        slope = (rise + share * (2 * bow + 3 * share * twist)) / self.step
        return np.copysign(value * self.scale, curvature), slope / (1 + bent)


def softenings(tables: Sequence[Softening]) -> Softenings:
    """Return the tables of some sections as one."""
    scale = np.array([table.scale for table in tables])
    return Softenings(
        scale=scale,
        step=tables[0].step,
        values=np.stack([table.values for table in tables]) / scale[:, None],
        slopes=np.stack([table.slopes for table in tables]) / scale[:, None],
    )


@dataclass(frozen=True, kw_only=True)
class Elastomers:
    """The elastomer of B limbs at N joints; axes of length 1 stand for all.

    ``rigidity`` (B, N) at ten seconds [N m2]; ``stiffening`` (B, 1), modulus over saturation
    stress, over that of the softening table; ``relaxation`` (B, 1) exponent; ``natural`` (N,)
    curvature [1/m].
    """

    rigidity: Array
    stiffening: Array
    relaxation: Array
    natural: Array
    softening: Softenings | None

    def take(self, rows: Rows) -> Elastomers:
        """Return the elastomer of some limbs."""
        return replace(
            self,
            rigidity=self.rigidity[rows],
            stiffening=self.stiffening[rows],
            relaxation=self.relaxation[rows],
        )

    def at_joints(self, joints: Rows) -> Elastomers:
        """Return the elastomer at some of the joints, each as often as it is named."""
        one = self.rigidity.shape[1] == 1
        return replace(
            self,
            rigidity=self.rigidity if one else self.rigidity[:, joints],
            natural=self.natural if len(self.natural) == 1 else self.natural[joints],
            softening=None if self.softening is None else self.softening.at_joints(joints),
        )

    def at_ten_seconds(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, N)."""
        strained = curvature - self.natural
        if self.softening is None:
            return self.rigidity * strained, np.broadcast_to(self.rigidity, strained.shape)
        value, slope = self.softening.effective(strained * self.stiffening)
        return self.rigidity / self.stiffening * value, self.rigidity * slope

    def share(self, age: float) -> Array:
        """Return the modulus (B, 1) some seconds after a step over that at ten seconds."""
        return np.asarray((max(age, FIRST_LOOK) / REFERENCE_TIME) ** -self.relaxation)


@dataclass(frozen=True, kw_only=True)
class Steps:
    """What was done to the elastomer: ``clocks`` [s] and the ``changes`` (B, N) of its moment at
    ten seconds, ``last`` (B, N) the moment after the last of them. [N m]"""

    clocks: tuple[float, ...]
    changes: tuple[Array, ...]
    last: Array

    def moved(self, clock: float, moment: Array) -> Steps:
        """Return the steps with one more, to a moment (B, N) at ten seconds."""
        return Steps(
            clocks=(*self.clocks, clock),
            changes=(*self.changes, moment - self.last),
            last=moment,
        )

    def at_joints(self, joints: Rows) -> Steps:
        """Return the steps at some of the joints."""
        return Steps(
            clocks=self.clocks,
            changes=tuple(change[:, joints] for change in self.changes),
            last=self.last[:, joints],
        )

    def left(self, elastomers: Elastomers, clock: float) -> Array:
        """Return the moment (B, N) that the steps leave at a time. [N m]"""
        moment = np.zeros_like(self.last)
        for then, change in zip(self.clocks, self.changes, strict=True):
            moment += elastomers.share(clock - then) * change
        return moment


@dataclass(frozen=True, kw_only=True)
class Pull:
    """The elastomer at one look after letting go: ``share`` (B, 1) of the modulus that follows
    the curvature, ``rest`` (B, N) of the moment that does not. [N m]"""

    elastomers: Elastomers
    share: Array
    rest: Array

    def take(self, rows: Rows) -> Pull:
        """Return the elastomer of some limbs."""
        return Pull(
            elastomers=self.elastomers.take(rows), share=self.share[rows], rest=self.rest[rows]
        )

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, N)."""
        value, slope = self.elastomers.at_ten_seconds(curvature)
        value = self.share * value
        value += self.rest
        return value, self.share * slope


def let_go(elastomers: Elastomers, steps: Steps, clock: float, age: float) -> Pull:
    """Return the elastomer some seconds after it was let go at a time."""
    share = elastomers.share(age)
    rest = steps.left(elastomers, clock + age) - share * steps.last
    return Pull(elastomers=elastomers, share=share, rest=rest)
