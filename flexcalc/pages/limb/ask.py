"""The fields of the limb page in four groups: of each some are seen, the rest is behind more."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import streamlit as st
from numpy.typing import NDArray

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.units import choose_units
from flexcalc.forms.limb_form import (
    ANCHORED,
    BEND_KEYS,
    BEND_ROWS,
    BENT,
    CURLS,
    DEFAULTS,
    FIELDS,
    NO_WIRE,
    OUTLINE_FIELDS,
    PRINTED,
    TIP_FIELDS,
    plan_from_form,
)
from flexcalc.forms.limb_words import with_missing
from flexcalc.limb.inputs import INFILL_PATTERNS
from flexcalc.limb.own_materials import own_names
from flexcalc.pages.limb.sketches import show_sketch
from flexcalc.verdict.plan import LimbPlan

FOLD = "limb_fold_"
"""Keys of the folds of the page begin so."""
START = "limb_started_from"
"""The form of the limb that was started from, the demo's where none was chosen."""


@dataclass(frozen=True, kw_only=True)
class Group:
    """Fields of one subject: those that are always ``seen``, those behind ``more`` in the fold
    ``key``, and whether a small sketch shows what they measure."""

    key: str
    title: str
    more: tuple[str, ...]
    seen: tuple[str, ...] = ()
    sketch: str = ""


def groups(form: dict[str, str]) -> tuple[Group, ...]:
    """Return the groups of fields that a form asks for."""
    sizes = OUTLINE_FIELDS.get(form["outline"], ())
    wire = () if form["metal"] == NO_WIRE else ("wire",)
    strands = () if form["metal"] == NO_WIRE else ("strands", "anchored")
    places = ("places",) if form["bent"] == BENT[0] else ()
    return (
        Group(
            key="more_limb",
            title="Limb",
            seen=("elastomer", "length", "outline", *sizes[:2]),
            more=(*sizes[2:], "wall", "infill", "pattern", "printed", "printer"),
            sketch="limb",
        ),
        Group(
            key="more_shape",
            title="Tapered, or printed curved",
            more=(*TIP_FIELDS.get(form["outline"], ()), *CURLS, "inserted"),
        ),
        Group(
            key="more_wire",
            title="Wire",
            seen=("metal", *wire),
            more=(*strands, "channel", "sleeve", "offset"),
            sketch="channel",
        ),
        Group(
            key="more_pose",
            title="Pose",
            seen=("direction", "payload"),
            more=("bent", "hold", "lever", *places, "presses", "pause", "further", "temperature"),
            sketch="pose",
        ),
        Group(
            key="more_poses",
            title="Other poses, before and after",
            more=("before", "before_time", "poses", "poses_time"),
        ),
        Group(
            key="more_wish",
            title="What counts as holding",
            seen=("share",),
            more=("probability", "sag", "tip", "re_poses"),
        ),
    )


def limb_fields() -> PageFields:
    """Return the fields of the limb page."""
    return PageFields("limb_", FIELDS)


def start_from(form: Mapping[str, str]) -> None:
    """Fill the fields with a limb to start from; what is left of it counts as assumed."""
    st.session_state[START] = dict(form)
    limb_fields().put(form)


def typed_plan() -> LimbPlan | None:
    """Return the limb that is typed or linked now, None while a field is refused."""
    try:
        return plan_from_form(limb_fields().form())
    except RefusedFieldsError:
        return None


def typed_surface_area() -> float:
    """Return the outer surface of the limb that is typed now, 0 while it is refused. [m2]"""
    from flexcalc.section.section import surface_area

    plan = typed_plan()
    return surface_area(plan.limb) if plan else 0.0


def typed_outline() -> NDArray[np.float64]:
    """Return the outline (n, 2) of the limb that is typed, as it is set by hand; while it is
    refused, of the demo's. [m]"""
    from flexcalc.paper.pictures.board import set_outline

    plan = typed_plan() or plan_from_form(DEFAULTS)
    return set_outline(plan.limb, plan.setting)


def fold_of(form: dict[str, str], key: str) -> str:
    """Return the key of the fold that a field is behind, an empty text for one that is seen."""
    return next((FOLD + group.key for group in groups(form) if key in group.more), "")


def ask_limb(fields: PageFields, refused: Collection[str] = ()) -> LimbPlan | None:
    """Draw the fields and return the limb, or None after saying at each what is refused.

    Of a closed fold only what is typed or ``refused`` is drawn, and of the bends only those there
    are and the one whose tab is chosen: fewer fields, and the page follows a change sooner.
    """
    groups_now = groups(fields.form())
    for group in groups_now:
        if group.seen:
            st.markdown(f"## {group.title}")
            _ask_pairs(fields, group.seen)
        if group.title == "Pose":
            _ask_bends(fields, refused)
        more = f"More about the {group.title.lower()}" if group.sketch else "More of what counts"
        title = more if group.seen else group.title
        fold = st.expander(title, key=FOLD + group.key, on_change="rerun")
        with fold:
            if fold.open and group.sketch:
                show_sketch(group.sketch)
            _ask_pairs(fields, group.more if fold.open else _needed(fields, group.more, refused))
            if group is groups_now[-1]:
                choose_units()
    form = fields.settle()
    try:
        plan = plan_from_form(form)
    except RefusedFieldsError as refused:
        fields.show_refusals(with_missing(form, refused))
        return None
    return plan


def _needed(fields: PageFields, keys: Iterable[str], refused: Collection[str]) -> list[str]:
    """Return the fields that are drawn though nobody sees them: what is not as it is at first
    stands in the link as long as its field is drawn."""
    form, defaults = fields.form(), fields.defaults
    return [key for key in keys if form[key] != defaults[key] or key in refused]


def _ask_pairs(fields: PageFields, keys: Sequence[str]) -> None:
    """Ask for fields, two beside each other."""
    for first in range(0, len(keys), 2):
        for column, key in zip(st.columns(2), keys[first : first + 2], strict=False):
            with column:
                _ask(fields, key)


def _ask(fields: PageFields, key: str) -> None:
    """Ask for a field."""
    options = _options(key)
    if options:
        fields.choice(key, options)
        return
    fields.text(key)


def _options(key: str) -> Sequence[str]:
    """Return what can be chosen in a field, nothing where it is typed."""
    if key in ("elastomer", "printer"):
        return own_names(key)
    if key == "metal":
        return (NO_WIRE, *own_names("metal"))
    return {
        "outline": tuple(OUTLINE_FIELDS),
        "pattern": INFILL_PATTERNS,
        "printed": PRINTED,
        "bent": BENT,
        "anchored": ANCHORED,
    }.get(key, ())


def _ask_bends(fields: PageFields, refused: Collection[str]) -> None:
    """Ask for the bends, a tab for each; an empty one is no bend."""
    form = fields.form()
    # a tab whose title changed would be made anew, and the first one opened
    titles = [f"Bend {row}" for row in range(1, BEND_ROWS + 1)]
    tabs = st.tabs(titles, key="limb_bends", on_change="rerun")
    for row, tab in enumerate(tabs, start=1):
        keys = [f"{key}{row}" for key in BEND_KEYS]
        if not (tab.open or is_typed(form, row) or _needed(fields, keys, refused)):
            continue
        with tab:
            for column, key in zip(st.columns(len(keys)), keys, strict=True):
                with column:
                    fields.text(key)
            if is_typed(form, row):
                st.button(
                    f"Remove bend {row}",
                    key=f"limb_remove{row}",
                    on_click=fields.put,
                    args=(dict.fromkeys(keys, ""),),
                )


def is_typed(form: dict[str, str], row: int) -> bool:
    """Tell whether anything of a bend is typed."""
    return any(form[f"{key}{row}"].strip() for key in BEND_KEYS)


def keys_of(found: Iterable[Group]) -> tuple[str, ...]:
    """Return every field of some groups."""
    return tuple(key for group in found for key in (*group.seen, *group.more))
