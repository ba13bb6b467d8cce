"""The typed fields of a page: kept in the link, undoable, each refusal beside its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

import streamlit as st

from data.page.form import Fields, RefusedFieldsError, default_form
from data.page.history import History
from data.page.show import plain_text

LONGEST_TEXT = 400


class PageFields:
    """The fields of one page, all texts, under keys that begin with ``prefix``.

    A link carries every text that differs from its default.
    """

    def __init__(self, prefix: str, fields: Fields) -> None:
        self.prefix = prefix
        self.fields = fields
        self.defaults = default_form(fields)
        self.slots: dict[str, Any] = {}
        self.history = History(prefix, self.form, self._fill)

    def form(self) -> dict[str, str]:
        """Return the form as it stands, from the fields, the link or the defaults."""
        state, link = st.session_state, st.query_params
        return {
            key: str(state.get(self.prefix + key, link.get(self.prefix + key, text)))
            for key, text in self.defaults.items()
        }

    def query(self, form: Mapping[str, str]) -> str:
        """Return the part of a link that opens a form: what differs from the defaults."""
        return urlencode(
            {
                self.prefix + key: text
                for key, text in form.items()
                if text != self.defaults.get(key, text)
            }
        )

    def put(self, form: Mapping[str, str]) -> None:
        """Fill fields, before they are drawn in this run; the form before it can be undone."""
        self.history.keep(self.form())
        self._fill(form)

    def link(self) -> None:
        """Put into the link what another page filled in before these fields were ever drawn.

        To be called before they are. From then on the page library keeps the link.
        """
        state = st.session_state
        if not state.get(f"{self.prefix}drawn", False):
            state[f"{self.prefix}drawn"] = True
            st.query_params.update(
                {
                    self.prefix + key: text
                    for key, text in self.form().items()
                    if self.prefix + key in state and text != self.defaults[key]
                }
            )

    def text(self, key: str, help: str | None = None) -> str:
        """Draw a text field and return its text."""
        typed = st.text_input(
            self.fields[key].heading,
            value=self.defaults[key],
            key=self.prefix + key,
            max_chars=LONGEST_TEXT,
            help=help,
            bind="query-params",
            on_change=self._remember,
        )
        self.slots[key] = st.empty()
        return str(typed or "")

    def lines(self, key: str, longest: int) -> str:
        """Draw a field of several lines, too long for a link, and return its text."""
        typed = st.text_area(
            self.fields[key].heading,
            value=self.defaults[key],
            key=self.prefix + key,
            max_chars=longest,
            persist_state="session",
            on_change=self._remember,
        )
        self.slots[key] = st.empty()
        return str(typed or "")

    def choice(self, key: str, options: Sequence[str]) -> str:
        """Draw a field to choose from and return what is chosen."""
        default = self.defaults[key]
        if st.session_state.get(self.prefix + key, default) not in options:
            st.session_state[self.prefix + key] = options[0]
        chosen = st.selectbox(
            self.fields[key].heading,
            options,
            index=options.index(default) if default in options else 0,
            key=self.prefix + key,
            bind="query-params",
            on_change=self._remember,
        )
        self.slots[key] = st.empty()
        return str(chosen)

    def settle(self) -> dict[str, str]:
        """Return the form once all fields are drawn, and note it as what the next change leaves."""
        form = self.form()
        st.session_state[f"{self.prefix}last"] = form
        return form

    def show_refusals(self, refused: RefusedFieldsError) -> None:
        """Show each refusal below its field, or at the end if that field is not drawn; what is
        only missing yet is no error."""
        for key, sentence in refused.errors.items():
            slot = self.slots.get(key, st)
            show: Callable[[str], Any] = slot.info if key in refused.missing else slot.error
            show(plain_text(sentence))

    def undo_buttons(self) -> None:
        """Draw the buttons that take the last change back or make it again."""
        self.history.buttons()

    def _fill(self, form: Mapping[str, str]) -> None:
        for key, text in form.items():
            st.session_state[self.prefix + key] = text
        st.session_state[f"{self.prefix}last"] = self.form()

    def _remember(self) -> None:
        before = st.session_state.get(f"{self.prefix}last")
        if before is not None and before != self.form():
            self.history.keep(before)
