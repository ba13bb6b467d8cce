"""Solve for the resting shape of a planar rod as a chain of rigid segments, many at once.

The rod is inextensible, without shear, and stays in one plane. A dead load makes the potential
energy a sum of one term per segment, so Newton's matrix is tridiagonal. The members of a batch
are laid end to end, with a zero between them, as one tridiagonal system.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from data.rules import check_number, check_numbers, check_whole, refuse
from flexcalc.balance import Array, Chain, Mask, MomentLaw, Rows
from flexcalc.follow import LONGEST_RISE, followed

LARGEST = 1e12  # SI, far above any length, load or angle of a limb
BLOCK = 100_000  # angles of a part of the batch


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
    the shape is the stable one it fell to; ``iterations`` of the whole batch; ``work`` (B,): how
    often the moment of a joint was worked out; ``residual`` (B,) [N m], the largest moment left
    out of balance.
    """

    angles: Array
    curvatures: Array
    moments: Array
    stable: Mask
    iterations: int
    work: Array
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
    longest_rise: int = LONGEST_RISE,
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
    longest_rise : int
        Steps after which the branch of a chain is given up and it is let fall, 10 to 500.

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
    patience = check_whole("longest rise", longest_rise, least=10, most=500)
    chain = Chain(law=law, joints=joints, clamp=clamp, pull=loads * segments)
    return _joined([_rested(part, start[rows], share, patience) for part, rows in _blocks(chain)])


def _blocks(chain: Chain) -> list[tuple[Chain, Rows]]:
    """Cut the batch where its law can be cut: blocks that fit the cache are twice as quick."""
    batch, count = chain.pull.shape
    cuts = range(0, batch, max(1, BLOCK // count))
    rows = [np.arange(cut, min(cut + cuts.step, batch)) for cut in cuts]
    parts = [chain.take(some) for some in rows] if len(rows) > 1 else [None]
    kept = [(part, some) for part, some in zip(parts, rows, strict=False) if part is not None]
    return kept or [(chain, np.arange(batch))]


def _rested(chain: Chain, start: Array, start_load: float, patience: int) -> ChainShape:
    found = followed(chain, start, start_load, patience)
    return ChainShape(
        angles=found.angles,
        curvatures=chain.curvatures(found.angles),
        moments=found.moments,
        stable=found.kept,
        iterations=found.steps,
        work=found.work,
        residual=found.left,
    )


def _joined(shapes: list[ChainShape]) -> ChainShape:
    if len(shapes) == 1:
        return shapes[0]
    return ChainShape(
        angles=np.concatenate([shape.angles for shape in shapes]),
        curvatures=np.concatenate([shape.curvatures for shape in shapes]),
        moments=np.concatenate([shape.moments for shape in shapes]),
        stable=np.concatenate([shape.stable for shape in shapes]),
        iterations=max(shape.iterations for shape in shapes),
        work=np.concatenate([shape.work for shape in shapes]),
        residual=np.concatenate([shape.residual for shape in shapes]),
    )


def _checked(name: str, value: Array, shape: tuple[int, ...] | None) -> Array:
    array = check_numbers(name, value, least=-LARGEST, most=LARGEST)
    if shape is None and (array.ndim != 2 or array.shape[1] < 2):
        raise refuse(name, "an array of shape (batch, at least 2 segments)", array.shape)
    if shape is not None and array.shape != shape:
        raise refuse(name, f"an array of shape {shape}", array.shape)
    return array
