"""Designs kept in the user's own folder: keep, open, remove."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from data.page.history import say
from data.store.design import design_text, read_design
from data.store.entries import load_entries, remove_entry, save_entry
from data.store.folder import StoreError

KIND = "design"
tell = partial(say, st, "figure_")
"""Keep a sentence for the next time the figure page is drawn."""


def show_shelf(design: dict[str, Any], take: Callable[[dict[str, Any]], None]) -> None:
    """Show the designs in the user's folder; ``take`` opens one in place of the present one."""
    try:
        kept = load_entries(KIND)
    except StoreError as error:
        st.error(f"The designs in your folder cannot be read: {error}")
        return
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button(
            "Keep this design in my folder",
            key="figure_keep",
            on_click=_keep,
            args=(design,),
            help="Under its name; a design of the same name is replaced.",
        )
    if not kept:
        return
    st.selectbox("Designs in my folder", sorted(kept), key="figure_kept")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Open it", key="figure_open_kept", on_click=_open, args=(take,))
        st.button("Remove it from my folder", key="figure_remove_kept", on_click=_remove)


def _keep(design: dict[str, Any]) -> None:
    try:
        save_entry(KIND, design["name"], {"text": design_text(design)})
    except (ValueError, StoreError) as error:
        tell("error", f"Not kept: {error}")
        return
    tell("success", f"Kept {design['name']} in your folder.")


def _open(take: Callable[[dict[str, Any]], None]) -> None:
    name = str(st.session_state["figure_kept"])
    try:
        take(read_design(str(load_entries(KIND)[name]["text"])))
    except (ValueError, KeyError, StoreError) as error:
        tell("error", f"Not opened, and nothing is lost: {error}")
        return
    tell("success", f"Opened {name}.")


def _remove() -> None:
    name = str(st.session_state["figure_kept"])
    try:
        remove_entry(KIND, name)
    except (ValueError, KeyError, StoreError) as error:
        tell("error", f"Not removed: {error}")
        return
    tell("success", f"Removed {name} from your folder. Undo on this page does not bring it back.")
