"""Lines of limbs in space: where their joints turn them, from the clamp to the tip.

x runs forward from the clamp, y to the left, z up. A limb at its clamp points forward and down
or up; axis 1 of its section points to the left there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.rod.rotations import exponential, matrices, product, relative, rotation_vectors
from flexcalc.rod.space_chain import tangents

Rows = NDArray[np.intp]
STRAIGHT = 1e-9  # curvature times the length of the limb
SMALL = 1e-4  # rad, below which a series stands for the closed form


@dataclass(frozen=True, kw_only=True)
class SpaceLine:
    """Lines of B limbs at n stations: ``points`` (B, n, 3) from the clamp [m], ``frames``
    (4, B, n) as quaternions of section axis 1, axis 2 and tangent."""

    points: Array = field(repr=False)
    frames: Array = field(repr=False)

    def take(self, rows: Rows) -> SpaceLine:
        """Return the lines of some limbs."""
        return SpaceLine(points=self.points[rows], frames=self.frames[:, rows])

    @property
    def angles(self) -> Array:
        """Directions (B, n) from straight down, 0 to pi. [rad]"""
        return np.asarray(np.arccos(np.clip(-tangents(self.frames)[2], -1.0, 1.0)))

    def curvatures(self, arc_length: Array) -> Array:
        """Return curvatures (B, n - 1) between stations (n,) [m], without sign. [1/m]"""
        turns = rotation_vectors(relative(self.frames[:, :, :-1], self.frames[:, :, 1:]))
        size = np.hypot(turns[0], turns[1]) / np.diff(arc_length)
        # what rounding leaves of a straight piece
        return np.asarray(np.where(size * arc_length[-1] < STRAIGHT, 0.0, size))

    def hand_turn(self, other: SpaceLine) -> Array:
        """Return by how much (B,) the tip turns from these lines to others. [rad]"""
        turned = rotation_vectors(relative(self.frames[:, :, -1], other.frames[:, :, -1]))
        return np.asarray(np.sqrt(np.sum(turned**2, axis=0)))


def joined(lines: list[SpaceLine]) -> SpaceLine:
    """Return the lines of several batches as one."""
    return SpaceLine(
        points=np.concatenate([line.points for line in lines]),
        frames=np.concatenate([line.frames for line in lines], axis=1),
    )


def clamp_frames(clamp_angle: float, count: int) -> Array:
    """Return quaternions (4, B) of limbs that leave their clamp at an angle from straight down.

    [rad]
    """
    return plane_frames(np.full(count, clamp_angle))


def plane_frames(angles: Array) -> Array:
    """Return quaternions (4, ...) of segments in the plane at angles (...) from straight down.

    [rad]
    """
    # axes left, up and tangent of a segment that hangs straight down, turned up about the left
    hanging = np.array([0.0, math.sqrt(0.5), math.sqrt(0.5), 0.0])
    nothing = np.zeros_like(angles)
    turned = exponential(np.stack([nothing, -angles, nothing]))
    return product(turned, hanging.reshape(-1, *[1] * angles.ndim))


def line_in_plane(angles: Array, arc_length: Array) -> SpaceLine:
    """Return the lines of limbs in their plane, from angles (B, n) [rad] at stations (n,) [m]."""
    turns = np.zeros((3, len(angles), len(arc_length) - 1))
    turns[0] = -np.diff(angles, axis=1)  # upwards is about axis 1 backwards
    frames = plane_frames(angles)
    return line_of(frames[:, :, 0], frames[:, :, 1:], turns, np.diff(arc_length))


def frames_of(clamp: Array, turns: Array) -> Array:
    """Return frames (4, B, N) behind joints that turn by vectors (3, B, N) [rad] in the axes of
    their sections, from clamps (4, B)."""
    each = exponential(turns)
    frames = np.empty_like(each)
    last = clamp
    for joint in range(turns.shape[2]):
        last = product(last, each[:, :, joint])
        frames[:, :, joint] = last
    return frames


def line_of(clamp: Array, frames: Array, turns: Array, lengths: Array) -> SpaceLine:
    """Return lines of limbs that bend evenly over each of their joints.

    Parameters
    ----------
    clamp : array (4, B)
        Frames at the clamp.
    frames : array (4, B, N)
        Behind each joint.
    turns : array (3, B, N)
        Rotation vectors of the joints in the axes of their sections. [rad]
    lengths : array (N,)
        Of limb that bends at each joint. [m]
    """
    every = np.concatenate([clamp[:, :, None], frames], axis=2)
    steps = lengths * _moved(every[:, :, :-1], turns)
    points = np.zeros((frames.shape[1], frames.shape[2] + 1, 3))
    points[:, 1:] = np.moveaxis(np.cumsum(steps, axis=2), 0, -1)
    return SpaceLine(points=points, frames=every)


def _moved(frames: Array, turns: Array) -> Array:
    """Return where (3, B, N) a length of 1 leads that starts along frames and turns evenly."""
    x, y, z = turns
    square = x * x + y * y + z * z
    size = np.sqrt(square)
    safe = np.maximum(size, SMALL)
    once = np.where(size > SMALL, (1 - np.cos(safe)) / safe**2, 0.5 - square / 24)
    twice = np.where(size > SMALL, (safe - np.sin(safe)) / safe**3, 1 / 6 - square / 120)
    # e3 + once (turn x e3) + twice (turn x (turn x e3))
    own = np.stack(
        [once * y + twice * x * z, twice * y * z - once * x, 1 - twice * (x * x + y * y)]
    )
    return np.asarray(np.einsum("ijbn,jbn->ibn", matrices(frames), own))
