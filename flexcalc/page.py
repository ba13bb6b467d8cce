"""The limb page: ask, compute, show."""

from __future__ import annotations

import streamlit as st

from data.page.fields import Fields
from flexcalc.form import PRESETS
from flexcalc.page_ask import NOT_A_TOY, ask_limb, ask_start, limb_fields, typed_plan


def show_limb_page() -> None:
    """Show the page on which a limb is described, posed and judged."""
    st.title("Will the limb hold its pose?")
    st.markdown(
        "Start from one of the limbs below, change what is yours and read the verdict; the demo is "
        "the neck of a marsh heron with a resin fish in its beak (invented). Every field takes mm, "
        "inches and gauges. What to do next stands on the page **Start**."
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
    from flexcalc.page_answers import show_answers, show_first

    # The drawing goes to the browser before the many fields, so that it follows a change at once.
    with answers:
        before = typed_plan()
        first = show_first(before) if before else None
    with questions:
        plan = ask_limb(fields)
    with answers:
        if plan is None:
            st.error("Correct the field marked at the left; what you typed is kept.")
            return
        if before is None:  # a link named what cannot be chosen, and the field has another now
            first = show_first(plan)
        if first is not None:
            show_answers(fields, plan, first)
    _show_links(fields)


def _show_links(fields: Fields) -> None:
    """Show links that open this limb, and each starting point, on any machine with this page."""
    with st.expander("Links to this limb and to the starting points"):
        here = (st.context.url or "").split("?")[0]
        st.code(f"{here}?{fields.query(fields.form())}", language=None, wrap_lines=True)
        starts = [f"[{name}](?{fields.query(changes)})" for name, changes in PRESETS.items()]
        st.markdown("Starting points: " + " · ".join(starts))
