"""The figure that is open: kept in the user's folder at every change, so that nothing is lost.

What the page shows is what the file holds. Only where the disk refuses is the figure held in the
browser's tab, and said so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from typing import Any

import streamlit as st

from data.page.fields import show_marks
from data.page.form import Field, Fields, RefusedFieldsError, worded
from data.page.history import History, say
from data.page.show import plain_text
from data.page.units import echo_words, words
from data.store.design import empty_design
from data.store.figures import change_figure, is_key, list_figures, new_key, read_figure
from data.store.folder import StoreError

Design = dict[str, Any]
tell = partial(say, "figure_")
"""Keep a sentence for the next time the page is drawn."""
NEW = "My figure"
HELD = "figure_held"
"""Where a figure is held that the disk refuses."""


def figure_key() -> str:
    """Return the key of the open figure: this tab's, the link's, or the one changed last."""
    state = st.session_state
    if "figure_key" not in state:
        linked = st.query_params.get("figure", "")
        state["figure_key"] = linked if is_key(linked) else _latest()
    return str(state["figure_key"])


def _latest() -> str:
    try:
        kept = [one.key for one in list_figures() if not one.damage]
    except StoreError:
        kept = []
    return kept[0] if kept else new_key()


def design_now() -> Design:
    """Return the design of the open figure as it stands.

    ValueError or StoreError for a file that cannot be opened.
    """
    held = st.session_state.get(HELD)
    if held is not None:
        return dict(held)
    key = figure_key()
    if any(one.key == key for one in list_figures()):
        return read_figure(key)
    return empty_design(NEW)


def open_figure(key: str) -> None:
    """Open another figure of the folder in this tab."""
    for name in ("undo", "redo"):
        st.session_state.pop(f"figure_{name}_steps", None)
    st.session_state.pop(HELD, None)
    st.session_state.pop("figure_limb", None)
    st.session_state.pop("figure_kept", None)
    st.session_state["figure_key"] = key


def change(decide: Callable[[Design], Mapping[str, Any]]) -> bool:
    """Change the open figure; the one before it can be undone. Return whether it was changed."""
    before = design_now()
    try:
        after = _kept(decide)
    except ValueError as error:
        tell("error", f"Not changed: {error}")
        return False
    if after != before:
        HISTORY.keep(before)
    return True


def typed_under(prefix: str, keys: Iterable[str]) -> dict[str, Any]:
    """Return what stands in the fields of these keys, before they are drawn or in a callback."""
    return {key: st.session_state[f"{prefix}{key}"] for key in keys}


def show_known(
    prefix: str, known: Mapping[str, Any], same: Callable[[Mapping[str, Any]], bool]
) -> None:
    """Fill fields with what is known, unless it is what was typed there, ``same``, in other words.

    To be called before they are drawn. What was typed and refused stays until something else is
    known.
    """
    state = st.session_state
    drawn = all(f"{prefix}{key}" in state for key in known)
    if drawn and state.get(f"{prefix}known") == known:
        return
    try:
        kept = drawn and same(typed_under(prefix, known))
    except RefusedFieldsError:
        kept = False
    if not kept:
        state.update({f"{prefix}{key}": value for key, value in known.items()})
        state.pop(f"{prefix}refused", None)
    state[f"{prefix}known"] = dict(known)


def ask_typed(prefix: str, field: Field, save: Callable[[], None] | None = None) -> None:
    """Draw a field whose text `show_known` has put in, and what is refused of it or read in it."""
    key = f"{prefix}{field.key}"
    text = st.text_input(field.heading, key=key, max_chars=200, on_change=save)
    refused = st.session_state.get(f"{prefix}refused", {}).get(field.key)
    if refused is not None:
        st.error(plain_text(words(refused)))
        show_marks(prefix, {field.key: refused})
    elif said := echo_words(field.read, text or ""):
        st.markdown(f"<small>= {said}</small>", unsafe_allow_html=True)


def note_refused(
    prefix: str, fields: Fields, typed: Mapping[str, Any], refused: RefusedFieldsError
) -> None:
    """Keep what is refused of the fields for `ask_typed` to show."""
    form = {key: str(typed.get(key, "")) for key in fields}
    st.session_state[f"{prefix}refused"] = worded(fields, form, refused).errors


def _kept(decide: Callable[[Design], Mapping[str, Any]]) -> Design:
    held = st.session_state.get(HELD)
    if held is None:
        try:
            return change_figure(figure_key(), lambda now: decide(now or empty_design(NEW)))
        except StoreError as error:
            tell("error", f"Held in this tab only, save the design as a file: {error}")
    made = dict(decide(design_now()))
    st.session_state[HELD] = made
    return made


def _put(design: Design) -> None:
    _kept(lambda _: design)


HISTORY: History[Design] = History("figure_", design_now, _put)
