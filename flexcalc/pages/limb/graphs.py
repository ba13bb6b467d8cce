"""Graphs of what a limb keeps: against wire size, against time, what the doubt comes from, life."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import streamlit as st

from data.page.fields import PageFields
from data.page.units import mm_in_a_unit, words
from flexcalc.compare.curves import (
    LifePoint,
    SizePoint,
    TimePoint,
    life_by_radius,
    share_by_hold,
    share_by_rest,
    share_by_size,
)
from flexcalc.forms.limb_form import SIZED
from flexcalc.limb.inputs import Metal
from flexcalc.limb.trade import METRIC, trade_size
from flexcalc.pages.limb.drawer import (
    ALL_METALS,
    DRAWER,
    SOLD,
    drawer_now,
    is_in_drawer,
    keep_in_drawer,
)
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

HIGH = 240


def show_size_graph(fields: PageFields, plan: LimbPlan, metals: Sequence[Metal]) -> None:
    """Show the share kept against the wire's diameter, a line for each metal, sizes to choose."""
    which, sold = st.columns(2)
    own = plan.limb.wire.metal.name if plan.limb.wire else ""
    names = sorted((metal.name for metal in metals), key=lambda name: name != own)
    with which:
        wanted = st.selectbox("Metal", (*names, ALL_METALS, DRAWER), key="limb_graph_metal")
    with sold:
        system = st.selectbox("Sold in", tuple(SOLD), key="limb_graph_sold")
    chosen = [metal for metal in metals if wanted in (metal.name, ALL_METALS)]
    drawer, systems = drawer_now(), [SOLD[system]]
    if wanted == DRAWER:  # however they are sold
        systems = list(SOLD.values())
        chosen = [metal for metal in metals if metal.name in {wire.metal for wire in drawer}]
    keep_in_drawer(fields, drawer)
    if not chosen:
        st.markdown("No wire is in your drawer: put the one that is typed into it.")
        return
    with st.spinner("Bending these wires …"):
        points = [point for each in systems for point in _sizes(plan, tuple(chosen), each)]
    if wanted == DRAWER:
        points = [point for point in points if is_in_drawer(point.wire, drawer)]
    if not points:
        st.markdown("None of these sizes goes into this limb.")
        return
    picked = st.altair_chart(
        _size_chart(points, plan.wish.share),
        key="limb_graph_sizes",
        on_select="rerun",
        selection_mode="wire",
        alt=_size_words(points, plan.wish.share),
    )
    _offer(fields, points, picked)


def _offer(fields: PageFields, points: Sequence[SizePoint], picked: Any) -> None:
    """Offer the wire that was chosen in the graph, or in the list beside it."""
    by_name = {point.name: point for point in points}
    selected = picked.selection.get("wire", []) if picked else []
    name = selected[0].get("name") if selected else None
    options = tuple(by_name)
    index = options.index(name) if name in by_name else 0
    choice, button = st.columns([3, 1], vertical_alignment="bottom")
    with choice:
        name = st.selectbox(
            "Wire", options, index=index, key=f"limb_graph_wire_{name}", format_func=words
        )
    with button:
        st.button(
            "Use it", key="limb_graph_use", on_click=fields.put, args=(_texts(by_name[name]),)
        )
    share = by_name[name].share
    st.markdown(f"Keeps {share.median:.0%} of the bend, {share.low:.0%} to {share.high:.0%}.")


def _texts(point: SizePoint) -> dict[str, str]:
    size = trade_size(point.wire)
    text = f"{point.wire.diameter * 1e3:.10g}" if size.system == METRIC else size.name
    return {"metal": point.wire.metal.name, "wire": text, "strands": "1", "channel": SIZED}


@lru_cache(maxsize=50)
def _sizes(plan: LimbPlan, metals: tuple[Metal, ...], system: str) -> tuple[SizePoint, ...]:
    return share_by_size(plan, metals, system)


@lru_cache(maxsize=50)
def _times(plan: LimbPlan) -> tuple[tuple[TimePoint, ...], tuple[TimePoint, ...]]:
    return share_by_hold(plan), share_by_rest(plan)


def _size_chart(points: Sequence[SizePoint], wish: float) -> Any:
    import altair as alt

    per, unit = mm_in_a_unit()
    rows = [
        {
            "diameter": point.wire.diameter * 1e3 / per,
            "metal": point.wire.metal.name,
            "kept": 100 * point.share.median,
            "low": 100 * max(point.share.low, 0.0),
            "high": 100 * point.share.high,
            "name": point.name,
            "wire": words(point.name),
        }
        for point in points
    ]
    base = alt.Chart(_data(rows)).encode(
        x=alt.X("diameter:Q", title=f"Wire diameter, {unit}", scale=alt.Scale(zero=False)),
        color=alt.Color("metal:N", title=None, legend=alt.Legend(orient="bottom", columns=2)),
    )
    kept = alt.Y("kept:Q", title="Bend kept, %", scale=alt.Scale(domain=[0, 100]))
    select = alt.selection_point(name="wire", fields=["name"])
    return (
        base.mark_area(opacity=0.15).encode(y=alt.Y("low:Q", title=None), y2="high:Q")
        + base.mark_line().encode(y=kept, strokeDash=alt.StrokeDash("metal:N", legend=None))
        + base.mark_point(size=60, filled=True)
        .encode(y=kept, shape=alt.Shape("metal:N", legend=None), tooltip=["wire:N", "kept:Q"])
        .add_params(select)
        + _wish_line(wish)
    ).properties(height=HIGH + 60)


def _data(rows: list[dict[str, Any]]) -> Any:
    import altair as alt

    return alt.Data(values=rows)  # type: ignore[no-untyped-call]


def _wish_line(wish: float) -> Any:
    import altair as alt

    rule = alt.Chart(_data([{"wish": 100 * wish}]))
    return rule.mark_rule(strokeDash=[6, 4]).encode(y="wish:Q")


def _size_words(points: Sequence[SizePoint], wish: float) -> str:
    """Say a graph in words: of each metal the thinnest wire that reaches the wish."""
    said = []
    for metal in dict.fromkeys(point.wire.metal.name for point in points):
        own = [point for point in points if point.wire.metal.name == metal]
        enough = [point for point in own if point.share.median >= wish]
        reach = (
            words(f"from {enough[0].wire.diameter * 1e3:.2f} mm on")
            if enough
            else "with none of them"
        )
        said.append(f"{metal} {reach}")
    return f"Bend kept against wire diameter. {wish:.0%} is kept by {'; '.join(said)}."


def show_time_graphs(plan: LimbPlan) -> None:
    """Show the share kept against the time it is held, and against the time after letting go."""
    holds, rests = _times(plan)
    for points, title in ((holds, "Held in the hand"), (rests, "After letting go")):
        st.altair_chart(
            _time_chart(points, title, plan.wish.share),
            alt=f"{title}: bend kept "
            + ", ".join(f"{said(point.time)} {point.share.median:.0%}" for point in points),
        )


def said(time: float) -> str:
    """Say a time in its largest whole unit, "10 min"."""
    for unit, length in (("d", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if time >= length:
            return f"{time / length:g} {unit}"
    return f"{time:g} s" if time else "at once"


def _time_chart(points: Sequence[TimePoint], title: str, wish: float) -> Any:
    import altair as alt

    rows = [
        {
            "time": said(point.time),
            "kept": 100 * point.share.median,
            "low": 100 * max(point.share.low, 0.0),
            "high": 100 * point.share.high,
        }
        for point in points
    ]
    base = alt.Chart(_data(rows)).encode(
        x=alt.X("time:O", sort=None, title=title, axis=alt.Axis(labelAngle=0))
    )
    kept = alt.Y("kept:Q", title="Bend kept, %", scale=alt.Scale(domain=[0, 100]))
    return (
        base.mark_area(opacity=0.2).encode(y=alt.Y("low:Q", title=None), y2="high:Q")
        + base.mark_line(point=True).encode(y=kept)
        + _wish_line(wish)
    ).properties(height=HIGH)


def show_driver_graph(verdict: Verdict) -> None:
    """Show what the doubt comes from, as bars."""
    import altair as alt

    rows = [
        {"what": driver.name, "share": 100 * driver.share}
        for driver in verdict.likely.drivers
        if driver.share >= 0.01
    ]
    chart = alt.Chart(_data(rows)).mark_bar().encode(
        x=alt.X("share:Q", title="Share of the doubt, %"),
        y=alt.Y("what:N", sort=None, title=None, axis=alt.Axis(labelLimit=220)),
    )  # fmt: skip
    told = ", ".join(f"{row['what']} {row['share']:.0f} %" for row in rows)
    st.altair_chart(chart, alt=f"What the doubt comes from: {told}")


def show_life_graph(plan: LimbPlan) -> None:
    """Show how tightly the wire can be bent for so many re-poses."""
    wire = plan.limb.wire
    if wire is None:
        return
    import altair as alt

    points: Sequence[LifePoint] = life_by_radius(wire)
    per, unit = mm_in_a_unit()
    rows = [
        {"poses": point.re_poses, "radius": 1e3 * radius / per, "law": law}
        for point in points
        for radius, law in ((point.safe, "safe by every law"), (point.hopeful, "most hopeful law"))
    ]
    lines = alt.Chart(_data(rows)).mark_line(point=True).encode(
        x=alt.X("radius:Q", title=f"Bend radius, {unit}"),
        y=alt.Y("poses:Q", title="Re-poses", scale=alt.Scale(type="log")),
        strokeDash=alt.StrokeDash("law:N", title=None, legend=alt.Legend(orient="bottom")),
    )  # fmt: skip
    told = ", ".join(
        words(f"{point.re_poses:.0f} from R {1e3 * point.safe:.0f} mm") for point in points
    )
    st.altair_chart(
        lines.properties(height=HIGH),
        alt=f"Re-poses against bend radius, safe by every law: {told}",
    )
