"""The figure page: ask for names, show limbs, the whole, tint and files."""

from __future__ import annotations

import streamlit as st

from data.page.history import show_said
from data.page.units import choose_units
from data.store.folder import StoreError
from flexcalc.pages.figure.files import show_files, show_unreadable
from flexcalc.pages.figure.limbs import show_limbs
from flexcalc.pages.figure.logbook import show_logbook
from flexcalc.pages.figure.state import (
    HISTORY,
    Design,
    change,
    design_now,
    figure_key,
    show_known,
    tell,
)
from flexcalc.pages.figure.tint import TintPart, show_tint
from flexcalc.pages.figure.whole import show_whole

NAMES = ("name", "note")


def show_design(tint: TintPart) -> None:
    """Show the figure that is kept, and ask for what is to be changed in it."""
    show_said("figure_")
    try:
        design = design_now()
    except (ValueError, StoreError) as error:
        show_unreadable(error)
        return
    if st.query_params.get("figure") != figure_key():
        st.query_params["figure"] = figure_key()
    _ask_names(design)
    show_limbs(design, tint)
    show_whole(design, tint.sheet)
    show_tint(design, tint)
    show_logbook(design, tint)
    show_files(design, tint.sheet)


def _ask_names(design: Design) -> None:
    known = {key: design[key] for key in NAMES}
    show_known("figure_", known, lambda typed: typed == known)
    st.text_input("Name of the figure", key="figure_name", max_chars=80, on_change=_name)
    st.text_area("Note for the builder", key="figure_note", max_chars=4000, on_change=_name)
    with st.container(horizontal=True, horizontal_alignment="left"):
        HISTORY.buttons()
    choose_units()


def _name() -> None:
    typed = {key: str(st.session_state[f"figure_{key}"]) for key in NAMES}
    if not typed["name"].strip():
        tell("error", "The figure wants a name.")
        return
    change(lambda now: {**now, **typed})
