"""Words and grades for colour differences.

Grey scale: sample page of EN 20105-A02 / ISO 105-A02 (read as a scan, decimal points restored).
Rules of thumb: common practice, not a standard.
"""

from __future__ import annotations

import pytest

from data import read_table
from tinting.judgement import GREY_SCALE, fading_grade, match_words

PRINTED = {  # grade: CIELAB distance, tolerance
    "5": (0.0, 0.2),
    "4-5": (0.8, 0.2),
    "4": (1.7, 0.3),
    "3-4": (2.5, 0.35),
    "3": (3.4, 0.4),
    "2-3": (4.8, 0.5),
    "2": (6.8, 0.6),
    "1-2": (9.6, 0.7),
    "1": (13.6, 1.0),
}


def test_grey_scale_as_printed() -> None:
    rows = read_table("constants")["grey scale"]
    assert {grade: row.value for grade, row in rows.items()} == GREY_SCALE
    assert {grade: step for grade, (step, _) in PRINTED.items()} == GREY_SCALE
    for grade, (step, tolerance) in PRINTED.items():
        assert rows[grade].high - step == pytest.approx(tolerance)


@pytest.mark.parametrize("grade", PRINTED)
def test_change_within_tolerance_gets_its_grade(grade: str) -> None:
    step, tolerance = PRINTED[grade]
    for change in (step, step + 0.9 * tolerance, max(step - 0.9 * tolerance, 0.0)):
        assert fading_grade((60.0, 10.0, 20.0), (60.0, 10.0 + change, 20.0)) == grade
    assert fading_grade((20.0, 0.0, 0.0), (90.0, 0.0, 0.0)) == "1"


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (0.0, "not to be told apart"),
        (0.79, "not to be told apart"),
        (0.95, "a good match"),
        (1.7, "accepted by most"),
        (1.95, "a commercial match"),
        (4.0, "visibly different"),
        (5.5, "obviously different"),
    ],
)
def test_words(difference: float, words: str) -> None:
    assert match_words(difference).startswith(words)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="colour difference must be a finite number"):
        match_words(float("nan"))
    with pytest.raises(ValueError, match="lab before must be"):
        fading_grade((60.0, 10.0), (60.0, 10.0, 20.0))
