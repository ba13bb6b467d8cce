"""Ratios, per cent, amounts and screen colours in their usual spellings.

One part of dye with nine of alcohol is a tenth of dye; CSS Color 4 says what #9AB and rgb() mean
(from memory).
"""

from __future__ import annotations

import pytest

from tinting.forms.spellings import amount, screen_colour, thinning, thinning_words
from tinting.forms.tint import DEFAULTS, colour_from_text, colour_words, plan_from_form
from tinting.skin.demo import demo_dyes

ALIKE = ("9", "9,0", "9 parts", "9 mL", "9 drops", "1:9", "1 : 9", "2:18", "1 to 9", "1/9",
         "10 %", "10%", "10 percent", "1 in 10")  # fmt: skip


@pytest.mark.parametrize("typed", ALIKE)
def test_a_tenth_of_dye_is_read_in_every_spelling(typed: str) -> None:
    assert thinning(1e6)(typed).parts_for(2 if ":" in typed or "%" in typed else 1) in (
        pytest.approx(9), pytest.approx(18),
    )  # fmt: skip
    assert thinning_words(typed, ["1"]) == "1 part of dye + 9 of alcohol = 1:9 = 10 % dye"
    (mix,) = plan_from_form({**DEFAULTS, "alcohol": typed}, demo_dyes()).mix
    assert mix[1] == pytest.approx(0.1)


def test_a_ratio_is_of_all_dyes_together() -> None:
    assert thinning_words("1:9", ["1", "2"]) == "3 parts of dye + 27 of alcohol = 1:9 = 10 % dye"


@pytest.mark.parametrize("typed", ["", "0:9", "101 %", "0 %", "1:", "nine", "1:2:3", "-1"])
def test_what_is_no_mix_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="must be"):
        thinning(1e6)(typed)
    assert thinning_words(typed, ["1"]) == ""


@pytest.mark.parametrize(("typed", "parts"), [("2 mL", 2), ("0.5 cl", 5), ("30 µL", 0.03)])
def test_volumes_stand_as_parts(typed: str, parts: float) -> None:
    assert amount(1e6)(typed) == pytest.approx(parts)


@pytest.mark.parametrize(
    "typed", ["#9aa86b", "9AA86B", "0x9aa86b", "rgb(154, 168, 107)", "rgb 154 168 107"]
)
def test_a_screen_colour_is_read_in_every_spelling(typed: str) -> None:
    assert screen_colour(typed) == "#9aa86b"
    assert colour_from_text(typed) == pytest.approx(colour_from_text("#9aa86b"))


def test_three_digits_stand_for_six() -> None:
    assert screen_colour("#9AB") == "#99aabb"


@pytest.mark.parametrize(
    "typed", ["66 -12 28", "lab(66 -12 28)", "L* 66 a* -12 b* 28", "66; -12; 28"]
)
def test_lab_is_read_in_every_spelling(typed: str) -> None:
    assert colour_from_text(typed).tolist() == [66.0, -12.0, 28.0]
    assert colour_words(typed).startswith("#")


def test_a_colour_is_said_in_the_other_spelling() -> None:
    assert colour_words("#9aa86b").startswith("L 65.7 a -11.2")
    assert colour_words("grey") == ""
