"""The tint page: ask, compute, show."""

from __future__ import annotations

import streamlit as st

from tinting.page_ask import ask_start, ask_tint, choices_now, tint_fields

NOT_A_TOY = (
    "Alcohol burns and its vapour can ignite: no flame, gloves, open window. Not for toys, skin "
    "or food. Local rules and the dye's safety data sheet come first."
)


def show_tint_page(limb_area: float = 0.0) -> None:
    """Show the page on which a tint is planned; ``limb_area`` [m2] is the typed limb's surface."""
    st.title("What colour will the tint be?")
    st.markdown(
        "Describe the printed part, the dye and the coats; the demo is reed green on the off-white "
        "TPU of a marsh heron (invented). Dye only takes light away, so a tint is never lighter "
        "than its base."
    )
    _workbench(limb_area)
    st.info(NOT_A_TOY)


@st.fragment
def _workbench(limb_area: float) -> None:
    fields = tint_fields()
    ask_start(fields)
    questions, answers = st.columns([2, 3], gap="large")
    with questions:
        choices, cautions = choices_now()
        for caution in cautions:
            st.error(caution.text)
        plan = ask_tint(fields, choices, limb_area)
    with answers:
        if plan is None:
            st.error("Correct the field marked at the left; what you typed is kept.")
            return
        from tinting.page_answers import show_answers

        show_answers(fields, plan, choices)
