"""Pose many limbs at once: bend, let go without weight, wait, then hang weight and payload on.

A trial is one limb with numbers of its own; hold_pose makes one, sample_pose thousands. All of
them share the pose and the length. Weight comes on at the end: what it does to wire and
elastomer while they wait is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.limb.inputs import GRAVITY, Setting
from flexcalc.pose.release import BentWire, Pull, Stretch, WireTables, joint_law, let_go
from flexcalc.pose.stretches import Part, cut_limb, joint_lengths, turned_angles
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
class Trials:
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
class Settled:
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


def settle(
    trials: Trials,
    setting: Setting,
    length: float,
    fineness: Fineness,
    tables: WireTables | None = None,
) -> Settled:
    """Return the pose of every trial as set, let go and at rest.

    The bends are to end within the limb, see `check_bends`. The moment tables of the wires are
    made here where they are not given; then ``trials`` need no bundle. RuntimeError, with its
    inputs, if the rod solver does not converge.
    """
    parts = cut_limb(setting, length, fineness.joints)
    joints = joint_lengths(parts)
    arcs = np.concatenate([[0.0], np.cumsum(joints)])
    kept, wires, loading = _released(trials, setting, fineness, tables)
    count = len(trials.rigidity)
    stretches = tuple(_stretch(part, setting, count, wires, loading) for part in parts)
    bent = [
        np.full((1, part.joints), one.side * one.set_curvature[0])
        for part, one in zip(parts, stretches, strict=True)
    ]
    released = [
        np.zeros((count, part.joints))
        if part.bend is None
        else np.repeat((one.side * kept[part.bend])[:, None], part.joints, axis=1)
        for part, one in zip(parts, stretches, strict=True)
    ]
    law = joint_law(stretches, trials.pull(setting.hold_time, setting.rest_time))
    clamp = setting.clamp_angle
    angles_released = turned_angles(clamp, np.concatenate(released, axis=1), joints)
    stiff = trials.rigidity + (0.0 if loading is None else loading.rigidity)
    share = load_share(stiff, trials.mass_per_length, trials.payload, setting, length)
    slack = share > SLACK
    rows = np.flatnonzero(~slack)
    at_rest, stable = 0.0 * angles_released, np.zeros(count, dtype=bool)
    at_rest[:, 0] = clamp
    if rows.size:
        some = taken(trials, rows)
        found = solve_chain(
            law if rows.size == count else law.take(rows),
            joints,
            *_loads(some, arcs, angles_released[rows]),
        )
        at_rest[rows, 1:], stable[rows] = found.angles, found.stable
    return Settled(
        arc_length=arcs,
        angles_set=turned_angles(clamp, np.concatenate(bent, axis=1), joints)[0],
        angles_released=angles_released,
        angles_at_rest=at_rest,
        retained=_shares(setting, kept, count),
        stable=stable,
        slack=slack,
    )


def _stretch(
    part: Part,
    setting: Setting,
    count: int,
    wires: list[BentWire | None],
    loading: Branch | None,
) -> Stretch:
    last = part.first + part.joints
    if part.bend is None:
        straight = np.zeros(count)
        return Stretch(
            first=part.first, last=last, side=0, set_curvature=straight, wire=loading, rigid=False
        )
    bend = setting.bends[part.bend]
    return Stretch(
        first=part.first,
        last=last,
        side=int(np.sign(bend.curvature)),
        set_curvature=np.full(count, abs(bend.curvature)),
        wire=wires[part.bend],
        rigid=bend.rigid,
    )


def _shares(setting: Setting, kept: list[Array], count: int) -> Array:
    """Return the share (B, bends) of each bend that stays, 1 for a bend of no angle."""
    whole = [abs(bend.curvature) for bend in setting.bends]
    shares = [rest / k if k else np.ones(count) for rest, k in zip(kept, whole, strict=True)]
    return np.stack(shares, axis=1) if shares else np.ones((count, 0))


def taken(trials: Trials, rows: NDArray[np.intp] | slice) -> Trials:
    """Return some of the trials, each as often as its row is named."""
    return replace(
        trials,
        bundle=None if trials.bundle is None else trials.bundle.take(rows),
        rigidity=trials.rigidity[rows],
        stiffening=trials.stiffening[rows],
        relaxation=trials.relaxation[rows],
        mass_per_length=trials.mass_per_length[rows],
        payload=trials.payload[rows],
    )


def released_curvature(
    trials: Trials,
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
    if branch is None and trials.bundle is not None:
        nodes, fibres = fineness.nodes, fineness.fibres
        branch = release_branch(trials.bundle, first, nodes, fibres)
    if branch is not None and loading is not None:
        wire = BentWire(branch=branch, loading=loading, set_curvature=first, lowest=first)
    rest = first
    for time in looks(setting.rest_time):
        rest, wire = let_go(wire, trials.pull(setting.hold_time, time), first)
    return rest, wire


def looks(rest_time: float) -> list[float]:
    """Return the times after letting go at which a bend is balanced, the last is rest_time."""
    if rest_time == 0:
        return [0.0]
    ratio = (1 + rest_time / FIRST_LOOK) ** (1 / LOOKS)
    return [FIRST_LOOK * (ratio**step - 1) for step in range(LOOKS)] + [rest_time]


def _released(
    trials: Trials, setting: Setting, fineness: Fineness, tables: WireTables | None
) -> tuple[list[Array], list[BentWire | None], Branch | None]:
    loading = None if tables is None else tables.loading
    if loading is None and trials.bundle is not None:
        loading = loading_branch(trials.bundle, fineness.nodes)
    found: dict[float, tuple[Array, BentWire | None]] = {0.0: (0.0 * trials.rigidity, None)}
    kept: list[Array] = []
    wires: list[BentWire | None] = []
    for bend in setting.bends:
        curvature = abs(bend.curvature)
        if bend.rigid:
            kept.append(np.full(len(trials.rigidity), curvature))
            wires.append(None)
            continue
        if curvature not in found:
            first = np.full(len(trials.rigidity), curvature)
            branch = None if tables is None else tables.release[curvature]
            found[curvature] = released_curvature(trials, setting, first, fineness, loading, branch)
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


def _loads(trials: Trials, arcs: Array, released: Array) -> tuple[Array, Array, Array, Array]:
    """Return segments, clamp angles, loads and start as `solve_chain` wants them."""
    middles = np.concatenate([(arcs[1:] + arcs[:-1]) / 2, arcs[-1:]])
    beyond = arcs[-1] - (middles[1:] + middles[:-1]) / 2
    loads = GRAVITY * (trials.payload[:, None] + trials.mass_per_length[:, None] * beyond)
    return np.diff(middles), released[:, 0], loads, released[:, 1:]
