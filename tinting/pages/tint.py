"""The tint page: ask, compute, show; and what other pages may do with what is typed there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from types import MappingProxyType
from typing import Any

import streamlit as st

from data.page import history
from data.page.answer import BAR_STYLE, in_sight
from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import plain_text
from data.page.units import words
from data.rules import Caution
from data.store.folder import StoreError
from tinting.forms import jar
from tinting.forms.limits import LIMITS
from tinting.forms.painted import PAINTED
from tinting.forms.tint import (
    DYE_ROWS,
    FIELDS,
    KINDS,
    LIGHT_SETS,
    LOOKS,
    NO_DYE,
    OWN_BASE,
    light_of,
    thinning_of,
)
from tinting.mix.plan import TintPlan
from tinting.pages import photo as page_photo
from tinting.pages.colours import STYLE as COLOURS
from tinting.pages.colours import Outline, ask_colour

NOT_A_TOY = "Not for toys, skin or food. Alcohol burns."
NO_SURFACES: Mapping[str, float] = MappingProxyType({})
WITHOUT_COLOUR = ("batch", "drop", "area", "room")
GOOD = "tint_last_good"
"""Form of the last tint that could be worked out: it stays in sight while a field is refused."""
STYLE = in_sight("tintside", "tintanswer") + BAR_STYLE + COLOURS
say = partial(history.say, "tint_")
"""Keep a sentence for the next time the tint page is drawn."""
WORDS_OF_KIND = {kind: words for words, kind in KINDS.items()}


def show_tint_page(surfaces: Mapping[str, float] = NO_SURFACES, outline: Outline = ()) -> None:
    """Show the page on which a tint is planned.

    ``surfaces`` [m2] are those that are on offer to dye, by what they belong to. The colours are
    shown on the limb's ``outline`` (n, 2), where one is given.
    """
    st.html(STYLE)
    st.markdown("# What colour will the tint be?")
    _ask_and_show(surfaces, outline)
    st.info(NOT_A_TOY)


@st.fragment
@guarded
def _ask_and_show(surfaces: Mapping[str, float], outline: Outline) -> None:
    fields = tint_fields()
    ask_start(fields)
    choices, cautions = choices_now()
    for caution in cautions:
        st.error(plain_text(caution.text))
    settle_names(fields, choices)
    before, whose = _plan_in_sight(fields, choices)
    left, right = st.columns(2, gap="large")
    # The colours go to the browser before the fields, so that they follow a change at once.
    with left, st.container(key="tintside"):
        target = band = None
        if before is not None:
            band = choices.likely(before.result())
            from tinting.pages.answer import show_answer
            from tinting.pages.recipes import say_used

            with st.container(key="tintanswer"):
                light = light_of(fields.form()["light"])
                target = show_answer(before, band, light, outline)
            say_used(fields, before)
        beside = st.container()
    with right:
        plan = ask_tint(fields, choices, surfaces, before)
    if plan is None:
        with beside:
            st.error(f"Correct the field that is marked; the colours are {whose}.")
    else:
        st.session_state[GOOD] = dict(fields.form())
    answered = plan or before
    if answered is not None:
        from tinting.pages.answer import show_every_light
        from tinting.pages.answers import show_answers

        with beside:
            show_every_light(answered)
        show_answers(fields, answered, choices, target, band)


def _plan_in_sight(fields: PageFields, choices: Any) -> tuple[TintPlan | None, str]:
    """Return the tint that is typed, else the last that could be read, and whose colours it has.

    Where only a field is refused that no colour hangs on, its last text stands in for it.
    """
    form, good = fields.form(), st.session_state.get(GOOD, fields.defaults)
    colours = {**form, **{key: good[key] for key in WITHOUT_COLOUR}}
    for known, whose in ((form, "as typed"), (colours, "as typed"), (good, "of the tint before")):
        try:
            plan: TintPlan = choices.plan(choices.known(known))
        except RefusedFieldsError:
            continue
        return plan, whose
    return None, ""


def tint_fields() -> PageFields:
    """Return the fields of the tint page."""
    marks = page_photo.photo_fields("Bare part", "What to match")
    return PageFields("tint_", {**FIELDS, **jar.FIELDS, **PAINTED, **LIMITS, **marks})


def choices_now() -> tuple[Any, tuple[Caution, ...]]:
    """Return the bases and dyes that can be chosen now, and cautions about the log behind them."""
    from tinting.forms.choices import Choices
    from tinting.log.bottles import list_bottles
    from tinting.pages.learned import learned_now

    brought = st.session_state.get("tint_brought", {})
    try:
        known = {**brought, "hands": {**brought.get("hands", {}), **_hands()}}
        return Choices(learned=learned_now(), bottles=list_bottles().bottles, **known), ()
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


def ask_tint(
    fields: PageFields, choices: Any, surfaces: Mapping[str, float], before: TintPlan | None
) -> TintPlan | None:
    """Draw the fields and return the tint, or None after showing what is refused.

    ``surfaces`` [m2] are on offer by name; ``before`` is the tint in sight, whose base the sliders
    of the target start from.
    """
    base = fields.choice("base", choices.base_names)
    with st.container():
        if base == OWN_BASE:
            fields.choice("kind", tuple(KINDS))
            ask_colour(fields, "colour", "Pick the colour of the bare part")
        else:
            known = {**choices.learned.bases, **choices.bases}
            _say_kind(known[base].kind if base in known else "", base)
    _ask_dye(fields, 1, choices)
    used = any(fields.form()[f"dye{row}"] != NO_DYE for row in range(2, DYE_ROWS + 1))
    with st.expander("More dyes in the mix", expanded=used):
        for row in range(2, DYE_ROWS + 1):
            _ask_dye(fields, row, choices)
    thinned, laid = st.columns(2)
    with thinned:
        fields.text("alcohol", echo=lambda _: thinning_of(fields.form()))
    with laid:
        fields.text("coats")
    ask_colour(fields, "target", "Pick the target colour")
    if before is not None:
        from tinting.pages.answer import out_of_dyes_way

        if said := out_of_dyes_way(before):
            st.warning(said)
    with st.expander("Target by sliders, or from a photo"):
        if before is not None:
            _ask_shift(fields, before)
        if st.toggle("Target from a photo", key="tint_by_photo", persist_state="session"):
            page_photo.ask_photo(
                fields, "Bare part", "What to match", _take_target, "Take it as the target"
            )
    with st.expander("Lights, batch, drop, surface, room"):
        fields.choice("light", tuple(LOOKS))
        fields.choice("lights", tuple(LIGHT_SETS))
        _ask_batch(fields, surfaces)
    try:
        plan: TintPlan = choices.plan(fields.settle())
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None
    return plan


def _ask_dye(fields: PageFields, row: int, choices: Any) -> None:
    dye, parts = st.columns(2)
    with dye:
        chosen = fields.choice(f"dye{row}", choices.offered(fields.form()))
    with parts:
        if chosen != NO_DYE:
            fields.text(f"parts{row}")


SHIFTS = (
    ("darker", "Darker (lighter cannot be: dye only takes light away)", 0, 60),
    ("bluer", "Yellower, or bluer to the right", -60, 60),
    ("greener", "Redder, or greener to the right", -60, 60),
    ("greyer", "Greyer, in % of its colour", 0, 100),
)
"""Sliders that say a target against the bare part: key, label, ends in CIELAB units or %."""


def _ask_shift(fields: PageFields, plan: TintPlan) -> None:
    """Ask how the target differs from the bare part; a slider fills the field of the target."""
    from tinting.colour.colorimetry import lab as lab_of

    lightness, a, b = (float(value) for value in lab_of(plan.base.reflectance))

    def shift() -> None:
        moved = {key: float(st.session_state[f"tint_{key}"]) for key, *_ in SHIFTS}
        colour = 1 - moved["greyer"] / 100
        target = (
            max(lightness - moved["darker"], 1.0),
            (a - moved["greener"]) * colour,
            (b - moved["bluer"]) * colour,
        )
        fields.put({"target": " ".join(f"{value:.1f}" for value in target)})

    for key, label, low, high in SHIFTS:
        st.slider(label, low, high, 0, key=f"tint_{key}", on_change=shift)


def _say_kind(kind: str, name: str) -> None:
    from tinting.skin.demo import demo_base

    words = WORDS_OF_KIND[kind or demo_base(name).kind]
    st.markdown(f"Taken as **{words.partition(':')[0]}**; else choose “{OWN_BASE}”.")


def settle_names(fields: PageFields, choices: Any) -> None:
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
    looks = next(words for words, light in LOOKS.items() if light == light_of(form["light"]))
    if form["light"] != looks:  # a link from before lights had names in words
        st.session_state[f"{fields.prefix}light"] = looks
    if lost:
        st.warning(
            "Not known on this machine, so no dye or the demo's base stands in: "
            + plain_text(", ".join(lost))
            + ". Bring it in by its swatch log or design file."
        )


def _take_target(reading: Any, _: bytes) -> None:
    fields = tint_fields()
    lab = " ".join(f"{value:.1f}" for value in reading.swatch_lab)
    fields.put({**fields.form(), "target": lab})
    say("success", f"The target is {lab} now; it may be off by {reading.error:.0f} ΔE00.")


def _ask_batch(fields: PageFields, surfaces: Mapping[str, float]) -> None:
    """Ask for the batch, the drop, the surface and the room; ``surfaces`` [m2] are on offer."""
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
    for name, area in surfaces.items():
        st.button(
            f"Use {plain_text(name)}, {words(f'{area * 1e4:.1f} cm²')}",
            key=f"tint_use_{name}",
            on_click=fields.put,
            args=({"area": f"{area * 1e4:.4g}"},),
        )
    fields.text("room")
    fields.text("limb")
