"""The limb page: the answer and the board stay in sight, the fields beside them, details below."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.page.answer import BAR_STYLE, in_sight
from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import announce, plain_text
from data.page.units import words
from flexcalc.forms.limb_form import BEND_KEYS, BEND_ROWS, DEFAULTS, plan_from_form
from flexcalc.pages.limb.ask import ask_limb, is_typed, limb_fields, start_from
from flexcalc.pages.limb.starts import show_starts
from flexcalc.pose.pose import Pose
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

if TYPE_CHECKING:
    from flexcalc.paper.pictures.board import Board

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)
GOOD = "limb_last_good"
"""Form of the last limb that could be read: it stays in sight while a field is refused."""
LAST, FAN = "limb_last_said", "limb_last_fan"
"""What was said of the limb before, and its likely outcomes: in sight until the next are known."""
STYLE = (
    in_sight("limb_left", "limb_answer")
    + """<style>
:root { --board-height: 40vh; --two-views: 1.35; }
.st-key-limb_answer { gap: .4rem; }
@media (min-width: 641px) {
  .st-key-limb_left { gap: .5rem; max-height: calc(100vh - 4.25rem); overflow-y: auto; }
}
@media (max-width: 640px) {
  :root { --board-height: 18vh; --two-views: 1.6; }
  .st-key-limb_answer { gap: .1rem; }
  .st-key-limb_stage { margin-top: .5rem; }
  .st-key-limb_answer .legend, .st-key-limb_answer .limits { display: none; }
}
</style>"""
)
ABOVE = "limb_seen_from_above"
"""Whether the board is wanted from above too; one of a limb that leaves its plane always is."""
REFUSALS = 4
"""How often refused fields are read as before: each reading comes further than the last."""
OLD_STYLE = """<style>
.st-key-limb_answer :is(.headline, .chance, .limits, .legend) { opacity: .7; }
.st-key-limb_stage { opacity: .5; }
</style>"""
"""Greys the answer to a limb that is not the one typed; its words can still be read."""
OLD_WORDS = "Still the limb before, until the marked fields can be read."


class InSight(NamedTuple):
    """The limb that is answered: a form that can be read and what it asks. Where fields of the one
    that is typed are ``refused`` it is an older one."""

    form: Mapping[str, str]
    plan: LimbPlan
    refused: frozenset[str]


class First(NamedTuple):
    """What of a limb is known at once: its pose, None of one that hangs slack, and its board; or
    why it is ``refused``, without a board."""

    pose: Pose | None
    board: Board | None
    refused: str = ""


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

    st.html(STYLE + BAR_STYLE + board.STYLE + headline.STYLE)
    st.markdown("# Will the limb hold its pose?")
    _ask_and_show()
    st.info(NOT_A_TOY)


@st.fragment
@guarded
def _ask_and_show() -> None:
    fields = limb_fields()
    fields.link()
    seen = _limb_in_sight(fields.form())
    # What is sent while the board is not yet known the browser draws without it first, and then all
    # again; so both are worked out before anything is shown.
    first = _first(seen.plan)
    _show_start(fields, seen.plan)
    left, right = st.columns(2, gap="large")
    # The board goes to the browser before the many fields, so that it follows a change at once;
    # fields that waited for the probability would fade while one types.
    with left, st.container(key="limb_left"):
        shown = _show_first(fields, seen, first)
        beside = st.container()
    with right:
        ask_limb(fields, seen.refused)
        below = st.container()
    verdict = _show_found(seen.plan, shown) if shown else None
    if verdict is not None:
        _show_details(fields, seen.plan, verdict, beside, below)


def _limb_in_sight(form: Mapping[str, str]) -> InSight:
    """Return the limb that is typed; of one with refused fields, that with those fields as they
    were when it could last be read."""
    good = st.session_state.get(GOOD, DEFAULTS)
    tried, keys = dict(form), frozenset[str]()
    for _ in range(REFUSALS):
        try:
            plan = plan_from_form(tried)
        except RefusedFieldsError as refused:
            keys |= refused.errors.keys()
            tried |= {key: good[key] for key in _with_rows(refused.errors)}
        else:
            st.session_state[GOOD] = tried
            return InSight(tried, plan, keys)
    try:
        return InSight(good, plan_from_form(good), keys)
    except RefusedFieldsError:  # of a material that is no longer in the folder
        return InSight(DEFAULTS, plan_from_form(DEFAULTS), keys)


def _with_rows(keys: Iterable[str]) -> set[str]:
    """Return keys of fields, those of a bend with its whole row."""
    rows = {key[-1] for key in keys if key[:-1] in BEND_KEYS}
    return {*keys, *(f"{key}{row}" for row in rows for key in BEND_KEYS)}


def _show_start(fields: PageFields, plan: LimbPlan) -> None:
    """Show undo and redo, the starting points behind a button, and what is done to the board."""
    from flexcalc.joints.aims import leaves_plane

    with st.container(horizontal=True, horizontal_alignment="left", vertical_alignment="center"):
        fields.undo_buttons()
        fold = st.popover("Start from …", key="limb_starts", on_change="rerun")
        if fold.open:
            with fold:
                show_starts("limb_preset", _start_from)
        free = [row for row in range(1, BEND_ROWS + 1) if not is_typed(fields.form(), row)]
        st.button("Add a bend", key="limb_add", on_click=_add_bend, disabled=not free)
        if not leaves_plane(plan.limb, plan.setting):
            label = "Side only" if st.session_state.get(ABOVE, False) else "From above"
            st.button(label, key="limb_above", on_click=_turn_board)


def _start_from(form: dict[str, str]) -> None:
    st.session_state["limb_starts"] = False
    start_from(form)


def _turn_board() -> None:
    st.session_state[ABOVE] = not st.session_state.get(ABOVE, False)


def _add_bend() -> None:
    from flexcalc.pages.limb.board import add_bend

    add_bend(limb_fields())


def _first(plan: LimbPlan) -> First:
    """Work out how a limb rests and its board, or why that cannot be."""
    from flexcalc.pages.limb.board import drawn_board
    from flexcalc.paper.answers import pose_of

    try:
        pose = pose_of(plan)
    except (ValueError, RuntimeError) as error:
        return First(None, None, f"This limb could not be worked out: {words(str(error))}")
    return First(pose, drawn_board(plan, pose, from_above=st.session_state.get(ABOVE, False)))


def _show_first(fields: PageFields, seen: InSight, first: First) -> Shown | None:
    """Show the board with what is known of the limb at once; None where nothing is."""
    from flexcalc.pages.limb.board import show_board, show_last_likely
    from flexcalc.pages.limb.headline import show_quick

    plan = seen.plan
    with st.container(key="limb_answer"):
        said, old = st.empty(), st.empty()
        if first.board is None:
            said.error(plain_text(first.refused))
            return None
        if seen.refused:
            old.markdown(f"{OLD_STYLE}<small>{OLD_WORDS}</small>", unsafe_allow_html=True)
        answered = st.session_state.get("limb_answered") == plan
        if not answered:
            show_quick(said, first.pose, st.session_state.get(LAST))
        with st.container(key="limb_stage"):
            likely = st.empty()
            show_board(fields, seen.form, plan, first.pose, first.board)
            if not answered:
                show_last_likely(likely, first.board, st.session_state.get(FAN, ()))
        st.session_state["limb_shown_board"] = first.board
        return Shown(said, likely, st.empty(), st.empty(), st.container())


def _show_found(plan: LimbPlan, shown: Shown) -> Verdict | None:
    """Show the verdict with its probability; None of a limb that cannot be worked out."""
    from flexcalc.pages.limb.board import show_legend, show_likely
    from flexcalc.pages.limb.headline import band_words, show_found, show_limits
    from flexcalc.paper.answers import verdict_on

    try:
        verdict = verdict_on(plan)
    except (ValueError, RuntimeError) as error:
        shown.said.error(f"This limb could not be worked out: {plain_text(words(str(error)))}")
        return None
    st.session_state[LAST] = show_found(shown.said, verdict)
    st.session_state[FAN] = [line.points for line in verdict.likely.fan]
    with shown.aloud:
        announce(f"{verdict.sentence} {band_words(verdict.likely)}")
    st.session_state["limb_answered"] = plan
    show_likely(shown.likely, st.session_state["limb_shown_board"], plan, verdict)
    with shown.legend.container():
        show_legend(plan, verdict)
    with shown.limits.container():
        show_limits(verdict, plan.wish)
    return verdict


def _show_details(
    fields: PageFields,
    plan: LimbPlan,
    verdict: Verdict,
    beside: DeltaGenerator,
    below: DeltaGenerator,
) -> None:
    """Show what helps, and everything else that is known of a limb."""
    from flexcalc.pages.limb.answers import show_below, show_beside

    with beside:
        show_beside(fields, plan, verdict)
    with below:
        show_below(fields, plan, verdict)
