"""The figures in the maker's folder, and files of them: saved, opened, and the sheet to print."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.inches import in_inches
from data.page.show import file_stem, plain_text
from data.page.units import inches
from data.rules import Refused
from data.sheet import Part, sheet_html, sheet_text
from data.store.design import SUM, design_text, empty_design, read_design
from data.store.entries import load_entries
from data.store.figures import (
    KeptFigure,
    change_figure,
    list_figures,
    new_key,
    read_events,
    read_figure,
    remove_figure,
    restore_figure,
)
from data.store.folder import StoreError
from flexcalc.figure.keeping import take_design
from flexcalc.figure.logbook import events_from, whole_lines
from flexcalc.forms.texts import can_be_opened
from flexcalc.pages.figure.limbs import refused_limb
from flexcalc.pages.figure.state import Design, figure_key, open_figure, tell
from flexcalc.paper.sheet.report import figure_parts
from flexcalc.paper.sheet.tints import TintSheet
from flexcalc.verdict.plan import limb_plan_from

KEPT_BEFORE = "design"
"""What designs are called that an earlier edition kept in the store of materials."""

SHEET = "figure_sheet"
"""Where the sheet that was made is held, with what it was made of."""


def show_files(design: Design, sheet: TintSheet) -> None:
    """Offer the design and its sheet as files, and open another one."""
    st.header("Files")
    stem = file_stem(design["name"], "figure")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.download_button(
            "Save the design",
            partial(_exported, design),
            file_name=f"{stem}.json",
            mime="application/json",
            key="figure_save",
            on_click="ignore",
        )
    refused = [str(limb.get("name", "")) for limb in design["limbs"] if refused_limb(limb)]
    if refused:
        st.info(f"No sheet until it is corrected: {plain_text(', '.join(refused))}.")
    elif design["limbs"] or design["tint"]:
        _ask_sheet(design, sheet, stem)
    _ask_file()
    _show_folder()


def _exported(design: Design) -> str:
    """Return the design as a file, with the figure's logbook."""
    lines = events_from(read_events(figure_key())[0])
    return design_text({**design, "logbook": whole_lines(lines)})


def _ask_sheet(design: Design, tint: TintSheet, stem: str) -> None:
    """Make the build sheet when asked, and offer it as long as the figure is the same."""
    asked, known = design_text(design), st.session_state.get(SHEET)
    if known is None or known[0] != asked:
        place = st.empty()
        with place.container():
            pressed = st.button("Make the build sheet", key="figure_make_sheet")
        if not pressed:
            return
        known = (asked, _made(design, tint, place))
        place.empty()
        st.session_state[SHEET] = known
    with st.container(horizontal=True, horizontal_alignment="left"):
        for label, end, mime, render in (
            ("Build sheet to print", "html", "text/html", sheet_html),
            ("Build sheet as text", "txt", "text/plain", sheet_text),
        ):
            st.download_button(
                label,
                partial(_rendered, render, design["name"], known[1], inches()),
                file_name=f"{stem}.{end}",
                mime=mime,
                key=f"figure_sheet_{end}",
                on_click="ignore",
            )


def _made(design: Design, tint: TintSheet, place: DeltaGenerator) -> list[Part]:
    with place.container():
        bar = st.progress(0.0, text="Beginning …")

    def tell(share: float, said: str) -> None:
        bar.progress(share, text=plain_text(said))

    return figure_parts(design, tint, tell)


def _rendered(
    render: Callable[[str, Sequence[Part]], str], name: str, parts: Sequence[Part], inch: bool
) -> str:
    """Return the sheet; in mm it says lengths in inches too, since a stranger may measure so."""
    sheet = render(name, parts)
    return in_inches(sheet) if inch else sheet


def _ask_file() -> None:
    uploaded = st.file_uploader(
        "Open a design file", type=["json"], key="figure_file", max_upload_size=4
    )
    if uploaded is None:
        st.session_state.pop("figure_opened", None)
        return
    if st.session_state.get("figure_opened") == uploaded.file_id:
        return
    st.session_state["figure_opened"] = uploaded.file_id
    try:
        design = read_design(uploaded.getvalue())
        _take(design)
    except (ValueError, StoreError) as error:
        st.error(f"This file is not opened, and nothing is lost: {plain_text(str(error))}")
        return
    tell("success", f"Opened {design['name']}.")
    st.rerun()


def _take(design: Design) -> None:
    """Keep a design as a figure of the folder and open it; one that is there already is opened.

    ValueError for one that is refused.
    """
    for kept in design["limbs"]:
        if not can_be_opened(kept):
            limb_plan_from(kept)
    open_figure(take_design(design))


def _show_folder() -> None:
    st.header("My figures")
    try:
        here, removed = list_figures(), list_figures(removed=True)
        before = load_entries(KEPT_BEFORE)
    except StoreError as error:
        st.error(f"The figures in your folder cannot be read: {plain_text(str(error))}")
        return
    st.markdown(
        "Every change is kept in your folder at once; a reload or a crash loses nothing. Each "
        "figure below is as you left it."
    )
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Begin another figure", key="figure_new", on_click=_begin)
    names = _labels(here)
    if names:
        _ask_kept(names)
    gone = _labels(removed)
    if gone:
        with st.expander(f"Removed figures ({len(gone)})"):
            st.selectbox("Removed", list(gone), format_func=gone.__getitem__, key="figure_removed")
            st.button("Bring it back", key="figure_restore", on_click=_restore)
    if before:
        with st.expander(f"Designs kept by an earlier edition ({len(before)})"):
            st.selectbox("Kept before", sorted(before), key="figure_kept_before")
            st.button("Open it as a figure", key="figure_open_before", on_click=_open_before)


def _ask_kept(names: dict[str, str]) -> None:
    if st.session_state.get("figure_kept") not in names:
        open_one = figure_key()
        st.session_state["figure_kept"] = open_one if open_one in names else next(iter(names))
    st.selectbox(
        "Figures in my folder", list(names), format_func=names.__getitem__, key="figure_kept"
    )
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Open it", key="figure_open_kept", on_click=_open_kept)
        st.button("Remove it from my folder", key="figure_remove_kept", on_click=_remove_kept)


def _labels(figures: Sequence[KeptFigure]) -> dict[str, str]:
    """Return what each figure is called in a list, by key; no two alike."""
    labels: dict[str, str] = {}
    for one in figures:
        when = datetime.fromtimestamp(one.changed).strftime("%Y-%m-%d %H:%M")
        label = f"{one.name} ({'cannot be read, ' if one.damage else ''}{when})"
        labels[one.key] = f"{label} {one.key}" if label in labels.values() else label
    return labels


def show_unreadable(error: Exception) -> None:
    """Say that the open figure cannot be read, and offer what can be done about it."""
    st.error(f"This figure cannot be read, its file is left as it is: {plain_text(str(error))}")
    if isinstance(error, Refused) and error.name == SUM:
        st.markdown(
            "Some number or word in it is another than the one that was written. It can be opened "
            "as it stands, as another figure: look all of it over then."
        )
        st.button("Open it as it stands", key="figure_altered", on_click=_open_altered)
    _show_folder()


def _open_altered() -> None:
    try:
        design = read_figure(figure_key(), altered=True)
        _take({**design, "name": f"{design['name'][:65]} (altered)"})
    except (ValueError, StoreError) as error:
        tell("error", f"Not opened, and nothing is lost: {error}")
        return
    tell("warning", "Opened as it stands: look over every number and word of it.")


def _begin() -> None:
    key = new_key()
    try:
        change_figure(key, lambda _: empty_design("My figure"))
    except StoreError as error:
        tell("error", f"Not begun: {error}")
        return
    open_figure(key)


def _open_kept() -> None:
    key = str(st.session_state["figure_kept"])
    try:
        name = read_figure(key)["name"]
    except (ValueError, StoreError) as error:
        if isinstance(error, Refused) and error.name == SUM:
            open_figure(key)  # where it is said, with what can be done
            return
        tell("error", f"Not opened, and nothing is lost: {error}")
        return
    open_figure(key)
    tell("success", f"Opened {name}.")


def _remove_kept() -> None:
    key = str(st.session_state["figure_kept"])
    try:
        remove_figure(key)
        if key == figure_key():
            left = [one.key for one in list_figures() if not one.damage]
            open_figure(left[0] if left else new_key())
    except (ValueError, StoreError) as error:
        tell("error", f"Not removed: {error}")
        return
    tell("success", "Removed from your folder; it can be brought back below.")


def _restore() -> None:
    key = str(st.session_state["figure_removed"])
    try:
        restore_figure(key)
    except (ValueError, StoreError) as error:
        tell("error", f"Not brought back: {error}")
        return
    open_figure(key)
    tell("success", "Brought back.")


def _open_before() -> None:
    name = str(st.session_state["figure_kept_before"])
    try:
        _take(read_design(str(load_entries(KEPT_BEFORE)[name]["text"])))
    except (ValueError, KeyError, StoreError) as error:
        tell("error", f"Not opened, and nothing is lost: {error}")
        return
    tell("success", f"Opened {name}.")
