"""When a straight limb, clamped upright, buckles under its own weight and a load at its tip."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from data.rules import check_numbers, refuse
from flexcalc.chain import Array, Rows
from flexcalc.spacing import Mesh, Rods, cut_rod
from flexcalc.tridiagonal import chain_steps

RIGIDITY = (1e-12, 1e9)  # N m2
LENGTH = (1e-4, 1e3)  # m


def buckling_weight(flexural_rigidity: ArrayLike, length: ArrayLike) -> Array:
    """Return the weight per length under which an upright limb buckles by itself.

    Parameters
    ----------
    flexural_rigidity : number or array
        EI, the same all along. [N m2]
    length : number or array
        Height above the clamp. [m]

    Returns
    -------
    number or array
        7.83735 EI/L^3. [N/m]

    Notes
    -----
    Source: Greenhill 1881; 9/4 of the square of the first zero of the Bessel function J(-1/3),
    computed here.
    """
    rigidity, height = _rigidity_and_length(flexural_rigidity, length)
    return np.asarray(2.25 * _first_zero() ** 2 * rigidity / height**3)[()]


def buckling_tip_load(flexural_rigidity: ArrayLike, length: ArrayLike) -> Array:
    """Return the tip load under which an upright weightless limb buckles.

    Parameters
    ----------
    flexural_rigidity : number or array
        EI, the same all along. [N m2]
    length : number or array
        Height above the clamp. [m]

    Returns
    -------
    number or array
        pi^2/4 EI/L^2. [N]

    Notes
    -----
    Source: Euler's column with one end free, any strength-of-materials text.
    """
    rigidity, height = _rigidity_and_length(flexural_rigidity, length)
    return np.asarray(math.pi**2 / 4 * rigidity / height**2)[()]


@cache
def _first_zero() -> float:
    from scipy.optimize import brentq
    from scipy.special import jv

    return float(brentq(lambda x: jv(-1 / 3, x), 1.0, 3.0, xtol=1e-15, rtol=1e-15))


def _rigidity_and_length(rigidity: ArrayLike, length: ArrayLike) -> tuple[Array, Array]:
    stiff = check_numbers(
        "flexural rigidity", rigidity, least=RIGIDITY[0], most=RIGIDITY[1], unit="N m2"
    )
    height = check_numbers("length", length, least=LENGTH[0], most=LENGTH[1], unit="m")
    try:
        np.broadcast_shapes(stiff.shape, height.shape)
    except ValueError:
        raise refuse("length", f"of a shape that fits {stiff.shape}", height.shape) from None
    return stiff, height


def share_of_buckling_load(rods: Rods, breaks: tuple[float, ...]) -> Array:
    """Return the load (B,) over the one that buckles the straight rods, clamped upright.

    Relative error below 1e-4.
    """
    rows = np.arange(len(rods.tip))
    first, second = (_greatest_share(rods, cut_rod(breaks, 8, some), rows) for some in (0, 1))
    return np.asarray(second + (second - first) / 3)


def _greatest_share(rods: Rods, mesh: Mesh, rows: Rows) -> Array:
    """Largest ratio of the load's work to the joints' energy, by inverse iteration."""
    law = rods.law(mesh, rows)
    pull = rods.loads(mesh, rows) * mesh.segments
    stiffness = np.broadcast_to(law.flexural_rigidity, pull.shape) / mesh.joints
    greatest = np.maximum(pull.max(axis=1), np.finfo(float).tiny)
    pull = pull / greatest[:, None]
    shape = np.broadcast_to(mesh.middles, pull.shape)
    for _ in range(4):
        (shape,), _ = chain_steps(stiffness, np.zeros_like(pull), [pull * shape])
        shape = shape / np.maximum(np.abs(shape).max(axis=1), np.finfo(float).tiny)[:, None]
    turns = np.diff(shape, axis=1, prepend=0.0)
    energy = np.maximum(np.sum(stiffness * turns**2, axis=1), np.finfo(float).tiny)
    return np.asarray(greatest * np.sum(pull * shape**2, axis=1) / energy)
