"""Pose many limbs at once: bent round formers or by hand, let go, loaded, and looked at.

All limbs share the pose, the length and what happened before; their sections, materials and
payloads are their own. Joints that share everything but their place are worked out once.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import Aims, Sides, aims_of, in_plane_setting, own_axes
from flexcalc.joints.balance import Load, Mask, WireState, at_rest
from flexcalc.joints.cells import Cells, Piece, cut
from flexcalc.joints.fibres import virgin_wire
from flexcalc.joints.hands import breaks, pressed_moment, pressed_to
from flexcalc.joints.history import (
    Clock,
    Closeness,
    Hand,
    Joints,
    Look,
    SpaceLook,
    followed,
    in_hand,
    inserted,
)
from flexcalc.joints.loops import virgin_loops
from flexcalc.joints.pull import Elastomers, Softenings
from flexcalc.joints.space_hung import SpaceJoints, SpaceLoad
from flexcalc.joints.space_law import SpaceElastomers, space_elastomers
from flexcalc.joints.space_line import SpaceLine, clamp_frames, frames_of, line_of
from flexcalc.joints.stretches import Stretch
from flexcalc.limb.inputs import GRAVITY, Setting
from flexcalc.rod.chain import SLACK
from flexcalc.section.elastomer import FIRST_LOOK
from flexcalc.wire.bundle import Bundle

Rows = NDArray[np.intp]
LEAST_PIECE = 1e-6
"""Pieces shorter than this share of the limb are left out."""
PLACE_DIGITS = 12
"""Decimals to which moments over the greatest agree where joints are worked out once."""


@dataclass(frozen=True, kw_only=True)
class Fineness:
    """How finely a pose is computed: ``fibres`` over half a wire; joints of a former's ``arc``,
    of a hand's ``arm``, of all that is ``straight``; how ``closely`` the history is followed."""

    fibres: int
    arc: int
    arm: int
    straight: int
    closely: Closeness


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
class Limbs:
    """Numbers of B limbs, some of them at S ``stations`` (S,), shares of the length.

    ``bundle`` wires or None; ``rigidity`` (B, S) of the bare section
    [N m2]; ``stiffening`` (B,), modulus over that of the ``softening`` tables of the stations;
    ``relaxation`` (B,) exponent; ``mass_per_length`` (B, S) [kg/m] with the wire; ``payload``
    (B,) [kg]. ``corners``, shares at which the section's change along the limb has a corner;
    ``natural``, pairs of a share and the natural curvature there [1/m], linear in between;
    ``inserted_before`` [s], how long the wire has been in a limb printed curved; ``sides``, for
    limbs that leave their plane.
    """

    bundle: Bundle | None
    rigidity: Array
    stiffening: Array
    softening: Softenings | None
    relaxation: Array
    mass_per_length: Array
    payload: Array
    stations: Array
    corners: tuple[float, ...] = (0.0, 1.0)
    natural: tuple[tuple[float, float], ...] = ()
    inserted_before: float = 0.0
    sides: Sides | None = None

    def take(self, rows: Rows | slice) -> Limbs:
        """Return some of the limbs, each as often as its row is named."""
        return replace(
            self,
            bundle=None if self.bundle is None else self.bundle.take(rows),
            rigidity=self.rigidity[rows],
            stiffening=self.stiffening[rows],
            relaxation=self.relaxation[rows],
            mass_per_length=self.mass_per_length[rows],
            payload=self.payload[rows],
            sides=None if self.sides is None else self.sides.take(rows),
        )

    @property
    def curved(self) -> bool:
        """True for limbs that are not printed straight."""
        return bool(self.natural or (self.sides is not None and self.sides.curvature))

    @property
    def mean_mass(self) -> Array:
        """Mass per length (B,), the mean along the limb. [kg/m]"""
        nodes, weights = np.polynomial.legendre.leggauss(8)
        total = np.zeros(len(self.payload))
        for start, end in itertools.pairwise(self.corners):
            shares = start + (end - start) * (nodes + 1) / 2
            total += (end - start) / 2 * (self.mass_along(shares) @ weights)
        return total

    def mass_along(self, shares: Array) -> Array:
        """Return the mass per length (B, n) at shares (n,) of the length. [kg/m]"""
        return np.asarray(self.mass_per_length @ _between_stations(self, shares))


@dataclass(frozen=True, kw_only=True)
class Looked:
    """Limbs at one time: angles (B, n) [rad] at the stations ``released`` without weight and
    ``resting`` under load; shares (B, bends) of each bend ``retained`` without weight and
    ``loaded``; ``least`` and ``greatest`` (B, bends) curvature kept along it without weight
    [1/m]; ``stable`` (B,): the pose was not lost. ``lines``, of limbs that leave their plane:
    without weight, and under load; ``torque`` (B,) on the wire there [N m]."""

    released: Array
    resting: Array
    retained: Array
    loaded: Array
    least: Array
    greatest: Array
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


@dataclass(frozen=True, kw_only=True)
class _Points:
    """Points of the limbs: their N joints, and behind them the middles of presses.

    ``places`` [m]; ``lengths`` that bend there [m], 0 for the middles; ``bend`` number or -1;
    ``shares`` of the press's moment; ``last`` (poses, points) curvatures of the poses before, the
    oldest first [1/m]; ``aims`` of limbs that leave their plane.
    """

    cells: Cells
    places: Array
    lengths: Array
    bend: Rows
    shares: Array
    last: Array
    aims: Aims | None


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
    line = _line(setting, cells, joints, joints.space.bent) if joints.space else None
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
        looks=tuple(_looked(look, setting, cells, joints, slack) for look in looks),
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
) -> Array:
    """Return the greatest curvature (B, bends) of each bend in the hand, without sign. [1/m]

    Arguments as `pose_limbs`, which follows the limbs further.
    """
    setting = in_plane_setting(setting)
    _, sorts, bent, _ = _taken(limbs, setting, stretches, length, fineness, over_bent)
    return _peaks(setting, sorts, bent)[0]


def _taken(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
    over_bent: Array | None,
) -> tuple[_Points, _Sorts, Array, Array]:
    """Return points and sorts of limbs, the sorts' curvatures (B, n) in the hand [1/m], and the
    thumb's forces (B, bends) [N]."""
    points = _points(limbs, setting, stretches, length, fineness)
    sorts = _sorts(limbs, points, length, fineness)
    factors = over_bent
    if factors is None:
        own = [1.0 if one.bend.rigid else one.bend.over_bend for one in stretches]
        factors = np.tile(own, (len(limbs.rigidity), 1))
    bent, force = _bent(limbs, setting, stretches, factors, points, sorts, fineness)
    return points, sorts, bent, force


def load_share(limbs: Limbs, setting: Setting, length: float) -> Array:
    """Return weight and payload over rigidity / length^2 (B,), 0 where a limb hangs straight
    down."""
    if setting.clamp_angle == 0 and not limbs.curved and not any(b.angle for b in setting.bends):
        return 0.0 * limbs.payload
    rigidity = limbs.rigidity.mean(axis=1)
    if limbs.bundle is not None:
        rigidity = rigidity + limbs.bundle.rigidity
    weight = GRAVITY * (limbs.payload + limbs.mean_mass * length)
    return np.asarray(weight * length**2 / rigidity)


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


def _points(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
) -> _Points:
    edges = {0.0, length}
    edges |= {length * share for share in limbs.corners}
    edges |= {length * share for share, _ in limbs.natural}
    if limbs.sides is not None:
        edges |= {length * share for share, _ in (*limbs.sides.curvature, *limbs.sides.twist)}
    poses = [bends for bends, _ in setting.poses_before]
    edges |= {edge for bends in poses for bend in bends for edge in (bend.start, bend.end)}
    for stretch in stretches:
        edges |= {stretch.start, stretch.end}
        edges |= set(breaks(stretch.presses)) if stretch.presses else set()
    ordered = [0.0]
    for edge in sorted(edges):
        if ordered[-1] + LEAST_PIECE * length < edge < length - LEAST_PIECE * length:
            ordered.append(edge)
    pieces = [
        _piece(start, end, stretches, length, fineness)
        for start, end in zip(ordered, [*ordered[1:], length], strict=True)
        if end > start
    ]
    cells = cut(pieces)
    middles = [
        (press.middle, number)
        for number, stretch in enumerate(stretches)
        for press in stretch.presses
    ]
    places = np.append(cells.places, [middle for middle, _ in middles])
    bend = np.append(cells.bend, np.array([number for _, number in middles], dtype=np.intp))
    shares = np.zeros(len(places))
    for number, stretch in enumerate(stretches):
        inside = bend == number
        if stretch.presses:
            shares[inside] = pressed_moment(stretch.presses, places[inside])
    last = np.zeros((len(poses), len(places)))
    for curled, bends in zip(last, poses, strict=True):
        for before in bends:
            curled[(places >= before.start) & (places <= before.end)] = before.curvature
    aims = None
    if limbs.sides is not None:
        aims = _aims(limbs, limbs.sides, setting, places, bend, length)
        last = aims.last[:, 0]
    return _Points(
        cells=cells,
        places=places,
        lengths=np.append(cells.lengths, np.zeros(len(middles))),
        bend=bend,
        shares=shares,
        last=last,
        aims=aims,
    )


def _aims(
    limbs: Limbs, sides: Sides, setting: Setting, places: Array, bend: Rows, length: float
) -> Aims:
    shares = places / length
    natural = np.stack(
        [
            curvature_between(pairs, shares)
            for pairs in (limbs.natural, sides.curvature, sides.twist)
        ]
    )
    return aims_of(
        [(bend == number, one) for number, one in enumerate(setting.bends)],
        [
            [((places >= one.start) & (places <= one.end), one) for one in bends]
            for bends, _ in setting.poses_before
        ],
        natural,
    )


def _piece(
    start: float, end: float, stretches: Sequence[Stretch], length: float, fineness: Fineness
) -> Piece:
    middle = (start + end) / 2
    for number, stretch in enumerate(stretches):
        if not stretch.start < middle < stretch.end:
            continue
        if not stretch.presses:
            share = (end - start) / (stretch.end - stretch.start)
            return Piece(start=start, end=end, joints=_count(fineness.arc * share, 3), bend=number)
        arm = max(max(press.left, press.right) for press in stretch.presses)
        count = max(round(fineness.arm * (end - start) / arm), 1)
        return Piece(start=start, end=end, joints=count, bend=number)
    return Piece(start=start, end=end, joints=_count(fineness.straight * (end - start) / length, 3))


def _count(wanted: float, fewest: int) -> int:
    return max(int(np.ceil(wanted - 1e-9)), fewest)


@dataclass(frozen=True, kw_only=True)
class _Sorts:
    """Sorts of points that share everything but their place: the ``first`` point of each, the
    sort ``kind`` of each point, their ``bend``, virgin ``wire``, ``elastomers``, and the
    curvature ``stood`` (B, n) of the limb with its wire before it was posed [1/m]; ``aims`` and
    ``elastomers_in_space`` of limbs that leave their plane, and ``stood_in_space`` (3, B, n)
    their curvatures in own axes."""

    first: Rows
    kind: Rows
    bend: Rows
    wire: WireState
    elastomers: Elastomers
    stood: Array
    space: tuple[Aims, SpaceElastomers, Array] | None = None


def _sorts(limbs: Limbs, points: _Points, length: float, fineness: Fineness) -> _Sorts:
    count = len(points.places)
    alone = np.arange(count) if len(limbs.stations) > 1 else np.zeros(count)
    natural = curvature_between(limbs.natural, points.places / length)
    told = np.stack(
        [points.bend, points.shares.round(PLACE_DIGITS), *points.last, alone, natural], axis=1
    )
    if points.aims is not None:
        told = np.concatenate([told, points.aims.told], axis=1)
    _, first, kind = np.unique(told, axis=0, return_index=True, return_inverse=True)
    elastomers = _elastomers(limbs, points.places[first] / length)
    wire = _virgin(limbs, fineness, len(first))
    stood = np.zeros((len(limbs.rigidity), len(first)))
    space: tuple[Aims, SpaceElastomers, Array] | None = None
    if limbs.sides is not None and points.aims is not None:
        aims = points.aims.take(first)
        ratios = limbs.sides.ratios @ _between_stations(limbs, points.places[first] / length)
        aimed = space_elastomers(elastomers, aims, ratios)
        before = np.zeros((3, *stood.shape))
        before[2] = aims.natural[2]
        if limbs.curved:
            # pushed in, the wire straightens a limb towards where it was printed curved
            size, way = aims.towards_natural
            towards = space_elastomers(elastomers, way, ratios).along
            stood = inserted(wire, towards, stood.shape, fineness.closely.curvature)
            before[:2] = stood * size[:, None]
        elastomers, stood, space = aimed.along, before[0], (aims, aimed, before)
    elif limbs.natural:
        stood = inserted(wire, elastomers, stood.shape, fineness.closely.curvature)
    return _Sorts(
        first=first,
        kind=kind.reshape(-1),
        bend=points.bend[first],
        wire=wire,
        elastomers=elastomers,
        stood=stood,
        space=space,
    )


def curvature_between(pairs: tuple[tuple[float, float], ...], shares: Array) -> Array:
    """Return values at shares (n,) of the length, straight between pairs, 0 without any."""
    if not pairs:
        return np.zeros(len(shares))
    places, values = zip(*pairs, strict=True)
    return np.asarray(np.interp(shares, places, values))


def _between_stations(limbs: Limbs, shares: Array) -> Array:
    """Return weights (S, n) that interpolate values at the stations to shares (n,) of the limb.

    Between two corners the stations carry one polynomial.
    """
    stations = limbs.stations
    weights = np.zeros((len(stations), len(shares)))
    if len(stations) == 1:
        weights[0] = 1.0
        return weights
    parts = len(limbs.corners) - 1
    each = len(stations) // parts
    part = np.clip(np.searchsorted(limbs.corners, shares, side="right") - 1, 0, parts - 1)
    for number in range(parts):
        own = np.arange(number * each, (number + 1) * each)
        there = np.flatnonzero(part == number)
        for row in own:
            others = stations[own[own != row]]
            off = (shares[there][:, None] - others) / (stations[row] - others)
            weights[row, there] = np.prod(off, axis=1)
    return weights


def _elastomers(limbs: Limbs, shares: Array) -> Elastomers:
    weights = _between_stations(limbs, shares)
    softening = limbs.softening
    rigidity = limbs.rigidity
    if len(limbs.stations) > 1:
        rigidity = rigidity @ weights
        if softening is not None:
            softening = Softenings(
                scale=1 / (weights.T @ (1 / softening.scale)),
                step=softening.step,
                values=weights.T @ softening.values,
                slopes=weights.T @ softening.slopes,
            )
    return Elastomers(
        rigidity=rigidity,
        stiffening=limbs.stiffening[:, None],
        relaxation=limbs.relaxation[:, None],
        natural=curvature_between(limbs.natural, shares) if limbs.natural else np.zeros(1),
        softening=softening,
    )


def _virgin(limbs: Limbs, fineness: Fineness, joints: int) -> WireState:
    if limbs.bundle is None:
        return None
    if limbs.bundle.flow.reversal == "masing":
        return virgin_loops(limbs.bundle, joints)
    close = max(10 * fineness.closely.curvature, 1e-8)
    return virgin_wire(limbs.bundle, fineness.fibres, joints, min(close, 1e-4))


def _bent(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    factors: Array,
    points: _Points,
    sorts: _Sorts,
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
            wire=_virgin(limbs, fineness, len(own)),
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


def _in_space(limbs: Limbs, setting: Setting, sorts: _Sorts, bent: Array) -> SpaceJoints | None:
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
    )


def _line(setting: Setting, cells: Cells, joints: Joints, own: Array) -> SpaceLine:
    """Return the lines of limbs whose kinds of joints stand at curvatures (3, B, n) in own axes."""
    if joints.space is None:
        raise RuntimeError("no line in space of limbs that stay in their plane")
    swing = joints.space.aims.swing[joints.kind]
    turns = own_axes(swing, own[:, :, joints.kind]) * cells.lengths
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


def _peaks(setting: Setting, sorts: _Sorts, bent: Array) -> tuple[Array, Array, Array]:
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


def _looked(look: Look, setting: Setting, cells: Cells, joints: Joints, slack: Mask) -> Looked:
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
        stable=look.kept & ~slack,
        lines=lines,
        torque=torque,
    )
