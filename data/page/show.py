"""What every page shows alike: tables, cautions, sentences for a screen reader, escaped texts."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

import streamlit as st

from data.page.units import table_words, words
from data.rules import Caution

OFF_SCREEN = "position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)"
UNCHANGED = "forced-color-adjust:none;print-color-adjust:exact;-webkit-print-color-adjust:exact"
"""Style that keeps a colour as it is in print and in high contrast."""
HEADINGS = """<style>
.stMainBlockContainer { padding-top: 4rem; }
.stMainBlockContainer h1 { font-size: 1.6rem; padding: 0 0 .2rem; }
.stMainBlockContainer h2 { font-size: 1.2rem; padding: .4rem 0 .2rem; }
.stMainBlockContainer h3 { font-size: 1.05rem; padding: .3rem 0 0; }
</style>"""
"""Headings of every page no larger than they need be, so that levels can follow in order."""
SCROLLED = (
    "<style>.scrolled { overflow-x: auto; }"
    "@media print { .scrolled { overflow: visible; break-inside: avoid; } }</style>"
)
"""A frame that scrolls on the screen, and on paper shows all that is in it on one page."""
CELL = (
    "text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;"
    "border-bottom:1px solid rgba(128,128,128,.6)"
)
JOINER, UNBROKEN = "\u2060", "\u00a0"
"""A sign without width that nothing is made across, and a blank that no line begins anew at."""
_MARKUP = "\\`*_{}[]<>()#+-.!|$~:&\n"
_MADE_INTO_SIGNS = re.compile(
    r"(?<=:)(?=//)|(?<=:)(?=[\w+/-]+:)|(?<=www)(?=\.)|(?<=@)|(?<=[-<>~=])(?=[-<>=])", re.IGNORECASE
)
"""Where to part a text: addresses, :names: of icons, mail, and what becomes an arrow or a dash."""


class Square(str):
    """HTML of a square of colour: the only cells that `show_table` does not escape."""


def square(colour: str, label: str, size: str = "1.6rem") -> Square:
    """Return a small square of a colour as HTML, to stand in a table."""
    return Square(
        f'<span role="img" aria-label="{html.escape(label, quote=True)}" style="display:'
        f"inline-block;width:{size};height:{size};border:1px solid currentColor;"
        f'vertical-align:middle;background:{colour};{UNCHANGED}"></span>'
    )


def show_table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str) -> None:
    """Show a plain table that a screen reader reads and a narrow screen scrolls.

    Every cell is text and escaped, but for one that `square` has made.
    """
    titles = "".join(f'<th scope="col" style="{CELL}">{html.escape(each)}</th>' for each in head)
    body = "".join(f"<tr>{_row(row)}</tr>" for row in rows)
    # so wide that a column keeps space for words; a narrow screen scrolls
    width = f"min-width:{4.6 * len(head):.0f}rem"
    show_scrolled(
        f'<table style="border-collapse:collapse;font-size:.9rem;{width}">'
        f'<caption style="text-align:left;padding:.3rem 0">{html.escape(caption)}</caption>'
        f"<thead><tr>{titles}</tr></thead><tbody>{body}</tbody></table>",
        caption,
    )


def show_measures(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str) -> None:
    """Show a plain table of measures, written in mm and g, in the units that were chosen."""
    show_table(*table_words(head, rows), words(caption))


def show_scrolled(table: str, caption: str) -> None:
    """Show the HTML of a table in a frame that scrolls, with a finger or the arrow keys."""
    st.html(
        f'{SCROLLED}<div class="scrolled" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption, quote=True)}">{table}</div>'
    )


def announce(sentence: str) -> None:
    """Lay a sentence where a screen reader reads it out when it changes, off the screen."""
    # As markdown, whose parts stay and change: a status put in anew is not read.
    said = html.escape(" ".join(words(sentence).split()))  # a blank line would end the status
    st.markdown(
        f'<div role="status" aria-live="polite" style="{OFF_SCREEN}">{said}</div>',
        unsafe_allow_html=True,
    )


def show_cautions(cautions: Iterable[Caution]) -> None:
    """Show every caution, nothing where there is none."""
    for caution in cautions:
        st.warning(plain_text(words(caution.text)))


def plain_text(text: str) -> str:
    """Return a text so that a page shows it as it was typed, and takes none of it for markup.

    Whatever a stranger may have written (names, notes, refusals that quote, an address) goes
    through here before it is put among words of ours. The page library makes links, icons and
    arrows of plain signs too, after it has read the markup: a sign that nobody sees parts these.
    """
    lines = [f"{UNBROKEN * (len(line) - len(line.lstrip()))}{line.lstrip()}"
             for line in text.strip().splitlines()]  # fmt: skip
    parted = _MADE_INTO_SIGNS.sub(JOINER, "\n".join(lines))
    return "".join(f"\\{sign}" if sign in _MARKUP else sign for sign in parted)


def file_stem(name: str, otherwise: str) -> str:
    """Return a name that every system takes for a file, ``otherwise`` where nothing is left."""
    kept = "".join(sign for sign in name if sign.isalnum() or sign in " -_").strip()
    return Path(kept[:60]).name or otherwise


def _row(row: Sequence[str]) -> str:
    cells = [
        cell if isinstance(cell, Square) else html.escape(cell).replace("\n", "<br>")
        for cell in row
    ]
    first, *rest = cells
    return f'<th scope="row" style="{CELL};font-weight:600">{first}</th>' + "".join(
        f'<td style="{CELL}">{cell}</td>' for cell in rest
    )
