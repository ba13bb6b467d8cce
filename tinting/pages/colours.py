"""Colours edge to edge and as a ladder, as the tint page shows them."""

from __future__ import annotations

import html
from collections.abc import Sequence

import streamlit as st

from data.page.show import UNCHANGED, show_scrolled
from tinting.colour.screen import srgb_from_hex
from tinting.mix.appearance import Look
from tinting.mix.ladder import COATS, Ladder, Rung
from tinting.paper.report import lab_words


def show_squares(looks: Sequence[Look], caption: str, height: str = "9rem") -> None:
    """Show colours edge to edge, so that the eye compares them, with their numbers below."""
    blocks = "".join(
        f'<div style="flex:1;height:{height};background:{each.hex};{UNCHANGED}"></div>'
        for each in looks
    )
    words = "".join(
        f'<div style="flex:1;padding:.3rem .4rem 0 0;min-width:0;overflow-wrap:anywhere">'
        f"<strong>{html.escape(each.name)}</strong><br>L*a*b* {lab_words(each.lab)}<br>"
        f"{each.hex}</div>"
        for each in looks
    )
    st.html(
        f'<figure style="margin:0"><figcaption style="padding-bottom:.3rem">'
        f"{html.escape(caption)}</figcaption>"
        f'<div style="display:flex;border:1px solid currentColor" aria-hidden="true">{blocks}</div>'
        f'<div style="display:flex;font-size:.9rem">{words}</div></figure>'
    )


def show_pair(target: str, predicted: str) -> None:
    """Show the screen colours of a target and of what is predicted for it, edge to edge."""
    blocks = "".join(
        f'<div style="flex:1;height:2rem;background:{each};{UNCHANGED}"></div>'
        for each in (target, predicted)
    )
    st.html(
        f'<div role="img" aria-label="Target {target} beside predicted {predicted}" '
        f'style="display:flex;border:1px solid currentColor">{blocks}</div>'
    )


def show_ladder(ladder: Ladder, row_names: Sequence[str], light: str) -> None:
    """Show the ladder as a grid of squares, the one nearest the target and the plan's row marked.

    ``row_names`` says each dilution in parts.
    """
    caption = f"ΔE00 to the target under {light}, dye : alcohol down; ★ is the nearest."
    head = "".join(
        f'<th scope="col" style="padding:.2rem">{coats} coat{"" if coats == 1 else "s"}</th>'
        for coats in COATS
    )
    body = ""
    for number, (row, name) in enumerate(zip(ladder.rows, row_names, strict=True)):
        told = f"{html.escape(name)}{' (yours)' if number == ladder.planned else ''}"
        body += f'<tr><th scope="row" style="text-align:left;padding-right:.6rem">{told}</th>'
        body += "".join(
            _rung(rung, name, ladder.nearest == (number, place))
            for place, rung in enumerate(row.rungs)
        )
        body += "</tr>"
    table = (
        f'<table style="border-collapse:collapse;font-size:.85rem"><caption style="text-align:left;'
        f'padding:.3rem 0">{html.escape(caption)}</caption><thead><tr><th scope="col">Mix</th>'
        f"{head}</tr></thead><tbody>{body}</tbody></table>"
    )
    show_scrolled(table, "Ladder of dilutions and coats")


def _rung(rung: Rung, name: str, nearest: bool) -> str:
    words = f"{name}, coats: {rung.coats}: L*a*b* {lab_words(rung.lab)}, {rung.difference:.1f} from"
    title = html.escape(f"{words} the target", quote=True)
    # the darker half of the squares takes white letters, the other black: never below 4.5:1
    dark = _luminance(rung.hex) < 0.179
    ring = "outline:3px solid currentColor;outline-offset:-4px;" if nearest else ""
    return (
        f'<td title="{title}" style="background:{rung.hex};color:{"#fff" if dark else "#000"};'
        f'{ring}min-width:3rem;height:2.4rem;text-align:center;{UNCHANGED}">'
        f"{'★ ' if nearest else ''}{rung.difference:.1f}</td>"
    )


def _luminance(colour: str) -> float:
    linear = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in srgb_from_hex(colour)
    ]
    return float(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])
