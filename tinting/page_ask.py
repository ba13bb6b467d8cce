"""The questions of the tint page, and what other pages may do with what is typed there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

import streamlit as st

from data.page import history
from data.page.fields import Fields
from data.page.form import RefusedFieldsError
from data.rules import Caution
from data.store.folder import StoreError
from tinting import jar, page_photo
from tinting.colorimetry import light_names
from tinting.form import DEFAULTS, DYE_ROWS, KINDS, LIGHT_SETS, NO_DYE, OWN_BASE, colour_from_text
from tinting.page_batch import ask_batch
from tinting.plan import TintPlan

LABELS = {
    "base": "Base: the part as it is printed",
    "kind": "Translucent or opaque? The most important question: hold the bare part to a light",
    "colour": "Colour of the bare part (#rrggbb, or L a b under D65)",
    **{f"dye{row}": f"Dye {row}" for row in range(1, DYE_ROWS + 1)},
    **{f"parts{row}": f"Parts of dye {row}" for row in range(1, DYE_ROWS + 1)},
    "alcohol": "Parts of alcohol (isopropyl, 99 %)",
    "coats": "Coats",
    "light": "Light to look under",
    "target": "Target colour (#rrggbb, or L a b under D65)",
    "lights": "Lights in which a recipe has to match",
    "batch": "Batch to mix (mL)",
    "drop": "One drop (mL)",
    "area": "Surface to dye (cm²)",
    "room": "Closed room (m³)",
    "counted": "Drops counted (50 is a good number)",
    "weighed": "What they weigh (g)",
    "left": "Left in the jar (mL)",
    "wanted": "Wanted: parts of alcohol to 1 part of dyes",
    "mouth": "Mouth of the jar (mm across)",
    "open": "It stood open for (min)",
    **page_photo.photo_labels("Bare part", "What to match"),
}
say = partial(history.say, st, "tint_")
"""Keep a sentence for the next time the tint page is drawn."""
WORDS_OF_KIND = {kind: words for words, kind in KINDS.items()}


def tint_fields() -> Fields:
    """Return the fields of the tint page."""
    return Fields(st, "tint_", DEFAULTS | jar.DEFAULTS | page_photo.DEFAULTS, LABELS)


def choices_now() -> tuple[Any, tuple[Caution, ...]]:
    """Return the bases and dyes that can be chosen now, and cautions about the log behind them."""
    from tinting.choices import Choices
    from tinting.page_learned import learned_now

    brought = st.session_state.get("tint_brought", {})
    try:
        return Choices(learned=learned_now(), **brought), ()
    except StoreError as error:
        text = f"{error} Until then the dyes are estimates."
        return Choices(**brought), (Caution(key="no log", text=text),)


def typed_plan() -> TintPlan | None:
    """Return the tint that is typed or linked now, None while a field is refused."""
    choices, _ = choices_now()
    try:
        plan: TintPlan = choices.plan(choices.known(tint_fields().form()))
    except RefusedFieldsError:
        return None
    return plan


def typed_tint() -> dict[str, Any] | None:
    """Return the typed tint as plain data for a design, None while a field is refused."""
    from tinting.plan import plain

    plan = typed_plan()
    return plain(plan) if plan else None


def fill_tint(kept: Mapping[str, Any]) -> None:
    """Put the tint of a design into the fields; what was typed before can be undone."""
    from tinting.choices import choices_for
    from tinting.plan import tint_plan_from

    choices, _ = choices_now()
    try:
        choices, form = choices_for(tint_plan_from(kept), choices)
    except ValueError as error:
        say("error", f"The tint of the design cannot be edited here: {error}.")
        return
    st.session_state["tint_brought"] = {"bases": choices.bases, "dyes": choices.dyes}
    tint_fields().put({**tint_fields().form(), **form})
    say("success", "The tint of the design is in the fields now.")


def ask_start(fields: Fields) -> None:
    """Show what was left to say, the way back to the demo, undo and redo."""
    fields.link()
    history.show_said(st, "tint_", lambda sentence: sentence.replace("$", "\\$"))
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Demo tint", key="tint_demo", on_click=fields.put, args=(fields.defaults,))
        fields.undo_buttons()


def ask_tint(fields: Fields, choices: Any, limb_area: float) -> TintPlan | None:
    """Draw the fields and return the tint, or None after showing what is refused."""
    _settle_names(fields, choices)
    st.markdown("##### Base")
    base = fields.choice("base", choices.base_names)
    with st.container():
        if base == OWN_BASE:
            fields.choice("kind", tuple(KINDS))
            _ask_colour(fields, "colour", "Pick the colour of the bare part")
        else:
            known = {**choices.learned.bases, **choices.bases}
            _say_kind(known[base].kind if base in known else "", base)
    st.markdown("##### Mix")
    for row in range(1, DYE_ROWS + 1):
        dye, parts = st.columns([3, 2])
        with dye:
            chosen = fields.choice(f"dye{row}", choices.dye_names)
        with parts:
            if chosen != NO_DYE:
                fields.text(f"parts{row}")
    fields.text("alcohol")
    fields.text("coats")
    fields.choice("light", light_names())
    st.markdown("##### Target")
    _ask_colour(fields, "target", "Pick the target colour")
    if st.toggle("Target from a photo", key="tint_by_photo", persist_state="session"):
        page_photo.ask_photo(
            fields, "Bare part", "What to match", _take_target, "Take it as the target"
        )
    fields.choice("lights", tuple(LIGHT_SETS))
    st.markdown("##### Batch, surface and room")
    ask_batch(fields, limb_area)
    try:
        plan: TintPlan = choices.plan(fields.settle())
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None
    return plan


def _say_kind(kind: str, name: str) -> None:
    from tinting.demo import demo_base

    words = WORDS_OF_KIND[kind or demo_base(name).kind]
    st.markdown(
        f"Translucent or opaque? This one: **{words}**. A wrong answer costs 2.5 to 9.5 ΔE, so "
        f"for your own part choose “{OWN_BASE}” and say."
    )


def _settle_names(fields: Fields, choices: Any) -> None:
    """Replace names by what is known of them now, before the fields are drawn."""
    form = fields.form()
    known = choices.known(form)
    lost = []
    for key, options in (
        ("base", choices.base_names),
        *((f"dye{row}", choices.dye_names) for row in range(1, DYE_ROWS + 1)),
    ):
        if known[key] not in options:
            lost.append(known[key][:80])
            st.session_state[f"{fields.prefix}{key}"] = options[0]
        elif known[key] != form[key]:
            st.session_state[f"{fields.prefix}{key}"] = known[key]
    if lost:
        st.warning(
            "Not known on this machine, so no dye or the demo's base stands in: "
            + ", ".join(name.replace("$", "\\$") for name in lost)
            + ". Bring it in by its swatch log or design file."
        )


def _ask_colour(fields: Fields, key: str, label: str) -> None:
    """Ask for a colour as text, with a picker beside it that writes into the same field."""
    from tinting.screen import hex_from_lab

    picker = f"{fields.prefix}pick_{key}"
    typed, picked = st.columns([3, 2])
    with typed:
        text = fields.text(key)
    try:
        lightness, a, b = colour_from_text(text)
        shown = text.strip().lower() if text.strip().startswith("#") else ""
        st.session_state[picker] = shown or hex_from_lab((lightness, a, b))
    except ValueError:
        st.session_state.setdefault(picker, "#808080")
    with picked:
        st.color_picker(
            label,
            key=picker,
            on_change=lambda: fields.put({key: st.session_state[picker]}),
        )


def _take_target(reading: Any, _: bytes) -> None:
    fields = tint_fields()
    lab = " ".join(f"{value:.1f}" for value in reading.swatch_lab)
    fields.put({**fields.form(), "target": lab})
    say("success", f"The target is {lab} now; it may be off by {reading.error:.0f} ΔE.")
