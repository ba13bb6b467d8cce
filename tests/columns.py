"""Loads under which a straight limb, clamped upright, buckles: closed forms for the tests."""

from __future__ import annotations

import math

from scipy.optimize import brentq
from scipy.special import jv


def buckling_weight(rigidity: float, length: float) -> float:
    """Weight per length, 7.83735 EI/L^3 [N/m]: Greenhill 1881, first zero of J(-1/3)."""
    zero = float(brentq(lambda x: jv(-1 / 3, x), 1.0, 3.0, xtol=1e-15, rtol=1e-15))
    return 2.25 * zero**2 * rigidity / length**3


def buckling_tip_load(rigidity: float, length: float) -> float:
    """Tip load of a weightless limb, pi^2/4 EI/L^2 [N]: Euler, any strength-of-materials text."""
    return math.pi**2 / 4 * rigidity / length**2
