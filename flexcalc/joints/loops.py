"""The wire at every joint by Masing's rule: it remembers where its curvature has turned.

From each turn the moment follows the virgin curve at twice its scale, until a loop closes; then
the leg before goes on as if there had been none. A wire that is bent back to where it was let go
is the wire it was.

Source: Masing 1926 and the memory of closed loops, any text on cyclic plasticity (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.wire.bundle import Bundle, loading_moment

Rows = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class LoopWire:
    """The wires of B limbs at N joints; ``turns``, curvatures (B, N) from straight on. [1/m]

    A loop that has closed has no length: its turns stand where it closed.
    """

    bundle: Bundle
    turns: tuple[Array, ...]

    def take(self, rows: Rows) -> LoopWire:
        """Return the wires of some limbs."""
        return LoopWire(
            bundle=self.bundle.take(rows), turns=tuple(turn[rows] for turn in self.turns)
        )

    def at_joints(self, joints: Rows) -> LoopWire:
        """Return the wires at some of the joints, each as often as it is named."""
        return replace(self, turns=tuple(turn[:, joints] for turn in self.turns))

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] after one leg to curvatures (B, N)."""
        ends = [*self._open(curvature), curvature]
        bundle = self.bundle.across(1)
        moment, slope = np.zeros(curvature.shape), np.zeros(curvature.shape)
        started = np.zeros(curvature.shape, dtype=bool)
        for number in range(1, len(ends)):
            leg = ends[number] - ends[number - 1]
            scale = np.where(started, 2.0, 1.0)
            value, rise = loading_moment(bundle, np.abs(leg) / scale)
            moment += np.copysign(scale * value, leg)
            slope = rise
            started |= leg != 0
        return moment, slope

    def sideways_share(self, curvature: Array) -> Array:
        """Return the share (B, N) of its rigidity that a wire sets against being bent across its
        own bend, after one leg to curvatures (B, N).

        Of the fibres that yield again, half are driven on and half spring back.
        """
        turns = self._open(curvature)
        started = np.zeros(curvature.shape, dtype=bool)
        for number in range(1, len(turns)):
            started |= turns[number] != turns[number - 1]
        leg = np.abs(curvature - turns[-1])
        twice = np.where(started, 2.0, 1.0)
        first = np.asarray(self.bundle.yield_curvature)[:, None]
        edge = np.minimum(twice * first / np.maximum(leg, 1e-300), 1.0)
        root = np.sqrt((1 - edge) * (1 + edge))
        inner = 2 / (3 * np.pi) * (edge * (5 - 2 * edge**2) * root + 3 * np.arcsin(edge))
        return np.asarray(1 - (1 - inner) / 2)

    def moved(self, curvature: Array) -> LoopWire:
        """Return the wires after one leg to curvatures (B, N)."""
        ends = [*self._open(curvature), curvature.copy()]
        kept = [ends[0]]
        kept += [end for end, before in zip(ends[1:], ends, strict=False) if np.any(end != before)]
        return replace(self, turns=tuple(kept))

    def _open(self, curvature: Array) -> list[Array]:
        """Return the turns once the loops that this leg closes, or goes on with, have no length."""
        turns = [turn.copy() for turn in self.turns]
        alive = np.ones(curvature.shape, dtype=bool)
        began = [np.zeros(curvature.shape, dtype=bool)]
        for number in range(1, len(turns)):
            began.append(began[-1] | (turns[number] != turns[number - 1]))
        for number in range(len(turns) - 1, 0, -1):
            leg = turns[number] - turns[number - 1]
            onward = curvature - turns[number]
            reach = np.where(began[number - 1], 1.0, 2.0) * np.abs(leg)
            closed = alive & ((leg * onward >= 0) | (np.abs(onward) >= reach))
            for later in range(number, len(turns)):
                turns[later] = np.where(closed, turns[number - 1], turns[later])
            alive = closed
        return turns


def virgin_loops(bundle: Bundle, joints: int) -> LoopWire:
    """Return straight virgin wires, arrays (B,) of the bundle, at some joints."""
    return LoopWire(bundle=bundle, turns=(np.zeros((len(bundle.radius), joints)),))
