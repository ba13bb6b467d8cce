"""A photo with its marks drawn in and a ruler of pixels, so that marks can be typed and checked."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from typing import Any

from data.rules import check_kind, check_number, refuse
from tinting.colour.grid import check_array
from tinting.photo.picture import Picture

Points = tuple[tuple[float, float], ...]
LONGEST_SIDE = 1200
_STEPS = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
_LINES = 8


def region_from_text(text: str, name: str = "region") -> tuple[float, float, float, float]:
    """Return (left, top, right, bottom) of four numbers in a text. [pixel]"""
    left, top, right, bottom = _numbers(text, name, 4, "four numbers left top right bottom")
    return left, top, right, bottom


def corners_from_text(text: str, name: str = "chart corners") -> Points:
    """Return four (x, y) of eight numbers in a text, "x y, x y, x y, x y". [pixel]"""
    found = _numbers(text, name, 8, "eight numbers: x y of each of the four corners")
    return tuple(zip(found[::2], found[1::2], strict=True))


def marked_picture(picture: Picture, marks: Mapping[str, Points]) -> bytes:
    """Return a JPEG of a picture with a ruler along two edges and its marks as named outlines.

    Parameters
    ----------
    picture : Picture
        As read.
    marks : mapping of str to tuple of (x, y)
        Name to two opposite corners of a rectangle, or to the four corners of a chart. [pixel]
    """
    from PIL import Image, ImageDraw

    check_kind("picture", picture, Picture, "a Picture")
    check_kind("marks", marks, Mapping, "a mapping of name to points")
    scale = min(1.0, LONGEST_SIDE / max(picture.width, picture.height))
    size = (max(1, round(picture.width * scale)), max(1, round(picture.height * scale)))
    image = Image.fromarray(picture.pixels).resize(size)
    draw = ImageDraw.Draw(image)
    _draw_ruler(draw, picture, scale)
    for name, points in marks.items():
        check_kind("mark", name, str, "named by a text")
        check_array(f"mark {name}", points, 2, least=0.0, most=1e6)
        _draw_mark(draw, name, points, scale)
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=85)
    return buffer.getvalue()


def _numbers(text: str, name: str, count: int, rule: str) -> list[float]:
    check_kind(name, text, str, "a text")
    parts = [part for part in re.split(r"[\s,;()]+", text[:400]) if part]
    if len(parts) != count:
        raise refuse(name, rule, text)
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        raise refuse(name, rule, text) from None
    return [check_number(name, number, least=0.0, most=1e6, unit="pixel") for number in numbers]


def _draw_ruler(draw: Any, picture: Picture, scale: float) -> None:
    longest = max(picture.width, picture.height)
    step = next((step for step in _STEPS if longest / step <= _LINES), _STEPS[-1])
    for place in range(step, picture.width, step):
        _draw_line(draw, [(place * scale, 0), (place * scale, 14)])
        _draw_words(draw, (place * scale + 3, 2), str(place))
    for place in range(step, picture.height, step):
        _draw_line(draw, [(0, place * scale), (14, place * scale)])
        _draw_words(draw, (3, place * scale + 2), str(place))


def _draw_mark(draw: Any, name: str, points: Points, scale: float) -> None:
    placed = [(x * scale, y * scale) for x, y in points]
    if len(placed) == 2:
        (left, top), (right, bottom) = placed
        placed = [(left, top), (right, top), (right, bottom), (left, bottom)]
    _draw_line(draw, [*placed, placed[0]])
    _draw_words(draw, (min(x for x, _ in placed) + 4, min(y for _, y in placed) + 3), name)


def _draw_line(draw: Any, points: list[tuple[float, float]]) -> None:
    # white in black shows on any ground
    draw.line(points, fill=(0, 0, 0), width=5)
    draw.line(points, fill=(255, 255, 255), width=2)


def _draw_words(draw: Any, place: tuple[float, float], words: str) -> None:
    draw.text(place, words, fill=(255, 255, 255), stroke_width=2, stroke_fill=(0, 0, 0))
