"""Light, observer and scale of every colour: by way of colour-science.

Spectra stand on the grid of `tinting.skin.inputs`, 380 to 730 nm by 10 nm. XYZ has Y = 100 for the
perfect white under each light, CIELAB uses that light's own white. Light, observer and white
are fixed here, because a perfect white comes out as L* = 522 when the scales are mixed.

The integration is one matrix per light and observer (method ASTM E308). These and the basis of
usual spectra are tables of colour-science, kept beside ours because the library takes over a
second to import; a test holds them equal.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import numpy as np

from data import FOLDER
from data.rules import check_choice, check_number, refuse
from tinting.colour.difference import delta_e as delta_e
from tinting.colour.grid import BANDS, Array, check_array

LIGHTS = {
    "D65": "D65",
    "D50": "D50",
    "A": "A",
    "FL2": "FL2",
    "FL11": "FL11",
    "LED-B3": "LED-B3",
    "shop LED": "LED-B4",
}
"""Our names -> names in the library. "shop LED" is the CIE's phosphor LED of 5100 K, the cool
white of workshop and shop tubes; LED-B3 is that of 4100 K."""
_IN_WORDS = {
    "D65": "daylight",
    "D50": "warm daylight",
    "A": "warm lamp",
    "FL2": "cool white tube",
    "FL11": "three-band tube",
    "LED-B3": "neutral LED",
    "shop LED": "cool LED",
}
OBSERVERS = (2, 10)
"""The CIE's standard observers of 1931 and 1964. [degree]"""
TABLES = FOLDER / "colorimetry.json"
_DELTA = 6 / 29


def light_names() -> tuple[str, ...]:
    """Return the names of the lights, daylight D65 first."""
    return tuple(LIGHTS)


def light_words(light: str) -> str:
    """Return what a light is called by who does not know the standard's code: "warm lamp" for A."""
    return _IN_WORDS[check_choice("light", light, light_names())]


def weights(light: str = "D65", observer: int = 10) -> Array:
    """Return the matrix W (36, 3) with XYZ = reflectance @ W; read-only.

    Parameters
    ----------
    light : str
        One of `light_names`.
    observer : int
        2 or 10. [degree]

    Raises
    ------
    ValueError
        For an unknown light or observer.

    Notes
    -----
    The white is ``W.sum(0)``, with Y = 100. Source: the weighting factors of ASTM E2022 and E308
    in colour-science; equal to its integration of any spectrum on this grid.
    """
    name = check_choice("light", light, light_names())
    degrees = check_number("observer", observer)
    if degrees not in OBSERVERS:
        raise refuse("observer", "2 or 10 degree", observer)
    return _weights(name, int(degrees))


def white(light: str = "D65", observer: int = 10) -> Array:
    """Return XYZ (3,) of the perfect white under a light, Y = 100."""
    return np.asarray(weights(light, observer).sum(axis=0))


def xyz(reflectance: object, light: str = "D65", observer: int = 10) -> Array:
    """Return XYZ (..., 3) of spectra (..., 36), Y = 100 for the perfect white.

    Reflectance factors from 0 to 10 are taken: a fluorescent sample may exceed 1.
    """
    spectra = check_array("reflectance", reflectance, BANDS, least=0.0, most=10.0)
    return spectra @ weights(light, observer)


def lab_from_xyz(xyz: object, light: str = "D65", observer: int = 10) -> Array:
    """Return CIELAB (..., 3) of XYZ (..., 3) against the white of the light.

    Source: CIE 15:2004, equations 8.3 to 8.8, exact fractions (6/29).
    """
    values = check_array("xyz", xyz, 3, least=-1e4, most=1e4)
    return _lab(values / white(light, observer))


def xyz_from_lab(lab: object, light: str = "D65", observer: int = 10) -> Array:
    """Return XYZ (..., 3) of CIELAB (..., 3), the inverse of `lab_from_xyz`."""
    values = check_array("lab", lab, 3, least=-1000, most=1000)
    fy = (values[..., 0] + 16) / 116
    f = np.stack([fy + values[..., 1] / 500, fy, fy - values[..., 2] / 200], axis=-1)
    ratio = np.where(f > _DELTA, f**3, 3 * _DELTA**2 * (f - 4 / 29))
    return ratio * white(light, observer)


def lab(reflectance: object, light: str = "D65", observer: int = 10) -> Array:
    """Return CIELAB (..., 3) of spectra (..., 36) under a light for an observer."""
    matrix = weights(light, observer)
    spectra = check_array("reflectance", reflectance, BANDS, least=0.0, most=10.0)
    return _lab(spectra @ matrix / matrix.sum(axis=0))


def otsu_reflectance(xyz: object, light: str = "D65", observer: int = 10) -> Array:
    """Return the spectrum (36,) that the Otsu basis gives for XYZ (3,); it may leave 0 to 1.

    Raises
    ------
    ValueError
        For XYZ without light (X + Y + Z not above zero).

    Notes
    -----
    Source: H. Otsu, M. Yamamoto and T. Hachisuka, Computer Graphics Forum 37 (2018) 370-381,
    with the basis that colour-science ships; unclipped, so XYZ is met exactly.
    """
    values = check_array("xyz", xyz, 3, least=-1e4, most=1e4)
    if values.shape != (3,):
        raise refuse("xyz", "one triple", f"shape {values.shape}")
    if values.sum() <= 0:
        raise refuse("xyz", "a colour with light in it", values)
    matrix = weights(light, observer)
    basis, mean = _usual_spectra(values[:2] / values.sum())
    share = np.linalg.solve((basis @ matrix).T, values - mean @ matrix)
    return np.asarray(mean + share @ basis, dtype=np.float64)


def _lab(ratio: Array) -> Array:
    linear = ratio / (3 * _DELTA**2) + 4 / 29
    f = np.where(ratio > _DELTA**3, np.cbrt(ratio), linear)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])],
        axis=-1,
    )


@cache
def _tables() -> Any:
    return json.loads(TABLES.read_text(encoding="utf-8"))


@cache
def _weights(light: str, observer: int) -> Array:
    matrix = np.array(_tables()["weights"][f"{light}, {observer} degree"]).T
    matrix.flags.writeable = False
    return matrix


def _usual_spectra(xy: Array) -> tuple[Array, Array]:
    """Return three basis spectra (3, 36) and the mean (36,) of those with about a chromaticity.

    The tree holds rows of a bound, the coordinate it is for, and where to go up to it and above
    it: a row of the tree where negative, else a group of spectra.
    """
    tables, row = _tables(), 0
    while True:
        bound, axis, below, above = tables["tree"][row]
        group = int(below if xy[int(axis)] <= bound else above)
        if group >= 0:
            return np.array(tables["basis"][group]), np.array(tables["means"][group])
        row = -group
