"""The limb page: ask, compute, show."""

from __future__ import annotations

import streamlit as st

from flexcalc.page_ask import ask_limb, ask_start, limb_fields, typed_plan

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)


def show_limb_page() -> None:
    """Show the page on which a limb is described, posed and judged."""
    st.title("Will the limb hold its pose?")
    st.markdown(
        "Describe the limb, its wire and the pose; the demo is the neck of a marsh heron with a "
        "resin fish in its beak (invented). Every field takes mm, inches and gauges."
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
