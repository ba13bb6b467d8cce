"""What a joint in space sets against being bent and twisted: wire and elastomer, in own axes.

Along its bend a joint goes on as in the plane. Across it the wire is elastic, softened where its
fibres yield; twist is elastic. A joint without a bend of its own is alike in all directions that
its section is alike in: it follows the curvature's size.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import FLAT, Aims, own_axes
from flexcalc.joints.balance import WireState
from flexcalc.joints.fibres import FibreWire
from flexcalc.joints.loops import LoopWire
from flexcalc.joints.pull import Elastomers, Softenings

Rows = NDArray[np.intp]
Mask = NDArray[np.bool_]
NOTHING = 1e-30
"""Curvature added before it divides: a straight joint has no direction and needs none. [1/m]"""

YIELDED = 1e-9
"""Of the elastic moment, left over by a wire bent back straight, above which it has yielded."""


@dataclass(frozen=True, kw_only=True)
class SpaceElastomers:
    """The elastomer of B limbs at N joints, in own axes.

    ``along`` the bend as in the plane; ``across`` it, ``mixed`` of both and ``torsion``,
    rigidities (B, N) at ten seconds [N m2]; ``natural`` (3, N) [1/m]; ``aimless`` (N,) where a
    joint has no bend of its own.
    """

    along: Elastomers
    across: Array
    mixed: Array
    torsion: Array
    natural: Array
    aimless: Mask

    def take(self, rows: Rows) -> SpaceElastomers:
        """Return the elastomer of some limbs."""
        return replace(
            self,
            along=self.along.take(rows),
            across=self.across[rows],
            mixed=self.mixed[rows],
            torsion=self.torsion[rows],
        )

    def at_joints(self, joints: Rows) -> SpaceElastomers:
        """Return the elastomer at some of the joints, each as often as it is named."""
        return SpaceElastomers(
            along=self.along.at_joints(joints),
            across=self.across[:, joints],
            mixed=self.mixed[:, joints],
            torsion=self.torsion[:, joints],
            natural=self.natural[:, joints],
            aimless=self.aimless[joints],
        )

    def at_ten_seconds(self, curvatures: Array) -> tuple[Array, Array, Array]:
        """Return moments (3, B, N) [N m] at curvatures (3, B, N), and their slopes: those about
        the three axes (3, B, N) and the mixed one (B, N) of along and across [N m2]."""
        bent, aside, twist = curvatures - self.natural[:, None]
        mixed, across = self.mixed / self.along.rigidity, self.across / self.along.rigidity
        along = bent + mixed * aside
        other = mixed * bent + across * aside
        size = np.sqrt(np.maximum(bent * along + aside * other, 0.0)) + NOTHING
        # the law of the plane is asked for a curvature less the natural one
        asked = np.where(self.aimless, size, bent) + self.along.natural
        value, slope = self.along.at_ten_seconds(asked)
        secant = value / size
        bend = (slope - secant) / size**2
        moments = np.stack(
            [
                np.where(self.aimless, secant * along, value + self.mixed * aside),
                np.where(self.aimless, secant * other, self.along.rigidity * other),
                self.torsion * twist,
            ]
        )
        slopes = np.stack(
            [
                np.where(self.aimless, secant + bend * along**2, slope),
                np.where(self.aimless, secant * across + bend * other**2, self.across),
                np.broadcast_to(self.torsion, twist.shape),
            ]
        )
        both = np.where(self.aimless, secant * mixed + bend * along * other, self.mixed)
        return moments, slopes, both


def space_elastomers(elastomers: Elastomers, aims: Aims, ratios: Array) -> SpaceElastomers:
    """Return the elastomer of joints in space, in own axes.

    Parameters
    ----------
    elastomers : Elastomers
        As in the upright plane, n joints.
    aims : Aims
        Where they are aimed.
    ratios : array (3, n)
        EIyy, EIxy and GJ of the sections over their EIxx.

    Notes
    -----
    A section turned about its middle softens by its radius of gyration: exact for an ellipse, and
    for whatever is the same shape drawn wider.
    """
    cos, sin = np.cos(aims.swing), np.sin(aims.swing)
    sideways, mixed, torsion = ratios
    along = cos**2 + sideways * sin**2 + 2 * mixed * sin * cos
    across = sin**2 + sideways * cos**2 - 2 * mixed * sin * cos
    both = (sideways - 1) * sin * cos + mixed * (cos**2 - sin**2)
    # of a section that is alike in all directions nothing is left but rounding
    both = np.where(np.abs(both) < FLAT, 0.0, both)
    natural = np.where(np.abs(aims.natural) < FLAT, 0.0, aims.natural)
    softening = elastomers.softening
    if softening is not None and np.any(np.abs(along - 1) > FLAT):
        softening = Softenings(
            scale=softening.scale / np.sqrt(along),
            step=softening.step,
            values=np.broadcast_to(softening.values, (len(along), softening.values.shape[1])),
            slopes=np.broadcast_to(softening.slopes, (len(along), softening.slopes.shape[1])),
        )
    full = elastomers.rigidity + 0.0 * along
    return SpaceElastomers(
        along=replace(elastomers, rigidity=full * along, natural=natural[0], softening=softening),
        across=full * across,
        mixed=full * both,
        torsion=full * torsion,
        natural=natural,
        aimless=aims.aimless,
    )


@dataclass(frozen=True, kw_only=True)
class WireWays:
    """Which way wires bend at the joints of limbs, in own axes: unit vectors ``first`` and
    ``second`` (B, N) where that is ``fixed`` (B, N). A virgin wire in a joint without a bend of
    its own goes any way; once it has yielded its way is fixed too."""

    first: Array
    second: Array
    fixed: Mask

    def take(self, rows: Rows) -> WireWays:
        """Return those of some limbs."""
        return WireWays(first=self.first[rows], second=self.second[rows], fixed=self.fixed[rows])

    def followed(self, curvatures: Array) -> Array:
        """Return how far (B, N) wires bend along their ways, or whichever way they go."""
        bent, aside, _ = curvatures
        along = self.first * bent + self.second * aside
        return np.asarray(np.where(self.fixed, along, np.hypot(bent, aside)))

    def settled(self, wire: FibreWire | LoopWire, curvatures: Array) -> WireWays:
        """Return the ways once wires that have yielded have theirs."""
        if self.fixed.all():
            return self
        bent, aside, _ = curvatures
        size = np.hypot(bent, aside)
        left, slope = wire.moment(np.zeros_like(size))
        yielded = ~self.fixed & (np.abs(left) > YIELDED * slope * size)
        size = np.where(yielded, size, 1.0)
        return WireWays(
            first=np.where(yielded, bent / size, self.first),
            second=np.where(yielded, aside / size, self.second),
            fixed=self.fixed | yielded,
        )


def wire_ways(aimless: Mask, limbs: int) -> WireWays:
    """Return the ways of wires that have not been bent but in the bends of their joints (N,)."""
    shape = (limbs, len(aimless))
    return WireWays(
        first=np.ones(shape), second=np.zeros(shape), fixed=np.broadcast_to(~aimless, shape)
    )


@dataclass(frozen=True, kw_only=True)
class JointSpaceLaw:
    """Moments of the joints of limbs in space at one look.

    ``wire`` and ``elastomers``; ``share`` (B, 1) of the modulus that follows the curvature and
    ``rest`` (3, B, N) of the moment that does not [N m]; ``swing`` (N,) of the own axes;
    ``sideways`` (B, N) rigidity of the wire across its bend and ``torsion`` (B, 1) of the wire
    [N m2]; ``rigid`` (N,) where a corner piece holds ``held`` (3, B, N) with a ``stiffness``
    (B, N).
    """

    wire: WireState
    elastomers: SpaceElastomers
    share: Array
    rest: Array
    swing: Array
    ways: WireWays
    sideways: Array
    torsion: Array
    rigid: Mask
    held: Array
    stiffness: Array

    def take(self, rows: Rows) -> JointSpaceLaw:
        """Return the law of some limbs."""
        return replace(
            self,
            wire=None if self.wire is None else self.wire.take(rows),
            elastomers=self.elastomers.take(rows),
            share=self.share[rows],
            rest=self.rest[:, rows],
            ways=self.ways.take(rows),
            sideways=self.sideways[rows],
            torsion=self.torsion[rows],
            held=self.held[:, rows],
            stiffness=self.stiffness[rows],
        )

    def __call__(self, curvatures: Array) -> tuple[Array, Array]:
        """Return moments (3, B, N) [N m] and slopes (3, 3, B, N) [N m2] about the axes of the
        sections, at curvatures (3, B, N) about them [1/m]."""
        own = own_axes(self.swing, curvatures)
        moments, slopes, both = self.elastomers.at_ten_seconds(own)
        moments = self.share * moments + self.rest
        slopes, both = self.share * slopes, self.share * both
        if self.wire is not None:
            added, more, mixed = self._of_wire(self.wire, own)
            moments, slopes, both = moments + added, slopes + more, both + mixed
        if self.rigid.any():
            moments = np.where(self.rigid, self.stiffness * (own - self.held), moments)
            slopes = np.where(self.rigid, self.stiffness, slopes)
            both = np.where(self.rigid, 0.0, both)
        return own_axes(self.swing, moments), self._turned(slopes, both)

    def _of_wire(self, wire: FibreWire | LoopWire, own: Array) -> tuple[Array, Array, Array]:
        bent, aside, twist = own
        ways = self.ways
        first, second = ways.first, ways.second
        along, across = first * bent + second * aside, first * aside - second * bent
        size = np.sqrt(bent**2 + aside**2) + NOTHING
        value, slope = wire.moment(np.where(ways.fixed, along, size))
        side = self.sideways
        secant = value / size
        bend = (slope - secant) / size**2
        moments = np.stack(
            [
                np.where(ways.fixed, value * first - side * across * second, secant * bent),
                np.where(ways.fixed, value * second + side * across * first, secant * aside),
                self.torsion * (twist - self.elastomers.natural[2]),
            ]
        )
        more = slope - side
        slopes = np.stack(
            [
                np.where(ways.fixed, side + more * first**2, secant + bend * bent**2),
                np.where(ways.fixed, side + more * second**2, secant + bend * aside**2),
                np.broadcast_to(self.torsion, twist.shape),
            ]
        )
        both = np.where(ways.fixed, more * first * second, bend * bent * aside)
        return moments, slopes, both

    def _turned(self, slopes: Array, both: Array) -> Array:
        """Return the slopes (3, 3, B, N) about the axes of the sections."""
        along, across, twist = slopes
        cos, sin = np.cos(self.swing), np.sin(self.swing)
        found = np.zeros((3, 3, *both.shape))
        found[0, 0] = cos**2 * along + sin**2 * across - 2 * sin * cos * both
        found[1, 1] = sin**2 * along + cos**2 * across + 2 * sin * cos * both
        found[0, 1] = sin * cos * (across - along) + (sin**2 - cos**2) * both
        found[1, 0] = found[0, 1]
        found[2, 2] = twist
        return found
