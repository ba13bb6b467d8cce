"""The page of a maker's own mesh: ask for it, measure it, answer, cut its channel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import announce, plain_text
from data.page.units import choose_units
from flexcalc.forms.limb_form import ANCHORED, BEND_KEYS, BEND_ROWS, BENT, NO_WIRE, PRINTED
from flexcalc.forms.limb_words import with_missing
from flexcalc.forms.mesh_form import FIELDS, form_of_mesh, plan_from_mesh, suggested_bend
from flexcalc.limb.inputs import INFILL_PATTERNS
from flexcalc.limb.mesh_file import MeshFile
from flexcalc.limb.own_materials import own_names
from flexcalc.pages.mesh.body import (
    FILE,
    OwnFile,
    ask_file,
    ask_line,
    ask_unit,
    measure,
    show_body,
    show_measured,
    show_turned,
)
from flexcalc.pages.mesh.measuring import Measured
from flexcalc.verdict.plan import LimbPlan, limb_plan_from
from flexcalc.verdict.verdict import Verdict

MORE = (
    "further", "presses", "pause", "before", "before_time", "poses", "poses_time", "inserted",
    "temperature",
)  # fmt: skip
KEPT = "mesh_kept"
"""Where the session keeps the limb of a design that was opened here."""


def mesh_fields() -> PageFields:
    """Return the fields of this page."""
    return PageFields("mesh_", FIELDS)


def kept_plan() -> LimbPlan | None:
    """Return the limb of a design that was opened here, None if there is none."""
    kept = st.session_state.get(KEPT)
    return None if kept is None else limb_plan_from(kept)


def open_mesh(kept: Mapping[str, Any]) -> None:
    """Fill this page's fields with a limb of a design that came from a mesh; ValueError if none."""
    mesh_fields().put(form_of_mesh(kept))
    st.session_state[KEPT] = dict(kept)


@st.fragment
@guarded
def ask_and_show() -> None:
    """Ask for a mesh, show its verdict and hand out the mesh with its channel."""
    fields = mesh_fields()
    fields.link()
    file, kept = ask_file(), kept_plan()
    if file is not None and kept is not None and _is_another(file, kept):
        return
    if file is None and kept is None:
        st.info(
            "Choose a file: nothing is shown before it is there, and it leaves this machine never."
        )
        return
    with st.container(horizontal=True, horizontal_alignment="left"):
        fields.undo_buttons()
    choose_units()
    seen, asked = st.columns([3, 2], gap="large")
    found = None
    if file is not None:
        found = _ask_mesh(fields, file, seen, asked)
    elif kept is not None and kept.mesh is not None:
        seen.info(
            f"This limb of a design was measured in {plain_text(kept.mesh.name)}. The verdict "
            "rests on the outlines that the design keeps; choose that file again to see the mesh "
            "or to cut its channel."
        )
    if file is not None and found is None:
        return
    with asked:
        plan = ask_rest(fields, file, found, kept)
    with seen:
        if plan is None:
            st.error("Correct the field marked; what you typed is kept.")
            return
        verdict = _show_verdict(plan, found)
    if verdict is not None:
        _show_taking(fields, plan, found, file)


def _ask_mesh(
    fields: PageFields, file: OwnFile, seen: DeltaGenerator, asked: DeltaGenerator
) -> Measured | None:
    """Ask for unit, root and wrist beside the picture; return what is measured, if it is."""
    with asked:
        surface = ask_unit(fields, file)
    if surface is None:
        return None
    with seen:
        found = measure(fields, file)
    _suggest(found)
    with asked:
        ask_line(fields, found)
    if found is not None:
        with seen:
            show_body(fields, file, found)
            show_measured(found)
            show_turned(file, found)
    return found


def _show_verdict(plan: LimbPlan, found: Measured | None) -> Verdict | None:
    from flexcalc.pages.mesh.answers import show_mesh_verdict

    verdict = show_mesh_verdict(plan, found)
    if verdict is not None:
        announce(verdict.sentence)
    return verdict


def _show_taking(
    fields: PageFields, plan: LimbPlan, found: Measured | None, file: OwnFile | None
) -> None:
    from flexcalc.pages.mesh.taking import show_adding, show_cutting

    if found is not None and file is not None:
        show_cutting(fields, plan, found, file)
    show_adding(plan)


def _is_another(file: OwnFile, kept: LimbPlan) -> bool:
    """Refuse a file that is not the one of the design's limb, and offer to start anew with it."""
    if kept.mesh is None or kept.mesh.sha256 == file.sha256:
        return False
    st.error(
        f"{plain_text(file.name)} is another file than the one in which the design's limb was "
        f"measured, {plain_text(kept.mesh.name)}: they differ in what they hold. Choose that one."
    )
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Measure this file as a new limb", key="mesh_anew", on_click=_start_anew)
        st.button("Go on with the design without a file", key="mesh_without", on_click=_let_go)
    return True


def _start_anew() -> None:
    st.session_state.pop(KEPT, None)
    st.session_state["mesh_is_new"] = True
    mesh_fields().put({"root": "", "wrist": ""})


def _let_go() -> None:
    st.session_state.pop(FILE, None)
    st.session_state.pop("mesh_uploader", None)


def _suggest(found: Measured | None) -> None:
    """Type a bend over the middle of a limb that is new here, where none is typed."""
    if found is None or not st.session_state.get("mesh_is_new"):
        return
    st.session_state["mesh_is_new"] = False
    fields = mesh_fields()
    form = fields.form()
    if not any(form[f"{key}{row}"].strip() for row in (1, 2, 3) for key in BEND_KEYS):
        for key, text in suggested_bend(found.limb.wrist).items():
            st.session_state[fields.prefix + key] = text


def ask_rest(
    fields: PageFields, file: OwnFile | None, found: Measured | None, kept: LimbPlan | None
) -> LimbPlan | None:
    """Draw the fields that a mesh does not answer; return the limb, None if it is refused."""
    st.markdown("## How it is printed")
    fields.choice("elastomer", own_names("elastomer"))
    for key in ("wall", "infill"):
        fields.text(key)
    fields.choice("pattern", INFILL_PATTERNS)
    fields.choice("printed", PRINTED)
    fields.choice("printer", own_names("printer"))
    st.markdown("## Wire")
    metal = fields.choice("metal", (NO_WIRE, *own_names("metal")))
    for key in () if metal == NO_WIRE else ("wire", "strands"):
        fields.text(key)
    if metal != NO_WIRE:
        fields.choice("anchored", ANCHORED)
    st.markdown("## Pose and load")
    for key in ("direction", "payload", "hold"):
        fields.text(key)
    by = fields.choice("bent", BENT)
    hand = ("lever", "places") if by == BENT[0] else ("lever",)
    with st.expander("More about how it is bent, and the pose before"):
        for key in (*hand, *MORE):
            fields.text(key)
    st.markdown(
        "Bends, from the root on; a positive angle curls up. A swing turns the bend about the "
        "limb: 90° to its left, -90° to its right. Empty rows are no bend."
    )
    for row in range(1, BEND_ROWS + 1):
        for column, key in zip(st.columns(len(BEND_KEYS)), BEND_KEYS, strict=True):
            with column:
                fields.text(f"{key}{row}")
    st.markdown("## What counts as holding")
    for key in ("share", "sag", "re_poses", "probability", "tip"):
        fields.text(key)
    return _plan(fields, file, found, kept)


def _plan(
    fields: PageFields, file: OwnFile | None, found: Measured | None, kept: LimbPlan | None
) -> LimbPlan | None:
    """Return the limb that is typed, None after showing what is refused or nothing is measured."""
    form = fields.settle()
    try:
        if found is not None and file is not None:
            return plan_from_mesh(
                form, found.limb.outlines, found.limb.length, _file_of(file, found), found.limb.hand
            )
        if file is None and kept is not None and kept.mesh is not None:
            outline = kept.limb.outline
            return plan_from_mesh(form, outline, kept.limb.length, kept.mesh, name=kept.name)  # type: ignore[arg-type]
    except RefusedFieldsError as refused:
        fields.show_refusals(with_missing(form, refused))
    return None


def _file_of(file: OwnFile, found: Measured) -> MeshFile:
    x, y, z = (round(float(value), 6) for value in found.root)
    a, b, c = (round(float(value), 9) for value in found.limb.up)
    return MeshFile(
        name=file.name,
        sha256=file.sha256,
        unit=found.surface.unit,
        root=(x, y, z),
        wrist=round(found.limb.wrist, 6),
        up=(a, b, c),
        roomiest=found.limb.path is not found.limb.line,
        skin=round(found.limb.skin, 9),
    )
