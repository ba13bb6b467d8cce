"""Follow the resting shape of a batch of chains while their load rises from zero.

Each step corrects the shape at the load it has reached and, where that correction is small,
raises the load as far as no segment turns too much. A step that leaves the branch is taken
back and halved. Where the branch ends (the chain buckles or snaps over) the chain runs
downhill in energy to the next stable shape, at that load, and is marked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flexcalc.tridiagonal import chain_steps

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.intp]
MomentLaw: TypeAlias = Callable[[Array], tuple[Array, Array]]
"""Curvature (B, N) [1/m] -> moment (B, N) [N m] and its positive slope (B, N) [N m2]."""

LARGEST_TURN = 1.0  # rad, of a segment while the load rises
CLOSE = 0.2  # rad, correction below which the load may rise further
ASTRAY = 0.5  # rad, correction that shows a step was too long
DONE = 1e-6  # rad, the last correction; Newton squares what it leaves
FINEST_RISE = 1e-3  # of the load; the branch ends where even this is too much
KICK = 0.05  # rad at the tip, pushes a chain off an equilibrium it cannot keep
MOST_STEPS = 600


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
    """Gradient of the energy (``inner`` of the joints, ``outer`` of the load) and its slopes."""

    inner: Array
    outer: Array
    stiffness: Array
    bowl: Array

    def gradient(self, load: Array) -> Array:
        """Moment out of balance on each segment at a share ``load`` (B,) of the full load."""
        return self.inner + load[:, None] * self.outer


def forces(chain: Chain, angles: Array) -> Forces:
    """Return the forces on the segments (B, N) at the full load. [N m]"""
    moments, tangents = chain.law(chain.curvatures(angles))
    inner = moments.copy()
    inner[:, :-1] -= moments[:, 1:]
    return Forces(
        inner=inner,
        outer=chain.pull * np.sin(angles),
        stiffness=tangents / chain.joints,
        bowl=chain.pull * np.cos(angles),
    )


@dataclass(frozen=True, kw_only=True)
class _Path:
    """Where each member stands: shape, share of the load, and the last shape it had in rest."""

    angles: Array
    forces: Forces
    load: Array
    rest_angles: Array
    rest_load: Array
    most_rise: Array
    falling: Mask
    kept: Mask

    def take(self, rows: Rows) -> _Path:
        values = {name: value[rows] for name, value in vars(self).items() if name != "forces"}
        narrow = Forces(**{name: value[rows] for name, value in vars(self.forces).items()})
        return _Path(forces=narrow, **values)


def followed(chain: Chain, start: Array, load: float) -> tuple[Array, Mask, int]:
    """Return resting angles (B, N), whether the branch was kept (B,), and the number of steps.

    ``load`` is the share of the full load at which ``start`` is (nearly) at rest: 0 to follow
    the branch from the unloaded shape, 1 to refine a shape that is known.
    """
    batch = len(start)
    result, kept, rows = start.copy(), np.ones(batch, dtype=bool), np.arange(batch)
    part, path = (
        chain,
        _Path(
            angles=start,
            forces=forces(chain, start),
            load=np.full(batch, load),
            rest_angles=start,
            rest_load=np.full(batch, load),
            most_rise=np.ones(batch),
            falling=np.full(batch, load == 1),
            kept=np.ones(batch, dtype=bool),
        ),
    )
    for step in range(1, MOST_STEPS + 1):
        path, done = _advanced(part, path)
        if done.any():
            result[rows[done]], kept[rows[done]] = path.angles[done], path.kept[done]
        if done.all():
            return result, kept, step
        narrower = part.take(np.flatnonzero(~done)) if done.mean() > 0.3 else None
        if narrower is not None:
            part, rows, path = narrower, rows[~done], path.take(np.flatnonzero(~done))
    raise RuntimeError(_stuck(chain, start, int(rows[~done][0])))


def _stuck(chain: Chain, start: Array, member: int) -> str:
    return (
        f"the chain found no rest (steps at most {MOST_STEPS}): member {member}, clamp angle "
        f"{chain.clamp[member]:.9g} rad, load times segment up to {chain.pull[member].max():.9g} "
        f"N m, joint lengths up to {chain.joints.max():.9g} m, start from "
        f"{start[member].min():.9g} to {start[member].max():.9g} rad"
    )


def _advanced(chain: Chain, path: _Path) -> tuple[_Path, Mask]:
    """One step for every member; return the path and which members have come to rest."""
    gradient = path.forces.gradient(path.load)
    rising = path.load < 1
    sides = [-gradient, -path.forces.outer] if rising.any() else [-gradient]
    bowl = path.load[:, None] * path.forces.bowl
    solved, sound = chain_steps(path.forces.stiffness, bowl, sides)
    correction, size = solved[0], np.abs(solved[0]).max(axis=1)
    if not np.isfinite(size).all():
        raise RuntimeError(_stuck(chain, path.angles, int(np.argmin(np.isfinite(size)))))
    settled = sound & (size < CLOSE)
    done = sound & ~rising & (size < DONE)
    path, astray = _judged(path, sound, size)
    path = _risen(path, settled & rising, size, np.abs(solved[-1]).max(axis=1))
    step = correction
    if rising.any():
        step = step + (path.load - path.rest_load)[:, None] * np.where(
            (settled & rising)[:, None], solved[-1], 0
        )
    kicked = ~sound & (size < DONE) & ~astray
    if kicked.any():
        side = np.where(chain.clamp >= 0, -KICK, KICK)[kicked]
        step[kicked] += side[:, None] * np.linspace(0, 1, step.shape[1] + 1)[1:]
    search = ~settled & ~kicked & ~astray
    if search.any():
        step[search] *= np.minimum(1, 2 * LARGEST_TURN / size[search])[:, None]
    base = path.angles
    if astray.any():
        base = np.where(astray[:, None], path.rest_angles, base)
        step[astray] = 0
    slope = np.sum(gradient * step, axis=1)
    return _stepped(chain, path, base, step, np.where(search, slope, -np.inf)), done


def _judged(path: _Path, sound: Mask, size: Array) -> tuple[_Path, Mask]:
    """Take back the rises that left the branch, or let the member fall where it ends there."""
    rise = path.load - path.rest_load
    off = ~path.falling & (rise > 0) & (~sound | (size > ASTRAY))
    if not off.any():
        return path, off
    over = off & (rise <= FINEST_RISE * path.load)
    back = off & ~over
    path = replace(
        path,
        load=np.where(back, path.rest_load, path.load),
        most_rise=np.where(back, rise / 2, path.most_rise),
        falling=path.falling | over,
        kept=path.kept & ~over,
    )
    return path, back


def _risen(path: _Path, climb: Mask, size: Array, response: Array) -> _Path:
    """Raise the load of the members at rest so that no segment turns more than LARGEST_TURN."""
    if not climb.any():
        return path
    allowed = (LARGEST_TURN - size) / np.maximum(response, 1e-300)
    rise = np.minimum(np.minimum(allowed, path.most_rise), 1 - path.load)
    load = np.where(rise >= 1 - path.load, 1.0, path.load + rise)
    return replace(
        path,
        load=np.where(climb, load, path.load),
        rest_angles=np.where(climb[:, None], path.angles, path.rest_angles),
        rest_load=np.where(climb, path.load, path.rest_load),
        most_rise=np.where(climb, 2 * rise, path.most_rise),
        falling=path.falling & ~climb,
    )


def _stepped(chain: Chain, path: _Path, base: Array, step: Array, slope: Array) -> _Path:
    """Take the step; where a slope is given, halve it until the energy falls along it.

    The fall is judged by the trapezium rule on the slopes at both ends.
    """
    share = np.ones(len(base))
    for _ in range(40):
        angles = base + share[:, None] * step
        there = forces(chain, angles)
        if not np.isfinite(slope).any():
            break
        uphill = np.sum(there.gradient(path.load) * step, axis=1) > -0.9 * slope
        if not uphill.any():
            break
        share[uphill] *= 0.5
    return replace(path, angles=angles, forces=there)
