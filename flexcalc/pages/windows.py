"""Beside each bench test: which readings do for the limb typed, go or no-go, and what to change."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from data.page.show import announce, plain_text
from data.page.units import words
from flexcalc.bench.readings import Reading
from flexcalc.paper.answers import windows_for
from flexcalc.verdict.acceptance import side_of
from flexcalc.verdict.plan import LimbPlan

ASKED = "bench_windows"
UNUSUAL = "Hardly any limb reads so: read again, and check that it is the material it is taken for."


def ask_windows(plan: LimbPlan | None) -> None:
    """Ask whether windows are to be worked out for the limb typed."""
    if plan is None or plan.limb.wire is None or not plan.setting.bends:
        return
    st.toggle(
        "Say beside each test which readings do for the limb typed on the page Limb (takes some "
        "seconds)",
        key=ASKED,
        persist_state="session",
    )
    if st.session_state.get(ASKED):
        with st.spinner("Reading every test in a thousand likely limbs …"):
            found = windows_for(plan)
        st.markdown(plain_text(words(found.sentence)))


def show_window(plan: LimbPlan | None, key: str, readings: Sequence[Reading] = ()) -> None:
    """Show the window of a test, and whether readings lie in it."""
    if plan is None or not st.session_state.get(ASKED) or plan.limb.wire is None:
        return
    if not plan.setting.bends:
        return
    found = [window for window in windows_for(plan).windows if window.key == key]
    for window in found:
        st.info(f"**Go:** {plain_text(words(window.sentence))}")
        sides = {side_of(window, each, plan.limb, plan.setting) for each in readings}
        if not sides:
            continue
        if sides == {"inside"}:
            announce("Go: the reading lies in the window.")
            st.success("Go: the reading lies in the window.")
            continue
        if sides <= {"inside", "unusual"}:
            announce(UNUSUAL)
            st.warning(UNUSUAL)
            continue
        cure = window.below if "below" in sides else window.above
        text = f"No go: the reading lies outside. {cure[:1].upper()}{cure[1:]}".rstrip()
        announce(text)
        st.error(plain_text(words(text)))
