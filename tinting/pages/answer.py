"""The answer of the tint page, in sight while fields are edited: colours, chance and band."""

from __future__ import annotations

import html
from collections.abc import Sequence

import streamlit as st

from data.page.answer import bar
from data.page.fields import PageFields
from data.page.show import UNCHANGED, announce, plain_text
from tinting.colour.spectrum import hex_from_lab
from tinting.forms.choices import Choices
from tinting.learn.band import Band
from tinting.mix.appearance import Look, UnderLight, look, under_lights
from tinting.mix.plan import TintPlan
from tinting.pages.colours import show_squares

ALIKE = 2.0
"""A difference that most take for a match. [dE]"""
LIKELY = (20, 110, 200, 290, 380)
"""Which of the likely outcomes are shown."""


def show_answer(fields: PageFields, plan: TintPlan, choices: Choices) -> Look:
    """Show base, tint and target with the probability of a match; return the target's look."""
    result = plan.result()
    light = fields.form()["light"]
    try:
        rows = under_lights(plan)
        seen = next((row for row in rows if row.light == light), rows[0])
    except ValueError as error:
        return _show_without_target(plan, str(error))
    band = choices.likely(result)
    chance = None if band is None else band.within(ALIKE, plan.target)
    sentence = _sentence(seen, chance)
    announce(f"{sentence} {_band_words(band)}")
    st.markdown(
        f'<p style="font-size:1.1rem;font-weight:600;line-height:1.3;margin:0">'
        f"{html.escape(sentence)}</p>{_bar(chance)}"
        f'<p class="wide" style="margin:.2rem 0 .5rem">{html.escape(_band_words(band))}</p>',
        unsafe_allow_html=True,
    )
    show_squares((seen.base, seen.tint, seen.target), f"Seen under {seen.light}", "5rem")
    if band is not None:
        _show_likely(band, seen.light)
    return seen.target


def _sentence(seen: UnderLight, chance: float | None) -> str:
    told = f"{seen.difference:.1f} ΔE00 from the target under {seen.light}"
    if chance is None:
        return f"No dye in the mix: {told}."
    return f"{chance:.0%} likely to match within {ALIKE:g}; the middle lies {told}."


def _bar(chance: float | None) -> str:
    return (
        "" if chance is None else bar(chance, f"{chance:.0%} likely to match within {ALIKE:g} ΔE00")
    )


def _band_words(band: Band | None) -> str:
    if band is None:
        return ""
    return f"Four of five parts brushed so lie within {band.radius:.1f} ΔE00 of the tint shown."


def _show_likely(band: Band, light: str) -> None:
    """Show five parts as they may come out, edge to edge."""
    around = [tuple(float(value) for value in band.around()[place]) for place in LIKELY]
    colours = sorted(around)
    blocks = "".join(
        f'<div style="flex:1;height:2rem;background:{hex_from_lab(lab)};{UNCHANGED}"></div>'
        for lab in colours
    )
    st.html(
        f'<figure class="wide" style="margin:0"><div role="img" aria-label="{_spoken(colours)}" '
        f'style="display:flex;border:1px solid currentColor">{blocks}</div>'
        f"<figcaption>It may come out as any of these.</figcaption></figure>"
    )


def _spoken(colours: Sequence[tuple[float, ...]]) -> str:
    each = "; ".join(" ".join(f"{value:.0f}" for value in lab) for lab in colours)
    return f"Five likely outcomes, L*a*b*: {each}"


def _show_without_target(plan: TintPlan, reason: str) -> Look:
    wanted = (float(plan.target[0]), float(plan.target[1]), float(plan.target[2]))
    target = Look(name="target", light="D65", lab=wanted, hex=hex_from_lab(wanted))
    st.error(f"No real surface has the target's colour ({plain_text(reason)}).")
    bare = look("base", plan.base.reflectance)
    tinted = look("tint", plan.result().reflectance)
    show_squares((bare, tinted, target), "Seen under D65", "5rem")
    return target
