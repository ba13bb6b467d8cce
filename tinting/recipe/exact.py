"""The full answer: every recipe there is, so that "out of reach" can be said.

About nine million recipes of 36 bands are 300 million reflectances, so the arithmetic is laid
out for it: single precision, blocks that stay in the cache, results into arrays that are there
already, the layer formula with all constants of a band drawn together, and as many workers as
the machine has cores: numpy lets them run side by side. Only recipes that
can be as near as the best so far are compared by CIEDE2000, and the nearest of them once more
in double precision.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import suppress
from functools import cache, partial
from itertools import product
from queue import Empty, SimpleQueue

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import delta_e, lab_from_xyz
from tinting.colour.grid import BANDS, Array
from tinting.recipe.bound import lightness_bounds, squared_bound
from tinting.recipe.model import MOST_DYES, Question, Rows, Whole, row_differences
from tinting.skin.layer import layer_loss
from tinting.skin.uptake import change_at

Single = NDArray[np.float32]
BLOCK = 2000
WINDOW = 0.25
"""Recipes this much worse than the best are kept as alternatives. [dE]"""
MOST_RECIPES = 40_000_000
EACH_DROP = 20
"""Where nothing else is said, every recipe up to so many drops of a dye is compared."""
MOST_WORKERS = 8
TOLD_EVERY = 0.02
"""Seconds between two calls of progress, which may belong to the thread that asked."""
_WAITING = 20_000
_PER_CHOICE = 3


def recipe_count(question: Question) -> int:
    """Return how many recipes of at least one dye there are, before the batch is full."""
    sizes = (question.combinations < len(question.dyes)).sum(axis=1)
    caps = _drop_caps(question)[1:].astype(object)
    return int(sum(int(cap) ** int(size) for size in sizes for cap in caps))


def _drop_caps(question: Question) -> Whole:
    """(max_coats + 1,) up to how many drops of a dye every recipe is compared."""
    return np.minimum(question.drop_caps, question.max_drops or EACH_DROP)


def exact_rows(
    question: Question, best: float, progress: Callable[[float], object] | None
) -> tuple[Rows, Array]:
    """Return the best of all recipes, and those near it: up to three of each choice of dyes.

    Parameters
    ----------
    question : Question
        What is asked.
    best : float
        Worst CIEDE2000 over the lights of a recipe known already. [dE]
    progress : callable, optional
        Called with the share done, rising to 1.

    Returns
    -------
    Rows, ndarray (N,)
        Best first, with their worst CIEDE2000 over the lights in double precision.
    """
    combinations = question.combinations
    workers = min(MOST_WORKERS, os.cpu_count() or 1)
    tasks = SimpleQueue[tuple[int, int]]()
    for task in product(range(len(combinations)), range(1, question.max_coats + 1)):
        tasks.put(task)
    total = tasks.qsize()
    sieves = [_Sieve(question, best) for _ in range(workers)]
    with ThreadPoolExecutor(workers) as pool:
        running = [pool.submit(_worked_off, tasks, sieve, sieves) for sieve in sieves]
        try:
            while wait(running, timeout=TOLD_EVERY).not_done:
                if progress is not None:
                    progress(1 - tasks.qsize() / total)
        finally:
            # also when progress raises, as when the page is drawn anew: the others stop early
            with suppress(Empty):
                while True:
                    tasks.get_nowait()
        for each in running:
            each.result()
    if progress is not None:
        progress(1.0)
    return _best_rows(question, sieves)


def _worked_off(tasks: SimpleQueue[tuple[int, int]], sieve: _Sieve, sieves: list[_Sieve]) -> None:
    """Let all recipes of some choices of dyes, each with its coats, pass through a sieve."""
    compute = _block_computer(sieve.question)
    with suppress(Empty):
        while True:
            number, coats = tasks.get_nowait()
            sieve.hear_of(min(other.best for other in sieves))
            for start, xyz in compute(sieve.question.combinations[number], coats):
                sieve.take(number, coats, start, xyz)
    sieve.compare()


def _drop_grid(question: Question, size: int, coats: int) -> Whole:
    """(size, n) all whole drops of so many dyes that the batch for so many coats can hold."""
    most = int(_drop_caps(question)[coats])
    grid = np.indices((most,) * size, dtype=np.intp).reshape(size, most**size) + 1
    return grid[:, grid.sum(axis=0) <= question.most_drops[coats]]


def _block_computer(question: Question) -> Callable[[Whole, int], Iterator[tuple[int, Single]]]:
    """Return the function that gives (first column of the grid, XYZ (3 L, n)) block by block.

    Each XYZ is overwritten by the next.
    """
    layer = question.layer
    grid_of = cache(partial(_drop_grid, question))
    own, slope, level = (
        each.astype(np.float32)[:, None] for each in (layer.own, layer.slope, layer.level)
    )
    twice = np.float32(layer.twice)
    matrix = question.loss_matrix.astype(np.float32)
    bare = question.bare_xyz.astype(np.float32)[:, None]
    rows = len(matrix)
    room = [
        np.empty(shape * BLOCK, dtype=np.float32) for shape in (MOST_DYES + 1, 3 * BANDS, BANDS)
    ]
    seen = np.empty(rows * BLOCK, dtype=np.float32)

    def compute(dyes: Whole, coats: int) -> Iterator[tuple[int, Single]]:
        used = dyes[dyes < len(question.dyes)]
        scale = question.drop_load[coats][used]
        crowd = (scale * question.crowding[used]).astype(np.float32)
        left = _drawn_together(question, used, scale)
        grid = grid_of(len(used), coats)
        changing = bool(question.changing[used].any())
        tables = [_absorbed_by_drops(question, dye, coats) for dye in used] if changing else []
        for start in range(0, grid.shape[1], BLOCK):
            columns = grid[:, start : start + BLOCK]
            part = columns.astype(np.float32)
            n = part.shape[1]
            mix, drawn, work = (
                flat[: shape * n].reshape(shape, n)
                for flat, shape in zip(room, (len(used) + 1, 3 * BANDS, BANDS), strict=True)
            )
            xyz = seen[: rows * n].reshape(rows, n)
            k, absorption, rest = drawn[:BANDS], drawn[BANDS : 2 * BANDS], drawn[2 * BANDS :]
            if changing:
                # all places are inside, and only "raise" would go through another buffer
                np.take(tables[0], columns[0], axis=1, out=absorption, mode="clip")
                for table, column in zip(tables[1:], columns[1:], strict=True):
                    absorption += np.take(table, column, axis=1, out=work, mode="clip")
                absorption /= 1 + crowd @ part
                np.add(absorption, own, out=k)
                np.multiply(absorption, slope, out=rest)
                rest += level
            else:
                np.divide(part, 1 + crowd @ part, out=mix[:-1])
                mix[-1] = 1
                np.matmul(left, mix, out=drawn)
            layer_loss(absorption, k, rest, twice, out=work)
            np.matmul(matrix, work, out=xyz)
            np.subtract(bare, xyz, out=xyz)
            yield start, xyz

    return compute


def _drawn_together(question: Question, used: Whole, scale: Array) -> Single:
    """Matrix (108, J + 1) from drops of the dyes used, and 1, to the terms of `layer_loss`."""
    layer = question.layer
    absorbed = (scale[:, None] * question.absorptivity[used]).T
    parts = [
        np.column_stack([absorbed, layer.own]),
        np.column_stack([absorbed, 0 * layer.own]),
        np.column_stack([absorbed * layer.slope[:, None], layer.level]),
    ]
    return np.vstack(parts).astype(np.float32)


def _absorbed_by_drops(question: Question, dye: int, coats: int) -> Single:
    """Absorption (36, most drops + 1) of whole drops of one dye in a skin that nothing crowds."""
    loads = np.arange(_drop_caps(question)[coats] + 1) * question.drop_load[coats, dye]
    spectra = question.absorptivity[dye] + change_at(question.changes[dye], loads)
    return np.ascontiguousarray((loads[:, None] * spectra).T, dtype=np.float32)


class _Sieve:
    """Keeps what may be among the best of all recipes that pass by.

    A recipe on its way is a code: number of its choice of dyes, coats, column of the drop grid.
    """

    def __init__(self, question: Question, best: float) -> None:
        self.question, self.best = question, best
        self.waiting: list[tuple[Whole, Single]] = []
        self.kept: list[tuple[Whole, Array]] = []
        self.count = 0
        self.low, self.high = lightness_bounds(question, best + WINDOW)

    def take(self, number: int, coats: int, start: int, xyz: Single) -> None:
        """Let one block pass: columns ``start`` and on of a choice of dyes."""
        near = np.flatnonzero((xyz[1] >= self.low) & (xyz[1] <= self.high))
        if not near.size:
            return
        code = np.empty((3, near.size), dtype=np.intp)
        code[0], code[1], code[2] = number, coats, near + start
        self.waiting.append((code, xyz[:, near]))
        self.count += near.size
        if self.count > _WAITING:
            self.compare()

    def compare(self) -> None:
        """Compare the waiting ones by CIEDE2000, unless they are surely too far."""
        if not self.waiting:
            return
        code, xyz = (np.concatenate(parts, axis=1) for parts in zip(*self.waiting, strict=True))
        self.waiting, self.count = [], 0
        worst = np.zeros(code.shape[1])
        for number, (light, target) in enumerate(
            zip(self.question.lights, self.question.targets, strict=True)
        ):
            seen = np.maximum(xyz[3 * number : 3 * number + 3].T, 0.0)
            lab = lab_from_xyz(seen, light, self.question.observer)
            near = squared_bound(lab, target) <= (self.best + WINDOW) ** 2
            if not near.any():
                return
            code, xyz, lab, worst = code[:, near], xyz[:, near], lab[near], worst[near]
            worst = np.maximum(worst, delta_e(lab, target))
        good = np.flatnonzero(worst <= self.best + WINDOW)
        # of each choice of dyes only the first few are shown, so no more of one block are kept
        order = good[np.argsort(worst[good], kind="stable")]
        first = np.sort(order[_place_in_choice(code[0, order]) < _PER_CHOICE])
        self.kept.append((code[:, first], worst[first]))
        self.hear_of(float(worst.min()))

    def hear_of(self, best: float) -> None:
        """Look only for recipes that can be as good as one that is known now."""
        if best < self.best:
            self.best = best
            self.low, self.high = lightness_bounds(self.question, best + WINDOW)


def _best_rows(question: Question, sieves: list[_Sieve]) -> tuple[Rows, Array]:
    """Return the best recipes of each choice of dyes, compared again in double precision."""
    kept = [part for sieve in sieves for part in sieve.kept]
    code = np.concatenate([np.empty((3, 0), dtype=np.intp), *(code for code, _ in kept)], axis=1)
    worst = np.concatenate([np.empty(0), *(part for _, part in kept)])
    order = np.lexsort((code[2], code[1], code[0], worst))
    code, worst = code[:, order], worst[order]
    best = min(sieve.best for sieve in sieves)
    code = code[:, (worst <= best + WINDOW) & (_place_in_choice(code[0]) < _PER_CHOICE)]
    rows = _decoded(question, code)
    exact = row_differences(question, rows).max(axis=1) if rows.number else np.empty(0)
    order = np.argsort(exact, kind="stable")
    return rows[order], exact[order]


def _place_in_choice(choice: Whole) -> Whole:
    """How many before each have the same number."""
    order = np.argsort(choice, kind="stable")
    run = choice[order]
    first = np.searchsorted(run, run, side="left")
    place = np.empty_like(choice)
    place[order] = np.arange(len(choice)) - first
    return place


def _decoded(question: Question, code: Whole) -> Rows:
    dyes = question.combinations[code[0]]
    drops = np.zeros_like(dyes)
    sizes = (dyes < len(question.dyes)).sum(axis=1)
    for size, coats in product(range(1, MOST_DYES + 1), range(1, question.max_coats + 1)):
        those = (sizes == size) & (code[1] == coats)
        if those.any():
            drops[those, :size] = _drop_grid(question, size, coats).T[code[2][those]]
    return Rows(dyes=dyes, drops=drops, coats=code[1])
