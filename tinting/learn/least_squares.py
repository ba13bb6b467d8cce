"""Least squares with bounds: damped Gauss-Newton steps, each one a small bounded problem.

Damping and bounds are handled together: a parameter that a step would push out of its bounds
is set on the bound and the others are solved again, so that the step stays a good one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from tinting.colour.grid import Array

Residuals: TypeAlias = Callable[[Array], tuple[Array, Array]]
_MOST_STEPS = 300
_SETTLED = 1e-3
_CRAWL_STEPS = 30
_CRAWL = 1e-2
_STIFFEST = 1e12


@dataclass(frozen=True, kw_only=True, eq=False)
class Optimum:
    """Where the sum of squares is least: ``parameters`` (P,), ``residuals`` (M,), ``slope`` (M, P).

    ``pressure`` (P,) is the slope of half the sum of squares against a bound, 0 inside.
    """

    parameters: Array = field(repr=False)
    residuals: Array = field(repr=False)
    slope: Array = field(repr=False)
    pressure: Array = field(repr=False)


def least_squares_within(residuals: Residuals, start: Array, lower: Array, upper: Array) -> Optimum:
    """Return the least sum of squares that is downhill of ``start``, within bounds.

    Parameters
    ----------
    residuals : callable
        Takes parameters (P,), gives residuals (M,) and their slope (M, P).
    start, lower, upper : ndarray (P,)
        Start and bounds; equal bounds hold a parameter fixed.

    Raises
    ------
    RuntimeError
        If the steps do not settle.

    Notes
    -----
    Levenberg's damping in Marquardt's scale. It ends when a step can be expected to lower the
    sum of squares by no more than 1e-3 of it (of 1 where it is less), or when 30 steps together
    did so by no more than 1e-2.
    """
    place, damping = np.clip(start, lower, upper), 1e-3
    rest, slope = residuals(place)
    scale = np.ones(place.size)
    totals: list[float] = []
    for _ in range(_MOST_STEPS):
        curvature, total = slope.T @ slope, float(rest @ rest)
        totals.append(total)
        scale = np.maximum(scale, np.diag(curvature))
        damped = curvature + np.diag(damping * scale)
        step = _step(damped, slope.T @ rest, lower - place, upper - place)
        foreseen = rest + slope @ step
        hoped = total - float(foreseen @ foreseen)
        # damping shortens the step and with it what can be hoped for
        settled = 0 <= hoped * (1 + damping) <= _SETTLED * max(total, 1.0)
        if settled or damping > _STIFFEST or _crawls(totals):
            return _optimum(place, rest, slope, lower, upper)
        if hoped < 0:
            # parameters were stopped by bounds on the way: a shorter step goes downhill
            damping *= 5
            continue
        tried = place + step
        new_rest, new_slope = residuals(tried)
        if total - float(new_rest @ new_rest) < hoped / 4:
            # a valley that bends: undo what the straight step did not foresee
            undo = slope.T @ (new_rest - foreseen)
            bent = tried + _step(damped, undo, lower - tried, upper - tried)
            bent_rest, bent_slope = residuals(bent)
            if bent_rest @ bent_rest < new_rest @ new_rest:
                tried, new_rest, new_slope = bent, bent_rest, bent_slope
        gain = (total - float(new_rest @ new_rest)) / hoped
        if gain > 0:
            place, rest, slope = tried, new_rest, new_slope
        damping *= 5.0 if gain <= 0 else 2.0 if gain < 0.25 else 1.0 if gain < 0.75 else 1 / 3
    raise RuntimeError(f"least squares did not settle in {_MOST_STEPS} steps from {start}")


def _crawls(totals: list[float]) -> bool:
    recent = totals[-_CRAWL_STEPS:]
    return len(recent) == _CRAWL_STEPS and recent[0] - recent[-1] <= _CRAWL * max(recent[-1], 1.0)


def _optimum(place: Array, rest: Array, slope: Array, lower: Array, upper: Array) -> Optimum:
    gradient = slope.T @ rest
    pressed = ((place <= lower) & (gradient > 0)) | ((place >= upper) & (gradient < 0))
    return Optimum(
        parameters=place,
        residuals=rest,
        slope=slope,
        pressure=np.where(pressed, np.abs(gradient), 0.0),
    )


def _step(damped: Array, gradient: Array, least: Array, most: Array) -> Array:
    """Damped step between ``least`` and ``most``, the bounds as seen from where we stand."""
    held = ((least >= 0) & (gradient > 0)) | ((most <= 0) & (gradient < 0))
    step = np.zeros(gradient.size)
    for _ in range(gradient.size):
        free = ~held
        pull = gradient[free] + damped[np.ix_(free, held)] @ step[held]
        step[free] = np.linalg.solve(damped[np.ix_(free, free)], -pull)
        beyond = free & ((step < least) | (step > most))
        step = np.clip(step, least, most)
        if not beyond.any():
            break
        held |= beyond
    return step
