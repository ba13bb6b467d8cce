"""What physics asks of every tint, over the admitted range of bases, dyes, mixes and coats.

Two things do not hold for every mix and are not asked: a dye that fills the skin without colouring
it keeps others out, so one dye more of several may lighten the mix; and coats that lose different
shares of effect change the mix from coat to coat.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.doors import quiet
from tests.strategies import sizes
from tests.tinting.strategies import bases, dyes, mixes
from tinting.colour.colorimetry import delta_e, lab
from tinting.recipe.search import find_recipes
from tinting.skin.demo import demo_base, demo_base_names, demo_dyes
from tinting.skin.dyed import dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye
from tinting.skin.layer import reflectance_inside
from tinting.skin.uptake import dye_uptake

ROUNDING = 1e-12
COATS = st.integers(0, 50)
DROPS = st.integers(1, 20)
Mix = tuple[tuple[Dye, float], ...]


def growing(least: float, most: float) -> st.SearchStrategy[Any]:
    """Two numbers, the smaller first."""
    return st.tuples(sizes(least, most), sizes(least, most)).map(sorted)


@st.composite
def one_kind_of_coat(draw: Any) -> Mix:
    """Mixes whose dyes all lose the same share of effect from coat to coat."""
    loss = draw(st.floats(0.0, 0.999999))
    return tuple((replace(dye, coat_loss=loss), share) for dye, share in draw(mixes()))


@quiet(120)
@given(bases(), mixes(), COATS)
def test_a_tint_is_never_lighter_than_its_base(base: Base, mix: Mix, coats: int) -> None:
    shown = tint(base, mix, coats)
    for spectrum in (shown.reflectance, shown.second_reflectance):
        assert np.all(spectrum <= base.reflectance)
        assert np.all(spectrum >= base.specular)
    assert shown.lab()[0] <= lab(base.reflectance)[0] + 1e-9


@quiet(60)
@given(bases(), mixes(), COATS)
def test_no_dye_is_the_base(base: Base, mix: Mix, coats: int) -> None:
    plain = tuple((dye, 0.0) for dye, _ in mix)
    clear = tuple((replace(d, absorptivity=0 * d.absorptivity), s) for d, s in mix)
    for shown in (tint(base, plain, coats), tint(base, mix, 0), tint(base, clear, coats)):
        assert np.array_equal(shown.reflectance, base.reflectance)
        assert np.array_equal(shown.lab(), lab(base.reflectance))


@quiet(80)
@given(bases(), dyes(), growing(1e-9, 1.0), COATS)
def test_more_of_a_dye_is_never_lighter(base: Base, dye: Dye, shares: Any, coats: int) -> None:
    less, more = (tint(base, [(dye, share)], coats).reflectance for share in shares)
    assert np.all(more <= less + ROUNDING)


@quiet(80)
@given(bases(), mixes(), st.floats(0.0, 1.0), COATS)
def test_a_mix_is_never_darker_than_the_same_less_diluted(
    base: Base, mix: Mix, thinned: float, coats: int
) -> None:
    thin = tuple((dye, share * thinned) for dye, share in mix)
    less, more = (tint(base, one, coats).reflectance for one in (thin, mix))
    assert np.all(more <= less + ROUNDING)


@quiet(80)
@given(bases(), one_kind_of_coat(), st.tuples(COATS, COATS).map(sorted))
def test_more_coats_are_never_lighter(base: Base, mix: Mix, coats: Any) -> None:
    fewer, more = (tint(base, mix, number).reflectance for number in coats)
    assert np.all(more <= fewer + ROUNDING)


@quiet(60)
@given(bases(), growing(1e-12, 1e9), st.integers(0, 35))
def test_a_skin_darkens_only_where_it_absorbs_more(base: Base, taken: Any, band: int) -> None:
    both = np.zeros((2, 36))
    both[:, band] = taken
    less, more = dyed_reflectance(both, base)
    others = np.arange(36) != band
    assert more[band] <= less[band] + ROUNDING
    assert np.array_equal(more[others], base.reflectance[others])


@quiet(40)
@given(bases())
def test_an_endless_load_leaves_the_surface_alone(base: Base) -> None:
    # of a base that reads lighter than an ideal white the surplus stays on top, as gloss
    assume(float(reflectance_inside(base.reflectance, base.specular).max()) < 1)
    black = dyed_reflectance(np.full(36, 1e9), replace(base, scattering_thickness=1e-3))
    # the share that a skin of τ sends back before it is absorbed, τ/2D, and less than 1e-9
    assert black == pytest.approx(base.specular, abs=1e-9)


@quiet(60)
@given(dyes(), dyes(), sizes(1e-6, 0.5), sizes(1e-6, 0.5), st.integers(1, 50))
def test_uptake_stays_below_load_and_room(
    first: Dye, second: Dye, one: float, other: float, coats: int
) -> None:
    pair = [first, replace(second, name=first.name + "2")]
    taken = dye_uptake([one, other], coats, pair)
    assert np.all(taken <= np.array([one, other]) * coats * (1 + ROUNDING))
    filled = sum(
        got / dye.saturation for got, dye in zip(taken, pair, strict=True) if dye.saturation < 1e300
    )
    assert filled <= 1 + ROUNDING
    swapped = dye_uptake([other, one], coats, pair[::-1])[::-1]
    assert taken == pytest.approx(swapped, rel=1e-12)


@st.composite
def made_recipes(draw: Any) -> tuple[Base, list[Dye], dict[str, int], int]:
    """A base, a shelf of demo dyes, and drops of one to three of them in some coats."""
    shelf = list(demo_dyes())
    number = draw(st.integers(1, min(3, len(shelf))))
    used = draw(st.permutations(shelf))[:number]
    drops = {dye.name: draw(DROPS) for dye in used}
    return (
        demo_base(draw(st.sampled_from(demo_base_names()))),
        shelf,
        drops,
        draw(st.integers(1, 5)),
    )


def checked_parts(recipe: Any, shelf: list[Dye], base: Base) -> None:
    """Drops, shares, volumes and colour of a recipe say the same."""
    batch = recipe.batch_volume if recipe.drops else 0.0  # nothing is mixed for no dye
    poured = sum(recipe.drops.values()) * recipe.drop_volume
    assert poured + recipe.alcohol_volume == pytest.approx(batch, rel=1e-12)
    assert math.isclose(sum(recipe.shares.values()) * batch, poured, rel_tol=1e-12, abs_tol=1e-18)
    assert set(recipe.drops) == set(recipe.shares)
    mix = [(dye, recipe.shares[dye.name]) for dye in shelf if dye.name in recipe.shares]
    again = tint(base, mix, recipe.coats).lab()
    assert recipe.lab["D65"] == pytest.approx(again, abs=1e-6)


@quiet(25)
@given(made_recipes())
def test_a_recipe_gives_the_colour_back(made: Any) -> None:
    base, shelf, drops, coats = made
    share = find_recipes(base, shelf, lab(base.reflectance)).recipes[0]
    volume = share.drop_volume / share.batch_volume
    mix = [(dye, drops[dye.name] * volume) for dye in shelf if dye.name in drops]
    wanted = tint(base, mix, coats).lab()
    answer = find_recipes(base, shelf, wanted)
    # the live search reaches 99 of 100 colours within 0.5 and all within 1
    assert answer.gap <= 1.0
    for recipe in answer.recipes:
        checked_parts(recipe, shelf, base)
        assert recipe.worst == pytest.approx(float(delta_e(recipe.tint.lab(), wanted)), abs=1e-6)
    assert answer.gap <= min(recipe.worst for recipe in answer.recipes)


@quiet(10)
@given(st.sampled_from(demo_base_names()))
def test_the_recipe_for_the_base_is_no_dye(name: str) -> None:
    base = demo_base(name)
    nearest = find_recipes(base, demo_dyes(), lab(base.reflectance)).nearest
    assert nearest.worst == 0
    assert dict(nearest.drops) == {}
    assert nearest.coats == 0
