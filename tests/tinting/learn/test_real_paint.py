"""Learning from measured paint: two watercolours of the set in `tests/published/measured`.

Source: M.-Y. Chen, Y.-B. Huang, S.-P. Chang, M. Ouhyoung, arXiv:1904.00275 (2019), read; what was
changed is told in the folder's README. `tests/scripts/real_paint.py` prints the whole set. The
pastes at the end are invented, and say how bodies dyed through are followed.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.tinting.paste_world import ERROR, make_paint
from tests.tinting.real_paint import WHOLE, Paints, Score, alone, mixtures, painted, read_paints
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import estimate_band, predict_band
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.mix.ladder import tint_ladder
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.recipe.search import find_recipes
from tinting.skin.dyed import tint

NAMES = ("sap green", "ultramarine")


@pytest.fixture(scope="module")
def two() -> Paints:
    whole = read_paints()
    mixed = [pair for pair in whole.mixed if set(pair[0]) == set(NAMES)]
    found = {name: whole.alone[name] for name in NAMES}
    return dataclasses.replace(whole, alone=found, mixed=mixed)


@pytest.fixture(scope="module")
def learned(two: Paints) -> DyeFit:
    return fit_dyes(two.base, [s for name in NAMES for s in painted(two, name, 3, False)])


# half of what is held out of all six pigments: three swatches 1.2 / 2.8, six 0.8 / 1.8
@pytest.mark.parametrize(("count", "median", "tail"), [(3, 1.2, 2.8), (6, 0.8, 1.8)])
def test_swatches_help(two: Paints, count: int, median: float, tail: float) -> None:
    score = alone(two, count, spectra=False)
    assert score.median <= median
    assert score.tail <= tail
    assert score.held >= 0.65
    # 2.5 of all six pigments, of which here are two
    assert np.median(score.width) <= 2.8 * score.median


def test_more_swatches_make_mixtures_no_worse_and_bands_hold(two: Paints) -> None:
    one, six = (mixtures(two, count, spectra=False) for count in (1, 6))
    assert len(six.miss) == 9
    assert six.median <= one.median
    assert six.held >= 0.6


def test_a_wrong_model_is_told(learned: DyeFit) -> None:
    assert learned.model_error > 1.0
    found = {caution.key: caution.text for caution in learned.cautions}
    assert f"misses these swatches by {learned.model_error:.1f} in CIELAB" in found["model error"]


def test_every_way_gives_one_colour_for_one_mix(learned: DyeFit) -> None:
    """The change with load is part of the dye: band, tint, recipe, ladder and file agree."""
    shares = {"sap green": 0.02, "ultramarine": 0.06}
    mix = [(learned.dyes[name], share) for name, share in shares.items()]
    shown = tint(learned.base, mix, 2).lab()
    bare = [(dataclasses.replace(dye, absorptivity_change=None), share) for dye, share in mix]
    assert delta_e(tint(learned.base, bare, 2).lab(), shown) > 0.05
    np.testing.assert_allclose(predict_band(learned, shares, 2).lab, shown, atol=1e-9)
    plan = TintPlan(name="two", base=learned.base, mix=tuple(mix), coats=2, target=shown)
    ladder = tint_ladder(plan)
    np.testing.assert_allclose(ladder.rows[ladder.planned].rungs[1].lab, shown, atol=1e-9)
    again = tint_plan_from(plain(plan))
    np.testing.assert_allclose(again.result().lab(), shown, atol=1e-12)
    dyes = list(learned.dyes.values())
    for exact in (False, True):
        found = find_recipes(
            learned.base, dyes, shown, batch_volume=1e-5, drop_volume=1e-7, exact=exact
        )
        # 2 and 6 drops of 0.1 mL in 10 mL, 2 coats
        assert found.gap < 1e-9
        for recipe in found:
            parts = [(learned.dyes[name], share) for name, share in recipe.shares.items()]
            expected = tint(learned.base, parts, recipe.coats).lab()
            np.testing.assert_allclose(recipe.lab["D65"], expected, atol=1e-9)
            away = float(delta_e(expected, shown))
            assert recipe.worst == pytest.approx(away, abs=1e-9)


def test_a_recipe_is_as_sure_as_the_fit_says(learned: DyeFit) -> None:
    """Reference: `predict_band` for the shares and coats of each recipe; a dye that the fit does
    not know goes by what it says of itself."""
    wanted = tint(learned.base, [(learned.dyes["sap green"], 0.06)], 2).lab()
    stranger = dataclasses.replace(learned.dyes["sap green"], name="stranger", covariance=None)
    dyes = [*learned.dyes.values(), stranger]
    found = find_recipes(learned.base, dyes, wanted, fit=learned, count=12, drop_volume=1e-7)
    kinds = set()
    for recipe in found:
        if not recipe.drops:
            continue
        kinds.add("stranger" in recipe.drops)
        if "stranger" in recipe.drops:
            band = estimate_band(recipe.tint)
        else:
            band = predict_band(learned, recipe.shares, recipe.coats)
        np.testing.assert_allclose(recipe.band.covariance, band.covariance, atol=1e-9)
        # 400 draws, whose axes may come the other way round: a spread of 0.025 each
        assert recipe.probability == pytest.approx(band.within(2.0, wanted), abs=0.1)
    assert kinds == {True, False}
    elsewhere = dataclasses.replace(learned.base, name="another", scattering_thickness=0.3)
    recipe = find_recipes(elsewhere, dyes[:2], wanted, fit=learned, drop_volume=1e-7)[0]
    band = predict_band(learned, recipe.shares, recipe.coats, base=elsewhere)
    np.testing.assert_allclose(recipe.band.covariance, band.covariance, atol=1e-9)


def test_what_is_left_over_is_carried_on(two: Paints) -> None:
    fit = fit_dyes(two.base, painted(two, "ultramarine", 6, False))
    bare = dataclasses.replace(fit.dyes["ultramarine"], absorptivity_change=None)
    for amount in (0.01, 0.03, 0.1, 0.12):
        measured = lab(two.alone["ultramarine"][amount])
        with_it, without = (
            float(delta_e(tint(fit.base, [(dye, amount / WHOLE)], 1).lab(), measured))
            for dye in (fit.dyes["ultramarine"], bare)
        )
        assert with_it < without + 0.1


def test_pastes_that_dye_the_body_through() -> None:
    strong, mixed = Score(), Score()
    for seed in range(6):
        paint = make_paint(seed)
        every = []
        for name in paint.pastes:
            low = [paint.swatch({name: share}) for share in (0.02, 0.05)]
            fit = fit_dyes(paint.base(30.0), low)
            for share in (0.12, 0.25, 0.5):
                shown = tint(fit.base, [(fit.dyes[name], share)], 1).lab()
                strong.miss.append(float(delta_e(shown, lab(paint.shown({name: share})))))
                strong.width.append(predict_band(fit, {name: share}, 1, error=ERROR).radius)
            every += [*low, paint.swatch({name: 0.2})]
        fit = fit_dyes(paint.base(30.0), every)
        for _ in range(4):
            parts = paint.rng.dirichlet([1, 1, 1]) * paint.rng.uniform(0.03, 0.3)
            shares = dict(zip(paint.pastes, parts.tolist(), strict=True))
            shown = tint(fit.base, [(fit.dyes[n], s) for n, s in shares.items()], 1).lab()
            mixed.miss.append(float(delta_e(shown, lab(paint.shown(shares)))))
            mixed.width.append(predict_band(fit, shares, 1, error=ERROR).radius)
    assert strong.median <= 1.2
    assert strong.tail <= 3.0
    assert mixed.median <= 2.4
    assert min(strong.held, mixed.held) >= 0.6


def test_one_spectrum_tells_no_more_of_how_a_dye_builds_up_than_its_colour() -> None:
    """All six pigments: bands from one spectrum held 46 % of other amounts, from colours 88."""
    whole = read_paints()
    spectrum, colour = (alone(whole, 1, spectra=spectra) for spectra in (True, False))
    assert spectrum.held >= 0.65 and colour.held >= 0.65
    assert spectrum.median <= 1.2 * colour.median
    assert np.median(spectrum.width) <= 2.5 * spectrum.median
    pairs = mixtures(whole, 1, spectra=True)
    assert pairs.held >= 0.6


def test_no_dye_is_fitted_as_letting_nothing_through() -> None:
    """Alizarin from six swatches: where all short waves were taken away at every load, nothing
    could be carried on, and its own swatches were missed by 2 to 3."""
    whole = read_paints()
    fit = fit_dyes(whole.base, painted(whole, "alizarin crimson", 6, False))
    assert fit.differences.max() < 1.5
    score = alone(whole, 6, spectra=False)
    assert score.median <= 0.8 and score.tail <= 1.8 and score.held >= 0.65
