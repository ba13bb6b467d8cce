"""Hands that could be those that bend a limb: where they press, how widely, how far apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data import Quantity, read_table
from data.rules import Array
from flexcalc.joints.stretches import Stretch, bent_stretches
from flexcalc.limb.inputs import Setting

LEVERS = (-1.463, -0.599, 0.0, 0.599, 1.463)
"""Middles of five equal parts of a normal spread, scaled to its variance [standard deviations]."""
THUMBS = (-0.599, 1.463, 0.0, -1.463, 0.599)
PLACES = (1, -1, 0, -1, 1)
"""Five hands: over these rows each varies as its spread says, and none goes with another."""


@dataclass(frozen=True, kw_only=True)
class LikelyHand:
    """One way to bend a setting: the setting with its lever and places, and its stretches."""

    setting: Setting
    stretches: tuple[Stretch, ...]


def bent_by_hand(setting: Setting) -> bool:
    """Tell whether a hand bends anything of it, so that it matters how."""
    return setting.bent_by == "hands" and any(b.angle and not b.rigid for b in setting.bends)


def likely_hands(setting: Setting, length: float, width: float) -> tuple[LikelyHand, ...]:
    """Return the ways in which a limb may be bent, each as likely as the others.

    Parameters
    ----------
    setting : Setting
        As it is planned. Round formers there is one way.
    length, width : float
        Of the limb. [m]

    Notes
    -----
    Lever, width of the thumb and number of places in a Latin hypercube of five. Where one place
    is planned it stays one, pressed by anything from a point to the whole thumb.
    """
    if not bent_by_hand(setting):
        one = LikelyHand(setting=setting, stretches=bent_stretches(setting, length, width))
        return (one,)
    rows = read_table("constants")["hand"]
    wider = read_table("constants")["spread"]["wider"].value
    found = []
    for number in range(len(LEVERS)):
        lever = setting.lever * setting.lever_factor ** (wider * LEVERS[number])
        places, thumb = setting.places, rows["thumb_width"].value
        if places == 1:
            thumb *= 0.5 + THUMBS[number] / (2 * max(THUMBS))
        else:
            thumb *= math.exp(wider * THUMBS[number] * _deviation(rows["thumb_width"]))
            places = min(max(places + PLACES[number] * setting.places_missed, 1), 20)
        made = replace(setting, lever=min(max(lever, 0.5001 * width), 1.0), places=places)
        found.append(_hand(made, setting, length, width, thumb))
    return tuple(found)


def _hand(made: Setting, planned: Setting, length: float, width: float, thumb: float) -> LikelyHand:
    """Return a hand, or that of the plan where its fingers find no place."""
    try:
        stretches = bent_stretches(made, length, width, thumb)
    except ValueError:
        made = replace(made, places=planned.places, lever=planned.lever)
        stretches = bent_stretches(made, length, width, thumb)
    return LikelyHand(setting=made, stretches=stretches)


def hand_numbers(points: Array) -> NDArray[np.intp]:
    """Return which of five hands bends each limb, for even points (samples,) of 0 to 1."""
    return np.minimum((points * len(LEVERS)).astype(np.intp), len(LEVERS) - 1)


def _deviation(row: Quantity) -> float:
    return math.log(row.high / row.low) / 2
