"""In which units the pages speak: mm and g, or inches and ounces; one choice for all pages.

Pages write mm and turn what they have written with `words` (sentences, drawings, tables) before
they show it. What is typed is read as its field says, whatever is chosen here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from math import isfinite
from typing import Any

import streamlit as st

from data.inches import INCH, column_in_inches, in_inches, in_mm
from data.page.form import Reader

UNITS = ("mm", "inch")
KEY, KEPT = "units", "units_kept"
"""Of the field and of the link; where the session keeps the choice from page to page."""


def inches() -> bool:
    """Tell whether results are said in inches, by the choice on any page or in the link."""
    return _chosen() == UNITS[1]


def _chosen() -> str:
    chosen = st.session_state.get(KEPT, st.query_params.get(KEY, UNITS[0]))
    return chosen if chosen in UNITS else UNITS[0]


def choose_units() -> None:
    """Draw the choice of units, which holds on every page and stands in the link."""
    state, chosen = st.session_state, _chosen()
    state[KEPT] = state[KEY] = chosen  # a field that another page has drawn is another field
    st.selectbox("Results are shown in", UNITS, key=KEY, on_change=_keep)
    if st.query_params.get(KEY, UNITS[0]) != chosen:
        st.query_params[KEY] = chosen


def _keep() -> None:
    st.session_state[KEPT] = st.session_state[KEY]


def words(text: str) -> str:
    """Return a text or a drawing's source, written in mm, in the units that were chosen."""
    return in_inches(text) if inches() else in_mm(text)


def length_words(length: float) -> str:
    """Say a length [m] in the unit that was chosen, no finer than a maker can use."""
    value = length * 1e3
    return words(f"{value:.0f} mm" if abs(value) >= 20 else f"{value:.1f} mm")


def fine_words(length: float) -> str:
    """Say the size of a hole or a wire [m], as fine as they are told apart."""
    return words(f"{length * 1e3:.2f} mm")


def echo_words(read: Callable[[str, str], Any], typed: str) -> str:
    """Return what a reader makes of a text, "" where it was typed in the unit that is shown."""
    if not isinstance(read, Reader) or read.times is None or not typed.strip():
        return ""
    bare = rf"[-−+0-9., ;]*(?: ?{re.escape(read.unit)})?"
    if not inches() and re.fullmatch(bare, typed.strip(), re.IGNORECASE):
        return ""
    try:
        value = read(typed, "value")
    except ValueError:
        return ""
    values = value if isinstance(value, list) else [value]
    if not all(isinstance(each, float) and isfinite(each) for each in values):
        return ""
    metric = "; ".join(read.said(each) for each in values)
    said = words(metric)
    if inches() and said == metric and re.fullmatch(bare, typed.strip(), re.IGNORECASE):
        return ""
    return "" if said.replace(" ", "") == typed.replace(" ", "") else said


def mm_in_a_unit() -> tuple[float, str]:
    """Return how many mm the unit of the axes of graphs is long, and its name."""
    return (INCH, "in") if inches() else (1.0, "mm")


def table_words(
    head: Sequence[str], rows: Iterable[Sequence[str]]
) -> tuple[list[str], list[list[str]]]:
    """Return a table, written in mm, in the units that were chosen.

    A unit may stand in the head of a column, "Sags, mm", with bare numbers below.
    """
    listed = list(rows)
    if not inches():
        return [in_mm(each) for each in head], [[in_mm(cell) for cell in row] for row in listed]
    columns = [
        column_in_inches(title, [row[number] for row in listed])
        for number, title in enumerate(head)
    ]
    cells = [[column[1][line] for column in columns] for line in range(len(listed))]
    return [title for title, _ in columns], cells
