"""Letting go of a bent limb: where wire and elastomer balance, and the law a rod then follows.

One path, many limbs at once: bent, let go without weight, and only then loaded. The wire runs
down its release branch as far as it is ever pulled; where it is bent again it reloads
elastically from the lowest curvature reached, at most up to the moment it was first bent with.
The elastomer is the sum of two steps in time, the bending and the letting go. Arrays have one
row per limb; curvatures of a bend are counted in its own direction.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.pose.stretches import Stretch
from flexcalc.section.elastomer import Softening, effective_curvature
from flexcalc.wire.moment_table import Branch, branch_moment
from flexcalc.wire.roots import increasing_root

Rows = NDArray[np.intp]

CORNER_STIFFNESS = 1e4
"""How many times stiffer than the bare limb a rigid corner piece is taken to be."""


@dataclass(frozen=True, kw_only=True)
class Pull:
    """The elastomer of many limbs, each row its own.

    ``rigidity`` (B,) of the bare section at ten seconds [N m2]; ``stiffening`` (B,) its modulus
    over that of the softening table; ``held`` and ``recoil`` (B,) the shares of the modulus
    left for the bending and for the letting go.
    """

    rigidity: Array
    stiffening: Array
    held: Array
    recoil: Array
    softening: Softening | None

    def take(self, rows: Rows) -> Pull:
        """Return the elastomer of some limbs."""
        return Pull(
            rigidity=self.rigidity[rows],
            stiffening=self.stiffening[rows],
            held=self.held[rows],
            recoil=self.recoil[rows],
            softening=self.softening,
        )

    def at_ten_seconds(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, n)."""
        scale, rigidity = self.stiffening[:, None], self.rigidity[:, None]
        value, slope = effective_curvature(self.softening, curvature * scale)
        return rigidity / scale * value, rigidity * slope

    def moment(self, set_curvature: Array, curvature: Array) -> tuple[Array, Array]:
        """Return moment and slope, ``set_curvature`` (B, 1) first held and then let go."""
        value, slope = self.recoiling(curvature)
        return value + self.left_by(set_curvature), slope

    def recoiling(self, curvature: Array) -> tuple[Array, Array]:
        """Return the part of the moment that follows the curvature, and its slope."""
        now, slope = self.at_ten_seconds(curvature)
        recoil = self.recoil[:, None]
        return recoil * now, recoil * slope

    def left_by(self, set_curvature: Array) -> Array:
        """Return the part of the moment that the bending leaves, wherever the limb is now."""
        bent, _ = self.at_ten_seconds(set_curvature)
        return (self.held - self.recoil)[:, None] * bent


@dataclass(frozen=True, kw_only=True)
class BentWire:
    """The wire of one bend in many limbs: release ``branch``, virgin ``loading`` curve,
    ``set_curvature`` (B,) and ``lowest`` (B,), the lowest curvature reached since. [1/m]
    """

    branch: Branch
    loading: Branch
    set_curvature: Array
    lowest: Array

    def take(self, rows: Rows) -> BentWire:
        """Return the wires of some limbs."""
        return BentWire(
            branch=self.branch.take(rows),
            loading=self.loading.take(rows),
            set_curvature=self.set_curvature[rows],
            lowest=self.lowest[rows],
        )

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] at curvatures (B, n)."""
        first, lowest = self.set_curvature[:, None], self.lowest[:, None]
        rigidity = self.loading.rigidity[:, None]
        opened, fall = branch_moment(self.branch, first - np.minimum(curvature, lowest))
        above = curvature > lowest
        reload = opened + rigidity * (curvature - np.minimum(curvature, lowest))
        slope = np.where(above, rigidity, -fall)
        limit, limit_slope = self.branch.start[:, None], np.zeros_like(slope)
        if bool(np.any(curvature > first)):
            beyond = np.maximum(curvature, first)
            onward, onward_slope = branch_moment(self.loading, beyond)
            limit_slope = np.where(curvature > first, onward_slope, 0.0)
            limit = np.where(curvature > first, np.maximum(onward, limit), limit)
        capped = above & (reload > limit)
        return np.where(capped, limit, reload), np.where(capped, limit_slope, slope)


@dataclass(frozen=True, kw_only=True)
class WireTables:
    """Moment tables of many limbs' wires, rows as theirs: ``loading`` of virgin wires, and
    ``release`` from each curvature [1/m] of the setting's bends.
    """

    loading: Branch
    release: Mapping[float, Branch]


def let_go(
    wire: BentWire | None, pull: Pull, set_curvature: Array
) -> tuple[Array, BentWire | None]:
    """Return the curvature (B,) at which a weightless bend rests, and its wire from then on.

    Parameters
    ----------
    wire : BentWire or None
        The wire as it was before; None for a limb without one.
    pull : Pull
        The elastomer at this moment.
    set_curvature : array (B,)
        Above 0. [1/m]
    """
    first = set_curvature[:, None]

    def balance(curvature: Array) -> tuple[Array, Array]:
        value, slope = pull.moment(first, curvature)
        if wire is None:
            return value, slope
        moment, stiffness = wire.moment(curvature)
        return value + moment, slope + stiffness

    # a bend that was let go before is still near where it stood
    near = first if wire is None else wire.lowest[:, None]
    rest = increasing_root(balance, 0.0 * first, first, near, tolerance=1e-10)[:, 0]
    if wire is None:
        return rest, None
    return rest, replace(wire, lowest=np.minimum(wire.lowest, rest))


def virgin_moment(loading: Branch, curvature: Array) -> tuple[Array, Array]:
    """Return moment and slope of a wire that was never bent, at curvatures (B, n) of any sign."""
    moment, slope = branch_moment(loading, np.abs(curvature))
    return np.copysign(moment, curvature), slope


@dataclass(frozen=True, kw_only=True)
class JointLaw:
    """Moment over curvature for every joint of many limbs, as the rod solver wants it.

    ``wires``, one for each of the ``stretches``: bent once, virgin (a Branch), or None. ``held``
    (B, N) [N m] is the part of the elastomer's moment that the bends leave, see `joint_law`.
    """

    stretches: tuple[Stretch, ...]
    wires: tuple[BentWire | Branch | None, ...]
    pull: Pull
    held: Array

    def __call__(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment (B, N) [N m] and its slope [N m2] at curvatures (B, N)."""
        moments, slopes = self.pull.recoiling(curvature)
        moments = moments + self.held
        for stretch, wire in zip(self.stretches, self.wires, strict=True):
            part, bent = stretch.place, stretch.curvature
            if stretch.bend is not None and stretch.bend.rigid:
                stiff = CORNER_STIFFNESS * self.pull.rigidity[:, None]
                moments[:, part], slopes[:, part] = stiff * (curvature[:, part] - bent), stiff
            elif isinstance(wire, BentWire):
                side = -1 if bent < 0 else 1
                extra, stiff = wire.moment(side * curvature[:, part])
                moments[:, part] += side * extra
                slopes[:, part] += stiff
            elif wire is not None:
                extra, stiff = virgin_moment(wire, curvature[:, part])
                moments[:, part] += extra
                slopes[:, part] += stiff
        return moments, slopes

    def take(self, rows: Rows) -> JointLaw:
        """Return the law of some limbs."""
        wires = tuple(None if wire is None else wire.take(rows) for wire in self.wires)
        return replace(self, wires=wires, pull=self.pull.take(rows), held=self.held[rows])


def joint_law(
    stretches: tuple[Stretch, ...], wires: tuple[BentWire | Branch | None, ...], pull: Pull
) -> JointLaw:
    """Return the law of many limbs; the ``stretches`` follow each other from the clamp."""
    held = np.zeros((len(pull.rigidity), stretches[-1].place.stop))
    for stretch in stretches:
        held[:, stretch.place] = pull.left_by(np.array([[stretch.curvature]]))
    return JointLaw(stretches=stretches, wires=wires, pull=pull, held=held)
