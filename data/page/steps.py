"""The steps from an idea to a finished figure, and which of them comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from data.rules import check_kind, refuse


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step: the page it is taken on, what to do there, how it stands, and if it is done.

    ``standing`` says what is known now and, while the step is not done, what doing it is good for.
    A step is done once there is something of the maker's own in it that later steps go by: typed,
    measured or kept, and never the demo's.
    """

    page: str
    title: str
    standing: str
    done: bool

    def __post_init__(self) -> None:
        for name in ("page", "title", "standing"):
            text = getattr(self, name)
            check_kind(f"step {name}", text, str, "a text")
            if not text.strip():
                raise refuse(f"step {name}", "a text with a word in it", text)
        check_kind("step done", self.done, bool, "true or false")


def typing_step(page: str, title: str, demo: str, *, typed: bool) -> Step:
    """Return the step of a page whose fields hold a demo until something is typed into them."""
    check_kind("step page", page, str, "a text")
    check_kind("typed", typed, bool, "true or false")
    known = f"The {page.lower()} you described is kept in the fields, and in the link of that page."
    return Step(page=page, title=title, standing=known if typed else demo, done=typed)


def next_step(steps: Sequence[Step]) -> Step:
    """Return the first step that is not done; the last one where all are."""
    if not isinstance(steps, (list, tuple)) or not steps:
        raise refuse("steps", "a list with at least one step", steps)
    for step in steps:
        check_kind("step", step, Step, "a Step")
    open_ones = [step for step in steps if not step.done]
    found: Step = open_ones[0] if open_ones else steps[-1]
    return found
