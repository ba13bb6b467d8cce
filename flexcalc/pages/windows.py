"""Beside each bench test: which readings do for the limb typed, go or no-go, and what to change."""

from __future__ import annotations

import math
from collections.abc import Sequence

import streamlit as st

from data.page.show import announce, plain_text
from flexcalc.bench.droop import printed_modulus
from flexcalc.bench.readings import Droop, KinkTest, PinGauge, Reading
from flexcalc.build.solids import STRIP
from flexcalc.limb.inputs import Elastomer
from flexcalc.limb.outline import RoundedRectangle
from flexcalc.paper.answers import windows_for
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.window import Window

ASKED = "bench_windows"
READ_AFTER = 10.0
"""When the strip of a window is read. [s]"""


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
        st.markdown(plain_text(windows_for(plan).sentence))


def show_window(plan: LimbPlan | None, key: str, readings: Sequence[Reading] = ()) -> None:
    """Show the window of a test, and whether readings lie in it."""
    if plan is None or not st.session_state.get(ASKED) or plan.limb.wire is None:
        return
    if not plan.setting.bends:
        return
    found = [window for window in windows_for(plan).windows if window.key == key]
    for window in found:
        st.info(f"**Go:** {plain_text(window.sentence)}")
        sides = {_side(window, each, plan.limb.elastomer) for each in readings} - {None}
        if not sides:
            continue
        if sides == {"inside"}:
            announce("Go: the reading lies in the window.")
            st.success("Go: the reading lies in the window.")
            continue
        cure = window.below if "below" in sides else window.above
        text = f"No go: the reading lies outside. {cure[:1].upper()}{cure[1:]}".rstrip()
        announce(text)
        st.error(plain_text(text))


def _side(window: Window, reading: Reading, elastomer: Elastomer) -> str | None:
    """Return on which side of a window a reading lies, None where the two cannot be compared."""
    if isinstance(reading, Droop):
        return _side_of(window, _drop_of_strip(window, reading, elastomer))
    if isinstance(reading, KinkTest):
        return _side_of(window, (reading.held_diameter + reading.kinked_diameter) / 2)
    if isinstance(reading, PinGauge) and math.isfinite(window.low + window.high):
        # the hole whose size as drawn is nearest to the one that the window speaks of
        wanted = (window.low + window.high) / 2
        pairs = zip(reading.drawn_diameters, reading.pins, strict=True)
        _, pin = min(pairs, key=lambda pair: abs(pair[0] - wanted))
        return _side_of(window, pin)
    return None


def _side_of(window: Window, value: float) -> str:
    if value < window.low:
        return "below"
    return "above" if value > window.high else "inside"


def _drop_of_strip(window: Window, reading: Droop, elastomer: Elastomer) -> float:
    """Return the window's edge, or a place inside it, that the reading's modulus lies at. [m]

    A strip of another size or read at another time is compared by its modulus.
    """
    modulus = printed_modulus(reading, elastomer).value
    if math.isfinite(window.low) and modulus > _modulus_at(window.low, elastomer):
        return -math.inf
    if math.isfinite(window.high) and modulus < _modulus_at(window.high, elastomer):
        return math.inf
    low = window.low if math.isfinite(window.low) else 0.0
    return low if not math.isfinite(window.high) else (low + window.high) / 2


def _modulus_at(drop: float, elastomer: Elastomer) -> float:
    length, width, thickness = STRIP
    outline = RoundedRectangle(width=width, height=thickness, corner_radius=0.0)
    droop = Droop(length=length, drop=drop, outline=outline, time=READ_AFTER)
    return printed_modulus(droop, elastomer).value
