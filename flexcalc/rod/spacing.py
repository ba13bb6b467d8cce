"""Cut a rod of length 1 into segments, and read its stiffness, curl and weight along it.

Segments end at the breaks (where a wire or a wall ends), so that an error of the chain stays a
series in even powers of the segment's length and can be extrapolated away.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from data.rules import check_numbers, refuse
from flexcalc.rod.chain import Array, ElasticLaw, Rows

Along: TypeAlias = Callable[[Array], Array]
"""A quantity as a function of the share of the arc length, 0 at the clamp, 1 at the tip."""

BESIDE = 1e-12  # share of the length, to read a function on both sides of a break


@dataclass(frozen=True, kw_only=True)
class Field:
    """A quantity along each rod of a batch: ``value`` (B,) if uniform, else ``along``.

    ``along`` takes shares (n,) and returns (n,) or ``shape`` + (n,), times ``scale`` (B,).
    """

    name: str
    value: Array
    along: Along | None
    shape: tuple[int, ...]
    least: float
    most: float

    def at(self, shares: Array, rows: Rows) -> Array:
        """Return the values of some rods at some shares: (R, n), or (R, 1) if uniform."""
        if self.along is None:
            return self.value[rows, None]
        values = check_numbers(self.name, self.along(shares), least=self.least, most=self.most)
        try:
            full = np.broadcast_to(values, (*self.shape, len(shares)))
        except ValueError:
            raise refuse(
                self.name, f"a function that returns {len(shares)} values", values.shape
            ) from None
        full = full.reshape(-1, len(shares))[rows]
        return np.asarray(full * self.value[rows, None])


@dataclass(frozen=True, kw_only=True)
class Mesh:
    """``nodes`` (N+1,), ``middles`` (N,), ``segments`` (N,) lengths, all as shares.

    ``before`` and ``after`` (N+1,) are the halves of the segments on both sides of a node.
    """

    nodes: Array
    middles: Array
    segments: Array
    before: Array
    after: Array

    @property
    def joints(self) -> Array:
        """Length of rod that bends at each joint (N,), the first at the clamp."""
        return self.before[:-1] + self.after[:-1]


def cut_rod(breaks: tuple[float, ...], least: int, halvings: int) -> Mesh:
    """Return a mesh of ``least`` segments or more, all then halved some times.

    The nodes of a mesh that is halved less often are among those of one halved more often.
    """
    ends = np.array([0.0, *breaks, 1.0])
    pieces = []
    for first, last in itertools.pairwise(ends):
        parts = max(4, math.ceil(least * (last - first) - 1e-9)) * 2**halvings
        pieces.append(np.linspace(first, last, parts + 1)[:-1])
    nodes = np.append(np.concatenate(pieces), 1.0)
    segments = np.diff(nodes)
    return Mesh(
        nodes=nodes,
        middles=(nodes[1:] + nodes[:-1]) / 2,
        segments=segments,
        before=np.append(0.0, segments / 2),
        after=np.append(segments / 2, 0.0),
    )


@dataclass(frozen=True, kw_only=True)
class Rods:
    """Rods of length 1, scaled: ``rigidity`` (about 1), ``curl`` (natural curvature times length),
    ``tip`` (tip load times length^2 over rigidity, (B,)), ``weight`` (per length, likewise).
    """

    rigidity: Field
    curl: Field
    tip: Array
    weight: Field

    def bends(self, mesh: Mesh, rows: Rows) -> tuple[Array, Array, Array, Array]:
        """Rigidity and curl just before and just after the nodes, each (R, N+1) or (R, 1)."""
        early = np.maximum(mesh.nodes - BESIDE, 0.0)
        late = np.minimum(mesh.nodes + BESIDE, 1.0)
        return (
            self.rigidity.at(early, rows),
            self.curl.at(early, rows),
            self.rigidity.at(late, rows),
            self.curl.at(late, rows),
        )

    def law(self, mesh: Mesh, rows: Rows) -> ElasticLaw:
        """The moment law of the joints: both halves of a joint carry the same moment."""
        parts = self.bends(mesh, rows)
        if self.rigidity.along is None and self.curl.along is None:
            return ElasticLaw(flexural_rigidity=parts[0], natural_curvature=parts[1])
        rigid_before, curl_before, rigid_after, curl_after = (
            part[:, :-1] if part.shape[1] > 1 else part for part in parts
        )
        before, after = mesh.before[:-1], mesh.after[:-1]
        return ElasticLaw(
            flexural_rigidity=mesh.joints / (before / rigid_before + after / rigid_after),
            natural_curvature=(before * curl_before + after * curl_after) / mesh.joints,
        )

    def loads(self, mesh: Mesh, rows: Rows) -> Array:
        """Load beyond the middle of each segment (R, N)."""
        tip = self.tip[rows, None]
        if self.weight.along is None:
            return tip + self.weight.value[rows, None] * (1 - mesh.middles)
        points, shares = np.polynomial.legendre.leggauss(4)
        halves = mesh.segments[:, None] / 4
        centres = mesh.middles[:, None] + np.array([-1.0, 1.0]) * halves
        places = centres[:, :, None] + halves[:, :, None] * points
        dense = self.weight.at(places.ravel(), rows).reshape(len(rows), *places.shape)
        pieces = np.sum(dense * shares, axis=3) * halves
        whole = pieces.sum(axis=2)
        beyond = np.cumsum(whole[:, ::-1], axis=1)[:, ::-1] - whole
        return np.asarray(tip + beyond + pieces[:, :, 1])
