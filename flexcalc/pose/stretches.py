"""Cut a limb into stretches and stations: a bend begins and ends at a station of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from data.rules import Array
from flexcalc.limb.inputs import Bend, Setting

LEAST_STRETCH = 1e-9
"""Stretches shorter than this share of the limb are left out."""


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A part of the limb of ``length`` [m] with ``joints`` equal joints, the first of them number
    ``first`` along the limb; ``bend`` is None where it is straight, else number
    ``number`` of the setting.
    """

    length: float
    first: int
    joints: int
    bend: Bend | None
    number: int | None

    @property
    def place(self) -> slice:
        """Where its joints are among those of the limb."""
        return slice(self.first, self.first + self.joints)

    @property
    def curvature(self) -> float:
        """What it is bent to. [1/m]"""
        return 0.0 if self.bend is None else self.bend.curvature


def cut_limb(setting: Setting, length: float, joints: int) -> tuple[Stretch, ...]:
    """Return the stretches of a limb [m] with about ``joints`` joints, twice as dense in bends.

    The bends are to end within the limb, see `check_bends`.
    """
    stretches: list[tuple[float, int | None]] = []
    reached = 0.0
    for place, one in enumerate(setting.bends):
        stretches += [(one.start - reached, None), (one.end - one.start, place)]
        reached = one.end
    stretches.append((length - reached, None))
    parts: list[Stretch] = []
    first = 0
    for stretch, number in stretches:
        if stretch <= LEAST_STRETCH * length:
            continue
        dense, fewest = (joints, 2) if number is None else (2 * joints, 4)
        count = max(int(np.ceil(dense * stretch / length)), fewest)
        parts.append(
            Stretch(
                length=stretch,
                first=first,
                joints=count,
                number=number,
                bend=None if number is None else setting.bends[number],
            )
        )
        first += count
    return tuple(parts)


def joint_lengths(parts: tuple[Stretch, ...]) -> Array:
    """Return the length of limb (N,) that bends at each joint. [m]"""
    return np.concatenate([np.full(part.joints, part.length / part.joints) for part in parts])


def turned_angles(clamp: float, curvature: Array, joints: Array) -> Array:
    """Return angles (B, N + 1) [rad] at the stations, for curvatures (B, N) [1/m] between them."""
    turned = clamp + np.cumsum(curvature * joints, axis=1)
    return np.concatenate([np.full((len(turned), 1), clamp), turned], axis=1)


def positions_of(angles: Array, arc_length: Array) -> Array:
    """Return points (..., n, 2) [m] of rods bent to a circular arc between stations (..., n)."""
    half = np.diff(angles, axis=-1) / 2
    chord = np.diff(arc_length) * np.sinc(half / np.pi)
    middle = angles[..., :-1] + half
    steps = np.stack([chord * np.sin(middle), -chord * np.cos(middle)], axis=-1)
    start = np.zeros_like(steps[..., :1, :])
    return np.concatenate([start, np.cumsum(steps, axis=-2)], axis=-2)
