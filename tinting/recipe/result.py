"""One recipe as it goes to the bench, and the answer that holds several."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from data.rules import Caution
from tinting.colour.colorimetry import delta_e
from tinting.colour.grid import Array
from tinting.learn.band import Band, band_radius
from tinting.mix.batch import FEWEST_DROPS, pre_dilution
from tinting.recipe.doubt import MATCHED
from tinting.recipe.model import Question, Rows, load_labs, row_loads
from tinting.skin.dyed import Tint, tint

WITHIN, OUTSIDE, OPEN = "within reach", "out of reach", "not decided"
_SHARE = 0.8


@dataclass(frozen=True, kw_only=True, eq=False)
class Recipe:
    """Whole drops of some dyes in one batch, and what comes of it.

    ``drops`` and ``shares`` by name of dye, volumes in m3, ``lab`` (3,) and ``delta_e`` (CIEDE2000
    from the target) by light. ``sensitivity`` [dE] is how far one drop too many of the touchiest
    dye moves the colour under the first light. ``band`` holds 80 % of the parts brushed so, under
    the first light; ``probability`` is that of a part within 2 dE of the target, under the light
    where it is least. ``text`` tells drops and coats, ``parts`` the same mix in parts. Without
    any dye ``drops`` is empty and ``coats`` 0.
    """

    drops: Mapping[str, int]
    shares: Mapping[str, float] = field(repr=False)
    coats: int
    batch_volume: float
    drop_volume: float
    alcohol_volume: float
    lab: Mapping[str, Array] = field(repr=False)
    delta_e: Mapping[str, float] = field(repr=False)
    sensitivity: float
    band: Band = field(repr=False)
    probability: float
    tint: Tint = field(repr=False)
    text: str
    parts: str
    cautions: tuple[Caution, ...] = field(repr=False)

    @property
    def worst(self) -> float:
        """CIEDE2000 from the target under the light where it is largest. [dE]"""
        return max(self.delta_e.values())


@dataclass(frozen=True, kw_only=True, eq=False)
class Recipes:
    """The answer: ``recipes``, the surest first, then by coats, dyes and touch.

    ``exact`` tells whether all recipes were compared. ``reach`` is "within reach", "out of reach"
    (only after all were compared) or "not decided"; ``gap`` [dE] is the worst difference that the
    ``nearest`` recipe leaves. ``reason`` is the key of what binds ("lighter", "coats", "strength",
    "hue", "dyes", "only", or two of them; empty within reach) and ``reason_text`` the sentence.
    ``left`` [dE] is what would be left with a limit lifted, and with two ("coats and strength").
    Iterates over its recipes.
    """

    recipes: tuple[Recipe, ...]
    nearest: Recipe = field(repr=False)
    exact: bool
    reach: str
    reason: str
    reason_text: str
    left: Mapping[str, float] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """Worst difference of the nearest recipe. [dE]"""
        return self.nearest.worst

    def __iter__(self) -> Iterator[Recipe]:
        return iter(self.recipes)

    def __len__(self) -> int:
        return len(self.recipes)

    def __getitem__(self, place: int) -> Recipe:
        return self.recipes[place]


def row_sensitivities(question: Question, rows: Rows) -> Array:
    """Return how far one drop too many moves each recipe (N,), by its touchiest dye. [dE]"""
    loads = row_loads(question, rows)
    per_drop = question.drop_load[rows.coats[:, None], rows.dyes]
    before = load_labs(question, rows.dyes, loads)[:, 0]
    moved = [
        delta_e(load_labs(question, rows.dyes, loads + per_drop * axis)[:, 0], before)
        for axis in np.eye(rows.dyes.shape[1])
    ]
    return np.asarray(np.max(moved, axis=0))


def recipe_of_row(
    question: Question, rows: Rows, sensitivity: float, bands: tuple[Band, ...], probability: float
) -> Recipe:
    """Return the recipe of one row (rows of length 1), with its band under each light."""
    counted = {
        question.dyes[place]: int(drops)
        for place, drops in zip(rows.dyes[0], rows.drops[0], strict=True)
        if place < len(question.dyes)
    }
    coats = int(rows.coats[0])
    batch = float(question.batches[coats])
    share = question.drop_volume / batch
    mix = [(dye, share * n) for dye, n in counted.items()]
    done = tint(question.base, mix, coats, hand=question.hand)
    labs = {light: done.lab(light, question.observer) for light in question.lights}
    dye_volume = question.drop_volume * sum(counted.values())
    drops = {dye.name: n for dye, n in counted.items()}
    return Recipe(
        drops=MappingProxyType(drops),
        shares=MappingProxyType({name: share * n for name, n in drops.items()}),
        coats=coats,
        batch_volume=batch,
        drop_volume=question.drop_volume,
        alcohol_volume=max(batch - dye_volume, 0.0) if drops else 0.0,
        lab=MappingProxyType(labs),
        delta_e=MappingProxyType(
            {
                light: float(delta_e(lab, target))
                for (light, lab), target in zip(labs.items(), question.targets, strict=True)
            }
        ),
        sensitivity=sensitivity,
        band=bands[0],
        probability=probability,
        tint=done,
        text=_drops_text(batch, drops, coats),
        parts=_parts_text(batch / question.drop_volume, drops),
        cautions=_few_drops(batch, question.drop_volume, drops),
    )


def row_bands(question: Question, rows: Rows, covariances: Array) -> list[tuple[Band, ...]]:
    """Return the 80 % bands of recipes (N,) under every light, by covariances (N, L, 3, 3)."""
    labs = load_labs(question, rows.dyes, row_loads(question, rows))
    radii = [
        band_radius(labs[:, light], covariances[:, light], _SHARE)
        for light in range(len(question.lights))
    ]
    return [
        tuple(
            Band(lab=seen, covariance=spread, radius=float(radius), share=_SHARE)
            for seen, spread, radius in zip(labs[i], covariances[i], np.array(radii)[:, i],
                                            strict=True)
        )
        for i in range(rows.number)
    ]  # fmt: skip


def match_probability(question: Question, bands: tuple[Band, ...]) -> float:
    """Return the probability of a match under the light where it is least."""
    pairs = zip(bands, question.targets, strict=True)
    return min(band.within(MATCHED, target) for band, target in pairs)


def _drops_text(batch: float, drops: Mapping[str, int], coats: int) -> str:
    if not drops:
        return "no dye"
    counted = " + ".join(f"{n} {_many('drop', n)} {name}" for name, n in drops.items())
    volume = f"{batch * 1e6:.4g} mL"
    return f"{counted}, alcohol to {volume}; {coats} {_many('coat', coats)}"


def _parts_text(together: float, drops: Mapping[str, int]) -> str:
    """The mix of so many drops in parts, the smallest of the dyes being 1."""
    if not drops:
        return "no dye"
    unit = min(drops.values())
    alcohol = together - sum(drops.values())
    parts = [(n / unit, name) for name, n in drops.items()] + [(alcohol / unit, "alcohol")]
    shown = [(f"{part:.3g}" if part < 1000 else f"{part:.0f}", name) for part, name in parts]
    return " + ".join(
        f"{text} part{'' if text == '1' else 's'} {name}" for text, name in shown if text != "0"
    )


def _few_drops(volume: float, drop: float, drops: Mapping[str, int]) -> tuple[Caution, ...]:
    few = {name: n for name, n in drops.items() if n < FEWEST_DROPS}
    if not few:
        return ()
    batch = volume * math.ceil(FEWEST_DROPS / min(few.values()))
    share = drop / volume
    ways = [f"mix {batch * 1e6:.4g} mL instead"]
    for name, n in few.items():
        if share * n <= 0.1:
            first = pre_dilution(volume, share * n, drop)
            ways.append(f"for {name} {first.text}")
    text = (
        f"Fewer than {FEWEST_DROPS} drops of {', '.join(few)}: one drop more or less shows. "
        f"Either {', or '.join(ways)}."
    )
    return (Caution(key="few drops", text=text),)


def _many(word: str, number: int) -> str:
    return word if number == 1 else word + "s"
