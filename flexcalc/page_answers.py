"""Compute a limb's answers once and show them, the drawing first."""

from __future__ import annotations

import streamlit as st

from flexcalc.page_show import (
    show_cautions,
    show_channel,
    show_checks,
    show_drawing,
    show_life,
    show_over_time,
    show_section,
    show_verdict,
)
from flexcalc.plan import LimbPlan
from flexcalc.verdict import Verdict, assess


@st.cache_data(max_entries=200, show_spinner=False)
def _verdict(_plan: LimbPlan, key: str) -> Verdict:
    return assess(
        _plan.limb,
        _plan.setting,
        wish=_plan.wish,
        printer=_plan.printer,
        orientation=_plan.orientation,
    )


def show_answers(plan: LimbPlan) -> None:
    """Show everything that is known about a limb, or why it cannot be worked out."""
    try:
        verdict = _verdict(plan, repr(plan))
    except (ValueError, RuntimeError) as error:
        st.error(f"This limb could not be worked out: {error}")
        return
    show_verdict(verdict)
    show_drawing(plan, verdict)
    show_cautions(verdict.pose.cautions + verdict.kink.cautions)
    show_checks(verdict.checks)
    with st.expander("How the pose changes with time"):
        show_over_time(plan, verdict)
    with st.expander("Cross-section and stiffness"):
        show_section(plan)
    with st.expander("Channel to draw", expanded=True):
        show_channel(verdict)
    with st.expander("Life of the wire"):
        show_life(verdict)
