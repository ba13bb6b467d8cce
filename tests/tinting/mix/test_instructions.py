"""From a plan to the jar: drops, volumes, first dilutions, the ladder, looks, and the jar after."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from data.page.form import RefusedFieldsError
from tinting.colour.colorimetry import delta_e, lab
from tinting.forms.jar import drop_from_form, jar_from_form
from tinting.forms.tint import DEFAULTS, plan_from_form
from tinting.mix.appearance import look, target_reflectance, under_lights
from tinting.mix.batch import DENSITY
from tinting.mix.instructions import millilitres, mix_in_parts, mixing, waiting
from tinting.mix.ladder import COATS, tint_ladder
from tinting.mix.plan import TintPlan
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint


def plan(**fields: str) -> TintPlan:
    return plan_from_form({**DEFAULTS, **fields}, demo_dyes())


def test_the_demo_is_31_drops_and_the_rest_alcohol() -> None:
    mixed = mixing(plan())
    assert [(line.name, line.drops) for line in mixed.lines] == [
        ("reed green", 31), ("isopropyl alcohol", 281),  # 1 mL of 0.032 mL, and 9.008 mL
    ]  # fmt: skip
    assert sum(line.volume for line in mixed.lines) == pytest.approx(1e-5)
    assert mixed.lines[0].mass == pytest.approx(31 * 3.2e-8 * DENSITY)
    assert mixed.parts == "1 part reed green + 9 parts alcohol"
    assert mixed.needed == pytest.approx(60e-4 * 5e-5 * 2 * 1.5)
    assert mixed.vapour == pytest.approx(106, abs=1)  # NIOSH: 10 mL in 30 m3
    assert any(each.key == "fire" for each in mixed.air_and_fire)


def test_one_drop_more_is_what_the_forward_model_says() -> None:
    own = plan()
    mixed = mixing(own)
    green = demo_dyes()[0]
    before = tint(own.base, [(green, 31 * 3.2e-8 / 1e-5)], 2).lab()
    after = tint(own.base, [(green, 32 * 3.2e-8 / 1e-5)], 2).lab()
    assert dict(mixed.one_more)["reed green"] == pytest.approx(float(delta_e(before, after)))
    assert mixed.rounding == pytest.approx(float(delta_e(before, own.result().lab())))


def test_few_drops_are_diluted_first_and_the_volumes_still_add_up() -> None:
    mixed = mixing(plan(dye2="umber brown", parts2="0.02"))
    brown = mixed.doses[1]
    assert brown.parts_alcohol == 9 and brown.drops == 6
    assert brown.share == pytest.approx(6 * brown.per_drop)
    assert sum(line.volume for line in mixed.lines) == pytest.approx(1e-5)
    assert "diluted first: 1 part dye + 9 parts alcohol" in mixed.lines[1].name
    assert [each.key for each in mixed.cautions] == ["few drops"]
    assert any(step.startswith("Dilute umber brown first") for step in mixed.steps)


def test_more_than_the_batch_is_never_poured_without_a_word() -> None:
    own = plan(parts1="95", dye2="umber brown", parts2="0.3", alcohol="4.7", batch="2")
    mixed = mixing(own)
    poured = sum(line.volume for line in mixed.lines)
    assert poured > own.batch_volume * 1.05
    assert mixed.lines[-1].volume == 0.0
    assert "more than batch" in [each.key for each in mixed.cautions]
    assert mixed.doses[1].parts_alcohol == 99
    assert mixed.doses[1].share == pytest.approx(mixed.lines[1].volume / 100 / poured)
    assert mixed.doses[0].share == pytest.approx(mixed.lines[0].volume / poured)
    assert sum(dose.share for dose in mixed.doses) < 1.0


@pytest.mark.parametrize("parts", ["1", "9", "0.02"])
def test_a_batch_is_what_is_poured_where_nothing_is_said(parts: str) -> None:
    mixed = mixing(plan(parts1=parts))
    assert "more than batch" not in [each.key for each in mixed.cautions]
    assert sum(line.volume for line in mixed.lines) == pytest.approx(1e-5)


def test_a_batch_too_small_for_the_surface_is_said() -> None:
    mixed = mixing(plan(area="2000", coats="3"))
    assert "batch too small" in [each.key for each in mixed.cautions]


def test_too_much_vapour_is_said() -> None:
    mixed = mixing(plan(batch="60", room="30"))
    assert "air above short limit" in [each.key for each in mixed.air_and_fire]


def test_limits_of_a_mix() -> None:
    neat = mixing(plan(alcohol="0"))
    assert neat.parts == "1 part reed green" and neat.lines[-1].volume < 3.2e-8
    none = mixing(plan(dye1="none", coats="0"))
    assert none.parts == "alcohol alone" and none.needed == 0 and none.one_more == ()
    same = plan()
    twice = dataclasses.replace(same, mix=tuple((same.mix[0][0], 0.05) for _ in range(2)))
    assert mixing(twice).lines == mixing(same).lines
    with pytest.raises(ValueError, match="batch must be"):
        mixing(plan(batch="0.1", drop="0.2"))


def test_parts_name_the_least_dye_as_one() -> None:
    words = mix_in_parts(plan(dye2="slate blue", parts2="0.5", alcohol="4.5"))
    assert words == "2 parts reed green + 1 part slate blue + 9 parts alcohol"


def test_words() -> None:
    assert millilitres(1e-5) == "10 mL" and millilitres(1.234e-4) == "123 mL"
    assert waiting("flash_off_time") == "3 min (1.5 to 5)"
    for junk in (math.nan, -1.0, "x", None):
        with pytest.raises(ValueError, match=r"volume must be .*; got"):
            millilitres(junk)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="waiting time must be one of"):
        waiting("tea")


def test_the_ladder_holds_the_plan_and_marks_the_nearest() -> None:
    own = plan()
    ladder = tint_ladder(own)
    shares = [row.share for row in ladder.rows]
    assert shares == sorted(shares, reverse=True)
    assert shares[ladder.planned] == pytest.approx(0.1)
    own_rung = ladder.rows[ladder.planned].rungs[COATS.index(2)]
    np.testing.assert_allclose(own_rung.lab, own.result().lab(), atol=1e-9)
    row, column = ladder.nearest
    best = ladder.rows[row].rungs[column].difference
    assert best == min(rung.difference for each in ladder.rows for rung in each.rungs)
    # stronger and more coats are darker, for one dye alone
    lightness = np.array([[rung.lab[0] for rung in each.rungs] for each in ladder.rows])
    assert (np.diff(lightness, axis=0) > 0).all() and (np.diff(lightness, axis=1) < 0).all()


def test_an_odd_share_gets_a_row_of_its_own_and_no_dye_no_ladder() -> None:
    ladder = tint_ladder(plan(alcohol="6.5"))
    assert len(ladder.rows) == 7 and ladder.rows[ladder.planned].share == pytest.approx(1 / 7.5)
    with pytest.raises(ValueError, match="tint mix must be of at least one dye"):
        tint_ladder(plan(dye1="none"))
    with pytest.raises(ValueError, match="light must be one of"):
        tint_ladder(plan(), "candle")


def test_looks_under_daylight_are_the_tints_own_and_white_stays_white_under_all() -> None:
    own = plan()
    assert look("tint", own.result().reflectance).hex == own.result().hex
    for light in ("A", "FL2", "shop LED"):
        white = look("white", np.ones(36), light)
        np.testing.assert_allclose(white.lab, (100, 0, 0), atol=1e-9)
        assert white.hex == "#ffffff"


def test_under_lights_is_the_forward_model_and_the_target_its_smoothest_spectrum() -> None:
    own = plan()
    rows = {row.light: row for row in under_lights(own)}
    assert next(iter(rows)) == "D65" and len(rows) == 7
    np.testing.assert_allclose(rows["D65"].target.lab, own.target, atol=0.02)
    np.testing.assert_allclose(rows["A"].tint.lab, own.result().lab("A"), atol=1e-9)
    wanted = lab(target_reflectance(own.target), "A")
    assert rows["A"].difference == pytest.approx(float(delta_e(own.result().lab("A"), wanted)))
    assert rows["A"].spread == pytest.approx(own.result().spread("A"))
    with pytest.raises(ValueError, match="lab must be"):
        under_lights(dataclasses.replace(own, target=np.array([50.0, 190.0, -190.0])))


def test_a_drop_by_weight() -> None:
    assert drop_from_form({"counted": "50", "weighed": "1,57"}) == pytest.approx(4e-8)
    with pytest.raises(RefusedFieldsError) as refused:
        drop_from_form({"counted": "3", "weighed": "1"})
    assert set(refused.value.errors) == {"counted"}
    with pytest.raises(RefusedFieldsError) as refused:
        drop_from_form({"counted": "50", "weighed": "much"})
    assert set(refused.value.errors) == {"weighed"}


def test_the_jar_topped_up_thinned_and_left_open() -> None:
    stronger = jar_from_form({"left": "6", "wanted": "4"}, 0.1)
    assert stronger.dye == pytest.approx(0.75e-6) and stronger.alcohol == 0
    weaker = jar_from_form({"left": "6", "wanted": "19"}, 0.1)
    assert weaker.alcohol == pytest.approx(6e-6) and weaker.dye == 0
    same = jar_from_form({"wanted": "9"}, 0.1)
    assert same.dye == pytest.approx(0, abs=1e-15) and same.alcohol == pytest.approx(0, abs=1e-12)
    assert stronger.stood.share > 0.1
    shut = jar_from_form({"open": "0"}, 0.1)
    assert shut.stood.alcohol_lost == 0


@pytest.mark.parametrize("key", ["left", "wanted", "mouth", "open"])
@pytest.mark.parametrize("text", ["", "nan", "-1", "1e99", "lots"])
def test_the_jar_refuses_at_the_field(key: str, text: str) -> None:
    with pytest.raises(RefusedFieldsError) as refused:
        jar_from_form({key: text}, 0.1)
    assert set(refused.value.errors) == {key} and " must be " in refused.value.errors[key]


@pytest.mark.parametrize("function", [mixing, mix_in_parts, tint_ladder, under_lights])
@pytest.mark.parametrize("junk", [None, 3, "plan", demo_base()])
def test_junk_is_refused(function: object, junk: object) -> None:
    with pytest.raises(ValueError, match=r"tint plan must be a TintPlan; got"):
        function(junk)  # type: ignore[operator]


@pytest.mark.parametrize("junk", [None, 3, {"left": 3}, {3: "left"}])
def test_junk_forms_are_refused(junk: object) -> None:
    for function in (drop_from_form, lambda form: jar_from_form(form, 0.1)):
        with pytest.raises(ValueError, match="form must be a mapping of field to text; got"):
            function(junk)
