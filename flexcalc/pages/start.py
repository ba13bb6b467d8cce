"""The page to start on: how far a figure has come, and what to do next.

It knows the limb's part; the tint's steps are handed in, since this package does not read them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from data.page.show import plain_text
from data.page.steps import Step, next_step, typing_step
from flexcalc.pages.limb import NOT_A_TOY, limb_fields
from flexcalc.pages.limb.ask import start_from

ARROW = ":material/arrow_forward:"
Page = Any
"""A page of the app, as its router made it."""


def show_start_page(pages: Mapping[str, Page], tint_steps: Callable[[], Sequence[Step]]) -> None:
    """Show the way from an idea to a figure, with the next step first.

    ``pages`` is every other page by its title, ``tint_steps`` returns how the tint stands.
    """
    st.title("From an idea to a figure that holds its pose")
    st.markdown(
        "Limbs printed in rubbery TPU around a soft wire, tinted with dye in alcohol: find the "
        "wire, the channel, the pose and the mix **before** the test print. Nothing you type "
        "leaves this machine. Every length takes mm, inches and fractions; a wire its gauge."
    )
    st.markdown("## Start from")
    _show_starts(pages)
    steps = [*limb_steps(), *tint_steps(), figure_step()]
    _show_next(next_step(steps), pages)
    for number, step in enumerate(steps, 1):
        _show_step(number, step, pages)
    st.info(NOT_A_TOY)


def _show_starts(pages: Mapping[str, Page]) -> None:
    """Show limbs to start from as pictures, the blank one first and the maker's own mesh last."""
    from flexcalc.pages.limb.starts import show_starts

    fields = limb_fields()
    if fields.form() != fields.defaults:
        st.page_link(pages["Limb"], label="Go on with the limb that is typed now", icon=ARROW)
    if show_starts("start", start_from):
        st.switch_page(pages["Limb"])
    if "Own mesh" in pages:
        st.page_link(pages["Own mesh"], label="Your own mesh, as STL or 3MF", icon=ARROW)


def limb_steps() -> list[Step]:
    """Return how the limb that is typed and the measuring of its material stand."""
    fields = limb_fields()
    demo = (
        "The neck of a marsh heron with a resin fish in its beak (invented) is there to try. Start "
        "from it or from another limb, type what is yours, and read whether it holds."
    )
    return [
        typing_step(
            "Limb",
            "Describe a limb and choose its wire",
            demo,
            typed=fields.form() != fields.defaults,
        ),
        _measuring_step(),
    ]


def _measuring_step() -> Step:
    from data.store.folder import StoreError
    from flexcalc.limb.own_materials import own_elastomers, own_metals, own_printers

    title = "Print a test strip and measure"
    try:
        kept = {
            "filament": len(own_elastomers()),
            "wire": len(own_metals()),
            "printer": len(own_printers()),
        }
    except StoreError as error:
        return Step(page="Bench", title=title, standing=f"Your folder: {error}", done=False)
    if not any(kept.values()):
        standing = (
            "Nothing is measured yet, so a filament is known by its hardness alone, within a "
            "factor of about 1.9. A strip that droops under its own weight takes most of that away."
        )
        return Step(page="Bench", title=title, standing=standing, done=False)
    counted = [f"{count} {name}{'s' if count > 1 else ''}" for name, count in kept.items() if count]
    standing = f"Measured and kept in your folder: {', '.join(counted)}."
    return Step(page="Bench", title=title, standing=standing, done=True)


def figure_step() -> Step:
    """Return how the design stands that gathers limbs and tint."""
    from data.store.folder import StoreError
    from flexcalc.figure.changes import limb_names
    from flexcalc.pages.figure.state import design_now

    try:
        names = limb_names(design_now())
    except (ValueError, StoreError):
        names = []  # the page Figure says why
    standing = (
        "Gather limbs and tint in one design: a file that anyone can open, and a sheet that a "
        "stranger can build from."
    )
    if names:
        standing = f"In the design: {', '.join(names)[:300]}. Save it, and print its build sheet."
    return Step(
        page="Figure", title="Keep the figure, print its sheet", standing=standing, done=bool(names)
    )


def _show_next(step: Step, pages: Mapping[str, Page]) -> None:
    with st.container(border=True):
        st.markdown(f"**Next: {step.title[0].lower()}{step.title[1:]}.**")
        st.page_link(pages[step.page], label=f"Go on to {step.page}", icon=ARROW)


def _show_step(number: int, step: Step, pages: Mapping[str, Page]) -> None:
    st.markdown(f"## {number}. {step.title}{' ✓ done' if step.done else ''}")
    st.markdown(plain_text(step.standing))
    st.page_link(pages[step.page], label=step.page, icon=ARROW)
    if step.page == "Limb" and "Own mesh" in pages:
        st.page_link(pages["Own mesh"], label="Own mesh, for a limb drawn already", icon=ARROW)
