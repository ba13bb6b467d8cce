"""The typed fields of a page: kept in the link, undoable, each refusal beside its field."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import nullcontext
from typing import Any
from urllib.parse import urlencode

import streamlit as st

from data.page.form import Fields, RefusedFieldsError, default_form, worded
from data.page.history import History
from data.page.marking import mark_fields
from data.page.show import plain_text
from data.page.units import echo_words, words

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
        self.echoes: dict[str, str] = {}
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

    def text(
        self, key: str, help: str | None = None, echo: Callable[[str], str] | None = None
    ) -> str:
        """Draw a text field and return its text.

        Below it stands what was read where it was typed in another unit, or what ``echo`` says of
        the text, as HTML.
        """
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
        text = str(typed or "")
        said = echo_words(self.fields[key].read, text) if echo is None else echo(text)
        if said:
            self.echoes[key] = f"<small>= {said}</small>"
            self.slots[key].markdown(self.echoes[key], unsafe_allow_html=True)
        return text

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
        state, form = st.session_state, self.form()
        last = state.get(f"{self.prefix}last", form)
        if last != form:
            state[f"{self.prefix}form_before"] = last
        state[f"{self.prefix}last"] = form
        return form

    def show_refusals(self, refused: RefusedFieldsError) -> None:
        """Show each refusal below its field, or at the end if that field is not drawn.

        It is said in the words and units of its field, and the field is marked as refused; what
        is only missing yet is no error. What the field that was just typed makes another refuse is
        said at both.
        """
        errors = worded(self.fields, self.form(), refused).errors
        for key, typed in self._just_typed(errors).items():
            if key not in refused.unread | refused.missing and typed in self.slots:
                errors.setdefault(typed, errors[key])
        for key, sentence in errors.items():
            with self.slots[key].container() if key in self.slots else nullcontext():
                if key in self.echoes:
                    st.markdown(self.echoes[key], unsafe_allow_html=True)
                show = st.info if key in refused.missing else st.error
                show(plain_text(words(sentence)))
        show_marks(self.prefix, errors)

    def _just_typed(self, refused: Iterable[str]) -> dict[str, str]:
        """Return for refused fields the one whose change made it so, where one alone was changed.

        A refusal that stays while other fields are changed stays that of the first change.
        """
        state, form = st.session_state, self.form()
        last = state.get(f"{self.prefix}last", form)
        before = state.get(f"{self.prefix}form_before", form) if last == form else last
        changed = [key for key, text in form.items() if before.get(key, text) != text]
        since, known = state.get(f"{self.prefix}form_blamed", (None, {}))
        known = known if since in (form, before) else {}
        found = {key: known.get(key, changed[0] if len(changed) == 1 else key) for key in refused}
        state[f"{self.prefix}form_blamed"] = (form, {**(known if since == form else {}), **found})
        return found

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


def show_marks(prefix: str, errors: Mapping[str, str]) -> None:
    """Mark fields as refused, for screen readers too; the keys of their widgets begin so."""
    if errors:
        marked = {prefix + key: words(sentence) for key, sentence in errors.items()}
        mark_fields(f"{prefix}marks_{next(iter(errors))}", refused=marked)
