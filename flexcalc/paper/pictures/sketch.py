"""Marks on a drawing of a limb: its sheet of paper, clamp, payload, numbers and legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flexcalc.paper.pictures.svg import line, path, scale_bar, words

Points = NDArray[np.float64]
DASHES = ("0.4 1.4", "3 1.5", "none")
INSERTED_DASH = "5 1.5 1 1.5"
"""Dotted, dashed and solid: the three shapes are told apart without colour."""
OUTCOME_OPACITY = "0.25"
LEGEND_ROW = 1.7
"""Height of a row of the legend, in letters."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Where things lie on paper: ``corner`` (least x, most y) [m], ``scale`` of paper over real,
    ``margin``, ``letter`` height, ``width`` and ``height`` [mm].
    """

    corner: tuple[float, float]
    scale: float
    margin: float
    letter: float
    width: float
    height: float

    def place(self, points: Points) -> Points:
        """Return points (..., 2) [m] as places on paper, y downward. [mm]"""
        unit = 1e3 * self.scale
        return np.asarray((points - self.corner) * (unit, -unit) + self.margin, float)


def shape_mark(body: Points, index: int) -> str:
    """Return a limb's outline on paper (n, 2) [mm], dashed by its ``index`` 0, 1 or 2."""
    fill = 'fill="currentColor" fill-opacity="0.12"' if index == 2 else 'fill="none"'
    return (
        f'<path class="shape-{index + 1}" d="{path(body, closed=True)}" {fill} '
        f'stroke="currentColor" stroke-width="0.6" stroke-linecap="round" '
        f'stroke-dasharray="{DASHES[index]}"/>'
    )


def outcome_mark(points: Points) -> str:
    """Return one line of a fan of outcomes on paper (n, 2). [mm]"""
    return (
        f'<path class="outcome" d="{path(points)}" fill="none" stroke="currentColor" '
        f'stroke-width="0.5" stroke-opacity="{OUTCOME_OPACITY}"/>'
    )


def inserted_mark(points: Points) -> str:
    """Return the line on paper (n, 2) [mm] of a limb with its wire in it that nobody has bent."""
    return (
        f'<path class="inserted" d="{path(points)}" fill="none" stroke="currentColor" '
        f'stroke-width="0.5" stroke-dasharray="{INSERTED_DASH}"/>'
    )


def clamp_mark(left: Points, right: Points, ahead: Points, letter: float) -> str:
    """Return the wall that holds the root between ``left`` and ``right``, hatched behind. [mm]

    ``ahead`` (2,) is the direction in which the limb leaves it.
    """
    across = (right - left) / np.hypot(*(right - left))
    start, stop = left - 0.8 * letter * across, right + 0.8 * letter * across
    back = -ahead / np.hypot(*ahead)
    hatch = [
        line(foot, foot + 0.7 * letter * (back - 0.6 * across), 0.3)
        for foot in np.linspace(start, stop, 7)[1:]
    ]
    return f'<g class="clamp">{line(start, stop, 0.9)}{"".join(hatch)}</g>'


def number_mark(place: Points, index: int, letter: float) -> str:
    """Return the number of a shape, centred at ``place`` (2,). [mm]"""
    x, y = place
    return words(x, y + 0.35 * letter, str(index + 1), letter, "middle")


def payload_mark(tip: Points, letter: float) -> str:
    """Return the arrow of a payload, down from the tip (2,). [mm]"""
    x, y = tip
    end, half = y + 2.4 * letter, 0.5 * letter
    head = path(np.array([[x - half, end - letter], [x, end], [x + half, end - letter]]))
    arrow = f'<path d="{head}" fill="none" stroke="currentColor" stroke-width="0.5"/>'
    return f'<g class="payload">{line((x, y), (x, end), 0.5)}{arrow}</g>'


def legend_mark(
    texts: Sequence[str], fan_text: str, inserted_text: str, load_text: str, sheet: Sheet
) -> str:
    """Return the key of the three shapes, of the others where they have a text, and the scale."""
    letter, left = sheet.letter, sheet.margin
    rows = [(f"{i + 1}  {text}", DASHES[i], "1") for i, text in enumerate(texts)]
    rows += [(fan_text, "none", OUTCOME_OPACITY)] if fan_text else []
    rows += [(inserted_text, INSERTED_DASH, "1")] if inserted_text else []
    rows += [(load_text, "", "")] if load_text else []
    parts = []
    for row, (text, dash, opacity) in enumerate(rows):
        y = sheet.height + (LEGEND_ROW * (row - len(rows)) - 3) * letter
        parts.append(words(left + 4.6 * letter, y + 0.35 * letter, text, letter))
        if not dash:
            parts.append(payload_mark(np.array([left + 2 * letter, y - 1.2 * letter]), letter))
            continue
        stroke = path(np.array([[left, y], [left + 4 * letter, y]]))
        parts.append(
            f'<path d="{stroke}" fill="none" stroke="currentColor" stroke-width="0.6" '
            f'stroke-linecap="round" stroke-dasharray="{dash}" stroke-opacity="{opacity}"/>'
        )
    bar = scale_bar(left, sheet.height - 2.2 * letter, sheet.width / 3, sheet.scale, letter)
    return f'<g class="legend">{"".join(parts)}</g>{bar}'
