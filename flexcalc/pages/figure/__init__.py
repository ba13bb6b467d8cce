"""The figure page: limbs and tint of one figure kept together, looked at whole, and printed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flexcalc.pages.figure.tint import TintPart

__all__ = ["show_figure_page"]


def show_figure_page(tint: Callable[[], TintPart]) -> None:
    """Show the page on which a figure's limbs and tint are kept together."""
    import streamlit as st

    st.title("The whole figure")
    st.markdown(
        "Gather the limbs of one figure and its tint, see whether it stands, and print the sheet a "
        "stranger can build from. It is kept in your folder by itself, and as a file that anyone "
        "can open."
    )
    # limbs and tint take long to load, so that they come after the heading
    from flexcalc.pages.figure.page import show_design

    show_design(tint())
