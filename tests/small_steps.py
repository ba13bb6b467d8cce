"""A limb followed by small steps, for tests: it shares no function with the package.

Every section is cut into flat strips of wire and elastomer. The wire's strips follow the rate form
of isotropic hardening with an Armstrong-Frederick back-stress, by small explicit steps of strain;
the elastomer is the true hereditary integral (what moves while it waits counts when it moves). A
loaded limb is a row of short pieces; their curvatures are found by Newton's method with tangents
by finite differences, on the moments that weight and payload leave at every piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
GRAVITY = 9.80665


@dataclass(frozen=True, kw_only=True)
class Matter:
    """Numbers of one limb, or columns (n, 1) of them for sections of many limbs.

    Wire: modulus, K, n, limit of the back-stress [Pa], rate, radius [m]. Elastomer: modulus,
    saturation [Pa] (infinite: linear), relaxation exponent, outer and inner radius [m]. Mass per
    length [kg/m]."""

    wire: Any
    coefficient: Any
    exponent: Any
    limit: Any
    rate: Any
    radius: Any
    modulus: Any
    saturation: Any
    relaxation: Any
    outer: Any
    inner: Any
    mass: Any


def reference_flow_stress(matter: Matter, plastic: float) -> Any:
    """Flow stress [Pa] at a plastic strain, by halving."""
    low, high = 0.0 * matter.coefficient, 0.0 * matter.coefficient + 1.0
    for _ in range(200):
        middle = (low + high) / 2
        inside = middle - matter.coefficient * middle**matter.exponent / matter.wire < plastic
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return matter.coefficient * low**matter.exponent


class Sections:
    """Wires and elastomers of n sections, moved from curvature to curvature."""

    def __init__(
        self, matter: Matter, count: int, strips: int = 80, steps: int = 40, tall: int = 401
    ) -> None:
        self.matter, self.steps = matter, steps
        edges = np.linspace(-1.0, 1.0, strips + 1)
        self.height = matter.radius * (edges[1:] + edges[:-1]) / 2
        half = np.arcsin(edges) + edges * np.sqrt(1 - edges**2)
        self.area = matter.radius**2 * np.diff(half)
        self.curvature = np.zeros(count)
        self.stress = np.zeros((count, strips))
        self.back = np.zeros((count, strips))
        first = (matter.coefficient / matter.wire) ** (1 / (1 - matter.exponent))
        self.total = np.full((count, strips), first)  # z of the law, K z^n the flow stress
        self.gone = np.zeros((count, strips))
        parts = np.linspace(-1.0, 1.0, tall)
        self.tall = matter.outer * (parts[1:] + parts[:-1]) / 2

        def below(radius: Any) -> Array:
            share = np.clip(matter.outer * parts / radius, -1, 1)
            return np.asarray(radius**2 * (np.arcsin(share) + share * np.sqrt(1 - share**2)))

        self.printed = np.diff(below(matter.outer) - below(matter.inner))
        self.changes: list[tuple[float, Array]] = []

    def elastomer(self, curvature: Array) -> Array:
        """Moment at ten seconds."""
        matter = self.matter
        strain = curvature[:, None] * self.tall
        stress = matter.modulus * strain
        stress = stress / (1 + np.abs(stress / matter.saturation) ** 1.7) ** (1 / 1.7)
        return np.asarray(np.sum(stress * (self.printed * self.tall), axis=1))

    def driven(self, curvature: Array) -> tuple[Array, Array, Array, Array]:
        """Stress, back-stress, law's strain and plastic strain gone through, after a leg."""
        matter = self.matter
        stress, back = self.stress.copy(), self.back.copy()
        total, gone = self.total.copy(), self.gone.copy()
        rise = (curvature - self.curvature)[:, None] * self.height / self.steps
        for _ in range(self.steps):
            flow = matter.coefficient * total**matter.exponent
            radius = flow - matter.limit * (1 - np.exp(-matter.rate * gone))
            tried = stress + matter.wire * rise - back
            over = np.maximum(np.abs(tried) - radius, 0.0)
            side = np.sign(tried)
            # the slopes half way through the step, which they first give themselves
            half = 0.0 * over
            for _ in range(2):
                stiff, swelling, recovery = self.slopes(total, gone, back, side, half)
                more = over / stiff
                half = more / 2
            back = back + more * side * recovery
            total = total + more * swelling
            gone = gone + more
            stress = stress + matter.wire * (rise - side * more)
        return stress, back, total, gone

    def slopes(
        self, total: Array, gone: Array, back: Array, side: Array, half: Array
    ) -> tuple[Array, Array, Array]:
        """Fall of the excess stress, growth of z and of the back-stress over plastic strain."""
        matter = self.matter
        start = matter.exponent * matter.coefficient * total ** (matter.exponent - 1)
        middle = total + half / (1 - start / matter.wire)
        slope = matter.exponent * matter.coefficient * middle ** (matter.exponent - 1)
        hardening = slope / (1 - slope / matter.wire)  # over p, z = p + K z^n / E
        shrinking = matter.limit * matter.rate * np.exp(-matter.rate * (gone + half))
        recovery = matter.rate * (matter.limit - side * back)
        recovery = recovery / (1 + matter.rate * half)
        stiff = matter.wire + hardening - shrinking + recovery
        return stiff, 1 / (1 - slope / matter.wire), recovery

    def wire_moment(self, curvature: Array) -> Array:
        return np.asarray(np.sum(self.driven(curvature)[0] * (self.area * self.height), axis=1))

    def left(self, clock: float) -> Array:
        """Moment of all changes so far at a time."""
        moment = np.zeros(len(self.curvature))
        for then, change in self.changes:
            moment += self.share(clock - then) * change
        return moment

    def share(self, age: float) -> Any:
        """One number, or one of each section (n,)."""
        return np.ravel((max(age, 1.0) / 10.0) ** -self.matter.relaxation)

    def moment(self, curvature: Array, clock: float) -> Array:
        """Moment at a time if the sections now move to curvatures."""
        change = self.elastomer(curvature) - self.elastomer(self.curvature)
        return self.wire_moment(curvature) + self.left(clock) + self.share(0.0) * change

    def move(self, curvature: Array, clock: float) -> None:
        change = self.elastomer(curvature) - self.elastomer(self.curvature)
        self.changes.append((clock, change))
        self.stress, self.back, self.total, self.gone = self.driven(curvature)
        self.curvature = np.array(curvature, dtype=float)


def outer_moments(
    curvature: Array, piece: float, clamp: float, payload: float, mass: float
) -> Array:
    """Moment of weight and payload at the middle of each piece, positive upwards."""
    turns = curvature * piece
    angle = clamp + np.cumsum(turns) - turns / 2
    count = len(curvature)
    length = count * piece
    beyond = length - piece * (np.arange(count) + 0.5)
    force = GRAVITY * (payload + mass * beyond) * np.sin(angle) * piece
    after = np.cumsum(force[::-1])[::-1]
    return -(after - force / 2)


def balanced(
    sections: Sections,
    clock: float,
    piece: float,
    clamp: float,
    payload: float,
    weightless: bool,
) -> Array:
    """Curvatures at which moments and loads agree, by Newton's method."""
    matter = sections.matter

    def left_over(curvature: Array) -> Array:
        inner = sections.moment(curvature, clock)
        if weightless:
            return inner
        return inner - outer_moments(curvature, piece, clamp, payload, matter.mass)

    bent = sections.curvature.copy()
    count = len(bent)
    for _ in range(60):
        value = left_over(bent)
        small = 1e-5
        inner = (sections.moment(bent - small, clock) - sections.moment(bent, clock)) / -small
        slopes = np.diag(inner)
        if not weightless:
            base = outer_moments(bent, piece, clamp, payload, matter.mass)
            for row in range(count):
                other = bent.copy()
                other[row] += 1e-4
                slopes[:, row] -= (
                    outer_moments(other, piece, clamp, payload, matter.mass) - base
                ) / 1e-4
        step = np.linalg.solve(slopes, -value)
        step *= min(1.0, 4.0 / max(float(np.abs(step).max()), 1e-30))
        bent = bent + step
        if np.abs(step).max() < 1e-7:
            return bent
    raise AssertionError("no balance found")


def ages(rest: float, a_decade: int) -> Array:
    """Looks after letting go, from one second on."""
    decades = math.log10(1 + rest)
    return np.logspace(0, decades, max(math.ceil(decades * a_decade), 1) + 1)[
        0 if rest > 0 else 1 :
    ]


def tip(curvature: Array, piece: float, clamp: float) -> Array:
    """Where the tip of the row of pieces is."""
    turns = curvature * piece
    angle = clamp + np.cumsum(turns) - turns / 2
    chord = piece * np.sinc(turns / 2 / np.pi)
    return np.array([np.sum(chord * np.sin(angle)), -np.sum(chord * np.cos(angle))])
