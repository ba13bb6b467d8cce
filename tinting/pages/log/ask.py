"""The form of the log page: a new swatch, or a row that is edited."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Sequence
from typing import Any

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.show import plain_text
from tinting.forms.swatch import (
    CHOICES,
    NO_DYE,
    OTHER,
    known_names,
    record_from_form,
    remembered,
    rows_shown,
    spelled_as_known,
)
from tinting.forms.tint import colour_words, thinning_of
from tinting.log.bottles import list_bottles
from tinting.log.record import LONGEST_NOTE, SwatchRecord
from tinting.log.swatches import add_swatch, edit_swatch, list_swatches
from tinting.pages.log.acts import act, log_fields, say
from tinting.pages.photo import ask_photo

LAST_BASE = "log_last_base"
PART = ("newbase", "kind", "basecolour", "thickness", "backing")
READING = ("minutes", "method", "light", "observer", "geometry", "note")
EYE = (
    "In daylight near a window, no lamp: hold the dry swatch beside the screen at half brightness "
    "or more, and move the picker until you see no edge. Do the same for the bare part. Look away "
    "between tries, and take the middle of three. By eye a colour is known within about 4 ΔE00, "
    "so read two swatches of a dye rather than one; bare and dyed by the same eye, light and "
    "screen cancel most of what is wrong with them."
)


def ask_row(fields: PageFields, records: Sequence[SwatchRecord]) -> None:
    """Draw the form; its button adds a row, or puts an edited one back."""
    before = st.session_state.get("log_editing")
    st.header("Edit the row" if before else "Add a swatch")
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.markdown("What was typed:")
        fields.undo_buttons()
    _remember(fields, records)
    found = _refused(fields, before)
    refused = found.errors if found else {}
    left, right = st.columns(2, gap="large")
    with left:
        _ask_base_and_mix(fields, records, refused)
    with right:
        _ask_reading(fields, refused)
    with st.expander("Measure it from a photo"):
        ask_photo(
            fields, "Bare part", "Swatch", _take, "Take these two colours and the photo",
            take_strip=lambda reading, content: act(_add_strip, reading, content),
            add=lambda reading, content: act(_add_read, reading, content),
        )  # fmt: skip
    _show_refusals(fields, before)
    if before is None:
        _show_expected(fields, records)
    _show_buttons(before)


def _remember(fields: PageFields, records: Sequence[SwatchRecord]) -> None:
    """Fill what the form does not ask at once from the latest row, or the latest of its base."""
    form, state = fields.form(), st.session_state
    fresh = LAST_BASE not in state and form == fields.defaults
    last = state.get(LAST_BASE, form["base"])
    state[LAST_BASE] = form["base"]
    if "log_editing" in state or not (fresh or form["base"] != last):
        return
    for key, text in remembered(records, "" if fresh else form["base"]).items():
        state[f"{fields.prefix}{key}"] = text
    state[LAST_BASE] = fields.form()["base"]


def _ask_base_and_mix(
    fields: PageFields, records: Sequence[SwatchRecord], refused: Collection[str]
) -> None:
    bases, names = known_names(records, list_bottles().bottles)
    new = fields.choice("base", (*bases, OTHER)) == OTHER
    with st.expander(
        "The part: colour, wall, backing", expanded=new or bool(set(PART) & set(refused))
    ):
        if new:
            fields.text("newbase")
        fields.choice("kind", CHOICES["kind"])
        fields.text("basecolour", echo=colour_words)
        fields.text("thickness")
        fields.choice("backing", CHOICES["backing"])
    _ask_dye(fields, 1, names)
    rows = rows_shown(fields.form())
    more = any(fields.form()[f"dye{row}"] != NO_DYE for row in range(2, rows + 1))
    with st.expander("More dyes in the mix", expanded=more):
        for row in range(2, max(rows, 2) + 1):
            _ask_dye(fields, row, names)
    fields.text("alcohol", echo=lambda _: thinning_of(fields.form()))
    fields.text("coats")


def _ask_dye(fields: PageFields, row: int, names: Sequence[str]) -> None:
    dye, parts = st.columns([3, 2])
    options = (NO_DYE, *names, OTHER)
    if row == 1 and fields.form()["dye1"] not in options:
        st.session_state[f"{fields.prefix}dye1"] = names[0]
    with dye:
        chosen = fields.choice(f"dye{row}", options)
        if chosen == OTHER:
            fields.text(f"newdye{row}")
    with parts:
        if chosen != NO_DYE:
            fields.text(f"parts{row}")


def _ask_reading(fields: PageFields, refused: Collection[str]) -> None:
    fields.text("colour", echo=colour_words)
    with st.expander(
        "The reading: dried for, by what, note", expanded=bool(set(READING) & set(refused))
    ):
        fields.text("minutes")
        for key in ("method", "light", "observer", "geometry"):
            fields.choice(key, CHOICES[key])
        fields.lines("note", LONGEST_NOTE)
    _ask_eye(fields)
    photo = st.session_state.get("log_picture")
    if photo:
        st.markdown(f"A photo of {len(photo) / 1e6:.1f} MB will be kept with the row.")
        st.button("Keep no photo", key="log_no_photo", on_click=_drop_photo)


def _ask_eye(fields: PageFields) -> None:
    """Offer a way to read a swatch with neither camera nor instrument."""
    with st.expander("No camera, no instrument? Read it by eye"):
        st.markdown(EYE)
        st.color_picker(
            "The swatch as the screen shows it beside it", "#808080", key="log_eye",
            on_change=lambda: fields.put(
                {"colour": st.session_state["log_eye"], "method": "eye", "geometry": "eye"}
            ),
        )  # fmt: skip


def _show_refusals(fields: PageFields, before: SwatchRecord | None) -> None:
    """Show what is refused, but not before a first try to save."""
    fields.settle()
    refused = _refused(fields, before)
    if refused is not None:
        fields.show_refusals(refused)
        st.error("Correct the marked fields; what you typed is kept.")


def _refused(fields: PageFields, before: SwatchRecord | None) -> RefusedFieldsError | None:
    """Return what is refused, None before a first try to save."""
    if st.session_state.get("log_tried"):
        try:
            record_from_form(fields.form(), before)
        except RefusedFieldsError as refused:
            return refused
    return None


def _show_expected(fields: PageFields, records: Sequence[SwatchRecord]) -> None:
    """Show what the swatch should read beside what was typed, before it is added."""
    from tinting.forms.choices import Choices
    from tinting.forms.compared import expected
    from tinting.pages.learned import learned_now

    try:
        record = spelled_as_known(record_from_form(fields.form()), records)
    except RefusedFieldsError:
        return
    found = expected(record, Choices(learned=learned_now(), bottles=list_bottles().bottles))
    if found is not None:
        (st.warning if found.doubtful else st.markdown)(plain_text(found.text))


def _show_buttons(before: SwatchRecord | None) -> None:
    with st.container(horizontal=True, horizontal_alignment="left"):
        st.button(
            "Save the row" if before else "Add to the log",
            key="log_save",
            type="primary",
            on_click=act,
            args=(_save, before),
        )
        if before:
            st.button("Stop editing", key="log_stop", on_click=_stop)


def _save(before: SwatchRecord | None) -> None:
    fields = log_fields()
    st.session_state["log_tried"] = True
    try:
        record = record_from_form(fields.form(), before)
    except RefusedFieldsError:
        return
    photo = st.session_state.get("log_picture")
    if before:
        kept = edit_swatch(_as_it_stands(record, before), photo=photo)
        say("success", "Saved.")
    else:
        kept = add_swatch(spelled_as_known(record, list_swatches().records), photo=photo)
        say("success", "Added, and safe on the disk. The next swatch can be typed at once.")
    st.session_state["log_row"] = kept.id
    _stop()
    # what the next swatch of a series shares with this one stays
    fields.put({**fields.form(), "colour": "", "note": ""})


def _add_read(reading: Any, content: bytes) -> None:
    """Put the two colours of a photo into the form and its row into the log."""
    _take(reading, content)
    _save(st.session_state.get("log_editing"))


def _add_strip(reading: Any, content: bytes) -> None:
    """Add a row for every dyed patch of a strip: the mix as typed, coats and colours as read."""
    fields = log_fields()
    bare = " ".join(f"{value:.1f}" for value in reading.base_lab)
    known = list_swatches().records
    records = []
    for coats, lab in zip(reading.coats, reading.labs, strict=True):
        if not coats:
            continue
        form = {
            **_read_from_photo(fields.form(), reading.method),
            "basecolour": bare,
            "colour": " ".join(f"{value:.1f}" for value in lab),
            "coats": str(coats),
        }
        try:
            records.append(spelled_as_known(record_from_form(form), known))
        except RefusedFieldsError as refused:
            st.session_state["log_tried"] = True
            say("error", f"Nothing was added: {next(iter(refused.errors.values()))}")
            return
    for record in records:
        add_swatch(record, photo=content if record is records[0] else None)
    say("success", f"Rows added from the strip: {len(records)}, safe on the disk.")


def _read_from_photo(form: dict[str, str], method: str) -> dict[str, str]:
    """Return a form of a colour read from a photo by a chart or a card."""
    read = {"method": method, "light": "D65", "observer": "10", "geometry": "photo"}
    return {**form, **read}


def _as_it_stands(record: SwatchRecord, before: SwatchRecord) -> SwatchRecord:
    """The edited row, with what other tools of the page changed since it was opened."""
    now = next((row for row in list_swatches().records if row.id == before.id), before)
    return dataclasses.replace(record, used=now.used, photo=now.photo)


def _stop() -> None:
    for key in ("log_editing", "log_picture", "log_tried"):
        st.session_state.pop(key, None)


def _drop_photo() -> None:
    st.session_state.pop("log_picture", None)


def _take(reading: Any, content: bytes) -> None:
    fields = log_fields()
    fields.put(
        {
            **_read_from_photo(fields.form(), reading.method),
            "basecolour": " ".join(f"{value:.1f}" for value in reading.base_lab),
            "colour": " ".join(f"{value:.1f}" for value in reading.swatch_lab),
        }
    )
    st.session_state["log_picture"] = content
    worth = f"it may be off by {reading.error:.0f} ΔE00"
    say("success", f"Both colours are in the form, and the photo goes with the row; {worth}.")
