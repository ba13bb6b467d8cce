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
from flexcalc.balance import Mask
from flexcalc.branch import Branch, loading_branch, release_branch
from flexcalc.bundle import Bundle
from flexcalc.chain import solve_chain
from flexcalc.elastomer import FIRST_LOOK, REFERENCE_TIME, Softening
from flexcalc.inputs import GRAVITY, Setting
from flexcalc.release import BentWire, JointLaw, Pull, Stretch, WireTables, let_go

LOOKS = 6
"""Times between letting go and the look at which the bend is balanced again."""
LEAST_STRETCH = 1e-9
"""Stretches shorter than this share of the limb are left out."""


@dataclass(frozen=True, kw_only=True)
class Fineness:
    """How finely a pose is computed: joints along the limb, nodes of a moment table, fibres."""

    joints: int
    nodes: int
    fibres: int


FINE = Fineness(joints=160, nodes=128, fibres=32)
COARSE = Fineness(joints=32, nodes=12, fibres=6)


@dataclass(frozen=True, kw_only=True)
class Trials:
    """Numbers of many limbs, arrays (B,).

    ``bundle`` wires or None; ``rule`` of reverse yield; ``rigidity`` of the bare section
    [N m2]; ``stiffening``, its modulus over the softening table's; ``relaxation`` exponent;
    ``mass_per_length`` [kg/m] with the wire; ``payload`` [kg].
    """

    bundle: Bundle | None
    rule: str
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
    ``retained`` (B, bends) share of each bend kept without weight; ``stable`` (B,).
    """

    arc_length: Array
    angles_set: Array
    angles_released: Array
    angles_at_rest: Array
    retained: Array
    stable: Mask


@dataclass(frozen=True, kw_only=True)
class _Part:
    length: float
    joints: int
    bend: int | None


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
    parts = _parts(setting, length, fineness.joints)
    joints = np.concatenate([np.full(part.joints, part.length / part.joints) for part in parts])
    arcs = np.concatenate([[0.0], np.cumsum(joints)])
    kept, wires, loading = _released(trials, setting, fineness, tables)
    count = len(trials.rigidity)
    stretches, bent, released, first = [], [], [], 0
    for part in parts:
        last = first + part.joints
        if part.bend is None:
            set_curvature, side, now = np.zeros(count), 0, np.zeros(count)
            wire: BentWire | Branch | None = loading
            rigid = False
        else:
            curvature = setting.bends[part.bend].curvature
            rigid = setting.bends[part.bend].rigid
            set_curvature, side = np.full(count, abs(curvature)), int(np.sign(curvature))
            now, wire = kept[part.bend], wires[part.bend]
        stretches.append(
            Stretch(
                first=first,
                last=last,
                side=side,
                set_curvature=set_curvature,
                wire=wire,
                rigid=rigid,
            )
        )
        bent.append(np.full(part.joints, side * set_curvature[0]))
        released.append(np.repeat((side * now)[:, None], part.joints, axis=1))
        first = last
    law = JointLaw(
        stretches=tuple(stretches), pull=trials.pull(setting.hold_time, setting.rest_time)
    )
    clamp = setting.clamp_angle
    angles_released = _angles(clamp, np.concatenate(released, axis=1), joints)
    resting, stable = _loaded(trials, law, joints, arcs, angles_released)
    whole = [abs(bend.curvature) for bend in setting.bends]
    shares = [kept[i] / k if k else np.ones(count) for i, k in enumerate(whole)]
    return Settled(
        arc_length=arcs,
        angles_set=_angles(clamp, np.concatenate(bent)[None, :], joints)[0],
        angles_released=angles_released,
        angles_at_rest=resting,
        retained=np.stack(shares, axis=1) if shares else np.ones((count, 0)),
        stable=stable,
    )


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
        branch = release_branch(trials.bundle, first, trials.rule, nodes, fibres)
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


def positions_of(angles: Array, arc_length: Array) -> Array:
    """Return points (..., n, 2) [m] of rods bent to a circular arc between stations (..., n)."""
    half = np.diff(angles, axis=-1) / 2
    chord = np.diff(arc_length) * np.sinc(half / np.pi)
    middle = angles[..., :-1] + half
    steps = np.stack([chord * np.sin(middle), -chord * np.cos(middle)], axis=-1)
    start = np.zeros_like(steps[..., :1, :])
    return np.concatenate([start, np.cumsum(steps, axis=-2)], axis=-2)


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


def _parts(setting: Setting, length: float, joints: int) -> list[_Part]:
    parts: list[_Part] = []
    ends = 0.0
    for index, bend in enumerate(setting.bends):
        parts.append(_part(bend.start - ends, length, joints, None))
        parts.append(_part(bend.end - bend.start, length, 2 * joints, index))
        ends = bend.end
    parts.append(_part(length - ends, length, joints, None))
    return [part for part in parts if part.length > LEAST_STRETCH * length]


def _part(stretch: float, length: float, joints: int, bend: int | None) -> _Part:
    fewest = 2 if bend is None else 4
    share = int(np.ceil(joints * max(stretch, 0.0) / length))
    return _Part(length=stretch, joints=max(share, fewest), bend=bend)


def _angles(clamp: float, curvature: Array, joints: Array) -> Array:
    turned = clamp + np.cumsum(curvature * joints, axis=1)
    return np.concatenate([np.full((len(turned), 1), clamp), turned], axis=1)


def _loaded(
    trials: Trials, law: JointLaw, joints: Array, arcs: Array, released: Array
) -> tuple[Array, Mask]:
    """Return angles (B, n) under weight and payload, and whether the pose was kept."""
    middles = np.concatenate([(arcs[1:] + arcs[:-1]) / 2, arcs[-1:]])
    segments = np.diff(middles)
    beyond = arcs[-1] - (middles[1:] + middles[:-1]) / 2
    loads = GRAVITY * (trials.payload[:, None] + trials.mass_per_length[:, None] * beyond)
    shape = solve_chain(law, joints, segments, released[:, 0], loads, released[:, 1:])
    return np.concatenate([released[:, :1], shape.angles], axis=1), shape.stable
