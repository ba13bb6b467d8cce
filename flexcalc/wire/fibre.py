"""Stress in one fibre of a wire: loaded once, then driven back through reverse yield.

h(p) is the flow stress of the metal at plastic strain p. A fibre that was strained forward to
p_b is let go with a transient back-stress X_b = X_s (1 - exp(-g p_b)) in it, X_s being a share
of h(0.025) (Armstrong-Frederick). Driven back by a further plastic strain q it flows at

    sigma = 2 X_b exp(-g q) - h(p_b + q),

which is isotropic hardening where X_s is 0. Both branches are closed in p, so a stress costs one
scalar root and no path of small steps. All arguments are arrays that broadcast. Strains here
are those of a stretched fibre; a wire bends as odd in them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data import read_table
from data.rules import Array
from flexcalc.limb.inputs import Metal
from flexcalc.wire.roots import increasing_root

LEAST_EXPONENT = 1e-9
"""Stands for 0 in Ludwik's law, where p is found from p^n: there p^n is 1 within 2e-8."""


@dataclass(frozen=True, kw_only=True)
class Flow:
    """The hardening law of one or many metals, arrays of one shape or plain numbers.

    ``virgin`` is the yield stress of Ludwik's law and 0 for Hollomon's. [Pa]
    ``back_stress`` is X_s [Pa], ``rate`` is g, ``reversal`` is that
    of the metal.
    """

    modulus: Array
    coefficient: Array
    exponent: Array
    virgin: Array
    back_stress: Array
    rate: float
    ludwik: bool
    reversal: str

    def across(self, axes: int) -> Flow:
        """Return the law with ``axes`` axes of length 1 added behind its own."""
        behind = (..., *[None] * axes)
        return replace(
            self,
            modulus=np.asarray(self.modulus)[behind],
            coefficient=np.asarray(self.coefficient)[behind],
            exponent=np.asarray(self.exponent)[behind],
            virgin=np.asarray(self.virgin)[behind],
            back_stress=np.asarray(self.back_stress)[behind],
        )

    def take(self, rows: NDArray[np.intp] | slice) -> Flow:
        """Return the laws of some wires; the arrays are (B,)."""
        return replace(
            self,
            modulus=self.modulus[rows],
            coefficient=self.coefficient[rows],
            exponent=self.exponent[rows],
            virgin=self.virgin[rows],
            back_stress=self.back_stress[rows],
        )

    @property
    def yield_strain(self) -> Array:
        """Strain at which the elastic line meets the hardening curve."""
        if self.ludwik:
            return np.asarray(self.virgin / self.modulus)
        return np.asarray((self.coefficient / self.modulus) ** (1 / (1 - self.exponent)))

    def state(self, z: Array) -> tuple[Array, Array, Array, Array]:
        """Return h above the virgin stress, p, and their slopes over the law's own parameter z.

        z is the total strain for Hollomon's law and p^n for Ludwik's, whose slope over p is
        infinite at p = 0. The virgin stress (0 for Hollomon's) is left out because it would
        drown small strains in rounding.
        """
        if self.ludwik:
            p = z ** (1 / self.exponent)
            h = self.coefficient * z
            small = np.maximum(z, 1e-300)
            return h, p, np.broadcast_to(self.coefficient, p.shape), p / (self.exponent * small)
        h = self.coefficient * z**self.exponent
        h_slope = self.exponent * h / z
        return h, z - h / self.modulus, h_slope, 1 - h_slope / self.modulus


def metal_flow(metal: Metal) -> Flow:
    """Return the hardening law of a metal whose back-stress is a share of h(0.025)."""
    return flow_of(
        metal,
        np.asarray(metal.strength_coefficient),
        np.asarray(metal.hardening_exponent),
        np.asarray(metal.yield_stress or 0.0),
        np.asarray(metal.back_stress),
    )


def flow_of(
    metal: Metal, coefficient: Array, exponent: Array, virgin: Array, back_stress: Array
) -> Flow:
    """Return the laws of a batch of wires of one kind of metal.

    ``coefficient`` and ``virgin`` [Pa], ``exponent`` and ``back_stress`` (for "mixed" reversal, a
    share of the flow stress at the reference strain) are arrays of one shape.
    """
    table = read_table("constants")["reversal"]
    ludwik = metal.yield_stress is not None
    bare = Flow(
        modulus=np.full_like(coefficient, metal.elastic_modulus, dtype=np.float64),
        coefficient=coefficient,
        exponent=np.maximum(exponent, LEAST_EXPONENT) if ludwik else exponent,
        virgin=virgin,
        back_stress=np.zeros_like(coefficient, dtype=np.float64),
        rate=table["back_stress_rate"].value,
        ludwik=ludwik,
        reversal=metal.reversal,
    )
    if metal.reversal != "mixed":
        return bare
    limit = flow_stress(bare, table["reference_strain"].value)
    return replace(bare, back_stress=np.minimum(back_stress * limit, _most_back_stress(bare)))


def back_stress_share(metal: Metal) -> float:
    """Return the share of the flow stress at which the back-stress of a metal is taken to saturate.

    Its own, or less where the surface of its wire would not be the first to yield backwards.
    """
    flow = metal_flow(replace(metal, reversal="mixed"))
    limit = flow_stress(flow, read_table("constants")["reversal"]["reference_strain"].value)
    return float(flow.back_stress / limit)


def flow_stress(flow: Flow, plastic_strain: float) -> Array:
    """Return h at a plastic strain above 0. [Pa]"""
    if flow.ludwik:
        return np.asarray(flow.virgin + flow.coefficient * plastic_strain**flow.exponent)
    share = flow.coefficient / flow.modulus
    low = np.maximum(flow.yield_strain, plastic_strain)
    high = plastic_strain + 2 * share * plastic_strain**flow.exponent
    high = high + (2 * share) ** (1 / (1 - flow.exponent))

    def excess(z: Array) -> tuple[Array, Array]:
        _, p, _, slope = flow.state(z)
        return p - plastic_strain, slope

    z = increasing_root(excess, low, high, (low + high) / 2)
    return flow.state(z)[0]


def _most_back_stress(flow: Flow) -> Array:
    """Return the back-stress beyond which a fibre inside would yield backwards before the surface.

    The elastic range over the strain is to fall from the core outwards. That binds a share of
    0.6 where n is above 0.33, and of 0.4 above 0.49: metals that harden from almost nothing.
    """
    wide = flow.across(1)
    if flow.ludwik:
        z = np.geomspace(1e-7, 0.2, 48) ** wide.exponent
    else:
        z = wide.yield_strain ** np.linspace(0.98, 0.0, 48) * 0.2 ** np.linspace(0.02, 1.0, 48)
    hardening, p, h_slope, p_slope = wide.state(z)
    h = wide.virgin + hardening
    strain, per_strain = p + h / wide.modulus, p_slope + h_slope / wide.modulus
    margin = h - strain * h_slope / per_strain
    x = flow.rate * p
    needed = -np.expm1(-x) - flow.rate * strain * p_slope / per_strain * np.exp(-x)
    return np.asarray(np.min(margin / np.maximum(needed, 1e-9), axis=-1))


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """Fibres strained forward once: ``stress`` [Pa] and its ``slope`` over strain [Pa],
    ``plastic`` strain, ``back_stress`` X_b [Pa], ``flow_stress`` h and ``hardening`` h above
    the virgin stress [Pa], and ``z`` of the law, where they stand; ``range_slope`` [Pa] is the
    slope of ``elastic_range`` over strain.
    """

    stress: Array
    slope: Array
    plastic: Array
    back_stress: Array
    z: Array
    hardening: Array
    flow_stress: Array
    range_slope: Array

    @property
    def elastic_range(self) -> Array:
        """How far the stress falls elastically when driven back. [Pa]"""
        return self.stress + self.flow_stress - 2 * self.back_stress


def loaded(flow: Flow, strain: Array) -> Loaded:
    """Return the fibres of a virgin wire at a strain of 0 or more."""
    first = flow.yield_strain
    past = strain > first
    z = _ludwik_parameter(flow, strain - first) if flow.ludwik else np.maximum(strain, first)
    hardening, p, h_slope, p_slope = flow.state(z)
    h = flow.virgin + hardening
    p = np.where(past, p, 0.0)
    slope = np.where(past, h_slope / (p_slope + h_slope / flow.modulus), flow.modulus)
    back = -flow.back_stress * np.expm1(-flow.rate * p)
    growth = flow.rate * (flow.back_stress - back) * (1 - slope / flow.modulus)
    return Loaded(
        stress=np.where(past, h, flow.modulus * strain),
        slope=slope,
        plastic=p,
        back_stress=back,
        z=z,
        hardening=hardening,
        flow_stress=h,
        range_slope=slope * (1 + past) - 2 * growth,
    )


def driven_back(flow: Flow, start: Loaded, drop: Array) -> tuple[Array, Array]:
    """Return stress [Pa] and its slope over strain [Pa] after a strain drop of 0 or more."""
    E, rate = flow.modulus, flow.rate
    elastic = drop * E <= start.elastic_range
    beyond = np.maximum(drop - start.elastic_range / E, 0.0)
    if flow.ludwik:
        low = start.z + 0 * beyond
        high = np.minimum(
            (start.plastic + beyond) ** flow.exponent, low + beyond * E / flow.coefficient
        )
        first = high
    else:
        low = start.z + beyond - 2 * start.back_stress / E
        high = start.z + beyond
        low = first = np.maximum(start.z, low)

    def excess(z: Array) -> tuple[Array, Array]:
        h, p, h_slope, p_slope = flow.state(z)
        q = p - start.plastic
        faded = -2 * start.back_stress * np.expm1(-rate * q)
        value = q + (h - start.hardening + faded) / E - beyond
        fading = rate * (2 * start.back_stress - faded)
        return value, p_slope + (h_slope + fading * p_slope) / E

    h, p, h_slope, p_slope = flow.state(increasing_root(excess, low, high, first))
    left = 2 * start.back_stress * np.exp(-rate * (p - start.plastic))
    stiff = h_slope + rate * left * p_slope
    stress = np.where(elastic, start.stress - E * drop, left - flow.virgin - h)
    return stress, np.where(elastic, E, stiff / (p_slope + stiff / E))


def _ludwik_parameter(flow: Flow, beyond: Array) -> Array:
    """Return p^n of fibres strained ``beyond`` the first yield (negative: not yet)."""
    beyond = np.maximum(beyond, 0.0)
    low = np.zeros_like(beyond)
    high = np.minimum(beyond**flow.exponent, beyond * flow.modulus / flow.coefficient)

    def excess(z: Array) -> tuple[Array, Array]:
        h, p, h_slope, p_slope = flow.state(z)
        return p + h / flow.modulus - beyond, p_slope + h_slope / flow.modulus

    return increasing_root(excess, low, high, high)
