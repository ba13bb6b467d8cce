"""Which swatch to paint next: the one after which the predictions are least in doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from data.rules import Caution, check_kind, check_number, refuse
from tinting.colour.grid import Array
from tinting.learn.band import (
    Predictions,
    band_radius,
    base_place,
    joint_covariance,
    prediction_covariance,
    predictions,
)
from tinting.learn.fit import DyeFit, with_base
from tinting.learn.prior import BRUSH_SCATTER
from tinting.skin.inputs import Base

RECIPES = tuple(
    (share, coats) for share in (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0) for coats in range(1, 6)
)
_BAND = 0.8
_DRAWS = 100
"""Enough for a mean over all recipes."""
_MOST_REPEATS = 2


@dataclass(frozen=True, kw_only=True)
class NextSwatch:
    """What to paint next: ``share`` of ``dye`` and ``coats``, alone, on ``base``.

    ``radius`` is the mean radius of the 80 % bands over the dye's recipes as it is,
    ``expected_radius`` as it will be after this swatch. [dE]
    """

    dye: str
    base: str
    share: float
    coats: int
    radius: float
    expected_radius: float
    cautions: tuple[Caution, ...]


def next_swatch(
    fit: DyeFit, dye: str = "", *, base: str | Base = "", error: float = 2.0
) -> NextSwatch:
    """Return the share and coats that would narrow the predictions of a dye most.

    Parameters
    ----------
    fit : DyeFit
        From `tinting.learn.fit.fit_dyes`.
    dye : str
        Name of one of its dyes; left out, the one that is least known.
    base : str or Base
        Name of the base to predict and paint on; left out, the first. A Base that no swatch of
        the fit lies on is taken as `tinting.learn.fit.with_base` takes it.
    error : float
        Error of the reading that is to come, 0.01 to 20. [dE]

    Returns
    -------
    NextSwatch
        Out of shares 1/32 to 1 and 1 to 5 coats; never the same recipe three times in a row.

    Raises
    ------
    ValueError
        For wrong arguments.

    Notes
    -----
    The covariance of the parameters after a swatch does not depend on what it will read, so the
    band of every recipe can be foreseen (to first order, as the fit stands).
    """
    check_kind("fit", fit, DyeFit, "a DyeFit")
    if isinstance(base, Base):
        fit, base = with_base(fit, base)
    place = base_place(fit, base)
    reading = check_number("error", error, least=0.01, most=20.0, unit="dE")
    if not isinstance(dye, str) or (dye and dye not in fit.dyes):
        raise refuse("dye", "one of " + ", ".join(fit.dyes), dye)
    views = {name: _recipes(fit, name, place) for name in ([dye] if dye else fit.dyes)}
    radii = {name: _mean_radius(*view) for name, (_, *view) in views.items()}
    least_known = max(radii, key=lambda name: radii[name])
    worn = _worn_out(fit, least_known, list(fit.bases)[place])
    found, _, now = views[least_known]
    known = joint_covariance(fit, found)
    expected = [
        np.inf if recipe in worn else _mean_radius(found.lab, now - _gain(known, found, i, reading))
        for i, recipe in enumerate(RECIPES)
    ]
    best = int(np.argmin(expected))
    return NextSwatch(
        dye=least_known,
        base=list(fit.bases)[place],
        share=RECIPES[best][0],
        coats=RECIPES[best][1],
        radius=radii[least_known],
        expected_radius=float(expected[best]),
        cautions=fit.cautions,
    )


def _recipes(fit: DyeFit, dye: str, base: int) -> tuple[Predictions, Array, Array]:
    """Predictions of all recipes of a dye, their CIELAB (M, 3) and covariance (M, 3, 3)."""
    shares = np.zeros((len(RECIPES), len(fit.dyes)))
    shares[:, list(fit.dyes).index(dye)] = [share for share, _ in RECIPES]
    found = predictions(fit, shares, np.array([float(coats) for _, coats in RECIPES]), base)
    return found, found.lab, prediction_covariance(fit, found, 0.0)


def _gain(known: Array, found: Predictions, place: int, error: float) -> Array:
    """Covariance (M, 3, 3) that reading the recipe at a place takes off every recipe."""
    hand = found.hand_slope[place]
    own = known[place, :, place] + BRUSH_SCATTER**2 * np.outer(hand, hand)
    own = own + error**2 / 3 * np.eye(3)
    towards = known[:, :, place]
    sure = np.linalg.pinv(own, hermitian=True)
    return np.asarray(np.einsum("mki,ij,mlj->mkl", towards, sure, towards, optimize=True))


def _mean_radius(lab: Array, covariance: Array) -> float:
    return float(band_radius(lab, covariance, _BAND, _DRAWS).mean())


def _worn_out(fit: DyeFit, dye: str, base: str) -> set[tuple[float, int]]:
    """The recipe that the last swatches of a dye alone have repeated as often as is useful."""
    alone = [
        (float(swatch.shares[dye]), swatch.coats)
        for swatch in fit.swatches
        if [name for name, share in swatch.shares.items() if share > 0] == [dye]
        and (swatch.base or next(iter(fit.bases))) == base
    ]
    last = alone[-_MOST_REPEATS:]
    return set(last) if len(last) == _MOST_REPEATS and len(set(last)) == 1 else set()
