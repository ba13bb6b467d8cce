"""Which way each joint of a limb in space bends: up, to the left, or wherever it is pulled.

A limb's own axes go with it without twist. Axis 1 of its section points to the left of someone
who looks from root to tip, axis 2 up, axis 3 along the limb; a bend's swing turns it from up to
the left. Own axes of a joint are the turn of its bend, the turn across it, and the twist.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.limb.along import Along
from flexcalc.limb.inputs import Bend, Limb, Setting

Rows = NDArray[np.intp]
FLAT = 1e-9
"""Sine of a swing below which a bend counts as one in the limb's upright plane."""


def leaves_plane(limb: Limb, setting: Setting) -> bool:
    """Tell whether a limb in its setting does not stay in its upright plane."""
    bends = (*setting.bends, *(bend for pose, _ in setting.poses_before for bend in pose))
    if any(bend.angle and abs(math.sin(bend.swing)) > FLAT for bend in bends):
        return True
    outline = limb.outline
    return isinstance(outline, Along) and bool(outline.sideways_curvature or outline.natural_twist)


def in_plane(bend: Bend) -> Bend:
    """Return a bend that swings by 0 or pi as one that curls up or down without swing."""
    if bend.swing == 0 or abs(math.sin(bend.swing)) > FLAT:
        return bend
    return replace(bend, swing=0.0, angle=math.copysign(1.0, math.cos(bend.swing)) * bend.angle)


def in_plane_setting(setting: Setting) -> Setting:
    """Return a setting whose bends that swing by 0 or pi curl up or down without swing."""
    before = [bend for pose, _ in setting.poses_before for bend in pose]
    if not any(bend.swing for bend in (*setting.bends, *before)):
        return setting
    poses = setting.last_bends
    if poses and isinstance(poses[0], Bend):
        poses = tuple(in_plane(bend) for bend in before)
    else:
        poses = tuple(
            (tuple(in_plane(bend) for bend in pose), time) for pose, time in setting.poses_before
        )
    return replace(setting, bends=tuple(in_plane(bend) for bend in setting.bends), last_bends=poses)


@dataclass(frozen=True, kw_only=True)
class Sides:
    """What limbs that leave their plane add to those that do not.

    ``sideways``, ``mixed`` and ``torsion`` (S,), EIyy, EIxy and GJ of the bare section over its
    EIxx at the stations; ``curvature`` and ``twist``, pairs of a share of the length and the
    sideways curvature and the twist there as printed [1/m]; ``held`` (B,) 1 where the wire cannot
    turn in its channel, 0 where it turns freely; ``poisson`` ratio of the wire; ``settles``: a
    limb that falls is followed to where it comes to rest.
    """

    sideways: Array
    mixed: Array
    torsion: Array
    curvature: tuple[tuple[float, float], ...]
    twist: tuple[tuple[float, float], ...]
    held: Array
    poisson: float
    settles: bool = True

    def take(self, rows: Rows | slice) -> Sides:
        """Return those of some limbs."""
        return replace(self, held=self.held[rows])

    @property
    def ratios(self) -> Array:
        """The rigidities as rows (3, S)."""
        return np.stack([self.sideways, self.mixed, self.torsion])


@dataclass(frozen=True, kw_only=True)
class Aims:
    """Where n points of a limb are aimed.

    ``swing`` (n,) of their own bend [rad], ``aimless`` (n,): without one, they bend wherever they
    are pulled. In own axes ``last`` (poses, 2, n) curvatures of the poses before, the oldest
    first, and ``natural`` (3, n) curvature and twist as printed [1/m].
    """

    swing: Array
    aimless: NDArray[np.bool_]
    last: Array
    natural: Array

    def take(self, points: Rows) -> Aims:
        """Return some of the points."""
        return Aims(
            swing=self.swing[points],
            aimless=self.aimless[points],
            last=self.last[:, :, points],
            natural=self.natural[:, points],
        )

    @property
    def towards_natural(self) -> tuple[Array, Aims]:
        """Directions (2, n) in own axes in which the points were printed curved, and their aims
        if they were aimed there."""
        size = np.hypot(self.natural[0], self.natural[1])
        turn = np.arctan2(self.natural[1], self.natural[0])
        natural = np.stack([size, 0.0 * size, self.natural[2]])
        aims = replace(self, swing=self.swing + turn, aimless=size < 0, natural=natural)
        return np.stack([np.cos(turn), np.sin(turn)]), aims

    @property
    def told(self) -> Array:
        """All of it as columns (n, ...)."""
        last = self.last.reshape(-1, len(self.swing))
        return np.stack([self.swing, self.aimless, *last, *self.natural], axis=1)


def aims_of(
    bends: Sequence[tuple[NDArray[np.bool_], Bend]],
    poses: Sequence[Sequence[tuple[NDArray[np.bool_], Bend]]],
    natural: Array,
) -> Aims:
    """Return the aims of n points.

    Parameters
    ----------
    bends : sequence of (array (n,) of bool, Bend)
        Which points each bend takes.
    poses : sequence of such sequences
        The same for the poses before, the oldest first.
    natural : array (3, n)
        Curvature up, to the left, and twist, as printed. [1/m]
    """
    count = natural.shape[1]
    swing, aimless = np.zeros(count), np.ones(count, dtype=bool)
    bent = np.hypot(natural[0], natural[1]) > 0
    swing[bent] = np.arctan2(natural[1], natural[0])[bent]
    aimless &= ~bent
    last = np.zeros((len(poses), 2, count))
    for curled, before in zip(last, poses, strict=True):
        for inside, bend in before:
            if bend.angle:
                swing[inside], aimless[inside] = bend.swing, False
                way = np.array([math.cos(bend.swing), math.sin(bend.swing)])
                curled[:, inside] = bend.curvature * way[:, None]
    for inside, bend in bends:
        if bend.angle:
            swing[inside], aimless[inside] = bend.swing, False
    return Aims(
        swing=swing,
        aimless=aimless,
        last=np.array([_turned(swing, curled) for curled in last]).reshape(-1, 2, count),
        natural=np.concatenate([_turned(swing, natural[:2]), natural[2:]]),
    )


def _turned(swing: Array, ways: Array) -> Array:
    """Return components along and across a swing of pairs (up, left) (2, n)."""
    up, left = ways
    cos, sin = np.cos(swing), np.sin(swing)
    return np.stack([cos * up + sin * left, cos * left - sin * up])


def own_axes(swing: Array, curvatures: Array) -> Array:
    """Return curvatures (3, ..., n) in own axes of those in section axes, and the other way."""
    first, second, twist = curvatures
    cos, sin = np.cos(swing), np.sin(swing)
    return np.stack([sin * second - cos * first, sin * first + cos * second, twist])
