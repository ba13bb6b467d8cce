"""How a wire is held against turning at the root: its end bent over into a slot, drawn to scale."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, refuse
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Limb, limb_at
from flexcalc.limb.shape import outline_ring
from flexcalc.paper.pictures.sketch import Sheet
from flexcalc.paper.pictures.svg import (
    LETTER_SHARE,
    NARROWEST,
    checked_text,
    fitting_scale,
    page,
    path,
    scale_bar,
    words,
)

Points = NDArray[np.float64]
PAPER = 60.0
"""Longest side of the drawing on paper. [mm]"""
SHOWN = 1.6
"""Length of limb that is drawn, in its heights."""
LEG = 4.0
"""Length of the bent end, in diameters of the wire, where the limb has room for it."""
LOOSE = 1.1
"""Width of the slot in diameters of the wire: it has to stop the wire from turning."""


def anchor_sizes(limb: Limb) -> tuple[float, float]:
    """Return the length of the bent end and the width of the slot. [m]

    Raises
    ------
    ValueError
        For a limb without a wire.
    """
    check_kind("limb", limb, Limb, "a Limb")
    if limb.wire is None:
        raise refuse("limb wire", "a Wire, to be anchored", None)
    across = limb.wire.bundle_diameter
    top = float(outline_ring(limb_at(limb, 0.0).middle_outline)[:, 1].max())
    room = top - limb.channel_offset[1]
    return min(LEG * across, room), LOOSE * across


def anchor_words(limb: Limb) -> str:
    """Say how the wire's end is held at the root."""
    leg, slot = anchor_sizes(limb)
    return (
        f"Bend the last {show_length(leg)} of the wire over at the root, square to it, or flatten "
        f"them, and lay them into a slot {show_length(slot)} wide in the root's end, from the "
        "channel up: then the wire cannot turn. Close the slot by the part that the root joins."
    )


def anchor_drawing(limb: Limb, *, name: str = "The wire's end at the root") -> str:
    """Return the root cut along its middle as inline SVG, to scale.

    Parameters
    ----------
    limb : Limb
        The limb with its wire.
    name : str
        Title, for a screen reader.

    Raises
    ------
    ValueError
        For a limb without a wire.
    """
    leg, slot = anchor_sizes(limb)
    title = checked_text("name", name)
    ring = outline_ring(limb_at(limb, 0.0).middle_outline)[:, 1]
    low, high, middle = float(ring.min()), float(ring.max()), limb.channel_offset[1]
    half = limb.wire.bundle_diameter / 2 if limb.wire is not None else 0.0
    hole = max(limb.channel_diameter / 2, LOOSE * half)
    end = SHOWN * (high - low)
    body = [(0.0, low), (end, low), (end, high), (0.0, high)]
    channel = [(0.0, middle - hole), (end, middle - hole), (end, middle + hole)]
    channel += [(slot, middle + hole), (slot, middle + leg), (0.0, middle + leg)]
    start = (slot - 2 * half) / 2
    wire = [(start, middle - half), (end, middle - half), (end, middle + half)]
    wire += [(start + 2 * half, middle + half), (start + 2 * half, middle + leg)]
    wire += [(start, middle + leg)]
    sheet = _sheet(end, low, high)
    notes = (f"bent end {show_length(leg)}", f"slot {show_length(slot)} wide")
    parts = [
        _filled(body, sheet, "0.15"),
        _filled(channel, sheet, "0"),
        _filled(wire, sheet, "0.6"),
        *(
            words(sheet.letter, sheet.height + (1.5 * row - 5.8) * sheet.letter, note, sheet.letter)
            for row, note in enumerate(notes)
        ),
        scale_bar(sheet.margin, sheet.height - 2.2 * sheet.letter, sheet.width / 3, sheet.scale,
                  sheet.letter),
    ]  # fmt: skip
    about = f"{title}: {'; '.join(notes)}."
    return page(sheet.width, sheet.height, title, about, "".join(parts))


def _sheet(length: float, low: float, high: float) -> Sheet:
    scale = fitting_scale(max(length, high - low), PAPER)
    wide, tall = length * 1e3 * scale, (high - low) * 1e3 * scale
    width = max(NARROWEST, wide * 1.15)
    letter = LETTER_SHARE * width
    return Sheet(
        corner=(0.0, high),
        scale=scale,
        margin=letter,
        letter=letter,
        width=width,
        height=tall + 9.0 * letter,
    )


def _filled(corners: list[tuple[float, float]], sheet: Sheet, opacity: str) -> str:
    drawn = path(sheet.place(np.array(corners)), closed=True)
    return (
        f'<path d="{drawn}" fill="currentColor" fill-opacity="{opacity}" stroke="currentColor" '
        'stroke-width="0.4"/>'
    )
