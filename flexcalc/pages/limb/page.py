"""The limb page: the answer and the board stay in sight, the fields beside them, details below."""

from __future__ import annotations

from typing import NamedTuple

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.page.answer import BAR_STYLE, in_sight
from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import HEADINGS, announce, plain_text
from data.page.units import words
from flexcalc.forms.limb_form import BEND_ROWS, DEFAULTS, plan_from_form
from flexcalc.pages.limb.ask import ask_limb, is_typed, limb_fields
from flexcalc.pages.limb.starts import show_starts
from flexcalc.verdict.plan import LimbPlan

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)
GOOD = "limb_last_good"
"""Form of the last limb that could be worked out: it stays in sight while a field is refused."""
LAST = "limb_last_said"
STYLE = (
    in_sight("limb_left", "limb_answer")
    + """<style>
:root { --board-height: 40vh; }
.st-key-limb_answer { gap: .4rem; }
@media (min-width: 641px) {
  .st-key-limb_left { gap: .5rem; max-height: calc(100vh - 4.25rem); overflow-y: auto; }
}
@media (max-width: 640px) {
  :root { --board-height: 18vh; }
  .st-key-limb_answer { gap: .1rem; }
  .st-key-limb_answer .legend, .st-key-limb_answer .limits { display: none; }
}
</style>"""
)


class Shown(NamedTuple):
    """Where the parts of the answer stand that are shown before the probability is known."""

    said: DeltaGenerator
    likely: DeltaGenerator
    legend: DeltaGenerator
    limits: DeltaGenerator
    aloud: DeltaGenerator


def show_limb_page() -> None:
    """Show the page on which a limb is described, posed and assessed."""
    from flexcalc.pages.limb import board, headline

    st.html(HEADINGS + STYLE + BAR_STYLE + board.STYLE + headline.STYLE)
    st.markdown("# Will the limb hold its pose?")
    _ask_and_show()
    st.info(NOT_A_TOY)


@st.fragment
@guarded
def _ask_and_show() -> None:
    fields = limb_fields()
    fields.link()
    _show_start(fields)
    left, right = st.columns(2, gap="large")
    form = fields.form()
    before = _plan_in_sight(form)
    # The board goes to the browser before the many fields, so that it follows a change at once.
    with left, st.container(key="limb_left"):
        shown = _show_first(fields, before) if before else None
        beside = st.container()
    with right:
        plan = ask_limb(fields)
    if plan is None:
        with beside:
            st.error("Correct the field that is marked; the answer is to the limb before.")
    else:
        st.session_state[GOOD] = dict(fields.form())
    if plan is not None and before is None:
        with left:
            shown = _show_first(fields, plan)
            beside = st.container()
    answered = plan or before
    if answered is not None and shown is not None:
        with right:
            below = st.container()
        _show_rest(fields, answered, shown, beside, below)


def _plan_in_sight(form: dict[str, str]) -> LimbPlan | None:
    """Return the limb that is typed, else the last that could be read."""
    for known in (form, st.session_state.get(GOOD, DEFAULTS)):
        try:
            return plan_from_form(known)
        except RefusedFieldsError:
            continue
    return None


def _show_start(fields: PageFields) -> None:
    """Show undo and redo, and the starting points behind a button."""
    with st.container(horizontal=True, horizontal_alignment="left", vertical_alignment="center"):
        fields.undo_buttons()
        fold = st.popover("Start from …", key="limb_starts", on_change="rerun")
        if fold.open:
            with fold:
                show_starts("limb_preset", _start_from)
        free = [row for row in range(1, BEND_ROWS + 1) if not is_typed(fields.form(), row)]
        st.button("Add a bend", key="limb_add", on_click=_add_bend, disabled=not free)


def _start_from(form: dict[str, str]) -> None:
    st.session_state["limb_starts"] = False
    limb_fields().put(form)


def _add_bend() -> None:
    from flexcalc.pages.limb.board import add_bend

    add_bend(limb_fields())


def _show_first(fields: PageFields, plan: LimbPlan) -> Shown | None:
    """Show the board with what is known of the limb at once; None where nothing is."""
    from flexcalc.pages.limb.board import show_board
    from flexcalc.pages.limb.headline import quick_words, show_quick
    from flexcalc.paper.answers import pose_of

    with st.container(key="limb_answer"):
        said = st.empty()
        try:
            pose = pose_of(plan)
        except (ValueError, RuntimeError) as error:
            said.error(f"This limb could not be worked out: {plain_text(words(str(error)))}")
            return None
        if st.session_state.get("limb_answered") != plan:
            show_quick(said, pose, st.session_state.get(LAST))
        with st.container(key="limb_stage"):
            likely = st.empty()
            board = show_board(fields, plan, pose, quick_words(pose))
        st.session_state["limb_shown_board"] = board
        return Shown(said, likely, st.empty(), st.empty(), st.container())


def _show_rest(
    fields: PageFields,
    plan: LimbPlan,
    shown: Shown,
    beside: DeltaGenerator,
    below: DeltaGenerator,
) -> None:
    """Show the probability and everything that is worked out after the board."""
    from flexcalc.pages.limb.answers import show_below, show_beside
    from flexcalc.pages.limb.board import show_legend, show_likely
    from flexcalc.pages.limb.headline import band_words, show_found, show_limits
    from flexcalc.paper.answers import verdict_on

    try:
        verdict = verdict_on(plan)
    except (ValueError, RuntimeError) as error:
        shown.said.error(f"This limb could not be worked out: {plain_text(words(str(error)))}")
        return
    st.session_state[LAST] = show_found(shown.said, verdict)
    with shown.aloud:
        announce(f"{verdict.sentence} {band_words(verdict.likely)}")
    st.session_state["limb_answered"] = plan
    show_likely(shown.likely, st.session_state["limb_shown_board"], plan, verdict)
    with shown.legend.container():
        show_legend(plan, verdict)
    with shown.limits.container():
        show_limits(verdict, plan.wish)
    with beside:
        show_beside(fields, plan, verdict)
    with below:
        show_below(fields, plan, verdict)
