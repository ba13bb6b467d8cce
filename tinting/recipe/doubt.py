"""How sure a recipe is: the covariance of its colour, and the probability that it matches.

Dyes that one fit knows are as doubtful together as the fit says; others as each dye says for
itself. Both are what `tinting.learn.band` gives for one mix, here for many rows at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tinting.colour.grid import Array
from tinting.learn.band import hand_scatter, prediction_covariance, predictions, scattered
from tinting.learn.fit import DyeFit, with_base
from tinting.learn.learned import MARK
from tinting.recipe.live import target_metric
from tinting.recipe.model import (
    MOST_DYES,
    Question,
    Rows,
    Whole,
    absorption_labs,
    load_labs,
    row_loads,
    slot_absorptions,
)
from tinting.skin.dyed import ESTIMATE_ERROR
from tinting.skin.inputs import Base, check_hand

MATCHED = 2.0
"""A recipe matches when it lies within this of the target, CIEDE2000. [dE]"""
_DRAWS = 200
_TOGETHER = 16
"""Rows whose joint covariance is worked out at once; only each one's own is kept."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FitPlace:
    """A fit that holds the base of a question, and the ``place`` of that base in it."""

    fit: DyeFit
    place: int


def fit_place(fit: DyeFit, base: Base) -> FitPlace:
    """Return a fit with a base in it: as a base of its own where it is one, else as a new one."""
    for place, part in enumerate(fit.bases.values()):
        same = np.allclose(part.reflectance, base.reflectance, rtol=0, atol=1e-9)
        if same and np.isclose(part.scattering_thickness, base.scattering_thickness):
            return FitPlace(fit=fit, place=place)
    wider, name = with_base(fit, base)
    return FitPlace(fit=wider, place=list(wider.bases).index(name))


def row_covariances(question: Question, rows: Rows, known: FitPlace | None) -> Array:
    """Return the covariance (N, L, 3, 3) of the CIELAB of recipes under every light.

    What a fit says is for D65 and 10 degree, and is taken for every light.
    """
    found = np.empty((rows.number, len(question.lights), 3, 3))
    by_fit = _known_rows(question, rows, known)
    if known is not None and by_fit.any():
        found[by_fit] = _fitted(question, rows[by_fit], known)[:, None]
    if not by_fit.all():
        found[~by_fit] = _estimated(question, rows[~by_fit])
    return found


def rough_probabilities(question: Question, rows: Rows, covariances: Array) -> Array:
    """Return about how probable it is (N,) that recipes match, by the worst light.

    CIEDE2000 is taken as it is for small differences from the target; `Band.within` has it whole.
    """
    labs = load_labs(question, rows.dyes, row_loads(question, rows))
    worst = np.ones(rows.number)
    for light, metric in enumerate(target_metric(question)):
        around = scattered(labs[:, light], covariances[:, light], _DRAWS)
        away = (around - question.targets[light]) @ metric.T
        worst = np.minimum(worst, ((away**2).sum(axis=2) <= MATCHED**2).mean(axis=1))
    return worst


def _names(question: Question) -> list[str]:
    return [dye.name.removesuffix(MARK) for dye in question.dyes]


def _known_rows(question: Question, rows: Rows, known: FitPlace | None) -> NDArray[np.bool_]:
    """Which recipes are of dyes that the fit knows."""
    if known is None:
        return np.zeros(rows.number, dtype=bool)
    inside = np.array([*(name in known.fit.dyes for name in _names(question)), True])
    return np.asarray(inside[rows.dyes].all(axis=1))


def _fitted(question: Question, rows: Rows, known: FitPlace) -> Array:
    """Covariance (N, 3, 3) as `tinting.learn.band.predict_band` has it."""
    columns = _columns(_names(question), list(known.fit.dyes))
    shares = np.zeros((rows.number, len(known.fit.dyes) + 1))
    share = rows.drops * (question.drop_volume / question.batches[rows.coats])[:, None]
    shares[np.arange(rows.number)[:, None], columns[rows.dyes]] = share
    coats = rows.coats.astype(float)
    parts, factor = [], check_hand(question.hand)
    for start in range(0, rows.number, _TOGETHER):
        those = slice(start, start + _TOGETHER)
        found = predictions(known.fit, shares[those, :-1], coats[those], known.place, factor)
        parts.append(prediction_covariance(known.fit, found, 0.0, hand_scatter(question.hand)))
    whole = np.concatenate(parts)
    # without a coat there is nothing to doubt
    whole[rows.coats == 0] = 0.0
    return whole


def _columns(names: Sequence[str], order: Sequence[str]) -> Whole:
    """The place of each name in an order, its end for those not in it and for no dye."""
    found = [order.index(name) if name in order else len(order) for name in names]
    return np.array([*found, len(order)], dtype=np.intp)


def _estimated(question: Question, rows: Rows) -> Array:
    """Covariance (N, L, 3, 3) as `tinting.learn.band.estimate_band` has it."""
    dyes, loads = rows.dyes, row_loads(question, rows)
    taken = slot_absorptions(question, dyes, loads, question.absorptivity)
    second = slot_absorptions(question, dyes, loads, question.second_absorptivity).sum(axis=1)

    def moved(spreads: Array) -> Array:
        """Half of what CIELAB moves by from weak to strong by twice the spreads (N, 3)."""
        ends = [
            absorption_labs(question, (taken * np.exp(sign * spreads / 2)[:, :, None]).sum(axis=1))
            for sign in (1, -1)
        ]
        return np.asarray(ends[0] - ends[1])

    moves = [absorption_labs(question, second) - absorption_labs(question, taken.sum(axis=1))]
    strange = (question.strangers[dyes] & (rows.drops > 0)).any(axis=1)
    scatter = np.where(strange, hand_scatter(question.hand, True), hand_scatter(question.hand))
    moves.append(scatter[:, None, None] * moved(np.ones(dyes.shape)))
    spreads = question.strength_spreads[dyes]
    moves += [moved(spreads * axis) for axis in np.eye(MOST_DYES)]
    away = np.stack(moves)
    painted = (rows.coats > 0) & (rows.drops.sum(axis=1) > 0)
    known = np.where(painted, ESTIMATE_ERROR**2 + (question.missed[dyes] ** 2).sum(axis=1), 0.0)
    covariance = np.einsum("knli,knlj->nlij", away, away)
    return np.asarray(covariance + known[:, None, None, None] / 3 * np.eye(3))
