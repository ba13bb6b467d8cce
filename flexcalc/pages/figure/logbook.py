"""The logbook of a figure: what happened, what is left of each wire, how bends have held."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import streamlit as st

from data.page.form import RefusedFieldsError
from data.page.show import plain_text, show_table
from data.page.units import words
from data.store.figures import add_event, read_events
from data.store.folder import StoreError
from flexcalc.figure.changes import own_tint_of, place_of
from flexcalc.figure.figure import place_from
from flexcalc.figure.logbook import (
    Event,
    LimbLog,
    Lines,
    events_from,
    limb_log,
    logged_names,
    plain_event,
    standing_events,
)
from flexcalc.forms.logbook_form import FIELDS, TYPED, WANTS, event_from_form
from flexcalc.pages.figure.limbs import refused_limb
from flexcalc.pages.figure.state import Design, ask_typed, figure_key, note_refused, tell
from flexcalc.pages.figure.tint import TintPart
from flexcalc.verdict.plan import LimbPlan, limb_plan_from

PREFIX = "figure_log_"
SHOWN = {"fine": st.success, "soon": st.warning, "due": st.error}


def show_logbook(design: Design, tint: TintPart) -> None:
    """Show what happened to the limbs of a figure, and write down what happened now."""
    names = _names(design)
    if not names:
        return
    st.header("Logbook")
    st.markdown(
        "Write down what happens to a limb once it is built: how often it was re-posed, what angle "
        "it keeps after a month, what colour it has. Each is a line in your folder."
    )
    try:
        found, lost = read_events(figure_key())
        events = events_from(found)
    except (ValueError, StoreError) as error:
        st.error(f"The logbook cannot be read: {plain_text(str(error))}")
        return
    if lost:
        lines = "1 line" if lost == 1 else f"{lost} lines"
        st.warning(
            f"{lines} of the logbook cannot be read or were altered since they were written, and "
            "are not counted; the others stand."
        )
    if st.session_state.get(f"{PREFIX}limb") not in names:
        st.session_state[f"{PREFIX}limb"] = next(iter(names))
    name = str(st.selectbox("Limb", list(names), key=f"{PREFIX}limb"))
    _ask_event(name)
    _show_worn(names, name, events)
    kept = names[name]
    if not refused_limb(kept):
        _show_state(limb_plan_from(kept), name, events, design, tint)
    _show_lines(name, events)


def _names(design: Design) -> dict[str, Mapping[str, Any]]:
    """Return under which names the limbs stand in the logbook, twins by themselves, with each."""
    found: dict[str, Mapping[str, Any]] = {}
    for kept in design["limbs"]:
        name = str(kept.get("name", ""))
        try:
            twin = place_from(place_of(design, name)).twin
        except ValueError:
            twin = False
        found |= dict.fromkeys(logged_names(name, twin), kept)
    return found


def _show_worn(names: Mapping[str, Mapping[str, Any]], shown: str, events: Lines) -> None:
    """Show of which other limbs the wire is due, or soon."""
    for name, kept in names.items():
        if name == shown or refused_limb(kept):
            continue
        log = _log(limb_plan_from(kept), name, events)
        if log.state != "fine":
            SHOWN[log.state](plain_text(words(log.sentence)))


def _ask_event(name: str) -> None:
    state = st.session_state
    state.setdefault(f"{PREFIX}day", date.today().isoformat())
    kind = str(st.selectbox(FIELDS["kind"].heading, TYPED, key=f"{PREFIX}kind", index=1))
    keys = ("day", *WANTS.get(kind, ()), "note")
    for column, key in zip(st.columns(len(keys)), keys, strict=True):
        with column:
            state.setdefault(f"{PREFIX}{key}", FIELDS[key].default)
            ask_typed(PREFIX, FIELDS[key])
    state.pop(f"{PREFIX}refused", None)
    st.button("Write it down", key=f"{PREFIX}add", on_click=_write, args=(name, keys))


def _write(name: str, keys: Sequence[str]) -> None:
    state = st.session_state
    form = {key: str(state.get(f"{PREFIX}{key}", "")) for key in ("kind", *keys)}
    try:
        event = event_from_form(form, name)
    except RefusedFieldsError as refused:
        note_refused(PREFIX, FIELDS, form, refused)
        return
    _add(event)
    state[f"{PREFIX}note"] = ""


def _add(event: Event) -> None:
    try:
        add_event(figure_key(), plain_event(event))
    except (ValueError, StoreError) as error:
        tell("error", f"Not written down: {error}")
        return
    tell("success", f"Written down: {event.limb}, {event.kind}.")


def _log(plan: LimbPlan, name: str, events: Lines) -> LimbLog:
    from flexcalc.paper.answers import verdict_on

    lives = verdict_on(plan).life
    return limb_log(name, events, lives[0] if lives else None)


def _show_state(plan: LimbPlan, name: str, events: Lines, design: Design, tint: TintPart) -> None:
    log = _log(plan, name, events)
    SHOWN[log.state](plain_text(words(log.sentence)))
    if log.state != "fine" and plan.limb.wire is not None:
        from flexcalc.paper.sheet.making import taking_out, wire_to_cut

        wire, out = words(wire_to_cut(plan.limb)), words(taking_out(plan))
        st.markdown(
            f"Get {plain_text(wire)}. {plain_text(out)} "
            "Push the new one in, bend its ends over and write down “new wire”."
        )
    if log.angles:
        _show_drift(plan, log)
    if log.colours:
        limb = str(_names(design)[name].get("name", ""))
        _show_colour(own_tint_of(design, limb) or design["tint"], log, tint)


def _show_drift(plan: LimbPlan, log: LimbLog) -> None:
    from flexcalc.figure.drift import drift

    try:
        found = drift(plan, log.angles)
    except ValueError as error:
        st.info(f"Nothing is learned from the angles: {plain_text(str(error))}")
        return
    show_table(
        ("Bend", "Days after it was posed", "Read", "Expected before", "Expected now"),
        [
            (str(bend), f"{days:.0f}", *(f"{math.degrees(angle):.0f}°" for angle in angles))
            for bend, days, *angles in found.rows
        ],
        "How the bends have held",
    )
    year = ", ".join(f"{math.degrees(angle):.0f}°" for angle in found.year)
    st.markdown(f"{plain_text(words(found.sentence))} After a year: {year}.")
    name = f"my {found.elastomer.name}"[:80]
    st.button(
        f"Keep it as the filament {plain_text(name)}",
        key=f"{PREFIX}keep",
        on_click=_keep_filament,
        args=(found.elastomer, name),
    )


def _keep_filament(elastomer: object, name: str) -> None:
    from dataclasses import replace

    from flexcalc.limb.own_materials import own_things, save_own
    from flexcalc.limb.substances import Elastomer

    if not isinstance(elastomer, Elastomer):
        return
    try:
        taken = own_things("elastomer").things
        free = next(each for each in (name, *(f"{name[:76]} {n}" for n in range(2, 99)))
                    if each not in taken)  # fmt: skip
        save_own(replace(elastomer, name=free))
    except (ValueError, StoreError) as error:
        tell("error", f"Not kept: {error}")
        return
    tell("success", f"Kept {free}; choose it for the limb on the page Limb.")


def _show_colour(kept: Mapping[str, Any] | None, log: LimbLog, tint: TintPart) -> None:
    day, lab = log.colours[-1]
    if not kept:
        st.info(f"Colour read on {day}; the figure has no tint to compare it with.")
        return
    try:
        sentences = tint.retouch(kept, lab)
    except ValueError as error:
        st.info(f"No retouching is worked out: {plain_text(str(error))}")
        return
    st.markdown(f"**Retouching, by the colour of {day}.** " + plain_text(" ".join(sentences)))


def _show_lines(name: str, events: Lines) -> None:
    own = [(line, event) for line, event in standing_events(events) if event.limb == name]
    if not own:
        return
    show_table(
        ("Line", "Day", "What", "How much", "Note"),
        [
            (str(line), event.day, event.kind, _amount(event), event.note)
            for line, event in reversed(own)
        ],
        f"Logbook of {name}",
    )
    line = own[-1][0]
    st.button(
        f"Take line {line} back",
        key=f"{PREFIX}back",
        on_click=_add,
        args=(Event(limb=name, kind="taken back", day=date.today().isoformat(), line=line),),
    )


def _amount(event: Event) -> str:
    if event.kind == "re-posed":
        return f"{event.times} times"
    if event.kind == "angle read":
        return f"bend {event.bend}: {math.degrees(event.angle):.0f}°"
    if event.kind == "colour read":
        return " ".join(f"{value:.1f}" for value in event.lab)
    return ""
