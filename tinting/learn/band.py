"""What a fit predicts for a patch, and the band in which it will lie.

Three doubts add up: what the fit leaves open, the hand that lays on some 10 % more or less, and
what the model itself misses. The error of a reading comes on top for who compares with one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from data.rules import check_kind, check_number, check_whole, refuse
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array
from tinting.learn.fit import DyeFit
from tinting.learn.patches import Patches, colours, readings
from tinting.learn.posterior import reading_variance
from tinting.learn.prior import BRUSH_SCATTER
from tinting.skin.uptake import MOST_COATS

_DRAWS = 400
_SURFACES = np.array([[0.0, -128.0, -128.0], [100.0, 128.0, 128.0]])


@dataclass(frozen=True, kw_only=True, eq=False)
class Band:
    """A predicted colour: ``lab`` (3,), its ``covariance`` (3, 3) and the ``radius`` of its band.

    ``share`` of the patches painted so lie within ``radius`` of ``lab``, CIEDE2000. [dE]
    """

    lab: Array
    covariance: Array = field(repr=False)
    radius: float
    share: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Predictions:
    """CIELAB (M, 3) of many recipes, slopes (M, 3, P) against the parameters, (M, 3) the hand."""

    lab: Array = field(repr=False)
    slope: Array = field(repr=False)
    hand_slope: Array = field(repr=False)


def predict_band(
    fit: DyeFit,
    shares: Mapping[str, float],
    coats: int,
    *,
    base: str = "",
    error: float = 0.0,
    share: float = 0.8,
) -> Band:
    """Return the colour that a fit predicts for a recipe, and the band around it.

    Parameters
    ----------
    fit : DyeFit
        From `tinting.learn.fit.fit_dyes`.
    shares : mapping of dye name to volume share
        Dyes of the fit, together at most 1.
    coats : int
        0 to 50.
    base : str
        Name of one of the bases of the fit; left out, the first.
    error : float
        Error of the reading that the band is to be compared with, 0 for the patch itself. [dE]
    share : float
        How many of the patches the band is to hold, 0.05 to 0.99.

    Raises
    ------
    ValueError
        For wrong arguments.
    """
    check_kind("fit", fit, DyeFit, "a DyeFit")
    row = _checked_shares(shares, fit)
    number = check_whole("coats", coats, least=0, most=MOST_COATS)
    place = base_place(fit, base)
    reading = check_number("error", error, least=0.0, most=20.0, unit="dE")
    held = check_number("share", share, least=0.05, most=0.99)
    found = predictions(fit, row[None, :], np.array([float(number)]), place)
    covariance = prediction_covariance(found, fit.covariance, reading)
    return Band(
        lab=found.lab[0],
        covariance=covariance[0],
        radius=float(band_radius(found.lab, covariance, held)[0]),
        share=held,
    )


def predictions(fit: DyeFit, shares: Array, coats: Array, base: int = 0) -> Predictions:
    """Return what a fit predicts for shares (M, J) and coats (M,) on the base at a place."""
    part = list(fit.bases.values())[base]
    patches = Patches(
        shares=shares,
        coats=coats,
        base=[base] * coats.size,
        bare=np.broadcast_to(part.reflectance, (coats.size, part.reflectance.size)),
        specular=np.full((coats.size, 1), part.specular),
    )
    shown, slope, hand = readings(fit.parameters, np.zeros(coats.size), patches, fit.layout)
    lab, (lab_slope, lab_hand) = colours(shown, [slope, hand])
    return Predictions(lab=lab, slope=lab_slope, hand_slope=lab_hand)


def prediction_covariance(found: Predictions, covariance: Array, error: float) -> Array:
    """Return the covariance (M, 3, 3) of readings around predictions.

    ``covariance`` (P, P) is that of the parameters, ``error`` [dE] that of the reading.
    """
    known = np.einsum("mkp,pq,mlq->mkl", found.slope, covariance, found.slope, optimize=True)
    hand = found.hand_slope[:, :, None] * found.hand_slope[:, None, :] * BRUSH_SCATTER**2
    return np.asarray(known + hand + reading_variance(error) * np.eye(3))


def band_radius(lab: Array, covariance: Array, share: float, draws: int = _DRAWS) -> Array:
    """Return the CIEDE2000 (M,) within which ``share`` of the colours around (M, 3) lie.

    By ``draws`` (at most 400) from a normal distribution, always the same.
    """
    size, axes = np.linalg.eigh(covariance)
    # rounding can leave a direction without spread slightly below zero
    root = axes * np.sqrt(np.maximum(size, 0.0))[:, None, :]
    around = lab[:, None, :] + np.einsum("mkl,dl->mdk", root, _draws()[:draws])
    # far out the straight lines of a slope leave what any surface can look like
    around = np.clip(around, *_SURFACES)
    return np.asarray(np.quantile(delta_e(lab[:, None, :], around), share, axis=1))


def base_place(fit: DyeFit, base: object) -> int:
    """Return the place of a base in a fit by its name, 0 for no name; ValueError otherwise."""
    if isinstance(base, str) and base == "":
        return 0
    if not isinstance(base, str) or base not in fit.bases:
        raise refuse("base", "one of " + ", ".join(fit.bases), base)
    return list(fit.bases).index(base)


def _checked_shares(shares: Any, fit: DyeFit) -> Array:
    check_kind("shares", shares, Mapping, "a mapping of dye name to share")
    for name, value in shares.items():
        if name not in fit.dyes:
            raise refuse("dye", "one of " + ", ".join(fit.dyes), name)
        check_number(f"share of {name}", value, least=0.0, most=1.0)
    row = np.array([float(shares.get(name, 0.0)) for name in fit.dyes])
    if row.sum() > 1 + 1e-9:
        raise refuse("shares", "at most 1 together", f"{row.sum():g}")
    return row


@cache
def _draws() -> Array:
    """Standard normal triples, always the same, so that a band does not flicker."""
    return np.random.default_rng(2000).standard_normal((_DRAWS, 3))
