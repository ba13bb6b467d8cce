"""Which wires are looked at: of one metal, by how they are sold, or those in the maker's drawer."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from data.page.fields import PageFields
from data.page.show import plain_text
from data.store.folder import StoreError
from flexcalc.forms.limb_form import NO_WIRE
from flexcalc.limb.drawer import DrawerWire, drawer_wires, put_in_drawer, take_from_drawer
from flexcalc.limb.inputs import Wire
from flexcalc.limb.trade import METRIC

SOLD = {"mm": METRIC, "AWG": "AWG", "SWG": "SWG"}
ALL_METALS, DRAWER, ALL_SIZES = "all metals", "the wires in my drawer", "all sizes"
SAME = 1e-3
"""A wire is one of the drawer's if its diameter differs by less than this share from it."""


def is_in_drawer(wire: Wire, drawer: Sequence[DrawerWire]) -> bool:
    """Tell whether a wire, of any number of strands, is one of the drawer's."""
    return any(
        one.metal == wire.metal.name and abs(one.diameter - wire.diameter) < SAME * one.diameter
        for one in drawer
    )


def drawer_now() -> tuple[DrawerWire, ...]:
    """Return the wires in the drawer, none after saying why they cannot be read."""
    said = st.session_state.pop("limb_drawer_error", None)
    if said:
        st.error(plain_text(said))
    try:
        return drawer_wires()
    except StoreError as error:
        st.error(plain_text(str(error)))
        return ()


def keep_in_drawer(fields: PageFields, drawer: Sequence[DrawerWire]) -> None:
    """Offer to put the wire that is typed into the drawer, or to take it out."""
    form = fields.form()
    if form["metal"] == NO_WIRE:
        return
    try:
        wire = DrawerWire(metal=form["metal"], size=form["wire"])
    except ValueError:
        return
    known = wire in drawer
    name = plain_text(wire.name)
    st.button(
        f"Take {name} out of my drawer" if known else f"Put {name} into my drawer",
        key="limb_drawer",
        on_click=_change,
        args=(wire, known),
    )


def _change(wire: DrawerWire, known: bool) -> None:
    try:
        (take_from_drawer if known else put_in_drawer)(wire)
    except (StoreError, ValueError) as error:
        st.session_state["limb_drawer_error"] = str(error)
