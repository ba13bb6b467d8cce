"""A map of what the dyes reach on a base: in a* and b*, and in lightness at the target's hue."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import streamlit as st
from numpy.typing import NDArray

from data.page.show import plain_text
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.difference import delta_e
from tinting.forms.choices import Choices
from tinting.learn.band import Band
from tinting.mix.plan import TintPlan
from tinting.pages.curves import INK, data_of, screen_colours
from tinting.recipe.gamut import COLOURED, Gamut, dye_gamut, hue_of
from tinting.recipe.result import Recipes
from tinting.skin.inputs import Dye

Array = NDArray[np.float64]
STEP = 4.0
"""Side of a square of the map. [dE]"""
ALIKE = 2.0
SIDE, HIGH = 320, 400
"""Width and height of a map with its axes and legend, so that a phone shows it whole. [px]"""
GREY = 4.0
"""Less chroma than this has no hue to speak of. [dE]"""


@st.cache_resource(max_entries=20, show_spinner=False)
def _gamut(_plan: TintPlan, _dyes: tuple[Dye, ...], key: str) -> Gamut:
    return dye_gamut(_plan.base, _dyes, hand=_plan.hand)


def _key(plan: TintPlan, dyes: Sequence[Dye]) -> str:
    """A short text that differs whenever the map may."""
    numbers = [(dye.name, dye.saturation, dye.coat_loss) for dye in dyes]
    held = repr((plan.base.scattering_thickness, plan.base.specular, plan.hand, numbers))
    arrays = [plan.base.reflectance, *(dye.absorptivity for dye in dyes)]
    arrays += [dye.absorptivity_change for dye in dyes if dye.absorptivity_change is not None]
    return hashlib.sha256(held.encode() + b"".join(a.tobytes() for a in arrays)).hexdigest()


def show_map(
    plan: TintPlan, choices: Choices, dyes: tuple[Dye, ...], recipes: Recipes | None
) -> None:
    """Show what dyes make of the bare part, with target, tint and recipes; all in words too."""
    gamut = _gamut(plan, dyes[:20], _key(plan, dyes[:20]))
    points = _points(plan, recipes)
    plane, leaf, words = st.columns([4, 4, 3])
    with plane:
        st.altair_chart(
            _plane(plan, choices, gamut, points),
            width="content",
            alt="Map of the colours in reach, a* across and b* up; its numbers stand below",
        )
    with leaf:
        st.altair_chart(
            _leaf(plan, gamut, points),
            width="content",
            alt="Colours in reach in the target's hue, chroma across and lightness up; its numbers "
            "stand below",
        )
    with words:
        st.markdown(plain_text(_map_words(plan, gamut, recipes)))
        st.markdown(plain_text(_leaf_words(plan, gamut)))


def _points(plan: TintPlan, recipes: Recipes | None) -> list[dict[str, Any]]:
    """The base, the target, the tint and the recipes as points of the map."""
    named = [
        ("base", lab_of(plan.base.reflectance)),
        ("tint", plan.result().lab()),
    ]
    for number, recipe in enumerate(recipes or (), start=1):
        named.append((f"recipe {number}", recipe.tint.lab()))
    named.append(("target", plan.target))  # last, so that it lies on top
    return [
        {
            "name": name,
            "L": round(float(lab[0]), 1),
            "a": round(float(lab[1]), 1),
            "b": round(float(lab[2]), 1),
            "C": round(math.hypot(lab[1], lab[2]), 1),
            "kind": name.split()[0],
            "number": name.partition(" ")[2],
        }
        for name, lab in named
    ]


def _plane(plan: TintPlan, choices: Choices, gamut: Gamut, points: list[dict[str, Any]]) -> Any:
    """The plane of a* and b*: what can be made, at the lightness nearest the target's."""
    import altair as alt

    found = gamut.squares(STEP)
    lightness = np.clip(plan.target[0], found[:, 2], found[:, 3])
    colours = screen_colours(np.column_stack([lightness, found[:, :2]]))
    rows = [
        {"a": a - STEP / 2, "b": b - STEP / 2, "a2": a + STEP / 2, "b2": b + STEP / 2,
         "hex": colour, "L*": f"{low:.0f} to {high:.0f}"}
        for (a, b, low, high), colour in zip(found.tolist(), colours, strict=True)
    ]  # fmt: skip
    span = _span(found[:, :2], points)
    squares = alt.Chart(data_of(rows)).mark_rect(strokeWidth=0.6).encode(
        x=alt.X("a:Q", title="a*: green to red", scale=alt.Scale(domain=span[0])),
        x2="a2:Q",
        y=alt.Y("b:Q", title="b*: blue to yellow", scale=alt.Scale(domain=span[1])),
        y2="b2:Q",
        color=alt.Color("hex:N", scale=None), stroke=alt.Stroke("hex:N", scale=None),
        tooltip=["L*:N"],
    )  # fmt: skip
    rings = _ring_rows("match within 2", _match_ring(plan.target))
    band = choices.likely(plan.result())
    if band is not None:
        rings += _ring_rows("80 % band of the tint", _band_ring(band))
    lines = alt.Chart(data_of(rings)).mark_line(color=INK, strokeWidth=2).encode(
        x="a:Q", y="b:Q", order="place:Q", detail="ring:N",
        strokeDash=alt.StrokeDash(
            "ring:N", legend=alt.Legend(title=None, orient="bottom", columns=1)),
    )  # fmt: skip
    return alt.layer(squares, lines, *_marks(points, "a:Q", "b:Q")).properties(
        width=SIDE, height=HIGH
    )


def _leaf(plan: TintPlan, gamut: Gamut, points: list[dict[str, Any]]) -> Any:
    """Chroma against lightness at the hue of the target."""
    import altair as alt

    found = gamut.leaf(plan.target, STEP, _about(plan))
    legend = alt.Legend(title=None, orient="bottom", columns=2)
    angle = math.atan2(plan.target[2], plan.target[1])
    labs = np.column_stack(
        [found[:, 1], found[:, 0] * math.cos(angle), found[:, 0] * math.sin(angle)]
    )
    rows = [
        {"C": chroma - STEP / 2, "L": lightness - STEP / 2, "C2": chroma + STEP / 2,
         "L2": lightness + STEP / 2, "hex": colour}
        for (chroma, lightness), colour in zip(found.tolist(), screen_colours(labs), strict=True)
    ]  # fmt: skip
    squares = alt.Chart(data_of(rows)).mark_rect().encode(
        x=alt.X("C:Q", title="Chroma, in the target's hue", scale=alt.Scale(domainMin=0)),
        x2="C2:Q",
        y=alt.Y("L:Q", title="L*", scale=alt.Scale(domain=[0, 100])),
        y2="L2:Q",
        color=alt.Color("hex:N", scale=None),
    )  # fmt: skip
    drawn = alt.layer(squares, *_marks(points, "C:Q", "L:Q", legend))
    return drawn.properties(width=SIDE, height=HIGH)


def _about(plan: TintPlan) -> float:
    """Within how many degrees a hue counts as the target's; a grey has any."""
    return 180.0 if math.hypot(plan.target[1], plan.target[2]) < GREY else 15.0


def _span(squares: Array, points: list[dict[str, Any]]) -> list[list[float]]:
    """Ends of both axes, of one length, so that shapes are not drawn out."""
    own = np.array([(each["a"], each["b"]) for each in points])
    every = np.vstack([squares, own])
    low, high = every.min(axis=0) - STEP, every.max(axis=0) + STEP
    half = float((high - low).max()) / 2
    return [[float(middle - half), float(middle + half)] for middle in (low + high) / 2]


def _marks(points: list[dict[str, Any]], x: str, y: str, legend: Any = None) -> list[Any]:
    """Points with their names, legible on any colour."""
    import altair as alt

    base = alt.Chart(data_of(points)).encode(x=x, y=y)
    kinds = alt.Scale(
        domain=["base", "tint", "target", "recipe"],
        range=["diamond", "circle", "triangle-down", "square"],
    )
    dots = base.mark_point(
        filled=True, size=60, color="#000", stroke="#fff", strokeWidth=1.5, opacity=1
    ).encode(
        shape=alt.Shape("kind:N", scale=kinds, legend=legend),
        tooltip=["name:N", "L:Q", "a:Q", "b:Q"],
    )
    number = base.encode(text="number:N")
    halo = number.mark_text(dx=11, fontSize=13, color="#fff", stroke="#fff", strokeWidth=3)
    return [dots, halo, number.mark_text(dx=11, fontSize=13, color="#000")]


def _ring_rows(name: str, ring: Array) -> list[dict[str, Any]]:
    return [
        {"ring": name, "place": place, "a": float(a), "b": float(b)}
        for place, (a, b) in enumerate(ring)
    ]


def _match_ring(target: Array) -> Array:
    """Colours (N, 2) as light as a target that lie `ALIKE` from it, CIEDE2000."""
    turns = np.linspace(0.0, 2 * math.pi, 49)
    sizes = np.linspace(0.0, 15.0, 151)
    ways = np.column_stack([np.zeros_like(turns), np.cos(turns), np.sin(turns)])
    away = delta_e(target, target + ways[:, None, :] * sizes[:, None])
    reach = sizes[(away >= ALIKE).argmax(axis=1)]
    return np.asarray(target[1:] + ways[:, 1:] * reach[:, None])


def _band_ring(band: Band) -> Array:
    """The ellipse (N, 2) in a* and b* that holds 80 % of likely outcomes."""
    sizes, axes = np.linalg.eigh(band.covariance[1:, 1:])
    turns = np.linspace(0.0, 2 * math.pi, 49)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    # chi squared of two degrees of freedom: -2 ln 0.2
    wide = np.sqrt(-2 * math.log(1 - 0.8) * np.maximum(sizes, 0.0))
    return np.asarray(band.lab[1:] + (circle * wide) @ axes.T)


def _map_words(plan: TintPlan, gamut: Gamut, recipes: Recipes | None) -> str:
    chroma = {name: most for name, most in gamut.chroma_by_hue.items() if most >= COLOURED}
    widest = sorted(chroma, key=lambda name: -chroma[name])[:3]
    light = gamut.labs[:, 0]
    near = min([gamut.distance(plan.target), *(recipe.worst for recipe in recipes or ())])
    dyes = "1 dye reaches" if len(gamut.dyes) == 1 else f"{len(gamut.dyes)} dyes reach"
    told = f"On {plan.base.name} {dyes} L* {light.min():.0f} to {light.max():.0f}"
    far = ", ".join(f"{name} (chroma {chroma[name]:.0f})" for name in widest)
    told += f", farthest in {far}" if far else ""
    missing = gamut.missing
    told += f". Missing: {', '.join(missing)}. " if missing else ". "
    own = hue_of(plan.target) if math.hypot(plan.target[1], plan.target[2]) >= GREY else ""
    if own in missing:
        told += f"The target is {own}: a dye of that hue is what it takes. "
    return f"{told}The nearest to the target lies {near:.1f} ΔE00 away."


def _leaf_words(plan: TintPlan, gamut: Gamut) -> str:
    found = gamut.leaf(plan.target, STEP, _about(plan))
    chroma = math.hypot(plan.target[1], plan.target[2])
    target = f"the target has chroma {chroma:.0f} at L* {plan.target[0]:.0f}"
    if not len(found):
        return f"Nothing has the target's hue; {target}."
    at = found[np.abs(found[:, 1] - plan.target[0]) <= STEP]
    most = f"up to {at[:, 0].max():.0f}" if len(at) else "none"
    return f"In the target's hue chroma at its lightness goes {most}; {target}."
