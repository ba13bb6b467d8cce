"""Bands of predictions: what they hold, and how they grow and shrink."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.tinting.learn.test_fit import CLEAR, SIX, WHITE, painted
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import band_radius, predict_band, prediction_covariance, predictions
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.skin.dyed import tint

ONE = fit_dyes(CLEAR, [painted({"red": 1 / 8}, 3, error=1.0)])
FULL = fit_dyes(CLEAR, [painted({"red": s}, n, error=1.0) for s, n in SIX])


def radius(fit: DyeFit, volume: float, coats: int, **more: Any) -> float:
    return predict_band(fit, {"red": volume}, coats, **more).radius


def test_the_middle_is_what_tint_predicts() -> None:
    found = predict_band(FULL, {"red": 0.2}, 2)
    expected = tint(FULL.base, [(FULL.dyes["red"], 0.2)], 2).lab()
    np.testing.assert_allclose(found.lab, expected, atol=1e-9)
    assert found.share == 0.8


def test_on_another_base_the_middle_is_what_tint_predicts_there() -> None:
    swatches = [painted({"red": s}, n, base="a") for s, n in SIX]
    swatches += [painted({"red": 0.1}, 2, WHITE, base="b")]
    fit = fit_dyes({"a": CLEAR, "b": WHITE}, swatches)
    expected = tint(fit.bases["b"], [(fit.dyes_on("b")["red"], 0.2)], 2).lab()
    np.testing.assert_allclose(predict_band(fit, {"red": 0.2}, 2, base="b").lab, expected)


def test_without_a_coat_only_the_model_is_in_doubt() -> None:
    found = predict_band(ONE, {"red": 0.2}, 0)
    np.testing.assert_allclose(found.lab, lab(CLEAR.reflectance))
    own = 0.15**2 + (0.12 * ONE.model_error) ** 2
    np.testing.assert_allclose(found.covariance, np.eye(3) * own / 3, atol=1e-12)


def test_the_band_is_wider_far_from_what_was_painted() -> None:
    assert radius(ONE, 1 / 2, 5) > 2 * radius(ONE, 1 / 8, 3)
    assert radius(ONE, 1 / 32, 1) > radius(ONE, 1 / 8, 3)


def test_more_swatches_narrow_the_band() -> None:
    for recipe in ((1 / 4, 2), (1 / 2, 4), (1 / 32, 2)):
        assert radius(FULL, *recipe) < radius(ONE, *recipe)


def test_a_reading_of_the_patch_adds_its_own_error() -> None:
    plain, read = radius(FULL, 0.2, 2), radius(FULL, 0.2, 2, error=4.0)
    assert read > plain + 0.5
    assert radius(FULL, 0.2, 2, share=0.95) > plain > radius(FULL, 0.2, 2, share=0.5)


def test_the_radius_of_a_round_band_of_greys_in_closed_form() -> None:
    # on L* alone at L* = 50, where CIEDE2000 counts lightness as it is: |z| < 1.2816 holds 80 %
    covariance = np.zeros((1, 3, 3))
    covariance[0, 0, 0] = 0.25
    found = band_radius(np.array([[50.0, 0.0, 0.0]]), covariance, 0.8)
    # 400 draws: the quantile has a standard error of 0.036
    assert found[0] == pytest.approx(0.5 * 1.2816, abs=0.08)


def test_the_band_holds_80_percent_of_patches_painted_by_the_model() -> None:
    rng = np.random.default_rng(4)
    inside = []
    for _ in range(12):
        swatches = [
            painted(
                {"red": s * float(np.exp(0.1 * rng.standard_normal()))},
                n,
                shift=rng.standard_normal(3) / np.sqrt(3),
                error=1.0,
            )
            for s, n in SIX[1:4]
        ]
        # the hand is not known: the swatches are booked as meant
        meant = [
            type(swatch)(shares={"red": s}, coats=n, lab=swatch.lab, error=1.0)
            for swatch, (s, n) in zip(swatches, SIX[1:4], strict=True)
        ]
        fit = fit_dyes(CLEAR, meant)
        for share, coats in ((1 / 20, 2), (1 / 5, 1), (1 / 3, 4), (1 / 10, 5)):
            hand = float(np.exp(0.1 * rng.standard_normal()))
            reading = painted({"red": share * hand}, coats).lab + rng.standard_normal(3) / 3**0.5
            found = predict_band(fit, {"red": share}, coats, error=1.0)
            inside.append(bool(delta_e(found.lab, reading) <= found.radius))
    # 48 patches: standard error 6 %
    assert 0.7 <= np.mean(inside) <= 0.98


def test_covariances_are_symmetric_and_positive() -> None:
    shares = np.array([[s] for s, _ in SIX])
    found = predictions(FULL, shares, np.array([float(n) for _, n in SIX]))
    covariance = prediction_covariance(FULL, found, 0.0)
    np.testing.assert_allclose(covariance, np.swapaxes(covariance, 1, 2), atol=1e-9)
    assert np.linalg.eigvalsh(covariance).min() > 0


def test_a_band_does_not_flicker() -> None:
    assert radius(FULL, 0.2, 2) == radius(FULL, 0.2, 2)


@pytest.mark.parametrize(
    ("arguments", "more", "message"),
    [
        ((None, {"red": 0.1}, 2), {}, "fit must be a DyeFit"),
        ((FULL, None, 2), {}, "shares must be a mapping of dye name to share"),
        ((FULL, {"blue": 0.1}, 2), {}, "dye must be one of red; got 'blue'"),
        ((FULL, {"red": 1.1}, 2), {}, "share of red must be"),
        ((FULL, {"red": float("nan")}, 2), {}, "share of red must be"),
        ((FULL, {"red": 0.1}, 2.5), {}, "coats must be"),
        ((FULL, {"red": 0.1}, 51), {}, "coats must be"),
        ((FULL, {"red": 0.1}, 2), {"base": "x"}, "base must be one of clear; got 'x'"),
        ((FULL, {"red": 0.1}, 2), {"error": -1.0}, "error must be"),
        ((FULL, {"red": 0.1}, 2), {"share": 1.0}, "share must be"),
    ],
)
def test_wrong_arguments_are_refused(arguments: Any, more: Any, message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        predict_band(*arguments, **more)
    assert str(refusal.value).startswith(message)
