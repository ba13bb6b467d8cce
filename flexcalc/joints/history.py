"""What becomes of the joints of a limb: bent, held, let go, perhaps bent again, looked at later.

Two histories run side by side from one hand: without weight, each joint by itself, and under
load, the whole limb together. Letting go and loading are one jump to the balance a second
later; then the joints are balanced at every look, and each keeps its own history.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.balance import (
    CORNER_STIFFNESS,
    JointLaw,
    Load,
    Mask,
    WireState,
    at_rest,
    joint_moment,
    loaded,
)
from flexcalc.joints.pull import Elastomers, Pull, Steps, let_go
from flexcalc.joints.space_hung import SpaceHung, SpaceJoints, SpaceLoad, hung_in_space
from flexcalc.joints.state import State
from flexcalc.section.elastomer import FIRST_LOOK

Rows = NDArray[np.intp]
EARLY = 10.0
"""Times the hold, after which a joint that was let go has seen its lowest curvature."""


@dataclass(frozen=True, kw_only=True)
class Closeness:
    """How closely a history is followed: ``looks`` a decade of time, and ``late_looks`` where the
    joints only creep back; last relative change of a weightless ``curvature``, last turn of a
    loaded segment ``angle`` [rad]."""

    looks: float
    late_looks: float
    curvature: float
    angle: float


@dataclass(frozen=True, kw_only=True)
class Clock:
    """When the hand bends and lets go: ``hold`` and ``pause`` [s], ``presses``, and the
    ``ages`` [s] of the last letting-go at which one looks, rising."""

    hold: float
    pause: float
    presses: int
    ages: tuple[float, ...]

    def seen(self, age: float) -> bool:
        """Return whether one looks at this age."""
        return any(abs(age - one) <= 1e-9 * one for one in self.ages)

    def looks(self, press: int, closeness: Closeness) -> list[float]:
        """Return the ages of a letting-go at which the joints are balanced, rising. [s]

        The pull of the elastomer is greatest about as long after the letting-go as the hand has
        held; a while later the joints only creep back.
        """
        ends = self.ages if press == self.presses - 1 else (self.pause,)
        early = EARLY * max(self.hold, FIRST_LOOK)
        times = [FIRST_LOOK]
        for end, density in [
            *((end, closeness.looks) for end in (*ends, early) if FIRST_LOOK < end <= early),
            *((end, closeness.late_looks) for end in ends if end > early),
        ]:
            if end > ends[-1] or end <= times[-1] * (1 + 1e-9):
                continue
            count = max(int(np.ceil(np.log10(end / times[-1]) * density - 1e-9)), 1)
            ratio = (end / times[-1]) ** (1 / count)
            times += [times[-1] * ratio**step for step in range(1, count)] + [end]
        return times


@dataclass(frozen=True, kw_only=True)
class Joints:
    """Kinds of joints of B limbs, n of them, and where each stands among the N joints.

    ``wire`` virgin, ``elastomers``, ``before``: earlier positions, each a clock [s] and
    curvatures (B, n); ``bent`` (B, n) curvature in the hand [1/m]; ``rigid`` (n,) where a corner
    piece holds it; ``kind`` (N,) the number of each joint's kind; ``space``, what limbs that
    leave their plane add.
    """

    wire: WireState
    elastomers: Elastomers
    before: tuple[tuple[float, Array], ...]
    bent: Array
    rigid: Mask
    kind: Rows
    space: SpaceJoints | None = None

    def take(self, rows: Rows) -> Joints:
        """Return the joints of some limbs."""
        return replace(
            self,
            wire=None if self.wire is None else self.wire.take(rows),
            elastomers=self.elastomers.take(rows),
            before=tuple((clock, curvature[rows]) for clock, curvature in self.before),
            bent=self.bent[rows],
            space=None if self.space is None else self.space.take(rows),
        )


@dataclass(frozen=True, kw_only=True)
class Look:
    """Limbs at one age of the last letting-go: ``weightless`` (B, n) curvatures of the kinds of
    joints [1/m], ``loaded`` (B, N) curvatures of the joints under load [1/m], ``kept`` (B,): where
    the limb has not snapped over; ``space``, where limbs that leave their plane stand."""

    age: float
    weightless: Array
    loaded: Array
    kept: Mask
    space: SpaceLook | None = None


@dataclass(frozen=True, kw_only=True)
class SpaceLook:
    """Limbs in space at one age: ``frames`` (4, B, N) of their segments under load, ``loaded``
    and ``weightless`` (3, B, N) curvatures of the joints in own axes [1/m], ``torque`` (B,) on
    the wire [N m]."""

    frames: Array
    loaded: Array
    weightless: Array
    torque: Array


def in_hand(elastomers: Elastomers, hold: float, shape: tuple[int, ...]) -> Pull:
    """Return the elastomer of fresh joints that a hand has held for a time."""
    return Pull(elastomers=elastomers, share=elastomers.share(hold), rest=np.zeros(shape))


def followed(
    joints: Joints, clock: Clock, load: Load | SpaceLoad | None, closeness: Closeness
) -> tuple[Look, ...]:
    """Return the limbs at the ages that one looks.

    Without a load the loaded limb is the weightless one. RuntimeError with the inputs if the
    solver of the loaded limb does not converge.
    """
    free = _fresh(joints)
    hung: list[_Hung | SpaceHung] = []
    found: list[Look] = []
    for press in range(clock.presses):
        bending = press * (clock.hold + clock.pause)
        letting = bending + clock.hold
        free = free.moved(bending, joints.bent)
        if load is not None and not hung:
            hung = _hung(free, joints, load, bending)
        else:
            hung = [one.bent(bending) for one in hung]
        ages = clock.looks(press, closeness)
        for number, age in enumerate(ages):
            free = _rested(free, joints, letting, age, closeness.curvature)
            start = free.curvature[:, joints.kind] if number == 0 else None
            hung = [one.looked(letting, age, start, closeness.angle) for one in hung]
            if press == clock.presses - 1 and clock.seen(age):
                found.append(_look(age, free, hung, joints.kind))
            if press < clock.presses - 1 or number < len(ages) - 1:
                free = free.stood()
                hung = [one.stood() for one in hung]
        free = free.let_go(letting)
        hung = [one.let_go(letting) for one in hung]
    return tuple(found)


def _fresh(joints: Joints) -> State:
    """The joints before the first of the new bendings."""
    nothing = np.zeros(joints.bent.shape)
    state = State(
        wire=joints.wire,
        elastomers=joints.elastomers,
        steps=Steps(clocks=(), changes=(), last=nothing),
        curvature=nothing,
    )
    for then, curvature in joints.before:
        state = state.moved(then, curvature)
    return state


def _rested(state: State, joints: Joints, letting: float, age: float, close: float) -> State:
    """The weightless joints at one look; their wires are still where they were."""
    pull = let_go(state.elastomers, state.steps, letting, age)
    rest = at_rest(state.wire, pull, state.curvature, joints.bent, close)
    rest = np.where(joints.rigid, joints.bent, rest)
    return replace(state, curvature=rest)


def _look(age: float, free: State, hung: list[_Hung | SpaceHung], kind: Rows) -> Look:
    look = Look(
        age=age,
        weightless=free.curvature,
        loaded=free.curvature[:, kind],
        kept=np.ones(len(free.curvature), dtype=bool),
    )
    for one in hung[:1]:
        if isinstance(one, _Hung):
            return replace(look, loaded=one.state.curvature, kept=one.kept)
        aside = hung[-1]
        weightless = np.stack([look.loaded, 0.0 * look.loaded, one.in_hand[2]])
        if isinstance(aside, SpaceHung) and aside is not one:
            weightless = aside.curvatures
        space = SpaceLook(
            frames=one.frames, loaded=one.curvatures, weightless=weightless, torque=one.torque
        )
        return replace(look, loaded=one.curvatures[0], kept=one.kept, space=space)
    return look


@dataclass(frozen=True, kw_only=True)
class _Hung:
    """Loaded limbs at one look: their joints' ``state``, ``angles`` (B, N) of the segments, what
    the hand bends them to, where a corner piece holds them, and whether they ``kept`` their pose.
    """

    state: State
    load: Load
    angles: Array
    in_hand: Array
    rigid: Mask
    stiffness: Array
    kept: Mask

    def bent(self, clock: float) -> _Hung:
        """The hand bends the limbs again."""
        return replace(self, state=self.state.moved(clock, self.in_hand))

    def looked(self, letting: float, age: float, start: Array | None, close: float) -> _Hung:
        """The limbs at one look; ``start`` (B, N), their weightless curvatures, at the first."""
        state = self.state
        law = JointLaw(
            wire=state.wire,
            pull=let_go(state.elastomers, state.steps, letting, age),
            rigid=self.rigid,
            held=self.in_hand,
            stiffness=self.stiffness,
        )
        angles = self.angles if start is None else self.load.angles(start)
        angles, kept = loaded(law, self.load, angles, close, start is not None)
        curvature = self.load.curvatures(angles)
        return replace(
            self,
            state=replace(state, curvature=curvature),
            angles=angles,
            kept=self.kept & kept,
        )

    def stood(self) -> _Hung:
        """The wires have followed to where the limbs are."""
        return replace(self, state=self.state.stood())

    def let_go(self, clock: float) -> _Hung:
        """What the elastomer will remember of the letting-go."""
        return replace(self, state=self.state.let_go(clock))


def _hung(
    free: State, joints: Joints, load: Load | SpaceLoad, clock: float
) -> list[_Hung | SpaceHung]:
    """Return the loaded limbs as the hand has bent them; in space, where they do not spring back
    in the plane of each bend, the weightless ones too."""
    if isinstance(load, SpaceLoad):
        if joints.space is None:
            raise RuntimeError("limbs that hang in space without what they need for it")
        loads = [load, load.nothing] if joints.space.springs_aside else [load]
        return [
            hung_in_space(free.wire, joints.space, joints.kind, joints.rigid, one, clock)
            for one in loads
        ]
    state = free.at_joints(joints.kind)
    stiffness = CORNER_STIFFNESS * state.elastomers.rigidity
    hung = _Hung(
        state=state,
        load=load,
        angles=state.curvature,
        in_hand=state.curvature,
        rigid=joints.rigid[joints.kind],
        stiffness=np.broadcast_to(stiffness, state.curvature.shape),
        kept=np.ones(len(free.curvature), dtype=bool),
    )
    return [hung]


@dataclass(frozen=True, kw_only=True)
class Hand:
    """Fresh joints in the hand."""

    wire: WireState
    pull: Pull

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, n)."""
        return joint_moment(self.wire, self.pull, curvature)

    def take(self, rows: Rows) -> Hand:
        """Return the joints of some limbs."""
        wire = None if self.wire is None else self.wire.take(rows)
        return Hand(wire=wire, pull=self.pull.take(rows))


def inserted(
    wire: WireState, elastomers: Elastomers, shape: tuple[int, ...], close: float
) -> Array:
    """Return the curvature (B, n) of limbs printed curved with a straight wire pushed in."""
    nothing = np.zeros(shape)
    pull = Pull(elastomers=elastomers, share=np.ones((shape[0], 1)), rest=nothing)
    scale = np.broadcast_to(elastomers.natural, shape)
    return at_rest(wire, pull, nothing, scale, close)
