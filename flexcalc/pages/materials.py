"""The maker's own filaments, metals and printers: typed, edited, removed, given and taken."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.show import plain_text, show_table
from data.page.units import words
from data.store.entries import count_steps, redo_entries, undo_entries
from data.store.folder import StoreError
from flexcalc.forms import materials_form as ownform
from flexcalc.limb.inputs import Elastomer, Metal
from flexcalc.limb.materials import metal_names, tensile_strength
from flexcalc.limb.own_materials import (
    KINDS,
    Own,
    OwnThings,
    keep_all,
    own_text,
    own_things,
    remove_own,
    things_from,
)
from flexcalc.pages.learned import CALLED, keep, say
from flexcalc.verdict.plan import LimbPlan

TYPED: dict[str, Callable[..., Own]] = {
    "elastomer": ownform.typed_elastomer,
    "metal": ownform.typed_metal,
    "printer": ownform.typed_printer,
}
FORMS = {"elastomer": ownform.ELASTOMER, "metal": ownform.METAL, "printer": ownform.PRINTER}


def show_own(fields: PageFields, plan: LimbPlan | None) -> None:
    """Show what the maker keeps, with all that can be done to it."""
    try:
        kept = {kind: own_things(kind) for kind in KINDS}
    except StoreError as error:
        st.error(f"Your folder cannot be read: {plain_text(str(error))}")
        return
    for kind, found in kept.items():
        st.markdown(f"## My {CALLED[kind]}s")
        _show_entries(kind, found)
        _ask_entry(fields, kind, dict(found.things))
        _show_handling(fields, kind, found)
    st.markdown("## Give and take")
    _show_exchange(anything=any(found.things for found in kept.values()))


def _show_entries(kind: str, found: OwnThings) -> None:
    if found.things:
        rows = [(thing.name, *_words(thing)) for thing in found.things.values()]
        heads = {
            "elastomer": ("Modulus", "Known within", "Density"),
            "metal": ("Tensile strength", "Known within", "Exponent n"),
            "printer": ("Bead", "Lying holes shrink", "Upright holes shrink"),
        }
        show_table(("Name", *heads[kind]), rows, f"My {CALLED[kind]}s")
    for name, sentence in found.refused.items():
        st.warning(f"{plain_text(name)} cannot be used: {plain_text(sentence)}")


def _words(thing: Own) -> tuple[str, ...]:
    if isinstance(thing, Elastomer):
        return (
            f"{thing.elastic_modulus / 1e6:.3g} MPa",
            f"×/÷ {thing.modulus_factor:.2f}",
            f"{thing.density / 1e3:.3g} g/cm³",
        )
    if isinstance(thing, Metal):
        return (
            f"{tensile_strength(thing) / 1e6:.3g} MPa",
            f"×/÷ {thing.strength_factor:.2f}",
            f"{thing.hardening_exponent:.2f}",
        )
    holes = [
        words(f"{thing.hole_shrinkage(side) * 1e3:.2f} ± {thing.hole_spread(side) * 1e3:.2f} mm")
        + ("" if side in thing.measured else " (not measured)")
        for side in ("lying", "upright")
    ]
    return (words(f"{thing.bead_width * 1e3:.2f} mm"), *holes)


def _ask_entry(fields: PageFields, kind: str, own: dict[str, Own]) -> None:
    with st.expander(f"Type a {CALLED[kind]} in, or change one"):
        if kind == "metal":
            fields.choice("metal_base", metal_names())
        keys = [field.key for field in FORMS[kind] if field.key != "metal_base"]
        for column, own_keys in zip(st.columns(2), (keys[::2], keys[1::2]), strict=True):
            with column:
                for key in own_keys:
                    fields.text(key)
        st.button(
            f"Keep this {CALLED[kind]}",
            key=f"bench_own_keep_{kind}",
            on_click=_keep_typed,
            args=(fields, kind, own),
        )
        refused = st.session_state.pop(f"bench_own_refused_{kind}", None)
        if refused is not None:
            fields.show_refusals(refused)


def _keep_typed(fields: PageFields, kind: str, own: dict[str, Own]) -> None:
    try:
        thing = TYPED[kind](fields.form(), own)
    except RefusedFieldsError as refused:
        st.session_state[f"bench_own_refused_{kind}"] = refused
        say("error", f"Not kept: correct the field marked under My {CALLED[kind]}s.")
        return
    keep(thing)


def _show_handling(fields: PageFields, kind: str, found: OwnThings) -> None:
    names = [*found.things, *found.refused]
    with st.container(horizontal=True, horizontal_alignment="left", vertical_alignment="bottom"):
        if names:
            name = st.selectbox(f"One of my {CALLED[kind]}s", names, key=f"bench_own_one_{kind}")
            thing = found.things.get(name)
            st.button(
                "Change it",
                key=f"bench_own_edit_{kind}",
                on_click=_edit,
                args=(fields, thing),
                disabled=thing is None,
            )
            st.button(
                "Remove it", key=f"bench_own_remove_{kind}", on_click=_remove, args=(kind, name)
            )
        _show_steps(kind)


def _show_steps(kind: str) -> None:
    try:
        undone, redone = count_steps(kind)
    except StoreError:
        return
    for label, count, act in (
        ("Take back", undone, undo_entries),
        ("Make again", redone, redo_entries),
    ):
        if count:
            st.button(
                f"{label} the last change ({count})",
                key=f"bench_own_{act.__name__}_{kind}",
                on_click=_step,
                args=(act, kind),
            )


def _edit(fields: PageFields, thing: Own) -> None:
    fields.put(ownform.texts_of_own(thing))
    say("info", f"{thing.name} is typed in below: change it there and keep it.")


def _remove(kind: str, name: str) -> None:
    try:
        remove_own(kind, name)
    except (ValueError, StoreError) as error:
        say("error", f"Not removed: {error}")
        return
    say("success", f"Removed {name}. “Take back the last change” brings it back.")


def _step(act: Callable[[str], object], kind: str) -> None:
    try:
        act(kind)
    except StoreError as error:
        say("error", f"Not done: {error}")


def _show_exchange(*, anything: bool) -> None:
    st.download_button(
        "All my materials as a file",
        own_text,
        file_name="materials.json",
        mime="application/json",
        key="bench_own_save",
        on_click="ignore",
        disabled=not anything,
    )
    uploaded = st.file_uploader(
        "Take in a file of materials (entries of the same name are replaced)",
        type=["json"],
        key="bench_own_file",
        max_upload_size=1,
    )
    if uploaded is None:
        st.session_state.pop("bench_own_taken", None)
        return
    if st.session_state.get("bench_own_taken") == uploaded.file_id:
        return
    st.session_state["bench_own_taken"] = uploaded.file_id
    _take(uploaded.getvalue())
    st.rerun()


def _take(text: bytes) -> None:
    try:
        things: Sequence[Own] = things_from(text)
        keep_all(list(things), "take in a file")
    except (ValueError, StoreError) as error:
        say("error", f"This file is not taken in: {error}")
        return
    say("success", f"Took in {len(things)} entries.")
