"""Limbs in space under load: from the hand to the balance, and what every joint remembers.

As in the plane the weight acts from the letting-go, in one jump. The wire of a joint with a bend
of its own remembers the bend, that of one without remembers how far it was bent, whichever way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import Aims, own_axes
from flexcalc.joints.balance import CORNER_STIFFNESS, WireState, elastic_rigidity
from flexcalc.joints.pull import Steps
from flexcalc.joints.space_law import JointSpaceLaw, SpaceElastomers, WireWays, wire_ways
from flexcalc.joints.space_line import frames_of
from flexcalc.rod.rotations import relative, rotation_vectors
from flexcalc.rod.space_chain import SpaceChain, nearby_rest, solve_space_chain

Mask = NDArray[np.bool_]
Rows = NDArray[np.intp]
LARGEST_TURN = 1.0
"""Turn of a segment from one look to the next, over which a limb has lost its pose. [rad]"""


@dataclass(frozen=True, kw_only=True)
class SpaceLoad:
    """What pulls limbs in space down: ``clamp`` (4, B) frames, ``joints`` (N,) lengths [m], and
    ``pull`` (B, N), load times length of each segment [N m]."""

    clamp: Array
    joints: Array
    pull: Array

    def take(self, rows: Rows) -> SpaceLoad:
        """Return the load of some limbs."""
        return replace(self, clamp=self.clamp[:, rows], pull=self.pull[rows])

    @property
    def nothing(self) -> SpaceLoad:
        """The same limbs without weight."""
        return replace(self, pull=0.0 * self.pull)

    def lightened(self, rows: Mask) -> SpaceLoad:
        """Return the load with some limbs (B,) left without weight."""
        return replace(self, pull=np.where(rows[:, None], 0.0, self.pull))


@dataclass(frozen=True, kw_only=True)
class SpaceJoints:
    """What joints of limbs in space add to those in a plane: for n kinds of joints their
    ``elastomers`` and ``aims``, ``before`` and ``bent`` in own axes, each (3, B, n) [1/m];
    ``torsion`` (B, 1) of the wires, 0 where they turn in their channels [N m2]; ``settles``: one
    that falls is followed to where it comes to rest."""

    elastomers: SpaceElastomers
    aims: Aims
    before: tuple[tuple[float, Array], ...]
    bent: Array
    torsion: Array
    settles: bool

    @property
    def springs_aside(self) -> bool:
        """True where a joint that is let go does not stay in the plane of its bend."""
        return bool(np.any(self.elastomers.mixed) or np.any(self.elastomers.natural[1]))

    def take(self, rows: Rows) -> SpaceJoints:
        """Return the joints of some limbs."""
        return replace(
            self,
            elastomers=self.elastomers.take(rows),
            before=tuple((clock, curvatures[:, rows]) for clock, curvatures in self.before),
            bent=self.bent[:, rows],
            torsion=self.torsion[rows],
        )


@dataclass(frozen=True, kw_only=True)
class SpaceHung:
    """Loaded limbs in space at one look: ``frames`` (4, B, N) of their segments, ``curvatures``
    (3, B, N) of their joints in own axes [1/m], what wire and elastomer remember, what the hand
    bends them to, whether they ``kept`` their pose, and whether one that falls ``settles``, which
    else stands where it began to fall."""

    wire: WireState
    elastomers: SpaceElastomers
    steps: Steps
    load: SpaceLoad
    swing: Array
    ways: WireWays
    frames: Array
    curvatures: Array
    in_hand: Array
    rigid: Mask
    sideways: Array
    torsion: Array
    kept: Mask
    settles: bool

    def bent(self, clock: float) -> SpaceHung:
        """The hand bends the limbs again."""
        return self._moved(clock, self.in_hand)

    def looked(self, letting: float, age: float, start: Array | None, close: float) -> SpaceHung:
        """The limbs at one look; ``start`` (B, N), weightless curvatures of their bends, at the
        first."""
        shown = self if start is None else self._let_loose(start)
        chain = SpaceChain(
            law=shown._law(letting, age),
            lengths=self.load.joints,
            clamp=self.load.clamp,
            pull=self.load.pull,
        )
        frames, kept = nearby_rest(chain, shown.frames, close)
        rows = np.flatnonzero(~kept if self.settles else ~kept & self.kept)
        if rows.size:
            fresh = start is not None
            found = solve_space_chain(
                chain.take(rows), shown.frames[:, rows], 0.0 if fresh else 1.0, close,
                settles=self.settles,
            )  # fmt: skip
            frames[:, rows] = found.frames
            turned = rotation_vectors(relative(shown.frames[:, rows], found.frames))
            near = np.sqrt(np.sum(turned**2, axis=0)).max(axis=1) < LARGEST_TURN
            kept[rows] = found.stable if fresh else near
        own = own_axes(self.swing, chain.turns(frames) / self.load.joints)
        return replace(shown, frames=frames, curvatures=own, kept=self.kept & kept)

    def stood(self) -> SpaceHung:
        """The wires have followed to where the limbs are."""
        if self.wire is None:
            return self
        wire = self.wire.moved(self.ways.followed(self.curvatures))
        return replace(self, wire=wire, ways=self.ways.settled(wire, self.curvatures))

    def let_go(self, clock: float) -> SpaceHung:
        """What the elastomer will remember of the letting-go."""
        moment = self.elastomers.at_ten_seconds(self.curvatures)[0]
        return replace(self, steps=self.steps.moved(clock, moment))

    @property
    def torque(self) -> Array:
        """The greatest torque (B,) on the wires, without sign. [N m]"""
        twist = self.curvatures[2] - self.elastomers.natural[2]
        return np.asarray(np.abs(self.torsion * twist).max(axis=1))

    def _moved(self, clock: float, curvatures: Array) -> SpaceHung:
        """The hand brings the joints to curvatures (3, B, N)."""
        moment = self.elastomers.at_ten_seconds(curvatures)[0]
        return replace(
            self,
            wire=None if self.wire is None else self.wire.moved(self.ways.followed(curvatures)),
            steps=self.steps.moved(clock, moment),
            curvatures=curvatures,
        )

    def _let_loose(self, start: Array) -> SpaceHung:
        """The limbs as they would stand without weight, and how far their wires have softened."""
        own = np.stack([start, 0.0 * start, self.in_hand[2]])
        sideways = self.sideways
        if self.wire is not None:
            share = self.wire.sideways_share(start)
            sideways = np.broadcast_to(elastic_rigidity(self.wire) * share, start.shape)
        turns = own_axes(self.swing, own) * self.load.joints
        return replace(self, frames=frames_of(self.load.clamp, turns), sideways=sideways)

    def _law(self, letting: float, age: float) -> JointSpaceLaw:
        elastomers = self.elastomers
        share = elastomers.along.share(age)
        stiffness = CORNER_STIFFNESS * elastomers.along.rigidity
        return JointSpaceLaw(
            wire=self.wire,
            elastomers=elastomers,
            share=share,
            rest=self.steps.left(elastomers.along, letting + age) - share * self.steps.last,
            swing=self.swing,
            ways=self.ways,
            sideways=self.sideways,
            torsion=self.torsion,
            rigid=self.rigid,
            held=self.in_hand,
            stiffness=np.broadcast_to(stiffness, self.sideways.shape),
        )


def hung_in_space(
    wire: WireState, joints: SpaceJoints, kind: Rows, rigid: Mask, load: SpaceLoad, clock: float
) -> SpaceHung:
    """Return limbs in space as the hand has bent them for the first time, at a time.

    Parameters
    ----------
    wire : WireState
        Wires of the kinds of joints as the hand has bent them.
    joints : SpaceJoints
        The kinds of joints.
    kind : array (N,) of int
        The kind of each joint.
    rigid : array (n,) of bool
        Kinds of joints that a corner piece holds.
    load : SpaceLoad
        What pulls at them.
    clock : float
        When the hand bends them. [s]
    """
    elastomers = joints.elastomers.at_joints(kind)
    bent = joints.bent[:, :, kind]
    nothing = np.zeros_like(bent)
    hung = SpaceHung(
        wire=None if wire is None else wire.at_joints(kind),
        elastomers=elastomers,
        steps=Steps(clocks=(), changes=(), last=nothing),
        load=load,
        swing=joints.aims.swing[kind],
        ways=wire_ways(elastomers.aimless, bent.shape[1]),
        frames=np.zeros((4, *bent.shape[1:])),
        curvatures=nothing,
        in_hand=bent,
        rigid=rigid[kind],
        sideways=np.zeros(bent.shape[1:]),
        torsion=joints.torsion,
        kept=np.ones(bent.shape[1], dtype=bool),
        settles=joints.settles,
    )
    # moments of the kinds of joints, each as often as it is needed
    steps = Steps(clocks=(), changes=(), last=np.zeros_like(joints.bent))
    for then, curvatures in (*joints.before, (clock, joints.bent)):
        steps = steps.moved(then, joints.elastomers.at_ten_seconds(curvatures)[0])
    kinds = tuple(change[:, :, kind] for change in steps.changes)
    steps = Steps(clocks=steps.clocks, changes=kinds, last=steps.last[:, :, kind])
    return replace(hung, steps=steps, curvatures=bent)
