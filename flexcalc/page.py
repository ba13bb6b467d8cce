"""The limb page: ask, compute, show."""

from __future__ import annotations

import streamlit as st

from data.fields import Fields
from flexcalc.form import PRESETS
from flexcalc.page_ask import ask_limb, ask_start, limb_fields, typed_plan

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)


def show_limb_page() -> None:
    """Show the page on which a limb is described, posed and judged."""
    st.title("Will the limb hold its pose?")
    st.markdown(
        "Start from one of the limbs below, change what is yours and read the verdict; the demo is "
        "the neck of a marsh heron with a resin fish in its beak (invented). Then measure what it "
        "asks for on the page **Bench**, plan the colour on **Tint**, and gather limbs and tint on "
        "**Figure** for a design file and a sheet to build from. Every field takes mm, inches and "
        "gauges."
    )
    _workbench()
    st.info(NOT_A_TOY)


def typed_surface_area() -> float:
    """Return the outer surface of the limb that is typed now, 0 while it is refused. [m2]"""
    from flexcalc.section import surface_area

    plan = typed_plan()
    return surface_area(plan.limb) if plan else 0.0


@st.fragment
def _workbench() -> None:
    fields = limb_fields()
    ask_start(fields)
    questions, answers = st.columns([2, 3], gap="large")
    with questions:
        plan = ask_limb(fields)
    with answers:
        if plan is None:
            st.error("Correct the field marked at the left; what you typed is kept.")
            return
        from flexcalc.page_answers import show_answers

        show_answers(fields, plan)
    _show_links(fields)


def _show_links(fields: Fields) -> None:
    """Show links that open this limb, and each starting point, on any machine with this page."""
    with st.expander("Links to this limb and to the starting points"):
        here = (st.context.url or "").split("?")[0]
        st.code(f"{here}?{fields.query(fields.form())}", language=None, wrap_lines=True)
        starts = [f"[{name}](?{fields.query(changes)})" for name, changes in PRESETS.items()]
        st.markdown("Starting points: " + " · ".join(starts))
