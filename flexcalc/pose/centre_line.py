"""Points along a rod that is bent to circular arcs between stations."""

from __future__ import annotations

import numpy as np

from data.rules import Array

LEAST_STRETCH = 1e-9
"""Stretches shorter than this share of the limb are left out."""


def positions_of(angles: Array, arc_length: Array) -> Array:
    """Return points (..., n, 2) [m] of rods bent to a circular arc between stations (..., n)."""
    half = np.diff(angles, axis=-1) / 2
    chord = np.diff(arc_length) * np.sinc(half / np.pi)
    middle = angles[..., :-1] + half
    steps = np.stack([chord * np.sin(middle), -chord * np.cos(middle)], axis=-1)
    start = np.zeros_like(steps[..., :1, :])
    return np.concatenate([start, np.cumsum(steps, axis=-2)], axis=-2)
