"""Recipes for a colour: cards to compare, one button to take a recipe over into the mix."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError, typed_number
from data.page.show import plain_text, show_cautions, show_table
from tinting.colour.colorimetry import delta_e
from tinting.forms.limits import BATCHES, limits_from_form
from tinting.forms.limits import DEFAULTS as LIMITS_DEFAULTS
from tinting.forms.tint import DYE_ROWS, NO_DYE
from tinting.learn.fit import DyeFit
from tinting.mix.appearance import Look, look
from tinting.mix.batch import DENSITY
from tinting.mix.instructions import millilitres
from tinting.mix.plan import TintPlan
from tinting.pages.colours import show_pair
from tinting.recipe.result import Recipe, Recipes
from tinting.recipe.search import find_recipes
from tinting.skin.demo import is_demo
from tinting.skin.inputs import Dye

CARDS = 3
USED = "tint_recipe_used"
"""The recipe that was taken over last: its words and its form."""
ALL, CHOSEN, PICKED = "all dyes", "only the dyes of the mix", "some of them"


@dataclass(frozen=True, kw_only=True, eq=False)
class Search:
    """What is searched: for which plan, with which dyes, within which limits, by what ``fit``.

    ``limits`` are arguments of `find_recipes`.
    """

    plan: TintPlan
    dyes: tuple[Dye, ...]
    limits: Mapping[str, Any]
    fit: DyeFit | None


@st.cache_resource(max_entries=50, show_spinner=False)
def _live(_search: Search, key: str) -> Recipes:
    return _found(_search)


def _found(search: Search, **how: Any) -> Recipes:
    plan = search.plan
    return find_recipes(
        plan.base,
        search.dyes,
        plan.target,
        lights=plan.lights,
        drop_volume=plan.drop_volume,
        hand=plan.hand,
        count=CARDS,
        fit=search.fit,
        **search.limits,
        **how,
    )


def show_recipes(
    fields: PageFields,
    plan: TintPlan,
    dyes: tuple[Dye, ...],
    target: Look,
    fit: DyeFit | None = None,
) -> Recipes | None:
    """Show the nearest recipes for the target of a plan, and the search of all of them.

    Returned are those that are shown.

    ``dyes`` are all that could be used; ``target`` is shown in every card; ``fit`` is
    what the log taught.
    """
    asked = _ask_limits(fields, plan, dyes)
    if asked is None:
        return None
    taken, limits = asked
    if not taken:
        st.info("There is no dye in the mix: choose one, or search with all dyes.")
        return None
    search = Search(plan=plan, dyes=taken, limits=limits, fit=fit)
    key = _stamp(search)
    try:
        recipes = st.session_state.get("tint_exact", {}).get(key) or _live(search, key)
    except ValueError as error:
        st.error(f"No recipe can be searched: {plain_text(str(error))}")
        return None
    slot = st.empty()
    if not recipes.exact and slot.button("Compare every recipe", key="tint_all"):
        recipes = _compared_all(search, key)
        slot.empty()
    _say_reach(recipes)
    if all(is_demo(dye) for dye in taken) and not any(is_demo(dye) for dye, _ in plan.mix):
        st.info("All these dyes are invented, for trying. Tick your own on the page Bottles.")
    columns = st.columns(CARDS)
    for number, recipe in enumerate(recipes, start=1):
        with columns[(number - 1) % CARDS]:
            _show_card(fields, plan, recipe, number, target)
    _show_details(recipes)
    return recipes


def _ask_dyes(plan: TintPlan, dyes: tuple[Dye, ...]) -> tuple[Dye, ...]:
    """Ask with which dyes to search; at most 20 of them."""
    which = st.radio(
        "Dyes to use",
        (ALL, CHOSEN, PICKED),
        key="tint_recipe_dyes",
        horizontal=True,
        persist_state="session",
    )
    if which == CHOSEN:
        return tuple(dye for dye, share in plan.mix if share > 0)
    if which == PICKED:
        names = [dye.name for dye in dyes]
        picked = st.multiselect(
            "These dyes alone", names, key="tint_recipe_picked", persist_state="session"
        )
        dyes = tuple(dye for dye in dyes if dye.name in picked) or dyes
    return dyes[:20]


def _ask_limits(
    fields: PageFields, plan: TintPlan, dyes: tuple[Dye, ...]
) -> tuple[tuple[Dye, ...], dict[str, Any]] | None:
    """Ask with which dyes to search and what a recipe may take; None after saying a refusal."""
    changed = any(fields.form()[key] != text for key, text in LIMITS_DEFAULTS.items())
    with st.expander("Dyes to use, and limits", expanded=changed):
        taken = _ask_dyes(plan, dyes)
        for column, keys in zip(
            st.columns(2), (("mostcoats", "mostdyes"), ("mostshare", "mixed")), strict=True
        ):
            with column:
                for key in keys:
                    if key == "mixed":
                        fields.choice(key, BATCHES)
                    else:
                        fields.text(key)
    try:
        return taken, limits_from_form(fields.form(), plan)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None


def _say_reach(recipes: Recipes) -> None:
    if recipes.reach == "out of reach":
        st.error(f"{plain_text(recipes.reason_text)} Below is the nearest there is.")
    elif recipes.reach != "within reach":
        st.info(
            f"The nearest lies {recipes.gap:.1f} ΔE00 away. This was a quick search; only a look "
            "at every recipe can say more."
        )


def _compared_all(search: Search, key: str) -> Recipes:
    bar = st.progress(0.0, text="Comparing every recipe")
    done = _found(search, exact=True, progress=lambda share: bar.progress(min(share, 1.0)))
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
            f"**{recipe.probability:.0%} within 2**, middle "
            f"{recipe.delta_e.get(target.light, max(recipe.delta_e.values())):.1f} ΔE00: "
            f"{plain_text(_card_words(recipe))}"
        )
        show_pair(target.hex, dyed.hex)
        show_cautions(recipe.cautions)
        st.button(
            f"Use recipe {number}",
            key=f"tint_use_{number}",
            on_click=_use,
            args=(fields, plan, recipe, number),
        )


def _card_words(recipe: Recipe) -> str:
    """What goes into the jar, and how often it is brushed on."""
    if not recipe.drops:
        return recipe.text
    drops = " + ".join(f"{count} {name}" for name, count in recipe.drops.items())
    coats = f"{recipe.coats} coat{'' if recipe.coats == 1 else 's'}"
    return (
        f"{drops} drops ({_amount_of_dye(recipe)}) to {millilitres(recipe.batch_volume)}, {coats}"
    )


def _amount_of_dye(recipe: Recipe) -> str:
    volume = recipe.drop_volume * sum(recipe.drops.values())
    return f"{volume * 1e6:.2f} mL, {volume * DENSITY * 1e3:.2f} g"


def _use(fields: PageFields, plan: TintPlan, recipe: Recipe, number: int) -> None:
    form = recipe_form(recipe)
    if abs(recipe.batch_volume / plan.batch_volume - 1) > 1e-9:
        form["batch"] = f"{recipe.batch_volume * 1e6:.6g}"
    fields.put(form)
    name = f"recipe {number}"
    st.session_state[USED] = (name, f"{name}, {recipe.text}", form, recipe.tint)


def say_used(fields: PageFields, plan: TintPlan) -> None:
    """Say which recipe was taken over last, what was changed in it since, and what that does."""
    kept = st.session_state.get(USED)
    if kept is None:
        return
    name, text, form, dyed = kept
    moved = moved_words(form, fields.form(), {key: fields.fields[key].label for key in form})
    if not moved:
        st.markdown(plain_text(f"Yours is {text}."))
        return
    yours = plan.result()
    away = float(delta_e(dyed.lab(), yours.lab()))
    st.markdown(
        plain_text(f"Yours is {name} {' '.join(moved)}: {away:.1f} ΔE00 from it. It was {text}.")
    )
    show_pair(dyed.hex, yours.hex, (name, "yours"))


def moved_words(
    form: Mapping[str, str], now: Mapping[str, str], labels: Mapping[str, str]
) -> list[str]:
    """Return what was changed in a recipe since it was taken over, "+ 3 drops of moss"."""
    moved = []
    for row in range(1, DYE_ROWS + 1):
        dye, parts = f"dye{row}", f"parts{row}"
        before, after = (_drops(each, row) for each in (form, now))
        if form[dye] == now[dye] and before is not None and after is not None:
            more = after - before
            if more:
                drops = "drop" if abs(more) == 1 else "drops"
                moved.append(f"{'+' if more > 0 else '−'} {abs(more):g} {drops} of {now[dye]}")
        elif (form[dye], form[parts]) != (now[dye], now[parts]):
            was, is_now = (
                "no dye"
                if each[dye] == NO_DYE
                else f"{each[parts]} {'drop' if each[parts] == '1' else 'drops'} of {each[dye]}"
                for each in (form, now)
            )
            moved.append(f"with {is_now} instead of {was}")
    return moved + [
        f"with {labels[key].lower()} {form[key]} → {now[key]}"
        for key in form
        if not key.startswith(("dye", "parts")) and now[key] != form[key]
    ]


def _drops(form: Mapping[str, str], row: int) -> float | None:
    """The drops of a dye in a form that a recipe filled, None where they cannot be read."""
    if form[f"dye{row}"] == NO_DYE:
        return 0.0
    try:
        return typed_number(form[f"parts{row}"], "parts")
    except ValueError:
        return None


def _show_details(recipes: Recipes) -> None:
    with st.expander("The recipes compared"):
        show_table(
            (
                "Within 2",
                "Recipe",
                "Coats",
                "mL and g of dye",
                "Parts",
                "ΔE00 under each light",
                "One drop too many",
            ),
            [
                (
                    f"{recipe.probability:.0%}",
                    recipe.text,
                    str(recipe.coats),
                    _amount_of_dye(recipe),
                    recipe.parts,
                    ", ".join(f"{light} {value:.1f}" for light, value in recipe.delta_e.items()),
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


def _stamp(search: Search) -> str:
    """A short text that differs whenever the answer may."""
    plan, dyes, fit = search.plan, search.dyes, search.fit
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
                sorted(search.limits.items()),
                plan.drop_volume,
                plan.hand,
                [(dye.saturation, dye.coat_loss, dye.strength_spread, dye.missed) for dye in dyes],
            )
        ).encode()
    )
    return hashlib.sha256(b"\0".join(parts)).hexdigest()
