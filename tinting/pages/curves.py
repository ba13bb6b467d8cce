"""How well the dyes are known, as graphs, each with a sentence of its numbers."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

import numpy as np
import streamlit as st
from numpy.typing import NDArray

from data.page.show import plain_text
from data.store.folder import StoreError
from tinting.colour.colorimetry import xyz_from_lab
from tinting.colour.difference import delta_e
from tinting.colour.screen import hex_from_srgb, srgb_from_xyz
from tinting.forms.choices import Choices
from tinting.forms.curves import (
    DILUTIONS,
    Growth,
    Strength,
    band_growth,
    dilution_curve,
    painted_alone,
)
from tinting.learn.learned import MARK, Learned, swatch_words
from tinting.learn.repeats import MeanSwatch, drying_words
from tinting.mix.batch import parts_text
from tinting.mix.plan import TintPlan
from tinting.paper.report import lab_words

Array = NDArray[np.float64]
HIGH = 380
COATS = (1, 3, 5)
INK = "#6b7580"
"""Of lines, on a light page as on a dark one."""
DOT = "#c2611f"
"""Of what was measured."""


def data_of(rows: Sequence[dict[str, Any]]) -> Any:
    """Return rows as a graph takes them."""
    import altair as alt

    return alt.Data(values=list(rows))  # type: ignore[no-untyped-call]


def screen_colours(labs: Array) -> list[str]:
    """Return screen colours of CIELAB (N, 3), near enough for a graph."""
    encoded = np.clip(srgb_from_xyz(xyz_from_lab(labs, "D65", 2)), 0.0, 1.0)
    return [hex_from_srgb(each) for each in encoded]


def _chart(chart: Any, name: str, words: str) -> None:
    """Show a graph by its name, and in words what it shows."""
    st.altair_chart(chart, alt=f"{name}; its numbers stand below")
    st.markdown(plain_text(words))


def show_dilution(plan: TintPlan, choices: Choices) -> None:
    """Show how one dye builds up with its share, and its swatches."""
    dyes = {dye.name: dye for dye in choices.all_dyes(plan.base.name)}
    first = [dye.name for dye, share in plan.mix if share > 0]
    names = sorted(dyes, key=lambda name: name not in first)
    name = st.selectbox("Dye", names, key="tint_graph_dye")
    curves = [dilution_curve(choices, plan.base, dyes[name], coats) for coats in COATS]
    dots = painted_alone(choices.learned, plan.base, name) if name.endswith(MARK) else ()
    words = _strength_words(name, curves, dots)
    _chart(_strength_chart(curves, dots), f"ΔE00 of {name} by its share", words)


def _strength_chart(curves: Sequence[Sequence[Strength]], dots: Sequence[Strength]) -> Any:
    import altair as alt

    line = data_of([_strength_row(point) for curve in curves for point in curve])
    kind = alt.Legend(title=None, orient="bottom")
    scale = alt.Scale(type="log", domain=[100 * float(DILUTIONS.min()), 100], nice=False)
    x = alt.X("percent:Q", title="Dye in the mix, %", scale=scale)
    base = alt.Chart(line).encode(x=x)
    layers = [
        base.mark_area(opacity=0.15, color=INK).encode(
            y=alt.Y("low:Q", title="ΔE00 from the bare part"), y2="high:Q", detail="coats:N"
        ),
        base.mark_line(color=INK).encode(
            y="away:Q", strokeDash=alt.StrokeDash("coats:N", legend=kind)
        ),
    ]
    if dots:
        painted = alt.Chart(data_of([_strength_row(dot) for dot in dots])).encode(
            x=x, y="away:Q", tooltip=["coats:N", "percent:Q", "away:Q"]
        )
        layers += [
            painted.mark_point(filled=True, size=80, color=DOT, opacity=1),
            painted.mark_text(dx=8, dy=9, align="left", color=DOT).encode(text="coats:N"),
        ]
    return alt.layer(*layers).properties(height=HIGH)


def _strength_row(point: Strength) -> dict[str, Any]:
    return {
        "percent": round(100 * point.share, 2),
        "coats": _coats(point.coats),
        "away": round(point.away, 1),
        "low": point.low,
        "high": point.high,
    }


def _coats(coats: int) -> str:
    return f"{coats} coat{'' if coats == 1 else 's'}"


def _strength_words(
    name: str, curves: Sequence[Sequence[Strength]], dots: Sequence[Strength]
) -> str:
    strong, weak = (parts_text(curves[0][end].share) for end in (-1, 0))
    told = [
        f"{_coats(curve[0].coats)} {curve[-1].away:.0f} ({curve[-1].low:.0f} to "
        f"{curve[-1].high:.0f})"
        for curve in curves
    ]
    faint = ", ".join(f"{curve[0].away:.0f}" for curve in curves)
    painted = f" Dots: {len(dots)} swatches as they read." if dots else " No swatch of it yet."
    return (
        f"{name}, ΔE00 from the bare part with its 80 % band, {strong}: {', '.join(told)}; "
        f"{weak}: {faint}.{painted}"
    )


def show_left_out(learned: Learned) -> None:
    """Show each swatch of the log as the others predict it, against its reading."""
    if not learned.fits or len(learned.fits[0].swatches) < 2:
        st.markdown("It takes two swatches in the log: each is predicted by the others.")
        return
    fit = learned.fits[0]
    read = np.array([swatch.lab for swatch in fit.swatches])
    away = delta_e(fit.left_out, read)
    rows = [
        {"axis": axis, "measured": float(read[place, k]), "predicted": float(others[k]),
         "swatch": swatch_words(swatch.shares, swatch.coats), "ΔE00": round(float(away[place]), 1),
         "hex": colour}
        for place, (swatch, others, colour) in enumerate(
            zip(fit.swatches, fit.left_out, screen_colours(read), strict=True))
        for k, axis in enumerate(("L*", "a*", "b*"))
    ]  # fmt: skip
    worst = int(away.argmax())
    swatch = fit.swatches[worst]
    for axis, column in zip(("L*", "a*", "b*"), st.columns(3), strict=True):
        own = [row for row in rows if row["axis"] == axis]
        with column:
            alt = f"{axis} predicted against measured, a dot a swatch; its numbers stand below"
            st.altair_chart(_left_out_chart(axis, own), alt=alt)
    st.markdown(
        plain_text(
            f"Each of {len(read)} swatches, predicted by all the others: {np.median(away):.1f} "
            f"ΔE00 from its reading in the median, at most {away[worst]:.1f} "
            f"({swatch_words(swatch.shares, swatch.coats)})."
        )
    )


def _left_out_chart(axis: str, rows: list[dict[str, Any]]) -> Any:
    import altair as alt

    ends = [value for row in rows for value in (row["measured"], row["predicted"])]
    span = alt.Scale(domain=[min(ends) - 3, max(ends) + 3])
    straight = [{"at": value} for value in (min(ends) - 3, max(ends) + 3)]
    line = alt.Chart(data_of(straight)).mark_line(color=INK, strokeDash=[4, 3])
    dots = alt.Chart(data_of(rows)).mark_circle(
        size=110, stroke=INK, strokeWidth=1.5, opacity=1
    ).encode(
        x=alt.X("measured:Q", title=f"{axis} measured", scale=span),
        y=alt.Y("predicted:Q", title=f"{axis} predicted", scale=span),
        color=alt.Color("hex:N", scale=None),
        tooltip=["swatch:N", "measured:Q", "predicted:Q", "ΔE00:Q"],
    )  # fmt: skip
    both = line.encode(x=alt.X("at:Q", scale=span), y=alt.Y("at:Q", scale=span)) + dots
    return both.properties(height=260)


@st.cache_resource(max_entries=20, show_spinner=False)
def _growth(_learned: Learned, dye: str, base: str, key: str) -> Growth | None:
    from tinting.log.swatches import list_swatches

    return band_growth(list_swatches(used=True).records, dye, base)


def show_growth(plan: TintPlan, learned: Learned) -> None:
    """Show how the bands of a dye shrank swatch by swatch, and what the next one brings."""
    if not learned.dye_names:
        st.markdown("It takes a swatch in the log: with each of a dye its band shrinks.")
        return
    dye = st.selectbox("Dye", learned.dye_names, key="tint_graph_learned")
    key = hashlib.sha256(learned.fits[0].parameters.tobytes()).hexdigest()
    try:
        with st.spinner("Learning from fewer swatches …"):
            growth = _growth(learned, dye, plan.base.name, key)
    except StoreError as error:
        st.error(plain_text(str(error)))
        return
    if growth is None:
        st.markdown("The log cannot tell.")
        return
    following = growth.next
    told = ", ".join(f"{each.radius:.1f} with {each.swatches}" for each in growth.counts)
    _chart(
        _growth_chart(growth),
        "80 % band by the number of swatches",
        f"Mean radius of the 80 % bands of {dye}, ΔE00, by its swatches: {told}. The next one "
        f"({parts_text(following.share)}, {_coats(following.coats)}) brings it to "
        f"{following.expected_radius:.1f}.",
    )


def _growth_chart(growth: Growth) -> Any:
    import altair as alt

    last = growth.counts[-1]
    rows = [{"n": each.swatches, "radius": each.radius, "what": "so far"} for each in growth.counts]
    rows += [
        {"n": last.swatches, "radius": last.radius, "what": "with the next"},
        {"n": last.swatches + 1, "radius": growth.next.expected_radius, "what": "with the next"},
    ]
    return alt.Chart(data_of(rows)).mark_line(color=INK, point={"color": INK, "size": 80}).encode(
        x=alt.X("n:Q", title="Swatches of the dye", axis=alt.Axis(tickMinStep=1),
                scale=alt.Scale(domain=[0.5, last.swatches + 1.5])),
        y=alt.Y("radius:Q", title="Mean radius of the 80 % band, ΔE00",
                scale=alt.Scale(domainMin=0)),
        strokeDash=alt.StrokeDash("what:N", sort=["so far", "with the next"],
                                  legend=alt.Legend(title=None, orient="bottom")),
    ).properties(height=HIGH)  # fmt: skip


def show_drift(learned: Learned) -> None:
    """Show how colours went on changing while they dried."""
    if not learned.series:
        st.markdown(
            "Log one swatch again after a day and after a week, with its drying time: how far it "
            "went on changing stands here."
        )
        return
    rows = [row for each in learned.series for row in _drift_rows(each)]
    _chart(
        _drift_chart(rows),
        "Drift by days after the last coat",
        "From the first reading of a mix, ΔE00: "
        + "; ".join(
            f"{swatch_words(each.swatch.shares, each.swatch.coats)} {each.drift:.1f} at "
            f"{drying_words(each.series[-1][0])}"
            for each in learned.series
        )
        + ".",
    )


def _drift_rows(each: MeanSwatch) -> list[dict[str, Any]]:
    first = each.series[0][1]
    return [
        {
            "days": max(time, 60.0) / 86400,
            "away": round(float(delta_e(first, lab)), 1),
            "mix": swatch_words(each.swatch.shares, each.swatch.coats),
            "read": f"{drying_words(time)}: L*a*b* {lab_words(lab)}",
        }
        for time, lab in each.series
    ]


def _drift_chart(rows: Sequence[dict[str, Any]]) -> Any:
    import altair as alt

    return alt.Chart(data_of(rows)).mark_line(point=True).encode(
        x=alt.X("days:Q", title="Days after the last coat", scale=alt.Scale(type="log")),
        y=alt.Y("away:Q", title="ΔE00 from the first reading"),
        color=alt.Color("mix:N", legend=alt.Legend(title=None, orient="bottom", columns=1)),
        strokeDash=alt.StrokeDash("mix:N", legend=None),
        tooltip=["mix:N", "read:N", "away:Q"],
    ).properties(height=HIGH)  # fmt: skip
