"""The questions of the limb page."""

from __future__ import annotations

import streamlit as st

from data.page.fields import Fields
from data.page.form import RefusedFieldsError
from flexcalc.form import (
    BEND_ROWS,
    DEFAULTS,
    OUTLINE_FIELDS,
    PRESETS,
    PRINTED,
    plan_from_form,
)
from flexcalc.gauge import parse_length, show_length
from flexcalc.own import own_names
from flexcalc.plan import LimbPlan

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)
LENGTHS = {*["diameter", "width", "height", "corner", "flat", "length", "wall"]} | {
    *["channel", "offset", "sleeve", "wire", "sag"]
}
LABELS = {
    "units": "Lengths are shown first in",
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
    "metal": "Wire",
    "wire": "Wire diameter (mm, in, “AWG 12” or “SWG 14”)",
    "strands": "Strands twisted together",
    "channel": "Wire channel in the finished part (mm, or say in; 0: the bore itself)",
    "sleeve": "Solid sleeve around the channel (mm, or say in)",
    "offset": "Channel above the centre (mm, may be negative)",
    "printed": "How the limb lies in the printer",
    "printer": "Printer",
    "direction": "Direction at the clamp (° from hanging: 0 hangs, 90 level, 180 upright)",
    "payload": "Weight at the tip (g)",
    "hold": "Held in the hand before letting go (s)",
    "share": "Share of the bend it should keep (%)",
    "sag": "The tip may sag by (mm, or say in)",
}
BEND_PARTS = (("start", "starts at (mm)"), ("angle", "angle (°)"), ("radius", "radius (mm)"))


def limb_fields() -> Fields:
    """Return the fields of the limb page."""
    return Fields(st, "limb_", DEFAULTS, LABELS)


def typed_plan() -> LimbPlan | None:
    """Return the limb that is typed or linked now, None while a field is refused."""
    try:
        return plan_from_form(limb_fields().form())
    except RefusedFieldsError:
        return None


def ask_start(fields: Fields) -> None:
    """Show the starting points, undo and redo."""
    fields.link()
    with st.container(horizontal=True, horizontal_alignment="left"):
        for name, changes in PRESETS.items():
            st.button(
                name,
                key=f"{fields.prefix}preset_{name}",
                on_click=fields.put,
                args=({**DEFAULTS, **changes},),
            )
        fields.undo_buttons()


def ask_limb(fields: Fields) -> LimbPlan | None:
    """Draw the fields and return the limb, or None after showing what is refused."""
    first = fields.choice("units", ("mm", "inch"))
    st.markdown("##### Limb")
    fields.choice("elastomer", own_names("elastomer"))
    kind = fields.choice("outline", tuple(OUTLINE_FIELDS))
    with st.container():
        for key in (*OUTLINE_FIELDS[kind], "length", "wall", "infill"):
            _ask(fields, key, first)
    st.markdown("##### Wire and its channel")
    metal = fields.choice("metal", ("no wire", *own_names("metal")))
    with st.container():
        for key in () if metal == "no wire" else ("wire", "strands"):
            _ask(fields, key, first)
    for key in ("channel", "sleeve", "offset"):
        _ask(fields, key, first)
    fields.choice("printed", PRINTED)
    fields.choice("printer", own_names("printer"))
    st.markdown("##### Pose and load")
    for key in ("direction", "payload", "hold"):
        _ask(fields, key, first)
    st.markdown("Bends, from the clamp on; a positive angle curls up. Empty rows are no bend.")
    for row in range(1, BEND_ROWS + 1):
        for column, (part, label) in zip(st.columns(3), BEND_PARTS, strict=True):
            with column:
                fields.text(f"{part}{row}", f"Bend {row} {label}")
    st.markdown("##### What counts as holding")
    _ask(fields, "share", first)
    _ask(fields, "sag", first)
    try:
        return plan_from_form(fields.settle())
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None


def _ask(fields: Fields, key: str, first: str) -> None:
    """Ask for a field, and say a length in both units where it can be read."""
    text = fields.text(key)
    if key in LENGTHS:
        echo(text, first)


def echo(text: str, first: str = "mm") -> None:
    """Say a length in both units below its field, where it can be read.

    Its place is kept where it cannot: whatever moves on a page is made anew, and loses the
    cursor and what was being typed.
    """
    try:
        shown = show_length(parse_length(text), first) if text.strip() != "0" else ""
    except ValueError:
        shown = ""
    if shown:
        st.markdown(f"<small>= {shown}</small>", unsafe_allow_html=True)
    else:
        st.empty()
