"""Where joints come to rest: without weight each by itself, under load the whole limb together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.fibres import FibreWire
from flexcalc.joints.loops import LoopWire
from flexcalc.joints.pull import Pull
from flexcalc.rod.chain import solve_chain
from flexcalc.rod.tridiagonal import chain_steps

Rows: TypeAlias = NDArray[np.intp]
Mask: TypeAlias = NDArray[np.bool_]
WireState = FibreWire | LoopWire | None
CORNER_STIFFNESS = 1e4
"""How many times stiffer than the bare limb a rigid corner piece is taken to be."""
MOST_STEPS = 100
ROUNDING = 1e-14
NARROW = 0.6  # of the limbs still under way, below which the others are left alone
QUICK_STEPS = 8
"""Newton's steps after which a loaded limb is left to the solver that follows its branch."""
LARGEST_TURN = 1.0  # rad, of a segment from where it started, likewise
FIRST_RISE = 1 / 4  # of the load
FINEST_RISE = 1 / 256  # of the load, over which a limb that lost its pose has jumped
JUMP = 0.35  # rad, of a segment over a rise, above which a smaller one is tried
AT_REST = 1e-6  # rad, Newton's last step while the load rises


def elastic_rigidity(wire: WireState) -> Array | float:
    """Return the elastic rigidity (B, 1) of the wires. [N m2]"""
    if wire is None:
        return 0.0
    if isinstance(wire, LoopWire):
        return np.asarray(wire.bundle.rigidity)[:, None]
    return wire.metals.rigidity


def joint_moment(wire: WireState, pull: Pull, curvature: Array) -> tuple[Array, Array]:
    """Return moment [N m] and slope [N m2] of wire and elastomer at curvatures (B, N)."""
    value, slope = pull.moment(curvature)
    if wire is None:
        return value, slope
    moment, rise = wire.moment(curvature)
    return value + moment, slope + rise


def at_rest(wire: WireState, pull: Pull, start: Array, scale: Array, close: float) -> Array:
    """Return the curvatures (B, N) at which weightless joints rest, near a start. [1/m]

    ``close`` is the last step over a ``scale`` (B, N) of each joint [1/m].
    """
    found, rows, bent, scale = start.copy(), np.arange(len(start)), start, np.abs(scale)
    low, high = np.full(start.shape, -np.inf), np.full(start.shape, np.inf)
    value, slope = joint_moment(wire, pull, bent)
    # a joint that is let go first springs back elastically, whatever its slope in the hand was
    slope = np.maximum(slope, pull.moment(bent)[1] + elastic_rigidity(wire))
    for number in range(MOST_STEPS):
        high, low = np.where(value > 0, bent, high), np.where(value > 0, low, bent)
        new = bent - value / slope
        outside = ~((new > low) & (new < high)) & (value != 0)
        if number > 15 and number % 2:
            outside |= np.isfinite(high - low)
        if outside.any():
            middle = (low + high) / 2
            new = np.where(outside & np.isfinite(middle), middle, new)
        step, bent = np.abs(new - bent), new
        found[rows] = bent
        left = step > max(close, ROUNDING) * np.maximum(scale, np.abs(bent))
        more = np.flatnonzero(left.any(axis=1))
        if more.size == 0:
            return found
        if more.size < NARROW * len(rows):
            # limbs at the corners of their laws take longer, and then by themselves
            wire = None if wire is None else wire.take(more)
            pull, rows, bent, scale = pull.take(more), rows[more], bent[more], scale[more]
            low, high = low[more], high[more]
        value, slope = joint_moment(wire, pull, bent)
    raise RuntimeError(
        f"no rest found in {MOST_STEPS} steps, the last of them up to {step.max():.3g} 1/m"
    )


@dataclass(frozen=True, kw_only=True)
class JointLaw:
    """Moment of the joints of many limbs: wire and elastomer, or a corner piece that holds
    ``held`` (B, N) curvatures with a ``stiffness`` (B, N) where ``rigid`` (N,)."""

    wire: WireState
    pull: Pull
    rigid: Mask
    held: Array
    stiffness: Array

    def __call__(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, N)."""
        moment, slope = joint_moment(self.wire, self.pull, curvature)
        if self.rigid.any():
            stiff = self.stiffness * (curvature - self.held)
            moment = np.where(self.rigid, stiff, moment)
            slope = np.where(self.rigid, self.stiffness, slope)
        return moment, slope

    def take(self, rows: Rows) -> JointLaw:
        """Return the law of some limbs."""
        return JointLaw(
            wire=None if self.wire is None else self.wire.take(rows),
            pull=self.pull.take(rows),
            rigid=self.rigid,
            held=self.held[rows],
            stiffness=self.stiffness[rows],
        )


@dataclass(frozen=True, kw_only=True)
class Load:
    """What pulls a limb down: ``clamp`` (B,) direction from straight down [rad], ``joints`` and
    ``segments`` (N,) lengths [m], ``loads`` (B, N) of all that hangs beyond a segment [N]."""

    clamp: Array
    joints: Array
    segments: Array
    loads: Array

    def take(self, rows: Rows) -> Load:
        """Return the load of some limbs."""
        return Load(
            clamp=self.clamp[rows],
            joints=self.joints,
            segments=self.segments,
            loads=self.loads[rows],
        )

    def out_of_balance(self, law: JointLaw, angles: Array) -> tuple[Array, Array, Array]:
        """Return the moment left over at each segment (B, N) [N m], the stiffness of the joints
        and the curvature of the load's energy (B, N) [N m], for angles (B, N) [rad]."""
        moments, slopes = law(self.curvatures(angles))
        pull = self.loads * self.segments
        left = pull * np.sin(angles)
        left += moments
        left[:, :-1] -= moments[:, 1:]
        return left, slopes / self.joints, pull * np.cos(angles)

    def curvatures(self, angles: Array) -> Array:
        """Return the curvatures (B, N) of joints [1/m] between segments at angles (B, N)."""
        before = np.concatenate([self.clamp[:, None], angles[:, :-1]], axis=1)
        return np.asarray((angles - before) / self.joints)

    def angles(self, curvatures: Array) -> Array:
        """Return the angles (B, N) of the segments [rad]."""
        return self.clamp[:, None] + np.cumsum(curvatures * self.joints, axis=1)


def loaded(
    law: JointLaw, load: Load, start: Array, close: float, fresh: bool
) -> tuple[Array, Mask]:
    """Return how limbs rest under their load, near where they start.

    Parameters
    ----------
    law : JointLaw
        Of all joints.
    load : Load
        The load.
    start : array (B, N)
        Angles of the segments; without load where ``fresh``, else at rest a little before. [rad]
    close : float
        Newton's last step. [rad]

    Returns
    -------
    array (B, N)
        Angles of the segments. [rad]
    array (B,) of bool
        True where the pose was kept, False where the limb snapped over to another.
    """
    angles, kept = _quick(law, load, start, close)
    rows = np.flatnonzero(~kept)
    if rows.size:
        angles[rows], kept[rows] = _followed(law.take(rows), load.take(rows), start[rows], fresh)
    return angles, kept


def _quick(law: JointLaw, load: Load, start: Array, close: float) -> tuple[Array, Mask]:
    """Return angles by Newton's steps, and where these ended at a stable rest nearby."""
    rows = np.arange(len(start))
    angles, here, sound = start.copy(), start, np.zeros(len(start), dtype=bool)
    for _ in range(QUICK_STEPS):
        left, stiffness, bowl = load.out_of_balance(law, here)
        steps, stable = chain_steps(stiffness, bowl, [-left])
        here = here + steps[0]
        size = np.abs(steps[0]).max(axis=1)
        angles[rows] = here
        done = stable & (size < close)
        sound[rows[done]] = True
        more = np.flatnonzero(~done & (size < 2 * LARGEST_TURN))
        if more.size == 0:
            break
        if more.size < NARROW * len(rows):
            law, load, rows, here = law.take(more), load.take(more), rows[more], here[more]
    return angles, sound & (np.abs(angles - start).max(axis=1) < LARGEST_TURN)


def _followed(law: JointLaw, load: Load, start: Array, fresh: bool) -> tuple[Array, Mask]:
    """Return rests reached while the load rises, and where a limb got there without a jump.

    The load rises as far as no segment turns too much. Where it turns at once even over the
    finest rise, the limb has lost its pose and falls to another.
    """
    shape, share = start.copy(), np.full(len(start), 0.0 if fresh else 1.0)
    rise = np.full(len(start), FIRST_RISE)
    rows = np.flatnonzero(share < 1)
    while rows.size:
        reached = np.minimum(share[rows] + rise[rows], 1.0)
        part = load.take(rows)
        hung = replace(part, loads=reached[:, None] * part.loads)
        found, sound = _quick(law.take(rows), hung, shape[rows], AT_REST)
        sound &= np.abs(found - shape[rows]).max(axis=1) < JUMP
        good = rows[sound]
        shape[good], share[good] = found[sound], reached[sound]
        rise[rows] *= np.where(sound, 2.0, 0.5)
        rows = rows[(share[rows] < 1) & (rise[rows] >= FINEST_RISE)]
    kept = share == 1
    rows = np.flatnonzero(~kept) if fresh else np.arange(len(start))
    if rows.size:
        fallen = _fallen(law.take(rows), load.take(rows), shape[rows], start[rows], fresh)
        if not fresh:
            kept = np.abs(fallen - start).max(axis=1) < LARGEST_TURN
        shape[rows] = fallen
    return shape, kept


def _fallen(law: JointLaw, load: Load, shape: Array, start: Array, fresh: bool) -> Array:
    """Return where limbs come to rest that lost their branch at a ``shape``."""

    def solved(angles: Array, share: float) -> Array:
        found = solve_chain(
            law, load.joints, load.segments, load.clamp, load.loads, angles, start_load=share
        )
        return found.angles

    if not fresh:
        return solved(start, 1.0)
    try:
        return solved(start, 0.0)
    except RuntimeError:  # wound up limbs: downhill from where the branch ended
        return solved(shape, 1.0)
