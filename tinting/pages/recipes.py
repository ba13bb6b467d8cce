"""Recipes for a colour: cards to compare, one button to take a recipe over into the mix."""

from __future__ import annotations

import hashlib
from typing import Any

import streamlit as st

from data.page.fields import PageFields
from data.page.show import plain_text, show_cautions, show_table
from tinting.forms.tint import DYE_ROWS, NO_DYE
from tinting.learn.fit import DyeFit
from tinting.mix.appearance import Look, look
from tinting.mix.plan import TintPlan
from tinting.pages.colours import show_pair
from tinting.recipe.result import Recipe, Recipes
from tinting.recipe.search import find_recipes
from tinting.skin.demo import is_demo
from tinting.skin.inputs import Dye

CARDS = 3
USED = "tint_recipe_used"
"""The recipe that was taken over last: its words and its form."""
ALL, CHOSEN = "all dyes", "only the dyes of the mix"


@st.cache_resource(max_entries=50, show_spinner=False)
def _live(_plan: TintPlan, _dyes: tuple[Dye, ...], _fit: DyeFit | None, key: str) -> Recipes:
    return _found(_plan, _dyes, _fit)


def _found(plan: TintPlan, dyes: tuple[Dye, ...], fit: DyeFit | None, **how: Any) -> Recipes:
    return find_recipes(
        plan.base,
        dyes,
        plan.target,
        lights=plan.lights,
        batch_volume=plan.batch_volume,
        drop_volume=plan.drop_volume,
        hand=plan.hand,
        count=CARDS,
        fit=fit,
        **how,
    )


def show_recipes(
    fields: PageFields,
    plan: TintPlan,
    dyes: tuple[Dye, ...],
    target: Look,
    fit: DyeFit | None = None,
) -> None:
    """Show the nearest recipes for the target of a plan, and the search of all of them.

    ``dyes`` are all that could be used; ``target`` is shown in every card; ``fit`` is
    what the log taught.
    """
    which = st.radio(
        "Dyes to use",
        (ALL, CHOSEN),
        key="tint_recipe_dyes",
        horizontal=True,
        persist_state="session",
    )
    mixed = tuple(dye for dye, share in plan.mix if share > 0)
    taken = dyes[:20] if which == ALL else mixed
    if not taken:
        st.info("There is no dye in the mix: choose one, or search with all dyes.")
        return
    key = _stamp(plan, taken, fit)
    try:
        recipes = st.session_state.get("tint_exact", {}).get(key) or _live(plan, taken, fit, key)
    except ValueError as error:
        st.error(f"No recipe can be searched: {plain_text(str(error))}")
        return
    slot = st.empty()
    if not recipes.exact and slot.button("Compare every recipe (a few seconds)", key="tint_all"):
        recipes = _compared_all(plan, taken, fit, key)
        slot.empty()
    _say_reach(recipes)
    if which == ALL and all(is_demo(dye) for dye in taken):
        st.info("All these dyes are invented, for trying. Tick your own on the page Bottles.")
    columns = st.columns(CARDS)
    for number, recipe in enumerate(recipes, start=1):
        with columns[(number - 1) % CARDS]:
            _show_card(fields, plan, recipe, number, target)
    _show_details(recipes)


def _say_reach(recipes: Recipes) -> None:
    if recipes.reach == "out of reach":
        st.error(f"{plain_text(recipes.reason_text)} Below is the nearest there is.")
    elif recipes.reach != "within reach":
        st.info(
            f"The nearest lies {recipes.gap:.1f} ΔE00 away. This was a quick search; only a look "
            "at every recipe can say more."
        )


def _compared_all(plan: TintPlan, dyes: tuple[Dye, ...], fit: DyeFit | None, key: str) -> Recipes:
    bar = st.progress(0.0, text="Comparing every recipe")
    done = _found(plan, dyes, fit, exact=True, progress=lambda share: bar.progress(min(share, 1.0)))
    bar.empty()
    kept = st.session_state.setdefault("tint_exact", {})
    kept[key] = done
    # only the latest few, or a long session would keep them all
    for old in list(kept)[:-5]:
        del kept[old]
    return done


def _show_card(
    fields: PageFields, plan: TintPlan, recipe: Recipe, number: int, target: Look
) -> None:  # fmt: skip
    dyed = look("predicted", recipe.tint.reflectance, target.light)
    with st.container(border=True):
        st.markdown(
            f"**{recipe.probability:.0%} within 2**: {plain_text(recipe.text)}"
            f" ({recipe.delta_e.get(target.light, max(recipe.delta_e.values())):.1f}"
            " ΔE00 in the middle)."
        )
        show_pair(target.hex, dyed.hex)
        show_cautions(recipe.cautions)
        st.button(
            f"Use recipe {number}",
            key=f"tint_use_{number}",
            on_click=_use,
            args=(fields, recipe, number),
        )


def _use(fields: PageFields, recipe: Recipe, number: int) -> None:
    form = recipe_form(recipe)
    fields.put(form)
    st.session_state[USED] = (f"recipe {number}, {recipe.text}", form)


def say_used(fields: PageFields) -> None:
    """Say which recipe was taken over last and what was changed in it since."""
    kept = st.session_state.get(USED)
    if kept is None:
        return
    text, form = kept
    now = fields.form()
    moved = [
        f"{fields.fields[key].label.lower()} {form[key]} → {now[key]}"
        for key in form
        if now[key] != form[key] and not (key.startswith("parts") and _unused(now, form, key))
    ]
    ends = ", with " + ", ".join(moved) if moved else ""
    st.markdown(plain_text(f"Yours is {text}{ends}."))


def _unused(now: dict[str, str], form: dict[str, str], key: str) -> bool:
    dye = key.replace("parts", "dye")
    return now[dye] == NO_DYE and form[dye] == NO_DYE


def _show_details(recipes: Recipes) -> None:
    with st.expander("The recipes compared"):
        show_table(
            ("Recipe", "Parts", "ΔE00 under each light", "Within 2", "One drop too many"),
            [
                (
                    recipe.text,
                    recipe.parts,
                    ", ".join(f"{light} {value:.1f}" for light, value in recipe.delta_e.items()),
                    f"{recipe.probability:.0%}",
                    f"{recipe.sensitivity:.1f}" if recipe.drops else "",
                )
                for recipe in recipes
            ],
            "By the probability of a match, then coats, dyes, and what one drop too many does",
        )


def recipe_form(recipe: Recipe) -> dict[str, str]:
    """Return the mix fields that ask for a recipe, its parts being drops."""
    form = {"coats": str(recipe.coats), "alcohol": "1"}
    if recipe.drops:
        drops = recipe.batch_volume / recipe.drop_volume - sum(recipe.drops.values())
        form["alcohol"] = f"{max(drops, 0.0):.10g}"
    named = list(recipe.drops.items())
    for row in range(1, DYE_ROWS + 1):
        name, count = named[row - 1] if row <= len(named) else (NO_DYE, 1)
        form |= {f"dye{row}": name, f"parts{row}": str(count)}
    return form


def _stamp(plan: TintPlan, dyes: tuple[Dye, ...], fit: DyeFit | None) -> str:
    """A short text that differs whenever the answer may."""
    parts = [plan.base.reflectance.tobytes(), plan.target.tobytes()]
    parts += [] if fit is None else [fit.covariance.tobytes()]
    parts += [dye.absorptivity.tobytes() + dye.name.encode() for dye in dyes]
    parts += [
        dye.absorptivity_change.tobytes() for dye in dyes if dye.absorptivity_change is not None
    ]
    parts.append(
        repr(
            (
                plan.base.scattering_thickness,
                plan.base.specular,
                plan.lights,
                plan.batch_volume,
                plan.drop_volume,
                plan.hand,
                [(dye.saturation, dye.coat_loss, dye.strength_spread, dye.missed) for dye in dyes],
            )
        ).encode()
    )
    return hashlib.sha256(b"\0".join(parts)).hexdigest()
