"""What the figure page may do with a tint, whose plain data this package does not read."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import streamlit as st

from data.page.show import plain_text
from data.page.units import words
from flexcalc.figure.changes import limb_names, own_tint_of
from flexcalc.pages.figure.state import Design, change
from flexcalc.paper.sheet.tints import TintSheet


@dataclass(frozen=True, kw_only=True)
class TintPart:
    """What may be done with a tint: take the one typed, say it, open it, print it.

    ``retouch`` returns sentences on how to bring a part that reads a CIELAB today back to it.
    """

    typed: Callable[[], Mapping[str, Any] | None]
    words: Callable[[Mapping[str, Any]], str]
    fill: Callable[[Mapping[str, Any]], None]
    sheet: TintSheet
    retouch: Callable[[Mapping[str, Any], tuple[float, float, float]], Sequence[str]]


def show_tint(design: Design, tint: TintPart) -> None:
    """Show the tint of all limbs that have none of their own."""
    st.header("Tint")
    kept = design["tint"]
    alike = [name for name in limb_names(design) if own_tint_of(design, name) is None]
    if kept:
        st.markdown(plain_text(words(tint.words(kept))))
        if alike:
            st.markdown(f"For {plain_text(', '.join(alike))}.")
    else:
        st.markdown("No tint yet.")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button(
            "Take the tint typed on the page Tint",
            key="figure_take_tint",
            disabled=tint.typed() is None,
            on_click=_take,
            args=(tint.typed,),
        )
        if kept:
            st.button(
                "Open on the page Tint", key="figure_open_tint", on_click=tint.fill, args=(kept,)
            )
            st.button(
                "Remove the tint",
                key="figure_remove_tint",
                on_click=_remove,
            )


def _take(typed: Callable[[], Mapping[str, Any] | None]) -> None:
    change(lambda now: {**now, "tint": typed()})


def _remove() -> None:
    change(lambda now: {**now, "tint": None})
