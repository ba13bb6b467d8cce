"""The dyed skin as a layer of two-flux theory: one formula, for one part or a million recipes.

Kubelka and Munk (1931), Kubelka (1948): diffuse light in a flat layer over the part's own body,
with the base's absorption plus the dye's, D. Saunderson (1942): the surface between plastic and
air, k1 from outside and k2 of diffuse light from inside. All reflectances are shares from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from data import read_table
from tinting.colour.grid import Array

_SURFACE = read_table("constants")["tpu surface"]
EXTERNAL_REFLECTION = _SURFACE["external_reflection"].value
INTERNAL_REFLECTION = _SURFACE["internal_reflection"].value
_THROUGH = (1 - EXTERNAL_REFLECTION) * (1 - INTERNAL_REFLECTION)
_DARKEST = 1e-30
"""Reflectance under the surface below which nothing is left to absorb."""
_LEAST = 1e-12
"""Absorption of a skin without any, which keeps β coth β from being 0/0."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Layer:
    """The constants of the layer over one base, each (36,) or broadcasting with it.

    The reading is the base's minus ``gain`` D / (``level`` + ``slope`` D + β coth β) with
    β² = k (k + ``twice``) and k = ``own`` + D.
    """

    own: Array = field(repr=False)
    level: Array = field(repr=False)
    slope: Array = field(repr=False)
    gain: Array = field(repr=False)
    twice: float | Array


def reflectance_inside(measured: Array, specular: float | Array) -> Array:
    """Return the reflectance under the surface behind a reading, at most 1.

    Bands in which the reading is above what an ideal white under this surface gives count as
    ideal white; what is above stays on top of the tint as if it were gloss.

    Source: Saunderson (1942), R = ks + (1 - k1)(1 - k2) r / (1 - k2 r), solved for r.
    """
    read = measured - specular
    return np.asarray(np.clip(read / (_THROUGH + INTERNAL_REFLECTION * read), _DARKEST, 1.0))


def skin_layer(
    measured: Array, specular: float | Array, scattering_thickness: float | Array
) -> Layer:
    """Return the layer over a base that reads ``measured`` with so much of the surface in it.

    Notes
    -----
    Over its own body r, with q0 = (1 - r)²/2r, the layer of k = q0 τ + D reflects
    r - 2 r D / (τ (1 - r) + k + β coth β): the hyperbolic formula with the backing put in. It is
    laid under the surface as a difference, so that no dye gives the base back to the last bit.

    Source: Kubelka (1948), Saunderson (1942).
    """
    r, tau = reflectance_inside(measured, specular), scattering_thickness
    outward = 1 - INTERNAL_REFLECTION * r
    own = np.maximum((1 - r) ** 2 / (2 * r) * tau, _LEAST)
    return Layer(
        own=own,
        level=tau * (1 - r) + own,
        slope=1 + 2 * r * INTERNAL_REFLECTION / outward,
        gain=_THROUGH * 2 * r / outward**2,
        twice=2 * tau,
    )


def layer_loss(absorption: Any, k: Any, rest: Any, twice: Any, out: Any = None) -> Any:
    """Return D / (``rest`` + β coth β) with β² = k (k + ``twice``), in the precision of ``k``.

    ``k`` has the shape of the answer and is overwritten; so is ``out``, which then holds the
    answer, if an array of that shape is given.
    """
    beta = np.empty_like(k) if out is None else out
    np.add(k, twice, out=beta)
    np.multiply(beta, k, out=beta)
    np.sqrt(beta, out=beta)
    np.tanh(beta, out=k)
    np.divide(beta, k, out=beta)
    np.add(beta, rest, out=beta)
    np.divide(absorption, beta, out=beta)
    return beta
