"""How the absorptivity of a learned dye changes with load, so that its own swatches come out.

What a fit leaves over is known in CIELAB; a dye says it as absorption, so that every light, every
base and every mixture sees the same. Taken is the smoothest change of ln absorption.
"""

from __future__ import annotations

import numpy as np

from tinting.colour.grid import BANDS, Array
from tinting.learn.patches import colours
from tinting.skin.absorptivity import STIFFNESS
from tinting.skin.dyed import skin_reflectance
from tinting.skin.inputs import CHANGE_LOADS, Base

_STEPS = 10
_FLOOR = 0.02
"""Part of the strongest absorption that a band without any may take as its own."""
_MOST = 3.0
"""ln of the most that absorption may change by."""
_SMALL = 0.1
"""Off by so much in CIELAB costs as much as a change of 1 in ln absorption. [dE]"""
_QUIET = 1e-3
_PARTS = (1.0, 0.3, 0.1)
_NUDGE = 1e-5
_STIFF = STIFFNESS + 0.1 * np.eye(BANDS)


def absorptivity_change(base: Base, absorptivity: Array, saturation: float, wanted: Array) -> Array:
    """Return the change of absorptivity (25, 36) at `CHANGE_LOADS`.

    Parameters
    ----------
    base : Base
        What the dye lies on, its skin as the fit has it.
    absorptivity, saturation : ndarray (36,), float
        Of the dye by the fit.
    wanted : ndarray (25, 3)
        What is to be added to CIELAB at each load.

    Notes
    -----
    A few damped steps; where no absorption does it, as near as they come.
    """
    taken = (CHANGE_LOADS / (1 + CHANGE_LOADS / saturation))[:, None]
    before = taken * absorptivity
    floor = _FLOOR * before.max(axis=1, keepdims=True)
    goal = colours(_shown(before, base), [])[0] + wanted
    soft = np.linalg.inv(_STIFF)

    def absorbed(ln: Array) -> Array:
        return np.asarray(np.maximum((before + floor) * np.exp(ln) - floor, 0.0))

    def away(ln: Array) -> Array:
        missed = goal - colours(_shown(absorbed(ln), base), [])[0]
        rough = np.einsum("mb,bc,mc->m", ln, _STIFF, ln)
        return np.asarray((missed**2).sum(axis=1) / _SMALL**2 + rough)

    ln = np.zeros_like(before)
    cost = away(ln)
    for _ in range(_STEPS):
        now = absorbed(ln)
        shown = _shown(now, base)
        step = _NUDGE * (now + floor)
        steep = (_shown(now + step, base) - shown) / _NUDGE
        found, (turn,) = colours(shown, [steep[:, :, None] * np.eye(BANDS)])
        rest = goal - found + (turn @ ln[:, :, None])[:, :, 0]
        spread = turn @ soft @ turn.transpose(0, 2, 1) + _SMALL**2 * np.eye(3)
        draw = np.linalg.solve(spread, rest[:, :, None])
        whole = (soft @ turn.transpose(0, 2, 1) @ draw)[:, :, 0] - ln
        for part in _PARTS:
            tried = ln + part * whole
            with np.errstate(over="ignore"):
                new = away(np.clip(tried, -_MOST, _MOST))
            better = new < cost
            ln[better], cost[better] = np.clip(tried, -_MOST, _MOST)[better], new[better]
    quiet = np.abs(wanted).max(axis=1, keepdims=True) < _QUIET
    return np.asarray(np.where(quiet, 0.0, absorbed(ln) / taken - absorptivity))


def _shown(absorption: Array, base: Base) -> Array:
    return skin_reflectance(absorption, base.reflectance, base.scattering_thickness, base.specular)
