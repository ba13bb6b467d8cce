"""The quick answer: a damped Gauss-Newton search over all choices of dyes at once.

The loads of the dyes are taken as continuous first; the whole drops around the places where the
searches end, for every number of coats, are then compared for what they are. That finds the
best recipe of all in nine of ten cases and one as good to the eye in the rest, but it cannot
say that there is none.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from tinting.colour.colorimetry import delta_e
from tinting.colour.grid import Array
from tinting.recipe.model import (
    MOST_DYES,
    Question,
    Rows,
    Whole,
    allowed,
    joined,
    load_labs,
    row_differences,
)

STEPS = 9
_FIRST_STEPS = 3
_STEP = 1e-5
_STARTS = (0.1, 0.4, 0.7)
"""Share of the way from the least load to the most, by their logarithms."""
_DEEPER = 40
_KEPT = 60
_CHOICES = 120


def live_rows(question: Question) -> tuple[Rows, Array]:
    """Return good recipes, best first, and their worst CIEDE2000 over the lights (N,)."""
    dyes = question.combinations
    loads, away = descended(question, dyes, _start_loads(question, dyes), _FIRST_STEPS)
    near = np.argsort(away, kind="stable")[:_CHOICES]
    dyes = dyes[near]
    loads, _ = descended(question, dyes, loads[near], STEPS - _FIRST_STEPS)
    rows = allowed(question, _whole_drops(question, dyes, loads))
    if not rows.number:
        return rows, np.empty(0)
    rows, _ = _ranked(question, rows)
    first = nearest_of_each(question, rows)
    deeper = np.union1d(np.arange(min(_DEEPER, rows.number)), first)
    around = allowed(question, _neighbours(question, rows[deeper]))
    kept = np.union1d(np.arange(min(_KEPT, rows.number)), first)
    return _ranked(question, joined([rows[kept], around]).distinct())


def nearest_of_each(question: Question, rows: Rows) -> Whole:
    """Return the place of the first row of each number of coats and of dyes."""
    sizes = (rows.dyes < len(question.dyes)).sum(axis=1)
    return np.unique(rows.coats * (MOST_DYES + 1) + sizes, return_index=True)[1]


def nearest_loads(question: Question, dyes: Whole) -> tuple[Array, Array]:
    """Return the loads (N, 3) of ``dyes`` that come nearest to the target, and how near (N,).

    From one drop in one coat to the most drops in the most coats, as if drops could be split.
    """
    return descended(question, dyes, _start_loads(question, dyes), STEPS)


def descended(question: Question, dyes: Whole, loads: Array, steps: int) -> tuple[Array, Array]:
    """Return better loads (N, 3) after some damped Gauss-Newton steps, and how near they come.

    Differences in CIELAB are weighed as CIEDE2000 weighs small ones around the target, which is
    smooth where CIEDE2000 itself jumps; under several lights their squares are added.
    """
    metric = target_metric(question)
    least, most = load_range(question, dyes)
    loads = loads.copy()
    damping = np.full(len(dyes), 1e-2)
    residual, slope = _slopes(question, dyes, loads, most, metric)
    for _ in range(steps):
        normal = slope.transpose(0, 2, 1) @ slope
        pull = slope.transpose(0, 2, 1) @ residual[..., None]
        sizes = np.einsum("nii->ni", normal).copy()
        # a place that no dye fills has no slope: this keeps its row solvable
        stiff = damping[:, None] * sizes + 1e-9 * sizes.max(axis=1, keepdims=True) + 1e-12
        normal[:, np.arange(MOST_DYES), np.arange(MOST_DYES)] += stiff
        trial = np.clip(loads - most * np.linalg.solve(normal, pull)[..., 0], least, most)
        new_residual, new_slope = _slopes(question, dyes, trial, most, metric)
        better = (new_residual**2).sum(axis=1) < (residual**2).sum(axis=1)
        loads[better] = trial[better]
        residual[better], slope[better] = new_residual[better], new_slope[better]
        damping = np.where(better, damping / 5, damping * 5)
    return loads, np.sqrt((residual**2).sum(axis=1))


def load_range(question: Question, dyes: Whole) -> tuple[Array, Array]:
    """Return the least and the most load (N, 3) of each of ``dyes`` (N, 3)."""
    least = question.drop_load[1:].min(axis=0)
    return least[dyes], np.maximum(question.most_load, least)[dyes]


def _start_loads(question: Question, dyes: Whole) -> Array:
    """The nearest of a few loads, all dyes as far in their range."""
    metric = target_metric(question)
    least, most = load_range(question, dyes)
    ratio = most / np.maximum(least, 1e-300)
    trials = np.stack([least * ratio**share for share in _STARTS])
    costs = np.stack([(_residuals(question, dyes, t, metric) ** 2).sum(axis=1) for t in trials])
    return np.asarray(trials[costs.argmin(axis=0), np.arange(len(dyes))])


def target_metric(question: Question) -> Array:
    """Return T (L, 3, 3) with |T (lab - target)| about CIEDE2000 for small differences."""
    step = 0.5
    unit = step * np.eye(3)
    found = []
    for target in question.targets:
        alone = np.array([float(delta_e(target, target + e)) ** 2 for e in unit])
        form = np.diag(alone)
        for i, j in ((0, 1), (0, 2), (1, 2)):
            both = float(delta_e(target, target + unit[i] + unit[j])) ** 2
            form[i, j] = form[j, i] = (both - alone[i] - alone[j]) / 2
        values, vectors = np.linalg.eigh(form / step**2)
        # the jump of CIEDE2000 at opposite hues can make the form indefinite near grey
        found.append(np.sqrt(np.maximum(values, 1e-3))[:, None] * vectors.T)
    return np.array(found)


def _residuals(question: Question, dyes: Whole, loads: Array, metric: Array) -> Array:
    """Weighed differences (N, 3 L) from the targets."""
    away = load_labs(question, dyes, loads) - question.targets
    weighed: Array = np.einsum("lij,nlj->nli", metric, away)
    return weighed.reshape(len(dyes), -1)


def _slopes(
    question: Question, dyes: Whole, loads: Array, most: Array, metric: Array
) -> tuple[Array, Array]:
    """Weighed differences (N, 3 L) and their slopes (N, 3 L, 3) by the share of the most load."""
    ahead = [loads + _STEP * most * axis for axis in np.eye(MOST_DYES)]
    found = _residuals(
        question, np.tile(dyes, (MOST_DYES + 1, 1)), np.concatenate([loads, *ahead]), metric
    ).reshape(MOST_DYES + 1, len(dyes), -1)
    return found[0], ((found[1:] - found[0]) / _STEP).transpose(1, 2, 0)


def _whole_drops(question: Question, dyes: Whole, loads: Array) -> Rows:
    """The whole drops on both sides of each load, for every number of coats."""
    used = dyes < len(question.dyes)
    parts = []
    for coats in range(1, question.max_coats + 1):
        per_drop = question.drop_load[coats][dyes]
        drops = np.where(used, loads / np.maximum(per_drop, 1e-300), 0.0)
        for up in product((0, 1), repeat=MOST_DYES):
            most = max(int(question.drop_caps[coats]), 1)
            whole = np.where(used, np.clip(np.floor(drops) + up, 1, most), 0)
            parts.append(
                Rows(dyes=dyes, drops=whole.astype(np.intp), coats=np.full(len(dyes), coats))
            )
    return joined(parts).distinct()


def _neighbours(question: Question, rows: Rows) -> Rows:
    """The recipes a drop or a coat away from these, themselves included."""
    used = rows.dyes < len(question.dyes)
    parts = []
    for coat, *step in product((-1, 0, 1), repeat=1 + MOST_DYES):
        coats = np.clip(rows.coats + coat, 1, question.max_coats)
        most = np.maximum(question.drop_caps[coats], 1)[:, None]
        drops = np.where(used, np.clip(rows.drops + step, 1, most), 0)
        parts.append(Rows(dyes=rows.dyes, drops=drops, coats=coats))
    return joined(parts).distinct()


def _ranked(question: Question, rows: Rows) -> tuple[Rows, Array]:
    worst = row_differences(question, rows).max(axis=1)
    order = np.argsort(worst, kind="stable")
    return rows[order], worst[order]
