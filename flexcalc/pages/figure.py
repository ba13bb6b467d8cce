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

from data.page.history import History, say, show_said
from data.page.show import file_stem, plain_text
from data.sheet import Part, sheet_html, sheet_text
from data.store.design import design_text, read_design
from data.store.entries import load_entries, remove_entry, save_entry
from data.store.folder import StoreError
from flexcalc.forms.texts import adopted, can_be_opened, form_from_kept
from flexcalc.pages.limb import limb_fields, typed_plan
from flexcalc.paper.report import figure_parts
from flexcalc.verdict.plan import LimbPlan, limb_plan_from, plain

Design = dict[str, Any]
KIND = "design"
"""What the user's folder calls a kept design."""
tell = partial(say, "figure_")
"""Keep a sentence for the next time the page is drawn."""
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
    show_said("figure_")
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


HISTORY = History("figure_", design_now, _put)


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
        _show_limb(index, kept)
    plan = typed_plan()
    name = st.text_input("Name for the limb typed on the page Limb", "Neck", key="figure_limb")
    st.button(
        "Add the limb typed on the page Limb",
        key="figure_add",
        disabled=plan is None or not name.strip(),
        on_click=_add,
    )


def add_limb(plan: LimbPlan, name: str) -> None:
    """Add a limb to the design under a name."""
    _change(limbs=[*design_now()["limbs"], {**plain(plan), "name": name or plan.name}])
    tell("success", f"Added {name or plan.name}.")


def _add() -> None:
    plan, name = typed_plan(), str(st.session_state["figure_limb"])
    if plan is None:
        tell("error", "The limb typed on the page Limb is refused there: correct it first.")
        return
    add_limb(plan, name.strip())


def _show_limb(index: int, kept: Mapping[str, Any]) -> None:
    name = plain_text(kept["name"])
    with st.container(border=True):
        try:
            st.markdown(f"**{index + 1}. {name}**: {_words(limb_plan_from(kept))}")
        except ValueError as error:
            st.markdown(f"**{index + 1}. {name}**")
            st.error(
                f"{plain_text(str(error))}. Open it on the page Limb: the field is marked there."
            )
        with st.container(horizontal=True, horizontal_alignment="left"):
            page = "Limb" if kept.get("mesh") is None else "Own mesh"
            actions = ((f"Open on the page {page}", _open), ("Copy", _copy), ("Remove", _remove))
            for label, act in actions:
                st.button(
                    f"{label}: {name}", key=f"figure_{label}_{index}", on_click=act, args=(index,)
                )


def _words(plan: LimbPlan) -> str:
    wire = plan.limb.wire
    held = f"{wire.metal.name} {wire.diameter * 1e3:.2f} mm" if wire else "no wire"
    length = f"{plan.limb.length * 1e3:.0f} mm"
    return f"{plain_text(plan.limb.elastomer.name)}, {length}, {plain_text(held)}"


def _open(index: int) -> None:
    kept = design_now()["limbs"][index]
    name = kept["name"]
    if kept.get("mesh") is not None:
        _open_mesh(kept)
        return
    try:
        limb_fields().put(form_from_kept(adopted(kept)))
    except (ValueError, StoreError) as error:
        tell("error", f"{name} cannot be edited on the page Limb: {error}.")
        return
    if _is_refused(kept):
        tell("info", f"{name} is on the page Limb now, where the field to correct is marked.")
        return
    tell("success", f"{name} is on the page Limb now.")


def _open_mesh(kept: Mapping[str, Any]) -> None:
    from flexcalc.pages.mesh.page import open_mesh

    try:
        open_mesh(adopted(kept))
    except (ValueError, StoreError) as error:
        tell("error", f"{kept['name']} cannot be opened on the page Own mesh: {error}.")
        return
    tell("success", f"{kept['name']} is on the page Own mesh now; its file is asked for there.")


def _is_refused(kept: Mapping[str, Any]) -> bool:
    try:
        limb_plan_from(kept)
    except ValueError:
        return True
    return False


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
    st.markdown(plain_text(tint.words(kept)) if kept else "No tint yet.")
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
    stem = file_stem(design["name"], "figure")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.download_button(
            "Save the design",
            design_text(design),
            file_name=f"{stem}.json",
            mime="application/json",
            key="figure_save",
            on_click="ignore",
        )
        refused = [limb["name"] for limb in design["limbs"] if _is_refused(limb)]
        ready = bool(design["limbs"] or design["tint"]) and not refused
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
    if refused:
        st.info(f"No sheet until it is corrected: {plain_text(', '.join(refused))}.")
    _show_kept(design, _take)
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
        if not can_be_opened(kept):
            limb_plan_from(kept)
    HISTORY.keep(design_now())
    _put(design)


def _show_kept(design: dict[str, Any], take: Callable[[dict[str, Any]], None]) -> None:
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
            on_click=_keep_design,
            args=(design,),
            help="Under its name; a design of the same name is replaced.",
        )
    if not kept:
        return
    st.selectbox("Designs in my folder", sorted(kept), key="figure_kept")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Open it", key="figure_open_kept", on_click=_open_kept, args=(take,))
        st.button("Remove it from my folder", key="figure_remove_kept", on_click=_remove_kept)


def _keep_design(design: dict[str, Any]) -> None:
    try:
        save_entry(KIND, design["name"], {"text": design_text(design)})
    except (ValueError, StoreError) as error:
        tell("error", f"Not kept: {error}")
        return
    tell("success", f"Kept {design['name']} in your folder.")


def _open_kept(take: Callable[[dict[str, Any]], None]) -> None:
    name = str(st.session_state["figure_kept"])
    try:
        take(read_design(str(load_entries(KIND)[name]["text"])))
    except (ValueError, KeyError, StoreError) as error:
        tell("error", f"Not opened, and nothing is lost: {error}")
        return
    tell("success", f"Opened {name}.")


def _remove_kept() -> None:
    name = str(st.session_state["figure_kept"])
    try:
        remove_entry(KIND, name)
    except (ValueError, KeyError, StoreError) as error:
        tell("error", f"Not removed: {error}")
        return
    tell("success", f"Removed {name} from your folder. Undo on this page does not bring it back.")
