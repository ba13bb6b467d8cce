"""Marks on a photo as they are typed."""

from __future__ import annotations

import pytest

from tinting.photo.regions import corners_from_text, region_from_text


def test_marks_are_read_from_texts() -> None:
    assert region_from_text("10 20, 30;40") == (10, 20, 30, 40)
    assert corners_from_text("(1 2) (3 4) (5 6) (7 8.5)") == ((1, 2), (3, 4), (5, 6), (7, 8.5))


@pytest.mark.parametrize("text", ["", "1 2 3", "1 2 3 4 5", "a b c d", "nan 1 2 3", "-1 2 3 4", 5])
def test_other_texts_are_refused(text: object) -> None:
    for read in (region_from_text, corners_from_text):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            read(text)  # type: ignore[operator]
