"""Compute a limb's answers once and show them, the drawing first."""

from __future__ import annotations

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from flexcalc.page_more import show_corners, show_over_bend, show_working
from flexcalc.page_show import (
    band_words,
    show_cautions,
    show_channel,
    show_checks,
    show_drawing,
    show_life,
    show_likelihood,
    show_over_time,
    show_section,
    show_verdict,
)
from flexcalc.plan import LimbPlan
from flexcalc.sample import PoseSample, sample_pose
from flexcalc.verdict import Verdict, assess

SAMPLES = 1024
"""Likely outcomes drawn for a page: enough for a band, few enough not to wait for."""


@st.cache_data(max_entries=200, show_spinner=False)
def _verdict(_plan: LimbPlan, key: str) -> Verdict:
    return assess(
        _plan.limb,
        _plan.setting,
        wish=_plan.wish,
        printer=_plan.printer,
        orientation=_plan.orientation,
    )


@st.cache_data(max_entries=200, show_spinner=False)
def _sample(_plan: LimbPlan, key: str) -> PoseSample:
    return sample_pose(
        _plan.limb,
        _plan.setting,
        samples=SAMPLES,
        wanted_share=_plan.wish.share,
        sag_limit=_plan.wish.sag,
        printer=_plan.printer,
    )


def show_answers(plan: LimbPlan) -> None:
    """Show everything that is known about a limb, or why it cannot be worked out.

    The answer without a band comes first, so that the drawing follows a change at once; the
    likely outcomes take its place as soon as they are known.
    """
    key = repr(plan)
    top = st.empty()
    try:
        verdict = _verdict(plan, key)
        _show_top(top, plan, verdict, None)
        _show_top(top, plan, verdict, _sample(plan, key))
    except (ValueError, RuntimeError) as error:
        top.error(f"This limb could not be worked out: {error}")
        return
    show_likelihood(_sample(plan, key), plan)
    show_cautions(verdict.pose.cautions + verdict.kink.cautions)
    show_checks(verdict.checks)
    with st.expander("How the pose changes with time"):
        show_over_time(plan, verdict)
    with st.expander("Cross-section and stiffness"):
        show_section(plan)
    with st.expander("Channel to draw", expanded=True):
        show_channel(verdict)
    with st.expander("Bend further so that it stays"):
        show_over_bend(plan)
    with st.expander("Life of the wire"):
        show_life(verdict)
    with st.expander("Corner pieces for bends that are too tight"):
        show_corners(plan, verdict)
    with st.expander("How this is worked out"):
        show_working(plan, verdict)


def _show_top(
    top: DeltaGenerator, plan: LimbPlan, verdict: Verdict, sample: PoseSample | None
) -> None:
    with top.container():
        show_verdict(verdict, band_words(sample) if sample else "")
        show_drawing(plan, verdict, [line.positions for line in sample.fan] if sample else ())
