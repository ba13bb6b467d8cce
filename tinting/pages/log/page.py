"""The page of the swatch log: what was dyed, what came of it, and what was predicted."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from data.page.guard import guarded
from data.page.history import show_said
from data.page.show import plain_text
from data.store.entries import UndoStep, count_steps
from data.store.folder import StoreError
from tinting.pages.log.acts import act, log_fields, say, show_state
from tinting.pages.log.strip import show_strip

CANNOT = "The swatch log cannot be used now, and nothing typed is lost. "


def show_log_page(strip: Callable[[str], bytes] | None = None) -> None:
    """Show the page on which measured swatches are kept.

    ``strip`` returns the file of a strip of five fields to print, of the kind "stl" or "3mf".
    """
    st.title("Swatch log")
    st.markdown(
        "Every measured swatch makes the next prediction better. Write down what was dyed with "
        "what and which colour came out, dry; the page Tint learns from the rows that are used."
    )
    _ask_and_show()
    with st.expander("A strip to print, and when to read it"):
        show_strip(strip)


@st.fragment
@guarded
def _ask_and_show() -> None:
    show_said("log_")
    try:
        with st.container():
            show_state()
        _show_all()
    except StoreError as error:
        st.error(CANNOT + plain_text(str(error)))


def _show_all() -> None:
    from tinting.forms.choices import Choices
    from tinting.log.bottles import list_bottles
    from tinting.log.swatches import KIND, list_swatches, log_path
    from tinting.pages.learned import learned_now
    from tinting.pages.log.ask import ask_row
    from tinting.pages.log.files import show_files
    from tinting.pages.log.rows import show_rows
    from tinting.pages.log.strip import show_series

    fields = log_fields()
    listing = list_swatches()
    _show_steps(*count_steps(KIND, path=log_path()))
    choices = Choices(learned=learned_now(), bottles=list_bottles().bottles)
    with st.container():  # the form below keeps its place, and its cursor, whatever stands here
        for caution in listing.cautions:
            st.warning(plain_text(caution.text))
        if listing.records:
            show_rows(fields, listing.records, choices)
        else:
            _show_first_steps()
    ask_row(fields, listing.records)
    if choices.learned.series:
        with st.expander("Read again while it dried"):
            show_series(choices.learned.series)
    show_files(bool(listing.records), bool(choices.bottles))


def _show_first_steps() -> None:
    st.info(
        "The log is empty. What to do next: paint a scrap of your filament with 1 part of dye and "
        "7 parts of alcohol, 3 coats, let it dry for 30 minutes, measure it beside a bare scrap "
        "(instrument, photo with a chart, or by eye) and fill in the form below. Or look around "
        "with three invented swatches first."
    )
    st.button("Add three invented demo swatches", key="log_demo", on_click=act, args=(_add_demo,))


def _add_demo() -> None:
    from data import FOLDER
    from tinting.log.transfer import import_csv

    import_csv((FOLDER / "demo" / "swatches.csv").read_bytes())
    say(
        "success",
        "Added three invented swatches, marked as such in their notes. Undo removes them.",
    )


def _show_steps(back: int, forth: int) -> None:
    from tinting.log.swatches import redo, undo

    with st.container(horizontal=True, horizontal_alignment="left"):
        for label, count, step, key in (
            ("Undo a change of the log", back, undo, "log_step_back"),
            ("Redo a change of the log", forth, redo, "log_step_forth"),
        ):
            st.button(
                f"{label} ({count})",
                key=key,
                disabled=not count,
                on_click=act,
                args=(_step, step, label.split()[0]),
            )


def _step(step: Callable[[], UndoStep], word: str) -> None:
    done = step()
    say("success" if done.done else "info", f"{word}: {done.words}.")
