"""How a tint is mixed, what it does to the air, and what to do with what is left in the jar."""

from __future__ import annotations

import html
import math

import streamlit as st

from data.page.fields import PageFields
from data.page.form import FormReader, RefusedFieldsError
from data.page.show import plain_text, show_cautions, show_table
from data.page.units import words
from tinting.forms.jar import jar_from_form
from tinting.forms.painted import PAINTED, steering_from_form
from tinting.forms.tint import colour_words
from tinting.learn.fit import DyeFit
from tinting.mix.instructions import Mixing, batch_words, millilitres
from tinting.mix.plan import TintPlan
from tinting.paper.report import retouch_words
from tinting.skin.inputs import Dye


def show_mixing(fields: PageFields, plan: TintPlan, mixed: Mixing) -> None:
    """Show the cautions about fire and air right beside what goes in and in which order."""
    for caution in mixed.air_and_fire:
        # fire is never a lesser caution, and air is one when a limit is passed
        show = st.error if caution.key in ("fire", "air above short limit") else st.warning
        show(plain_text(caution.text))
    show_cautions(mixed.cautions)
    st.markdown(f"**{plain_text(mixed.parts)}**")
    show_table(
        ("Liquid", "Drops", "mL", "g"),
        [
            (line.name, str(line.drops), f"{line.volume * 1e6:.2f}", f"{line.mass * 1e3:.2f}")
            for line in mixed.lines
        ],
        f"Batch of {millilitres(plan.batch_volume)}, drops of {plan.drop_volume * 1e6:.3g} mL",
    )
    steps = "".join(f"<li>{html.escape(step)}</li>" for step in mixed.steps)
    st.markdown(words(batch_words(plan, mixed)))
    enough = f"{math.ceil(mixed.needed * 1e6 - 1e-9)}"
    if plan.coats and float(enough) != plan.batch_volume * 1e6:
        st.button(
            f"Mix {enough} mL for this surface",
            key="tint_use_needed",
            on_click=fields.put,
            args=({"batch": enough},),
        )
    with st.expander("Step by step"):
        st.html(f'<ol aria-label="Steps">{steps}</ol>')
        _show_doubt(mixed)


def _show_doubt(mixed: Mixing) -> None:
    more = "; ".join(f"{plain_text(name)} {away:.1f}" for name, away in mixed.one_more)
    st.markdown(
        f"Whole drops alone shift the colour by {mixed.rounding:.1f} ΔE00"
        + (f", one drop more of a dye by: {more}." if more else ".")
    )


def show_jar(fields: PageFields, plan: TintPlan) -> None:
    """Ask what is left in the jar and say how to make it stronger, weaker or right again."""
    share = sum(part for _, part in plan.mix)
    if share <= 0:
        st.markdown("Alcohol alone needs no keeping right.")
        return
    for key in ("left", "wanted", "mouth", "open"):
        fields.text(key)
    try:
        advice = jar_from_form(fields.form(), min(share, 1.0))
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    if advice.dye > 0:
        drops = advice.dye / plan.drop_volume
        words = f"add {millilitres(advice.dye)} ({drops:.0f} drops) of the dyes as they come"
        words += ", in the proportion of the mix"
    elif advice.alcohol > 0:
        words = f"add {millilitres(advice.alcohol)} of alcohol"
    else:
        words = "leave it as it is"
    st.markdown(f"**For the strength wanted, {words}.**")
    stood = advice.stood
    st.markdown(
        f"**After standing open, pour back {millilitres(stood.alcohol_lost)} of alcohol** "
        f"({millilitres(stood.lost_low)} to {millilitres(stood.lost_high)} may be gone, more in a "
        f"draught). Left as it is, {millilitres(stood.volume)} with {stood.share:.1%} of dye "
        f"instead of {min(share, 1.0):.1%}."
    )
    show_cautions(stood.cautions)


def show_retouch(fields: PageFields, plan: TintPlan) -> None:
    """Ask what a part that was tinted before reads today, and say how to bring it back."""
    fields.text("faded", echo=colour_words)
    if not fields.form()["faded"].strip():
        st.markdown("For a part that faded, was rubbed, or came out too light.")
        return
    if not any(share > 0 for _, share in plan.mix):
        st.markdown("There is no dye in the mix.")
        return
    reader = FormReader(fields.form(), PAINTED)
    try:
        lab = reader.values(("faded",))["faded"]
        said = reader.built("faded", lambda: retouch_words(plan, lab))
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    st.markdown(plain_text(" ".join(said)))


def show_steering(
    fields: PageFields, plan: TintPlan, dyes: tuple[Dye, ...], fit: DyeFit | None
) -> None:
    """Ask what the part reads after some coats, and say how to go on or to stop."""
    fields.text("painted")
    fields.text("reads", echo=colour_words)
    if not fields.form()["reads"].strip():
        st.markdown("Let the coat dry, read the part, type it here: the coats left are planned.")
        return
    if not any(share > 0 for _, share in plan.mix):
        st.markdown("There is no dye in the mix.")
        return
    try:
        found = steering_from_form(fields.form(), plan, dyes, fit)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    st.markdown(f"**{plain_text(found.text)}**")
    show_cautions(found.cautions)
