"""What would make the limb hold: each change as a bar and a button, worked out once one is idle."""

from __future__ import annotations

import html
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.show import plain_text
from data.page.units import words
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.forms.texts import form_from_plan
from flexcalc.limb.trade import METRIC, trade_size
from flexcalc.paper.answers import remedies_for
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.remedy import Remedy
from flexcalc.verdict.verdict import Verdict

IDLE = 1.0
"""A limb that has stood still for so long is looked at. [s]"""
ASKED = "limb_remedies_asked"
STYLE = (
    "position:relative;height:.8rem;border:1px solid currentColor;border-radius:3px;"
    "forced-color-adjust:none"
)
WORKER = ThreadPoolExecutor(max_workers=1, thread_name_prefix="remedies")
Asked = tuple[LimbPlan, "Future[tuple[Remedy, ...]] | None"]


def show_remedies(fields: PageFields, plan: LimbPlan, verdict: Verdict) -> None:
    """Show what would make a limb hold; nothing for one that does."""
    if verdict.likely.probability >= plan.wish.probability:
        return
    st.markdown("## What would make it hold")
    found = _found(plan)
    if found is None:
        st.fragment(_await, run_every=IDLE)(plan)
    elif not found:
        st.markdown("No single change of wire, print or handling does: try a wider bend.")
    else:
        for number, remedy in enumerate(found):
            _show(fields, plan, remedy, number)


def _found(plan: LimbPlan) -> tuple[Remedy, ...] | None:
    """Return the remedies of a plan, None until they are worked out."""
    asked: Asked | None = st.session_state.get(ASKED)
    if asked is None or asked[0] != plan:
        if asked is not None and asked[1] is not None:
            asked[1].cancel()
        st.session_state[ASKED] = (plan, None)
        return None
    if asked[1] is None or not asked[1].done():
        return None
    try:
        return asked[1].result()
    except (ValueError, RuntimeError):
        return ()


def _await(plan: LimbPlan) -> None:
    """Ask once the limb has stood still, and draw the page anew when the answer is there."""
    st.markdown("<small>Trying wires, prints and ways to bend …</small>", unsafe_allow_html=True)
    asked: Asked = st.session_state.get(ASKED, (plan, None))
    if asked[0] != plan:
        return
    if asked[1] is None:
        if st.session_state.get("limb_remedies_seen") == plan:
            st.session_state[ASKED] = (plan, WORKER.submit(remedies_for, plan))
        st.session_state["limb_remedies_seen"] = plan
    elif asked[1].done():
        st.rerun()


def _show(fields: PageFields, plan: LimbPlan, remedy: Remedy, number: int) -> None:
    told, button = st.columns([4, 1], vertical_alignment="center", wrap=False)
    band = remedy.band
    low, most = 100 * max(band.low, 0.0), 100 * min(band.high, 1.0)
    with told:
        sign = "✓" if remedy.holds else "↑"
        said = (
            f"keeps {remedy.share:.0%} ({band.low:.0%} to {band.high:.0%}), "
            f"{remedy.probability:.0%} likely to hold"
        )
        st.markdown(
            f"<div>{sign} <b>{html.escape(words(remedy.title))}</b>: {said}</div>"
            f'<div aria-hidden="true" style="{STYLE}"><span style="position:absolute;top:35%;'
            f"bottom:35%;left:{low:.0f}%;right:{100 - most:.0f}%;"
            f'background:#0b5cad"></span><i style="position:absolute;top:0;bottom:0;'
            f'left:{100 * max(min(remedy.share, 1), 0):.0f}%;border-left:3px solid"></i></div>',
            unsafe_allow_html=True,
        )
    form = adopted_form(fields.form(), plan, remedy)
    with button:
        st.button(
            "Adopt",
            key=f"limb_adopt{number}",
            help=plain_text(words(remedy.title)),
            on_click=fields.put,
            args=(form or {},),
            disabled=form is None,
        )


def adopted_form(form: dict[str, str], plan: LimbPlan, remedy: Remedy) -> dict[str, str] | None:
    """Return what is typed so that the form asks for the plan of a remedy; None if none does.

    What a remedy leaves as it is stays as it was typed.
    """
    wanted = replace(plan, limb=remedy.limb, setting=remedy.setting)
    try:
        before, after = form_from_plan(plan), form_from_plan(wanted)
        changed = {key: text for key, text in after.items() if text != before[key]}
        if "wire" in changed and remedy.limb.wire is not None:
            size = trade_size(remedy.limb.wire)
            changed["wire"] = changed["wire"] if size.system == METRIC else size.name
        made = plan_from_form({**form, **changed}, plan.name)
    except (ValueError, RefusedFieldsError):
        return None
    return changed if (made.limb, made.setting) == (wanted.limb, wanted.setting) else None
