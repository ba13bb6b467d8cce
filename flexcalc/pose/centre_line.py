"""Points along a rod that is bent to circular arcs between stations."""

from __future__ import annotations

import numpy as np

from data.rules import Array
from flexcalc.joints.posed import Looked, Posed
from flexcalc.joints.space_line import SpaceLine

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


def points_of(angles: Array, arc_length: Array, line: SpaceLine | None) -> Array:
    """Return points (B, n, 3) [m] of limbs: of their line in space, else bent in their plane to
    angles (B, n) [rad]; x forward, y to the left, z up."""
    if line is not None:
        return line.points
    flat = positions_of(angles, arc_length)
    return np.stack([flat[..., 0], np.zeros_like(flat[..., 0]), flat[..., 1]], axis=-1)


def tip_moves(posed: Posed) -> Array:
    """Return how far (B,) tips rest, at the first look, from where the hand put them. [m]"""
    look, arcs = posed.looks[0], posed.arc_length
    put = points_of(posed.as_set, arcs, posed.line)
    rests = points_of(look.resting, arcs, None if look.lines is None else look.lines[1])
    return np.asarray(np.linalg.norm(rests[:, -1] - put[:, -1], axis=1))


def tip_sags(look: Looked, arc_length: Array) -> Array:
    """Return how far (B,) the tips of limbs fall under their load. [m]"""
    if look.lines is not None:
        free, hung = (line.points[:, -1, 2] for line in look.lines)
    else:
        shapes = (look.released, look.resting)
        free, hung = (positions_of(shape, arc_length)[:, -1, 1] for shape in shapes)
    return np.asarray(free - hung)
