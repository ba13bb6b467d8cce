"""Doubt in one dialect: probabilities that hold, other bases, estimates."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.tinting.learn.test_fit import BLUE, CLEAR, SIX, WHITE, painted
from tests.tinting.real_paint import HELD_OUT, WHOLE, read_paints
from tests.tinting.real_paint import painted as real_swatches
from tests.tinting.trials import ERROR, held_out, learn, make_bench
from tests.tinting.world import Manner
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.advice import next_swatch
from tinting.learn.band import estimate_band, predict_band
from tinting.learn.fit import fit_dyes, with_base
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.skin.absorptivity import dye_from_blot, dye_from_swatch
from tinting.skin.dyed import tint
from tinting.skin.inputs import base_from_lab

FIT = fit_dyes(CLEAR, [painted({"red": s}, n, error=1.0) for s, n in SIX[:3]])


def test_the_probability_is_that_of_the_band() -> None:
    band = predict_band(FIT, {"red": 0.2}, 2)
    assert band.within(band.radius) == pytest.approx(0.8, abs=0.01)
    assert band.within(0.0) == 0 and band.within(100.0) == 1
    # the farther the target, the less likely
    far = [band.within(2.0, band.lab + np.array([shift, 0, 0])) for shift in (0, 1, 3, 9)]
    assert far == sorted(far, reverse=True) and far[-1] < 0.1


def test_probabilities_come_true() -> None:
    """Patches of the synthetic world: of those given .2-.4 and so on, as many lie within.

    From three swatches on; after one the probabilities are too low there, see the bands.
    """
    said, seen = [], []
    for seed in range(14):
        bench = make_bench(seed, Manner(kind=("translucent", "opaque")[seed % 2]))
        fit = learn(bench, (3, 6)[seed // 2 % 2])
        for recipe in held_out(bench, []):
            band = predict_band(fit, *recipe, error=ERROR)
            away = float(delta_e(band.lab, bench.swatch(recipe).lab))
            for limit in (0.7, 1.2, 2.0):
                said.append(band.within(limit))
                seen.append(away <= limit)
    chance, came = np.array(said), np.array(seen)
    for least in (0.2, 0.4, 0.6):
        those = (chance >= least) & (chance < least + 0.2)
        assert those.sum() > 20
        assert came[those].mean() == pytest.approx(chance[those].mean(), abs=0.2)


def test_another_base_widens_the_band_and_keeps_it() -> None:
    like = dataclasses.replace(CLEAR, name="like", reflectance=CLEAR.reflectance - 0.05)
    radii = [
        predict_band(FIT, {"red": 0.2}, 2, base=base).radius for base in ("clear", like, WHITE)
    ]
    assert radii[0] < radii[1] < radii[2]
    fit, name = with_base(FIT, like)
    assert name == "like" and fit.bases[name].name == "like"
    shown = tint(fit.bases[name], [(fit.dyes_on(name)["red"], 0.2)], 2).lab()
    np.testing.assert_allclose(predict_band(FIT, {"red": 0.2}, 2, base=like).lab, shown, atol=1e-9)


def test_told_of_a_base_beforehand_or_afterwards() -> None:
    """Second route: a fit that was told of the base without a swatch on it."""
    swatches = [painted({"red": s}, n, error=1.0, base="clear") for s, n in SIX[:3]]
    told = fit_dyes({"clear": CLEAR, "white": WHITE}, swatches)
    afterwards, name = with_base(fit_dyes({"clear": CLEAR}, swatches), WHITE)
    for recipe in (({"red": 0.2}, 2), ({"red": 0.05}, 1)):
        one = predict_band(told, *recipe, base="white")
        other = predict_band(afterwards, *recipe, base=name)
        assert delta_e(one.lab, other.lab) < 0.3
        assert one.radius == pytest.approx(other.radius, rel=0.1)


def test_the_next_swatch_may_be_for_a_base_that_is_planned_on() -> None:
    best = next_swatch(FIT, base=WHITE)
    assert best.base == "white" and best.expected_radius < best.radius


def test_estimates_hold_measured_paint() -> None:
    """All six watercolours by one amount each, against the others."""
    paints = read_paints()
    inside = []
    for name, ramp in paints.alone.items():
        known = dye_from_swatch(paints.base, 0.04 / WHOLE, 1, lab(ramp[0.04]), name)
        for amount in (0.01, 0.02, *HELD_OUT, 0.12):
            shown = tint(paints.base, [(known, amount / WHOLE)], 1)
            band = estimate_band(shown, error=0.4)
            inside.append(bool(delta_e(shown.lab(), lab(ramp[amount])) <= band.radius))
    # 42 amounts: standard error 6 %
    assert 0.65 <= np.mean(inside) <= 0.95


def test_a_blot_tells_the_hue_and_half_the_strength() -> None:
    smooth = base_from_lab([93, 0, 2], "unknown")
    paper = dataclasses.replace(smooth, kind="opaque", scattering_thickness=1.5)
    blot = tint(paper, [(BLUE, 0.3)], 1).lab()
    dye = dye_from_blot(blot, paper=[93, 0, 2], share=0.3)
    shown = tint(paper, [(dye, 0.3)], 1)
    assert delta_e(shown.lab(), blot) < 0.1
    swatch = dye_from_swatch(paper, 0.3, 1, blot)
    sure = estimate_band(tint(paper, [(swatch, 0.3)], 1)).radius
    assert dye.strength_spread == pytest.approx(np.hypot(swatch.strength_spread, np.log(2)))
    assert estimate_band(shown).radius > 1.3 * sure


def test_a_strong_yellow_on_off_white_is_taken_for_the_nearest() -> None:
    off_white = base_from_lab([90, 0, 5], "opaque")
    dye = dye_from_swatch(off_white, 0.5, 2, [85, 5, 90])
    shown = tint(off_white, [(dye, 0.5)], 2).lab()
    assert 1 < dye.missed < 8
    assert delta_e(shown, [85, 5, 90]) == pytest.approx(dye.missed, abs=0.01)
    with pytest.raises(ValueError, match="nearest is"):
        dye_from_swatch(off_white, 0.5, 2, [80, 30, 60])


@pytest.mark.parametrize("count", [1, 3])
def test_the_band_of_a_learned_dye_from_a_file_holds(count: int) -> None:
    """Reference: measured watercolour; a file keeps no covariance, but how doubtful a dye is."""
    whole, held = read_paints(), []
    for name, spectra in whole.alone.items():
        fit = fit_dyes(whole.base, real_swatches(whole, name, count, False))
        assert 0.02 < fit.dyes[name].strength_spread <= 0.55
        for amount in HELD_OUT:
            mix = ((fit.dyes[name], amount / WHOLE),)
            plan = TintPlan(name="one", base=fit.base, mix=mix, coats=1, target=np.zeros(3))
            again = tint_plan_from(plain(plan)).result()
            assert again.mix[0][0].covariance is None
            away = float(delta_e(again.lab(), lab(spectra[amount])))
            held.append(away <= estimate_band(again, error=0.4).radius)
    assert len(held) == 24 and np.mean(held) >= 0.8
