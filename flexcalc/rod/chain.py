"""Rest of a planar rod as a chain of rigid segments, many at once.

The rod is inextensible, without shear, and stays in one plane. A dead load makes the potential
energy a sum of one term per segment, so Newton's matrix is tridiagonal. The members of a batch
are laid end to end, with a zero between them, as one tridiagonal system.

The load rises from zero. Each step corrects the shape at the load it has reached and, where that
correction is small, raises the load as far as no segment turns too much. A step that leaves the
branch is taken back and halved. Where the branch ends (the chain buckles or snaps over) the
chain runs downhill in energy to the next stable shape, at that load, and is marked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import check_number, check_numbers, refuse
from flexcalc.rod.tridiagonal import chain_steps

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.intp]
MomentLaw: TypeAlias = Callable[[Array], tuple[Array, Array]]
"""Curvature (B, N) [1/m] -> moment (B, N) [N m] and its positive slope (B, N) [N m2]."""


SLACK = 50.0
"""Weight and payload over flexural rigidity / length^2 from which a limb is said to hang slack."""
LARGEST = 1e12  # SI, far above any length, load or angle of a limb
BLOCK = 100_000  # angles of a part of the batch
LARGEST_TURN = 1.0  # rad, of a segment while the load rises
CLOSE = 0.2  # rad, correction below which the load may rise further
AT_REST = 1e-3  # rad, the same once a rise was taken back: the law may have corners
ASTRAY = 0.5  # rad, correction that shows a step was too long
DONE = 1e-6  # rad, the last correction; Newton squares what it leaves
FINEST_RISE = 1e-3  # of the load; the branch ends where even this is too much
KICK = 0.05  # rad at the tip, pushes a chain off an equilibrium it cannot keep
MOST_STEPS = 200
MOST_CUTS = 29  # of one step that leads uphill


@dataclass(frozen=True, kw_only=True)
class ElasticLaw:
    """Moment = flexural_rigidity (curvature - natural_curvature); arrays (B, N) or (N,)."""

    flexural_rigidity: Array
    natural_curvature: Array

    def __call__(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and tangent stiffness [N m2] at a curvature [1/m]."""
        rigidity = self.flexural_rigidity
        moment = rigidity * (curvature - self.natural_curvature)
        return moment, np.broadcast_to(rigidity, moment.shape)

    def take(self, rows: Rows) -> ElasticLaw:
        """Return the law of some members of the batch."""
        return ElasticLaw(
            flexural_rigidity=self.flexural_rigidity[rows],
            natural_curvature=self.natural_curvature[rows],
        )


@dataclass(frozen=True, kw_only=True)
class ChainShape:
    """Where a batch of chains comes to rest.

    ``angles`` (B, N) [rad] of the segments from straight down; ``curvatures`` (B, N) [1/m] and
    ``moments`` (B, N) [N m] of the joints; ``stable`` (B,): True where the equilibrium that
    grows from zero load was kept, False where the chain lost it (buckled or snapped over) and
    the shape is the stable one it fell to; ``steps`` (B,) until it was at rest;
    ``residual`` (B,) [N m], the largest moment left out of balance.
    """

    angles: Array
    curvatures: Array
    moments: Array
    stable: Mask
    steps: Array
    residual: Array


def solve_chain(
    law: MomentLaw,
    joint_lengths: Array,
    segment_lengths: Array,
    clamp_angle: Array,
    segment_loads: Array,
    start_angles: Array,
    *,
    start_load: float = 0.0,
) -> ChainShape:
    """Return the stable resting shapes of a batch of chains under dead loads.

    The load rises from zero while the shape follows it, so that the branch is kept; where the
    branch ends the chain runs downhill in energy to the next stable shape.

    Parameters
    ----------
    law : callable
        Curvature (B, N) [1/m] -> moment (B, N) [N m] and tangent (B, N) [N m2], positive. It
        is always asked for the whole batch, unless it has a method ``take(rows)`` that returns
        the law of some members; then finished members are dropped.
    joint_lengths : array (N,)
        Length of rod that bends at joint i, between segments i-1 and i; joint 0 is at the
        clamp and has half a segment. [m]
    segment_lengths : array (N,)
        Lengths of the rigid segments. [m]
    clamp_angle : array (B,)
        Direction at the clamp from straight down. [rad]
    segment_loads : array (B, N)
        Downward force of everything that hangs beyond the middle of a segment. [N]
    start_angles : array (B, N)
        Angles of the segments without load (a guess will do). [rad]
    start_load : float
        Share of the load at which the start is about at rest: 0, or 1 to refine a known shape.

    Returns
    -------
    ChainShape

    Raises
    ------
    ValueError
        For arrays of the wrong shape or with values that are not finite.
    RuntimeError
        With the inputs, where the steps do not converge.
    """
    start = _checked("start angles", start_angles, None)
    batch, count = start.shape
    joints = _checked("joint lengths", joint_lengths, (count,))
    segments = _checked("segment lengths", segment_lengths, (count,))
    if joints.min() <= 0 or segments.min() <= 0:
        raise refuse("joint and segment lengths", "above 0 m", min(joints.min(), segments.min()))
    clamp = _checked("clamp angle", clamp_angle, (batch,))
    loads = _checked("segment loads", segment_loads, (batch, count))
    share = check_number("start load", start_load, least=0.0, most=1.0)
    chain = Chain(law=law, joints=joints, clamp=clamp, pull=loads * segments)
    return _joined([_rested(part, start[rows], share) for part, rows in _blocks(chain)])


def _blocks(chain: Chain) -> list[tuple[Chain, Rows]]:
    """Cut the batch where its law can be cut: blocks that fit the cache are twice as quick."""
    batch, count = chain.pull.shape
    cuts = range(0, batch, max(1, BLOCK // count))
    rows = [np.arange(cut, min(cut + cuts.step, batch)) for cut in cuts]
    parts = [chain.take(some) for some in rows] if len(rows) > 1 else [None]
    kept = [(part, some) for part, some in zip(parts, rows, strict=False) if part is not None]
    return kept or [(chain, np.arange(batch))]


def _joined(shapes: list[ChainShape]) -> ChainShape:
    names = vars(shapes[0])
    return ChainShape(**{n: np.concatenate([getattr(one, n) for one in shapes]) for n in names})


def _checked(name: str, value: Array, shape: tuple[int, ...] | None) -> Array:
    array = check_numbers(name, value, least=-LARGEST, most=LARGEST)
    if shape is None and (array.ndim != 2 or array.shape[1] < 2):
        raise refuse(name, "an array of shape (batch, at least 2 segments)", array.shape)
    if shape is not None and array.shape != shape:
        raise refuse(name, f"an array of shape {shape}", array.shape)
    return array


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


@dataclass(frozen=True, kw_only=True)
class _Path:
    """Where each member stands: shape, share of the load, and the last shape it had in rest.

    ``rest_step`` (B, N) is what was left to correct there, and ``rest_response`` (B, N) how that
    shape answers to more load; both 0 before the first rest, ``rested`` (B,). ``steps`` (B,) taken.
    """

    angles: Array
    forces: Forces
    load: Array
    rest_angles: Array
    rest_load: Array
    rest_step: Array
    rest_response: Array
    rested: Mask
    most_rise: Array
    careful: Mask
    falling: Mask
    kept: Mask
    done: Mask
    steps: Array

    def take(self, rows: Rows) -> _Path:
        values = {name: value[rows] for name, value in vars(self).items() if name != "forces"}
        return _Path(forces=self.forces.take(rows), **values)


def _rested(chain: Chain, start: Array, load: float) -> ChainShape:
    """Return where a batch of chains comes to rest at the full load.

    ``load`` is the share of the full load at which ``start`` is (nearly) at rest: 0 to rise along
    the branch from the unloaded shape, 1 to refine a shape that is known.
    """
    batch = len(start)
    whole, rows = chain, np.arange(batch)
    path = _Path(
        angles=start,
        forces=forces(chain, start),
        load=np.full(batch, load),
        rest_angles=start,
        rest_load=np.full(batch, load),
        rest_step=np.zeros_like(start),
        rest_response=np.zeros_like(start),
        rested=np.zeros(batch, dtype=bool),
        most_rise=np.ones(batch),
        careful=np.zeros(batch, dtype=bool),
        falling=np.full(batch, load == 1),
        kept=np.ones(batch, dtype=bool),
        done=np.zeros(batch, dtype=bool),
        steps=np.zeros(batch),
    )
    ends: list[tuple[Rows, _Path]] = []
    for _ in range(MOST_STEPS):
        path = _advanced(chain, path)
        done = path.done
        if done.all():
            return _gathered(whole, [*ends, (rows, path)])
        narrower = chain.take(np.flatnonzero(~done)) if done.mean() > 0.3 else None
        if narrower is not None:
            ends.append((rows[done], path.take(np.flatnonzero(done))))
            chain, rows, path = narrower, rows[~done], path.take(np.flatnonzero(~done))
    raise RuntimeError(_stuck(chain, path.angles, int(np.argmin(done))))


def _gathered(chain: Chain, ends: list[tuple[Rows, _Path]]) -> ChainShape:
    """Put the members back into their order."""
    order = np.argsort(np.concatenate([rows for rows, _ in ends]))
    gradients = [path.forces.gradient(path.load) for _, path in ends]
    angles = np.concatenate([path.angles for _, path in ends])[order]
    return ChainShape(
        angles=angles,
        curvatures=chain.curvatures(angles),
        moments=np.concatenate([path.forces.moments for _, path in ends])[order],
        stable=np.concatenate([path.kept for _, path in ends])[order],
        steps=np.concatenate([path.steps for _, path in ends])[order],
        residual=np.concatenate([np.abs(one).max(axis=1) for one in gradients])[order],
    )


def _stuck(chain: Chain, angles: Array, member: int) -> str:
    return (
        f"the chain found no rest (steps at most {MOST_STEPS}): member {member}, clamp angle "
        f"{chain.clamp[member]:.9g} rad, load times segment up to {chain.pull[member].max():.9g} "
        f"N m, joint lengths up to {chain.joints.max():.9g} m, angles from "
        f"{angles[member].min():.9g} to {angles[member].max():.9g} rad"
    )


def _advanced(chain: Chain, path: _Path) -> _Path:
    """One step for every member that has not yet come to rest."""
    gradient = path.forces.gradient(path.load)
    rising = path.load < 1
    sides = [-gradient, -path.forces.outer] if rising.any() else [-gradient]
    bowl = path.load[:, None] * path.forces.bowl
    solved, sound = chain_steps(path.forces.stiffness, bowl, sides)
    step, size = solved[0], np.abs(solved[0]).max(axis=1)
    if not np.isfinite(size).all():
        raise RuntimeError(_stuck(chain, path.angles, int(np.argmin(np.isfinite(size)))))
    settled = sound & (size < np.where(path.careful, AT_REST, CLOSE))
    climb = settled & rising
    path, astray = _judged(path, sound, size)
    kicked = ~sound & (size < DONE) & ~astray
    search = (~settled | (~rising & (size >= DONE))) & ~kicked & ~astray & ~path.done
    if climb.any():
        before = path.load
        path = _risen(path, climb, step, solved[1])
        step = step + (path.load - before)[:, None] * solved[1]
    if kicked.any():
        side = np.where(chain.clamp >= 0, -KICK, KICK)[kicked]
        step[kicked] += side[:, None] * np.linspace(0, 1, step.shape[1] + 1)[1:]
    if search.any():
        step[search] *= np.minimum(1, 2 * LARGEST_TURN / size[search])[:, None]
    if path.done.any():
        step[path.done] = 0
    base = path.angles
    if astray.any():
        base = np.where(astray[:, None], path.rest_angles, base)
        more = (path.load - path.rest_load)[:, None] * path.rest_response + path.rest_step
        step[astray] = more[astray]
    path = replace(path, done=path.done | (sound & ~rising & (size < DONE)))
    slope = np.where(search, np.sum(gradient * step, axis=1), -np.inf)
    angles, there = _descended(chain, base, step, path.load, slope)
    return replace(path, angles=angles, forces=there, steps=path.steps + ~path.done)


def _descended(
    chain: Chain, base: Array, step: Array, load: Array, slope: Array
) -> tuple[Array, Forces]:
    """Return the angles (B, N) [rad] after a step, and the forces there.

    Where a slope (B,) is given (not minus infinity) the step is shortened until the energy falls
    along it, judged by the trapezium rule on the slopes at both ends.
    """
    angles = base + step
    there = forces(chain, angles)
    rows = np.flatnonzero(np.isfinite(slope))
    share, part = np.ones(len(base)), there.take(rows)
    for cut in range(MOST_CUTS):
        ends = np.sum(part.gradient(load[rows]) * step[rows], axis=1)
        rows = rows[ends > -0.5 * slope[rows]]
        if rows.size == 0:
            break
        share[rows] *= 0.5 if cut < 3 else 0.2
        angles[rows] = base[rows] + share[rows, None] * step[rows]
        # the others stay as they are, so only these are worked out again
        narrow = chain.take(rows)
        part = forces(chain, angles).take(rows) if narrow is None else forces(narrow, angles[rows])
        there.put(rows, part)
    return angles, there


def _judged(path: _Path, sound: Mask, size: Array) -> tuple[_Path, Mask]:
    """Halve the rises that left the branch, or let the member fall where it ends there."""
    rise = path.load - path.rest_load
    off = ~path.falling & (rise > 0) & (~sound | (size > ASTRAY))
    if not off.any():
        return path, off
    over = off & (rise <= FINEST_RISE * path.load)
    back = off & ~over
    path = replace(
        path,
        load=np.where(back, path.rest_load + np.where(path.rested, rise / 2, 0.0), path.load),
        most_rise=np.where(back, np.where(path.rested, rise, rise / 2), path.most_rise),
        careful=path.careful | back,
        falling=path.falling | over,
        kept=path.kept & ~over,
    )
    return path, back


def _risen(path: _Path, climb: Mask, step: Array, response: Array) -> _Path:
    """Raise the load of the members at rest so that no segment turns more than LARGEST_TURN."""
    size, turn = np.abs(step).max(axis=1), np.abs(response).max(axis=1)
    allowed = (LARGEST_TURN - size) / np.maximum(turn, 1e-300)
    fallen = climb & path.falling  # onto another branch, which is followed as if from the start
    most = np.where(fallen, 1.0, path.most_rise)
    rise = np.minimum(np.minimum(allowed, most), 1 - path.load)
    load = np.where(rise >= 1 - path.load, 1.0, path.load + rise)
    at_rest = climb & (size < AT_REST)
    return replace(
        path,
        load=np.where(climb, load, path.load),
        rest_angles=np.where(at_rest[:, None], path.angles, path.rest_angles),
        rest_load=np.where(at_rest, path.load, path.rest_load),
        rest_step=np.where(at_rest[:, None], step, path.rest_step),
        rest_response=np.where(at_rest[:, None], response, path.rest_response),
        rested=path.rested | at_rest,
        most_rise=np.where(climb, 2 * rise, path.most_rise),
        careful=path.careful & ~fallen,
        falling=path.falling & ~climb,
    )
