"""The page of the maker's bottles of dye: ticked, added by a blot, edited, given and taken."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import streamlit as st

from data.page import history
from data.page.fields import PageFields
from data.page.form import RefusedFieldsError
from data.page.guard import guarded
from data.page.show import plain_text, show_table, square
from data.store.entries import count_steps
from data.store.folder import StoreError
from tinting.forms.bottle import (
    BY_BLOT,
    BY_SWATCHES,
    FIELDS,
    GROUNDS,
    bottle_from_form,
    form_from_bottle,
)
from tinting.forms.spellings import thinning_words
from tinting.log.bottles import (
    KIND,
    Bottle,
    bottles_text,
    keep_bottle,
    list_bottles,
    redo_bottles,
    remove_bottle,
    take_bottles,
    undo_bottles,
)
from tinting.log.record import folded
from tinting.pages.colours import ask_colour
from tinting.pages.photo import ask_photo, photo_fields

say = partial(history.say, "bottle_")
"""Keep a sentence for the next time the page is drawn."""
FIRST, SECOND = "Bare paper or part", "Blot"
SHOWN = (0.1, 2)
"""Share and coats at which a dye is shown."""


def show_shelf_page() -> None:
    """Show the page on which the maker's bottles are kept."""
    st.title("My bottles")
    st.markdown(
        "Tick the dyes you own: recipes, the tint page and the log then offer these alone. A "
        "bottle is known by **one blot** at once, and better by **swatches** in the log."
    )
    _ask_and_show()


@st.fragment
@guarded
def _ask_and_show() -> None:
    fields = bottle_fields()
    fields.link()
    history.show_said("bottle_")
    kept = list_bottles()
    for name, sentence in kept.refused.items():
        st.warning(f"{plain_text(name)} cannot be used: {plain_text(sentence)}")
    left, right = st.columns(2, gap="large")
    with left:
        _show_ticks(kept.bottles)
        _show_handling(fields, kept.bottles, [*kept.refused])
    with right:
        _ask_bottle(fields, kept.bottles)
    with st.expander("Give and take"):
        _show_exchange(bool(kept.bottles))


def bottle_fields() -> PageFields:
    """Return the fields of the page."""
    return PageFields("bottle_", {**FIELDS, **photo_fields(FIRST, SECOND)})


def act(change: Callable[..., object], *arguments: Any) -> None:
    """Carry out a change of the bottles; what it refuses is said."""
    try:
        change(*arguments)
    except (ValueError, StoreError) as error:
        say("error", f"Nothing was changed: {error}")


def _show_ticks(bottles: Sequence[Bottle]) -> None:
    from tinting.pages.learned import learned_now
    from tinting.skin.demo import demo_dyes

    try:
        logged = learned_now().dye_names
    except StoreError as error:
        st.error(plain_text(str(error)))
        logged = ()
    real = [bottle for bottle in bottles if not bottle.demo]
    kept = {folded(bottle.name): bottle for bottle in bottles}
    others = [Bottle(name=name, owned=False) for name in logged
              if folded(name) not in kept and _can_be(name)]  # fmt: skip
    st.header("I own")
    if not real and not others:
        st.markdown("No bottle of yours yet: put the first one on the shelf beside.")
    named = {bottle.name for bottle in (*real, *others)}
    for bottle in (*real, *others):
        _tick(bottle)
    _show_known(real, logged)
    with st.expander("Demo bottles, invented, to try with until you have your own"):
        for dye in demo_dyes():
            taken = kept.get(folded(dye.name))
            if dye.name not in named and (taken is None or taken.demo):
                _tick(taken or Bottle(name=dye.name, owned=False, demo=True))


def _can_be(name: str) -> bool:
    try:
        Bottle(name=name)
    except ValueError:
        return False
    return True


def _tick(bottle: Bottle) -> None:
    key = f"bottle_tick_{bottle.name}"
    st.session_state[key] = bottle.owned
    st.checkbox(
        plain_text(bottle.name + (" (demo, invented)" if bottle.demo else "")),
        key=key,
        on_change=act,
        args=(_set_tick, bottle),
    )


def _set_tick(bottle: Bottle) -> None:
    owned = bool(st.session_state[f"bottle_tick_{bottle.name}"])
    if bottle.demo and not owned:
        remove_bottle(bottle.name)
    else:
        keep_bottle(dataclasses.replace(bottle, owned=owned))


def _show_known(bottles: Sequence[Bottle], logged: Sequence[str]) -> None:
    if not bottles:
        return
    names = {folded(name) for name in logged}
    rows = []
    for bottle in bottles:
        known = folded(bottle.name) in names
        colour = _colour(bottle)
        rows.append(
            (
                bottle.name,
                square(colour, f"{bottle.name}, 1 part to 9, 2 coats") if colour else "",
                "swatches of the log" if known
                else "nothing yet: paint a swatch" if bottle.blot is None
                else bottle.known_by,
                bottle.lot,
                bottle.note,
            )
        )  # fmt: skip
    show_table(
        ("Bottle", "", "Known by", "Lot", "Strength"),
        rows,
        "My bottles; squares show 1 part of dye with 9 of alcohol, 2 coats on off-white TPU",
    )


def _colour(bottle: Bottle) -> str:
    from tinting.skin.demo import demo_base
    from tinting.skin.dyed import tint

    dye = bottle.dye
    return "" if dye is None else tint(demo_base(), [(dye, SHOWN[0])], SHOWN[1]).hex


def _show_handling(fields: PageFields, bottles: Sequence[Bottle], hurt: Sequence[str]) -> None:
    own = {bottle.name: bottle for bottle in bottles if not bottle.demo}
    names = [*own, *hurt]
    with st.container(horizontal=True, horizontal_alignment="left", vertical_alignment="bottom"):
        if names:
            name = st.selectbox("One of my bottles", names, key="bottle_one")
            bottle = own.get(name)
            st.button("Change it", key="bottle_edit", on_click=_edit, args=(fields, bottle),
                      disabled=bottle is None)  # fmt: skip
            st.button("Remove it", key="bottle_remove", on_click=act, args=(_remove, name))
        for label, count, step, key in zip(
            ("Take back", "Make again"), count_steps(KIND), (undo_bottles, redo_bottles),
            ("bottle_back", "bottle_forth"), strict=True,
        ):  # fmt: skip
            if count:
                st.button(f"{label} the last change ({count})", key=key, on_click=act, args=(step,))


def _edit(fields: PageFields, bottle: Bottle) -> None:
    fields.put({**fields.form(), **form_from_bottle(bottle)})
    say("info", f"{bottle.name} is in the form: change it there and put it back on the shelf.")


def _remove(name: str) -> None:
    remove_bottle(name)
    say("success", f"Removed {name}. “Take back the last change” brings it back.")


def _ask_bottle(fields: PageFields, bottles: Sequence[Bottle]) -> None:
    st.header("Put a bottle on the shelf")
    for key in ("name", "lot", "note"):
        fields.text(key)
    if fields.choice("known", (BY_BLOT, BY_SWATCHES)) == BY_BLOT:
        fields.choice("ground", tuple(GROUNDS))
        ask_colour(fields, "blot", "Pick the colour of the blot")
        with st.expander("The blot from a photo"):
            ask_photo(fields, FIRST, SECOND, _take_blot, "Take these two colours")
        with st.expander("Bare colour, dilution and coats of the blot"):
            ask_colour(fields, "bare", "Pick the bare colour")
            fields.text("parts")
            fields.text(
                "alcohol", echo=lambda typed: thinning_words(typed, [fields.form()["parts"]])
            )
            fields.text("coats")
    else:
        st.markdown(
            "Paint one swatch with 1 part of dye and 7 parts of alcohol, 3 coats, and write it "
            "into the Swatch log under this name: from then on recipes use it."
        )
    form = fields.settle()
    tried = st.session_state.get("bottle_tried", False)
    try:
        bottle = bottle_from_form(form)
    except RefusedFieldsError as refused:
        bottle = None
        if tried:
            fields.show_refusals(refused)
    if bottle is not None:
        _show_worth(bottle)
    st.button(
        "Put it on the shelf", key="bottle_keep", type="primary", on_click=act,
        args=(_keep, fields, bottles),
    )  # fmt: skip


def _show_worth(bottle: Bottle) -> None:
    """Show the dye of a blot as it is seen, and how well it is known."""
    from tinting.learn.band import estimate_band
    from tinting.skin.demo import demo_base
    from tinting.skin.dyed import tint

    dye = bottle.dye
    if dye is None:
        return
    shown = tint(demo_base(), [(dye, SHOWN[0])], SHOWN[1])
    band = estimate_band(shown)
    st.html(
        f"<p>{square(shown.hex, bottle.name, '3rem')} 1 part of dye with 9 of alcohol, 2 coats on "
        f"off-white TPU. 80 % band: {band.radius:.1f} ΔE00 around it; a swatch or two in the log "
        f"narrow it.</p>"
    )


def _keep(fields: PageFields, bottles: Sequence[Bottle]) -> None:
    st.session_state["bottle_tried"] = True
    try:
        bottle = bottle_from_form(fields.form())
    except RefusedFieldsError:
        return
    keep_bottle(bottle)
    st.session_state.pop("bottle_tried")
    there = any(each.name == bottle.name for each in bottles)
    say("success", f"{bottle.name} is {'changed' if there else 'on the shelf'}, safe on the disk.")
    fields.put({**fields.form(), "name": "", "lot": "", "note": "", "blot": ""})


def _take_blot(reading: Any, _: bytes) -> None:
    texts = {
        "bare": " ".join(f"{value:.1f}" for value in reading.base_lab),
        "blot": " ".join(f"{value:.1f}" for value in reading.swatch_lab),
    }
    bottle_fields().put({**bottle_fields().form(), **texts})
    say("success", f"Both colours are in the form; they may be off by {reading.error:.0f} ΔE00.")


def _show_exchange(anything: bool) -> None:
    st.markdown("The zip of the swatch log holds the bottles, too.")
    st.download_button(
        "All my bottles as a file", bottles_text, file_name="bottles.json",
        mime="application/json", key="bottle_save", on_click="ignore", disabled=not anything,
    )  # fmt: skip
    uploaded = st.file_uploader(
        "Take in a file of bottles (those of the same name are replaced)", type=["json"],
        key=f"bottle_file_{st.session_state.get('bottle_files', 0)}", max_upload_size=1,
    )  # fmt: skip
    st.button("Take it in", key="bottle_take", disabled=uploaded is None, on_click=act,
              args=(_take_in, uploaded))  # fmt: skip


def _take_in(uploaded: Any) -> None:
    words = take_bottles(uploaded.getvalue())
    st.session_state["bottle_files"] = st.session_state.get("bottle_files", 0) + 1
    say("success", words)
