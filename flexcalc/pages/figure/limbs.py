"""The limbs of the open figure: added or renewed, each with picture, verdict, mass and place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import streamlit as st

from data.page.form import RefusedFieldsError
from data.page.show import plain_text
from data.page.units import length_words, words
from data.store.folder import StoreError
from flexcalc.figure.changes import (
    copied,
    limb_names,
    own_tint_of,
    place_of,
    with_limb,
    with_place,
    with_tint,
    without_limb,
)
from flexcalc.figure.figure import Place, place_from
from flexcalc.forms.figure_form import PLACE_FIELDS, form_from_place, place_from_form
from flexcalc.forms.texts import adopted, form_from_kept
from flexcalc.limb.trade import wire_name
from flexcalc.pages.figure.state import (
    Design,
    ask_typed,
    change,
    design_now,
    note_refused,
    show_known,
    tell,
    typed_under,
)
from flexcalc.pages.figure.tint import TintPart
from flexcalc.pages.limb import limb_fields, typed_plan
from flexcalc.verdict.plan import LimbPlan, limb_plan_from, plain

FIRST_NAME = "Neck"
WORDS = {"holds": "✔", "close": "△ Close.", "fails": "✘ Does not hold."}
CARD_SPACE = 70.0
"""Longest side of a limb's picture. [mm]"""


def show_limbs(design: Design, tint: TintPart) -> None:
    """Show every limb of a figure, and add or renew the one typed on the page Limb."""
    st.header("Limbs")
    if not design["limbs"]:
        st.info("No limb yet. Describe one on the page Limb, then add it here.")
    for kept in design["limbs"]:
        _show_limb(design, kept, tint)
    _ask_typed(design)


def refused_limb(kept: Mapping[str, Any]) -> str:
    """Return why a kept limb is refused today, "" where it is not."""
    try:
        limb_plan_from(kept)
    except ValueError as error:
        return str(error)
    return ""


def _ask_typed(design: Design) -> None:
    names = limb_names(design)
    if "figure_limb" not in st.session_state:
        st.session_state["figure_limb"] = FIRST_NAME
    name = st.text_input(
        "Name for the limb typed on the page Limb",
        key="figure_limb",
        max_chars=80,
        persist_state="session",
    ).strip()
    there = name in names
    st.button(
        "Add the limb typed on the page Limb" if not there else f"Renew {plain_text(name)} by it",
        key="figure_add",
        disabled=typed_plan() is None or not name,
        on_click=_add,
        help="A limb of the same name is renewed where it is, with its place and tint; undo "
        "brings the one before it back.",
    )


def _add() -> None:
    plan, name = typed_plan(), str(st.session_state["figure_limb"]).strip()
    if plan is None:
        tell("error", "The limb typed on the page Limb is refused there: correct it first.")
        return
    add_limb(plan, name)


def add_limb(plan: LimbPlan, name: str) -> None:
    """Add a limb to the open figure under a name, or renew the one of that name."""
    design, name = design_now(), name or plan.name
    there = name in limb_names(design)
    kept = {**plain(plan), "name": name}
    if there and kept in design["limbs"]:
        tell("info", f"{name} is already so.")
    elif change(lambda now: with_limb(now, kept)):
        tell("success", f"{'Renewed' if there else 'Added'} {name}.")


def _show_limb(design: Design, kept: Mapping[str, Any], tint: TintPart) -> None:
    name = str(kept.get("name", ""))
    with st.container(border=True):
        refused = refused_limb(kept)
        if refused:
            st.markdown(f"**{plain_text(name)}**")
            said = plain_text(words(refused))
            st.error(f"{said}. Open it on the page Limb: the field is marked there.")
        else:
            _show_plan(limb_plan_from(kept), name)
        page = "Limb" if kept.get("mesh") is None else "Own mesh"
        with st.container(horizontal=True, horizontal_alignment="left"):
            for label, act in (
                (f"Open on the page {page}", _open),
                ("Copy", _copy),
                ("Remove", _remove),
            ):
                st.button(
                    f"{label}: {plain_text(name)}",
                    key=f"figure_{label}_{name}",
                    on_click=act,
                    args=(name,),
                )
        with st.expander(f"Where {plain_text(name)} is, its twin, foot, magnets and tint"):
            _ask_place(design, name)
            _ask_tint(design, name, tint)


def _show_plan(plan: LimbPlan, name: str) -> None:
    from flexcalc.paper.answers import side_view, verdict_on
    from flexcalc.section.section import limb_mass

    verdict = verdict_on(plan)
    picture, told = st.columns([2, 3])
    with picture:
        drawn = words(side_view(plan, verdict, space=CARD_SPACE) or "")
        st.markdown(f"<div>{drawn}</div>" if drawn else "It hangs slack.", unsafe_allow_html=True)
    with told:
        st.markdown(
            f"**{plain_text(name)}** {WORDS[verdict.state]} {plain_text(words(verdict.sentence))} "
            f"All of it with a probability of {verdict.likely.probability:.0%}, "
            f"{plan.wish.probability:.0%} wanted."
        )
        wire = plan.limb.wire
        held = words(wire_name(wire)) if wire else "no wire"
        st.markdown(
            f"{plain_text(plan.limb.elastomer.name)}, {length_words(plan.limb.length)}, "
            f"{plain_text(held)}, {words(f'{limb_mass(plan.limb) * 1e3:.1f} g')}"
        )


def _ask_place(design: Design, name: str) -> None:
    try:
        place = place_from(place_of(design, name))
    except ValueError as error:
        st.error(f"{plain_text(str(error))}. Type it anew.")
        place = Place()
    prefix = f"figure_place_{name}_"
    known = {**form_from_place(place), "twin": place.twin}
    show_known(prefix, known, lambda typed: _place_typed(typed) == place)
    save = partial(_place, name, prefix)
    st.toggle("It is one of a mirrored pair", key=f"{prefix}twin", on_change=save)
    for column, keys in zip(st.columns(3), _thirds(tuple(PLACE_FIELDS)), strict=True):
        with column:
            for key in keys:
                ask_typed(prefix, PLACE_FIELDS[key], save)


def _thirds(keys: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    each = -(-len(keys) // 3)
    return keys[:each], keys[each : 2 * each], keys[2 * each :]


def _place_typed(typed: Mapping[str, Any]) -> Place:
    form = {key: str(typed[key]) for key in PLACE_FIELDS}
    return place_from_form(form, twin=bool(typed["twin"]))


def _place(name: str, prefix: str) -> None:
    typed = typed_under(prefix, (*PLACE_FIELDS, "twin"))
    try:
        place = _place_typed(typed)
    except RefusedFieldsError as refused:
        note_refused(prefix, PLACE_FIELDS, typed, refused)
        return
    st.session_state.pop(f"{prefix}refused", None)
    change(lambda now: with_place(now, name, place))


def _ask_tint(design: Design, name: str, tint: TintPart) -> None:
    own = own_tint_of(design, name)
    said = words(tint.words(own)) if own else "Its tint is that of the whole figure."
    st.markdown(plain_text(said))
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button(
            f"Take the tint typed on the page Tint for {plain_text(name)}",
            key=f"figure_own_tint_{name}",
            disabled=tint.typed() is None,
            on_click=_tint,
            args=(name, tint.typed),
        )
        if own:
            st.button(
                f"Open the tint of {plain_text(name)} on the page Tint",
                key=f"figure_open_tint_{name}",
                on_click=tint.fill,
                args=(own,),
            )
            st.button(
                f"{plain_text(name)} takes the tint of the whole figure",
                key=f"figure_no_tint_{name}",
                on_click=_tint,
                args=(name, _no_tint),
            )


def _tint(name: str, typed: Callable[[], Mapping[str, Any] | None]) -> None:
    change(lambda now: with_tint(now, name, typed()))


def _no_tint() -> None:
    return None


def _open(name: str) -> None:
    kept = next(limb for limb in design_now()["limbs"] if limb.get("name") == name)
    if kept.get("mesh") is not None:
        _open_mesh(kept)
        return
    try:
        limb_fields().put(form_from_kept(adopted(kept)))
    except (ValueError, StoreError) as error:
        tell("error", f"{name} cannot be edited on the page Limb: {error}.")
        return
    st.session_state["figure_limb"] = name
    if refused_limb(kept):
        tell("info", f"{name} is on the page Limb now, where the field to correct is marked.")
        return
    tell("success", f"{name} is on the page Limb now. Renew it here when it is changed.")


def _open_mesh(kept: Mapping[str, Any]) -> None:
    from flexcalc.pages.mesh.page import open_mesh

    try:
        open_mesh(adopted(kept))
    except (ValueError, StoreError) as error:
        tell("error", f"{kept['name']} cannot be opened on the page Own mesh: {error}.")
        return
    tell("success", f"{kept['name']} is on the page Own mesh now; its file is asked for there.")


def _copy(name: str) -> None:
    change(lambda now: copied(now, name))


def _remove(name: str) -> None:
    change(lambda now: without_limb(now, name))
