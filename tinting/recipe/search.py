"""Which dyes, how many drops and how many coats for a wanted colour.

The live answer takes a few hundredths of a second; the exact one compares every recipe, about
nine million with twelve dyes, and alone can say that a colour is out of reach.

Always true of the model: drops are all of one size, and a recipe is as good as the dyes and the
base are known; judge by a test piece.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from data.rules import check_choice, check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import lab, light_names
from tinting.colour.grid import Array, check_lab
from tinting.colour.screen import srgb_from_hex
from tinting.colour.spectrum import lab_of_screen_colour, smoothest_reflectance
from tinting.mix.batch import DROP_VOLUME
from tinting.recipe.exact import MOST_RECIPES, exact_rows, recipe_count
from tinting.recipe.live import live_rows
from tinting.recipe.model import MOST_DYES, Question, Rows, joined, row_differences
from tinting.recipe.reach import REACHED, binding_reason
from tinting.recipe.result import (
    OPEN,
    OUTSIDE,
    WITHIN,
    Recipe,
    Recipes,
    recipe_of_row,
    row_sensitivities,
)
from tinting.skin.inputs import Base, Dye

BATCH_VOLUME = 1e-5
ALTERNATIVES = 2.0
"""A recipe this much worse than the nearest is no alternative. [dE]"""
_CLASS = 0.5
"""Differences of one class look alike; inside it the simpler recipe goes first. [dE]"""
_CANDIDATES = 200


def find_recipes(
    base: Base,
    dyes: Sequence[Dye],
    target_lab: object,
    lights: Sequence[str] = ("D65",),
    batch_volume: float = BATCH_VOLUME,
    drop_volume: float = DROP_VOLUME,
    max_dyes: int = 3,
    max_drops: int = 20,
    max_coats: int = 5,
    exact: bool = False,
    progress: Callable[[float], object] | None = None,
    observer: int = 10,
    *,
    count: int = 6,
) -> Recipes:
    """Return several distinct recipes for a colour, the nearest first.

    Parameters
    ----------
    base : Base
        The bare part.
    dyes : sequence of Dye
        1 to 20, each of its own name.
    target_lab : array_like (3,), str, or mapping of str to array_like (3,)
        CIELAB under D65, a screen colour like "#8f9a58", or one CIELAB for each of ``lights``.
        Under other lights a target known by one colour is taken to have the smoothest spectrum
        that gives it.
    lights : sequence of str
        A recipe is judged by the light where it is worst.
    batch_volume, drop_volume : float
        Of the whole mix and of one drop. [m3]
    max_dyes, max_drops, max_coats : int
        At most so many dyes in a mix (1 to 3), drops of each (1 to 100), coats (1 to 20).
    exact : bool
        Compare every recipe. Otherwise a search that finds the best in nine cases of ten.
    progress : callable, optional
        Called with the share of the exact search that is done, rising to 1.
    observer : int
        2 or 10. [degree]
    count : int
        How many recipes at most, 1 to 50.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    The first recipe is the nearest of all; the others, of other dyes, follow by classes of half a
    dE, in each by number of dyes, then coats, then by what one drop too many does. No dye at
    all is a recipe, too.
    """
    question = _question(
        base, dyes, target_lab, lights, batch_volume, drop_volume,
        max_dyes, max_drops, max_coats, observer,
    )  # fmt: skip
    if not isinstance(exact, (bool, np.bool_)):
        raise refuse("exact", "true or false", exact)
    if progress is not None and not callable(progress):
        raise refuse("progress", "something to call with the share done", progress)
    shown = check_whole("count", count, least=1, most=50)
    total = recipe_count(question)
    if exact and total > MOST_RECIPES:
        raise refuse("number of recipes", f"at most {MOST_RECIPES // 10**6} million", total)
    rows, worst = live_rows(question)
    if exact:
        known = float(min([*worst[:1], row_differences(question, _no_dye(question)).max()]))
        found, _ = exact_rows(question, known, progress)
        rows = joined([found, rows]).distinct()
    recipes = _chosen(question, joined([_no_dye(question), rows]), shown)
    return _answer(question, recipes, bool(exact))


def _question(
    base: Base,
    dyes: object,
    target_lab: object,
    lights: object,
    batch_volume: object,
    drop_volume: object,
    max_dyes: object,
    max_drops: object,
    max_coats: object,
    observer: object,
) -> Question:
    check_kind("base", base, Base, "a Base")
    drop = check_number("drop volume", drop_volume, least=5e-9, most=2e-7, unit="m3")
    degrees = check_number("observer", observer)
    if degrees not in (2, 10):
        raise refuse("observer", "2 or 10 degree", observer)
    under = _checked_lights(lights)
    return Question(
        base=base,
        dyes=_checked_dyes(dyes),
        targets=_targets(target_lab, under, int(degrees)),
        lights=under,
        observer=int(degrees),
        batch_volume=check_number("batch volume", batch_volume, least=drop, most=0.1, unit="m3"),
        drop_volume=drop,
        max_dyes=check_whole("max dyes", max_dyes, least=1, most=MOST_DYES),
        max_drops=check_whole("max drops", max_drops, least=1, most=100),
        max_coats=check_whole("max coats", max_coats, least=1, most=20),
    )


def _checked_dyes(dyes: object) -> tuple[Dye, ...]:
    if not isinstance(dyes, Sequence) or not 1 <= len(dyes) <= 20:
        got = len(dyes) if isinstance(dyes, Sequence) else type(dyes).__name__
        raise refuse("dyes", "a sequence of 1 to 20 Dye", got)
    for dye in dyes:
        check_kind("each dye", dye, Dye, "a Dye")
    if len({dye.name for dye in dyes}) < len(dyes):
        raise refuse("dyes", "each of its own name", [dye.name for dye in dyes])
    return tuple(dyes)


def _checked_lights(lights: object) -> tuple[str, ...]:
    if isinstance(lights, str) or not isinstance(lights, Sequence) or not lights:
        raise refuse("lights", "a sequence of names of lights", lights)
    under = tuple(check_choice("light", light, light_names()) for light in lights)
    if len(set(under)) < len(under):
        raise refuse("lights", "each of them once", ", ".join(under))
    return under


def _targets(target_lab: object, lights: tuple[str, ...], observer: int) -> Array:
    if isinstance(target_lab, Mapping):
        missing = [light for light in lights if light not in target_lab]
        if missing:
            raise refuse("target lab", "given under every light", f"none under {missing[0]}")
        return np.array([check_lab("target lab", target_lab[light]) for light in lights])
    if isinstance(target_lab, str):
        target_lab = lab_of_screen_colour(srgb_from_hex(target_lab, "target lab"), "D65", observer)
    wanted = check_lab("target lab", target_lab)
    if lights == ("D65",):
        return wanted[None].copy()
    try:
        spectrum = smoothest_reflectance(wanted, "D65", observer)
    except ValueError:
        rule = "a colour that a surface can have, to be judged under other lights than D65"
        raise refuse("target lab", rule, wanted.tolist()) from None
    found = [wanted if light == "D65" else lab(spectrum, light, observer) for light in lights]
    return np.array(found)


def _no_dye(question: Question) -> Rows:
    none = np.full((1, MOST_DYES), len(question.dyes))
    return Rows(dyes=none, drops=np.zeros_like(none), coats=np.zeros(1, dtype=np.intp))


def _chosen(question: Question, rows: Rows, count: int) -> tuple[Recipe, ...]:
    """The nearest recipe of each choice of dyes, in the order that the answer promises."""
    worst = row_differences(question, rows).max(axis=1)
    sizes = (rows.dyes < len(question.dyes)).sum(axis=1)
    order = np.lexsort((rows.coats, sizes, np.round(worst, 9)))
    seen: dict[tuple[int, ...], int] = {}
    for place in order[worst[order] <= worst.min() + ALTERNATIVES]:
        seen.setdefault(tuple(int(dye) for dye in rows.dyes[place]), int(place))
    places = np.array(list(seen.values())[:_CANDIDATES])
    touch = row_sensitivities(question, rows[places])
    nearest, *others = range(len(places))
    others.sort(
        key=lambda i: (
            int(worst[places[i]] / _CLASS),
            int(sizes[places[i]]),
            int(rows.coats[places[i]]),
            float(touch[i]),
        )
    )
    return tuple(
        recipe_of_row(question, rows[places[[i]]], float(touch[i]))
        for i in [nearest, *others][:count]
    )


def _answer(question: Question, recipes: tuple[Recipe, ...], exact: bool) -> Recipes:
    gap = recipes[0].worst
    reason, text = "", ""
    reach = WITHIN if gap <= REACHED else OPEN
    if exact and gap > REACHED:
        reach = OUTSIDE
        reason, text = binding_reason(question, gap)
        text = f"Out of reach by {gap:.1f} dE. {text}"
    return Recipes(recipes=recipes, exact=exact, reach=reach, reason=reason, reason_text=text)
