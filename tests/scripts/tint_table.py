"""Print the table of blind trials: `python -m tests.scripts.tint_table`.

The fit stands beside two plain ways of mixing sRGB.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from tests.tinting.trials import (
    DESIGN,
    Recipe,
    Score,
    held_out,
    make_bench,
    mixtures,
    new_base,
    one_dye,
    other_kind,
)
from tests.tinting.world import Manner, plain_lab, plain_srgb
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e

WORLDS = {
    "translucent": Manner(),
    "opaque": Manner(kind="opaque"),
    "translucent, narrow bands": Manner(band_width=(16.0, 26.0)),
    "opaque, broad bands": Manner(kind="opaque", band_width=(40.0, 75.0)),
    "translucent, soon full": Manner(capacity=(0.0, 0.5)),
    "opaque, steady hand, noisy": Manner(kind="opaque", brush=0.05, noise=1.0),
}


def plain_way(
    way: Callable[..., np.ndarray], count: int, manner: Manner, seeds: Sequence[int]
) -> Score:
    """Errors of a plain way of mixing sRGB."""
    score = Score()
    for seed in seeds:
        bench = make_bench(seed, manner, coloured=seed % 2 == 1)
        known: list[Recipe] = [({"red": share}, coats) for share, coats in DESIGN[:count]]
        amounts = np.array([share * coats for share, coats in DESIGN[:count]])
        colours = plain_srgb(np.array([bench.swatch(recipe).lab for recipe in known]))
        start = plain_srgb(lab(bench.base.reflectance))
        for recipe in held_out(bench, known):
            predicted = plain_lab(way(start, amounts, colours, recipe[0]["red"] * recipe[1]))
            score.true.append(float(delta_e(predicted, lab(bench.shown(recipe)))))
            score.read.append(float(delta_e(predicted, bench.swatch(recipe).lab)))
    return score


def averaged(start: np.ndarray, amounts: np.ndarray, colours: np.ndarray, amount: float):
    """Return sRGB between the swatches next to it in share times coats."""
    order = np.argsort(amounts)
    at, of = np.append(0.0, amounts[order]), np.vstack([start, colours[order]])
    return np.array([np.interp(amount, at, of[:, k]) for k in range(3)])


def multiplied(start: np.ndarray, amounts: np.ndarray, colours: np.ndarray, amount: float):
    """Return sRGB by multiplying the base with one factor per unit of share times coats."""
    logs = np.log(np.maximum(colours, 1e-3) / start)
    rate = (logs * amounts[:, None]).sum(axis=0) / (amounts**2).sum()
    return np.clip(start * np.exp(rate * amount), 0, 1)


def print_table(trials: int = 40) -> None:
    """Print median / 95 % of all trials in several worlds."""
    seeds = range(trials)
    print(f"{'CIEDE2000, median / 95 %':44} {'from the truth':>14} {'as read':>15}  in band")
    for title, manner in WORLDS.items():
        print(title)
        for name, score in rows(manner, seeds).items():
            print(f"    {name:40} {score.line()}", flush=True)


def rows(manner: Manner, seeds: Sequence[int]) -> dict[str, Score]:
    """Scores of one world by what was tried."""
    other = "opaque" if manner.kind == "translucent" else "translucent"
    found: dict[str, Score] = {}
    for count in (1, 3, 6):
        found[f"swatches: {count}"] = one_dye(count, manner, seeds)
        found[f"swatches: {count}, base by its colour"] = one_dye(count, manner, seeds, True)
        found[f"swatches: {count}, sRGB averaged"] = plain_way(averaged, count, manner, seeds)
        found[f"swatches: {count}, sRGB multiplied"] = plain_way(multiplied, count, manner, seeds)
    found["two dyes mixed, 3 swatches each"] = mixtures(2, manner, seeds)
    found["three dyes mixed, 3 swatches each"] = mixtures(3, manner, seeds)
    found["base of the same kind"] = new_base(manner, seeds)
    found["base of the same kind, afterwards"] = new_base(manner, seeds, told=False)
    found[f"{other} base with 1 swatch on it"] = other_kind(manner, other, seeds)
    return found


if __name__ == "__main__":
    print_table()
