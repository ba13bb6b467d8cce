"""What can be chosen: estimates give way to what is learned, designs bring their own, bands."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from data.page.form import RefusedFieldsError
from tests.tinting.learn.test_learned import RECIPES, row
from tinting.forms.choices import BROUGHT, Choices, choices_for
from tinting.forms.tint import DEFAULTS, OWN_BASE
from tinting.learn.learned import learn
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.skin.demo import demo_base, demo_dyes

LEARNED = Choices(learned=learn([row(*recipe, base_name="off-white TPU") for recipe in RECIPES]))


def test_without_a_log_everything_is_the_demo() -> None:
    choices = Choices()
    assert choices.base_names == ("off-white TPU", "natural TPU", OWN_BASE)
    assert choices.dye_names[:2] == ("none", "reed green")
    assert choices.known(DEFAULTS) == DEFAULTS
    # all dyes are estimates
    assert choices.band(choices.plan(DEFAULTS)) > 2


def test_what_is_learned_takes_the_place_of_the_estimate() -> None:
    assert LEARNED.base_names[0] == "off-white TPU (learned)"
    assert LEARNED.dye_names[1] == "reed green (learned)"
    assert "reed green" not in LEARNED.dye_names and "marsh yellow" in LEARNED.dye_names
    form = LEARNED.known(DEFAULTS)
    assert (form["base"], form["dye1"]) == ("off-white TPU (learned)", "reed green (learned)")
    assert Choices().known(form) == DEFAULTS
    plan = LEARNED.plan(form)
    assert plan.base.name == "off-white TPU (learned)"
    assert 0 < LEARNED.band(plan) < 5


def test_a_wider_band_where_a_dye_or_the_base_is_not_in_the_fit() -> None:
    form = LEARNED.known(DEFAULTS)
    known = LEARNED.band(LEARNED.plan(form))
    assert LEARNED.band(LEARNED.plan({**form, "dye2": "marsh yellow"})) > known
    assert LEARNED.band(LEARNED.plan({**form, "base": "natural TPU"})) > known
    assert LEARNED.band(LEARNED.plan({**form, "dye1": "none"})) == 0


def test_a_dye_named_twice_is_refused_at_the_second() -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        Choices().plan({**DEFAULTS, "dye3": "reed green"})
    assert set(refused.value.errors) == {"dye3"}
    assert "dye must be named once; got 'reed green'" in refused.value.errors["dye3"]


@pytest.mark.parametrize("key", ["base", "dye2"])
def test_a_name_that_nobody_knows_is_refused_at_its_field(key: str) -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        Choices().plan({**DEFAULTS, key: "marble"})
    assert set(refused.value.errors) == {key}


def test_a_design_of_what_is_known_goes_back_into_the_same_fields() -> None:
    form = {**DEFAULTS, "dye2": "slate blue", "parts2": "0.5", "coats": "3"}
    plan = Choices().plan(form)
    choices, back = choices_for(tint_plan_from(plain(plan)), Choices())
    assert not choices.bases and not choices.dyes
    again = choices.plan({**DEFAULTS, **back})
    assert again.shares == pytest.approx(plan.shares)
    np.testing.assert_allclose(again.result().lab(), plan.result().lab(), atol=1e-6)
    assert (again.lights, again.area, again.coats) == (plan.lights, plan.area, plan.coats)


def test_a_design_of_what_is_not_known_brings_it() -> None:
    dye = dataclasses.replace(demo_dyes()[0], absorptivity=demo_dyes()[1].absorptivity)
    base = dataclasses.replace(demo_base(), scattering_thickness=0.7)
    plan = TintPlan(name="x", base=base, mix=((dye, 0.2),), coats=2, target=np.array([60, 0, 9.0]))
    choices, form = choices_for(plan, Choices())
    assert form["base"] == f"off-white TPU{BROUGHT}" and form["dye1"] == f"reed green{BROUGHT}"
    again = choices.plan({**DEFAULTS, **form})
    np.testing.assert_allclose(again.result().lab(), plan.result().lab(), atol=1e-6)
    # the same design again does not bring it twice
    assert choices_for(again, choices)[0].dyes.keys() == choices.dyes.keys()


def test_a_design_with_more_dyes_than_rows_is_refused() -> None:
    mix = tuple((dye, 0.1) for dye in demo_dyes()[:4])
    plan = TintPlan(name="x", base=demo_base(), mix=mix, coats=1, target=np.array([60, 0, 9.0]))
    with pytest.raises(ValueError, match="dyes must be at most 3 to be edited here; got 4"):
        choices_for(plan, Choices())


def test_junk_is_refused() -> None:
    for make in (
        lambda: Choices(learned=None),  # type: ignore[arg-type]
        lambda: Choices(dyes={"x": 1}),  # type: ignore[dict-item]
        lambda: Choices().all_dyes(None),  # type: ignore[arg-type]
        lambda: Choices().known(None),  # type: ignore[arg-type]
        lambda: Choices().plan(3),  # type: ignore[arg-type]
        lambda: Choices().band(None),  # type: ignore[arg-type]
    ):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            make()
