"""The questions of the limb page: every field is typed text, kept in the link and undoable."""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import streamlit as st

from flexcalc.form import (
    BEND_ROWS,
    DEFAULTS,
    OUTLINE_FIELDS,
    PRESETS,
    PRINTED,
    RefusedFieldsError,
    plan_from_form,
)
from flexcalc.gauge import parse_length, show_length
from flexcalc.materials import elastomer_names, metal_names
from flexcalc.plan import LimbPlan

PREFIX = "limb_"
LENGTHS = [
    "diameter",
    "width",
    "height",
    "corner",
    "flat",
    "length",
    "wall",
    "channel",
    "offset",
    "sleeve",
    "wire",
    "sag",
]
LABELS = {
    "elastomer": "Filament",
    "outline": "Shape of the cross-section",
    "diameter": "Outside diameter (mm, or say in)",
    "width": "Width (mm, or say in)",
    "height": "Height, in the plane it bends in (mm, or say in)",
    "corner": "Corner radius (mm, or say in)",
    "flat": "Height cut off for the flat (mm, or say in)",
    "points": "Corners x y, x y, … (mm)",
    "length": "Length from clamp to tip (mm, or say in)",
    "wall": "Wall thickness (mm, or say in; “solid” for none)",
    "infill": "Infill inside the wall (%)",
    "channel": "Wire channel in the finished part (mm, or say in; 0: the bore itself)",
    "offset": "Channel above the centre (mm, may be negative)",
    "sleeve": "Solid sleeve around the channel (mm, or say in)",
    "printed": "How the limb lies in the printer",
    "metal": "Wire",
    "wire": "Wire diameter (mm, in, “AWG 12” or “SWG 14”)",
    "strands": "Strands twisted together",
    "direction": "Direction at the clamp (° from hanging: 0 hangs, 90 level, 180 upright)",
    "payload": "Weight at the tip (g)",
    "hold": "Held in the hand before letting go (s)",
    "share": "Share of the bend it should keep (%)",
    "sag": "The tip may sag by (mm, or say in)",
}


def form_now() -> dict[str, str]:
    """Return the form as it stands: the demo's text where nothing was typed or linked."""
    state = st.session_state
    return {key: str(state.get(PREFIX + key, text)) for key, text in DEFAULTS.items()}


def typed_plan() -> LimbPlan | None:
    """Return the limb question that is typed now, None while a field is refused."""
    linked = {key: st.query_params.get(PREFIX + key, text) for key, text in form_now().items()}
    try:
        return plan_from_form(linked)
    except RefusedFieldsError:
        return None


def put_form(form: Mapping[str, str]) -> None:
    """Fill every field (before the fields are drawn in this run)."""
    for key, text in form.items():
        st.session_state[PREFIX + key] = text


def _history(name: str) -> list[dict[str, str]]:
    stack: list[dict[str, str]] = st.session_state.setdefault(f"{PREFIX}{name}", [])
    return stack


def remember() -> None:
    """Keep the form from before the change that was just made, for undo."""
    before = st.session_state.get(f"{PREFIX}last", dict(DEFAULTS))
    if before != form_now():
        _history("undo").append(before)
        del _history("undo")[:-200]
        _history("redo").clear()


def _step(taken_from: str, kept_in: str) -> None:
    _history(kept_in).append(form_now())
    put_form(_history(taken_from).pop())


def _take_preset(name: str) -> None:
    _history("undo").append(form_now())
    put_form({**DEFAULTS, **PRESETS[name]})


def ask_history() -> None:
    """Show presets, undo and redo."""
    with st.container(horizontal=True, horizontal_alignment="left"):
        for name in PRESETS:
            st.button(name, key=f"{PREFIX}preset_{name}", on_click=_take_preset, args=(name,))
        for label, source, target in (("Undo", "undo", "redo"), ("Redo", "redo", "undo")):
            st.button(
                f"{label} ({len(_history(source))})",
                key=f"{PREFIX}{source}_button",
                on_click=_step,
                args=(source, target),
                disabled=not _history(source),
            )


def ask_limb() -> LimbPlan | None:
    """Draw the fields and return the question, or None after showing what is refused."""
    slots: dict[str, object] = {}
    with _part("Limb"):
        _choice("elastomer", elastomer_names(), slots)
        kind = _choice("outline", tuple(OUTLINE_FIELDS), slots)
        for key in (*OUTLINE_FIELDS[kind], "length", "wall", "infill"):
            _text(key, slots)
    with _part("Wire and its channel"):
        if _choice("metal", ("no wire", *metal_names()), slots) != "no wire":
            _text("wire", slots)
            _text("strands", slots)
        for key in ("channel", "sleeve", "offset"):
            _text(key, slots)
        _choice("printed", PRINTED, slots)
    with _part("Pose and load"):
        for key in ("direction", "payload", "hold"):
            _text(key, slots)
        _bend_rows(slots)
    with _part("What counts as holding"):
        _text("share", slots)
        _text("sag", slots)
    st.session_state[f"{PREFIX}last"] = form_now()
    try:
        return plan_from_form(form_now())
    except RefusedFieldsError as refusal:
        _show_refusals(refusal, slots)
        return None


@contextmanager
def _part(title: str) -> Iterator[None]:
    st.markdown(f"##### {title}")
    yield


def _text(key: str, slots: dict[str, object], label: str = "") -> str:
    text = st.text_input(
        label or LABELS[key],
        value=DEFAULTS[key],
        key=PREFIX + key,
        max_chars=400,
        bind="query-params",
        on_change=remember,
    )
    slots[key] = st.empty()
    if key in LENGTHS:
        _echo(text)
    return text


def _echo(text: str) -> None:
    """Say a typed length in both units, where it can be read."""
    if text.strip() in ("", "0", "solid"):
        return
    try:
        st.markdown(f"<small>= {show_length(parse_length(text))}</small>", unsafe_allow_html=True)
    except ValueError:
        return


def _choice(key: str, options: tuple[str, ...], slots: dict[str, object]) -> str:
    chosen = st.selectbox(
        LABELS[key],
        options,
        index=options.index(DEFAULTS[key]),
        key=PREFIX + key,
        bind="query-params",
        on_change=remember,
    )
    slots[key] = st.empty()
    return chosen


def _bend_rows(slots: dict[str, object]) -> None:
    st.markdown("Bends, from the clamp on; a positive angle curls up. Empty rows are no bend.")
    for row in range(1, BEND_ROWS + 1):
        columns = st.columns(3)
        for column, part, label in zip(
            columns, ("start", "angle", "radius"), ("starts at (mm)", "angle (°)", "radius (mm)"),
            strict=True,
        ):  # fmt: skip
            with column:
                _text(f"{part}{row}", slots, f"Bend {row} {label}")


def _show_refusals(refusal: RefusedFieldsError, slots: dict[str, object]) -> None:
    for key, sentence in refusal.errors.items():
        slot = slots.get(key)
        show = slot.error if hasattr(slot, "error") else st.error
        show(html.escape(sentence, quote=False))
