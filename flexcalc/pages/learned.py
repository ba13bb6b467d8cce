"""What bench readings taught: before and after with bands, and a place to keep it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TypeVar

import streamlit as st

from data.page import history
from data.page.show import announce, plain_text, show_cautions, show_measures
from data.store.folder import StoreError
from flexcalc.bench.learning import Learned, Update, learned, updated
from flexcalc.bench.readings import Reading
from flexcalc.build.channel import size_channel
from flexcalc.limb.inputs import Elastomer, Limb, Metal
from flexcalc.limb.own_materials import Own, own_things, save_own
from flexcalc.limb.printer import Printer
from flexcalc.pages.limb import limb_fields
from flexcalc.paper.answers import likely_poses
from flexcalc.verdict.plan import LimbPlan

Thing = TypeVar("Thing", Elastomer, Metal, Printer, Limb)
FOUR_OF_FIVE = 1.2815515655446004
"""Standard deviations each side that hold four of five."""
SHOWN_IN = {"Pa": (1e-6, "MPa"), "m": (1e3, "mm"), "1": (1.0, "")}
CALLED = {"elastomer": "filament", "metal": "wire metal", "printer": "printer"}
SAMPLES = 512
say = partial(history.say, "bench_")
"""Keep a sentence for the next run to show at the top of the page."""


@st.cache_data(max_entries=100, show_spinner=False)
def _taught(_thing: Thing, _readings: list[Reading], key: str) -> tuple[Thing, Learned]:
    return updated(_thing, _readings), learned(_thing, _readings)


def show_learned(kind: str, thing: Thing, readings: Sequence[Reading], place: str = "") -> Thing:
    """Show how readings change a thing, offer to keep it, and return it as it is known now.

    ``place`` tells two places of the page apart that teach of the same kind.

    ValueError for readings that no thing of this kind explains.
    """
    rows = list(readings)
    after, taught = _taught(thing, rows, repr((thing, rows)))
    show_measures(
        (
            "Number",
            "Before (four of five)",
            "Measured",
            "Now (four of five)",
            "Weight",
        ),
        [_cells(update) for update in taught.updates],
        "What the bench taught",
    )
    announce("; ".join(update.text for update in taught.updates))
    show_cautions(taught.cautions)
    if isinstance(after, Limb):
        _offer(kind, "elastomer", after.elastomer)
        if after.wire is not None:
            _offer(kind, "metal", after.wire.metal)
    else:
        _offer(place or kind, kind, after)
    return after


def show_narrowing(plan: LimbPlan, after: Limb) -> None:
    """Show the band of the limb typed on the page Limb before and with what the bench taught."""
    rows = []
    for name, limb in (("before", plan.limb), ("with the bench", after)):
        found = likely_poses(plan, SAMPLES, limb)
        band = found.worst_share
        rows.append(
            (
                name,
                f"{band.median:.0%} ({band.low:.0%} to {band.high:.0%})",
                f"{found.tip_sag.median * 1e3:.1f} mm",
                f"{found.probability:.0%}",
            )
        )
    show_measures(
        ("", "Keeps of the worst bend (four of five)", "Sags", "Holds with"),
        rows,
        "The limb typed on the page Limb",
    )


def show_channel_change(plan: LimbPlan, side: str, before: Printer, after: Printer) -> None:
    """Show the channel to draw for the wire typed on the page Limb, before and after."""
    if plan.limb.wire is None:
        return
    sizes = [
        size_channel(plan.limb.wire.bundle_diameter, side, printer=printer)
        for printer in (before, after)
    ]
    show_measures(
        ("", "Draw the channel", "From", "To"),
        [
            (name, *(f"{v * 1e3:.2f} mm" for v in (one.draw_diameter, one.draw_low, one.draw_high)))
            for name, one in zip(("before", "with the bench"), sizes, strict=True)
        ],
        f"The wire typed on the page Limb, channel {side}",
    )


def keep(thing: Own) -> bool:
    """Keep an own thing and say so, or say why not; return whether it is kept."""
    try:
        save_own(thing)
    except (ValueError, StoreError) as error:
        say("error", f"Not kept: {error}")
        return False
    say("success", f"Kept {thing.name}.")
    return True


def _cells(update: Update) -> tuple[str, ...]:
    return (
        update.name,
        _shown(update, update.before, update.before_error),
        _shown(update, update.measured, update.measured_error),
        _shown(update, update.after, update.after_error),
        f"{update.weight:.0%}",
    )


def _shown(update: Update, value: float, error: float) -> str:
    scale, unit = SHOWN_IN[update.unit]
    if update.as_factor:
        factor = error**FOUR_OF_FIVE
        low, high = value / factor, value * factor
    else:
        low, high = value - FOUR_OF_FIVE * error, value + FOUR_OF_FIVE * error
    middle, low, high = (f"{x * scale:.3g}" for x in (value, low, high))
    return f"{middle} {unit} ({low} to {high})".replace("  ", " ")


def _offer(place: str, kind: str, thing: Elastomer | Metal | Printer) -> None:
    try:
        own = thing.name in own_things(kind).things
    except StoreError:
        return  # said where the own ones are listed
    name, button = st.columns([3, 1], vertical_alignment="bottom")
    key = f"bench_keep_{place}_{kind}_{thing.name}"
    with name:
        st.text_input(
            f"Name for my {CALLED[kind]}",
            thing.name if own else f"my {thing.name}"[:80],
            key=key,
            max_chars=80,
        )
    with button:
        st.button(
            f"Keep as my {CALLED[kind]}",
            key=f"{key}_button",
            on_click=_keep_as,
            args=(thing, key, ""),
        )
    st.button(
        f"Keep it and use it in the limb typed on the page Limb ({CALLED[kind]})",
        key=f"{key}_use",
        on_click=_keep_as,
        args=(thing, key, kind),
    )
    _ask_taken(key)


def _ask_taken(key: str) -> None:
    """Ask what to do where another thing has the name: nothing is replaced unasked."""
    asked = st.session_state.get(f"{key}_taken")
    if asked is None:
        return
    made, field = asked
    st.warning(plain_text(f"{made.name} is kept already, with other numbers."))
    free = _free_name(made)
    for label, name in ((f"Replace {made.name}", made.name), (f"Keep it as {free}", free)):
        st.button(
            plain_text(label),
            key=f"{key}_taken_{name == free}",
            on_click=_keep_taken,
            args=(key, replace(made, name=name), field),
        )


def _free_name(made: Own) -> str:
    taken = own_things(_kind_of(made)).things
    names = (f"{made.name[:76]} {number}" for number in range(2, 1000))
    return next(name for name in names if name not in taken)


def _kind_of(made: Own) -> str:
    kinds = {Elastomer: "elastomer", Metal: "metal", Printer: "printer"}
    return kinds[type(made)]


def _keep_taken(key: str, made: Own, field: str) -> None:
    st.session_state.pop(f"{key}_taken", None)
    _keep_and_use(made, field)


def _keep_as(thing: Own, key: str, field: str) -> None:
    """Keep a thing under the name typed; ``field`` of the limb takes it, where it is not empty."""
    name = str(st.session_state[key]).strip()
    try:
        made = replace(thing, name=name)
        there = own_things(_kind_of(made)).things.get(name)
    except (ValueError, StoreError) as error:
        say("error", f"Not kept: {error}")
        return
    if there is not None and there != made:
        st.session_state[f"{key}_taken"] = (made, field)
        return
    st.session_state.pop(f"{key}_taken", None)
    _keep_and_use(made, field)


def _keep_and_use(made: Own, field: str) -> None:
    if not keep(made) or not field:
        return
    fields = limb_fields()
    fields.put({**fields.form(), field: made.name})
    say("success", f"The limb typed on the page Limb has {made.name} now.")
