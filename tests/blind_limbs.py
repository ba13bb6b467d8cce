"""Limbs as they might be, followed by small steps: the truth of blind tests of the bands.

Nothing here is the package's: wires in strips by explicit steps, the elastomer's hereditary sum
(`tests.small_steps`), thumbs that press along the bend, weight and payload on from the moment of
letting go. Inputs are drawn ``wider`` times as wide as the tables say; the spreads are typed here
from the sources of the tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.small_steps import (
    GRAVITY,
    Matter,
    Sections,
    ages,
    reference_flow_stress,
)

Array = NDArray[np.float64]
TABLE = {
    "strips": 28, "steps": 16, "tall": 81, "pieces": 30, "curve": 60, "places": 600, "looks": 4,
}  # fmt: skip
"""How finely a limb is followed."""


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One plan: SI. Wire: modulus, K, n with its spread, factor of its strength, back-stress share
    with its spread, density, radius. Elastomer: modulus with factor, saturation, relaxation with
    spread, density. Outer radius, ``wall`` or, without one, the radius of the ``channel``. Length,
    place of the bend's ``start``, its angle and radius, number of ``places`` pressed by a lever of
    40 mm (0: round a former), clamp angle, payload, hold and rest time."""

    wire: float
    coefficient: float
    exponent: float
    exponent_spread: float
    strength_factor: float
    back: float
    back_spread: float
    wire_density: float
    radius: float
    modulus: float
    saturation: float
    relaxation: float
    density: float
    outer: float
    wall: float
    channel: float
    length: float
    start: float
    angle: float
    bend: float
    places: int
    clamp: float
    payload: float
    hold: float
    rest: float


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Limbs of one kind as they are, columns (n, 1), and who bends them, arrays (n,)."""

    matter: Matter
    missed: Array
    payload: Array
    lever: Array
    thumb: Array
    places: Array


def drawn(kind: Kind, count: int, wider: float, draw: np.random.Generator) -> Drawn:
    """Return limbs that this plan could be."""

    def factor(spread: float) -> Array:
        return np.asarray(np.exp(wider * math.log(spread) * draw.normal(size=(count, 1))))

    def about(middle: float, spread: float, least: float, most: float) -> Array:
        found = middle + wider * spread * draw.normal(size=(20 * count, 1))
        return found[(found > least) & (found < most)][:count, None]

    exponent = about(kind.exponent, kind.exponent_spread, 0.0, 0.8)
    # hardening is another at one and the same strength, where the load on a wire is greatest
    coefficient = kind.coefficient * factor(kind.strength_factor)
    coefficient = coefficient * np.exp(_crossing(exponent) - _crossing(np.array(kind.exponent)))
    room = 23 + wider * 3.0 * draw.normal(size=(count, 1))
    warm = np.where(room < 23, 1.2 ** ((23 - room) / 8), 0.925 ** ((room - 23) / 7))
    radius = kind.radius * about(1.0, 0.01, 0.5, 2.0)
    inner = kind.outer - kind.wall * about(1.0, 0.05, 0.3, 3.0) if kind.wall else kind.channel
    inner = inner + 0.0 * radius
    mass = kind.density * math.pi * (kind.outer**2 - inner**2)
    matter = Matter(
        wire=kind.wire + 0.0 * radius,
        coefficient=coefficient,
        exponent=exponent,
        limit=0.0 * radius,
        rate=300.0 + 0.0 * radius,
        radius=radius,
        modulus=kind.modulus * factor(1.9) * warm,
        saturation=kind.saturation * factor(1.4),
        relaxation=about(kind.relaxation, 0.02, 0.0, 0.4),
        outer=kind.outer + 0.0 * radius,
        inner=inner,
        mass=mass + kind.wire_density * math.pi * kind.radius**2,
    )
    back = about(kind.back, kind.back_spread, 0.0, 0.6)
    places = np.full(count, kind.places)
    if kind.places > 1:
        places = np.maximum(places + draw.integers(0, 4, count) % 3 - 1, 1)
    return Drawn(
        matter=replace(matter, limit=back * reference_flow_stress(matter, 0.025)),
        missed=factor(math.sqrt(1.1 / 0.9))[:, 0],
        payload=kind.payload * factor(1.05)[:, 0],
        lever=0.04 * factor(math.sqrt(2.0))[:, 0],
        thumb=0.015 * factor(math.sqrt(20 / 12))[:, 0],
        places=places,
    )


def _crossing(exponent: Array) -> Array:
    """Logarithm of K over the tensile strength."""
    return exponent * (1 - np.log(exponent))


def of_pieces(matter: Matter, pieces: int) -> Matter:
    """Return the numbers of every piece of every limb, limb by limb."""
    return Matter(
        **{name: np.repeat(value, pieces, axis=0) for name, value in vars(matter).items()}
    )


class ManyLimbs:
    """Limbs of one kind, piece by piece."""

    def __init__(self, kind: Kind, drawn: Drawn, weightless: bool) -> None:
        self.kind, self.drawn, self.weightless = kind, drawn, weightless
        self.count, self.pieces = len(drawn.payload), TABLE["pieces"]
        self.piece = kind.length / self.pieces
        fine = {name: TABLE[name] for name in ("strips", "steps", "tall")}
        matter = of_pieces(drawn.matter, self.pieces)
        self.sections = Sections(matter, self.count * self.pieces, **fine)
        self.missed = np.repeat(drawn.missed, self.pieces)
        order = np.arange(self.pieces)
        self.beyond = (order[None, :] > order[:, None]) + 0.5 * np.eye(self.pieces)
        self.turning = ((order[:, None] > order[None, :]) + 0.5 * np.eye(self.pieces)) * self.piece
        left = kind.length - self.piece * (order + 0.5)
        mass = np.asarray(drawn.matter.mass)
        self.loads = GRAVITY * (drawn.payload[:, None] + mass * left)

    def inner(self, curvature: Array, clock: float) -> Array:
        """Moment of every piece; what the model misses is on the wire."""
        sections = self.sections
        change = sections.elastomer(curvature) - sections.elastomer(sections.curvature)
        pull = sections.left(clock) + sections.share(0.0) * change
        return np.asarray(self.missed * sections.wire_moment(curvature) + pull)

    def outer(self, curvature: Array) -> tuple[Array, Array]:
        """Moment of weight and payload (B, N) and its slopes (B, N, N)."""
        turns = curvature * self.piece
        angle = self.kind.clamp + np.cumsum(turns, axis=1) - turns / 2
        force = self.loads * np.sin(angle) * self.piece
        stiff = self.loads * np.cos(angle) * self.piece
        slopes = -np.einsum("ij,bj,jk->bik", self.beyond, stiff, self.turning)
        return -force @ self.beyond.T, slopes

    def balanced(self, clock: float) -> Array:
        """Curvatures (n,) at which moments and loads agree."""
        shape = (self.count, self.pieces)
        bent = self.sections.curvature.copy()
        for _ in range(60):
            load, slopes = self.outer(bent.reshape(shape))
            value = self.inner(bent, clock)
            left = -value if self.weightless else load.ravel() - value
            # a wire is stiffer on its way back than on: the slope to where it has to go
            aside = 1e-4 * np.where(left < 0, -1.0, 1.0)
            slope = (self.inner(bent + aside, clock) - value) / aside
            if self.weightless:
                step = left / slope
            else:
                tangent = np.eye(self.pieces) * slope.reshape(shape)[:, :, None] - slopes
                step = np.linalg.solve(tangent, left.reshape(*shape, 1))[:, :, 0].ravel()
            step = np.clip(step, -6.0, 6.0)
            bent = bent + step
            if np.abs(step).max() < 1e-3:
                return bent
        raise AssertionError("no balance found")

    def follow(self, bent: Array) -> Array:
        """Return the curvatures (B, N) at the rest time, let go from ``bent`` (B, N)."""
        kind, sections = self.kind, self.sections
        sections.move(bent.ravel(), 0.0)
        for age in ages(kind.rest, TABLE["looks"]) if kind.rest > 0 else [1.0]:
            clock = kind.hold + float(age)
            found = self.balanced(clock)
            sections.move(found, kind.hold if age == 1 else clock)
        return sections.curvature.reshape(self.count, self.pieces)


def in_the_hand(kind: Kind, drawn: Drawn) -> Array:
    """Return the curvatures (B, N) to which a former or thumbs bend the pieces."""
    count, pieces = len(drawn.payload), TABLE["pieces"]
    places = (np.arange(TABLE["places"]) + 0.5) / TABLE["places"] * kind.length
    arc = kind.angle * kind.bend
    if kind.places == 0:
        inside = (places > kind.start) & (places < kind.start + arc)
        bent = np.tile(np.where(inside, 1 / kind.bend, 0.0), (count, 1))
    else:
        bent = np.array([_pressed(kind, drawn, row, places, arc) for row in range(count)])
    return np.asarray(bent.reshape(count, pieces, -1).mean(axis=2))


def _pressed(kind: Kind, drawn: Drawn, row: int, places: Array, arc: float) -> Array:
    """Return the curvature at places along one limb that thumbs bent by the wished angle."""
    one = Matter(**{name: value[row : row + 1] for name, value in vars(drawn.matter).items()})
    curve = np.concatenate([[0.0], np.geomspace(0.05, 400.0, TABLE["curve"] - 1)])
    virgin = Sections(
        of_pieces(one, len(curve)), len(curve), TABLE["strips"], 2 * TABLE["steps"], TABLE["tall"]
    )
    moment = drawn.missed[row] * virgin.wire_moment(curve)
    moment = moment + virgin.share(kind.hold) * virgin.elastomer(curve)
    lever, thumb, count = drawn.lever[row], drawn.thumb[row], int(drawn.places[row])
    share = np.zeros(len(places))
    for press in range(count):
        middle = kind.start + (press + 0.5) * arc / count
        off = places - middle
        arm = np.where(off < 0, min(lever, middle), min(lever, kind.length - middle))
        level = np.minimum(thumb / 2, 0.9 * arm)
        share = np.maximum(share, np.clip(1 - np.maximum(np.abs(off), level) / arm, 0, 1))
    low, high = 0.0, float(moment[-1])
    for _ in range(60):
        middle = (low + high) / 2
        turned = np.interp(middle * share, moment, curve).mean() * kind.length
        low, high = (middle, high) if turned < kind.angle else (low, middle)
    return np.interp(low * share, moment, curve)


def outcomes(kind: Kind, drawn: Drawn, loaded: bool = True) -> dict[str, Any]:
    """Return the share kept without weight (B,) and, if ``loaded``, the sag of the tip (B,) [m]."""
    bent = in_the_hand(kind, drawn)
    free = ManyLimbs(kind, drawn, weightless=True).follow(bent)
    found: dict[str, Any] = {"share": free.sum(axis=1) / bent.sum(axis=1)}
    if loaded:
        rests = ManyLimbs(kind, drawn, weightless=False).follow(bent)
        heights = [_height(kind, curvature) for curvature in (free, rests)]
        found["sag"] = heights[0] - heights[1]
    return found


def _height(kind: Kind, curvature: Array) -> Array:
    piece = kind.length / curvature.shape[1]
    turns = curvature * piece
    angle = kind.clamp + np.cumsum(turns, axis=1) - turns / 2
    return np.asarray(np.sum(-piece * np.sinc(turns / 2 / np.pi) * np.cos(angle), axis=1))
