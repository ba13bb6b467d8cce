"""How near a colour can be at most to a target, cheaper than CIEDE2000 and never above it."""

from __future__ import annotations

import numpy as np

from tinting.colour.colorimetry import xyz_from_lab
from tinting.colour.grid import Array
from tinting.recipe.model import Question

_CHROMA_KNEE = 25.0**7
_STRETCH = 6.0
"""CIEDE2000 raises a mean chroma by less than this (5.3 at 21)."""
_HUE_SHIFT = 12.0
"""and turns a hue by less than this, when it stretches a* by up to a half. [degree]"""


def lightness_bounds(question: Question, most: float) -> tuple[float, float]:
    """Return the least and the largest Y under the first light within ``most`` [dE] of it."""
    target = question.targets[0, 0]
    levels = np.linspace(0, 130, 1301)
    near = levels[np.abs(levels - target) <= most * _lightness_weight(levels, target)]
    # one step of the levels outside on either side
    ends = np.zeros((2, 3))
    ends[:, 0] = max(near.min() - 0.1, 0.0), near.max() + 0.1
    low, high = xyz_from_lab(ends, question.lights[0], question.observer)[:, 1]
    return float(low), float(high)


def squared_bound(lab: Array, target: Array) -> Array:
    """Return a square (N,) that the squared CIEDE2000 of ``lab`` (N, 3) never falls below.

    Notes
    -----
    From Sharma et al. (2005): the chroma weight is the larger of the two weights in the plane of
    a* and b*; stretching a* only adds to a distance there; and the rotation term takes at most
    the share |RT| / 2 of it, where RT = sin 2θ RC grows with chroma and falls off around 275
    degrees. The mean of two hues is never more than 90 degrees from either.
    """
    away = lab - target
    chroma = (np.hypot(lab[:, 1], lab[:, 2]) + np.hypot(target[1], target[2])) / 2 + _STRETCH
    power = chroma**7
    hue = np.degrees(np.arctan2(target[2], target[1]))
    apart = max(abs((hue - 275 + 180) % 360 - 180) - 90 - _HUE_SHIFT, 0.0)
    turned = np.sin(np.radians(60 * np.exp(-((apart / 25) ** 2))))
    left = 1 - turned * np.sqrt(power / (power + _CHROMA_KNEE))
    lightness = away[:, 0] / _lightness_weight(lab[:, 0], target[0])
    plane = (away[:, 1] ** 2 + away[:, 2] ** 2) / (1 + 0.045 * chroma) ** 2
    return np.asarray(lightness**2 + left * plane)


def _lightness_weight(lightness: Array, target: float) -> Array:
    square = ((lightness + target) / 2 - 50) ** 2
    weight: Array = 1 + 0.015 * square / np.sqrt(20 + square)
    return weight
