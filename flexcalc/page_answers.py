"""Compute a limb's answers once and show them, the drawing first."""

from __future__ import annotations

import streamlit as st

from data.fields import Fields
from data.folder import StoreError
from flexcalc.asked import likely_poses, verdict_on
from flexcalc.inputs import Metal
from flexcalc.materials import load_metal, metal_names
from flexcalc.own import own_metals
from flexcalc.page_more import show_corners, show_life, show_over_bend, show_working
from flexcalc.page_show import (
    announce,
    band_words,
    show_cautions,
    show_channel,
    show_checks,
    show_drawing,
    show_likelihood,
    show_over_time,
    show_section,
    show_verdict,
)
from flexcalc.page_wires import show_wires
from flexcalc.plan import LimbPlan
from flexcalc.sample import PoseSample
from flexcalc.verdict import Verdict


@st.cache_data(max_entries=200, show_spinner=False)
def _verdict(_plan: LimbPlan, key: str) -> Verdict:
    return verdict_on(_plan)


@st.cache_data(max_entries=200, show_spinner=False)
def _sample(_plan: LimbPlan, key: str) -> PoseSample:
    return likely_poses(_plan)


def show_answers(fields: Fields, plan: LimbPlan) -> None:
    """Show everything that is known about a limb, or why it cannot be worked out.

    The answer without a band comes first, so that the drawing follows a change at once; the
    likely outcomes take its place as soon as they are known.
    """
    key = repr(plan)
    try:
        verdict = _verdict(plan, key)
    except (ValueError, RuntimeError) as error:
        st.error(f"This limb could not be worked out: {error}")
        return
    announce(verdict.sentence)
    # Each is replaced where it stands: a drawing taken away and put back would flicker, and a
    # status that comes and goes is not read aloud.
    said = show_verdict(st, verdict, "The likely band is being worked out …")
    drawn = show_drawing(st, plan, verdict)
    try:
        sample = _sample(plan, key)
    except (ValueError, RuntimeError) as error:
        said.error(f"The likely band of this limb could not be worked out: {error}")
        return
    show_verdict(said, verdict, band_words(sample))
    show_drawing(drawn, plan, verdict, [line.positions for line in sample.fan])
    show_likelihood(sample, plan)
    show_cautions(verdict.pose.cautions + verdict.kink.cautions)
    show_checks(verdict.checks)
    with st.expander("Which wire holds it"):
        show_wires(fields, plan, _metals())
    with st.expander("How the pose changes with time"):
        show_over_time(plan, verdict)
    with st.expander("Cross-section and stiffness"):
        show_section(plan)
    with st.expander("Channel to draw", expanded=True):
        show_channel(verdict)
    with st.expander("Bend further so that it stays"):
        show_over_bend(plan)
    with st.expander("Life of the wire"):
        show_life(plan, verdict)
    with st.expander("Corner pieces for bends that are too tight"):
        show_corners(plan, verdict)
    with st.expander("How this is worked out"):
        show_working(plan, verdict)


def _metals() -> list[Metal]:
    """Return the tabled metals and the maker's own; a folder that cannot be read has none."""
    try:
        own = list(own_metals().values())
    except StoreError:
        own = []
    return [load_metal(name) for name in metal_names()] + own
