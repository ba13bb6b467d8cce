"""Joints at one time of their history: what wire and elastomer remember, and where they are."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.balance import WireState
from flexcalc.joints.pull import Elastomers, Steps

Rows = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class State:
    """Joints at one time: what wire and elastomer remember, and where they are."""

    wire: WireState
    elastomers: Elastomers
    steps: Steps
    curvature: Array

    def moved(self, clock: float, curvature: Array) -> State:
        """The hand brings the joints (B, n) to curvatures [1/m]."""
        return replace(
            self,
            wire=None if self.wire is None else self.wire.moved(curvature),
            steps=self.steps.moved(clock, self.elastomers.at_ten_seconds(curvature)[0]),
            curvature=curvature,
        )

    def stood(self) -> State:
        """The wires have followed to where the joints are."""
        return self if self.wire is None else replace(self, wire=self.wire.moved(self.curvature))

    def let_go(self, clock: float) -> State:
        """The letting-go as one more step, to where the joints are now."""
        moment = self.elastomers.at_ten_seconds(self.curvature)[0]
        return replace(self, steps=self.steps.moved(clock, moment))

    def at_joints(self, joints: Rows) -> State:
        """Some of the joints, each as often as it is named."""
        return replace(
            self,
            wire=None if self.wire is None else self.wire.at_joints(joints),
            elastomers=self.elastomers.at_joints(joints),
            steps=self.steps.at_joints(joints),
            curvature=self.curvature[:, joints],
        )
