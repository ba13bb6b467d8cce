"""Limbs as they might be, followed by small steps: the truth of blind tests of the bands.

Nothing here is the package's: wires in strips by explicit steps, the elastomer's hereditary sum
(`tests.small_steps`), thumbs that press along the bend, weight and payload on from the moment of
letting go. Inputs are drawn ``wider`` times as wide as the tables say; the spreads are typed here
from the sources of the tables.

What the model misses is partly in the wire (friction in its channel, creep, the rule of its
way back) and partly in the print (layers, shear, softening of the first bend). Nothing ties one
to the other, so each has an error of its own, alike in size, so that wire over elastomer is
missed by as much as the table says.
"""

from __future__ import annotations

import itertools
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
HALF_EACH = 0.5 / math.sqrt(2)
"""Two errors alike in size that have nothing to do with each other have each half the variance."""


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One plan: SI. Wire: modulus, K, n with its spread, factor of its strength, back-stress share
    with its spread, density, radius. Elastomer: modulus with factor, saturation, relaxation with
    spread, density. Outer radius, ``wall`` or, without one, the radius of the ``channel``. Length,
    ``bends`` each by where it starts, its angle and radius, number of ``places`` pressed in each by
    a lever of 40 mm (0: round a former), clamp angle, payload, hold and rest time."""

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
    bends: tuple[tuple[float, float, float], ...]
    places: int
    clamp: float
    payload: float
    hold: float
    rest: float


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Limbs of one kind as they are, columns (n, 1), and who bends them, arrays (n,).

    ``grip`` of the wire and ``pull`` of the elastomer are in truth so many times what they are by
    the model's formulas."""

    matter: Matter
    grip: Array
    pull: Array
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
        grip=factor((1.1 / 0.9) ** HALF_EACH)[:, 0],
        pull=factor((1.1 / 0.9) ** HALF_EACH)[:, 0],
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
        self.grip = np.repeat(drawn.grip, self.pieces)
        self.pull = np.repeat(drawn.pull, self.pieces)
        order = np.arange(self.pieces)
        self.beyond = (order[None, :] > order[:, None]) + 0.5 * np.eye(self.pieces)
        self.turning = ((order[:, None] > order[None, :]) + 0.5 * np.eye(self.pieces)) * self.piece
        left = kind.length - self.piece * (order + 0.5)
        mass = np.asarray(drawn.matter.mass)
        self.loads = GRAVITY * (drawn.payload[:, None] + mass * left)

    def inner(self, curvature: Array, clock: float) -> Array:
        """Moment of every piece, with what the model misses."""
        sections = self.sections
        change = sections.elastomer(curvature) - sections.elastomer(sections.curvature)
        pull = sections.left(clock) + sections.share(0.0) * change
        return np.asarray(self.grip * sections.wire_moment(curvature) + self.pull * pull)

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


def in_the_hand(kind: Kind, drawn: Drawn) -> tuple[Array, Array]:
    """Return the curvatures (B, N) to which a former or thumbs bend the pieces, and which share of
    each piece is each bend's (B, bends, N)."""
    count, pieces = len(drawn.payload), TABLE["pieces"]
    places = (np.arange(TABLE["places"]) + 0.5) / TABLE["places"] * kind.length
    fine = np.zeros((count, len(places)))
    own = np.zeros((count, len(kind.bends), len(places)))
    for row in range(count):
        number = int(drawn.places[row]) if kind.places else 1
        thumbs = [_thumbs(bend, number) for bend in kind.bends]
        cuts = [0.0, *((a[-1] + b[0]) / 2 for a, b in itertools.pairwise(thumbs)), kind.length]
        curve, moment = _virgin(kind, drawn, row)
        for which, (start, angle, radius) in enumerate(kind.bends):
            own[row, which] = (places > cuts[which]) & (places < cuts[which + 1])
            if kind.places == 0:
                inside = (places > start) & (places < start + abs(angle) * radius)
                fine[row] += np.sign(angle) / radius * inside
                continue
            reach = (cuts[which], cuts[which + 1])
            share = _pressed(thumbs[which], reach, drawn.lever[row], drawn.thumb[row], places)
            fine[row] += np.sign(angle) * _turned(share, abs(angle) / kind.length, curve, moment)
    return _by_piece(fine, pieces), _by_piece(own, pieces)


def _by_piece(fine: Array, pieces: int) -> Array:
    return np.asarray(fine.reshape(*fine.shape[:-1], pieces, -1).mean(axis=-1))


def _thumbs(bend: tuple[float, float, float], number: int) -> list[float]:
    """Return where the thumbs press one bend, or the middle of its arc. [m]"""
    start, angle, radius = bend
    return [start + (press + 0.5) * abs(angle) * radius / number for press in range(number)]


def _virgin(kind: Kind, drawn: Drawn, row: int) -> tuple[Array, Array]:
    """Return curvatures and the moments that hold one limb there at the end of the hold."""
    one = Matter(**{name: value[row : row + 1] for name, value in vars(drawn.matter).items()})
    curve = np.concatenate([[0.0], np.geomspace(0.05, 400.0, TABLE["curve"] - 1)])
    virgin = Sections(
        of_pieces(one, len(curve)), len(curve), TABLE["strips"], 2 * TABLE["steps"], TABLE["tall"]
    )
    moment = drawn.grip[row] * virgin.wire_moment(curve)
    return curve, moment + drawn.pull[row] * virgin.share(kind.hold) * virgin.elastomer(curve)


def _pressed(
    thumbs: list[float], reach: tuple[float, float], lever: float, width: float, places: Array
) -> Array:
    """Return the moment at places, of the greatest, that thumbs and fingers give a bend; the
    fingers find no place beyond the reach: where the limb ends or the next bend's half begins."""
    share = np.zeros(len(places))
    for middle in thumbs:
        off = places - middle
        arm = np.where(off < 0, min(lever, middle - reach[0]), min(lever, reach[1] - middle))
        level = np.minimum(width / 2, 0.9 * arm)
        share = np.maximum(share, np.clip(1 - np.maximum(np.abs(off), level) / arm, 0, 1))
    return share


def _turned(share: Array, mean: float, curve: Array, moment: Array) -> Array:
    """Return the curvatures whose mean is wanted, at places of so much of the greatest moment."""
    low, high = 0.0, float(moment[-1])
    for _ in range(60):
        middle = (low + high) / 2
        turned = np.interp(middle * share, moment, curve).mean()
        low, high = (middle, high) if turned < mean else (low, middle)
    return np.interp(low * share, moment, curve)


def outcomes(kind: Kind, drawn: Drawn, loaded: bool = True) -> dict[str, Any]:
    """Return the share that the worst bend keeps without weight (B,) and, if ``loaded``, the sag
    of the tip (B,) [m]."""
    bent, own = in_the_hand(kind, drawn)
    free = ManyLimbs(kind, drawn, weightless=True).follow(bent)
    shares = (own * free[:, None, :]).sum(axis=2) / (own * bent[:, None, :]).sum(axis=2)
    found: dict[str, Any] = {"share": shares.min(axis=1)}
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
