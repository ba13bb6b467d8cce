"""The bench card and the tint's part of the build sheet: whole, escaped, alone."""

from __future__ import annotations

import dataclasses
import re
from datetime import date

import numpy as np
import pytest

from data.sheet import sheet_text
from tinting.forms.tint import DEFAULTS, plan_from_form
from tinting.learn.band import estimate_band
from tinting.log.bottles import Bottle
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.paper.report import (
    BLANK,
    bench_card,
    lab_words,
    plan_words,
    tint_for_area,
    tint_parts,
    tint_retouch,
    tint_volumes,
    tint_words,
)
from tinting.skin.demo import demo_base, demo_dyes

PLAN = plan_from_form(DEFAULTS, demo_dyes())


def test_the_card_says_all_that_the_bench_needs() -> None:
    band = estimate_band(PLAN.result())
    moss = Bottle(name="Reed  Green", lot="A 17", note="a year old")
    card = bench_card(PLAN, limb="left leg", bottles=(moss,), made_on=date(2031, 5, 4))
    for words in (
        "1 part reed green + 9 parts alcohol", "<td>31</td>", "9.01",
        "3 min (1.5 to 5)", "30 min (25 to 60)", "106 ppm", "flash point 11.7", "limits 400 ppm",
        f"80 % band: {band.radius:.1f} ΔE00", f"{band.within(2, PLAN.target):.0%} likely to match",
        "Limb: left leg", "Date: 2031-05-04", "reed green: lot A 17; a year old", "demo dye",
        "Coat 1, thin and even", "Coat 2, thin and even", "After coat 1, dry", "Next day",
        "After a week", "Bent", "Half kept covered", "Gloves", "blue-wool", "rub off", "wander",
        "sealer", "before bending", PLAN.result().hex, "known by one", "@page",
        "print-color-adjust: exact", 'class="box"',
    ):  # fmt: skip
        assert words in card, words
    blank = bench_card(PLAN)
    assert f"Date: {BLANK}" in blank and f"Limb: {BLANK}" in blank and f"lot {BLANK}" in blank
    for sheet in (card, sheet_text("Heron", tint_parts(plain(PLAN)))):
        assert "told apart" not in sheet and "CIEDE2000" not in sheet


def test_the_card_stands_alone_and_is_escaped() -> None:
    evil = '<script>alert("x")</script>'
    dye = dataclasses.replace(demo_dyes()[0], name=evil)
    base = dataclasses.replace(demo_base(), name="<img src=x onerror=1>")
    plan = TintPlan(name="<b>", base=base, mix=((dye, 0.1),), coats=2, target=PLAN.target)
    card = bench_card(plan)
    assert evil not in card and "<img" not in card and "<b>" not in card
    assert "&lt;script&gt;" in card
    assert not re.search(r"<[^>]*(?:src|href)=|https?:|@import", card)


def test_a_target_that_no_surface_has_is_said() -> None:
    plan = dataclasses.replace(PLAN, target=np.array([50.0, 150.0, -150.0]))
    assert "No real surface has" in bench_card(plan)


def test_a_tint_is_mixed_for_the_surface_of_the_limbs() -> None:
    """By hand: 400 cm2, 2 coats of 0.5 mL on 100 cm2, half as much again lost: 6 mL."""
    kept = plain(PLAN)
    assert tint_plan_from(tint_for_area(kept, 0.04)).batch_volume == PLAN.batch_volume
    large = tint_plan_from(tint_for_area(kept, 0.4))
    assert large.batch_volume == pytest.approx(60e-6) and large.area == 0.4
    volumes = tint_volumes(plain(large))
    assert list(volumes)[-1] == "isopropyl alcohol"
    assert sum(volumes.values()) == pytest.approx(60e-6, rel=0.02)
    assert volumes["reed green"] / sum(volumes.values()) == pytest.approx(0.1, abs=0.01)


def test_a_faded_part_is_told_how_to_come_back_and_a_dark_one_to_stop() -> None:
    goal = PLAN.result().lab()
    kept = plain(dataclasses.replace(PLAN, target=goal))
    faded = tint_retouch(kept, [goal[0] + 8, goal[1] * 0.6, goal[2] * 0.6])
    assert "from the target" in faded[0] and "coat" in faded[1]
    dark = tint_retouch(kept, [goal[0] - 12, goal[1], goal[2]])
    assert "stop" in dark[1].lower()


def test_first_dilutions_and_small_batches_are_on_the_card() -> None:
    form = {**DEFAULTS, "dye2": "umber brown", "parts2": "0.02", "area": "2000"}
    card = bench_card(plan_from_form(form, demo_dyes()))
    assert "Dilute umber brown first" in card and "mix it larger" in card


def test_a_tint_of_a_design_is_told_and_printed() -> None:
    kept = plain(PLAN)
    assert tint_words(kept) == plan_words(PLAN)
    assert plan_words(PLAN).startswith(
        "tint: 1 part reed green + 9 parts alcohol, 2 coats on off-w"
    )
    text = sheet_text("Heron", tint_parts(kept))
    assert "Tint: mixing and brushing" in text and "CAUTION: Isopropyl alcohol burns" in text


def test_a_plan_without_dye_is_told_too() -> None:
    bare = plan_from_form({**DEFAULTS, "dye1": "none", "coats": "0"}, demo_dyes())
    assert "alcohol alone, 0 coats" in plan_words(bare) and "alcohol alone" in bench_card(bare)


def test_lab_in_words() -> None:
    assert lab_words((62, -16, 28.04)) == "62.0 -16.0 28.0"
    assert lab_words((100, -0.001, 0)) == "100.0 0.0 0.0"


@pytest.mark.parametrize("junk", [None, 3, "plan", [1, 2], {}])
def test_junk_is_refused(junk: object) -> None:
    for function in (bench_card, plan_words, tint_words, tint_parts, lab_words):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            function(junk)  # type: ignore[operator]
    with pytest.raises(ValueError, match="band must be"):
        bench_card(PLAN, band=1.4)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="limb must be"):
        bench_card(PLAN, limb="two\nlines")
    with pytest.raises(ValueError, match="each of the bottles must be"):
        bench_card(PLAN, bottles=("moss",))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="light must be"):
        bench_card(PLAN, light="candle")
