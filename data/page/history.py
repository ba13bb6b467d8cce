"""What a page remembers from one run to the next: steps to undo, and sentences left to say."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

import streamlit as st

from data.page.show import announce, plain_text

State = TypeVar("State")
MOST_STEPS = 200


class History(Generic[State]):
    """The steps of one page, under keys that begin with ``prefix``.

    ``now`` returns the state as it stands, ``put`` brings one back.
    """

    def __init__(self, prefix: str, now: Callable[[], State], put: Callable[[State], None]) -> None:
        self.prefix = prefix
        self.now = now
        self.put = put

    def keep(self, before: State) -> None:
        """Keep the state from before a change; what was undone can no longer be made again."""
        self._steps("undo").append(before)
        del self._steps("undo")[:-MOST_STEPS]
        self._steps("redo").clear()

    def buttons(self) -> None:
        """Draw the buttons that take the last change back or make it again."""
        for label, source, target in (("Undo", "undo", "redo"), ("Redo", "redo", "undo")):
            steps = self._steps(source)
            st.button(
                f"{label} ({len(steps)})",
                key=f"{self.prefix}{source}_button",
                on_click=self._step,
                args=(source, target),
                disabled=not steps,
            )

    def _steps(self, name: str) -> list[State]:
        stack: list[State] = st.session_state.setdefault(f"{self.prefix}{name}_steps", [])
        return stack

    def _step(self, taken_from: str, kept_in: str) -> None:
        self._steps(kept_in).append(self.now())
        self.put(self._steps(taken_from).pop())


def say(prefix: str, kind: str, sentence: str) -> None:
    """Keep a sentence ("success", "info", "error") for the next time a page is drawn."""
    st.session_state.setdefault(f"{prefix}said", []).append((kind, sentence))


def show_said(prefix: str) -> None:
    """Show the sentences that were kept, aloud, so that what stands below stays where it is."""
    kept: list[tuple[str, str]] = st.session_state.pop(f"{prefix}said", [])
    announce(" ".join(sentence for _, sentence in kept))
    with st.container():
        for kind, sentence in kept:
            getattr(st, kind)(plain_text(sentence))
