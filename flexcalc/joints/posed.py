"""Pose many limbs at once: bent round formers or by hand, let go, loaded, and looked at.

All limbs share the pose, the length and what happened before; their sections, materials and
payloads are their own. Joints that share everything but their place are worked out once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import in_plane_setting, own_axes
from flexcalc.joints.balance import Load, Mask, at_rest
from flexcalc.joints.cells import Cells
from flexcalc.joints.hands import pressed_to
from flexcalc.joints.history import (
    Clock,
    Closeness,
    Hand,
    Joints,
    Look,
    SpaceLook,
    followed,
    in_hand,
)
from flexcalc.joints.points import Fineness, LimbPoints, Sorts, fresh_wires, points_along, sorts_of
from flexcalc.joints.rows import Limbs, load_share
from flexcalc.joints.space_hung import SpaceJoints, SpaceLoad
from flexcalc.joints.space_line import SpaceLine, clamp_frames, frames_of, line_of
from flexcalc.joints.stretches import Stretch
from flexcalc.limb.inputs import GRAVITY, Bend, Setting
from flexcalc.rod.chain import SLACK
from flexcalc.section.elastomer import FIRST_LOOK

Rows = NDArray[np.intp]


FINE = Fineness(
    fibres=64,
    arc=40,
    arm=12,
    straight=48,
    closely=Closeness(looks=8, late_looks=8, curvature=1e-8, angle=1e-7),
)
COARSE = Fineness(
    fibres=12,
    arc=12,
    arm=6,
    straight=6,
    closely=Closeness(looks=1.5, late_looks=0.3, curvature=1e-4, angle=3e-4),
)

COARSE_ARCS = replace(COARSE, fibres=24, arc=6)
"""For formers, whose joints are all bent alike, so that their fibres do not even each other out."""

WEIGHTLESS = Fineness(
    fibres=48,
    arc=2,
    arm=8,
    straight=2,
    closely=Closeness(looks=8, late_looks=4, curvature=1e-7, angle=1e-4),
)
"""For bends without weight, whose place along the limb does not matter."""


@dataclass(frozen=True, kw_only=True)
class Looked:
    """Limbs at one time: angles (B, n) [rad] at the stations ``released`` without weight and
    ``resting`` under load; shares (B, bends) of each bend ``retained`` without weight and
    ``loaded``; ``least`` and ``greatest`` (B, bends) curvature kept along it without weight
    [1/m]; ``straightened`` (B,): the share of the pose before that went, where no bend is now, in
    that of its bends of which least did, 1 without any; ``stable`` (B,): the pose was not lost.
    ``lines``, of limbs that leave their plane: without weight, and under load; ``torque`` (B,) on
    the wire there [N m]."""

    released: Array
    resting: Array
    retained: Array
    loaded: Array
    least: Array
    greatest: Array
    straightened: Array
    stable: Mask
    lines: tuple[SpaceLine, SpaceLine] | None = None
    torque: Array | float = 0.0


@dataclass(frozen=True, kw_only=True)
class Posed:
    """Many limbs in one pose.

    ``arc_length`` (n,) [m]; ``as_set`` (B, n) angles in the hand [rad]; ``peak`` (B, bends)
    curvature without sign [1/m]; ``wire`` and ``elastomer`` (B, bends), moments in the hand
    there [N m]; ``force`` (B, bends) of the thumb [N]; ``slack`` (B,): the load is so far above
    the rigidity that the limb hangs slack, straight down; ``looks`` at the times asked for;
    ``line`` in the hand of limbs that leave their plane.
    """

    arc_length: Array
    as_set: Array
    peak: Array
    wire: Array
    elastomer: Array
    force: Array
    slack: Mask
    looks: tuple[Looked, ...]
    line: SpaceLine | None = None


def pose_limbs(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
    rest_times: Sequence[float],
    *,
    over_bent: Array | None = None,
    weightless: bool = False,
) -> Posed:
    """Return limbs as set and at some times after the last letting-go.

    Parameters
    ----------
    limbs : Limbs
        Their sections, wires and payloads.
    setting : Setting
        The pose and how it is made; its rest time is not read.
    stretches : sequence of Stretch
        From `bent_stretches`.
    length : float
        Of the limbs. [m]
    fineness : Fineness
        FINE or COARSE.
    rest_times : sequence of float
        Times after the last letting-go, rising; 0 is a second after it. [s]
    over_bent : array (B, bends), optional
        Factors on the angle of each bend in the hand, in place of the bends' own; its length of
        limb stays.
    weightless : bool
        Without weight and payload; the shapes at rest are then the released ones.

    Raises
    ------
    RuntimeError
        With the inputs, if a solver does not converge.
    """
    setting = in_plane_setting(setting)
    points, sorts, bent, force = _taken(limbs, setting, stretches, length, fineness, over_bent)
    cells = points.cells
    joints = Joints(
        wire=sorts.wire,
        elastomers=sorts.elastomers,
        before=_before(limbs, setting, points.last[:, sorts.first], sorts.stood),
        bent=bent,
        rigid=np.array([number >= 0 and setting.bends[number].rigid for number in sorts.bend]),
        kind=sorts.kind[: len(cells.places)],
        space=_in_space(limbs, setting, sorts, bent),
    )
    clock = Clock(
        hold=setting.hold_time,
        pause=setting.press_pause,
        presses=setting.presses,
        ages=tuple(FIRST_LOOK + time for time in rest_times),
    )
    load: Load | SpaceLoad | None = None
    if not weightless:
        load = _load(limbs, setting, cells, length)
        load = load if limbs.sides is None else _space_load(load)
    slack = load_share(limbs, setting, length) > SLACK
    looks = _followed(joints, clock, load, fineness.closely, slack)
    line = _hand_line(setting, cells, joints.space, joints.kind)
    peak, of_wire, of_elastomer = _peaks(setting, sorts, bent)
    if setting.bent_by == "former":
        force = 2 * (of_wire + of_elastomer) / setting.lever
    return Posed(
        arc_length=cells.arc_length,
        as_set=line.angles if line else _angles(setting, cells, bent[:, joints.kind]),
        peak=peak,
        wire=of_wire,
        elastomer=of_elastomer,
        force=force,
        slack=slack,
        looks=tuple(
            _looked(look, setting, cells, joints, slack, sorts.stood[:, joints.kind])
            for look in looks
        ),
        line=line,
    )


def coarse(setting: Setting) -> Fineness:
    """Return the fineness by which thousands of limbs are posed (share within 3e-3 of `FINE`, sag
    within 3 %)."""
    return COARSE_ARCS if setting.bent_by == "former" else COARSE


def hand_peaks(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
    over_bent: Array | None = None,
) -> tuple[Array, Array]:
    """Return the greatest curvature of each bend in the hand, without sign [1/m], and the force of
    the thumb that presses it, 0 round a former [N], both (B, bends).

    Arguments as `pose_limbs`, which follows the limbs further.
    """
    setting = in_plane_setting(setting)
    _, sorts, bent, force = _taken(limbs, setting, stretches, length, fineness, over_bent)
    return _peaks(setting, sorts, bent)[0], force


def line_in_hand(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
) -> tuple[Array, Array, SpaceLine | None]:
    """Return ``arc_length``, ``as_set`` and ``line`` of `Posed` without following the limbs
    further; arguments as `pose_limbs`."""
    setting = in_plane_setting(setting)
    points, sorts, bent, _ = _taken(limbs, setting, stretches, length, fineness, None)
    cells = points.cells
    kind = sorts.kind[: len(cells.places)]
    line = _hand_line(setting, cells, _in_space(limbs, setting, sorts, bent), kind)
    angles = line.angles if line else _angles(setting, cells, bent[:, kind])
    return cells.arc_length, angles, line


def _hand_line(
    setting: Setting, cells: Cells, space: SpaceJoints | None, kind: Rows
) -> SpaceLine | None:
    """Return the lines in the hand of limbs that leave their plane, None of others."""
    if space is None:
        return None
    return _line(setting, cells, space.aims.swing[kind], space.bent[:, :, kind])


def _taken(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
    over_bent: Array | None,
) -> tuple[LimbPoints, Sorts, Array, Array]:
    """Return points and sorts of limbs, the sorts' curvatures (B, n) in the hand [1/m], and the
    thumb's forces (B, bends) [N]."""
    points = points_along(limbs, setting, stretches, length, fineness)
    sorts = sorts_of(limbs, points, length, fineness)
    factors = over_bent
    if factors is None:
        own = [1.0 if one.bend.rigid else one.bend.over_bend for one in stretches]
        factors = np.tile(own, (len(limbs.rigidity), 1))
    bent, force = _bent(limbs, setting, stretches, factors, points, sorts, fineness)
    return points, sorts, bent, force


def _followed(
    joints: Joints, clock: Clock, load: Load | SpaceLoad | None, closely: Closeness, slack: Mask
) -> tuple[Look, ...]:
    """Return the limbs at the times that one looks; those that hang slack are left weightless."""
    if load is None or not slack.any():
        return followed(joints, clock, load, closely)
    rows = np.flatnonzero(~slack)
    if isinstance(load, SpaceLoad):
        load = load.lightened(slack)
        return followed(joints, clock, load, closely)
    free = followed(joints, clock, None, closely)
    if rows.size == 0:
        return free
    hung = followed(joints.take(rows), clock, load.take(rows), closely)
    for look, part in zip(free, hung, strict=True):
        look.loaded[rows], look.kept[rows] = part.loaded, part.kept
    return free


def _bent(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    factors: Array,
    points: LimbPoints,
    sorts: Sorts,
    fineness: Fineness,
) -> tuple[Array, Array]:
    """Return curvatures (B, n) of the sorts in the hand and the thumb's forces (B, bends)."""
    bent, force = sorts.stood.copy(), np.zeros((len(sorts.stood), len(stretches)))
    lengths = np.bincount(sorts.kind, points.lengths, len(sorts.first)).astype(np.float64)
    close = fineness.closely.curvature
    for count, stretch in enumerate(stretches):
        own = np.flatnonzero(sorts.bend == count)
        if not stretch.presses:
            bent[:, own] = stretch.bend.curvature * factors[:, [count]]
            continue
        hand = Hand(
            wire=fresh_wires(limbs, fineness, len(own)),
            pull=in_hand(sorts.elastomers.at_joints(own), setting.hold_time, bent[:, own].shape),
        )
        free = 0.0 * bent[:, own]
        if limbs.curved:
            stood = sorts.stood[:, own]
            free = at_rest(hand.wire, hand.pull, stood, stood, close)
        made = pressed_to(
            hand,
            free,
            points.shares[sorts.first[own]],
            lengths[own],
            stretch.bend.angle * factors[:, count],
            3 * close,
        )
        bent[:, own] = made.curvature
        force[:, count] = made.moment * max(press.force for press in stretch.presses)
    return bent, force


def _before(
    limbs: Limbs, setting: Setting, last: Array, stood: Array
) -> tuple[tuple[float, Array], ...]:
    """Return where the joints were before: as the wire was pushed in, and in the poses before."""
    found: list[tuple[float, Array]] = []
    if limbs.curved:
        found.append((-limbs.inserted_before, stood))
    held = [time for _, time in setting.poses_before]
    for number, curled in enumerate(last):
        found.append((-sum(held[number:]), np.where(curled != 0, curled, stood)))
    return tuple(found)


def _load(limbs: Limbs, setting: Setting, cells: Cells, length: float) -> Load:
    """Return what hangs on the limbs."""
    masses = limbs.mass_along(cells.places / length) * cells.lengths
    hanging = np.concatenate([np.cumsum(masses[:, ::-1], axis=1)[:, ::-1], 0 * masses[:, :1]], 1)
    middles = length - cells.beyond
    cell = np.clip(np.searchsorted(cells.arc_length, middles) - 1, 0, len(middles) - 1)
    share = (middles - cells.arc_length[cell]) / cells.lengths[cell]
    beyond = (1 - share) * hanging[:, cell] + share * hanging[:, cell + 1]
    return Load(
        clamp=np.full(len(beyond), setting.clamp_angle),
        joints=cells.lengths,
        segments=cells.segments,
        loads=GRAVITY * (limbs.payload[:, None] + beyond),
    )


def _space_load(load: Load) -> SpaceLoad:
    return SpaceLoad(
        clamp=clamp_frames(float(load.clamp[0]), len(load.clamp)),
        joints=load.joints,
        pull=load.loads * load.segments,
    )


def _in_space(limbs: Limbs, setting: Setting, sorts: Sorts, bent: Array) -> SpaceJoints | None:
    """Return what joints in space add, in own axes."""
    if limbs.sides is None or sorts.space is None:
        return None
    aims, elastomers, stood = sorts.space
    before: list[tuple[float, Array]] = []
    if limbs.curved:
        before.append((-limbs.inserted_before, stood))
    times = [time for _, time in setting.poses_before]
    for number, curled in enumerate(aims.last):
        last = stood.copy()
        held = np.any(curled, axis=0)
        last[:2, :, held] = curled[:, None, held]
        before.append((-sum(times[number:]), last))
    # what the hand bends it does not bend aside
    aside = np.where(sorts.bend >= 0, 0.0, stood[1])
    torsion = np.zeros((len(bent), 1))
    if limbs.bundle is not None:
        torsion = limbs.sides.held[:, None] * np.reshape(limbs.bundle.rigidity, (-1, 1))
        torsion = torsion / (1 + limbs.sides.poisson)
    return SpaceJoints(
        elastomers=elastomers,
        aims=aims,
        before=tuple(before),
        bent=np.stack([bent, aside, stood[2]]),
        torsion=torsion,
        settles=limbs.sides.settles,
    )


def _line(setting: Setting, cells: Cells, swing: Array, own: Array) -> SpaceLine:
    """Return the lines of limbs whose joints (N,) swing, at curvatures (3, B, N) in own axes."""
    turns = own_axes(swing, own) * cells.lengths
    clamp = clamp_frames(setting.clamp_angle, own.shape[1])
    return line_of(clamp, frames_of(clamp, turns), turns, cells.lengths)


def _lines(
    look: SpaceLook, setting: Setting, cells: Cells, joints: Joints, slack: Mask
) -> tuple[SpaceLine, SpaceLine]:
    """Return the lines of limbs at one look, without weight and under load."""
    if joints.space is None:
        raise RuntimeError("no line in space of limbs that stay in their plane")
    swing = joints.space.aims.swing[joints.kind]
    clamp = clamp_frames(setting.clamp_angle, len(slack))
    free, hung = (own_axes(swing, own) * cells.lengths for own in (look.weightless, look.loaded))
    frames = look.frames.copy()
    if slack.any():
        hung[:, slack] = 0.0
        frames[:, slack] = clamp_frames(0.0, 1)[:, :, None]
        clamp[:, slack] = clamp_frames(0.0, 1)
    hanging = line_of(clamp, frames, hung, cells.lengths)
    clamp = clamp_frames(setting.clamp_angle, len(slack))
    return line_of(clamp, frames_of(clamp, free), free, cells.lengths), hanging


def _peaks(setting: Setting, sorts: Sorts, bent: Array) -> tuple[Array, Array, Array]:
    """Return the greatest curvature of each bend in the hand, without sign, and the moments of
    wire and elastomer there (B, bends)."""
    peak = np.zeros((len(bent), len(setting.bends)))
    of_wire, of_elastomer = peak.copy(), peak.copy()
    wire = 0 * bent if sorts.wire is None else sorts.wire.moment(bent)[0]
    held = sorts.elastomers.share(setting.hold_time) * sorts.elastomers.at_ten_seconds(bent)[0]
    rows = np.arange(len(bent))
    for number, bend in enumerate(setting.bends):
        own = np.flatnonzero(sorts.bend == number)
        if bend.angle == 0 or own.size == 0:
            continue
        most = own[np.argmax(np.abs(bent[:, own]), axis=1)]
        for found, values in ((peak, bent), (of_wire, wire), (of_elastomer, held)):
            found[:, number] = np.abs(values[rows, most])
    return peak, of_wire, of_elastomer


def _angles(setting: Setting, cells: Cells, curvature: Array) -> Array:
    """Return angles (B, N + 1) [rad] at the ends of the lengths that bend, for curvatures
    (B, N) [1/m]."""
    clamp = np.full((len(curvature), 1), setting.clamp_angle)
    return np.concatenate([clamp, clamp + np.cumsum(curvature * cells.lengths, axis=1)], axis=1)


def straightened_bends(setting: Setting) -> tuple[Bend, ...]:
    """Return the bends of the pose before that the hand straightens: where no bend is now."""
    if not setting.poses_before:
        return ()
    now = [bend for bend in setting.bends if bend.angle]
    return tuple(
        bend
        for bend in setting.poses_before[-1][0]
        if bend.angle and not any(one.start < bend.end and bend.start < one.end for one in now)
    )


def _straightened(setting: Setting, cells: Cells, left: Array) -> Array:
    """Return the share (B,) of the pose before that went, of curvatures (B, N) that are left."""
    went = np.ones(len(left))
    for bend in straightened_bends(setting):
        # where a hand's arms bend it now is that bend's
        own = (cells.bend < 0) & (cells.places > bend.start) & (cells.places < bend.end)
        whole = bend.curvature * float(cells.lengths[own].sum())
        if whole:
            went = np.minimum(went, 1 - np.abs(left[:, own] @ cells.lengths[own] / whole))
    return went


def _looked(
    look: Look, setting: Setting, cells: Cells, joints: Joints, slack: Mask, stood: Array
) -> Looked:
    free = look.weightless[:, joints.kind]
    retained = np.ones((len(free), len(setting.bends)))
    loaded, least, greatest = retained.copy(), 0 * retained, 0 * retained
    for number, bend in enumerate(setting.bends):
        own = cells.bend == number
        if bend.angle == 0 or not own.any():
            continue
        for found, curvature in ((retained, free), (loaded, look.loaded)):
            found[:, number] = curvature[:, own] @ cells.lengths[own] / bend.angle
        least[:, number] = free[:, own].min(axis=1)
        greatest[:, number] = free[:, own].max(axis=1)
    resting, released = _angles(setting, cells, look.loaded), _angles(setting, cells, free)
    resting[np.ix_(slack, np.arange(1, resting.shape[1]))] = 0.0
    lines: tuple[SpaceLine, SpaceLine] | None = None
    torque: Array | float = 0.0
    if look.space is not None:
        lines, torque = _lines(look.space, setting, cells, joints, slack), look.space.torque
        released, resting = (line.angles for line in lines)
    return Looked(
        released=released,
        resting=resting,
        retained=retained,
        loaded=loaded,
        least=least,
        greatest=greatest,
        straightened=_straightened(setting, cells, free - stood),
        stable=look.kept & ~slack,
        lines=lines,
        torque=torque,
    )
