"""Rest of a rod in space as a chain of rigid segments, many at once.

A joint turns by the rotation vector that leads from the frame before it to the frame behind it;
over its length this is the curvature, about both axes of the section and about the tangent. A
dead load makes the potential energy a sum of one term per segment, so Newton's matrix has blocks
of three that couple with their neighbours only.

As in the plane (`flexcalc.rod.chain`) the load rises from zero so that the branch is kept. A
step that leaves the branch is taken back and halved; where the branch ends, because the chain
buckles, snaps over or falls sideways, it runs downhill in energy, its whole load on, to the next
stable shape, and is marked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.rod.rotations import (
    matrices,
    relative,
    rotation_vectors,
    spun,
    vector_rates,
)
from flexcalc.rod.space_band import block_steps

Mask = NDArray[np.bool_]
Rows = NDArray[np.intp]
CHUNK = 256  # members that are worked out together; more no longer fit the cache
CLOSE = 0.2  # rad, correction below which the load may rise further
AT_REST = 1e-3  # rad, the same once a rise was taken back
ASTRAY = 0.5  # rad, correction that shows a step was too long
LARGEST_TURN = 0.7  # rad, of a segment while the load rises or the chain falls
FINEST_RISE = 1e-3  # of the load; the branch ends where even this is too much
STILL = 1e-6  # rad, correction below which a chain that is not stable stands still
KICK = 0.05  # rad at the tip, pushes a chain off an equilibrium it cannot keep
KICKED = (1.0, 0.6, 0.3)
"""About which axes of the clamp: any direction that no symmetry of a limb has."""
BALANCED = 1e-11  # of the greatest moment, left over by rounding
MOST_STEPS = 2000  # ribbons on edge find their way down in some hundred
MOST_CUTS = 12  # of one step that leads uphill
QUICK_STEPS = 8
"""Newton's steps after which a chain is left to the solver that follows its branch."""
FAR = 1.0  # rad, of a segment from where it started, likewise
NARROW = 0.6  # of the chains still under way, below which the others are left alone


class SpaceLaw(Protocol):
    """Curvatures (3, B, N) about section axis 1, axis 2 and the tangent [1/m] -> moments
    (3, B, N) [N m] and their slopes (3, 3, B, N), symmetric [N m2]."""

    def __call__(self, curvatures: Array) -> tuple[Array, Array]:
        """Return moments and slopes."""

    def take(self, rows: Rows) -> SpaceLaw:
        """Return the law of some members of the batch."""


@dataclass(frozen=True, kw_only=True)
class ElasticSpaceLaw:
    """Moments = ``stiffness`` (3, B, N) times (curvature - ``natural`` (3, B, N))."""

    stiffness: Array
    natural: Array

    def __call__(self, curvatures: Array) -> tuple[Array, Array]:
        """Return moments [N m] and slopes [N m2] at curvatures [1/m]."""
        moments = self.stiffness * (curvatures - self.natural)
        slopes = np.zeros((3, *moments.shape))
        for axis in range(3):
            slopes[axis, axis] = self.stiffness[axis]
        return moments, slopes

    def take(self, rows: Rows) -> ElasticSpaceLaw:
        """Return the law of some members."""
        return ElasticSpaceLaw(stiffness=self.stiffness[:, rows], natural=self.natural[:, rows])


@dataclass(frozen=True, kw_only=True)
class SpaceChain:
    """``law`` of the joints, their ``lengths`` (N,) [m], ``clamp`` frames (4, B) as quaternions;
    ``pull`` (B, N), load times length of each segment [N m]. The load pulls along -z."""

    law: SpaceLaw
    lengths: Array
    clamp: Array
    pull: Array

    def take(self, rows: Rows) -> SpaceChain:
        """Return the chain of some members."""
        return replace(
            self, law=self.law.take(rows), clamp=self.clamp[:, rows], pull=self.pull[rows]
        )

    def turns(self, frames: Array) -> Array:
        """Return the rotation vectors (3, B, N) of the joints [rad] for frames (4, B, N)."""
        before = np.concatenate([self.clamp[:, :, None], frames[:, :, :-1]], axis=2)
        return rotation_vectors(relative(before, frames))


@dataclass(frozen=True, kw_only=True)
class Balance:
    """``moments`` (3, B, N) of the joints, in axes of space [N m]; ``left`` (3, B, N), what is
    out of balance at each segment, of joints alone; ``outer`` likewise, of the full load."""

    moments: Array
    left: Array
    outer: Array

    def gradient(self, load: Array) -> Array:
        """Moment out of balance on each segment at a share ``load`` (B,) of the full load."""
        return np.asarray(self.left + load[:, None] * self.outer)


@dataclass(frozen=True, kw_only=True)
class SpaceShape:
    """Where a batch of chains comes to rest.

    ``frames`` (4, B, N) of the segments as quaternions; ``moments`` (3, B, N) of the joints in
    axes of space [N m]; ``stable`` (B,): True where the equilibrium that grows from zero load
    was kept, False where the chain lost it and the shape is the one it fell to.
    """

    frames: Array
    moments: Array
    stable: Mask


def tangents(frames: Array) -> Array:
    """Return the directions (3, ...) of segments whose frames are quaternions (4, ...)."""
    w, x, y, z = frames
    return np.stack([2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y)])


def solve_space_chain(
    chain: SpaceChain, start: Array, start_load: float, done: float, *, settles: bool = True
) -> SpaceShape:
    """Return the stable resting shapes of a batch of chains in space.

    Parameters
    ----------
    chain : SpaceChain
        Law, lengths, clamp and load.
    start : array (4, B, N)
        Frames without load, or at rest under it where ``start_load`` is 1.
    start_load : float
        0 to follow the branch from zero load, 1 to refine a shape that is known.
    done : float
        Newton's last step. [rad]
    settles : bool
        Where the branch from zero load ends, follow the chain to where it falls; else its shape
        is one at which it begins to, which is no rest.

    Raises
    ------
    RuntimeError
        With the inputs, where the steps do not converge.
    """
    batch = start.shape[1]
    if batch <= CHUNK:
        return _rested(chain, start, start_load, done, settles)
    cuts = [np.arange(cut, min(cut + CHUNK, batch)) for cut in range(0, batch, CHUNK)]
    parts = [_rested(chain.take(rows), start[:, rows], start_load, done, settles) for rows in cuts]
    return SpaceShape(
        frames=np.concatenate([part.frames for part in parts], axis=1),
        moments=np.concatenate([part.moments for part in parts], axis=1),
        stable=np.concatenate([part.stable for part in parts]),
    )


def nearby_rest(chain: SpaceChain, start: Array, done: float) -> tuple[Array, Mask]:
    """Return frames (4, B, N) by plain Newton steps under the whole load, and where (B,) these
    ended at a stable rest near the start; the others are of no use."""
    batch = start.shape[1]
    found, sound = start.copy(), np.zeros(batch, dtype=bool)
    rows, here = np.arange(batch), start
    for _ in range(QUICK_STEPS):
        _, (step, _), stable = steps(chain, here, np.ones(len(rows)))
        size = _largest(step)
        here = spun(here, step)
        ended = stable & (size < done)
        found[:, rows], sound[rows] = here, ended
        more = np.flatnonzero(~ended & (size < 2 * FAR))
        if more.size == 0:
            break
        if more.size < NARROW * len(rows):
            chain, rows, here = chain.take(more), rows[more], here[:, more]
    turned = _largest(rotation_vectors(relative(start, found)))
    return found, sound & (turned < FAR)


def balance(chain: SpaceChain, frames: Array) -> Balance:
    """Return the moments on the segments of chains with frames (4, B, N)."""
    turns = chain.turns(frames)
    moments, _ = chain.law(turns / chain.lengths)
    rates = _rates(turns, frames)
    return _balanced(chain, frames, _transposed(rates, moments))


def steps(chain: SpaceChain, frames: Array, load: Array) -> tuple[Balance, list[Array], Mask]:
    """Return the balance of chains at frames (4, B, N) under a share ``load`` (B,) of the load,
    Newton's step and the answer to more load (3, B, N) [rad], and which are stable (B,)."""
    turns = chain.turns(frames)
    moments, slopes = chain.law(turns / chain.lengths)
    rates = _rates(turns, frames)
    here = _balanced(chain, frames, _transposed(rates, moments))
    diagonal, coupling = _second_variation(chain, frames, load, here, turns, rates, slopes)
    solved, sound = block_steps(diagonal, coupling, [-here.gradient(load), -here.outer])
    return here, solved, sound


def _rates(turns: Array, frames: Array) -> Array:
    """Return the matrices that turn the difference of the spins on both sides of a joint into
    the change of its rotation vector."""
    return np.asarray(np.einsum("ijbn,kjbn->ikbn", vector_rates(turns), matrices(frames)))


def _transposed(rates: Array, moments: Array) -> Array:
    return np.asarray(np.einsum("ijbn,ibn->jbn", rates, moments))


def _balanced(chain: SpaceChain, frames: Array, moments: Array) -> Balance:
    left = moments.copy()
    left[:, :, :-1] -= moments[:, :, 1:]
    x, y, _ = tangents(frames)
    # minus tangent x down, times load and length
    outer = np.stack([chain.pull * y, -chain.pull * x, np.zeros_like(x)])
    return Balance(moments=moments, left=left, outer=outer)


def _second_variation(
    chain: SpaceChain,
    frames: Array,
    load: Array,
    here: Balance,
    turns: Array,
    rates: Array,
    slopes: Array,
) -> tuple[Array, Array]:
    """Return blocks on and beside the diagonal of the energy's second variation.

    The turn of a joint enters it to second order, which leaves out nothing that matters: a chain
    of more joints turns less at each of them.
    """
    stiff = np.einsum("ijbn,jkbn->ikbn", slopes / chain.lengths, rates)
    block = np.einsum("jibn,jkbn->ikbn", rates, stiff)
    moments = here.moments
    along = np.einsum("ijbn,jbn->ibn", matrices(frames), turns)
    pairs = moments[:, None] * along[None]
    block += (pairs + pairs.swapaxes(0, 1)) / 12
    work = (pairs[0, 0] + pairs[1, 1] + pairs[2, 2]) / 6
    for axis in range(3):
        block[axis, axis] -= work
    diagonal = block.copy()
    diagonal[:, :, :, :-1] += block[:, :, :, 1:]
    pull = load[:, None] * chain.pull
    x, y, z = tangents(frames)
    # (t . down) I - sym(t (x) down), with down along -z
    diagonal[0, 0] -= pull * z
    diagonal[1, 1] -= pull * z
    for axis, part in ((0, x), (1, y)):
        diagonal[axis, 2] += pull * part / 2
        diagonal[2, axis] += pull * part / 2
    coupling = np.zeros_like(block)
    coupling[:, :, :, :-1] = -block[:, :, :, 1:]
    half = moments[:, :, 1:] / 2
    for first, second, third in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        coupling[first, second, :, :-1] -= half[third]
        coupling[second, first, :, :-1] += half[third]
    return diagonal, coupling


@dataclass(frozen=True, kw_only=True)
class _Path:
    """Where each member stands: ``frames`` at a share ``load``, and the last rest on its branch
    ``rest``, at ``rest_load``; the next ``rise`` that is tried; ``careful`` once a rise was taken
    back, ``falling`` where the branch has ended, ``kept`` where it never did, ``done``."""

    frames: Array
    load: Array
    rest: Array
    rest_load: Array
    rise: Array
    careful: Mask
    falling: Mask
    kept: Mask
    done: Mask


def _rested(chain: SpaceChain, start: Array, load: float, done: float, settles: bool) -> SpaceShape:
    batch = start.shape[1]
    no = np.zeros(batch, dtype=bool)
    path = _Path(
        frames=start,
        load=np.full(batch, load),
        rest=start,
        rest_load=np.full(batch, load),
        rise=np.ones(batch),
        careful=no,
        falling=np.full(batch, load == 1),
        kept=~no,
        done=no,
    )
    found, moments, kept = np.empty_like(start), np.empty((3, *start.shape[1:])), ~no
    rows = np.arange(batch)
    for _ in range(MOST_STEPS):
        path, here = _advanced(chain, path, done)
        if not settles and load < 1:
            path = replace(path, done=path.done | path.falling)
        ended = rows[path.done]
        found[:, ended], kept[ended] = path.frames[:, path.done], path.kept[path.done]
        moments[:, ended] = here.moments[:, path.done]
        if path.done.all():
            return SpaceShape(frames=found, moments=moments, stable=kept)
        if path.done.any():
            more = np.flatnonzero(~path.done)
            chain, rows, path = chain.take(more), rows[more], _taken(path, more)
    raise RuntimeError(_stuck(chain, path))


def _taken(path: _Path, rows: Rows) -> _Path:
    values = {name: value[..., rows] for name, value in vars(path).items() if value.ndim == 1}
    return _Path(frames=path.frames[:, rows], rest=path.rest[:, rows], **values)


def _stuck(chain: SpaceChain, path: _Path) -> str:
    return (
        f"the chain found no rest in space (steps at most {MOST_STEPS}): clamp quaternion "
        f"{chain.clamp[:, 0]}, load times segment up to {chain.pull[0].max():.9g} N m, joint "
        f"lengths up to {chain.lengths.max():.9g} m, share of the load {path.load[0]:.9g}"
    )


def _advanced(chain: SpaceChain, path: _Path, done: float) -> tuple[_Path, Balance]:
    """One step for every member; those that were done before it are not among them."""
    here, (step, response), sound = steps(chain, path.frames, path.load)
    size = _largest(step)
    if not np.isfinite(size).all():
        raise RuntimeError(_stuck(chain, path))
    gradient = here.gradient(path.load)
    rising, rise = path.load < 1, path.load - path.rest_load
    off = ~path.falling & (rise > 0) & (~sound | (size > ASTRAY))
    ends = off & (rise <= FINEST_RISE)
    back = off & ~ends
    # what turns about the vertical without work is in balance wherever it stands
    still = np.abs(gradient).max(axis=(0, 2)) < BALANCED * np.abs(here.moments).max(axis=(0, 2))
    finished = sound & ~rising & ((size < done) | still) & ~back
    climb = sound & rising & ~off & (size < np.where(path.careful, AT_REST, CLOSE))
    seek = ~finished & ~climb & ~off
    kicked = seek & ~sound & (size < STILL)
    step = step * np.where(seek, LARGEST_TURN / np.maximum(size, LARGEST_TURN), 1.0)[:, None]
    if kicked.any():
        step = np.where(kicked[:, None], step + _kick(chain, step.shape[2]), step)
    path, more = _risen(path, climb, size, response)
    step = np.where(off[:, None], 0.0, step + more[:, None] * response)
    path = _taken_back(path, back, ends)
    slope = np.where(seek & ~kicked, np.sum(gradient * step, axis=(0, 2)), -np.inf)
    moved = _descended(chain, path.frames, step, path.load, slope)
    return replace(path, frames=moved, done=finished), here


def _largest(spins: Array) -> Array:
    """Return the largest (B,) of spins (3, B, N). [rad]"""
    return np.asarray(np.sqrt(np.sum(spins**2, axis=0)).max(axis=1))


def _risen(path: _Path, climb: Mask, size: Array, response: Array) -> tuple[_Path, Array]:
    """Raise the load of the members at rest so that no segment turns too much; by how much."""
    if not climb.any():
        return path, np.zeros_like(path.load)
    at_rest = climb & (size < AT_REST)
    allowed = (LARGEST_TURN - size) / np.maximum(_largest(response), 1e-300)
    more = np.where(climb, np.minimum(np.minimum(path.rise, allowed), 1 - path.load), 0.0)
    risen = replace(
        path,
        load=np.where(climb & (more >= 1 - path.load), 1.0, path.load + more),
        rest=np.where(at_rest[:, None], path.frames, path.rest),
        rest_load=np.where(at_rest, path.load, path.rest_load),
        rise=np.where(climb, 2 * more, path.rise),
    )
    return risen, more


def _taken_back(path: _Path, back: Mask, ends: Mask) -> _Path:
    """Halve the rises that left the branch; where it ends the limb falls with its whole load."""
    if not (back | ends).any():
        return path
    rise = (path.load - path.rest_load) / 2
    load = np.where(back, path.rest_load + rise, path.load)
    return replace(
        path,
        frames=np.where(back[:, None], path.rest, path.frames),
        load=np.where(ends, 1.0, load),
        rise=np.where(back, rise, path.rise),
        careful=path.careful | back,
        falling=path.falling | ends,
        kept=path.kept & ~ends,
    )


def _kick(chain: SpaceChain, count: int) -> Array:
    """Return spins (3, B, N) that grow towards the tip, alike in the axes of every clamp."""
    axis = np.einsum("ijb,j->ib", matrices(chain.clamp), np.array(KICKED))
    return np.asarray(KICK * axis[:, :, None] * np.linspace(0, 1, count + 1)[1:])


def _descended(chain: SpaceChain, frames: Array, step: Array, load: Array, slope: Array) -> Array:
    """Return the frames after a step.

    Where a slope (B,) of the energy is given (not minus infinity) the step is shortened until
    the energy falls along it, judged by the trapezium rule on the slopes at both ends.
    """
    moved = spun(frames, step)
    rows = np.flatnonzero(np.isfinite(slope))
    share = np.ones(frames.shape[1])
    for cut in range(MOST_CUTS):
        if rows.size == 0:
            break
        part = balance(chain.take(rows), moved[:, rows]).gradient(load[rows])
        ends = np.sum(part * step[:, rows], axis=(0, 2))
        rows = rows[ends > -0.5 * slope[rows]]
        share[rows] *= 0.5 if cut < 3 else 0.2
        moved[:, rows] = spun(frames[:, rows], share[rows, None] * step[:, rows])
    return moved
