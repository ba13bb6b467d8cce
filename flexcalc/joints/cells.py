"""Where the joints of a limb are: pieces between the places where something changes.

Within a piece the joints stand at Gauss points and bend the length of their weight, so that the
angle a piece turns is exact for smooth curvatures.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from data.rules import Array

Rows = NDArray[np.intp]
MOST_TOGETHER = 12
"""Joints of one piece that stand at the Gauss points of one rule."""


@dataclass(frozen=True, kw_only=True)
class Cells:
    """The joints of a limb: ``places`` (N,) from the clamp [m], ``lengths`` (N,) of limb that
    bend at them [m], ``bend`` (N,) the number of their bend, -1 outside."""

    places: Array
    lengths: Array
    bend: Rows

    @property
    def arc_length(self) -> Array:
        """Ends (N + 1,) of the lengths that bend at the joints. [m]"""
        return np.concatenate([[0.0], np.cumsum(self.lengths)])

    @property
    def segments(self) -> Array:
        """Lengths (N,) of the straight segments behind the joints. [m]"""
        return np.diff(np.append(self.places, self.lengths.sum()))

    @property
    def beyond(self) -> Array:
        """Length (N,) of limb beyond the middle of each segment. [m]"""
        ends = np.append(self.places, self.lengths.sum())
        return np.asarray(ends[-1] - (ends[1:] + ends[:-1]) / 2)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Limb from ``start`` to ``end`` [m] with some ``joints``, in a ``bend`` or, -1, in none."""

    start: float
    end: float
    joints: int
    bend: int = -1


def cut(pieces: Sequence[Piece]) -> Cells:
    """Return the joints of pieces that follow on each other."""
    places, lengths, bends = [], [], []
    for piece in pieces:
        parts = -(-piece.joints // MOST_TOGETHER)
        nodes, weights = _gauss(-(-piece.joints // parts))
        edges = np.linspace(piece.start, piece.end, parts + 1)
        for first, last in itertools.pairwise(edges):
            places.append(first + (last - first) * nodes)
            lengths.append((last - first) * weights)
            bends.append(np.full(len(nodes), piece.bend))
    return Cells(
        places=np.concatenate(places), lengths=np.concatenate(lengths), bend=np.concatenate(bends)
    )


@cache
def _gauss(count: int) -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (1 + nodes) / 2, weights / 2
