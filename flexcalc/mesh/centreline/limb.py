"""Which part of a body is one limb: the stretch along which its sections change calmly.

From the calmest stretch the sections are walked outward both ways, each held against what the
last ones let expect, until one is much larger (a ball, a torso, a hand), in several pieces
(fingers), much smaller or gone (an end).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from data.rules import Array
from flexcalc.mesh.sections import Sections

STEEP = 0.4
"""Change of radius along the line at which a limb passes into something else."""
JUMP = 0.1
"""Share by which a section may differ from the expected one."""
ASIDE = 0.35
"""Share of the radius by which a section's middle may lie aside of the expected line."""
BACK = 1.4
"""How far back, in radii, the sections reach that let the next one be expected."""


@dataclass(frozen=True, kw_only=True)
class Stop:
    """Where and why a limb stops: ``index`` of its last section and ``why``.

    "grown", "pieces", "aside" tell of another part, "shrunk" and "gone" perhaps of an end, and
    "edge" that the sections stop there while the limb goes on.
    """

    index: int
    why: str


def calm_stretch(sections: Sections, places: Array) -> tuple[int, int]:
    """Return the first and last of the longest run of sections that change calmly.

    ``places`` (k,) along the line. [m]
    """
    radius, breadth = sections.radius, sections.breadth
    off = np.linalg.norm(sections.centroid, axis=1)
    good = (sections.main >= 0) & (sections.pieces == 1) & (off < 0.8 * radius)
    calm = good.copy()
    for values in (radius, breadth):
        slope = np.gradient(_smoothed(values), places)
        calm &= np.abs(slope) < STEEP
    best, start = (0, 0), None
    for k in range(len(calm) + 1):
        if k < len(calm) and calm[k]:
            start = k if start is None else start
        elif start is not None:
            if places[k - 1] - places[start] > places[best[1]] - places[best[0]]:
                best = (start, k - 1)
            start = None
    return best


def limb_stops(sections: Sections, places: Array, middle: int) -> tuple[Stop, Stop]:
    """Return where the limb stops below and above its section number ``middle``."""
    return (
        _walk(sections, places, middle, -1),
        _walk(sections, places, middle, 1),
    )


def _walk(sections: Sections, places: Array, middle: int, way: int) -> Stop:
    """Walk outward; a single section out of line is stepped over."""
    radius, breadth = sections.radius, sections.breadth
    kept = [k for k in range(middle, middle - 8 * way, -way) if 0 <= k < len(places)]
    kept = [k for k in kept if sections.main[k] >= 0][::-1]
    k, doubts = middle + way, 0
    why = "edge"
    while 0 <= k < len(places):
        recent = _recent(kept, places, radius)
        found = _difference(sections, places, radius, breadth, recent, k)
        if not found:
            kept.append(k)
            doubts = 0
        else:
            doubts += 1
            why = found if doubts == 1 else why
            if doubts == 2 or found == "gone":
                return Stop(index=kept[-1], why=why)
        k += way
    return Stop(index=kept[-1], why="edge" if not doubts else why)


def _recent(kept: list[int], places: Array, radius: Array) -> Array:
    last = kept[-1]
    near = [k for k in kept[-24:] if abs(places[k] - places[last]) <= BACK * radius[last]]
    return np.array(near if len(near) >= 4 else kept[-4:])


def _difference(
    sections: Sections, places: Array, radius: Array, breadth: Array, recent: Array, k: int
) -> str:
    """Return in what a section differs from what the recent ones let expect, "" if in nothing."""
    if sections.main[k] < 0:
        return "gone"
    here = places[recent] - places[k]
    size = radius[recent].mean()
    steps: list[float] = []
    for values in (radius, breadth):
        slope, expected = _straight(here, values[recent])
        outward = slope * np.sign(-here.mean())
        steps.append(values[k] / max(expected, 0.2 * size) - 1)
        late = (values[k] - values[recent[-1]]) / abs(places[k] - places[recent[-1]])
        if min(outward, late) > STEEP or outward > 1.2 * STEEP:
            return "grown"
        if max(outward, late) < -1.5 * STEEP:
            return "shrunk"
    if sections.pieces[k] > 1 and min(steps) < -JUMP / 2:
        return "pieces"  # what was one is several now; a part beside it alone says nothing
    if max(steps) > JUMP:
        return "grown"
    if min(steps) < -JUMP:
        return "shrunk"
    if np.linalg.norm(sections.centroid[k]) > ASIDE * size:
        return "aside"
    return ""


def _straight(x: Array, y: Array) -> tuple[float, float]:
    """Return slope and value at 0 of the straight line of least squares."""
    mean, level = float(x.mean()), float(y.mean())
    away = x - mean
    slope = float(away @ (y - level) / max(float(away @ away), 1e-30))
    return slope, level - slope * mean


def _smoothed(values: Array) -> Array:
    padded = np.concatenate([values[:1], values, values[-1:]])
    return np.asarray((padded[:-2] + padded[1:-1] + padded[2:]) / 3, float)
