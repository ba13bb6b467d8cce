"""Inline SVG for a page and for paper: strings, in millimetres on paper, text always escaped.

Everything is drawn in the colour of the text around it, so a dark page, forced colours and print
work alike. Letters are sized to the width of the drawing: about 12 px where it is shrunk to a
phone of 390 px.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from data.rules import refuse

Points = NDArray[np.float64]
LETTER_SHARE = 0.036
"""Letter height over drawing width."""
NARROWEST = 90.0
"""Least width of a drawing, for its letters to be as large in print. [mm]"""
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002)
NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def escaped(text: str) -> str:
    """Return a user's text fit for XML: markup escaped, characters XML forbids replaced."""
    return html.escape(NOT_XML.sub("\ufffd", text))


def checked_text(name: str, text: object, longest: int = 500) -> str:
    """Return ``text`` if it is a text of at most ``longest`` characters; ValueError otherwise."""
    if not isinstance(text, str) or len(text) > longest:
        raise refuse(name, f"a text of at most {longest} characters", text)
    return text


def number(value: float) -> str:
    """Return a coordinate in mm to a hundredth, without a minus before zero."""
    return f"{round(value, 2) + 0.0:.2f}"


def path(points: Points, closed: bool = False) -> str:
    """Return path data through points (n, 2) on paper. [mm]"""
    corners = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{corners}{' Z' if closed else ''}"


def line(start: Sequence[float], stop: Sequence[float], width: float = 0.3) -> str:
    """Return a straight line between two points on paper. [mm]"""
    (x1, y1), (x2, y2) = start, stop
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}" '
        f'stroke="currentColor" stroke-width="{number(width)}"/>'
    )


def words(x: float, y: float, text: str, size: float, anchor: str = "start") -> str:
    """Return a text, escaped, at its baseline. [mm]"""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" '
        f'text-anchor="{anchor}" fill="currentColor">{escaped(text)}</text>'
    )


def fitting_scale(extent: float, space: float) -> float:
    """Return the largest usual scale at which ``extent`` [m] fits into ``space`` [mm] of paper."""
    fits = [scale for scale in SCALES if extent * 1e3 * scale <= space * 1.001]
    return fits[0] if fits else space / (extent * 1e3)


def scale_words(scale: float) -> str:
    """Return a scale as a drawing names it: 5:1, 1:1, 1:2."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def scale_bar(x: float, y: float, space: float, scale: float, size: float) -> str:
    """Return a scale bar of a round length, at most ``space`` [mm] long, named in mm and inches.

    ``x``, ``y`` [mm] is its left end; ``scale`` is paper over real; ``size`` the letters' height.
    """
    most = space / scale
    step = 10 ** math.floor(math.log10(most))
    length = max(step * k for k in (1, 2, 5) if step * k <= most * (1 + 1e-9))
    end, tick = x + length * scale, size / 3
    text = f"{length:g} mm = {length / 25.4:.3g} in, scale {scale_words(scale)}"
    parts = [
        line((x, y), (end, y), 0.5),
        line((x, y - tick), (x, y + tick), 0.5),
        line((end, y - tick), (end, y + tick), 0.5),
        words(x, y + 1.5 * size, text, size),
    ]
    return f'<g class="scale-bar">{"".join(parts)}</g>'


def page(width: float, height: float, title: str, description: str, body: str) -> str:
    """Return the whole drawing of ``width`` by ``height`` [mm] with its title for a reader."""
    w, h = number(width), number(height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}" role="img" font-family="sans-serif" '
        f'style="max-width:100%;height:auto">'
        f"<title>{escaped(title)}</title><desc>{escaped(description)}</desc>{body}</svg>"
    )
