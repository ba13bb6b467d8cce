"""Squares of colour, tables and sentences, as every page of this package shows them."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from pathlib import Path

import streamlit as st

from data.rules import Caution
from tinting.ladder import COATS, Ladder, Rung
from tinting.look import Look
from tinting.report import lab_words
from tinting.screen import srgb_from_hex

OFF_SCREEN = "position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)"
_KEEP = "forced-color-adjust:none;print-color-adjust:exact;-webkit-print-color-adjust:exact"
_SCROLLED = '<div style="overflow-x:auto" tabindex="0" role="region" aria-label="{}">{}</div>'


def show_squares(looks: Sequence[Look], caption: str, height: str = "9rem") -> None:
    """Show colours edge to edge, so that the eye compares them, with their numbers below."""
    blocks = "".join(
        f'<div style="flex:1;height:{height};background:{each.hex};{_KEEP}"></div>'
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


class Square(str):
    """HTML of a square of colour: the only cells that `show_table` does not escape."""


def square(colour: str, label: str, size: str = "1.6rem") -> Square:
    """Return a small square of a colour as HTML, to stand in a table."""
    return Square(
        f'<span role="img" aria-label="{html.escape(label, quote=True)}" style="display:'
        f"inline-block;width:{size};height:{size};border:1px solid currentColor;"
        f'vertical-align:middle;background:{colour};{_KEEP}"></span>'
    )


def show_table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str) -> None:
    """Show a plain table that a screen reader reads and a narrow screen scrolls.

    Every cell is text and escaped, but for one that `square` has made.
    """
    titles = "".join(f'<th scope="col" style="{_CELL}">{html.escape(each)}</th>' for each in head)
    body = "".join(f"<tr>{_row(row)}</tr>" for row in rows)
    # so wide that a column keeps room for words; a narrow screen scrolls
    width = f"min-width:{4.6 * len(head):.0f}rem"
    table = (
        f'<table style="border-collapse:collapse;font-size:.9rem;{width}">'
        f'<caption style="text-align:left;padding:.3rem 0">{html.escape(caption)}</caption>'
        f"<thead><tr>{titles}</tr></thead><tbody>{body}</tbody></table>"
    )
    st.html(_SCROLLED.format(html.escape(caption, quote=True), table))


_CELL = (
    "text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;"
    "border-bottom:1px solid rgba(128,128,128,.6)"
)


def _row(row: Sequence[str]) -> str:
    cells = [
        cell if isinstance(cell, Square) else html.escape(cell).replace("\n", "<br>")
        for cell in row
    ]
    first, *rest = cells
    return f'<th scope="row" style="{_CELL};font-weight:600">{first}</th>' + "".join(
        f'<td style="{_CELL}">{cell}</td>' for cell in rest
    )


def show_ladder(ladder: Ladder, row_names: Sequence[str], light: str) -> None:
    """Show the ladder as a grid of squares, the one nearest the target and the plan's row marked.

    ``row_names`` says each dilution in parts.
    """
    caption = f"Dilutions down, coats across; seen under {light}. ★ is nearest to the target."
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
    st.html(_SCROLLED.format("Ladder of dilutions and coats", table))


def _rung(rung: Rung, name: str, nearest: bool) -> str:
    words = f"{name}, coats: {rung.coats}: L*a*b* {lab_words(rung.lab)}, {rung.difference:.1f} from"
    title = html.escape(f"{words} the target", quote=True)
    # the darker half of the squares takes white letters, the other black: never below 4.5:1
    dark = _luminance(rung.hex) < 0.179
    ring = "outline:3px solid currentColor;outline-offset:-4px;" if nearest else ""
    return (
        f'<td title="{title}" style="background:{rung.hex};color:{"#fff" if dark else "#000"};'
        f'{ring}min-width:5.2rem;height:3rem;text-align:center;{_KEEP}">'
        f"{'★ ' if nearest else ''}{rung.hex}<br>ΔE {rung.difference:.1f}</td>"
    )


def _luminance(colour: str) -> float:
    linear = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in srgb_from_hex(colour)
    ]
    return float(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])


def announce(sentence: str) -> None:
    """Show nothing, but let a screen reader read the sentence out when it changes."""
    # As markdown, whose parts stay and change: a status put in anew is not read.
    st.markdown(
        f'<div role="status" aria-live="polite" style="{OFF_SCREEN}">{html.escape(sentence)}</div>',
        unsafe_allow_html=True,
    )


def show_cautions(cautions: Iterable[Caution]) -> None:
    """Show every caution, nothing where there is none."""
    for caution in cautions:
        st.warning(plain_text(caution.text))


def plain_text(text: str) -> str:
    """Return a text so that it stands in a line as it was typed, whatever it holds."""
    return "".join(f"\\{sign}" if sign in "\\`*_{}[]<>()#+-.!|$~:" else sign for sign in text)


def file_stem(name: str) -> str:
    """Return a name that every system takes for a file."""
    kept = "".join(sign for sign in name if sign.isalnum() or sign in " -_").strip()
    return Path(kept[:60]).name or "tint"
