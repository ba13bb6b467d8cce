"""The page to start on: how far a figure has come, and what to do next.

It knows the limb's part; the tint's steps are handed in, since this package does not read them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from data.page.show import plain_text
from data.page.steps import Step, next_step, typing_step
from flexcalc.pages.limb import NOT_A_TOY, limb_fields, typed_plan
from flexcalc.verdict.plan import LimbPlan

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
        "leaves this machine."
    )
    foremost = st.container()
    path, picture = st.columns([3, 2], gap="large")
    with picture:
        _show_limb(pages)
    with path:
        steps = [*limb_steps(), *tint_steps(), figure_step()]
        for number, step in enumerate(steps, 1):
            _show_step(number, step, pages)
    with foremost:
        _show_next(next_step(steps), pages)
    st.info(NOT_A_TOY)


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
    st.markdown(f"##### {number}. {step.title}{' ✓ done' if step.done else ''}")
    st.markdown(plain_text(step.standing))
    st.page_link(pages[step.page], label=step.page, icon=ARROW)
    if step.page == "Limb" and "Own mesh" in pages:
        st.page_link(pages["Own mesh"], label="Own mesh, for a limb drawn already", icon=ARROW)


def _show_verdict(plan: LimbPlan) -> None:
    from flexcalc.pages.limb.headline import STYLE, show_found
    from flexcalc.paper.answers import pose_of, verdict_on
    from flexcalc.paper.board import board_drawing

    try:
        verdict = verdict_on(plan)
    except (ValueError, RuntimeError) as error:
        st.error(f"This limb could not be worked out: {plain_text(str(error))}")
        return
    st.html(STYLE)
    show_found(st.empty(), verdict)
    board = board_drawing(
        plan.limb, plan.setting, pose_of(plan), name=plan.name, summary=verdict.sentence
    )
    st.markdown(board.svg, unsafe_allow_html=True)


def _show_limb(pages: Mapping[str, Page]) -> None:
    """Show the limb that is typed now, then the starting points."""
    from flexcalc.forms.limb_form import PRESETS

    st.markdown("##### The limb in the fields now")
    plan = typed_plan()
    if plan is None:
        st.error("A field of it is refused; the page Limb says which and why.")
    else:
        _show_verdict(plan)
    fields = limb_fields()
    st.markdown("##### Or start from")
    with st.container(horizontal=True, horizontal_alignment="left"):
        for name, changes in PRESETS.items():
            if st.button(name, key=f"start_{name}"):
                fields.put({**fields.defaults, **changes})
                st.switch_page(pages["Limb"])
