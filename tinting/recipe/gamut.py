"""What colours some dyes can make of a base: many mixtures at once, and where they lie.

The colours of mixtures follow no straight lines between those of their dyes, so they are sampled:
every choice of up to three dyes, each from faint to as strong as the mix may be. A load that some
coats lay down is laid down by more coats of a weaker mix too, so the most coats stand for all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array, check_lab
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import Base, Dye, Hand, check_hand
from tinting.skin.uptake import MOST_COATS, skin_absorption

FAINT = 1 / 600
"""The weakest share of a dye that is looked at: a drop in about 20 mL."""
MOST_MIXTURES = 30_000
LEAST_LEVELS, MOST_LEVELS = 3, 60
HUES = {
    "red": 32.0,
    "orange": 68.0,
    "yellow": 100.0,
    "green": 145.0,
    "turquoise": 195.0,
    "blue": 270.0,
    "violet": 305.0,
    "magenta": 340.0,
}
"""Middles of the hues in the plane of a* and b*, an estimate. [degree]"""
COLOURED = 20.0
"""Chroma from which a surface counts as coloured, an estimate. [dE]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Gamut:
    """Colours that dyes make of a base: ``labs`` (N, 3) under D65 for 10 degree, the bare base
    first, of mixes with ``shares`` (N, J) of ``dyes`` (J) by name in ``coats``."""

    dyes: tuple[str, ...]
    coats: int
    shares: Array = field(repr=False)
    labs: Array = field(repr=False)

    @property
    def chroma_by_hue(self) -> dict[str, float]:
        """The strongest colour of each hue. [dE]"""
        chroma = np.hypot(self.labs[:, 1], self.labs[:, 2])
        places = _hue_places(self.labs)
        return {
            name: float(chroma[places == place].max(initial=0.0)) for place, name in enumerate(HUES)
        }

    @property
    def missing(self) -> tuple[str, ...]:
        """The hues in which nothing coloured can be made."""
        return tuple(name for name, chroma in self.chroma_by_hue.items() if chroma < COLOURED)

    def distance(self, target: object) -> float:
        """Return CIEDE2000 from the nearest of these colours to a target, CIELAB (3,). [dE]"""
        return float(delta_e(self.labs, check_lab("target", target)).min())

    def squares(self, step: float) -> Array:
        """Return the squares (M, 4) of the plane that hold colours, ``step`` [dE] wide: middle in
        a* and b*, least and most lightness."""
        wide = check_number("step", step, least=0.5, most=50.0, unit="dE")
        return _squares(self.labs[:, 1:], self.labs[:, 0], wide)

    def leaf(self, target: object, step: float, within: float = 15.0) -> Array:
        """Return the squares (M, 2), middles in chroma and lightness, of colours whose hue is
        ``within`` so many degrees of a target's, CIELAB (3,)."""
        _, a, b = check_lab("target", target)
        wide = check_number("step", step, least=0.5, most=50.0, unit="dE")
        about = check_number("within", within, above=0.0, most=180.0, unit="degree")
        turned = (self.labs[:, 1] + 1j * self.labs[:, 2]) * np.exp(-1j * math.atan2(b, a))
        near = np.abs(np.angle(turned, deg=True)) <= about
        points = np.column_stack([np.abs(turned), self.labs[:, 0]])[near]
        return _squares(points, points[:, 1], wide)[:, :2]


def hue_of(lab: object) -> str:
    """Return the name of the hue of a CIELAB colour (3,)."""
    return list(HUES)[int(_hue_places(check_lab("lab", lab)[None])[0])]


def _hue_places(labs: Array) -> NDArray[np.intp]:
    """Places (N,) in `HUES` of CIELAB (N, 3)."""
    angles = np.degrees(np.arctan2(labs[:, 2], labs[:, 1]))
    away = np.abs((angles[:, None] - np.array(list(HUES.values())) + 180) % 360 - 180)
    return np.asarray(away.argmin(axis=1), dtype=np.intp)


def dye_gamut(
    base: Base,
    dyes: Sequence[Dye],
    *,
    max_dyes: int = 3,
    max_coats: int = 5,
    max_share: float = 0.5,
    hand: Hand | None = None,
) -> Gamut:
    """Return the colours that dyes can make of a base.

    Parameters
    ----------
    base : Base
        The bare part.
    dyes : sequence of Dye
        1 to 20.
    max_dyes, max_coats, max_share : int, int, float
        Most dyes in one mix (1 to 3), coats, and share of all dyes in the mix.
    hand : Hand, optional
        Who lays it on.

    Raises
    ------
    ValueError
        For wrong arguments.
    """
    check_kind("base", base, Base, "a Base")
    if not isinstance(dyes, Sequence) or not 1 <= len(dyes) <= 20:
        got = len(dyes) if isinstance(dyes, Sequence) else type(dyes).__name__
        raise refuse("dyes", "a sequence of 1 to 20 Dye", got)
    for dye in dyes:
        check_kind("each dye", dye, Dye, "a Dye")
    together = check_whole("max dyes", max_dyes, least=1, most=3)
    coats = check_whole("max coats", max_coats, least=1, most=MOST_COATS)
    most = check_number("max share", max_share, least=FAINT, most=1.0)
    factor = check_hand(hand)
    shares = _shares(len(dyes), min(together, len(dyes)), most)
    taken = skin_absorption(shares, coats, dyes, hand=factor)
    return Gamut(
        dyes=tuple(dye.name for dye in dyes),
        coats=coats,
        shares=shares,
        labs=lab_of(dyed_reflectance(taken, base)),
    )


def _shares(count: int, together: int, most: float) -> Array:
    """Shares (N, J) of every choice of dyes, none first, up to ``most`` of all together."""
    levels = round((MOST_MIXTURES / math.comb(count, together)) ** (1 / together))
    steps = np.geomspace(FAINT, most, min(max(levels, LEAST_LEVELS), MOST_LEVELS))
    parts = [np.zeros((1, count))]
    for size in range(1, together + 1):
        rows = np.array(list(product(steps, repeat=size)))
        # a mix that is too strong is taken as strong as it may be
        rows = rows * np.minimum(1.0, most / rows.sum(axis=1))[:, None]
        for chosen in combinations(range(count), size):
            parts.append(np.zeros((len(rows), count)))
            parts[-1][:, chosen] = rows
    return np.concatenate(parts)


def _squares(points: Array, lightness: Array, step: float) -> Array:
    """Squares (M, 4) that hold points (N, 2): middles, least and most lightness."""
    places = np.floor(points / step)
    each, inverse = np.unique(places, axis=0, return_inverse=True)
    inverse = inverse.reshape(-1)
    low, high = np.full(len(each), np.inf), np.full(len(each), -np.inf)
    np.minimum.at(low, inverse, lightness)
    np.maximum.at(high, inverse, lightness)
    return np.column_stack([(each + 0.5) * step, low, high])
