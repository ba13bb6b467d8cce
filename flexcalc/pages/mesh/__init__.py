"""The page of a maker's own mesh: its file, its line, the verdict, the mesh with its channel."""

from __future__ import annotations

__all__ = ["show_mesh_page"]


def show_mesh_page() -> None:
    """Show the page on which a maker's own mesh gets its verdict and its channel."""
    import streamlit as st

    st.title("Your own mesh: will it hold, and with which channel?")
    st.markdown(
        "Drop the limb that you drew, as STL or 3MF, before it is printed: its line and sections "
        "are measured, the verdict follows, and you take home the same mesh with the channel for "
        "its wire in it."
    )
    # what measures a mesh takes long to load, so that it comes after the heading
    from flexcalc.pages.mesh.page import ask_and_show

    ask_and_show()
