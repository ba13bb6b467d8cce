"""Least-squares curves in space through the middles of sections."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline

from data.rules import Array

SPANS = (1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 26, 32)
CLOSE = 0.004
"""A curve is close enough once no middle is farther from it than this share of a radius."""
WORTH = 0.8
"""More spans are worth their freedom if they bring the misfit down to this share."""
STRAIGHT = 0.012
"""A straight line is kept where no middle is farther from it than this share of a radius."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Fit:
    """A curve of parameter u, nearly its arc length, from ``low`` to ``high``. [m]

    Outside it goes on with the mean curvature of its last stretch ``run`` [m]; ``misfit`` [m]
    is the largest distance of a fitted point from it.
    """

    spline: BSpline = field(repr=False)
    low: float
    high: float
    run: float
    misfit: float

    def at(self, u: Array) -> tuple[Array, Array]:
        """Return points and unit tangents (n, 3) at parameters (n,)."""
        inside = np.clip(u, self.low, self.high)
        points, tangents = self.spline(inside), self.spline(inside, 1)
        for end, beyond in ((self.low, u < self.low), (self.high, u > self.high)):
            if beyond.any():
                step = (u[beyond] - end)[:, None]
                start, first = self.spline(end), self.spline(end, 1)
                bend = self._bend(end)
                points[beyond] = start + first * step + bend * step**2 / 2
                tangents[beyond] = first + bend * step
        return points, tangents / np.linalg.norm(tangents, axis=1)[:, None]

    def _bend(self, end: float) -> Array:
        """Return the mean curvature vector of the stretch at an end. [1/m]"""
        other = self.low if end == self.high else self.high
        inner = end + np.sign(other - end) * min(self.run, 0.5 * (self.high - self.low))
        first, last = self.spline(end, 1), self.spline(inner, 1)
        bend = (last - first) / (inner - end)
        return np.asarray(bend - (bend @ first) * first / (first @ first), float)


def fitted(points: Array, radius: float) -> Fit:
    """Return the plainest curve that goes through points (n, 3) [m] of a limb of ``radius`` [m]."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    u = np.concatenate([[0.0], np.cumsum(np.maximum(steps, 1e-9 * radius))])
    best = _line(u, points)
    misfit = _misfit(best, u, points)
    if misfit.max() > STRAIGHT * radius:
        most = max(1, min(int(u[-1] / (1.5 * radius)), (len(u) - 4) // 3))
        tries = 0
        for spans in SPANS:
            if spans > most:
                break
            curve = _lsq(u, points, spans)
            new = _misfit(curve, u, points)
            if np.sqrt(np.mean(new**2)) < WORTH ** (tries + 1) * np.sqrt(np.mean(misfit**2)):
                best, misfit, tries = curve, new, 0
            else:
                tries += 1
            if misfit.max() < CLOSE * radius or tries == 3:
                break
    return Fit(spline=best, low=0.0, high=float(u[-1]), run=3 * radius, misfit=float(misfit.max()))


def flowing(points: Array, stretch: float) -> Fit:
    """Return a curve through points (n, 3) that smooths over ``stretch``. [m]"""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    u = np.concatenate([[0.0], np.cumsum(steps)])
    spans = max(1, min(int(u[-1] / stretch), (len(u) - 4) // 2))
    curve = _lsq(u, points, spans) if len(u) >= 6 else _line(u, points)
    return Fit(
        spline=curve,
        low=0.0,
        high=float(u[-1]),
        run=stretch,
        misfit=float(_misfit(curve, u, points).max()),
    )


def _line(u: Array, points: Array) -> BSpline:
    """Return the straight line of least squared distance, as a spline."""
    middle = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - middle, full_matrices=False)
    axis = axes[0] * np.sign(axes[0] @ (points[-1] - points[0]) or 1.0)
    start = middle + axis * ((points[0] - middle) @ axis)
    return BSpline(np.array([0.0, 0.0, u[-1], u[-1]]), np.stack([start, start + axis * u[-1]]), 1)


def _lsq(u: Array, points: Array, spans: int) -> BSpline:
    inner = np.linspace(0.0, u[-1], spans + 1)[1:-1]
    knots = np.concatenate([np.zeros(4), inner, np.full(4, u[-1])])
    return make_lsq_spline(u, points, knots, 3)


def _misfit(curve: BSpline, u: Array, points: Array) -> Array:
    """Return the distances (n,) of points from the curve, across it."""
    away, along = points - curve(u), curve(u, 1)
    along = along / np.linalg.norm(along, axis=1)[:, None]
    across = away - np.einsum("ij,ij->i", away, along)[:, None] * along
    return np.asarray(np.linalg.norm(across, axis=1), float)
