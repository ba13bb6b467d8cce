"""Colours edge to edge, on the limb's own shape, under every light, and as a ladder."""

from __future__ import annotations

import html
from collections.abc import Sequence

import numpy as np
import streamlit as st
from numpy.typing import ArrayLike

from data.page.fields import PageFields
from data.page.show import UNCHANGED, show_scrolled
from tinting.colour.colorimetry import light_words
from tinting.colour.screen import srgb_from_hex
from tinting.forms.spellings import is_screen_colour, screen_colour
from tinting.forms.tint import colour_from_text, colour_words
from tinting.mix.appearance import Look, UnderLight
from tinting.mix.ladder import COATS, Ladder, Rung
from tinting.paper.report import lab_words

Outline = ArrayLike
"""A limb's outline (n, 2), x to the right and y up, in any unit; empty for none."""
STYLE = """<style>
.stMarkdown p.tint-said { font-size: 1.1rem; font-weight: 600; line-height: 1.3; margin: 0; }
.stMarkdown p.tint-band { margin: 0 0 .3rem; font-size: .95rem; }
.tint-three { display: grid; grid-template-columns: repeat(3, minmax(0, 1fr)); margin: 0;
  font-size: .9rem; line-height: 1.4; }
.tint-three svg { width: 100%; height: 7rem; padding: .2rem .5rem; }
.tint-three .square { height: 4rem; border-block: 1px solid currentColor; }
.tint-three .square:nth-of-type(1) { border-left: 1px solid currentColor; }
.tint-three .last { border-right: 1px solid currentColor; }
.tint-row { display: flex; border: 1px solid currentColor; height: 1.6rem; }
.tint-row > div { flex: 1; }
.tint-pair { margin-bottom: .5rem; }
.stMarkdown h2 { padding-bottom: .5rem; }
.stMarkdown h3 { font-size: 1rem; padding: .3rem 0 0; }
.stMarkdown ul.tint-lights { display: grid; grid-template-columns: repeat(7, minmax(0, 1fr));
  gap: .4rem; list-style: none; margin: 0; padding: 0; }
.stMarkdown .tint-lights li { margin: 0; padding: 0; font-size: .8rem; line-height: 1.3; }
.tint-lights .tint-row { height: 2rem; margin-bottom: .2rem; }
.tint-ladder { border-collapse: collapse; font-size: .85rem; table-layout: fixed; width: 100%;
  max-width: 34rem; }
.tint-ladder th { padding: .2rem; font-weight: 400; text-align: left; overflow-wrap: anywhere; }
.tint-ladder td { height: 2.4rem; text-align: center; padding: 0; }
.tint-ladder .near { outline: 3px solid currentColor; outline-offset: -4px; font-weight: 600; }
@media (max-width: 640px) {
  .stMarkdown ul.tint-lights { grid-template-columns: repeat(4, minmax(0, 1fr)); }
  .tint-three svg { height: 3.2rem; padding: .1rem .2rem; }
  .tint-three .square { height: 1.8rem; }
  .st-key-tintanswer .tint-row { height: 1rem; }
  .tint-wide { display: none; }
}
</style>"""
CLEARLY = 1.0
"""Parted by more than this when the light changes is told in bold. [dE]"""


def three_colours(looks: Sequence[Look], light: str, outline: Outline = ()) -> str:
    """Return colours edge to edge as HTML, each on the limb's shape too, with their numbers."""
    shapes = "".join(silhouette(outline, each.hex) for each in looks)
    last = len(looks) - 1
    squares = "".join(
        f'<div class="square{" last" if place == last else ""}" aria-hidden="true" '
        f'style="background:{each.hex};{UNCHANGED}"></div>'
        for place, each in enumerate(looks)
    )
    words = "".join(
        f'<div title="L*a*b* {lab_words(each.lab)}"><strong>{html.escape(each.name)}</strong><br>'
        f"{each.hex}</div>"
        for each in looks
    )
    return (
        f'<div class="tint-three" role="group" aria-label="Base, tint and target in '
        f'{html.escape(light, quote=True)}">{shapes}{squares}{words}</div>'
    )


def silhouette(outline: Outline, colour: str) -> str:
    """Return a limb's shape filled with a colour as SVG, nothing for an empty outline."""
    points = np.asarray(outline, dtype=float).reshape(-1, 2) * (1, -1)
    if not len(points):
        return ""
    low, high = points.min(axis=0), points.max(axis=0)
    size = 100 / max(float((high - low).max()), 1e-9)
    placed = (points - low) * size
    wide, tall = (high - low) * size
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in placed)
    return (
        f'<svg viewBox="-1 -1 {wide + 2:.1f} {tall + 2:.1f}" aria-hidden="true" '
        f'style="{UNCHANGED}"><path d="M{path}Z" fill="{colour}" stroke="currentColor" '
        f'stroke-opacity="0.5" vector-effect="non-scaling-stroke"/></svg>'
    )


def row_of_squares(colours: Sequence[str], spoken: str, caption: str = "") -> str:
    """Return screen colours edge to edge as HTML, ``spoken`` for who does not see them."""
    blocks = "".join(f'<div style="background:{each};{UNCHANGED}"></div>' for each in colours)
    below = f'<div class="tint-wide">{html.escape(caption)}</div>' if caption else ""
    label = html.escape(spoken, quote=True)
    return f'<div class="tint-row" role="img" aria-label="{label}">{blocks}</div>{below}'


def show_pair(
    target: str, predicted: str, names: tuple[str, str] = ("Target", "predicted")
) -> None:
    """Show the screen colours of a target and of what is predicted for it, edge to edge.

    ``names`` are others for the two.
    """
    spoken = f"{names[0]} {target} beside {names[1]} {predicted}"
    pair = row_of_squares((target, predicted), spoken)
    st.markdown(f'<div class="tint-pair">{pair}</div>', unsafe_allow_html=True)


def show_lights(rows: Sequence[UnderLight], drift: Sequence[float]) -> None:
    """Show tint beside target under each light, and how far they part against daylight."""
    each = "".join(
        f'<li title="{html.escape(f"CIE {row.light}: {row.difference:.1f} ΔE00", quote=True)}">'
        + row_of_squares(
            (row.tint.hex, row.target.hex),
            f"Tint {lab_words(row.tint.lab)} beside target {lab_words(row.target.lab)} under "
            f"{row.light}, L*a*b*",
        )
        + html.escape(light_words(row.light))
        + ("" if row is rows[0] else f"<br>{_drift(parted)}")
        + "</li>"
        for row, parted in zip(rows, drift, strict=True)
    )
    st.markdown(
        f'<div style="padding-bottom:.3rem">Tint beside target by light: metamerism '
        f'index</div><ul class="tint-lights">{each}</ul>',
        unsafe_allow_html=True,
    )


def _drift(parted: float) -> str:
    return f"<b>{parted:.1f}</b>" if parted > CLEARLY else f"{parted:.1f}"


def show_ladder(ladder: Ladder, row_names: Sequence[str]) -> None:
    """Show the ladder as a grid of squares, the one nearest the target and the plan's row marked.

    ``row_names`` says each dilution in parts. Numbers stand where they are small.
    """
    nearest = ladder.rows[ladder.nearest[0]].rungs[ladder.nearest[1]].difference
    caption = "ΔE00 in daylight, where small; ★ nearest"
    head = "".join(f'<th scope="col">{"coats " * (coats == 1)}{coats}</th>' for coats in COATS)
    body = ""
    for number, (row, name) in enumerate(zip(ladder.rows, row_names, strict=True)):
        told = f"<strong>{html.escape(name)}, yours</strong>"
        told = told if number == ladder.planned else html.escape(name)
        body += f'<tr><th scope="row">{told}</th>'
        body += "".join(
            _rung(rung, name, ladder.nearest == (number, place), rung.difference < nearest + NEAR)
            for place, rung in enumerate(row.rungs)
        )
        body += "</tr>"
    table = (
        f'<table class="tint-ladder"><caption style="text-align:left;padding:.3rem 0">'
        f'{html.escape(caption)}</caption><thead><tr><th scope="col">Dye:alcohol</th>'
        f"{head}</tr></thead><tbody>{body}</tbody></table>"
    )
    show_scrolled(table, "Ladder of dilutions and coats")


NEAR = 2.0
"""So much farther than the nearest square a ladder still says how far. [dE]"""


def _coats(coats: int) -> str:
    return f"{coats} coat{'' if coats == 1 else 's'}"


def _rung(rung: Rung, name: str, nearest: bool, near: bool) -> str:
    words = f"{name}, {_coats(rung.coats)}: L*a*b* {lab_words(rung.lab)}"
    title = html.escape(f"{words}, {rung.difference:.1f} from the target", quote=True)
    # the darker half of the squares takes white letters, the other black: never below 4.5:1
    dark = _luminance(rung.hex) < 0.179
    told = f"{'★ ' if nearest else ''}{rung.difference:.1f}" if near else ""
    return (
        f'<td title="{title}" aria-label="{title}"{" class=near" if nearest else ""} '
        f'style="background:{rung.hex};color:{"#fff" if dark else "#000"};{UNCHANGED}">{told}</td>'
    )


def _luminance(colour: str) -> float:
    linear = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in srgb_from_hex(colour)
    ]
    return float(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])


def ask_colour(fields: PageFields, key: str, label: str) -> None:
    """Ask for a colour as text, with a picker beside it that writes into the same field."""
    from tinting.colour.spectrum import hex_from_lab

    picker = f"{fields.prefix}pick_{key}"
    typed, picked = st.columns([3, 2])
    with typed:
        text = fields.text(key, echo=colour_words)
    try:
        lightness, a, b = colour_from_text(text)
        known = is_screen_colour(text)
        shown = screen_colour(text) if known else hex_from_lab((lightness, a, b))
        st.session_state[picker] = shown
    except ValueError:
        st.session_state.setdefault(picker, "#808080")
    with picked:
        st.color_picker(
            label,
            key=picker,
            on_change=lambda: fields.put({key: st.session_state[picker]}),
        )
