"""Pose many limbs at once: bend, let go without weight, wait, then hang weight and payload on.

A batch is one limb with numbers of its own; hold_pose makes one, sample_pose thousands. All of
them share the pose and the length. Weight comes on at the end: what it does to wire and
elastomer while they wait is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.limb.inputs import GRAVITY, Setting
from flexcalc.pose.release import BentWire, Pull, WireTables, joint_law, let_go
from flexcalc.pose.stretches import cut_limb, joint_lengths, positions_of, turned_angles
from flexcalc.rod.chain import SLACK, Mask, solve_chain
from flexcalc.section.elastomer import FIRST_LOOK, REFERENCE_TIME, Softening
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.moment_table import Branch, loading_branch, release_branch

LOOKS = 6
"""Times between letting go and the look at which the bend is balanced again."""


@dataclass(frozen=True, kw_only=True)
class Fineness:
    """How finely a pose is computed: joints along the limb, nodes of a moment table, fibres."""

    joints: int
    nodes: int
    fibres: int


FINE = Fineness(joints=160, nodes=128, fibres=32)
MIDDLE = Fineness(joints=1, nodes=64, fibres=16)
COARSE = Fineness(joints=32, nodes=12, fibres=6)


@dataclass(frozen=True, kw_only=True)
class LimbBatch:
    """Numbers of many limbs, arrays (B,).

    ``bundle`` wires or None; ``rigidity`` of the bare section [N m2]; ``stiffening``, its modulus
    over the softening table's; ``relaxation`` exponent; ``mass_per_length`` [kg/m] with the wire;
    ``payload`` [kg].
    """

    bundle: Bundle | None
    rigidity: Array
    stiffening: Array
    softening: Softening | None
    relaxation: Array
    mass_per_length: Array
    payload: Array

    def pull(self, hold_time: float, rest_time: float) -> Pull:
        """Return the elastomer a time after letting go."""
        rest = (rest_time + FIRST_LOOK) / REFERENCE_TIME
        return Pull(
            rigidity=self.rigidity,
            stiffening=self.stiffening,
            held=(rest + hold_time / REFERENCE_TIME) ** -self.relaxation,
            recoil=rest**-self.relaxation,
            softening=self.softening,
        )


@dataclass(frozen=True, kw_only=True)
class PosedBatch:
    """Many limbs in one pose.

    ``arc_length`` (n,) [m]; angles (n,) as set and (B, n) released and at rest [rad];
    ``retained`` (B, bends) share of each bend kept without weight. ``stable`` (B,) and ``slack``
    (B,): the load is so far above the rigidity that the limb hangs slack; no rest is looked for
    then, and its angles at rest are straight down.
    """

    arc_length: Array
    angles_set: Array
    angles_released: Array
    angles_at_rest: Array
    retained: Array
    stable: Mask
    slack: Mask

    @property
    def worst(self) -> Array:
        """Share (B,) of the worst bend that stays, 1 without a bend."""
        return np.asarray(self.retained.min(axis=1, initial=1.0))

    @property
    def sags(self) -> Array:
        """How far the tips fall from released to resting (B,). [m]"""
        released, resting = (
            positions_of(angles, self.arc_length)[:, -1, 1]
            for angles in (self.angles_released, self.angles_at_rest)
        )
        return np.asarray(released - resting)


def joined(parts: Sequence[PosedBatch]) -> PosedBatch:
    """Return several batches of limbs in the same pose as one."""
    return replace(
        parts[0],
        angles_released=np.concatenate([part.angles_released for part in parts]),
        angles_at_rest=np.concatenate([part.angles_at_rest for part in parts]),
        retained=np.concatenate([part.retained for part in parts]),
        stable=np.concatenate([part.stable for part in parts]),
        slack=np.concatenate([part.slack for part in parts]),
    )


def posed_batch(
    batch: LimbBatch,
    setting: Setting,
    length: float,
    fineness: Fineness,
    tables: WireTables | None = None,
) -> PosedBatch:
    """Return the pose of every batch as set, let go and at rest.

    The bends are to end within the limb, see `check_bends`. The moment tables of the wires are
    made here where they are not given; then ``batch`` need no bundle. RuntimeError, with its
    inputs, if the rod solver does not converge.
    """
    stretches = cut_limb(setting, length, fineness.joints)
    joints = joint_lengths(stretches)
    arcs = np.concatenate([[0.0], np.cumsum(joints)])
    kept, bent_wires, loading = _released(batch, setting, fineness, tables)
    count = len(batch.rigidity)
    bent, released = np.zeros((1, len(joints))), np.zeros((count, len(joints)))
    for stretch in stretches:
        if stretch.number is not None:
            bent[:, stretch.place] = stretch.curvature
            left = np.sign(stretch.curvature) * kept[stretch.number]
            released[:, stretch.place] = left[:, None]
    wires = tuple(loading if one.number is None else bent_wires[one.number] for one in stretches)
    law = joint_law(stretches, wires, batch.pull(setting.hold_time, setting.rest_time))
    clamp = setting.clamp_angle
    angles_released = turned_angles(clamp, released, joints)
    stiff = batch.rigidity + (0.0 if loading is None else loading.rigidity)
    share = load_share(stiff, batch.mass_per_length, batch.payload, setting, length)
    slack = share > SLACK
    rows = np.flatnonzero(~slack)
    at_rest, stable = 0.0 * angles_released, np.zeros(count, dtype=bool)
    at_rest[:, 0] = clamp
    if rows.size:
        some = taken(batch, rows)
        found = solve_chain(
            law if rows.size == count else law.take(rows),
            joints,
            *_loads(some, arcs, angles_released[rows]),
        )
        at_rest[rows, 1:], stable[rows] = found.angles, found.stable
    return PosedBatch(
        arc_length=arcs,
        angles_set=turned_angles(clamp, bent, joints)[0],
        angles_released=angles_released,
        angles_at_rest=at_rest,
        retained=_shares(setting, kept, count),
        stable=stable,
        slack=slack,
    )


def _shares(setting: Setting, kept: list[Array], count: int) -> Array:
    """Return the share (B, bends) of each bend that stays, 1 for a bend of no angle."""
    whole = [abs(bend.curvature) for bend in setting.bends]
    shares = [rest / k if k else np.ones(count) for rest, k in zip(kept, whole, strict=True)]
    return np.stack(shares, axis=1) if shares else np.ones((count, 0))


def taken(batch: LimbBatch, rows: NDArray[np.intp] | slice) -> LimbBatch:
    """Return some of the batch, each as often as its row is named."""
    return replace(
        batch,
        bundle=None if batch.bundle is None else batch.bundle.take(rows),
        rigidity=batch.rigidity[rows],
        stiffening=batch.stiffening[rows],
        relaxation=batch.relaxation[rows],
        mass_per_length=batch.mass_per_length[rows],
        payload=batch.payload[rows],
    )


def released_curvature(
    batch: LimbBatch,
    setting: Setting,
    first: Array,
    fineness: Fineness,
    loading: Branch | None,
    branch: Branch | None = None,
) -> tuple[Array, BentWire | None]:
    """Return where (B,) weightless bends stand at the setting's time, and their wires.

    The pull of the elastomer first grows and then fades, so the bend is balanced at several
    times on the way and the wire remembers the lowest.
    """
    wire = None
    if branch is None and batch.bundle is not None:
        nodes, fibres = fineness.nodes, fineness.fibres
        branch = release_branch(batch.bundle, first, nodes, fibres)
    if branch is not None and loading is not None:
        wire = BentWire(branch=branch, loading=loading, set_curvature=first, lowest=first)
    rest = first
    for time in looks(setting.rest_time):
        rest, wire = let_go(wire, batch.pull(setting.hold_time, time), first)
    return rest, wire


def looks(rest_time: float) -> list[float]:
    """Return the times after letting go at which a bend is balanced, the last is rest_time."""
    if rest_time == 0:
        return [0.0]
    ratio = (1 + rest_time / FIRST_LOOK) ** (1 / LOOKS)
    return [FIRST_LOOK * (ratio**step - 1) for step in range(LOOKS)] + [rest_time]


def _released(
    batch: LimbBatch, setting: Setting, fineness: Fineness, tables: WireTables | None
) -> tuple[list[Array], list[BentWire | None], Branch | None]:
    loading = None if tables is None else tables.loading
    if loading is None and batch.bundle is not None:
        loading = loading_branch(batch.bundle, fineness.nodes)
    found: dict[float, tuple[Array, BentWire | None]] = {0.0: (0.0 * batch.rigidity, None)}
    kept: list[Array] = []
    wires: list[BentWire | None] = []
    for bend in setting.bends:
        curvature = abs(bend.curvature)
        if bend.rigid:
            kept.append(np.full(len(batch.rigidity), curvature))
            wires.append(None)
            continue
        if curvature not in found:
            first = np.full(len(batch.rigidity), curvature)
            branch = None if tables is None else tables.release[curvature]
            found[curvature] = released_curvature(batch, setting, first, fineness, loading, branch)
        kept.append(found[curvature][0])
        wires.append(found[curvature][1])
    return kept, wires, loading


def load_share(
    rigidity: Array, mass_per_length: Array, payload: Array, setting: Setting, length: float
) -> Array:
    """Return weight and payload over rigidity / length^2, 0 where a limb hangs straight down.

    Arrays (B,) in N m2 with the wire, kg/m and kg; the ``length`` in m.
    """
    if setting.clamp_angle == 0 and not any(bend.angle for bend in setting.bends):
        return 0.0 * rigidity
    return np.asarray(GRAVITY * (payload + mass_per_length * length) * length**2 / rigidity)


def _loads(batch: LimbBatch, arcs: Array, released: Array) -> tuple[Array, Array, Array, Array]:
    """Return segments, clamp angles, loads and start as `solve_chain` wants them."""
    middles = np.concatenate([(arcs[1:] + arcs[:-1]) / 2, arcs[-1:]])
    beyond = arcs[-1] - (middles[1:] + middles[:-1]) / 2
    loads = GRAVITY * (batch.payload[:, None] + batch.mass_per_length[:, None] * beyond)
    return np.diff(middles), released[:, 0], loads, released[:, 1:]
