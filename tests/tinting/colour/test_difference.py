"""Words for colour differences.

Rules of thumb: common practice, not a standard.
"""

from __future__ import annotations

import pytest

from tinting.colour.difference import match_words


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
