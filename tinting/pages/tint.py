"""The tint page: ask, compute, show; and what other pages may do with what is typed there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

import streamlit as st

from data.page import history
from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import plain_text
from data.rules import Caution
from data.store.folder import StoreError
from tinting.colour.colorimetry import light_names
from tinting.forms import jar
from tinting.forms.tint import (
    DYE_ROWS,
    FIELDS,
    KINDS,
    LIGHT_SETS,
    NO_DYE,
    OWN_BASE,
    colour_from_text,
)
from tinting.mix.plan import TintPlan
from tinting.pages import photo as page_photo

NOT_A_TOY = (
    "Alcohol burns and its vapour can ignite: no flame, gloves, open window. Not for toys, skin "
    "or food. Local rules and the dye's safety data sheet come first."
)
say = partial(history.say, "tint_")
"""Keep a sentence for the next time the tint page is drawn."""
WORDS_OF_KIND = {kind: words for words, kind in KINDS.items()}


def show_tint_page(limb_area: float = 0.0) -> None:
    """Show the page on which a tint is planned; ``limb_area`` [m2] is the typed limb's surface."""
    st.title("What colour will the tint be?")
    st.markdown(
        "Describe the printed part, the dye and the coats; the demo is reed green on the off-white "
        "TPU of a marsh heron (invented). Dye only takes light away, so a tint is never lighter "
        "than its base."
    )
    _ask_and_show(limb_area)
    st.info(NOT_A_TOY)


@st.fragment
@guarded
def _ask_and_show(limb_area: float) -> None:
    fields = tint_fields()
    ask_start(fields)
    questions, answers = st.columns([2, 3], gap="large")
    with questions:
        choices, cautions = choices_now()
        for caution in cautions:
            st.error(plain_text(caution.text))
        plan = ask_tint(fields, choices, limb_area)
    with answers:
        if plan is None:
            st.error("Correct the field marked at the left; what you typed is kept.")
            return
        from tinting.pages.answers import show_answers

        show_answers(fields, plan, choices)


def tint_fields() -> PageFields:
    """Return the fields of the tint page."""
    marks = page_photo.photo_fields("Bare part", "What to match")
    return PageFields("tint_", {**FIELDS, **jar.FIELDS, **marks})


def choices_now() -> tuple[Any, tuple[Caution, ...]]:
    """Return the bases and dyes that can be chosen now, and cautions about the log behind them."""
    from tinting.forms.choices import Choices
    from tinting.pages.learned import learned_now

    brought = st.session_state.get("tint_brought", {})
    try:
        known = {**brought, "hands": {**brought.get("hands", {}), **_hands()}}
        return Choices(learned=learned_now(), **known), ()
    except StoreError as error:
        text = f"{error} Until then the dyes are estimates."
        return Choices(**brought), (Caution(key="no log", text=text),)


def _hands() -> dict[str, Any]:
    from tinting.log.hand import KNOWN_BY, kept_hand

    found = {name: kept_hand(name) for name in KNOWN_BY}
    return {name: hand for name, hand in found.items() if hand is not None}


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
    from tinting.mix.plan import plain

    plan = typed_plan()
    return plain(plan) if plan else None


def fill_tint(kept: Mapping[str, Any]) -> None:
    """Put the tint of a design into the fields; what was typed before can be undone."""
    from tinting.forms.choices import choices_for
    from tinting.mix.plan import tint_plan_from

    choices, _ = choices_now()
    try:
        choices, form = choices_for(tint_plan_from(kept), choices)
    except ValueError as error:
        say("error", f"The tint of the design cannot be edited here: {error}.")
        return
    hands = {name: hand for name, hand in choices.hands.items() if name == "design"}
    st.session_state["tint_brought"] = {
        "bases": choices.bases,
        "dyes": choices.dyes,
        "hands": hands,
    }
    tint_fields().put({**tint_fields().form(), **form})
    say("success", "The tint of the design is in the fields now.")


def ask_start(fields: PageFields) -> None:
    """Show what was left to say, the way back to the demo, undo and redo."""
    fields.link()
    history.show_said("tint_")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Demo tint", key="tint_demo", on_click=fields.put, args=(fields.defaults,))
        fields.undo_buttons()


def ask_tint(fields: PageFields, choices: Any, limb_area: float) -> TintPlan | None:
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
    _ask_batch(fields, limb_area)
    try:
        plan: TintPlan = choices.plan(fields.settle())
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None
    return plan


def _say_kind(kind: str, name: str) -> None:
    from tinting.skin.demo import demo_base

    words = WORDS_OF_KIND[kind or demo_base(name).kind]
    st.markdown(
        f"Translucent or opaque? This one: **{words}**. A wrong answer costs 2.5 to 9.5 ΔE, so "
        f"for your own part choose “{OWN_BASE}” and say."
    )


def _settle_names(fields: PageFields, choices: Any) -> None:
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
            + plain_text(", ".join(lost))
            + ". Bring it in by its swatch log or design file."
        )


def _ask_colour(fields: PageFields, key: str, label: str) -> None:
    """Ask for a colour as text, with a picker beside it that writes into the same field."""
    from tinting.colour.spectrum import hex_from_lab

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


def _ask_batch(fields: PageFields, limb_area: float) -> None:
    """Ask for the batch, the drop, the surface and the room; ``limb_area`` [m2] is on offer."""
    fields.text("batch")
    fields.text("drop")
    with st.expander("Calibrate the drop: count and weigh"):
        st.markdown("Drip alcohol with the dropper you will use on a 0.01 g scale.")
        fields.text("counted")
        fields.text("weighed")
        try:
            volume = f"{jar.drop_from_form(fields.form()) * 1e6:.4g}"
        except RefusedFieldsError as refused:
            fields.show_refusals(refused)
        else:
            st.button(
                f"Use {volume} mL as the drop",
                key="tint_use_drop",
                on_click=fields.put,
                args=({"drop": volume},),
            )
    fields.text("area")
    if limb_area > 0:
        st.button(
            f"Use the limb's surface, {limb_area * 1e4:.1f} cm²",
            key="tint_use_area",
            on_click=fields.put,
            args=({"area": f"{limb_area * 1e4:.4g}"},),
        )
    fields.text("room")
