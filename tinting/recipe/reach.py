"""Why a colour cannot be had: what binds the nearest recipe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations, product
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import delta_e, weights, white, xyz_from_lab
from tinting.colour.grid import Array, wavelengths_nm
from tinting.recipe.live import load_range, nearest_loads
from tinting.recipe.model import MOST_DYES, Question, Whole, load_labs
from tinting.skin.inputs import Base, Dye

REACHED = 1.0
"""CIEDE2000 that counts as reached: a good match by the trade's rule of thumb. [dE]"""
_LIGHTER = 0.5
_AT_BOUND = 0.9
_MOST_COATS = 50
_ALIKE = 0.5
_POLISHED = 30
_FACTORS = (2.0, 0.5, 1.3, 0.77, 1.1, 0.9, 1.1, 0.9, 1.03, 0.97, 1.03, 0.97, 1.01, 0.99)
_HUES = {
    "yellow": (440,),
    "orange": (480,),
    "red": (520,),
    "magenta": (550,),
    "violet": (580,),
    "blue": (620,),
    "turquoise": (660,),
    "green": (430, 660),
    "grey": (430, 500, 570, 640, 700),
}
"""Where an invented dye of a hue absorbs. [nm]"""
_LEVEL, _HEIGHT, _WIDTH = 0.3, 25.0, 40.0
"""Absorptivity of such a dye between its bands and at their peaks, their width. [nm]"""
_CHANNELS = (
    "X (redder or lighter in the long waves than a dye can make it)",
    "Y (lighter than a dye can make it)",
    "Z (bluer or lighter in the short waves than a dye can make it)",
)


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What keeps a colour out of reach.

    ``reason`` is the key of what binds and ``text`` tells it. ``left`` maps each limit, and each
    two of them ("coats and strength"), to what would be left with it lifted. [dE]
    """

    reason: str
    text: str
    left: Mapping[str, float]


def binding_limits(question: Question, gap: float, shelf: tuple[Dye, ...]) -> Limits:
    """Return what keeps the nearest recipe ``gap`` [dE] away; ``shelf`` are all dyes there are.

    "coats", "strength", "dyes", "only", or two of them: with more coats, a stronger mix, more
    dyes in it or the dyes that were left out, half the gap or less would be left. Else "lighter":
    the target is above the base in X, Y or Z, and a dye only takes light away; "strength" where
    the skin cannot take up more dye; and "hue": these dyes do not have it.
    """
    lifts = _lifts(question, shelf)
    pairs = [(key,) for key in lifts] + list(combinations(lifts, 2))
    left = {" and ".join(keys): _lifted_gap(question, lifts, keys, gap) for keys in pairs}
    enough = max(REACHED, gap / 2)
    reason = _first_enough({key: left[key] for key in lifts}, enough)
    reason = reason or _first_enough(left, enough)
    told = [f"{value:.1f} with {_words(question, key)}" for key, value in left.items()]
    rest = f" Left would be, in ΔE00: {'; '.join(told)}." if told else ""
    if reason:
        text = f"The target needs {_words(question, reason)}."
    else:
        reason, text = _no_limit(question, lifts, gap, enough)
    return Limits(reason=reason, text=text + rest, left=MappingProxyType(left))


def _lifts(question: Question, shelf: tuple[Dye, ...]) -> dict[str, dict[str, Any]]:
    """What to change in a question to lift each limit that it has."""
    lifts: dict[str, dict[str, Any]] = {
        "coats": {"max_coats": _MOST_COATS},
        "strength": {"max_drops": None, "max_share": 1.0},
    }
    if question.max_dyes < MOST_DYES:
        lifts["dyes"] = {"max_dyes": MOST_DYES}
    if len(shelf) > len(question.dyes):
        lifts["only"] = {"dyes": shelf}
    return lifts


def _lifted_gap(
    question: Question, lifts: dict[str, dict[str, Any]], keys: tuple[str, ...], gap: float
) -> float:
    changes: dict[str, Any] = {}
    for key in keys:
        changes |= lifts[key]
    return min(gap, least_gap(replace(question, **changes)))


def _first_enough(left: Mapping[str, float], enough: float) -> str:
    """The first limit whose lifting is as good as the best, if that is good enough."""
    best = min(left.values(), default=np.inf)
    if best > enough:
        return ""
    return next(key for key, value in left.items() if value <= max(best + _ALIKE, REACHED))


def _words(question: Question, keys: str) -> str:
    words = {
        "coats": f"more than {question.max_coats} coats",
        "strength": "a stronger mix"
        + (f" (more than {question.max_drops} drops of a dye)" if question.max_drops else ""),
        "dyes": f"more than {question.max_dyes} of the dyes in one mix",
        "only": "dyes that were left out",
    }
    return " and ".join(words[key] for key in keys.split(" and "))


def _no_limit(
    question: Question, lifts: dict[str, dict[str, Any]], gap: float, enough: float
) -> tuple[str, str]:
    above = lighter_channels(question)
    if above:
        return "lighter", f"The target is lighter than the base in {' and '.join(above)}."
    changes: dict[str, Any] = {}
    for each in lifts.values():
        changes |= each
    if _full(replace(question, **changes)):
        return "strength", "The skin cannot take up enough dye: it is full before the target."
    text = "The target lies outside the hue range of these dyes. "
    return "hue", text + _extra_hue(question, gap, enough)


def lighter_channels(question: Question) -> list[str]:
    """Return in which of X, Y and Z the target is above the base under any light."""
    above = np.zeros(3, dtype=bool)
    for light, target in zip(question.lights, question.targets, strict=True):
        above |= above_base(question.base, target, light, question.observer)
    return [text for text, over in zip(_CHANNELS, above, strict=True) if over]


def above_base(
    base: Base, target: Array, light: str = "D65", observer: int = 10
) -> NDArray[np.bool_]:
    """Return in which of X, Y and Z (3,) a target, CIELAB (3,), is above a base: no dye can."""
    ratios = xyz_from_lab(target, light, observer), base.reflectance @ weights(light, observer)
    wanted, bare = (np.cbrt(each / white(light, observer)) for each in ratios)
    return np.asarray(116 * (wanted - bare) > _LIGHTER)


def least_gap(question: Question, dyes: Whole | None = None) -> float:
    """Return how near the nearest mix comes, as if drops could be split, by the worst light. [dE]

    ``dyes`` (N, 3) are the choices to look at; left out, all.
    """
    return _nearest(question, question.combinations if dyes is None else dyes)[2]


def _nearest(question: Question, dyes: Whole) -> tuple[Whole, Array, float]:
    """Dyes (3,), loads (3,) and worst CIEDE2000 of the nearest colour."""
    loads, _ = nearest_loads(question, dyes)
    worst = _worst(question, dyes, loads)
    near = np.argsort(worst, kind="stable")[:_POLISHED]
    dyes, loads, worst = dyes[near], loads[near], worst[near]
    least, most = load_range(question, dyes)
    # far from the target the search above goes by a metric that holds near it
    for factor, slot in product(_FACTORS, range(MOST_DYES)):
        trial = loads.copy()
        trial[:, slot] = np.clip(loads[:, slot] * factor, least[:, slot], most[:, slot])
        moved = _worst(question, dyes, trial)
        better = moved < worst
        loads[better], worst[better] = trial[better], moved[better]
    best = int(worst.argmin())
    return dyes[best], loads[best], float(worst[best])


def _worst(question: Question, dyes: Whole, loads: Array) -> Array:
    away = delta_e(load_labs(question, dyes, loads), question.targets)
    return np.asarray(away.max(axis=1))


def _full(question: Question) -> bool:
    """Whether the nearest mix without limits is at the most that the skin takes."""
    dyes, loads, _ = _nearest(question, question.combinations)
    most = question.most_load[dyes]
    used = dyes < len(question.dyes)
    return bool((loads[used] > _AT_BOUND * most[used]).any())


def _extra_hue(question: Question, gap: float, enough: float) -> str:
    """What one dye more of some hue would do."""
    found = {}
    for name, bands in _HUES.items():
        absorptivity = np.full(wavelengths_nm.size, _LEVEL)
        for middle in bands:
            absorptivity += _HEIGHT * np.exp(-(((wavelengths_nm - middle) / _WIDTH) ** 2) / 2)
        # two dyes of one name do no harm here
        more = replace(question, dyes=(*question.dyes, Dye(name=name, absorptivity=absorptivity)))
        new = (more.combinations == len(question.dyes)).any(axis=1)
        found[name] = min(gap, least_gap(more, more.combinations[new]))
    hue = min(found, key=lambda name: found[name])
    if found[hue] <= enough:
        return f"A {hue} dye beside these would leave {found[hue]:.1f} ΔE00."
    return f"No one dye more would do: a {hue} one would leave {found[hue]:.1f} ΔE00."
