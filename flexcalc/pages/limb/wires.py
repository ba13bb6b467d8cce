"""Which wire to buy: the table of wires on the limb page, to sort and to pick from."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.inches import sold_as
from data.page.fields import PageFields
from data.page.show import announce, plain_text, show_cautions, show_table
from data.page.units import length_words, table_words, words
from flexcalc.compare.wires import WireChoice, WireTable
from flexcalc.forms.limb_form import SIZED
from flexcalc.limb.inputs import Metal
from flexcalc.limb.trade import METRIC, trade_size
from flexcalc.pages.limb.drawer import (
    ALL_METALS,
    ALL_SIZES,
    DRAWER,
    SOLD,
    drawer_now,
    is_in_drawer,
)
from flexcalc.paper.answers import compared, known_wires
from flexcalc.verdict.plan import LimbPlan

SORTED_BY: dict[str, Callable[[WireChoice], object]] = {
    "thinnest first": lambda row: row.wire.bundle_diameter,
    "most likely to hold": lambda row: (-row.probability, row.wire.bundle_diameter),
    "keeps most of the bend": lambda row: -row.worst_share.median,
    "sags least": lambda row: row.tip_sag.median,
    "easiest to bend": lambda row: row.press_force,
    "longest life": lambda row: -row.life.low,
    "lightest": lambda row: row.wire_mass,
    "by name": lambda row: (row.wire.metal.name, row.wire.strands, row.wire.diameter),
}
SHOWN = ("those that hold", "all that do", "all, also those that do not do")
HEAD = (
    "Wire",
    "Holds with",
    "Keeps of the bend (four of five)",
    "Sags, mm (four of five)",
    "Channel to draw",
    "Hand force",
    "Push in",
    "Re-poses",
    "Wire weighs",
    "Why not",
)
COMPARED = "limb_wires_compared"
"""Whether a table was shown in this tab."""
BENDING = "Bending every wire in this limb …"
WIDE = "\u00a0"
"""A space at which a table does not break its lines."""


def show_wires(fields: PageFields, plan: LimbPlan, metals: Sequence[Metal] | None = None) -> None:
    """Offer to compare all usual wires in the limb, and show the table once the button was pressed.

    The wire that is picked goes into the fields of the limb page, where undo takes it back.
    ``metals`` are those that the page's fields offer, the tabled ones if left out.
    """
    table = known_wires(plan, metals)
    if table is None:
        place = st.empty()
        with place.container():
            again = " again: the limb has changed" if st.session_state.get(COMPARED) else ""
            pressed = _ask(fields, again=again)
        if not pressed:
            return
        with place.container():
            bar = st.progress(0.0, text=BENDING)
        try:
            table = _compared(plan, metals, bar)
        except (ValueError, RuntimeError) as error:
            place.error(f"The wires could not be compared: {plain_text(str(error))}")
            return
        place.empty()
    st.session_state[COMPARED] = True
    _show(fields, table)


def _ask(fields: PageFields, *, again: str) -> bool:
    st.markdown(
        f"Every metal in every usual size ({sold_as('0.8 to 5 mm')}, AWG and SWG 6 to 20), one to "
        "three strands, each in the channel that would be printed for it."
    )
    return st.button(f"Compare all wires{again}", key=f"{fields.prefix}compare")


def _compared(plan: LimbPlan, metals: Sequence[Metal] | None, bar: DeltaGenerator) -> WireTable:
    def tell(share: float) -> None:
        bar.progress(share, text=BENDING)

    return compared(plan, metals, tell)


def _show(fields: PageFields, table: WireTable) -> None:
    announce(table.sentence)
    best = table.smallest_that_holds
    (st.success if best else st.warning)(plain_text(words(table.sentence)))
    if best is not None:
        _show_others(table, best)
    takes = _ask_kind(fields, table)
    order, shown = st.columns(2)
    with order:
        by = st.selectbox("Sort by", tuple(SORTED_BY), key=f"{fields.prefix}wires_by")
    with shown:
        which = st.selectbox(
            "Show", SHOWN, index=0 if best else 1, key=f"{fields.prefix}wires_shown"
        )
    rows = sorted(
        (row for row in table.rows if _wanted(table, row, which) and takes(row)),
        key=SORTED_BY[by],  # type: ignore[arg-type]
    )
    if not rows:
        st.markdown("No wire to show: choose other metals, sizes or another list above.")
        return
    _pick(fields, rows)
    head, cells = table_words(HEAD, [_cells(row) for row in rows])
    show_table(head, [_unbroken(row) for row in cells], f"Wires in this limb, {by}")
    lever = length_words(table.lever)
    st.markdown(
        f"{table.screened} wires were looked at, {len(table.misfits)} of them do not go into this "
        f"limb or its bends; the rest are far too weak or stronger than needed. Probability and "
        f"band come from {table.samples} limbs drawn from the spread of every number, the same "
        f"for all wires; press force is the thumb's where the bend is sharpest, fingers {lever} "
        f"away; push in if the channel comes out tight. A row “holds” from {table.confidence:.0%} "
        "on."
    )
    show_cautions(table.cautions)


def _ask_kind(fields: PageFields, table: WireTable) -> Callable[[WireChoice], bool]:
    """Ask of which metal wires are shown, how they are sold, or only those in the drawer."""
    own = fields.form()["metal"]
    metals = dict.fromkeys(row.wire.metal.name for row in table.rows)
    names = sorted(metals, key=lambda name: name != own)
    which, sold = st.columns(2)
    with which:
        metal = st.selectbox(
            "Metal", (ALL_METALS, *names, DRAWER), key=f"{fields.prefix}wires_metal"
        )
    with sold:
        system = st.selectbox("Sold in", (ALL_SIZES, *SOLD), key=f"{fields.prefix}wires_sold")
    drawer = drawer_now() if metal == DRAWER else ()

    def takes(row: WireChoice) -> bool:
        if system != ALL_SIZES and row.system != SOLD[system]:
            return False
        if metal == DRAWER:
            return is_in_drawer(row.wire, drawer)
        return metal in (ALL_METALS, row.wire.metal.name)

    return takes


def _show_others(table: WireTable, best: WireChoice) -> None:
    names = [
        f"{row.name} ({row.probability:.0%}, press force {row.press_force:.0f} N)"
        for row in _different(table.substitutes(best.wire))
    ]
    if names:
        items = "".join(f"<li>{html.escape(words(name))}</li>" for name in names)
        st.markdown(
            "Cannot buy that one? These hold too, the easiest to bend first:"
            f'<ul aria-label="Substitutes">{items}</ul>',
            unsafe_allow_html=True,
        )


def _different(rows: Sequence[WireChoice]) -> list[WireChoice]:
    """Return single wires, one of each metal and system of sizes, then a few twisted ones."""
    single = [row for row in rows if row.wire.strands == 1]
    return single[:9] + [row for row in rows if row.wire.strands > 1][:3]


def _wanted(table: WireTable, row: WireChoice, which: str) -> bool:
    if which == SHOWN[0]:
        return table.holds(row)
    none_does = not any(one.fits for one in table.rows)
    return row.fits or which == SHOWN[2] or none_does


def _pick(fields: PageFields, rows: Sequence[WireChoice]) -> None:
    by_name = {row.name: row for row in rows}
    choice, button = st.columns([3, 1], vertical_alignment="bottom")
    with choice:
        name = st.selectbox(
            "Pick a wire", tuple(by_name), key=f"{fields.prefix}wires_pick", format_func=words
        )
    with button:
        st.button(
            "Use this wire",
            key=f"{fields.prefix}wires_use",
            on_click=fields.put,
            args=(texts_of(by_name[name]),),
        )


def texts_of(row: WireChoice) -> dict[str, str]:
    """Return what is typed into the limb's fields to use the wire of a row."""
    size = trade_size(row.wire)
    text = f"{row.wire.diameter * 1e3:.10g} mm" if size.system == METRIC else size.name
    channel = row.limb.channel_diameter
    return {
        "metal": row.wire.metal.name,
        "wire": text,
        "strands": str(row.wire.strands),
        "channel": SIZED if channel else "0",
    }


def _cells(row: WireChoice) -> tuple[str, ...]:
    share, sag = row.worst_share, row.tip_sag
    push = f"{row.insertion_force:.0f} N" if row.insertion_force >= 1 else "under 1 N"
    numbers = (
        f"{row.probability:.0%}",
        f"{share.median:.0%} ({share.low:.0%} to {share.high:.0%})",
        f"{sag.median * 1e3:.1f} ({sag.low * 1e3:.1f} to {sag.high * 1e3:.1f})",
        f"{row.channel.draw_diameter * 1e3:.2f} mm",
        f"{row.press_force:.0f} N",
        push,
        f"{_count(row.life.low)} to {_count(row.life.high)}",
        f"{row.wire_mass * 1e3:.1f} g",
    )
    return (row.name, *numbers, "; ".join(row.reasons) or "–")


def _unbroken(cells: Sequence[str]) -> tuple[str, ...]:
    """Return the cells of a row such that only the name and the reasons break their lines."""
    name, *numbers, why = cells
    metal, size = name.rsplit(", ", 1)
    called = f"{metal},".replace(" ", WIDE) + " " + size.replace(" ", WIDE)
    return (called, *(cell.replace(" ", WIDE) for cell in numbers), why)


def _count(number: float) -> str:
    if number >= 1e6:
        return "over a million"
    return f"{number:.0f}" if number < 100 else f"{float(f'{number:.2g}'):.0f}"
