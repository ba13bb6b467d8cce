"""The limb page: ask, compute, show."""

from __future__ import annotations

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from flexcalc.forms.limb_form import (
    ANCHORED,
    BEND_KEYS,
    BEND_ROWS,
    BENT,
    CURLS,
    DEFAULTS,
    FIELDS,
    LENGTHS,
    NO_WIRE,
    OUTLINE_FIELDS,
    PRESETS,
    PRINTED,
    TIP_FIELDS,
    plan_from_form,
)
from flexcalc.limb.gauge import parse_length, show_length
from flexcalc.limb.inputs import INFILL_PATTERNS
from flexcalc.limb.own_materials import own_names
from flexcalc.verdict.plan import LimbPlan

NOT_A_TOY = (
    "Not a toy, and not for skin or food. Keep fingers from hot nozzles, round off wire ends, keep "
    "magnets from children. Local rules and the safety data sheets come first."
)


def show_limb_page() -> None:
    """Show the page on which a limb is described, posed and assessed."""
    st.title("Will the limb hold its pose?")
    st.markdown(
        "Start from one of the limbs below, change what is yours and read the verdict; the demo is "
        "the neck of a marsh heron with a resin fish in its beak (invented). Every field takes mm, "
        "inches and gauges. What to do next stands on the page **Start**."
    )
    _ask_and_show()
    st.info(NOT_A_TOY)


def typed_surface_area() -> float:
    """Return the outer surface of the limb that is typed now, 0 while it is refused. [m2]"""
    from flexcalc.section.section import surface_area

    plan = typed_plan()
    return surface_area(plan.limb) if plan else 0.0


@st.fragment
@guarded
def _ask_and_show() -> None:
    fields = limb_fields()
    ask_start(fields)
    questions, answers = st.columns([2, 3], gap="large")
    from flexcalc.pages.answers import show_answers, show_first

    # The drawing goes to the browser before the many fields, so that it follows a change at once.
    with answers:
        before = typed_plan()
        first = show_first(before) if before else None
    with questions:
        plan = ask_limb(fields)
    with answers:
        if plan is None:
            st.error("Correct the field marked at the left; what you typed is kept.")
            return
        if before is None:  # a link named what cannot be chosen, and the field has another now
            first = show_first(plan)
        if first is not None:
            show_answers(fields, plan, first)
    _show_links(fields)


def _show_links(fields: PageFields) -> None:
    """Show links that open this limb, and each starting point, on any machine with this page."""
    with st.expander("Links to this limb and to the starting points"):
        here = (st.context.url or "").split("?")[0]
        st.code(f"{here}?{fields.query(fields.form())}", language=None, wrap_lines=True)
        starts = [f"[{name}](?{fields.query(changes)})" for name, changes in PRESETS.items()]
        st.markdown("Starting points: " + " · ".join(starts))


def limb_fields() -> PageFields:
    """Return the fields of the limb page."""
    return PageFields("limb_", FIELDS)


def typed_plan() -> LimbPlan | None:
    """Return the limb that is typed or linked now, None while a field is refused."""
    try:
        return plan_from_form(limb_fields().form())
    except RefusedFieldsError:
        return None


def ask_start(fields: PageFields) -> None:
    """Show the starting points, undo and redo."""
    fields.link()
    with st.container(horizontal=True, horizontal_alignment="left"):
        for name, changes in PRESETS.items():
            st.button(
                name,
                key=f"{fields.prefix}preset_{name}",
                on_click=fields.put,
                args=({**DEFAULTS, **changes},),
            )
        fields.undo_buttons()


def ask_limb(fields: PageFields) -> LimbPlan | None:
    """Draw the fields and return the limb, or None after showing what is refused."""
    first = fields.choice("units", ("mm", "inch"))
    st.markdown("##### Limb")
    fields.choice("elastomer", own_names("elastomer"))
    kind = fields.choice("outline", tuple(OUTLINE_FIELDS))
    with st.container():
        for key in (*OUTLINE_FIELDS[kind], "length", "wall", "infill"):
            _ask(fields, key, first)
        fields.choice("pattern", INFILL_PATTERNS)
    _ask_more(fields, "Tapered, or printed curved", (*TIP_FIELDS[kind], *CURLS, "inserted"), first)
    st.markdown("##### Wire and its channel")
    metal = fields.choice("metal", (NO_WIRE, *own_names("metal")))
    with st.container():
        for key in () if metal == NO_WIRE else ("wire", "strands"):
            _ask(fields, key, first)
    if metal != NO_WIRE:
        fields.choice("anchored", ANCHORED)
    for key in ("channel", "sleeve", "offset"):
        _ask(fields, key, first)
    fields.choice("printed", PRINTED)
    fields.choice("printer", own_names("printer"))
    st.markdown("##### Pose and load")
    for key in ("direction", "payload", "hold"):
        _ask(fields, key, first)
    by = fields.choice("bent", BENT)
    hand = ("lever", "places") if by == BENT[0] else ("lever",)
    _ask_more(
        fields,
        "More about how it is bent, and the pose before",
        (
            *hand,
            "further",
            "presses",
            "pause",
            "before",
            "before_time",
            "poses",
            "poses_time",
            "temperature",
        ),
        first,
    )
    st.markdown(
        "Bends, from the clamp on; a positive angle curls up. A swing turns the bend about the "
        "limb: 90° to its left, -90° to its right. Empty rows are no bend."
    )
    for row in range(1, BEND_ROWS + 1):
        for column, key in zip(st.columns(len(BEND_KEYS)), BEND_KEYS, strict=True):
            with column:
                fields.text(f"{key}{row}")
    st.markdown("##### What counts as holding")
    for key in ("share", "sag", "re_poses", "probability", "tip"):
        _ask(fields, key, first)
    try:
        return plan_from_form(fields.settle())
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None


def _ask_more(fields: PageFields, title: str, keys: tuple[str, ...], first: str) -> None:
    """Ask behind a fold, which stands open where something in it is not as it starts."""
    form = fields.form()
    with st.expander(title, expanded=any(form[key] != fields.defaults[key] for key in keys)):
        for key in keys:
            _ask(fields, key, first)


def _ask(fields: PageFields, key: str, first: str) -> None:
    """Ask for a field, and say a length in both units where it can be read."""
    text = fields.text(key)
    if fields.fields[key].read in LENGTHS:
        echo(text, first)


def echo(text: str, first: str = "mm") -> None:
    """Say a length in both units below its field, where it can be read.

    Its place is kept where it cannot: whatever moves on a page is made anew, and loses the
    cursor and what was being typed.
    """
    try:
        shown = show_length(parse_length(text), first) if text.strip() != "0" else ""
    except ValueError:
        shown = ""
    if shown:
        st.markdown(f"<small>= {shown}</small>", unsafe_allow_html=True)
    else:
        st.empty()
