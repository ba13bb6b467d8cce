"""What is known of a dye, as curves: its strength by dilution, its band by swatches, its drift."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from data.rules import check_kind, check_whole
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.difference import delta_e
from tinting.forms.choices import Choices
from tinting.learn.advice import NextSwatch, next_swatch
from tinting.learn.learned import MARK, Learned, learn
from tinting.learn.repeats import mean_swatches, one_spelling
from tinting.log.record import SwatchRecord, folded
from tinting.skin.dyed import tint
from tinting.skin.inputs import Base, Dye

DILUTIONS = 1 / np.geomspace(1.0, 120.0, 7)
"""Shares of a dye in the mix, from the dye as it comes to 1 part in 120."""
MOST_COUNTS = 6
"""So many numbers of swatches are looked at, each a fit of its own."""


@dataclass(frozen=True, kw_only=True)
class Strength:
    """How far a dye of one ``share`` and ``coats`` lies from the bare part, CIEDE2000: as
    predicted, and from ``low`` to ``high`` for four of five parts. [dE]"""

    share: float
    coats: int
    away: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Counted:
    """How wide the 80 % bands of a dye are on average with so many of its swatches. [dE]"""

    swatches: int
    radius: float


@dataclass(frozen=True, kw_only=True)
class Growth:
    """The bands of a ``dye`` by the number of its swatches, and what the next one brings."""

    dye: str
    counts: tuple[Counted, ...]
    next: NextSwatch


def dilution_curve(choices: Choices, base: Base, dye: Dye, coats: int) -> tuple[Strength, ...]:
    """Return how a dye alone builds up on a base with its share in the mix, weakest first."""
    check_kind("choices", choices, Choices, "Choices")
    check_kind("dye", dye, Dye, "a Dye")
    check_whole("coats", coats, least=1, most=50)
    found = []
    for share in DILUTIONS[::-1].tolist():
        dyed = tint(base, ((dye, share),), coats)
        band = choices.likely(dyed)
        bare = lab_of(base.reflectance)
        around = delta_e(band.around(), bare) if band else delta_e(dyed.lab(), bare)
        low, high = np.quantile(around, (0.1, 0.9)).tolist()
        away = float(delta_e(dyed.lab(), bare))
        found.append(Strength(share=share, coats=coats, away=away, low=low, high=high))
    return tuple(found)


def painted_alone(learned: Learned, base: Base, dye: str) -> tuple[Strength, ...]:
    """Return the swatches of a dye alone on a base, as far from the bare part as they read."""
    check_kind("learned", learned, Learned, "what `learn` returns")
    check_kind("base", base, Base, "a Base")
    found = []
    for swatch in learned.fits[0].swatches if learned.fits else ():
        named = {name for name, share in swatch.shares.items() if share > 0}
        place = swatch.base or next(iter(learned.fits[0].bases))
        if named != {dye.removesuffix(MARK)} or place != base.name.removesuffix(MARK):
            continue
        away = float(delta_e(swatch.lab, lab_of(base.reflectance)))
        (share,) = (share for share in swatch.shares.values() if share > 0)
        found.append(Strength(share=share, coats=swatch.coats, away=away, low=away, high=away))
    return tuple(found)


def band_growth(records: Iterable[SwatchRecord], dye: str, base: str = "") -> Growth | None:
    """Return how the bands of a dye shrank swatch by swatch, None where the log cannot tell.

    The first swatches of the dye, in the order of the log, with every row of other dyes. ``base``
    is the name of the base to predict on; left out, or not known, the first.
    """
    rows = one_spelling(records)
    name = folded(dye.removesuffix(MARK))
    own = [
        each.ids
        for each in mean_swatches(rows).swatches
        if name in map(folded, each.swatch.shares) and each.swatch.coats
    ]
    steps = np.unique(np.linspace(1, len(own), min(len(own), MOST_COUNTS)).round().astype(int))
    counts, last = [], None
    for count in steps.tolist() if own else []:
        later = {id for ids in own[count:] for id in ids}
        known = learn([row for row in rows if row.id not in later])
        named = [each for each in known.dye_names if folded(each) == name]
        if not known.fits or not named:
            continue
        fit = known.fits[0]
        place = base.removesuffix(MARK)
        last = next_swatch(fit, named[0], base=place if place in fit.bases else "")
        counts.append(Counted(swatches=count, radius=last.radius))
    return None if last is None else Growth(dye=last.dye, counts=tuple(counts), next=last)
