"""Keep a limb as A, and see the limb typed now beside it."""

from __future__ import annotations

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.show import plain_text, show_table
from data.page.units import length_words, mm_in_a_unit, words
from flexcalc.forms.limb_form import FIELDS, plan_from_form
from flexcalc.paper.answers import pose_of, verdict_on
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

KEPT = "limb_kept_as_a"


def show_compared(fields: PageFields, plan: LimbPlan, verdict: Verdict) -> None:
    """Offer to keep the limb as A, and show A beside the limb typed now."""
    form, kept = fields.form(), st.session_state.get(KEPT)
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button("Keep this as A", key="limb_keep", on_click=_keep, args=(form,))
        if kept:
            st.button("Back to A", key="limb_back", on_click=fields.put, args=(kept,))
            st.button("Forget A", key="limb_forget", on_click=_keep, args=(None,))
    if not kept or kept == form:
        return
    try:
        other = plan_from_form(kept, "A")
        rows = _rows(verdict_on(other), verdict)
    except (RefusedFieldsError, ValueError, RuntimeError) as error:
        st.error(f"A could not be worked out: {plain_text(str(error))}")
        return
    changed = [
        (FIELDS[key].label, kept[key] or "–", form[key] or "–")
        for key in form
        if kept.get(key, "") != form[key] and key in FIELDS
    ]
    show_table(("", "A", "now"), [*changed, *rows], "A and the limb typed now")
    _show_both(other, plan)


def _keep(form: dict[str, str] | None) -> None:
    st.session_state[KEPT] = form


def _rows(one: Verdict, other: Verdict) -> list[tuple[str, str, str]]:
    """Return what is asked of a limb, for two of them."""
    found = []
    for verdict in (one, other):
        likely, band = verdict.likely, verdict.likely.worst_share
        found.append(
            (
                f"{likely.probability:.0%}",
                f"{band.median:.0%} ({band.low:.0%} to {band.high:.0%})",
                length_words(likely.tip_sag.median),
                length_words(verdict.kink.radius),
                f"{verdict.life[0].low:.0f}" if verdict.life else "–",
            )
        )
    titles = (
        "Likely to hold",
        "Keeps of the bend",
        "Tip sags",
        "Kinks below",
        "Re-poses, at least",
    )
    return [(title, *pair) for title, *pair in zip(titles, *found, strict=True)]


def _show_both(one: LimbPlan, other: LimbPlan) -> None:
    from flexcalc.paper.pictures.board import board_drawing

    for column, plan, name in zip(st.columns(2), (one, other), ("A", "now"), strict=True):
        with column:
            board = board_drawing(
                plan.limb,
                plan.setting,
                pose_of(plan),
                name=name,
                summary=name,
                per=mm_in_a_unit()[0],
            )
            st.markdown(
                f'<div style="max-width:24rem">{words(board.svg)}</div>{name}',
                unsafe_allow_html=True,
            )
