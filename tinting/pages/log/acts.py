"""What every part of the log page needs: its fields, sentences kept for the next drawing, and
changes of the log that end in a sentence and never in a trace."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from data.page import history
from data.page.fields import PageFields
from data.store.folder import StoreError
from tinting.forms.swatch import FIELDS
from tinting.pages.photo import photo_fields

say = partial(history.say, "log_")
"""Keep a sentence ("success", "info", "error") for the next drawing of the page."""


def log_fields() -> PageFields:
    """Return the fields of the log page."""
    return PageFields("log_", {**FIELDS, **photo_fields("Bare part", "Swatch")})


def act(change: Callable[..., None], *arguments: Any) -> None:
    """Carry out a change of the log; what it refuses is said."""
    try:
        change(*arguments)
    except (ValueError, StoreError) as error:
        say("error", f"Nothing was changed: {error}")


def show_state() -> None:
    """Say how the log's file was found when this visitor first opened the page."""
    from data.page.show import plain_text, show_cautions
    from tinting.log.maintenance import open_log

    if "log_state" not in st.session_state:
        st.session_state["log_state"] = open_log()
    state = st.session_state["log_state"]
    show_cautions(state.cautions)
    if state.saved:
        st.button(
            f"Take what was saved into the new log (rows: {len(state.saved)})",
            key="log_take_saved",
            on_click=act,
            args=(_take_saved,),
        )
    elif state.aside:
        st.info(
            f"Damaged logs set aside earlier lie beside it: {plain_text(', '.join(state.aside))}."
        )


def _take_saved() -> None:
    from tinting.log.maintenance import merge_swatches

    merged = merge_swatches(st.session_state["log_state"].saved)
    say("success", f"Rows taken over: {len(merged.added)}. There already: {len(merged.same)}.")
    for caution in merged.cautions:
        say("warning", caution.text)
