"""What every part of the log page needs: its fields, sentences kept for the next drawing, and
changes of the log that end in a sentence and never in a trace."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from data.page import history
from data.page.fields import Fields
from data.store.folder import StoreError
from tinting.logform import DEFAULTS, ROWS
from tinting.page_photo import DEFAULTS as PHOTO
from tinting.page_photo import photo_labels
from tinting.swatches import LONGEST_NOTE

LABELS = {
    "base": "Base: the part that was dyed",
    "newbase": "Name of the base",
    "kind": "Translucent or opaque? Hold the bare part to a light",
    "basecolour": "Colour of the bare part (L a b, or #rrggbb)",
    "thickness": "Thickness of its wall (mm)",
    "backing": "What stood behind it",
    **{f"dye{row}": f"Dye {row}" for row in ROWS},
    **{f"newdye{row}": f"Name of dye {row}" for row in ROWS},
    **{f"parts{row}": f"Parts of dye {row}" for row in ROWS},
    "alcohol": "Parts of alcohol",
    "coats": "Coats",
    "grade": "Alcohol grade (%)",
    "minutes": "Dried for (min)",
    "colour": "Measured colour (L a b, or #rrggbb)",
    "method": "Measured by",
    "light": "Measured under the light",
    "observer": "Observer (°)",
    "geometry": "Geometry of the reading",
    "note": "Note",
    **photo_labels("Bare part", "Swatch"),
}


say = partial(history.say, st, "log_")
"""Keep a sentence ("success", "info", "error") for the next drawing of the page."""


class LogFields(Fields):
    """The fields of the log page: as on every page, and a note of several lines."""

    def area(self, key: str) -> str:
        """Draw a field of several lines, too long for a link, and return its text."""
        typed = self.ui.text_area(
            self.labels[key],
            value=self.defaults[key],
            key=self.prefix + key,
            max_chars=LONGEST_NOTE,
            persist_state="session",
            on_change=self._remember,
        )
        self.slots[key] = self.ui.empty()
        return str(typed or "")


def log_fields() -> LogFields:
    """Return the fields of the log page."""
    return LogFields(st, "log_", DEFAULTS | PHOTO, LABELS)


def show_said() -> None:
    """Show the sentences that were kept, aloud, and forget them."""
    from tinting.page_show import announce, plain_text

    waiting = st.session_state.get("log_said", [])
    announce(" ".join(sentence for _, sentence in waiting))
    history.show_said(st, "log_", plain_text)


def act(change: Callable[..., None], *arguments: Any) -> None:
    """Carry out a change of the log; what it refuses is said."""
    try:
        change(*arguments)
    except (ValueError, StoreError) as error:
        say("error", f"Nothing was changed: {error}")


def show_state() -> None:
    """Say how the log's file was found when this visitor first opened the page."""
    from tinting.page_show import show_cautions
    from tinting.upkeep import open_log

    if "log_state" not in st.session_state:
        st.session_state["log_state"] = open_log()
    state = st.session_state["log_state"]
    show_cautions(state.cautions)
    if state.saved:
        st.button(
            f"Take what was saved into the new log (rows: {len(state.saved)})",
            key="log_take_saved",
            on_click=act,
            args=(_take_saved,),
        )
    elif state.aside:
        st.info("Damaged logs set aside earlier lie beside it: " + ", ".join(state.aside) + ".")


def _take_saved() -> None:
    from tinting.upkeep import merge_swatches

    merged = merge_swatches(st.session_state["log_state"].saved)
    say("success", f"Rows taken over: {len(merged.added)}. There already: {len(merged.same)}.")
    for caution in merged.cautions:
        say("warning", caution.text)
