"""Sketches of the bench tests and test pieces: what is clamped, bent or entered, and what is read.

They are not to scale and say so by having no scale; the sizes stand in the fields beside them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from data.rules import check_choice
from flexcalc.paper.pictures.svg import line, number, page, path, words

WIDTH, LETTER = 90.0, 3.4
THICK = 0.6


def set_up(name: str) -> str:
    """Return the sketch of a test or test piece as SVG; ``name`` is one of `SET_UPS`."""
    check_choice("set-up", name, tuple(SET_UPS))
    height, title, draw = SET_UPS[name]
    return page(WIDTH, height, title, f"Sketch, not to scale: {title}.", "".join(draw()))


def _curve(points: ArrayLike, width: float = THICK, dashed: bool = False) -> str:
    dash = ' stroke-dasharray="2 1.2"' if dashed else ""
    return (
        f'<path d="{path(np.asarray(points, float))}" fill="none" stroke="currentColor" '
        f'stroke-width="{width}" stroke-linejoin="round"{dash}/>'
    )


def _box(x: float, y: float, wide: float, tall: float, opacity: float = 0.12) -> str:
    corners = np.array([[x, y], [x + wide, y], [x + wide, y + tall], [x, y + tall]])
    return (
        f'<path d="{path(corners, closed=True)}" fill="currentColor" fill-opacity="{opacity}" '
        f'stroke="currentColor" stroke-width="0.4"/>'
    )


def _disc(x: float, y: float, radius: float, opacity: float = 0.12) -> str:
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="currentColor" '
        f'fill-opacity="{opacity}" stroke="currentColor" stroke-width="0.4"/>'
    )


def _arc(x: float, y: float, radius: float, start: float, stop: float) -> np.ndarray:
    """Return points of an arc, angles [deg] from the right, up positive."""
    turns = np.radians(np.linspace(start, stop, 40))
    return np.column_stack([x + radius * np.cos(turns), y - radius * np.sin(turns)])


def _measure(start: tuple[float, float], stop: tuple[float, float], text: str) -> list[str]:
    """Return a dimension line with a tick at both ends and its text beside the middle."""
    (x1, y1), (x2, y2) = start, stop
    long = math.hypot(x2 - x1, y2 - y1)
    nx, ny = (y1 - y2) / long * 1.2, (x2 - x1) / long * 1.2
    ticks = [line((x - nx, y - ny), (x + nx, y + ny), 0.3) for x, y in (start, stop)]
    upright = abs(x2 - x1) < abs(y2 - y1)
    at = ((x1 + x2) / 2 + (2 if upright else 0), (y1 + y2) / 2 + (1.2 if upright else -1.2))
    said = words(at[0], at[1], text, LETTER, "start" if upright else "middle")
    return [line(start, stop, 0.3), *ticks, said]


def _droop() -> list[str]:
    along = np.linspace(0.0, 48.0, 40)
    hang = 14 + 20 * (along / 48) ** 2.2
    strip = np.column_stack([26 + along - 6 * (along / 48) ** 3, hang])
    return [
        _box(4, 15, 22, 26),
        _box(4, 5, 22, 7.5),
        words(15, 10, "weight", LETTER, "middle"),
        words(15, 24, "table", LETTER, "middle"),
        _curve([(4, 13.8), (26, 13.8)], 1.6),
        _curve(strip, 1.6),
        _curve([(26, 13.8), (84, 13.8)], 0.3, dashed=True),
        *_measure((71, 13.8), (71, 33.2), "drop"),
        *_measure((26, 6), (70, 6), "strip beyond the clamp"),
        words(60, 42, "read after 60 s", LETTER, "middle"),
    ]


def _mandrel() -> list[str]:
    return [
        words(24, 5, "wound tightly", LETTER, "middle"),
        _disc(24, 24, 10),
        words(24, 25.2, "rod", LETTER, "middle"),
        _curve(_arc(24, 24, 11.2, -90, 262), 1.4),
        _curve([(24, 35.2), (42, 35.2)], 1.4),
        words(67, 5, "let go, laid flat", LETTER, "middle"),
        _curve(_arc(67, 24, 13.2, -90, 200), 1.4),
        _curve([(67, 37.2), (84, 37.2)], 1.4),
        _curve([(67, 24), (67, 37.2)], 0.3, dashed=True),
        _curve([(67, 24), (54.6, 28.5)], 0.3, dashed=True),
        _curve(_arc(67, 24, 5, -90, 200), 0.3),
        words(67, 25.2, "angle", LETTER, "middle"),
        words(45, 43, "whole turns are counted in", LETTER, "middle"),
    ]


def _pins() -> list[str]:
    parts = [_box(6, 12, 78, 16)]
    for index in range(7):
        x = 13 + 11 * index
        parts.append(_disc(x, 20, 2.2 + 0.35 * index, 0.0))
        for notch in range(index + 1):
            parts.append(line((x - 3 + notch, 28), (x - 3 + notch, 26.6), 0.4))
    parts += [
        _box(43.6, 1.0, 4.8, 19, 0.4),
        words(52, 6, "largest that enters", LETTER),
        words(6, 34, "notches count the holes, one is the smallest", LETTER),
    ]
    return parts


def _pose() -> list[str]:
    return [
        _box(2, 4, 86, 32, 0.04),
        words(6, 9, "on a table, from above", LETTER),
        _curve([(10, 31), (34, 31)], 3.6),
        _curve(_arc(34, 17, 14, -90, -12), 3.6),
        _curve([(47.7, 19.9), (50.4, 8.2)], 3.6),
        _curve([(34, 31), (62, 31)], 0.3, dashed=True),
        _curve([(44.6, 31), (53, 3.0)], 0.3, dashed=True),
        _curve(_arc(44.6, 31, 9, 0, 74), 0.3),
        words(56, 27, "angle it keeps", LETTER),
        words(45, 41, "bent, held, let go; then read", LETTER, "middle"),
    ]


def _kink() -> list[str]:
    parts: list[str] = []
    for x, radius, text in ((20, 10.0, "stays round"), (64, 6.0, "folds")):
        parts += [
            _disc(x, 24, radius),
            _curve(_arc(x, 24, radius + 2.6, 10, 190), 4.4),
            _curve([(x - radius - 2.6, 23), (x - radius - 2.6, 36)], 4.4),
            words(x, 42, text, LETTER, "middle"),
        ]
    parts += [
        _curve([(60.5, 12.5), (64, 17.5), (67.5, 12.5)], 0.7),
        words(45, 5, "ever thinner rods, once round each", LETTER, "middle"),
    ]
    return parts


def _magnet() -> list[str]:
    return [
        _box(10, 6, 26, 30),
        _box(30, 15, 6, 12, 0.5),
        words(22, 12, "hand", LETTER, "middle"),
        _box(38, 15, 6, 12, 0.5),
        _box(38, 9, 30, 24, 0.05),
        words(56, 14, "object", LETTER, "middle"),
        *_measure((37, 38), (58, 38), "its middle stands off"),
        _disc(58, 21, 1.2, 1.0),
        words(41, 5, "gap of plastic", LETTER, "middle"),
    ]


def _droop_strip() -> list[str]:
    return [
        _box(6, 10, 14, 16),
        _box(20, 13, 62, 10),
        line((20, 8), (20, 10), 0.5),
        line((20, 26), (20, 28), 0.5),
        words(13, 19.2, "tab", LETTER, "middle"),
        *_measure((20, 31), (82, 31), "free length, from the notches"),
        words(50, 19.2, "lies flat on the bed", LETTER, "middle"),
    ]


def _tile() -> list[str]:
    parts = []
    for step in range(4):
        tall = 4.0 * (step + 1)
        parts.append(_box(8 + 16 * step, 26 - tall, 16, tall))
        parts.append(words(16 + 16 * step, 31, f"{step + 1} mm", LETTER, "middle"))
    parts.append(words(8, 6, "four fields to dye and to measure", LETTER))
    return parts


def _piece() -> list[str]:
    return [
        _box(8, 10, 70, 14),
        _curve([(8, 14.8), (78, 14.8)], 0.4, dashed=True),
        _curve([(8, 19.2), (78, 19.2)], 0.4, dashed=True),
        _curve([(2, 17), (86, 17)], 1.4),
        words(43, 30, "60 mm of the limb: try wire and kink", LETTER, "middle"),
    ]


SET_UPS: dict[str, tuple[float, str, Callable[[], list[str]]]] = {
    "droop": (45.0, "a printed strip clamped level at a table's edge, its tip hanging", _droop),
    "mandrel": (45.0, "a wire wound round a rod, and let go", _mandrel),
    "pins": (36.0, "a strip of holes and a pin that enters one", _pins),
    "pose": (44.0, "a bent limb lying on a table with the angle it keeps", _pose),
    "kink": (45.0, "a limb bent round a thick rod, and folded round a thin one", _kink),
    "magnet": (42.0, "a hand with a magnet that holds an object off its side", _magnet),
    "droop strip": (34.0, "the droop strip with its tab and notches", _droop_strip),
    "channel strip": (36.0, "the strip of seven channels with notches", _pins),
    "swatch tile": (34.0, "a stair of four fields", _tile),
    "limb piece": (34.0, "a piece of the limb with its channel and wire", _piece),
}
"""Every sketch: its height [mm], what it shows, and what draws it."""
