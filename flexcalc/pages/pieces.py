"""Test pieces to print: made when a download is asked for, not before."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError, worded
from data.page.show import plain_text
from data.page.units import words
from flexcalc.build.channel import size_channel
from flexcalc.build.solids import (
    Piece,
    channel_strip,
    droop_strip,
    file_bytes,
    limb_sample,
    swatch_tile,
)
from flexcalc.forms.bench_form import strip_sizes
from flexcalc.pages.learned import say
from flexcalc.paper.pictures.set_ups import set_up
from flexcalc.verdict.plan import LimbPlan

Make = Callable[[], Piece]
PICTURES = {
    "channel_strip": "channel strip",
    "droop_strip": "droop strip",
    "swatch_tile": "swatch tile",
    "limb_sample": "limb piece",
}
MIMES = {"stl": "model/stl", "3mf": "model/3mf"}
USUAL_CHANNEL = 3.1e-3
"""Middle hole of the strip where no wire is typed. [m]"""


def show_pieces(fields: PageFields, plan: LimbPlan | None) -> None:
    """Offer the test pieces as STL and 3MF files."""
    st.markdown(
        "Print them in the filament and with the settings of the limb. 3MF says that it is in "
        "millimetres; an STL is in millimetres too, but does not say so."
    )
    drawn, side = _wanted_channel(plan)
    _offer(
        "Strip of channels",
        f"Seven channels from {drawn * 1e3 - 0.3:.2f} to {drawn * 1e3 + 0.3:.2f} mm, {side}, "
        "each with as many notches as its number.",
        "channel_strip",
        partial(channel_strip, drawn, side, plan.printer if plan else None),
    )
    st.button(
        "Type these holes under Printer",
        key="bench_pieces_holes",
        on_click=_type_holes,
        args=(fields, drawn, side),
    )
    try:
        length, width, thickness = strip_sizes(fields.form())
        _offer(
            "Droop strip",
            f"{length * 1e3:g} × {width * 1e3:g} × {thickness * 1e3:g} mm beyond its tab, as "
            "typed under Filament.",
            "droop_strip",
            partial(droop_strip, length, width, thickness),
        )
    except RefusedFieldsError as refused:
        said = worded(fields.fields, fields.form(), refused).errors.values()
        st.error("Droop strip: " + plain_text(words(" ".join(said))))
    _offer(
        "Swatch tile",
        "A stair of four square fields, 1 to 4 mm thick, to dye and to measure.",
        "swatch_tile",
        swatch_tile,
    )
    if plan is None:
        st.info("A piece of the limb is offered once the page Limb has no refused field.")
        return
    _offer(
        "Piece of the limb",
        "60 mm of the limb typed on the page Limb, hollow, with its channel: try wire and kink.",
        "limb_sample",
        partial(limb_sample, plan.limb, drawn_channel=_drawn(plan)),
    )


def _drawn(plan: LimbPlan) -> float | None:
    """Return the channel to draw so that the plan's own is left in print. [m]"""
    if plan.limb.wire is None or plan.limb.wire_runs_in_bore:
        return None
    size = size_channel(plan.limb.wire.bundle_diameter, plan.orientation, printer=plan.printer)
    return plan.limb.channel_diameter + size.shrinkage


def _wanted_channel(plan: LimbPlan | None) -> tuple[float, str]:
    if plan is None or plan.limb.wire is None:
        return USUAL_CHANNEL, "lying"
    size = size_channel(plan.limb.wire.bundle_diameter, plan.orientation, printer=plan.printer)
    return round(size.draw_diameter, 5), plan.orientation


def _type_holes(fields: PageFields, drawn: float, side: str) -> None:
    holes = "; ".join(f"{(drawn + 1e-4 * (index - 3)) * 1e3:.2f}" for index in range(7))
    fields.put({"pins_drawn": holes, "pins_printed": side})
    say("success", "The holes are typed under Printer: note the largest pin that enters each.")


def _offer(title: str, told: str, stem: str, make: Make) -> None:
    said, picture = st.columns([3, 2])
    with picture:
        st.markdown(f"<div>{words(set_up(PICTURES[stem]))}</div>", unsafe_allow_html=True)
    said.markdown(f"**{title}.** {words(told)}")
    with said.container(horizontal=True, horizontal_alignment="left"):
        for kind, mime in MIMES.items():
            st.download_button(
                f"{title} as {kind.upper()}",
                partial(_made, make, kind),
                file_name=f"{stem}.{kind}",
                mime=mime,
                key=f"bench_{stem}_{kind}",
                on_click="ignore",
            )


def _made(make: Make, kind: str) -> bytes:
    return file_bytes(make(), kind)
