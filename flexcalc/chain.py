"""Solve for the resting shape of a planar rod as a chain of rigid segments, many at once.

The rod is inextensible, without shear, and stays in one plane. A dead load makes the potential
energy a sum of one term per segment, so Newton's matrix is tridiagonal. The members of a batch
are laid end to end, with a zero between them, as one tridiagonal system.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import check_numbers, refuse

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
MomentLaw: TypeAlias = Callable[[Array], tuple[Array, Array]]
"""Curvature (B, N) [1/m] -> moment (B, N) [N m] and its positive slope (B, N) [N m2]."""

LARGEST_STEP = 0.8  # rad, how far a segment may turn in one step along the branch
CLOSE = 0.1  # rad, correction below which the load may rise further
DONE = 1e-8  # rad
MOST_STEPS = 400
LARGEST = 1e12  # SI, far above any length, load or angle of a limb
KICK = 0.05  # rad at the tip, pushes a limb off an equilibrium it cannot keep


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

    def take(self, rows: NDArray[np.intp]) -> ElasticLaw:
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
    the shape is the stable one it fell to; ``iterations`` of the whole batch; ``residual``
    (B,) [N m], the largest moment left out of balance.
    """

    angles: Array
    curvatures: Array
    moments: Array
    stable: Mask
    iterations: int
    residual: Array


@dataclass(frozen=True, kw_only=True)
class _Chain:
    law: MomentLaw
    joints: Array
    clamp: Array
    pull: Array  # segment load times segment length, N m

    def curvatures(self, angles: Array) -> Array:
        turns = np.empty_like(angles)
        turns[:, 0] = angles[:, 0] - self.clamp
        np.subtract(angles[:, 1:], angles[:, :-1], out=turns[:, 1:])
        turns /= self.joints
        return turns

    def forces(self, angles: Array) -> tuple[Array, Array, Array, Array]:
        """Return inner and load gradient, stiffness of the joints, and the load's curvature."""
        moments, tangents = self.law(self.curvatures(angles))
        inner = moments.copy()
        inner[:, :-1] -= moments[:, 1:]
        return inner, self.pull * np.sin(angles), tangents / self.joints, self.pull * np.cos(angles)

    def take(self, rows: NDArray[np.intp]) -> _Chain | None:
        narrow = getattr(self.law, "take", None)
        if narrow is None:
            return None
        return _Chain(
            law=narrow(rows), joints=self.joints, clamp=self.clamp[rows], pull=self.pull[rows]
        )


def solve_chain(
    law: MomentLaw,
    joint_lengths: Array,
    segment_lengths: Array,
    clamp_angle: Array,
    segment_loads: Array,
    start_angles: Array,
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
    chain = _Chain(law=law, joints=joints, clamp=clamp, pull=loads * segments)
    angles, stable, steps = _followed(chain, start)
    inner, outer, _, _ = chain.forces(angles)
    curvatures = chain.curvatures(angles)
    return ChainShape(
        angles=angles,
        curvatures=curvatures,
        moments=law(curvatures)[0],
        stable=stable,
        iterations=steps,
        residual=np.abs(inner + outer).max(axis=1),
    )


def _checked(name: str, value: Array, shape: tuple[int, ...] | None) -> Array:
    array = check_numbers(name, value, least=-LARGEST, most=LARGEST)
    if shape is None and (array.ndim != 2 or array.size == 0):
        raise refuse(name, "an array of shape (batch, segments)", array.shape)
    if shape is not None and array.shape != shape:
        raise refuse(name, f"an array of shape {shape}", array.shape)
    return array


def _followed(chain: _Chain, start: Array) -> tuple[Array, Mask, int]:
    """Raise the load from zero to full; return angles, whether the branch was kept, steps."""
    result, kept = start.copy(), np.ones(len(start), dtype=bool)
    rows = np.arange(len(start))
    part, angles = chain, start.copy()
    load, stable = np.zeros(len(start)), np.ones(len(start), dtype=bool)
    for step in range(1, MOST_STEPS + 1):
        angles, load, stable, done = _advanced(part, angles, load, stable)
        if done.any():
            result[rows[done]], kept[rows[done]] = angles[done], stable[done]
        if done.all():
            return result, kept, step
        if done.sum() * 3 > len(rows):
            going = np.flatnonzero(~done)
            narrower = part.take(going)
            if narrower is not None:
                part, rows = narrower, rows[going]
                angles, load, stable = angles[going], load[going], stable[going]
    stuck = rows[~done][0]
    raise RuntimeError(
        f"the chain found no rest in {MOST_STEPS} steps: member {stuck}, clamp angle "
        f"{chain.clamp[stuck]:.9g} rad, load times segment {chain.pull[stuck].max():.9g} N m, "
        f"joint lengths up to {chain.joints.max():.9g} m, start up to "
        f"{np.abs(start[stuck]).max():.9g} rad"
    )


def _advanced(
    chain: _Chain, angles: Array, load: Array, stable: Mask
) -> tuple[Array, Array, Mask, Mask]:
    """One step for every member: correct at this load, and raise the load where that is small."""
    inner, outer, stiffness, bowl = chain.forces(angles)
    gradient = inner + load[:, None] * outer
    rising = load < 1
    sides = [-gradient, -outer] if rising.any() else [-gradient]
    solved, sound = _newton_steps(stiffness, load[:, None] * bowl, sides)
    correction, size = solved[0], np.abs(solved[0]).max(axis=1)
    done = sound & (load == 1) & (size < DONE)  # this step squares what is left
    if rising.any():
        climb = rising & sound & (size < CLOSE)
        rise = np.where(climb, _load_rise(correction, solved[1], size, 1 - load), 0.0)
    else:
        climb, rise = rising, load * 0
    unkept = ~sound & (size < 1e-6)
    step = correction.copy()
    if climb.any():
        step[climb] += rise[climb, None] * solved[1][climb]
    if unkept.any():
        side = np.where(chain.clamp >= 0, -KICK, KICK)[unkept]
        step[unkept] += side[:, None] * np.linspace(0, 1, angles.shape[1] + 1)[1:]
    search = ~climb & ~unkept & ~(sound & (size < CLOSE))
    if search.any():
        step[search] *= np.minimum(1, 2 * LARGEST_STEP / size[search])[:, None]
        step *= _step_share(chain, angles, load, gradient, step, search)[:, None]
    new_load = np.where(climb & (rise >= 1 - load), 1.0, load + rise)
    return angles + step, new_load, stable & ~unkept & (sound | ~rising), done


def _load_rise(correction: Array, response: Array, size: Array, left: Array) -> Array:
    """Return how far the load may rise so that no segment turns more than LARGEST_STEP."""
    most = np.abs(response).max(axis=1)
    allowed = (LARGEST_STEP - size) / np.maximum(most, 1e-300)
    return np.minimum(left, allowed)


def _newton_steps(stiffness: Array, bowl: Array, sides: list[Array]) -> tuple[list[Array], Mask]:
    """Solve the tridiagonal systems; where one is not positive definite, a convex one instead.

    Returns the solutions and a mask (B,) of the members that were positive definite.
    """
    from scipy.linalg.lapack import dpttrf, dpttrs

    batch, count = stiffness.shape
    joined = stiffness.copy()
    joined[:, :-1] += stiffness[:, 1:]
    coupling = np.zeros_like(stiffness)
    coupling[:, :-1] = -stiffness[:, 1:]
    pivots, factors = (joined + bowl).ravel(), coupling.flatten()
    sound = np.ones(batch, dtype=bool)
    first = 0
    while first < batch:
        at = first * count
        pivots[at:], factors[at:-1], info = dpttrf(pivots[at:], factors[at:-1])
        if info == 0:
            break
        first += (info - 1) // count
        if not sound[first]:
            raise RuntimeError("the convex system of a chain is not positive definite")
        sound[first] = False
        one = slice(first * count, (first + 1) * count)
        pivots[one] = joined[first] + np.maximum(bowl[first], 0)
        factors[one] = coupling[first]
    flat = np.stack([side.ravel() for side in sides], axis=1)
    solution, _ = dpttrs(pivots, factors[:-1], flat)
    return [solution[:, k].reshape(batch, count) for k in range(len(sides))], sound


def _step_share(
    chain: _Chain, angles: Array, load: Array, gradient: Array, step: Array, search: Mask
) -> Array:
    """Halve steps until the energy, by the trapezium rule on its slope, falls along them."""
    share = np.ones(len(angles))
    slope = np.sum(gradient * step, axis=1)
    for _ in range(30):
        inner, outer, _, _ = chain.forces(angles + share[:, None] * step)
        there = np.sum((inner + load[:, None] * outer) * step, axis=1)
        uphill = search & (there > -0.9 * slope)
        if not uphill.any():
            break
        share[uphill] *= 0.5
    return share
