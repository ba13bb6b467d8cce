"""The typed fields of a page: kept in the link, undoable, each refusal beside its field.

``ui`` is the page library's module, handed in by the page that asks, so that nothing outside the
pages depends on it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from data.page.form import RefusedFieldsError
from data.page.history import History

LONGEST_TEXT = 400


def as_typed(text: str) -> str:
    """Return a text so that a page shows it as it was typed, and takes none of it for markup."""
    return "".join(f"\\{sign}" if sign in "\\`*_{}[]<>()#+-.!|$~:" else sign for sign in text)


class Fields:
    """The fields of one page, all texts, under keys that begin with ``prefix``.

    ``defaults`` maps field key to the text it starts with, ``labels`` to what stands above it.
    A link carries every text that differs from its default.
    """

    def __init__(
        self, ui: Any, prefix: str, defaults: Mapping[str, str], labels: Mapping[str, str]
    ) -> None:
        self.ui = ui
        self.prefix = prefix
        self.defaults = dict(defaults)
        self.labels = dict(labels)
        self.slots: dict[str, Any] = {}
        self.history = History(ui, prefix, self.form, self._fill)

    def form(self) -> dict[str, str]:
        """Return the form as it stands, from the fields, the link or the defaults."""
        state, link = self.ui.session_state, self.ui.query_params
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
        state = self.ui.session_state
        if not state.get(f"{self.prefix}drawn", False):
            state[f"{self.prefix}drawn"] = True
            self.ui.query_params.update(
                {
                    self.prefix + key: text
                    for key, text in self.form().items()
                    if self.prefix + key in state and text != self.defaults[key]
                }
            )

    def text(self, key: str, label: str = "", help: str | None = None) -> str:
        """Draw a text field and return its text."""
        typed = self.ui.text_input(
            label or self.labels[key],
            value=self.defaults[key],
            key=self.prefix + key,
            max_chars=LONGEST_TEXT,
            help=help,
            bind="query-params",
            on_change=self._remember,
        )
        self.slots[key] = self.ui.empty()
        return str(typed or "")

    def choice(self, key: str, options: Sequence[str]) -> str:
        """Draw a field to choose from and return what is chosen."""
        default = self.defaults[key]
        if self.ui.session_state.get(self.prefix + key, default) not in options:
            self.ui.session_state[self.prefix + key] = options[0]
        chosen = self.ui.selectbox(
            self.labels[key],
            options,
            index=options.index(default) if default in options else 0,
            key=self.prefix + key,
            bind="query-params",
            on_change=self._remember,
        )
        self.slots[key] = self.ui.empty()
        return str(chosen)

    def settle(self) -> dict[str, str]:
        """Return the form once all fields are drawn, and note it as what the next change leaves."""
        form = self.form()
        self.ui.session_state[f"{self.prefix}last"] = form
        return form

    def show_refusals(self, refused: RefusedFieldsError) -> None:
        """Show each refusal below its field, or at the end if that field is not drawn."""
        for key, sentence in refused.errors.items():
            slot = self.slots.get(key)
            show: Callable[[str], Any] = self.ui.error if slot is None else slot.error
            show(sentence.replace("$", "\\$"))

    def undo_buttons(self) -> None:
        """Draw the buttons that take the last change back or make it again."""
        self.history.buttons()

    def _fill(self, form: Mapping[str, str]) -> None:
        for key, text in form.items():
            self.ui.session_state[self.prefix + key] = text
        self.ui.session_state[f"{self.prefix}last"] = self.form()

    def _remember(self) -> None:
        before = self.ui.session_state.get(f"{self.prefix}last")
        if before is not None and before != self.form():
            self.history.keep(before)
