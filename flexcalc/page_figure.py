"""The figure page: several limbs and a tint kept as one design, saved, opened and printed.

The tint's part of a design is plain data that this package does not read: what it needs of it
is handed in as `TintPart`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import streamlit as st

from data.page.fields import as_typed
from data.page.history import History, show_said
from data.sheet import Part, sheet_html, sheet_text
from data.store.design import design_text, read_design
from data.store.folder import StoreError
from flexcalc.page_ask import limb_fields, typed_plan
from flexcalc.page_shelf import show_shelf, tell
from flexcalc.plan import LimbPlan, limb_plan_from, plain
from flexcalc.report import figure_parts
from flexcalc.typed import adopted, form_from_plan

Design = dict[str, Any]
EMPTY: Design = {"name": "My figure", "limbs": [], "tint": None, "note": ""}


@dataclass(frozen=True, kw_only=True)
class TintPart:
    """What the figure page may do with a tint: take the one typed, show, open and print it."""

    typed: Callable[[], Mapping[str, Any] | None]
    words: Callable[[Mapping[str, Any]], str]
    fill: Callable[[Mapping[str, Any]], None]
    parts: Callable[[Mapping[str, Any]], Sequence[Part]]


def show_figure_page(tint: TintPart) -> None:
    """Show the page on which a figure's limbs and tint are kept together."""
    st.title("The whole figure")
    st.markdown(
        "Gather the limbs of one figure and its tint in a design, keep it as a file that anyone "
        "can open, and print the sheet a stranger can build from."
    )
    show_said(st, "figure_")
    _ask_names()
    _show_limbs()
    _show_tint(tint)
    _show_files(tint)


def design_now() -> Design:
    """Return the design as it stands."""
    design: Design = st.session_state.setdefault("figure_design", dict(EMPTY))
    return design


def _put(design: Design) -> None:
    st.session_state["figure_design"] = design
    st.session_state.pop("figure_name", None)
    st.session_state.pop("figure_note", None)


HISTORY = History(st, "figure_", design_now, _put)


def _change(**parts: Any) -> None:
    """Change the design; the one before it can be undone."""
    HISTORY.keep(design_now())
    st.session_state["figure_design"] = {**design_now(), **parts}


def _ask_names() -> None:
    design = design_now()
    name = st.text_input("Name of the figure", design["name"], key="figure_name", max_chars=80)
    note = st.text_area("Note for the builder", design["note"], key="figure_note", max_chars=4000)
    if name.strip() and (name, note) != (design["name"], design["note"]):
        _change(name=name, note=note)
    with st.container(horizontal=True, horizontal_alignment="left"):
        HISTORY.buttons()


def _show_limbs() -> None:
    st.subheader("Limbs")
    design = design_now()
    if not design["limbs"]:
        st.info("No limb yet. Describe one on the page Limb, then add it here.")
    for index, kept in enumerate(design["limbs"]):
        _show_limb(index, limb_plan_from(kept))
    plan = typed_plan()
    name = st.text_input("Name for the limb typed on the page Limb", "Neck", key="figure_limb")
    st.button(
        "Add the limb typed on the page Limb",
        key="figure_add",
        disabled=plan is None or not name.strip(),
        on_click=_add,
    )


def _add() -> None:
    plan, name = typed_plan(), str(st.session_state["figure_limb"])
    if plan is None:
        tell("error", "The limb typed on the page Limb is refused there: correct it first.")
        return
    kept = {**plain(plan), "name": name.strip() or plan.name}
    _change(limbs=[*design_now()["limbs"], kept])
    tell("success", f"Added {name.strip()}.")


def _show_limb(index: int, plan: LimbPlan) -> None:
    wire = plan.limb.wire
    held = f"{wire.metal.name} {wire.diameter * 1e3:.2f} mm" if wire else "no wire"
    with st.container(border=True):
        st.markdown(
            f"**{index + 1}. {as_typed(plan.name)}**: {as_typed(plan.limb.elastomer.name)}, "
            f"{plan.limb.length * 1e3:.0f} mm, {as_typed(held)}"
        )
        with st.container(horizontal=True, horizontal_alignment="left"):
            actions = (("Open on the page Limb", _open), ("Copy", _copy), ("Remove", _remove))
            for label, act in actions:
                st.button(
                    f"{label}: {as_typed(plan.name)}",
                    key=f"figure_{label}_{index}",
                    on_click=act,
                    args=(index,),
                )


def _open(index: int) -> None:
    plan = limb_plan_from(design_now()["limbs"][index])
    try:
        limb_fields().put(form_from_plan(adopted(plan)))
    except (ValueError, StoreError) as error:
        tell("error", f"{plan.name} cannot be edited on the page Limb: {error}.")
        return
    tell("success", f"{plan.name} is on the page Limb now.")


def _copy(index: int) -> None:
    limbs = list(design_now()["limbs"])
    copied = {**limbs[index], "name": f"{limbs[index]['name'][:70]} copy"}
    _change(limbs=[*limbs[: index + 1], copied, *limbs[index + 1 :]])


def _remove(index: int) -> None:
    limbs = list(design_now()["limbs"])
    _change(limbs=limbs[:index] + limbs[index + 1 :])


def _show_tint(tint: TintPart) -> None:
    st.subheader("Tint")
    kept = design_now()["tint"]
    st.markdown(as_typed(tint.words(kept)) if kept else "No tint yet.")
    typed = tint.typed()
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button(
            "Take the tint typed on the page Tint",
            key="figure_take_tint",
            disabled=typed is None,
            on_click=lambda: _change(tint=tint.typed()),
        )
        if kept:
            st.button(
                "Open on the page Tint", key="figure_open_tint", on_click=tint.fill, args=(kept,)
            )
            st.button(
                "Remove the tint", key="figure_remove_tint", on_click=lambda: _change(tint=None)
            )


def _show_files(tint: TintPart) -> None:
    st.subheader("Files")
    design = design_now()
    stem = "".join(c for c in design["name"] if c.isalnum() or c in " -_").strip() or "figure"
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.download_button(
            "Save the design",
            design_text(design),
            file_name=f"{stem}.json",
            mime="application/json",
            key="figure_save",
            on_click="ignore",
        )
        ready = bool(design["limbs"] or design["tint"])
        for label, end, mime, render in (
            ("Build sheet to print", "html", "text/html", sheet_html),
            ("Build sheet as text", "txt", "text/plain", sheet_text),
        ):
            st.download_button(
                label,
                partial(_rendered, render, design, tint),
                file_name=f"{stem}.{end}",
                mime=mime,
                key=f"figure_sheet_{end}",
                on_click="ignore",
                disabled=not ready,
            )
    show_shelf(design, _take)
    _ask_file()


def _rendered(render: Callable[[str, Sequence[Part]], str], design: Design, tint: TintPart) -> str:
    return render(design["name"], figure_parts(design, tint.parts))


def _ask_file() -> None:
    uploaded = st.file_uploader(
        "Open a design file", type=["json"], key="figure_file", max_upload_size=1
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
    except ValueError as error:
        st.error(f"This file is not opened, and nothing is lost: {error}")
        return
    tell("success", f"Opened {design['name']}.")
    st.rerun()


def _take(design: Design) -> None:
    """Open a design in place of the present one, which undo brings back; ValueError if refused."""
    for kept in design["limbs"]:
        limb_plan_from(kept)
    HISTORY.keep(design_now())
    _put(design)
