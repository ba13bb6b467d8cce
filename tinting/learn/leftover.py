"""What a fit leaves over at the swatches: how large it is, and how it is carried on.

No model of a dyed skin is quite right. What it misses is taken for a smooth function of the
logarithm of the load, of its own for each dye: close by a swatch a recipe is missed by much the
same as the swatch, a factor of a few away by something else (a Gaussian process). How much it
misses is learned from the swatches themselves, drawn to nothing where they are few.

A fit knows that in CIELAB; a dye says it as a change of its absorptivity with load, the smoothest
of ln absorption, so that every light, every base and every mixture sees the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from data import read_table
from tinting.colour.grid import BANDS, Array
from tinting.learn.patches import Layout, Patches, colours
from tinting.learn.prior import BRUSH_SCATTER
from tinting.skin.absorptivity import STIFFNESS
from tinting.skin.dyed import skin_reflectance
from tinting.skin.inputs import CHANGE_LOADS, Base
from tinting.skin.uptake import laid_load

_FIT = read_table("dyes")["fit"]
MODEL_ERROR = _FIT["model_error"].value
"""What any model misses at any patch, of its own for each. [dE]"""
LENGTH = _FIT["left_over_length"].value
USUAL = _FIT["left_over"].value
OTHER_BASE = _FIT["left_over_likeness"].value
MIXED = _FIT["left_over_mixed"].value
OWN = _FIT["left_over_own"].value
AMPLITUDES = np.concatenate([[0.05, 0.2], np.geomspace(0.4, 12.0, 14)])
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
_LEAST_LOAD = 1e-9
_DOUBTED, _DOUBTFUL, _FEWEST = 3, 8.0, 3
"""So many swatches are looked at closer, above this surprise, where so many others are left."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Where N patches stand in what a model may miss, ``weights`` and ``lnloads`` (N, J) by dye.

    ``weights`` are the parts that dyes have in the absorption; ``base`` (N,) the base's place.
    """

    weights: Array
    lnloads: Array
    base: NDArray[np.intp]

    @property
    def alone(self) -> NDArray[np.bool_]:
        """Which patches show one dye alone (N,)."""
        return np.asarray(self.weights.max(axis=1) > 1 - 1e-6)


@dataclass(frozen=True, kw_only=True, eq=False)
class Leftover:
    """What is left over at A patches of one dye alone, by how much the model misses.

    ``amplitude`` [dE], ``places`` of the patches, ``pull`` (A, 3) with which each draws on
    predictions, ``sure`` (3 A, 3 A) the inverse of their covariance, ``slope`` (3 A, P) of their
    CIELAB against the parameters.
    """

    amplitude: float
    places: Places
    pull: Array
    sure: Array
    slope: Array


def patch_places(patches: Patches, layout: Layout, parameters: Array) -> Places:
    """Return where patches stand."""
    loads = laid_load(patches.shares, patches.coats[:, None], parameters[layout.coat_loss])
    base = np.asarray(patches.base, dtype=np.intp)
    amount = np.exp(parameters[layout.scale])[base][:, None]
    strong = loads * np.exp(parameters[layout.strength])
    weights = strong / np.maximum(strong.sum(axis=1, keepdims=True), 1e-300)
    return Places(
        weights=weights, lnloads=np.log(np.maximum(loads * amount, _LEAST_LOAD)), base=base
    )


def places_alone(dye: int, dyes: int, lnloads: Array, base: int) -> Places:
    """Return where patches of one dye alone stand by ln of their loads (M,)."""
    weights = np.zeros((lnloads.size, dyes))
    weights[:, dye] = 1.0
    return Places(
        weights=weights,
        lnloads=np.repeat(lnloads[:, None], dyes, axis=1),
        base=np.full(lnloads.size, base, dtype=np.intp),
    )


def likeness(one: Places, other: Places) -> Array:
    """Return how alike (N, M) what the model misses is between patches, 1 for the same one.

    What dyes do to each other in a mixture is not in it.
    """
    apart = (one.lnloads[:, None, :] - other.lnloads[None, :, :]) / LENGTH
    alike = one.weights[:, None, :] * other.weights[None, :, :] * np.exp(-0.5 * apart**2)
    base = np.where(one.base[:, None] == other.base[None, :], 1.0, OTHER_BASE)
    return np.asarray(alike.sum(axis=2) * base)


def own_miss(places: Places) -> Array:
    """Return the variance (N,) that a mixture has for itself, as a part of a dye's own."""
    return np.asarray(
        MIXED**2 * (places.weights.sum(axis=1) ** 2 - (places.weights**2).sum(axis=1))
    )


def miss_covariance(places: Places, amplitude: float) -> Array:
    """Return the covariance (N, N) of what the model misses on each axis of CIELAB."""
    whole = likeness(places, places) + np.diag(own_miss(places))
    own = MODEL_ERROR**2 + (OWN * amplitude) ** 2
    return np.asarray((amplitude**2 * whole + own * np.eye(len(whole))) / 3)


def likely_amplitude(
    places: Places,
    miss: Array,
    slope: Array,
    hand_slope: Array,
    error: Array,
    prior: Array,
) -> float:
    """Return how much the model misses at its own swatches. [dE]

    Parameters
    ----------
    places : Places
        Of N swatches.
    miss : ndarray (N, 3)
        CIELAB as read minus what the middle of the prior would read, straight on from the fit.
    slope, hand_slope : ndarray (N, 3, P), (N, 3)
        Of the readings.
    error : ndarray (N,)
        Of the readings. [dE]
    prior : ndarray (P, P)
        Covariance of the parameters before any swatch.

    Notes
    -----
    The geometric mean of what is likely, where the parameters may be what they like within their
    prior. Before any swatch it lies as a Cauchy distribution around 0: drawn to nothing where
    swatches say little, and free to be large where they say so.
    """
    n = len(miss)
    known = slope.reshape(3 * n, -1)
    fixed = known @ prior @ known.T + reading_covariance(hand_slope, error)
    worth = [
        _log_likelihood(fixed + np.kron(miss_covariance(places, a), np.eye(3)), miss.ravel())
        - np.log1p((a / USUAL) ** 2)
        for a in AMPLITUDES
    ]
    weight = np.exp(np.array(worth) - max(worth)) * np.gradient(AMPLITUDES)
    return float(np.exp((weight * np.log(AMPLITUDES)).sum() / weight.sum()))


def left_out(
    amplitude: float,
    places: Places,
    miss: Array,
    slope: Array,
    hand_slope: Array,
    error: Array,
    prior: Array,
) -> tuple[Array, Array]:
    """Return how far each swatch lies from what the others say of it; arguments as above.

    Returns
    -------
    miss : ndarray (N, 3)
        CIELAB as read minus what a fit to all the others would give.
    surprise : ndarray (N,)
        Its square in spreads, 3 on average; where it is large, by the model's error without it.
    """
    n = len(miss)
    known = slope.reshape(3 * n, -1)
    fixed = known @ prior @ known.T + reading_covariance(hand_slope, error)
    away, surprise = _from_the_others(fixed, places, amplitude, miss)
    for odd in np.argsort(-surprise)[:_DOUBTED]:
        rest = np.arange(n) != odd
        if surprise[odd] < _DOUBTFUL or rest.sum() < _FEWEST:
            continue
        others = Places(
            weights=places.weights[rest], lnloads=places.lnloads[rest], base=places.base[rest]
        )
        steady = likely_amplitude(
            others, miss[rest], slope[rest], hand_slope[rest], error[rest], prior
        )
        surprise[odd] = _from_the_others(fixed, places, steady, miss)[1][odd]
    return away, surprise


def _from_the_others(
    fixed: Array, places: Places, amplitude: float, miss: Array
) -> tuple[Array, Array]:
    n = len(miss)
    sure = np.linalg.inv(fixed + np.kron(miss_covariance(places, amplitude), np.eye(3)))
    pull = (sure @ miss.ravel()).reshape(n, 3)
    own = sure.reshape(n, 3, n, 3)[np.arange(n), :, np.arange(n), :]
    away: Array = np.asarray(np.linalg.solve(own, pull[:, :, None])[:, :, 0], dtype=np.float64)
    return away, np.asarray((away * pull).sum(axis=1))


def reading_covariance(hand_slope: Array, error: Array) -> Array:
    """Return the covariance (3 N, 3 N) of readings: their own error, and the hand of each."""
    n = len(hand_slope)
    found = np.zeros((n, 3, n, 3))
    each = np.arange(n)
    found[each, :, each, :] = (error**2 / 3)[:, None, None] * np.eye(3) + (
        hand_slope[:, :, None] * hand_slope[:, None, :] * BRUSH_SCATTER**2
    )
    return found.reshape(3 * n, 3 * n)


def left_over(
    amplitude: float,
    places: Places,
    miss: Array,
    slope: Array,
    hand_slope: Array,
    error: Array,
) -> Leftover:
    """Return what is left over at the patches of one dye alone; arguments as above.

    ``miss`` (N, 3) is CIELAB as read minus what the fit has.
    """
    alone = np.flatnonzero(places.alone)
    kept = Places(
        weights=places.weights[alone], lnloads=places.lnloads[alone], base=places.base[alone]
    )
    whole = reading_covariance(hand_slope[alone], error[alone])
    whole += np.kron(miss_covariance(kept, amplitude), np.eye(3))
    sure = np.linalg.inv(whole)
    return Leftover(
        amplitude=amplitude,
        places=kept,
        pull=(sure @ miss[alone].ravel()).reshape(-1, 3),
        sure=(sure + sure.T) / 2,
        slope=slope[alone].reshape(3 * alone.size, slope.shape[2]),
    )


def carried_lab(leftover: Leftover, places: Places) -> Array:
    """Return what is carried on to patches (M, 3), to be added to CIELAB of the fit."""
    near = leftover.amplitude**2 / 3 * likeness(places, leftover.places)
    return np.asarray(near @ leftover.pull)


def carried_slope(leftover: Leftover, places: Places, slope: Array) -> Array:
    """Return slopes (M, 3, P) of predictions with what their swatches hold fixed taken off."""
    near = _near(leftover, places)
    held = near @ leftover.sure @ leftover.slope
    return np.asarray(slope - held.reshape(slope.shape))


def open_covariance(leftover: Leftover, places: Places) -> Array:
    """Return the covariance (M, 3, M, 3) of what the model misses, swatches being known."""
    m = len(places.base)
    near = _near(leftover, places)
    whole = np.kron(miss_covariance(places, leftover.amplitude), np.eye(3))
    return np.asarray((whole - near @ leftover.sure @ near.T).reshape(m, 3, m, 3))


def _near(leftover: Leftover, places: Places) -> Array:
    near = leftover.amplitude**2 / 3 * likeness(places, leftover.places)
    return np.asarray(np.kron(near, np.eye(3)), dtype=np.float64)


def _log_likelihood(covariance: Array, miss: Array) -> float:
    root = np.linalg.cholesky(covariance)
    rest = np.linalg.solve(root, miss)
    return float(-0.5 * rest @ rest - np.log(np.diag(root)).sum())


def alone_counts(places: Places, dyes: int) -> Sequence[int]:
    """Return how many patches of each dye alone there are."""
    return [int((places.weights[:, j] > 1 - 1e-6).sum()) for j in range(dyes)]


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
