"""Colours on a screen: sRGB in and out, and white adaptation.

sRGB means D65 and the 2 degree observer, while everything else in this package is for 10
degree. The way from a screen colour to a 10 degree CIELAB and back goes through a spectrum, see
`tinting.colour.spectrum.lab_of_screen_colour` and `srgb_from_lab` there.
"""

from __future__ import annotations

import re

import numpy as np

from data.rules import refuse
from tinting.colour.grid import Array, check_array

_XYZ_FROM_LINEAR = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
"""IEC 61966-2-1:1999, section 5.2."""
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
_HALF_STEP = 0.5 / 255
"""What an 8-bit screen cannot show anyway."""


def srgb_from_xyz(xyz: object) -> Array:
    """Return sRGB (..., 3) of XYZ (..., 3) under D65 for 2 degree, Y = 100; not clipped.

    A value below 0 or above 1 is a colour that the screen cannot show, see `in_gamut`.
    Source: IEC 61966-2-1:1999.
    """
    values = check_array("xyz", xyz, 3, least=-1e4, most=1e4)
    linear = values / 100 @ np.linalg.inv(_XYZ_FROM_LINEAR).T
    size = np.abs(linear)
    encoded = np.where(size > 0.0031308, 1.055 * size ** (1 / 2.4) - 0.055, 12.92 * size)
    signed: Array = np.copysign(encoded, linear)
    return signed


def xyz_from_srgb(rgb: object) -> Array:
    """Return XYZ (..., 3) under D65 for 2 degree, Y = 100, of sRGB (..., 3) from 0 to 1."""
    values = check_array("rgb", rgb, 3, least=0.0, most=1.0)
    return np.asarray(100 * linear_rgb(values) @ _XYZ_FROM_LINEAR.T)


def linear_rgb(encoded: Array) -> Array:
    """Return the linear values of sRGB values from 0 to 1. Source: IEC 61966-2-1:1999."""
    bright = ((encoded + 0.055) / 1.055) ** 2.4
    return np.asarray(np.where(encoded > 0.04045, bright, encoded / 12.92))


def in_gamut(rgb: object) -> bool:
    """Say whether unclipped sRGB colours (..., 3) can all be shown (half an 8-bit step spare)."""
    values = check_array("rgb", rgb, 3, least=-1e4, most=1e4)
    return bool(values.min() >= -_HALF_STEP and values.max() <= 1 + _HALF_STEP)


def hex_from_srgb(rgb: object) -> str:
    """Return "#rrggbb" of one sRGB colour (3,) from 0 to 1."""
    values = check_array("rgb", rgb, 3, least=0.0, most=1.0)
    if values.shape != (3,):
        raise refuse("rgb", "one colour of three numbers", f"shape {values.shape}")
    return "#" + "".join(f"{round(float(value) * 255):02x}" for value in values)


def srgb_from_hex(text: object, name: str = "colour") -> Array:
    """Return sRGB (3,) from 0 to 1 of a text like "#7a9b3c" (the # may be missing)."""
    found = re.fullmatch(r"\s*#?([0-9a-fA-F]{6})\s*", text) if isinstance(text, str) else None
    if found is None:
        raise refuse(name, "six hexadecimal digits like #7a9b3c", text)
    return np.array([int(found[1][i : i + 2], 16) / 255 for i in (0, 2, 4)])


def adaptation_matrix(white_from: object, white_to: object) -> Array:
    """Return the Bradford matrix M (3, 3): XYZ seen under the second white = M @ XYZ.

    Parameters
    ----------
    white_from, white_to : array_like (3,)
        XYZ of the whites on one scale, every value above zero.

    Notes
    -----
    Source: K. M. Lam's Bradford transform as ICC profiles use it.
    """
    cones = []
    for name, value in (("white_from", white_from), ("white_to", white_to)):
        values = check_array(name, value, 3, least=1e-6, most=1e4)
        if values.shape != (3,):
            raise refuse(name, "one triple", f"shape {values.shape}")
        response = _BRADFORD @ values
        if response.min() <= 1e-9:
            raise refuse(name, "a white, about as bright in X, Y and Z", values)
        cones.append(response)
    matrix: Array = np.linalg.solve(_BRADFORD, np.diag(cones[1] / cones[0]) @ _BRADFORD)
    return matrix
