"""How far two colours are apart: CIEDE2000, and what an eye makes of it.

CIEDE2000 jumps where two hues lie 180 degrees apart, so fit on CIELAB residuals and only rank
and report by this difference.
"""

from __future__ import annotations

import numpy as np

from data import read_table
from data.rules import check_number
from tinting.colour.grid import Array, check_array, check_shapes

_STEPS = read_table("constants")["colour difference"]
_CHROMA_KNEE = 25.0**7
_HALF_TURN = 180.0 + 1e-9
"""Hues computed to lie 180 degrees apart differ from that by rounding alone."""


def delta_e(lab1: object, lab2: object) -> Array:
    """Return the CIEDE2000 difference between colours, with all weights 1.

    Parameters
    ----------
    lab1, lab2 : array_like (..., 3)
        CIELAB; the leading axes broadcast. Between -1000 and 1000.

    Returns
    -------
    ndarray (...)
        Difference, a plain number for two single colours. [dE]

    Raises
    ------
    ValueError
        For anything but finite triples, or shapes that do not fit each other.

    Notes
    -----
    Source: G. Sharma, W. Wu and E. N. Dalal, Color Research & Application 30 (2005) 21-30,
    equations 2 to 22; all 34 published pairs pass.
    """
    first, second = _pair(lab1, lab2)
    chroma = (np.hypot(first[..., 1], first[..., 2]) + np.hypot(second[..., 1], second[..., 2])) / 2
    stretch = 1.5 - 0.5 * _chroma_weight(chroma)
    a1, a2 = stretch * first[..., 1], stretch * second[..., 1]
    c1, c2 = np.hypot(a1, first[..., 2]), np.hypot(a2, second[..., 2])
    h1 = np.degrees(np.arctan2(first[..., 2], a1)) % 360
    h2 = np.degrees(np.arctan2(second[..., 2], a2)) % 360
    step, hue = _hue_step_and_mean(h1, h2, c1 * c2 == 0)
    lightness, chroma = (first[..., 0] + second[..., 0]) / 2, (c1 + c2) / 2
    d_lightness = (second[..., 0] - first[..., 0]) / _lightness_weight(lightness)
    d_chroma = (c2 - c1) / (1 + 0.045 * chroma)
    d_hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(step) / 2)
    d_hue = d_hue / (1 + 0.015 * chroma * _hue_weight(hue))
    rotation = (
        -2 * _chroma_weight(chroma) * np.sin(np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2))))
    )
    squared = d_lightness**2 + d_chroma**2 + d_hue**2 + rotation * d_chroma * d_hue
    # the rotation term can bring the sum of equal colours a rounding error below zero
    distance: Array = np.sqrt(np.maximum(squared, 0.0))[()]
    return distance


def match_words(difference: float) -> str:
    """Return what a CIEDE2000 difference looks like, in words. [dE]

    Half of all observers see 0.8 and half accept 1.8 (ceramics, Paravina 2015); the steps of 1,
    2 and 5 are rules of thumb of the trade and no standard.
    """
    size = check_number("colour difference", difference, least=0.0, most=1000.0, unit="dE")
    for quantity, words in (
        ("perceptible", "not to be told apart by most"),
        ("good_match", "a good match"),
        ("acceptable", "accepted by most"),
        ("commercial_match", "a commercial match"),
        ("obvious", "visibly different"),
    ):
        if size <= _STEPS[quantity].value:
            return words
    return "obviously different"


def _pair(lab1: object, lab2: object) -> tuple[Array, Array]:
    first = check_array("lab1", lab1, 3, least=-1000, most=1000)
    second = check_array("lab2", lab2, 3, least=-1000, most=1000)
    check_shapes("lab1 and lab2", first, second)
    return first, second


def _hue_step_and_mean(h1: Array, h2: Array, grey: Array) -> tuple[Array, Array]:
    """Hue difference and mean hue in degrees; equations 10 and 14 of the source."""
    raw, apart, total = h2 - h1, np.abs(h1 - h2), h1 + h2
    wide = apart > _HALF_TURN
    step = np.where(wide, np.where(raw > 0, raw - 360, raw + 360), raw)
    mean = np.where(wide, np.where(total < 360, total + 360, total - 360), total) / 2
    return np.where(grey, 0.0, step), np.where(grey, total, mean)


def _chroma_weight(chroma: Array) -> Array:
    power = chroma**7
    weight: Array = np.sqrt(power / (power + _CHROMA_KNEE))
    return weight


def _lightness_weight(lightness: Array) -> Array:
    square = (lightness - 50) ** 2
    weight: Array = 1 + 0.015 * square / np.sqrt(20 + square)
    return weight


def _hue_weight(hue: Array) -> Array:
    angle = np.radians(hue)
    weight: Array = (
        1
        - 0.17 * np.cos(angle - np.radians(30))
        + 0.24 * np.cos(2 * angle)
        + 0.32 * np.cos(3 * angle + np.radians(6))
        - 0.20 * np.cos(4 * angle - np.radians(63))
    )
    return weight
