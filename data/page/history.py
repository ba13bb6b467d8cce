"""What a page remembers from one run to the next: steps to undo, and sentences left to say.

``ui`` is the page library's module, handed in by the page that asks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

State = TypeVar("State")
MOST_STEPS = 200


class History(Generic[State]):
    """The steps of one page, under keys that begin with ``prefix``.

    ``now`` returns the state as it stands, ``put`` brings one back.
    """

    def __init__(
        self, ui: Any, prefix: str, now: Callable[[], State], put: Callable[[State], None]
    ) -> None:
        self.ui = ui
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
            self.ui.button(
                f"{label} ({len(steps)})",
                key=f"{self.prefix}{source}_button",
                on_click=self._step,
                args=(source, target),
                disabled=not steps,
            )

    def _steps(self, name: str) -> list[State]:
        stack: list[State] = self.ui.session_state.setdefault(f"{self.prefix}{name}_steps", [])
        return stack

    def _step(self, taken_from: str, kept_in: str) -> None:
        self._steps(kept_in).append(self.now())
        self.put(self._steps(taken_from).pop())


def say(ui: Any, prefix: str, kind: str, sentence: str) -> None:
    """Keep a sentence ("success", "info", "error") for the next time a page is drawn."""
    ui.session_state.setdefault(f"{prefix}said", []).append((kind, sentence))


def said(ui: Any, prefix: str) -> list[tuple[str, str]]:
    """Return the sentences that were kept, and forget them."""
    kept: list[tuple[str, str]] = ui.session_state.pop(f"{prefix}said", [])
    return kept


def show_said(ui: Any, prefix: str, written: Callable[[str], str] = str) -> None:
    """Show the sentences that were kept, so that what stands below stays where it is.

    ``written`` makes a sentence safe for the page.
    """
    with ui.container():
        for kind, sentence in said(ui, prefix):
            getattr(ui, kind)(written(sentence))
