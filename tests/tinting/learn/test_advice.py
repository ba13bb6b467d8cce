"""The next swatch: it narrows the bands, as much as foreseen, and does not repeat for ever."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from tests.tinting.learn.test_fit import CLEAR, SIX, WHITE, painted
from tinting.learn.advice import RECIPES, NextSwatch, next_swatch
from tinting.learn.band import (
    band_radius,
    joint_covariance,
    prediction_covariance,
    predictions,
)
from tinting.learn.fit import DyeFit, fit_dyes

FIRST_SWATCH = (1 / 8, 3)
"""Share and coats to begin with, while nothing is known of the dye."""
ONE = fit_dyes(CLEAR, [painted({"red": FIRST_SWATCH[0]}, FIRST_SWATCH[1], error=1.0)])


def mean_radius(fit: DyeFit) -> float:
    found = predictions(
        fit, np.array([[s] for s, _ in RECIPES]), np.array([float(n) for _, n in RECIPES])
    )
    covariance = prediction_covariance(fit, found, 0.0)
    return float(band_radius(found.lab, covariance, 0.8).mean())


def test_after_the_first_swatch_a_strong_one_and_then_a_weak_one() -> None:
    swatches = [painted({"red": FIRST_SWATCH[0]}, FIRST_SWATCH[1], error=1.0)]
    amounts = []
    for _ in range(2):
        best = next_swatch(fit_dyes(CLEAR, swatches), "red", error=1.0)
        swatches.append(painted({"red": best.share}, best.coats, error=1.0))
        amounts.append(best.share * best.coats)
    assert amounts[0] > 1 > 3 / 8 >= amounts[1]


def test_the_bands_narrow_about_as_foreseen() -> None:
    swatches = [painted({"red": s}, n, error=1.0) for s, n in SIX[:2]]
    fit = fit_dyes(CLEAR, swatches)
    best = next_swatch(fit, "red", error=1.0)
    after = fit_dyes(CLEAR, [*swatches, painted({"red": best.share}, best.coats, error=1.0)])
    assert best.radius == pytest.approx(mean_radius(fit), rel=0.05)
    assert best.expected_radius < best.radius
    assert mean_radius(after) == pytest.approx(best.expected_radius, rel=0.25)


def test_no_other_recipe_is_foreseen_to_do_better() -> None:
    """Second route: the covariance after a swatch from the sum of the informations."""
    fit = fit_dyes(CLEAR, [painted({"red": s}, n, error=1.0) for s, n in SIX[:2]])
    best = next_swatch(fit, "red", error=1.0)
    found = predictions(
        fit, np.array([[s] for s, _ in RECIPES]), np.array([float(n) for _, n in RECIPES])
    )
    count = len(RECIPES)
    whole = joint_covariance(fit, found).reshape(3 * count, 3 * count)
    information = np.linalg.inv(whole)
    each = np.arange(count)
    radii = []
    for place, hand in enumerate(found.hand_slope):
        own = slice(3 * place, 3 * place + 3)
        added = information.copy()
        added[own, own] += np.linalg.inv(np.eye(3) / 3 + 0.1**2 * np.outer(hand, hand))
        after = np.linalg.inv(added).reshape(count, 3, count, 3)[each, :, each, :]
        hands = 0.1**2 * found.hand_slope[:, :, None] * found.hand_slope[:, None, :]
        radii.append(float(band_radius(found.lab, after + hands, 0.8, 100).mean()))
    assert RECIPES[int(np.argmin(radii))] == (best.share, best.coats)
    assert min(radii) == pytest.approx(best.expected_radius, rel=1e-3)


@pytest.mark.parametrize("error", [0.4, 4.0])
def test_never_three_repeats_in_a_row(error: float) -> None:
    swatches = [painted({"red": FIRST_SWATCH[0]}, FIRST_SWATCH[1], error=error)]
    recipes = [FIRST_SWATCH]
    for _ in range(7):
        best = next_swatch(fit_dyes(CLEAR, swatches), "red", error=error)
        recipes.append((best.share, best.coats))
        swatches.append(painted({"red": best.share}, best.coats, error=error))
    assert all(len(set(recipes[i : i + 3])) > 1 for i in range(len(recipes) - 2))


def test_what_was_just_painted_twice_is_not_asked_for_again() -> None:
    best = next_swatch(ONE, "red")
    again = painted({"red": best.share}, best.coats)
    # the same knowledge, with another record of what was painted last
    once = dataclasses.replace(ONE, swatches=(*ONE.swatches, again))
    assert next_swatch(once, "red") == best
    twice = dataclasses.replace(ONE, swatches=(*ONE.swatches, again, again))
    other = next_swatch(twice, "red")
    assert (other.share, other.coats) != (best.share, best.coats)
    mixed = painted({"red": 0.1, "blue": 0.1}, 2)
    elsewhere = dataclasses.replace(ONE, swatches=(again, again, ONE.swatches[0], mixed))
    assert next_swatch(elsewhere, "red") == best


def test_left_out_the_dye_is_the_one_least_known() -> None:
    swatches = [painted({"red": s}, n, error=1.0) for s, n in SIX]
    fit = fit_dyes(CLEAR, [*swatches, painted({"blue": 1 / 8}, 3, error=1.0)])
    best = next_swatch(fit)
    assert best.dye == "blue"
    assert best.radius == next_swatch(fit, "blue").radius > next_swatch(fit, "red").radius


def test_it_can_ask_for_another_base() -> None:
    swatches = [painted({"red": s}, n, base="a") for s, n in SIX]
    fit = fit_dyes({"a": CLEAR, "b": WHITE}, swatches)
    best = next_swatch(fit, "red", base="b")
    assert best.base == "b"
    assert best.radius > next_swatch(fit, "red").radius
    assert isinstance(best, NextSwatch)


@pytest.mark.parametrize(
    ("arguments", "more", "message"),
    [
        ((3,), {}, "fit must be a DyeFit"),
        ((ONE, "green"), {}, "dye must be one of red; got 'green'"),
        ((ONE, None), {}, "dye must be one of red"),
        ((ONE, "red"), {"base": 4}, "base must be one of clear"),
        ((ONE, "red"), {"error": 0.0}, "error must be"),
        ((ONE, "red"), {"error": float("nan")}, "error must be"),
    ],
)
def test_wrong_arguments_are_refused(arguments: Any, more: Any, message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        next_swatch(*arguments, **more)
    assert str(refusal.value).startswith(message)
