"""Moment curves of many wires as tables that a rod solver can read quickly.

A branch starts at a moment and follows the elastic line until the first fibre yields; from
there the moment is tabled over the logarithm of the change in curvature (cubic Hermite, and a
straight line over the logarithm past the last node). Arrays have one row per wire.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.wire.bundle import (
    Bundle,
    first_reversal,
    loading_moment,
    release_moment_at,
)

FARTHEST_STRAIN = 0.2
"""Change of the surface strain that every table reaches, besides twice the first bend."""


@dataclass(frozen=True, kw_only=True)
class Branch:
    """Moment over the change in curvature, one row per wire.

    ``start`` [N m], ``rigidity`` [N m2] and ``first`` change [1/m] of the elastic line, each
    (B,). Node t from 0 to 1 stands at first * exp(span t^2); ``moments`` and ``slopes`` (slope
    over t) are (B, nodes) [N m].
    """

    start: Array
    rigidity: Array
    first: Array
    span: Array
    moments: Array
    slopes: Array

    def take(self, rows: NDArray[np.intp]) -> Branch:
        """Return the branches of some wires."""
        return Branch(**{name: array[rows] for name, array in vars(self).items()})


def loading_branch(bundle: Bundle, nodes: int) -> Branch:
    """Return how virgin wires load; ``bundle`` has arrays (B,)."""
    first, span, change, stretch = _nodes(
        bundle, bundle.yield_curvature, 0.0 * bundle.radius, nodes
    )
    moments, tangents = loading_moment(bundle.across(1), change)
    return Branch(
        start=0.0 * first,
        rigidity=bundle.rigidity,
        first=first,
        span=span,
        moments=moments,
        slopes=_limited(moments, tangents * stretch),
    )


def release_branch(bundle: Bundle, set_curvature: Array, nodes: int, fibres: int) -> Branch:
    """Return how wires let go; the moments fall with the change, and so the slopes are negative.

    Parameters
    ----------
    bundle : Bundle
        Arrays (B,).
    set_curvature : array (B,)
        Where the bending ended, above 0. [1/m]
    nodes, fibres : int
        Size of the table and fibres per panel of the section.
    """
    start, _ = loading_moment(bundle, set_curvature)
    first, span, change, stretch = _nodes(
        bundle, first_reversal(bundle, set_curvature), set_curvature, nodes
    )
    moments, tangents = release_moment_at(bundle.across(1), set_curvature[:, None], change, fibres)
    return Branch(
        start=start,
        rigidity=-bundle.rigidity,
        first=first,
        span=span,
        moments=moments,
        slopes=_limited(moments, -tangents * stretch),
    )


def branch_moment(branch: Branch, change: Array) -> tuple[Array, Array]:
    """Return moment [N m] and slope over the change [N m2] at changes (B, n) of 0 or more."""
    first, count = branch.first[:, None], branch.moments.shape[1]
    rigidity = branch.rigidity[:, None]
    elastic = change <= first
    line = branch.start[:, None] + rigidity * change
    if bool(elastic.all()):
        return line, np.broadcast_to(rigidity, line.shape)
    safe = np.maximum(change, first)
    span = branch.span[:, None]
    height = np.log(safe / first)
    place = np.minimum(np.sqrt(height / span), 1.0) * (count - 1)
    index = np.minimum(place.astype(np.intp), count - 2)
    share = place - index
    flat = index + (np.arange(len(index)) * count)[:, None]
    values, rises = branch.moments.ravel(), branch.slopes.ravel()
    low, high = values[flat], values[flat + 1]
    rise, onward = rises[flat] / (count - 1), rises[flat + 1] / (count - 1)
    gap = high - low
    bow, twist = 3 * gap - 2 * rise - onward, rise + onward - 2 * gap
    value = low + share * (rise + share * (bow + share * twist))
    slope = rise + share * (2 * bow + 3 * share * twist)
    slope *= (count - 1) ** 2 / (2 * span * np.maximum(place, 1e-9) * safe)
    beyond = height > span
    if bool(beyond.any()):
        value += np.where(beyond, slope * safe * (height - span), 0.0)
    return np.where(elastic, line, value), np.where(elastic, rigidity, slope)


def _nodes(
    bundle: Bundle, first: Array, set_curvature: Array, count: int
) -> tuple[Array, Array, Array, Array]:
    """Return first change and span (B,), changes (B, count) and their slopes over t."""
    last = np.maximum(2 * set_curvature + FARTHEST_STRAIN / bundle.radius, 4 * first)
    span = np.log(last / first)
    t = np.linspace(0.0, 1.0, count)
    change = first[:, None] * np.exp(span[:, None] * t**2)
    return first, span, change, change * 2 * span[:, None] * t


def _limited(moments: Array, slopes: Array) -> Array:
    """Return slopes small enough that the cubics between the nodes rise or fall as they do.

    Source: Fritsch and Carlson 1980, from memory: no slope above three times a secant beside
    it; 2.9 keeps the tangent above 0.
    """
    secants = np.abs(np.diff(moments, axis=1)) * (moments.shape[1] - 1)
    least = np.full_like(slopes, np.inf)
    least[:, :-1] = secants
    least[:, 1:] = np.minimum(least[:, 1:], secants)
    return np.copysign(np.minimum(np.abs(slopes), 2.9 * least), slopes)
