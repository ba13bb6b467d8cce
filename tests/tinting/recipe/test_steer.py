"""The way on after a coat, in the invented world of `tests.tinting.world`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest

from data.rules import Refused
from tests.tinting.trials import DESIGN, Bench, make_bench
from tests.tinting.world import Manner, paint_layers, read_lab
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import estimate_band, predict_band
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.recipe.search import find_recipes
from tinting.recipe.steer import RISKY, Steering, steer
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import Hand, retouch

PARTS = 24
GREEN = demo_dyes()[0]


@dataclass(frozen=True)
class Job:
    """A part painted by a stranger's hand: how far off it ends without a reading, and steered."""

    blind: float
    steered: float
    said: Steering
    inside: bool
    ln_load_off: float


@cache
def job(seed: int, swatches: int) -> Job | None:
    manner = Manner(kind="opaque" if seed % 2 else "translucent")
    bench: Bench = make_bench(seed, manner, dyes=2)
    names = list(bench.dyes)
    painted = [bench.swatch(({m: s}, n)) for m in names for s, n in DESIGN[:swatches]]
    fit: DyeFit = fit_dyes(bench.base, painted)
    rng = np.random.default_rng(seed + 500)
    wanted = dict(zip(names, rng.uniform(0.02, 0.1, 2).tolist(), strict=True))
    goal = lab(bench.shown((wanted, 3)))
    hand = float(np.exp(0.26 * rng.standard_normal()))
    dyes = [fit.dyes[name] for name in names]
    first = find_recipes(fit.base, dyes, goal, fit=fit)[0]
    if not first.drops:
        return None
    mix = np.array([first.shares.get(name, 0.0) for name in names])

    def shown(layers: list[Any]) -> np.ndarray:
        return paint_layers(bench.part, list(bench.dyes.values()), layers, hand)

    blind = float(delta_e(lab(shown([mix] * first.coats)), goal))
    # steered from a first coat of half the strength
    read = read_lab(rng, shown([mix / 2]), manner.noise)
    pairs = list(zip(dyes, (mix / 2).tolist(), strict=True))
    said = steer(fit.base, pairs, 1, read, goal, fit=fit, hand=Hand(), error=1.0)
    rest = [said.best.shares.get(name, 0.0) for name in names]
    ended = lab(shown([mix / 2] + [rest] * said.best.coats))
    return Job(
        blind=blind,
        steered=float(delta_e(ended, goal)),
        said=said,
        inside=float(delta_e(ended, said.best.lab)) <= said.best.band.radius,
        ln_load_off=float(np.log(said.load / hand)),
    )


@pytest.mark.parametrize(("swatches", "steered", "blind"), [(3, 1.5, 1.5), (1, 2.0, 2.0)])
def test_a_reading_after_the_first_coat_brings_the_part_home(
    swatches: int, steered: float, blind: float
) -> None:
    jobs = [found for seed in range(PARTS) if (found := job(seed, swatches))]
    assert len(jobs) > 0.8 * PARTS
    assert np.median([each.steered for each in jobs]) <= steered
    assert np.median([each.blind for each in jobs]) >= blind
    assert np.quantile([each.steered for each in jobs], 0.95) <= 4
    # the probabilities said and the share that truly lies within 2
    said = np.mean([each.said.best.probability for each in jobs])
    true = np.mean([each.steered <= 2 for each in jobs])
    # one swatch leaves more open than this world has of ways to build up
    assert -0.1 <= true - said <= 0.35
    assert np.mean([each.inside for each in jobs]) >= 0.65
    spreads = np.array([each.said.load_spread for each in jobs])
    off = np.array([each.ln_load_off for each in jobs])
    assert 0.5 <= np.std(off / spreads) <= 1.3


def test_before_the_first_coat_it_is_the_band_that_is_known() -> None:
    """Reference: `estimate_band` and `predict_band` of the same mixes."""
    base, goal = demo_base(), (62.0, -16.0, 28.0)
    said = steer(base, [(GREEN, 0.1)], 0, None, goal, max_coats=4)
    for ahead in said.same[1:]:
        band = estimate_band(tint(base, [(GREEN, 0.1)], ahead.coats))
        np.testing.assert_allclose(ahead.lab, band.lab, atol=1e-9)
        assert ahead.band.radius == pytest.approx(band.radius, rel=0.02)
    bench = make_bench(2, Manner())
    fit = fit_dyes(bench.base, [bench.swatch(({"red": s}, n)) for s, n in DESIGN[:3]])
    known = steer(fit.base, [(fit.dyes["red"], 0.1)], 0, None, goal, fit=fit)
    for ahead in known.same[1:]:
        band = predict_band(fit, {"red": 0.1}, ahead.coats)
        np.testing.assert_allclose(ahead.lab, band.lab, atol=1e-9)
        assert ahead.band.radius == pytest.approx(band.radius, rel=0.02)
    assert (said.load, said.surprise) == (1.0, 0.0)


def test_a_reading_as_expected_narrows_and_changes_nothing() -> None:
    base = demo_base()
    goal = tint(base, [(GREEN, 0.1)], 3).lab()
    before = steer(base, [(GREEN, 0.1)], 0, None, goal)
    after = steer(base, [(GREEN, 0.1)], 1, tint(base, [(GREEN, 0.1)], 1).lab(), goal)
    np.testing.assert_allclose(after.same[2].lab, goal, atol=1e-6)
    assert after.same[2].band.radius < 0.7 * before.same[3].band.radius
    assert after.load == pytest.approx(1.0, abs=1e-9) and after.load_spread < before.load_spread


def test_one_that_took_more_gets_less() -> None:
    """The part reads as a mix a third stronger does; two more coats would be too much."""
    base = demo_base()
    goal = tint(base, [(GREEN, 0.1)], 3).lab()
    read = tint(base, [(GREEN, 0.1)], 1, hand=Hand(factor=4 / 3)).lab()
    said = steer(base, [(GREEN, 0.1)], 1, read, goal, error=0.4)
    assert 1.05 < said.load < 4 / 3 and said.surprise > 2
    assert said.same[2].lab[0] < goal[0] - 2
    assert said.advice != "stop"
    laid = sum(said.best.shares.values()) * said.best.coats
    assert laid < 0.2
    assert said.best.probability > said.same[2].probability


def test_stop_where_no_coat_helps_and_warn_before_the_one_that_spoils() -> None:
    base = demo_base()
    goal = tint(base, [(GREEN, 0.1)], 2).lab()
    said = steer(base, [(GREEN, 0.1)], 2, goal, goal, error=0.4)
    assert said.advice == "stop" and said.best.coats == 0 and "Stop here" in said.text
    assert said.best.probability > 0.9
    (told,) = said.cautions
    assert told.key == "too dark" and "cannot be undone" in told.text
    assert said.same[1].too_dark > RISKY
    dark = steer(base, [(GREEN, 0.1)], 3, tint(base, [(GREEN, 0.3)], 3).lab(), goal, error=0.4)
    assert dark.advice == "stop"
    assert any("darker than the target already" in each.text for each in dark.cautions)
    far = steer(base, [(GREEN, 0.01)], 1, tint(base, [(GREEN, 0.01)], 1).lab(), goal)
    assert "too dark" not in {caution.key for caution in far.cautions}


def test_a_part_that_is_another_than_thought_is_told() -> None:
    base = demo_base()
    rose = demo_dyes()[6]
    read = tint(base, [(rose, 0.2)], 2).lab()
    said = steer(base, [(GREEN, 0.1)], 2, read, (60, -15, 25), error=0.4)
    assert "unexpected" in {caution.key for caution in said.cautions}


def test_a_faded_part_is_a_base_of_its_own() -> None:
    base = demo_base()
    faded = tint(base, [(GREEN, 0.03)], 2).lab()
    part = retouch(base, faded)
    np.testing.assert_allclose(tint(part, [], 0).lab(), faded, atol=0.01)
    assert part.scattering_thickness == base.scattering_thickness and part.kind == base.kind
    goal = tint(base, [(GREEN, 0.1)], 2).lab()
    found = find_recipes(part, demo_dyes(), goal)
    assert found.gap < 0.5
    assert "as it is now" in part.name and retouch(base, faded, name="again").name == "again"
    spectrum = tint(base, [(GREEN, 0.03)], 2).reflectance
    np.testing.assert_array_equal(retouch(base, faded, reflectance=spectrum).reflectance, spectrum)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"base": None}, "base"),
        ({"mix": []}, "mix"),
        ({"mix": [(GREEN, 0.0)]}, "mix"),
        ({"mix": [(GREEN, 0.1), (GREEN, 0.1)]}, "mix"),
        ({"coats": 0}, "lab and coats"),
        ({"lab": None}, "lab and coats"),
        ({"coats": 20}, "coats"),
        ({"max_coats": 0}, "max coats"),
        ({"target": None}, "target"),
        ({"dyes": 4}, "dyes"),
        ({"dyes": [4]}, "each of the dyes"),
        ({"fit": 4}, "fit"),
        ({"hand": 4}, "hand"),
        ({"error": 0}, "error"),
        ({"drop_volume": 1}, "drop volume"),
        ({"batch_volume": 0}, "batch volume"),
    ],
)
def test_refusals(change: dict[str, Any], name: str) -> None:
    given: dict[str, Any] = {
        "base": demo_base(), "mix": [(GREEN, 0.1)], "coats": 1, "lab": (70, -20, 25),
        "target": (60, -15, 25), **change,
    }  # fmt: skip
    with pytest.raises(Refused) as refused:
        steer(**given)
    assert refused.value.name == name
