"""Many limbs as rows of numbers: sections at some places along them, wires, elastomers, weight."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import Sides
from flexcalc.joints.pull import Elastomers, Softenings
from flexcalc.limb.inputs import GRAVITY, Setting
from flexcalc.wire.bundle import Bundle

Rows = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class Limbs:
    """Numbers of B limbs, some of them at S ``stations`` (S,), shares of the length.

    ``bundle`` wires or None; ``rigidity`` (B, S) of the bare section
    [N m2]; ``stiffening`` (B,), modulus over saturation stress, over that of the ``softening``
    tables of the stations; ``relaxation`` (B,) exponent; ``mass_per_length`` (B, S) [kg/m] with
    the wire; ``payload`` (B,) [kg]. ``corners``, shares at which the section's change along the
    limb has a corner;
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
        lengths = np.diff(self.corners)[:, None]
        shares = np.array(self.corners[:-1])[:, None] + lengths * (nodes + 1) / 2
        return np.asarray(self.mass_along(shares.ravel()) @ (lengths / 2 * weights).ravel())

    def mass_along(self, shares: Array) -> Array:
        """Return the mass per length (B, n) at shares (n,) of the length. [kg/m]"""
        return np.asarray(self.mass_per_length @ between_stations(self, shares))


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


def curvature_between(pairs: tuple[tuple[float, float], ...], shares: Array) -> Array:
    """Return values at shares (n,) of the length, straight between pairs, 0 without any."""
    if not pairs:
        return np.zeros(len(shares))
    places, values = zip(*pairs, strict=True)
    return np.asarray(np.interp(shares, places, values))


def between_stations(limbs: Limbs, shares: Array) -> Array:
    """Return weights (S, n) that interpolate values at the stations to shares (n,) of the limb.

    Between two corners the stations carry one polynomial.
    """
    stations = limbs.stations
    weights = np.zeros((len(stations), len(shares)))
    if len(stations) == 1:
        weights[0] = 1.0
        return weights
    parts = len(limbs.corners) - 1
    part = np.clip(np.searchsorted(limbs.corners, shares, side="right") - 1, 0, parts - 1)
    own = stations.reshape(parts, -1)[part]
    each = own.shape[1]
    first = part * each
    for row in range(each):
        others = np.delete(own, row, axis=1)
        off = (shares[:, None] - others) / (own[:, [row]] - others)
        weights[first + row, np.arange(len(shares))] = np.prod(off, axis=1)
    return weights


def elastomers_at(limbs: Limbs, shares: Array) -> Elastomers:
    """Return the elastomer of limbs at shares (n,) of their length."""
    weights = between_stations(limbs, shares)
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
