"""A hand from a strip of fields, in the invented world of `tests.tinting.world`."""

from __future__ import annotations

import dataclasses
import math
from functools import cache

import numpy as np
import pytest

from data.rules import Refused
from tests.tinting.trials import DESIGN, ERROR, Bench, make_bench
from tests.tinting.world import Manner, brush_factor, read_lab
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import estimate_band, predict_band
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.learn.hand import hand_factor
from tinting.mix.plan import TintPlan
from tinting.recipe.search import find_recipes
from tinting.skin.absorptivity import dye_from_swatch
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import HAND_SPREAD, Hand, Swatch

STRIP = ((1 / 8, 1), (1 / 8, 2), (1 / 8, 3))
PEOPLE = 24


@dataclasses.dataclass(frozen=True)
class Person:
    """Somebody whose hand lays on ``factor`` as much as the one that taught ``fit``."""

    bench: Bench
    fit: DyeFit
    factor: float
    strip: tuple[Swatch, ...]


def painted_by(bench: Bench, share: float, coats: int, factor: float) -> Swatch:
    brush = factor * brush_factor(bench.rng, bench.manner)
    shown = bench.shown(({"red": share}, coats), brush=brush)
    reading = read_lab(bench.rng, shown, bench.manner.noise)
    return Swatch(shares={"red": share}, coats=coats, lab=reading, error=ERROR)


@cache
def person(seed: int) -> Person:
    bench = make_bench(seed, Manner())
    fit = fit_dyes(bench.base, [bench.swatch(({"red": s}, n)) for s, n in DESIGN])
    factor = float(np.exp(0.26 * np.random.default_rng(seed + 900).standard_normal()))
    strip = tuple(painted_by(bench, share, coats, factor) for share, coats in STRIP)
    return Person(bench=bench, fit=fit, factor=factor, strip=strip)


def found(one: Person) -> Hand:
    return hand_factor(one.strip, one.fit.base, [one.fit.dyes["red"]], fit=one.fit)


def test_a_strip_tells_the_hand() -> None:
    people = [person(seed) for seed in range(PEOPLE)]
    hands = [found(one) for one in people]
    off = np.array(
        [math.log(hand.factor / one.factor) for hand, one in zip(hands, people, strict=True)]
    )
    spreads = np.array([hand.spread for hand in hands])
    blind = np.array([math.log(one.factor) for one in people])
    assert np.median(np.abs(off)) < 0.6 * np.median(np.abs(blind))
    assert 0.6 <= (np.abs(off) < 1.28 * spreads).mean() <= 1.0
    assert np.median(spreads) < 0.15 < HAND_SPREAD


def test_with_ones_own_hand_predictions_are_nearer() -> None:
    blind, known, held = [], [], []
    for seed in range(PEOPLE):
        one, hand = person(seed), found(person(seed))
        for share, coats in ((1 / 4, 2), (1 / 16, 4)):
            recipe = {"red": share}
            truth = lab(one.bench.shown((recipe, coats), brush=one.factor))
            bands = [
                predict_band(one.fit, recipe, coats, hand=who, base="") for who in (None, hand)
            ]
            blind.append(float(delta_e(bands[0].lab, truth)))
            known.append(float(delta_e(bands[1].lab, truth)))
            held.append(known[-1] <= bands[1].radius)
    assert np.median(known) < 0.85 * np.median(blind)
    assert np.mean(held) >= 0.65


def test_a_hand_multiplies_the_load_of_every_coat() -> None:
    """A hand that lays on a quarter more of a mix is a mix with a quarter more of dye."""
    base, green = demo_base(), demo_dyes()[0]
    heavy = tint(base, [(green, 0.08)], 3, hand=Hand(factor=1.25, spread=0.0))
    np.testing.assert_allclose(heavy.lab(), tint(base, [(green, 0.1)], 3).lab(), atol=1e-12)
    one = person(3)
    band = predict_band(one.fit, {"red": 0.08}, 3, hand=Hand(factor=1.25, spread=0.0))
    as_much = predict_band(one.fit, {"red": 0.1}, 3)
    np.testing.assert_allclose(band.lab, as_much.lab, atol=1e-9)
    np.testing.assert_allclose(band.covariance, as_much.covariance, atol=1e-9)


def test_every_way_gives_one_colour_and_one_band_for_one_hand() -> None:
    one, hand = person(3), Hand(factor=0.8, spread=0.1)
    dyes = list(one.fit.dyes.values())
    wanted = tint(one.fit.base, [(dyes[0], 0.06)], 2).lab()
    for exact in (False, True):
        recipe = find_recipes(
            one.fit.base, dyes, wanted, fit=one.fit, hand=hand, exact=exact, drop_volume=1e-7
        )[0]
        band = predict_band(one.fit, recipe.shares, recipe.coats, hand=hand)
        np.testing.assert_allclose(recipe.lab["D65"], band.lab, atol=1e-9)
        np.testing.assert_allclose(recipe.band.covariance, band.covariance, atol=1e-9)
    green = demo_dyes()[0]
    for who in (None, hand):
        recipe = find_recipes(demo_base(), [green], (66, -22, 30), hand=who)[0]
        band = estimate_band(recipe.tint)
        np.testing.assert_allclose(recipe.band.covariance, band.covariance, atol=1e-9)
        assert recipe.tint.hand is who
    plan = TintPlan(
        name="a", base=demo_base(), mix=((green, 0.1),), coats=2, target=wanted, hand=hand
    )
    np.testing.assert_allclose(
        plan.result().lab(), tint(demo_base(), [(green, 0.08)], 2).lab(), atol=1e-12
    )


def test_a_strangers_hand_widens_the_band_of_an_estimate() -> None:
    base, green = demo_base(), demo_dyes()[0]
    bands = [
        estimate_band(tint(base, [(green, 0.1)], 2, hand=hand)).radius
        for hand in (Hand(spread=0.0), Hand(spread=0.1), None)
    ]
    assert bands[0] < bands[1] < bands[2]
    whole = estimate_band(tint(base, [(green, 0.1)], 2, hand=Hand()))
    assert whole.radius == bands[2]
    assert Hand().factor == 1.0
    assert Hand().spread == pytest.approx(math.log(1.3), abs=0.002)


def test_a_strip_of_a_dye_known_by_one_colour() -> None:
    """The strip is painted by the dye's own spectrum, a third more of it with every coat."""
    base = demo_base()
    dye = dye_from_swatch(base, 0.1, 3, (60.0, -10.0, 25.0), name="moss")
    strip = [
        Swatch(shares={"moss": 0.1}, coats=n, error=1.0,
               lab=tint(base, [(dye, 0.1 * 4 / 3)], n).lab())
        for n in (1, 3, 5)
    ]  # fmt: skip
    hand = hand_factor(strip, base, [dye])
    assert hand.factor == pytest.approx(4 / 3, rel=0.08)
    none = Swatch(shares={}, coats=0, lab=tint(base, [], 0).lab())
    assert hand_factor([none, *strip], base, [dye]) == hand


def test_fields_that_do_not_agree_leave_a_hand_open() -> None:
    base, green = demo_base(), demo_dyes()[0]
    even, odd = (
        [
            Swatch(shares={"reed green": 0.1}, coats=n, error=1.0,
                   lab=tint(base, [(green, 0.1 * times)], n).lab())
            for n, times in ((1, first), (2, 1.0), (3, last))
        ]
        for first, last in ((1.0, 1.0), (2.5, 0.4))
    )  # fmt: skip
    narrow, wide = (hand_factor(strip, base, [green]).spread for strip in (even, odd))
    assert wide > 1.5 * narrow


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"strip": []}, "strip"),
        ({"strip": [Swatch(shares={}, coats=0, lab=(80, 0, 5))]}, "strip"),
        ({"strip": [Swatch(shares={"nobody": 0.1}, coats=1, lab=(60, 0, 5))]}, "dyes"),
        ({"strip": 3}, "strip"),
        ({"strip": [3]}, "each field of the strip"),
        ({"base": None}, "base"),
        ({"dyes": 4}, "dyes"),
        ({"dyes": [4]}, "each of the dyes"),
        ({"fit": 4}, "fit"),
        ({"fit": person}, "fit"),
    ],
)
def test_refusals(change: dict[str, object], name: str) -> None:
    if change.get("fit") is person:
        change = {"fit": person(0).fit}
    swatch = Swatch(shares={"reed green": 0.1}, coats=1, lab=(70, -10, 20))
    given: dict[str, object] = {"strip": [swatch], "base": demo_base(), "dyes": demo_dyes()}
    with pytest.raises(Refused) as refused:
        hand_factor(**{**given, **change})  # type: ignore[arg-type]
    assert refused.value.name == name
