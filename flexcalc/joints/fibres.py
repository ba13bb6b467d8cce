"""The wire at every joint as fibres that each remember what was done to them.

A fibre remembers its plastic strain, the plastic strain it has gone through in all, and its
back-stress. Between two positions the curvature of a joint runs one way, so that a fibre needs
one root, in closed form where its back-stress has not been turned:

    z - b = A exp(-g q),      q = z - K z^n / E - p,
    b = p + s (y k - e),      A = X_s (1 - exp(-g p)) - s X

with stresses over the modulus, s the direction, e the plastic strain and p its sum. Fibres stand
at equal angles of the half circle, so that the elastic rigidity is exact with three.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.roots import increasing_root

Rows = NDArray[np.intp]
MOST_STEPS = 200
"""A few do, but for metals whose back-stress is a large part of their modulus."""
CLOSE = 1e-8
"""Strain; Newton's last step, which leaves its square times the rate."""


@dataclass(frozen=True, kw_only=True)
class Metals:
    """What stays of the wires while they are bent: stresses over their modulus.

    ``height`` (F, B) of the fibres [m] and ``lever`` (F, B), moment of a fibre over its elastic
    strain [N m]; ``rigidity`` (B, 1) [N m2]; ``coefficient``, ``exponent``, ``virgin`` and
    ``back_limit`` (B,) of the hardening law; ``close``, strain to which a root is found.
    """

    height: Array
    lever: Array
    rigidity: Array
    coefficient: Array
    exponent: Array
    virgin: Array
    back_limit: Array
    rate: float
    ludwik: bool
    close: float

    def take(self, rows: Rows) -> Metals:
        """Return the wires of some limbs."""
        return replace(
            self,
            height=self.height[:, rows],
            lever=self.lever[:, rows],
            rigidity=self.rigidity[rows],
            coefficient=self.coefficient[rows],
            exponent=self.exponent[rows],
            virgin=self.virgin[rows],
            back_limit=self.back_limit[rows],
        )


@dataclass(frozen=True, kw_only=True)
class FibreWire:
    """The wires of B limbs at N joints, arrays (F, B, N) of fibres.

    ``plastic`` strain and its sum ``gone`` without sign; ``back`` stress and ``flow`` stress
    over the modulus; ``upper`` and ``lower``, curvatures between which the fibre is elastic
    [1/m]; ``offset`` (B, N), moment that the plastic strains take away [N m].
    """

    metals: Metals
    plastic: Array
    gone: Array
    back: Array
    flow: Array
    upper: Array
    lower: Array
    offset: Array

    def take(self, rows: Rows) -> FibreWire:
        """Return the wires of some limbs."""
        return FibreWire(
            metals=self.metals.take(rows),
            offset=self.offset[rows],
            **{name: getattr(self, name)[:, rows] for name in _PER_FIBRE},
        )

    def at_joints(self, joints: Rows) -> FibreWire:
        """Return the wires at some of the joints, each as often as it is named."""
        return FibreWire(
            metals=self.metals,
            offset=self.offset[:, joints],
            **{name: np.take(getattr(self, name), joints, axis=2) for name in _PER_FIBRE},
        )

    def moment(self, curvature: Array) -> tuple[Array, Array]:
        """Return moment [N m] and slope [N m2] after one leg to curvatures (B, N)."""
        metals = self.metals
        moment = metals.rigidity * curvature - self.offset
        slope = np.broadcast_to(metals.rigidity, moment.shape)
        flowing = self._flowing(curvature)
        if flowing.size == 0:
            return moment, slope
        leg = self._flowed(curvature, flowing)
        lost = np.bincount(leg.joint, leg.lever * leg.side * leg.more, moment.size)
        softer = np.bincount(leg.joint, leg.lever * leg.height * leg.per_strain, moment.size)
        moment -= lost.reshape(moment.shape)
        return moment, slope - softer.reshape(moment.shape)

    def sideways_share(self, curvature: Array) -> Array:
        """Return the share (B, N) of its rigidity that a wire sets against being bent across its
        own bend, after one leg to curvatures (B, N).

        Of the fibres that flow, half are driven on and half spring back. What a side load does
        to the bend itself is not in it.
        """
        flowing = self._flowing(curvature)
        if flowing.size == 0:
            return np.ones(curvature.shape)
        metals, leg = self.metals, self._flowed(curvature, flowing)
        fibres = len(metals.height)
        limb = leg.joint // curvature.shape[1]
        radius = metals.height[-1] / np.sin((fibres - 0.5) * (np.pi / 2 / fibres))
        width = (radius[limb] - leg.height) * (radius[limb] + leg.height) / 3
        weights = leg.lever / leg.height * width * leg.per_strain
        lost = np.bincount(leg.joint, weights, curvature.size).reshape(curvature.shape)
        return np.asarray(1 - lost / metals.rigidity / 2)

    def moved(self, curvature: Array) -> FibreWire:
        """Return the wires after one leg to curvatures (B, N)."""
        flowing = self._flowing(curvature)
        if flowing.size == 0:
            return self
        leg = self._flowed(curvature, flowing)
        limit = self.metals.back_limit[leg.joint // curvature.shape[1]]
        gone = self.gone.ravel()[flowing] + leg.more
        plastic = self.plastic.ravel()[flowing] + leg.side * leg.more
        faded = np.exp(-self.metals.rate * leg.more)
        back = leg.side * limit
        back += (self.back.ravel()[flowing] - back) * faded
        reach = leg.flow + limit * np.expm1(-self.metals.rate * gone)
        new = {name: getattr(self, name).copy() for name in _PER_FIBRE}
        middle = plastic + back
        limits = ((middle + reach) / leg.height, (middle - reach) / leg.height)
        values = (plastic, gone, back, leg.flow, *limits)
        for name, value in zip(_PER_FIBRE, values, strict=True):
            new[name].reshape(-1)[flowing] = value
        lost = np.bincount(leg.joint, leg.lever * leg.side * leg.more, self.offset.size)
        return FibreWire(
            metals=self.metals, offset=self.offset + lost.reshape(self.offset.shape), **new
        )

    def _flowing(self, curvature: Array) -> Rows:
        return np.flatnonzero((curvature > self.upper) | (curvature < self.lower))

    def _flowed(self, curvature: Array, flowing: Rows) -> _Leg:
        metals = self.metals
        joints = curvature.shape[1]
        row = flowing // joints
        limb = row - row // len(curvature) * len(curvature)
        joint = limb * joints + flowing - row * joints
        height, gone = metals.height.ravel()[row], self.gone.ravel()[flowing]
        back = self.back.ravel()[flowing]
        elastic = height * curvature.ravel()[joint] - self.plastic.ravel()[flowing]
        side = np.copysign(1.0, elastic - back)
        # for a virgin fibre, and one that goes on where it stopped, this is 0
        turned = -metals.back_limit[limb] * np.expm1(-metals.rate * gone) - side * back
        law = (metals.coefficient[limb], metals.exponent[limb])
        drive = side * elastic
        if metals.ludwik:
            virgin = metals.virgin[limb]
            found = _ludwik((*law, virgin), metals.rate, gone, drive, turned)
        else:
            excess = drive - self.flow.ravel()[flowing] + turned
            found = _hollomon(law, metals, gone, drive, turned, excess)
        return _Leg(
            joint=joint,
            height=height,
            lever=metals.lever.ravel()[row],
            side=side,
            more=found[0],
            per_strain=found[1],
            flow=found[2],
        )


_PER_FIBRE = ("plastic", "gone", "back", "flow", "upper", "lower")


@dataclass(frozen=True, kw_only=True)
class _Leg:
    """What the flowing fibres (n,) of one leg go through: ``more`` plastic strain to ``side``."""

    joint: Rows
    height: Array
    lever: Array
    side: Array
    more: Array
    per_strain: Array
    flow: Array


def virgin_wire(bundle: Bundle, fibres: int, joints: int, close: float = CLOSE) -> FibreWire:
    """Return straight virgin wires at some joints.

    Parameters
    ----------
    bundle : Bundle
        The wires, arrays (B,).
    fibres : int
        How many over half of the wire's height.
    joints : int
        How many joints.
    close : float
        Strain at which Newton's steps end.
    """
    flow = bundle.flow
    batch = np.broadcast_shapes(np.shape(bundle.radius), np.shape(flow.exponent))
    radius, strands, modulus, coefficient, exponent, virgin, limit = (
        np.broadcast_to(np.asarray(value, dtype=np.float64), batch)
        for value in (
            bundle.radius, bundle.strands, flow.modulus, flow.coefficient, flow.exponent,
            flow.virgin, flow.back_stress,
        )
    )  # fmt: skip
    angles = (np.arange(fibres) + 0.5)[:, None] * (np.pi / 2 / fibres)
    height = np.sin(angles) * radius
    area = 2 * np.pi / fibres * np.cos(angles) ** 2 * radius**2 * strands
    metals = Metals(
        height=height,
        lever=area * modulus * height,
        rigidity=(strands * modulus * np.pi / 4 * radius**4)[:, None],
        coefficient=coefficient / modulus,
        exponent=exponent,
        virgin=virgin / modulus,
        back_limit=limit / modulus,
        rate=flow.rate,
        ludwik=flow.ludwik,
        close=close,
    )
    shape = (fibres, len(radius), joints)
    first = np.broadcast_to(flow.yield_strain, batch)
    limits = np.broadcast_to((first / height)[:, :, None], shape)
    nothing = np.zeros(shape)
    return FibreWire(
        metals=metals,
        plastic=nothing,
        gone=nothing,
        back=nothing,
        flow=np.broadcast_to(first[:, None], shape).copy(),
        upper=limits.copy(),
        lower=-limits,
        offset=np.zeros(shape[1:]),
    )


def _hollomon(
    law: tuple[Array, ...], metals: Metals, gone: Array, drive: Array, turned: Array, excess: Array
) -> tuple[Array, Array, Array]:
    """Return plastic strain, its slope over the strain, and flow stress of flowing fibres."""
    coefficient, exponent = law
    base = gone + drive
    if not turned.any():
        flow = coefficient * np.exp(exponent * np.log(base))
        return drive - flow, 1 - exponent * flow / base, flow
    rate = metals.rate
    z = base + turned * np.exp(-rate * np.maximum(excess, 0.0))
    for _ in range(MOST_STEPS):
        flow = coefficient * np.exp(exponent * np.log(z))
        more = z - flow - gone
        per_z = 1 - exponent * flow / z
        left = turned * np.exp(-rate * more)
        rise = 1 + rate * left * per_z
        step = (z - base - left) / rise
        z = z - step
        if max(step.max(), -step.min()) < metals.close:
            break
    else:
        raise RuntimeError(f"no root of a fibre found in {MOST_STEPS} steps")
    # the last step to first order: what it leaves is its square
    return more - per_z * step, per_z / rise, flow - (1 - per_z) * step


def _ludwik(
    law: tuple[Array, ...], rate: float, gone: Array, drive: Array, turned: Array
) -> tuple[Array, Array, Array]:
    """Return the same for Ludwik's law, found from p^n: its slope over p may be infinite."""
    coefficient, exponent, virgin = law
    first = gone**exponent
    beyond = np.maximum(drive - virgin - coefficient * first + turned, 0.0)
    high = np.minimum((gone + beyond) ** exponent, first + beyond / coefficient)

    def excess(z: Array) -> tuple[Array, Array]:
        gone_now = z ** (1 / exponent)
        left = turned * np.exp(-rate * (gone_now - gone))
        per_z = gone_now / (exponent * np.maximum(z, 1e-300))
        value = gone_now - gone + virgin + coefficient * z - left - drive
        return value, per_z + coefficient + rate * left * per_z

    z = increasing_root(excess, first, high, high)
    gone_now = z ** (1 / exponent)
    per_z = gone_now / (exponent * np.maximum(z, 1e-300))
    left = turned * np.exp(-rate * (gone_now - gone))
    rise = per_z + coefficient + rate * left * per_z
    return gone_now - gone, per_z / rise, virgin + coefficient * z
