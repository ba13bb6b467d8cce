"""Marks on a photo: read from texts, drawn where they are."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from tinting.photo.picture import Picture
from tinting.photo.preview import LONGEST_SIDE, corners_from_text, marked_picture, region_from_text


def test_marks_are_read_from_texts() -> None:
    assert region_from_text("10 20, 30;40") == (10, 20, 30, 40)
    assert corners_from_text("(1 2) (3 4) (5 6) (7 8.5)") == ((1, 2), (3, 4), (5, 6), (7, 8.5))


@pytest.mark.parametrize("text", ["", "1 2 3", "1 2 3 4 5", "a b c d", "nan 1 2 3", "-1 2 3 4", 5])
def test_other_texts_are_refused(text: object) -> None:
    for read in (region_from_text, corners_from_text):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            read(text)  # type: ignore[operator]


def test_the_outline_is_drawn_where_the_mark_is_and_nowhere_else() -> None:
    grey = Picture(pixels=np.full((400, 600, 3), 128, dtype=np.uint8))
    content = marked_picture(grey, {"base": ((200.0, 100.0), (400.0, 300.0))})
    drawn = np.asarray(Image.open(io.BytesIO(content)).convert("L")).astype(float)
    assert drawn.shape == (400, 600)
    assert abs(drawn[200, 200] - 128) > 40 and abs(drawn[300, 300] - 128) > 40
    assert abs(drawn[220, 300] - 128) < 5 and abs(drawn[350, 500] - 128) < 5
    assert grey.pixels.max() == 128  # the picture itself stays clean


def test_a_large_picture_is_made_smaller_with_its_marks() -> None:
    large = Picture(pixels=np.full((1500, 3000, 3), 200, dtype=np.uint8))
    content = marked_picture(large, {"chart": ((0, 0), (3000, 0), (3000, 1500), (0, 1500))})
    assert Image.open(io.BytesIO(content)).size == (LONGEST_SIDE, LONGEST_SIDE // 2)


def test_junk_is_refused() -> None:
    picture = Picture(pixels=np.zeros((40, 40, 3), dtype=np.uint8))
    for bad, marks in (
        (None, {}),
        (picture, None),
        (picture, {"x": ((1, 2, 3),)}),
        (picture, {1: ()}),
    ):
        with pytest.raises(ValueError, match=r" must be .*; got "):
            marked_picture(bad, marks)  # type: ignore[arg-type]
