"""Blind trials: paint swatches in the synthetic world, fit, and compare held-out recipes.

Nothing here knows how the fit works; it goes through the public functions alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from tests.tinting.world import (
    Manner,
    Part,
    TrueDye,
    bare,
    brush_factor,
    make_dye,
    make_part,
    paint,
    read_lab,
)
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.learn.band import predict_band
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import SCATTERING_THICKNESS, Base, Swatch, base_from_lab

Recipe = tuple[Mapping[str, float], int]
DESIGN = ((1 / 8, 3), (1 / 2, 5), (1 / 8, 1), (1 / 32, 2), (1.0, 3), (1 / 4, 2))
SHARES = (1 / 64, 1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2)
ERROR = 1.0
HELD_OUT = 10


@dataclass
class Score:
    """CIEDE2000 of predictions from the noise-free truth and from painted, read patches."""

    true: list[float] = field(default_factory=list)
    read: list[float] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)

    def line(self) -> str:
        """Median / 95 % of both, and the share inside the 80 % band."""
        cover = f"{np.mean(self.inside):5.0%}" if self.inside else "     "
        return "  ".join(
            [f"{np.median(e):5.2f} /{np.quantile(e, 0.95):6.2f}" for e in (self.true, self.read)]
            + [cover]
        )

    def median(self) -> float:
        return float(np.median(self.true))

    def tail(self) -> float:
        return float(np.quantile(self.true, 0.95))


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A part and dyes of one world, and how well the base is known."""

    rng: np.random.Generator
    manner: Manner
    part: Part
    dyes: Mapping[str, TrueDye]
    base: Base

    def shown(self, recipe: Recipe, part: Part | None = None, brush: float = 1.0) -> np.ndarray:
        """Reflectance of a recipe on the part, or on another one."""
        shares, coats = recipe
        mix = [(self.dyes[name], share) for name, share in shares.items()]
        return paint(part or self.part, mix, coats, brush)

    def swatch(self, recipe: Recipe, base: str = "", part: Part | None = None) -> Swatch:
        """A painted and read patch."""
        shown = self.shown(recipe, part, brush_factor(self.rng, self.manner))
        reading = read_lab(self.rng, shown, self.manner.noise)
        return Swatch(shares=recipe[0], coats=recipe[1], lab=reading, error=ERROR, base=base)


def make_bench(
    seed: int, manner: Manner, dyes: int = 1, coloured: bool = False, by_lab: bool = False
) -> Bench:
    """Return a bench; its base is known by spectrum or by a reading of its colour alone."""
    rng = np.random.default_rng(seed)
    part = make_part(rng, manner.kind, coloured)
    names = ["red", "blue", "ochre"][:dyes]
    inks = {name: make_dye(rng, manner) for name in names}
    base = known_base(rng, part, manner, by_lab)
    return Bench(rng=rng, manner=manner, part=part, dyes=inks, base=base)


def known_base(rng: np.random.Generator, part: Part, manner: Manner, by_lab: bool) -> Base:
    """What a maker knows of a part: its kind, and its spectrum or only its colour."""
    if by_lab:
        # the bare part is read four times
        return base_from_lab(read_lab(rng, bare(part), manner.noise / 2), manner.kind)
    thickness = SCATTERING_THICKNESS[manner.kind]
    return Base(reflectance=bare(part), scattering_thickness=thickness, kind=manner.kind)


def held_out(bench: Bench, known: Sequence[Recipe]) -> list[Recipe]:
    """Recipes that were not painted: one dye alone, or all of them mixed."""
    names = list(bench.dyes)
    if len(names) == 1:
        grid = [({names[0]: share}, coats) for share in SHARES for coats in (1, 2, 3, 4, 5)]
        grid = [recipe for recipe in grid if recipe not in known]
        return [grid[i] for i in bench.rng.choice(len(grid), HELD_OUT, replace=False)]
    found: list[Recipe] = []
    for _ in range(HELD_OUT):
        parts = bench.rng.dirichlet(np.ones(len(names)))
        total = np.exp(bench.rng.uniform(np.log(1 / 64), np.log(1 / 2)))
        mix = {name: float(total * part) for name, part in zip(names, parts, strict=True)}
        found.append((mix, int(bench.rng.integers(1, 6))))
    return found


def learn(bench: Bench, count: int) -> DyeFit:
    """Fit ``count`` swatches of each dye alone, by the usual design."""
    recipes = [({name: share}, coats) for name in bench.dyes for share, coats in DESIGN[:count]]
    return fit_dyes(bench.base, [bench.swatch(recipe) for recipe in recipes])


def add_scores(
    score: Score,
    bench: Bench,
    fit: DyeFit,
    base: Base | None = None,
    part: Part | None = None,
    band_base: str | None = "",
) -> None:
    """Compare held-out recipes; ``band_base`` None where the fit has no band for the base."""
    known = [(dict(swatch.shares), swatch.coats) for swatch in fit.swatches]
    for recipe in held_out(bench, known):
        shares, coats = recipe
        dyes = fit.dyes_on(band_base) if band_base else fit.dyes
        mix = [(dyes[name], share) for name, share in shares.items()]
        predicted = tint(base or fit.base, mix, coats).lab()
        reading = bench.swatch(recipe, part=part).lab
        score.true.append(float(delta_e(predicted, lab(bench.shown(recipe, part)))))
        score.read.append(float(delta_e(predicted, reading)))
        if band_base is not None:
            band = predict_band(fit, shares, coats, base=band_base, error=ERROR)
            score.inside.append(score.read[-1] <= band.radius)


def one_dye(count: int, manner: Manner, seeds: Sequence[int], by_lab: bool = False) -> Score:
    """Errors of one dye learned from ``count`` swatches."""
    score = Score()
    for seed in seeds:
        bench = make_bench(seed, manner, coloured=seed % 2 == 1, by_lab=by_lab)
        add_scores(score, bench, learn(bench, count))
    return score


def mixtures(dyes: int, manner: Manner, seeds: Sequence[int], by_lab: bool = False) -> Score:
    """Errors of mixtures of dyes that were learned alone, from three swatches each."""
    score = Score()
    for seed in seeds:
        bench = make_bench(seed, manner, dyes, coloured=seed % 2 == 1, by_lab=by_lab)
        add_scores(score, bench, learn(bench, 3))
    return score


def new_base(
    manner: Manner, seeds: Sequence[int], by_lab: bool = False, told: bool = True
) -> Score:
    """Errors on another base of the same kind without any swatch on it.

    ``told``: the fit hears of the other base; otherwise it is put under the dyes afterwards.
    """
    score = Score()
    for seed in seeds:
        bench = make_bench(seed, manner, by_lab=by_lab)
        other = make_part(bench.rng, manner.kind, coloured=seed % 2 == 1, like=bench.part)
        base = known_base(bench.rng, other, manner, by_lab)
        recipes: list[Recipe] = [({"red": share}, coats) for share, coats in DESIGN[:3]]
        painted = [bench.swatch(recipe, "first") for recipe in recipes]
        if told:
            fit = fit_dyes({"first": bench.base, "other": base}, painted)
            add_scores(score, bench, fit, fit.bases["other"], other, "other")
        else:
            fit = fit_dyes({"first": bench.base}, painted)
            add_scores(score, bench, fit, base, other, None)
    return score


def other_kind(manner: Manner, kind: str, seeds: Sequence[int], swatches: int = 1) -> Score:
    """Errors on a base of another kind with one swatch on it."""
    score = Score()
    for seed in seeds:
        bench = make_bench(seed, manner)
        other = make_part(bench.rng, kind, coloured=seed % 2 == 1, like=bench.part)
        base = known_base(bench.rng, other, Manner(kind=kind), False)
        recipes: list[Recipe] = [({"red": share}, coats) for share, coats in DESIGN[:3]]
        painted = [bench.swatch(recipe, "first") for recipe in recipes]
        painted += [bench.swatch(recipe, "other", other) for recipe in recipes[:swatches]]
        fit = fit_dyes({"first": bench.base, "other": base}, painted)
        add_scores(score, bench, fit, fit.bases["other"], other, "other")
    return score
