"""The joints of a limb's centre line: how long each is, and which way and how far it turns.

A joint turns evenly: its chord halves the angle between the directions at its ends. The limb's own
directions up and to the left go along without twist.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flexcalc.pose.pose import Shape

Points = NDArray[np.float64]
ALIKE = 1e-9
"""Of the sharpest curvature, up to which two joints that follow each other are one."""


def joints_of(shape: Shape, clamp_angle: float) -> Points:
    """Return the joints (n - 1, 3) of a shape that leaves its clamp at an angle from straight down
    [rad]: length [m], turn up and turn to the left [rad]."""
    lengths = np.diff(shape.arc_length)
    if not np.any(shape.points[:, 1]):
        return np.column_stack([lengths, np.diff(shape.angles), 0.0 * lengths])
    chords = np.diff(shape.points, axis=0)
    sin, cos = math.sin(clamp_angle), math.cos(clamp_angle)
    ahead, up, left = np.array([[sin, 0.0, -cos], [cos, 0.0, sin], [0.0, 1.0, 0.0]])
    turns = []
    for chord in chords / np.linalg.norm(chords, axis=1)[:, None]:
        aside = chord - (chord @ ahead) * ahead
        size = float(np.linalg.norm(aside))
        turn = 2 * math.atan2(size, float(chord @ ahead))
        way = aside / size if size > 0 else up
        turns.append((turn * float(way @ up), turn * float(way @ left)))
        moved = math.cos(turn) * way - math.sin(turn) * ahead - way
        ahead = 2 * (chord @ ahead) * chord - ahead
        up, left = up + (way @ up) * moved, left + (way @ left) * moved
    return np.column_stack([lengths, np.array(turns)])


def parted(
    joints: Points, ends: Sequence[tuple[float, float]]
) -> tuple[Points, tuple[Points, ...]]:
    """Return the joints of a limb without its bends, and those of each bend, which takes the limb
    between two ``ends`` [m].

    Where a bend was, the limb without it goes on as it does before and behind.
    """
    middles = np.cumsum(joints[:, 0]) - joints[:, 0] / 2
    owns = [(middles > start) & (middles < end) for start, end in ends]
    free = ~np.any([np.zeros(len(middles), dtype=bool), *owns], axis=0)
    curve = np.zeros_like(joints)
    curve[:, 0] = joints[:, 0]
    if free.any():
        for axis in (1, 2):
            bent = joints[free, axis] / joints[free, 0]
            curve[:, axis] = np.interp(middles, middles[free], bent) * joints[:, 0]
    return _joined(curve), tuple(_joined(joints[own]) for own in owns)


def _joined(joints: Points) -> Points:
    """Return joints with those made one that go on alike."""
    if not len(joints):
        return joints
    bent = joints[:, 1:] / joints[:, :1]
    other = np.abs(np.diff(bent, axis=0)).max(axis=1) > ALIKE * max(np.abs(bent).max(), 1.0)
    return np.asarray(np.add.reduceat(joints, np.flatnonzero(np.append(True, other))))
