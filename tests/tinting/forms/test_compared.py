"""Rows of the log against their predictions, by estimates and by what was learned."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from tests.tinting.learn.test_learned import BASE, GREEN, RECIPES, row
from tinting.colour.colorimetry import delta_e
from tinting.forms.choices import Choices
from tinting.forms.compared import expected, predictions
from tinting.forms.tint import DEFAULTS
from tinting.learn.learned import learn
from tinting.log.record import SwatchRecord
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint


def test_without_a_fit_rows_are_predicted_by_estimates() -> None:
    record = row(0.1, 2)
    found = predictions([record], Choices())[record.id]
    assert found.source == "estimate"
    # the row was made by the very estimate that predicts it
    assert found.difference == pytest.approx(0, abs=0.02)


def test_used_rows_are_predicted_by_the_others_and_rows_left_out_test_the_fit() -> None:
    strong = dataclasses.replace(GREEN, absorptivity=2 * GREEN.absorptivity)
    used = [row(*recipe, dye=strong) for recipe in RECIPES]
    test = row(0.3, 2, dye=strong, used=False)
    choices = Choices(learned=learn([*used, test]))
    found = predictions([*used, test], choices)
    fit = choices.learned.fits[0]
    for record, others in zip(used, fit.left_out, strict=True):
        away = float(delta_e(others, record.lab))
        assert found[record.id].difference == pytest.approx(away, abs=1e-9)
        assert found[record.id].lab == pytest.approx(tuple(others))
        assert found[record.id].source == "learned"
    estimate = predictions([test], Choices())[test.id]
    assert found[test.id].difference < 2 < estimate.difference


def test_a_row_under_another_light_is_compared_under_that_light() -> None:
    lab = tint(BASE, [(GREEN, 0.1)], 2).lab("A", 2)
    record = row(
        0.1, 2, lab=tuple(float(v) for v in lab), light="A", observer=2,
        base_lab=tuple(float(v) for v in tint(BASE, [], 0).lab("A", 2)),
    )  # fmt: skip
    found = predictions([record], Choices())[record.id]
    assert found.difference == pytest.approx(float(delta_e(found.lab, lab)))
    assert found.difference < 0.5  # the base is rebuilt from its colour under lamp light


def test_unknown_dyes_and_impossible_bases_have_no_prediction() -> None:
    moss = row(0.1, 2, shares={"moss": 0.1})
    odd = row(0.1, 2, base_lab=(1.0, 150.0, -150.0))
    assert predictions([moss, odd], Choices()) == {}


def test_junk_is_refused() -> None:
    for records, choices in ((None, Choices()), ([3], Choices()), ([], None)):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            predictions(records, choices)  # type: ignore[arg-type]


def test_what_a_row_should_read_is_said_before_it_is_added() -> None:
    """Reference: the demo's own colours, of which `tint` gives the mix."""
    base = demo_base()
    green, brown = demo_dyes()[0], demo_dyes()[4]
    shown = tint(base, [(green, 0.1)], 2).lab()

    def row(lab: Any, name: str = "Reed  Green") -> SwatchRecord:
        return SwatchRecord(
            base_name=base.name, base_lab=(88.5, -0.8, 6.5), base_kind="opaque",
            lab=tuple(lab), shares={name: 0.1}, coats=2, method="instrument",
        )  # fmt: skip

    good = expected(row(shown), Choices())
    assert good is not None and not good.doubtful and good.source == "estimate"
    np.testing.assert_allclose(good.lab, shown, atol=0.05)
    assert "80 % band" in good.text
    other = tint(base, [(brown, 0.5)], 3).lab()
    bad = expected(row(other), Choices())
    assert bad is not None and bad.doubtful and "the right dye, mix and coats?" in bad.text
    assert f"{bad.difference:.0f} ΔE00 off" in bad.text
    assert expected(row(shown, "nobody's"), Choices()) is None


def test_recipes_are_searched_with_ones_own_dyes_once_there_are_some() -> None:
    plan = Choices().plan(DEFAULTS)
    assert {dye.name for dye in Choices().shelf(plan)} == {dye.name for dye in demo_dyes()}
    rows = [
        SwatchRecord(
            base_name="scrap", base_lab=(88.5, -0.8, 6.5), base_kind="opaque", coats=n,
            lab=tuple(tint(demo_base(), [(demo_dyes()[4], 0.2)], n).lab()),
            shares={"Pond Blue": 0.2}, method="instrument",
        )
        for n in (1, 2, 3)
    ]  # fmt: skip
    choices = Choices(learned=learn(rows))
    assert {dye.name for dye in choices.shelf(plan)} == {"Pond Blue (learned)"}
