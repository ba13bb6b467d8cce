"""A strip of one mix: printed, dyed with more and more coats, and read again as it dries."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import streamlit as st

from data.page.show import show_table, square
from tinting.colour.difference import delta_e
from tinting.colour.spectrum import hex_from_lab
from tinting.learn.learned import row_words
from tinting.learn.repeats import MeanSwatch, drying_words
from tinting.paper.report import lab_words

PROTOCOL = """
1. Print the strip in the filament, the colour and with the settings of the limb. Tie a tag with
   the date, the mix and the bottle's lot through its hole.
2. Leave the field at the hole bare, lay 1, 2, 3 and 5 coats of one mix on the others.
3. **Today**, 30 minutes after the last coat: read all five fields in one photo, and log them.
4. **Tomorrow** and **after a week**: read them again the same way, with the minutes they dried.
   The log takes them as one series; the last reading counts.
5. **Bent**: bend a field round a finger ten times and read the outside of the bend; note "bent".
6. **Half covered**: keep half of a field under foil in a window for a month and read both halves;
   the difference is how this dye fades. Note "faded" and leave that row out of fits.
"""
KINDS = {"stl": "model/stl", "3mf": "model/3mf"}


def show_strip(make: Callable[[str], bytes] | None) -> None:
    """Say how a strip is dyed and read, and offer its file where ``make`` can make one."""
    st.markdown(PROTOCOL)
    if make is None:
        return
    with st.container(horizontal=True, horizontal_alignment="left"):
        for kind, mime in KINDS.items():
            st.download_button(
                f"Strip of five fields as {kind.upper()}",
                partial(make, kind),
                file_name=f"swatch strip.{kind}",
                mime=mime,
                key=f"log_strip_{kind}",
                on_click="ignore",
            )


def show_series(series: Sequence[MeanSwatch]) -> None:
    """Show how pieces that were read again drifted from their first reading."""
    rows = []
    for piece in series:
        first = piece.series[0][1]
        for dried, lab in piece.series:
            rows.append(
                (
                    row_words(piece) if lab is first else "",
                    drying_words(dried),
                    square(hex_from_lab(lab), f"after {drying_words(dried)}"),
                    lab_words(lab),
                    f"{float(delta_e(first, lab)):.1f}",
                )
            )
    show_table(
        ("Piece", "Dried for", "", "L*a*b*", "ΔE00 from the first"),
        rows,
        "Series of one piece; fits go by the last reading",
    )
