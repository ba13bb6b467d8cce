"""The whole figure: its picture, whether it stands, and what it takes together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st

from data.page.form import RefusedFieldsError
from data.page.show import announce, plain_text, show_cautions, show_measures
from data.page.units import words
from flexcalc.figure.figure import Body, Figure, body_from, figure_from, plain_body
from flexcalc.forms.figure_form import BODY_FIELDS, body_from_form, form_from_body
from flexcalc.pages.figure.state import (
    Design,
    ask_typed,
    change,
    note_refused,
    show_known,
    typed_under,
)
from flexcalc.paper.sheet.tints import TintSheet

PREFIX = "figure_body_"
SPACE = 110.0
"""Longest side of each view of the figure. [mm]"""
SHOWN = {"holds": st.success, "close": st.warning, "fails": st.error, "": st.info}


def show_whole(design: Design, sheet: TintSheet) -> None:
    """Show the figure from two sides with its body, and what it takes; nothing without a limb."""
    if not design["limbs"]:
        return
    st.header("The figure as a whole")
    _ask_body(design)
    try:
        figure = figure_from(design)
    except ValueError as error:
        st.error(f"No picture until it is corrected: {plain_text(words(str(error)))}")
        return
    _show_picture(figure)
    _show_totals(figure, design, sheet)


def _ask_body(design: Design) -> None:
    try:
        body = body_from(design["body"]) if design["body"] else Body()
    except ValueError as error:
        st.error(f"{plain_text(str(error))}. Type it anew.")
        body = Body()
    show_known(PREFIX, form_from_body(body), lambda typed: _typed(typed) == body)
    for column, key in zip(st.columns(4), BODY_FIELDS, strict=True):
        with column:
            ask_typed(PREFIX, BODY_FIELDS[key], _body)


def _typed(typed: Mapping[str, Any]) -> Body:
    return body_from_form({key: str(typed[key]) for key in BODY_FIELDS})


def _body() -> None:
    typed = typed_under(PREFIX, BODY_FIELDS)
    try:
        body = _typed(typed)
    except RefusedFieldsError as refused:
        note_refused(PREFIX, BODY_FIELDS, typed, refused)
        return
    st.session_state.pop(f"{PREFIX}refused", None)
    change(lambda now: {**now, "body": plain_body(body)})


def _show_picture(figure: Figure) -> None:
    from flexcalc.figure.standing import standing
    from flexcalc.paper.pictures.whole import figure_view, limb_line

    lines = [limb_line(one) for one in figure.limbs]
    found = standing(figure, lines)
    view = figure_view(figure, lines, found, space=SPACE)
    st.markdown(
        f'<div style="overflow-x:auto">{words(view)}</div>',
        unsafe_allow_html=True,
    )
    announce(found.sentence)
    SHOWN[found.state](words(f"{found.sentence} Whole mass {found.mass * 1e3:.0f} g."))
    show_cautions(found.cautions)
    if found.state in ("holds", "close"):
        _show_legs(figure)


def _show_legs(figure: Figure) -> None:
    from flexcalc.paper.pictures.whole import legs_of

    with st.spinner("Loading its legs until they give way …"):
        found = legs_of(figure)
    if found.state:
        announce(words(found.sentence))
        SHOWN[found.state](words(found.sentence))
    show_cautions(found.cautions)


def _show_totals(figure: Figure, design: Design, sheet: TintSheet) -> None:
    from flexcalc.paper.sheet.shopping import shopping

    try:
        grid = shopping(figure, design, sheet)
    except ValueError as error:
        st.error(f"What it takes together is not known: {plain_text(str(error))}")
        return
    show_measures(grid.head, grid.rows, grid.caption)
