"""Compute a limb's answers once and show them, the drawing first."""

from __future__ import annotations

from typing import NamedTuple

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.page.fields import Fields
from data.store.folder import StoreError
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
from flexcalc.verdict import Verdict

AWAITED = "The likely band is being worked out …"


class First(NamedTuple):
    """The answer without a band, and where its sentence and its drawing stand."""

    verdict: Verdict
    said: DeltaGenerator
    drawn: DeltaGenerator


def show_first(plan: LimbPlan, band: str = AWAITED) -> First | None:
    """Show the verdict and the drawing; None after saying why there are none.

    ``band`` stands for the likely band, which takes longer.
    """
    try:
        verdict = verdict_on(plan)
    except (ValueError, RuntimeError) as error:
        st.error(f"This limb could not be worked out: {error}")
        return None
    announce(verdict.sentence)
    said = show_verdict(st, verdict, band)
    return First(verdict, said, show_drawing(st, plan, verdict))


def show_answers(fields: Fields, plan: LimbPlan, first: First) -> None:
    """Show everything else that is known about a limb, or why it cannot be worked out.

    Sentence and drawing are replaced where they stand as soon as the likely outcomes are known: a
    drawing taken away and put back would flicker, and a status that comes and goes is not read.
    """
    verdict = first.verdict
    try:
        sample = likely_poses(plan)
    except (ValueError, RuntimeError) as error:
        first.said.error(f"The likely band of this limb could not be worked out: {error}")
        return
    show_verdict(first.said, verdict, band_words(sample))
    show_drawing(first.drawn, plan, verdict, [line.positions for line in sample.fan])
    show_likelihood(sample, plan)
    told = (*sample.cautions, *verdict.pose.cautions, *verdict.kink.cautions)
    show_cautions(list({caution.key: caution for caution in told}.values()))
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
