"""Why a colour cannot be had: what binds the nearest recipe."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tinting.colour.colorimetry import delta_e, white, xyz_from_lab
from tinting.colour.grid import Array
from tinting.recipe.live import live_rows, nearest_loads
from tinting.recipe.model import MOST_DYES, Question, load_labs

REACHED = 1.0
"""CIEDE2000 that counts as reached: a good match by the trade's rule of thumb. [dE]"""
_LIGHTER = 0.5
_AT_BOUND = 0.9
_MOST_COATS, _MOST_DROPS = 50, 200
_CHANNELS = (
    "X (redder or lighter in the long waves than a dye can make it)",
    "Y (lighter than a dye can make it)",
    "Z (bluer or lighter in the short waves than a dye can make it)",
)


def binding_reason(question: Question, gap: float) -> tuple[str, str]:
    """Return the key and the sentence of what keeps the nearest recipe ``gap`` [dE] away.

    "lighter": the target is above the base in X, Y or Z, and a dye only takes light away.
    "coats", "strength", "dyes": more coats, a stronger mix or another dye in it would come to
    half the gap or less. "strength" also where the skin cannot take up more dye, and else "hue":
    no mix of these dyes has that hue.
    """
    above = lighter_channels(question)
    if above:
        return "lighter", f"The target is lighter than the base in {' and '.join(above)}."
    enough = max(REACHED, gap / 2)
    coats = replace(question, max_coats=_MOST_COATS)
    if _continuous_gap(coats) <= enough:
        return "coats", f"The target needs more than {question.max_coats} coats."
    stronger = replace(question, max_drops=None, max_share=1.0)
    if _continuous_gap(stronger) <= enough:
        text = f"The target needs a stronger mix: more than {question.max_drops} drops of a dye."
        return "strength", text
    if question.max_dyes < MOST_DYES:
        more = replace(question, max_dyes=MOST_DYES)
        rows, worst = live_rows(more)
        if rows.number and worst[0] <= enough:
            return "dyes", f"The target needs more than {question.max_dyes} of the dyes in one mix."
    return _cap_or_hue(replace(stronger, max_coats=_MOST_COATS))


def lighter_channels(question: Question) -> list[str]:
    """Return in which of X, Y and Z the target is above the base under any light."""
    bare = question.base.reflectance @ question.matrix
    above = np.zeros(3, dtype=bool)
    for number, (light, target) in enumerate(zip(question.lights, question.targets, strict=True)):
        whole = white(light, question.observer)
        wanted = np.cbrt(xyz_from_lab(target, light, question.observer) / whole)
        above |= 116 * (wanted - np.cbrt(bare[3 * number : 3 * number + 3] / whole)) > _LIGHTER
    return [text for text, over in zip(_CHANNELS, above, strict=True) if over]


def _nearest(question: Question) -> tuple[Array, Array, Array]:
    """Dyes, loads and worst CIEDE2000 of the nearest colour, drops as if they could be split."""
    dyes = question.combinations
    loads, _ = nearest_loads(question, dyes)
    worst = delta_e(load_labs(question, dyes, loads), question.targets).max(axis=1)
    best = int(worst.argmin())
    return dyes[best], loads[best], worst[best]


def _continuous_gap(question: Question) -> float:
    return float(_nearest(question)[2])


def _cap_or_hue(question: Question) -> tuple[str, str]:
    dyes, loads, _ = _nearest(question)
    most = question.most_load[dyes]
    used = dyes < len(question.dyes)
    if (loads[used] > _AT_BOUND * most[used]).any():
        return "strength", "The skin cannot take up enough dye: it is full before the target."
    return (
        "hue",
        "The target lies outside the hue range of these dyes: no mix of them comes nearer.",
    )
