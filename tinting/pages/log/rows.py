"""The rows of the log as a table, and what can be done with one of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from data.page.fields import PageFields
from data.page.show import plain_text, show_cautions, show_table, square
from data.store.folder import StoreError
from tinting.colour.colorimetry import delta_e
from tinting.colour.spectrum import hex_from_lab
from tinting.forms.choices import Choices
from tinting.forms.compared import Prediction, predictions
from tinting.forms.swatch import form_from_record
from tinting.learn.learned import swatch_words
from tinting.log.record import SwatchRecord
from tinting.log.swatches import copy_swatch, edit_swatch, read_photo, remove_swatch
from tinting.pages.log.acts import act, say
from tinting.paper.report import lab_words

PAGE = 50
HEAD = (
    *("No.", "Made", "Base", "", "Mix and coats", "", "Measured", "", "Predicted", "ΔE00"),
    *("Measured by", "In fits", "Note"),
)


def show_rows(fields: PageFields, records: Sequence[SwatchRecord], choices: Choices) -> None:
    """Show the rows, newest last, and the tools for one of them."""
    numbered = list(enumerate(records, start=1))
    shown = _ask_which(numbered)
    found = predictions([record for _, record in shown], choices)
    show_table(
        HEAD,
        [_row(number, record, found.get(record.id)) for number, record in shown],
        f"Rows {len(shown)} of {len(numbered)}; predicted by dyes learned from the log, or else by "
        "estimates",
    )
    _say_how_good(found)
    show_cautions(choices.learned.cautions)
    st.markdown("## One row")
    labels = {record.id: _label(number, record) for number, record in reversed(numbered)}
    chosen = st.selectbox(
        "Row to work on",
        list(labels),
        format_func=lambda id: labels.get(id, "a row that is gone"),
        key="log_row",
    )
    record = next((record for record in records if record.id == chosen), records[-1])
    _show_tools(fields, record)
    if record.photo:
        _show_photo(record)


def _ask_which(
    numbered: list[tuple[int, SwatchRecord]],
) -> list[tuple[int, SwatchRecord]]:
    """Ask for a word to find rows by, and for the page where they are many."""
    if len(numbered) <= 5:
        return numbered
    sought = st.text_input(
        "Find rows with (base, dye or note)", key="log_find", max_chars=80, bind="query-params"
    ).casefold()
    found = [
        (number, record)
        for number, record in numbered
        if sought in "\n".join([record.base_name, *record.shares, record.note]).casefold()
    ]
    if len(found) <= PAGE:
        return found
    starts = list(range(0, len(found), PAGE))
    start = st.selectbox(
        "Rows to show",
        starts,
        index=len(starts) - 1,
        format_func=lambda start: f"{start + 1} to {min(start + PAGE, len(found))}",
        key=f"log_page_{len(starts)}",
    )
    return found[start : start + PAGE]


def _row(number: int, record: SwatchRecord, prediction: Prediction | None) -> tuple[str, ...]:
    read = record.light, record.observer
    told = "" if read == ("D65", 10) else f"\n{record.light}, {record.observer}°"
    return (
        str(number),
        f"{record.made_at:%Y-%m-%d %H:%M}",
        f"{record.base_name}\n{record.base_kind}, {record.thickness * 1e3:.3g} mm",
        square(hex_from_lab(record.base_lab, *read), "base"),
        swatch_words(record.shares, record.coats),
        square(hex_from_lab(record.lab, *read), "measured"),
        lab_words(record.lab),
        square(hex_from_lab(prediction.lab, record.light, record.observer), "predicted")
        if prediction
        else "",
        f"{lab_words(prediction.lab)}\n{prediction.source}" if prediction else "not known",
        f"{prediction.difference:.1f}" if prediction else "–",
        f"{record.method} (±{record.error:g}){told}",
        "used" if record.used else "left out",
        record.note[:120],
    )


def _say_how_good(found: dict[str, Prediction]) -> None:
    for source in ("learned", "estimate"):
        away = sorted(each.difference for each in found.values() if each.source == source)
        if away:
            middle = away[len(away) // 2]
            st.markdown(
                f"Rows predicted by {'learned dyes' if source == 'learned' else 'estimates'}: "
                f"{len(away)}, half of them within {middle:.1f} ΔE00, the worst {away[-1]:.1f}."
            )


def _label(number: int, record: SwatchRecord) -> str:
    words = swatch_words(record.shares, record.coats)
    return f"{number}: {words} on {record.base_name}, {record.made_at:%Y-%m-%d %H:%M}"


def _show_tools(fields: PageFields, record: SwatchRecord) -> None:
    away = float(delta_e(record.base_lab, record.lab))
    st.markdown(
        f"{plain_text(swatch_words(record.shares, record.coats))} on "
        f"{plain_text(record.base_name)}: {away:.1f} ΔE00 from its base."
    )
    use = "Leave out of fits" if record.used else "Use in fits"
    tools: tuple[tuple[str, str, Callable[..., None], tuple[object, ...]], ...] = (
        ("Edit", "log_edit", _edit, (fields, record)),
        ("Copy", "log_copy", _copy, (record,)),
        (use, "log_use", _use, (record,)),
        ("Remove", "log_remove", _remove, (record,)),
    )
    with st.container(horizontal=True, horizontal_alignment="left"):
        for label, key, change, arguments in tools:
            st.button(label, key=key, on_click=act, args=(change, *arguments))


def _edit(fields: PageFields, record: SwatchRecord) -> None:
    fields.put({**fields.form(), **form_from_record(record)})
    st.session_state["log_editing"] = record
    say("info", "The row is in the form below; Save puts it back, and Undo takes that back.")


def _copy(record: SwatchRecord) -> None:
    copy = copy_swatch(record.id)
    st.session_state["log_row"] = copy.id
    say("success", "Copied. The copy is left out of fits until it is edited and used.")


def _use(record: SwatchRecord) -> None:
    import dataclasses

    edit_swatch(dataclasses.replace(record, used=not record.used))
    say("success", "Left out of fits." if record.used else "Used in fits.")


def _remove(record: SwatchRecord) -> None:
    remove_swatch(record.id)
    if st.session_state.get("log_editing") and st.session_state["log_editing"].id == record.id:
        del st.session_state["log_editing"]
    say("success", "Removed. Undo brings it back with its picture.")


def _show_photo(record: SwatchRecord) -> None:
    try:
        photo = read_photo(record.photo)
    except (ValueError, StoreError) as error:
        st.warning(f"The picture of this row cannot be shown: {plain_text(str(error))}.")
        return
    st.image(photo, width=480, alt=f"Photo kept with the swatch on {record.base_name}")
