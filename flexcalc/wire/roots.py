"""Root of many increasing functions at once: Newton's steps, kept inside a bracket."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from data.rules import Array

NEWTON_ONLY, MOST_STEPS = 12, 160


def increasing_root(
    value_and_slope: Callable[[Array], tuple[Array, Array]],
    low: Array,
    high: Array,
    start: Array,
    tolerance: float = 1e-13,
) -> Array:
    """Return x in [low, high] with value(x) = 0, for every element of the arrays.

    Parameters
    ----------
    value_and_slope : function
        Takes x and returns an increasing function and its slope, elementwise.
    low, high, start : array
        Bracket and first guess, of one shape. Where the function has no root in the bracket the
        nearer end is returned.
    tolerance : float
        Last step allowed, as a share of the larger end of the bracket.

    Raises
    ------
    RuntimeError
        If some element has not settled, which a bracket that holds a root excludes.
    """
    low, high = np.array(low, dtype=float), np.array(high, dtype=float)
    x = np.array(start, dtype=float)
    scale = tolerance * np.maximum(np.abs(low), np.abs(high))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for step in range(MOST_STEPS):
            value, slope = value_and_slope(x)
            positive = value > 0
            high = np.where(positive, x, high)
            low = np.where(positive, low, x)
            exact = value == 0
            newton = np.where(exact, x, x - value / slope)
            middle = (low + high) / 2
            outside = ~((newton >= low) & (newton <= high))
            near = ~outside & (np.abs(newton - x) <= scale)
            # where Newton crawls or leaves the bracket, halving it still ends in time
            halve = outside | (~near & (step >= NEWTON_ONLY and step % 2 == 1))
            settled = near | (halve & (high - low <= scale))
            x = np.where(halve, middle, newton)
            if np.all(settled):
                return x
    raise RuntimeError(f"no root found in {MOST_STEPS} steps between {low} and {high}")
