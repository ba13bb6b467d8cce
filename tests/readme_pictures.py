"""The README's pictures: the demo limb as the program draws it, and the ladder of its tint."""

from __future__ import annotations

import html

from flexcalc.forms.limb_form import plan_from_form
from flexcalc.paper.answers import side_view, verdict_on
from tinting.forms.tint import DEFAULTS
from tinting.forms.tint import plan_from_form as tint_from_form
from tinting.mix.batch import parts_text
from tinting.mix.ladder import COATS, tint_ladder
from tinting.skin.demo import demo_dyes

PAPER = "background:#fff;color:#111"
"""A picture of its own stands on white, whatever stands round it."""
SQUARE, LEFT, TOP = 15, 50, 12
"""Sides of the ladder's squares, and where the first one begins. [mm]"""


def limb_picture() -> str:
    """Return the demo limb from the side, as the limb page draws it."""
    plan = plan_from_form({})
    verdict = verdict_on(plan)
    drawn = side_view(plan, verdict, [line.positions for line in verdict.likely.fan])
    return _alone(drawn)


def ladder_picture() -> str:
    """Return the ladder of the demo tint: dilutions downward, coats to the right."""
    ladder = tint_ladder(tint_from_form(DEFAULTS, demo_dyes()))
    width, height = LEFT + SQUARE * len(COATS) + 4, TOP + SQUARE * len(ladder.rows) + 4
    parts = [
        f'<text x="{LEFT + SQUARE * (n + 0.5):g}" y="8" text-anchor="middle">'
        f"{coats} {'coat' if coats == 1 else 'coats'}</text>"
        for n, coats in enumerate(COATS)
    ]
    for row, dilution in enumerate(ladder.rows):
        y = TOP + SQUARE * row
        words = html.escape(parts_text(dilution.share))
        parts.append(f'<text x="1" y="{y + SQUARE / 2 + 1:g}">{words}</text>')
        for column, rung in enumerate(dilution.rungs):
            x = LEFT + SQUARE * column
            near = (row, column) == ladder.nearest
            edge = "#111" if near else "none"
            parts.append(
                f'<rect x="{x}" y="{y}" width="{SQUARE}" height="{SQUARE}" fill="{rung.hex}" '
                f'stroke="{edge}"><title>{rung.hex}, {rung.difference:.1f} ΔE00 from the target'
                "</title></rect>"
            )
    return _alone(
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width}mm" '
        f'height="{height}mm" viewBox="0 0 {width} {height}" font-size="3" '
        f'font-family="sans-serif"><title>Ladder of the demo tint</title>{"".join(parts)}</svg>'
    )


def _alone(svg: str) -> str:
    """Return a drawing that stands in a page as a file of its own."""
    tag, rest = svg.split(">", 1)
    if "style=" in tag:
        tag = tag.replace('style="', f'style="{PAPER};', 1)
    else:
        tag += f' style="{PAPER}"'
    if "xmlns=" not in tag:
        tag = tag.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    return f"{tag}>{rest}\n"
