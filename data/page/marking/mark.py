"""What is marked on a page beside its fields, by a script that is a file of this folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib.resources import files
from typing import Any

import streamlit as st


def mark_fields(
    key: str,
    *,
    refused: Mapping[str, str] | None = None,
    before: str = "",
    links: Sequence[tuple[str, str, str]] = (),
) -> None:
    """Mark fields as refused, and show words that lead to fields.

    Parameters
    ----------
    key : str
        Of the session state, one for each use on a page.
    refused : mapping, optional
        Key of a field's widget to the sentence that a screen reader says with it.
    before : str
        What stands before the links.
    links : sequence of (str, str, str)
        Words, the key of the widget that they lead to, and that of the fold which it is drawn in
        once that is open, an empty text where it is drawn anyway. Folds and tabs are opened.
    """
    data = {"refused": dict(refused or {}), "before": before, "links": [list(e) for e in links]}
    _component()(key=key, data=(data,))  # in a tuple, see `show_picture`


_MOUNT: list[Callable[..., Any]] = []


def _component() -> Callable[..., Any]:
    if not _MOUNT:
        source = files("data.page.marking")
        script = (source / "marking.js").read_text(encoding="utf-8")
        style = (source / "marking.css").read_text(encoding="utf-8")
        _MOUNT.append(st.components.v2.component("marking", css=style, js=script))
    return _MOUNT[0]
