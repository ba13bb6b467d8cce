"""The answer of the tint page, in sight while fields are edited: colours, chance and band."""

from __future__ import annotations

import html
from collections.abc import Sequence

import streamlit as st

from data.page.answer import bar
from data.page.show import plain_text
from tinting.colour.colorimetry import light_words
from tinting.colour.metamerism import metamerism_index_from_lab
from tinting.colour.spectrum import hex_from_lab
from tinting.learn.band import Band
from tinting.mix.appearance import Look, UnderLight, look, under_lights
from tinting.mix.plan import TintPlan
from tinting.pages.colours import Outline, row_of_squares, show_lights, three_colours
from tinting.recipe.reach import above_base

ALIKE = 2.0
"""A difference that most take for a match. [dE]"""
LIKELY = (20, 110, 200, 290, 380)
"""Which of the likely outcomes are shown."""


def show_answer(plan: TintPlan, band: Band | None, light: str, outline: Outline = ()) -> Look:
    """Show base, tint and target with the probability of a match; return the target's look.

    ``band`` is that around the tint, None without dye. ``outline`` is that of the limb to be dyed;
    left out, the colours stand as squares alone.
    """
    try:
        (seen,) = under_lights(plan, (light,))
    except ValueError as error:
        return _show_without_target(plan, str(error), outline)
    chance = None if band is None else band.within(ALIKE, plan.target)
    # what is read aloud when it changes; one piece, so that it goes to the browser at once
    st.markdown(
        f'<div role="status" aria-live="polite"><p class="tint-said">'
        f"{html.escape(_sentence(seen, chance))}</p>{_bar(chance)}"
        f'<p class="tint-band">{html.escape(_band_words(band))}</p></div>'
        + three_colours((seen.base, seen.tint, seen.target), _light(light), outline)
        + ("" if band is None else _likely(band)),
        unsafe_allow_html=True,
    )
    return seen.target


def show_every_light(plan: TintPlan) -> None:
    """Show tint beside target under every light, and how far they part where light changes."""
    try:
        rows = under_lights(plan)
    except ValueError:  # said above, where the target is
        return
    day = rows[0]
    drift = [
        metamerism_index_from_lab(row.tint.lab, row.target.lab, day.tint.lab, day.target.lab)
        for row in rows
    ]
    show_lights(rows, drift)


def _sentence(seen: UnderLight, chance: float | None) -> str:
    told = f"{seen.difference:.1f} ΔE00 from the target in {_light(seen.light)}"
    if chance is None:
        return f"No dye in the mix: {told}."
    return f"{chance:.0%} likely to match within {ALIKE:g}; the middle lies {told}."


def _light(light: str) -> str:
    return f"{light_words(light)} ({light})"


def _bar(chance: float | None) -> str:
    return (
        "" if chance is None else bar(chance, f"{chance:.0%} likely to match within {ALIKE:g} ΔE00")
    )


def _band_words(band: Band | None) -> str:
    if band is None:
        return ""
    return f"80 % band: {band.radius:.1f} ΔE00 around the tint."


def _likely(band: Band) -> str:
    """Five parts as they may come out, edge to edge."""
    around = band.around()
    colours = sorted(tuple(float(value) for value in around[place]) for place in LIKELY)
    return row_of_squares(
        [hex_from_lab(lab) for lab in colours], _spoken(colours), "Five likely outcomes"
    )


def _spoken(colours: Sequence[tuple[float, ...]]) -> str:
    each = "; ".join(" ".join(f"{value:.0f}" for value in lab) for lab in colours)
    return f"Five likely outcomes, L*a*b*: {each}"


def _show_without_target(plan: TintPlan, reason: str, outline: Outline) -> Look:
    wanted = (float(plan.target[0]), float(plan.target[1]), float(plan.target[2]))
    target = Look(name="target", light="D65", lab=wanted, hex=hex_from_lab(wanted))
    st.error(f"No real surface has the target's colour ({plain_text(reason)}).")
    bare = look("base", plan.base.reflectance)
    tinted = look("tint", plan.result().reflectance)
    st.markdown(
        three_colours((bare, tinted, target), _light("D65"), outline), unsafe_allow_html=True
    )
    return target


def out_of_dyes_way(plan: TintPlan) -> str:
    """Return what to say at the field of a target that no dye can make of the bare part."""
    above = above_base(plan.base, plan.target)
    if not above.any():
        return ""
    parts = [part for part, over in zip(("red", "green", "blue"), above, strict=True) if over]
    where = "" if above.all() else f" in its {' and '.join(parts)}"
    return f"This cannot be: it is lighter than the bare part{where}, and dye only takes away."
