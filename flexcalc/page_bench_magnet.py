"""The magnet in a hand: its pull through the skin, what it bears, and its cautions."""

from __future__ import annotations

import streamlit as st

from flexcalc.benchform_magnet import MagnetQuestion
from flexcalc.magnet import magnet_hold, magnet_pull
from flexcalc.page_show import announce, show_cautions, show_table

WORDS = {"yes": st.success, "perhaps": st.warning, "no": st.error}


def show_magnet(question: MagnetQuestion) -> None:
    """Show what a magnet holds; ValueError for what cannot be worked out."""
    pull = magnet_pull(
        question.diameter,
        question.thickness,
        question.remanence,
        question.gap,
        question.partner,
    )
    hold = magnet_hold(pull, question.diameter, question.payload, question.arm)
    answer = {"yes": "It holds", "perhaps": "It may hold", "no": "It does not hold"}[hold.holds]
    sentence = f"{answer} {question.payload * 1e3:.0f} g; what gives way first: {hold.weakest}."
    announce(sentence)
    WORDS[hold.holds](sentence)
    show_table(
        ("", "Value"),
        [
            ("Pull, ideal", f"{pull:.2f} N"),
            ("Pull of real magnets", f"{hold.pull_low:.2f} to {hold.pull_high:.2f} N"),
            ("Bears hung straight down", f"{hold.payload_pull * 1e3:.0f} g"),
            ("Bears on an upright face before it slides", f"{hold.payload_slide * 1e3:.0f} g"),
            ("Bears at this arm before it peels off", f"{hold.payload_peel * 1e3:.0f} g"),
        ],
        "What the magnet bears, by the weakest real ones",
    )
    show_cautions(hold.cautions)
