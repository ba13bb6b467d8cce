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
from tinting.learn.fit import DyeFit
from tinting.mix.batch import DROP_VOLUME
from tinting.recipe.doubt import FitPlace, fit_place, rough_probabilities, row_covariances
from tinting.recipe.exact import MOST_RECIPES, exact_rows, recipe_count
from tinting.recipe.live import live_rows, nearest_of_each
from tinting.recipe.model import MOST_DYES, Question, Rows, joined, row_differences
from tinting.recipe.reach import REACHED, binding_limits, least_gap
from tinting.recipe.result import (
    OPEN,
    OUTSIDE,
    WITHIN,
    Recipe,
    Recipes,
    match_probability,
    recipe_of_row,
    row_bands,
    row_sensitivities,
)
from tinting.skin.inputs import Base, Dye, Hand, check_hand

BATCH_VOLUME = 1e-5
ALTERNATIVES = 2.0
"""A recipe this much worse than the nearest is no alternative. [dE]"""
_CLASS = 0.5
"""Differences of one class look alike: where no recipe matches, they go before simplicity. [dE]"""
_SURE = 0.05
"""Probabilities of one step count as alike; inside it the simpler recipe goes first."""
_CANDIDATES = 200
_LOOKED_AT = 16
"""So many of the surest, or twice those wanted, get their probability by CIEDE2000 itself."""


def find_recipes(
    base: Base,
    dyes: Sequence[Dye],
    target_lab: object,
    lights: Sequence[str] = ("D65",),
    batch_volume: float | None = None,
    drop_volume: float = DROP_VOLUME,
    max_dyes: int = 3,
    max_drops: int | None = None,
    max_coats: int = 5,
    exact: bool = False,
    progress: Callable[[float], object] | None = None,
    observer: int = 10,
    *,
    count: int = 6,
    fit: DyeFit | None = None,
    only: Sequence[str] = (),
    max_share: float = 0.5,
    surface: float | None = None,
    hand: Hand | None = None,
) -> Recipes:
    """Return several distinct recipes for a colour, the surest first.

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
        Of the whole mix and of one drop. [m3] The mix left out, it is what ``surface`` needs for
        the coats of each recipe, and 10 mL without a surface.
    max_dyes, max_drops, max_coats : int
        At most so many dyes in a mix (1 to 3), drops of each (1 to 100; left out, no limit but
        ``max_share``), coats (1 to 20).
    exact : bool
        Compare every recipe, up to 20 drops of a dye where ``max_drops`` is left out. Otherwise a
        search that finds the best in nine cases of ten.
    progress : callable, optional
        Called with the share of the exact search that is done, rising to 1.
    observer : int
        2 or 10. [degree]
    count : int
        How many recipes at most, 1 to 50.
    fit : DyeFit
        What swatches taught of the dyes together: band and probability of recipes of its dyes go
        by it. Left out, and for other dyes, by what each dye says of itself.
    only : sequence of str
        Names of the dyes that may be used; left out, all.
    max_share : float
        Volume share of all dyes together in the mix, above 0 to 1.
    surface : float
        Area to dye. [m2]
    hand : Hand
        Who lays it on, from `tinting.hand_factor`; left out, it was not measured.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    Of each choice of dyes one recipe, none much worse than the nearest, by the probability of a
    part within 2 dE of the target in steps of 0.05, then coats, dyes, and what one drop too many
    does; where none has a chance, by classes of half a dE first. No dye at all is a recipe, too.
    """
    question = _question(
        base, _checked_dyes(dyes, only), target_lab, lights, batch_volume, drop_volume,
        max_dyes, max_drops, max_coats, observer, max_share, surface, hand,
    )  # fmt: skip
    known = None
    if fit is not None:
        check_kind("fit", fit, DyeFit, "a DyeFit")
        known = fit_place(fit, base)
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
        best = float(min([*worst[:1], row_differences(question, _no_dye(question)).max()]))
        found, _ = exact_rows(question, best, progress)
        rows = joined([found, rows]).distinct()
    recipes, nearest = _chosen(question, joined([_no_dye(question), rows]), shown, known)
    return _answer(question, recipes, nearest, bool(exact), tuple(dyes))


def _question(
    base: Base,
    dyes: tuple[Dye, ...],
    target_lab: object,
    lights: object,
    batch_volume: object,
    drop_volume: object,
    max_dyes: object,
    max_drops: object,
    max_coats: object,
    observer: object,
    max_share: object,
    surface: object,
    hand: Hand | None,
) -> Question:
    check_kind("base", base, Base, "a Base")
    drop = check_number("drop volume", drop_volume, least=5e-9, most=2e-7, unit="m3")
    check_hand(hand)
    degrees = check_number("observer", observer)
    if degrees not in (2, 10):
        raise refuse("observer", "2 or 10 degree", observer)
    under = _checked_lights(lights)
    if surface is not None:
        surface = check_number("surface", surface, above=0.0, most=100.0, unit="m2")
    if batch_volume is not None:
        batch_volume = check_number("batch volume", batch_volume, least=drop, most=0.1, unit="m3")
    elif surface is None:
        batch_volume = BATCH_VOLUME
    if max_drops is not None:
        max_drops = check_whole("max drops", max_drops, least=1, most=100)
    return Question(
        base=base,
        dyes=dyes,
        targets=_targets(target_lab, under, int(degrees)),
        lights=under,
        observer=int(degrees),
        batch_volume=batch_volume,
        drop_volume=drop,
        max_dyes=check_whole("max dyes", max_dyes, least=1, most=MOST_DYES),
        max_drops=max_drops,
        max_coats=check_whole("max coats", max_coats, least=1, most=20),
        max_share=check_number("max share", max_share, above=0.0, most=1.0),
        surface=surface,
        hand=hand,
    )


def _checked_dyes(dyes: object, only: object) -> tuple[Dye, ...]:
    if not isinstance(dyes, Sequence) or not 1 <= len(dyes) <= 20:
        got = len(dyes) if isinstance(dyes, Sequence) else type(dyes).__name__
        raise refuse("dyes", "a sequence of 1 to 20 Dye", got)
    for dye in dyes:
        check_kind("each dye", dye, Dye, "a Dye")
    if len({dye.name for dye in dyes}) < len(dyes):
        raise refuse("dyes", "each of its own name", [dye.name for dye in dyes])
    if isinstance(only, str) or not isinstance(only, Sequence):
        raise refuse("only", "a sequence of names of dyes", only)
    names = [dye.name for dye in dyes]
    for name in only:
        check_choice("only", name, names)
    return tuple(dye for dye in dyes if not only or dye.name in only)


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


def _chosen(
    question: Question, rows: Rows, count: int, known: FitPlace | None
) -> tuple[tuple[Recipe, ...], Recipe]:
    """The recipes in the order that the answer promises, and the nearest of all."""
    worst = row_differences(question, rows).max(axis=1)
    sizes = (rows.dyes < len(question.dyes)).sum(axis=1)
    order = np.lexsort((rows.coats, sizes, np.round(worst, 9)))
    rows, worst, sizes = rows[order], worst[order], sizes[order]
    places = np.union1d(np.arange(min(_CANDIDATES, len(worst))), nearest_of_each(question, rows))
    places = places[worst[places] <= worst[0] + ALTERNATIVES]
    rows, worst, sizes = rows[places], worst[places], sizes[places]
    touch = row_sensitivities(question, rows)
    covariances = row_covariances(question, rows, known)
    chance = rough_probabilities(question, rows, covariances)

    def rank(i: int) -> tuple[int, int, int, int, float]:
        step = int(chance[i] / _SURE + 1e-9)
        away = 0 if step else int(worst[i] / _CLASS)
        return -step, away, int(rows.coats[i]), int(sizes[i]), float(touch[i])

    # of one choice of dyes and coats the surest drops and the nearest of these, whatever one too
    # many does
    surest: dict[tuple[int, ...], int] = {}
    for i in np.lexsort((worst, -(chance / _SURE + 1e-9).astype(int))):
        surest.setdefault((*rows.dyes[i].tolist(), int(rows.coats[i])), int(i))
    seen: dict[tuple[int, ...], int] = {}
    for i in sorted(surest.values(), key=rank):
        seen.setdefault(tuple(rows.dyes[i].tolist()), i)
    first = list(seen.values())[: max(_LOOKED_AT, 2 * count)]
    looked = list(dict.fromkeys([0, *first]))
    bands = dict(
        zip(looked, row_bands(question, rows[np.array(looked)], covariances[looked]), strict=True)
    )
    for i in looked:
        chance[i] = match_probability(question, bands[i])
    made = {
        i: recipe_of_row(question, rows[np.array([i])], float(touch[i]), bands[i], float(chance[i]))
        for i in {0, *sorted(first, key=rank)[:count]}
    }
    return tuple(made[i] for i in sorted(first, key=rank)[:count]), made[0]


def _answer(
    question: Question,
    recipes: tuple[Recipe, ...],
    nearest: Recipe,
    exact: bool,
    shelf: tuple[Dye, ...],
) -> Recipes:
    gap = nearest.worst
    reason, text, left = "", "", dict[str, float]()
    reach = WITHIN if gap <= REACHED else OPEN
    # without a cap the strongest mixes were only searched, not all compared
    if exact and gap > REACHED and (question.max_drops or least_gap(question) > REACHED):
        reach = OUTSIDE
        limits = binding_limits(question, gap, shelf)
        reason, left = limits.reason, dict(limits.left)
        text = f"Out of reach by {gap:.1f} ΔE00. {limits.text}"
    return Recipes(
        recipes=recipes,
        nearest=nearest,
        exact=exact,
        reach=reach,
        reason=reason,
        reason_text=text,
        left=left,
    )
