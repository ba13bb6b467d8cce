"""Where exactly a limb's line ends: at the skin, or where another part begins."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.mesh.centreline.fitting import Fit
from flexcalc.mesh.cuts import faces_near, planes_across
from flexcalc.mesh.sections import Sections, sections_at
from flexcalc.mesh.solid import Solid

LOOK = 4.0
"""How far beyond its last section, in radii, an end is looked for."""
TAPERS = 1.7
"""How far beyond its last full section, in radii, an end may lie that is round or oblique."""
OUTWARD = 0.3
"""Slope against the line, more than usual, with which the skin turns into another part."""
STANDS_OFF = 0.015
"""Distance, in radii, at which the skin stands off from its course."""
ROUNDLY = 300
"""Corners of a ring from which its edges need none between."""
SPOKES, RUN = 24, 9
"""Directions in a section, and steps of .02 radii, over which that slope is taken."""
COURSE, TURN_STEP, TURN_RUN, USUAL = 5.0, 0.05, 4, 20
"""How far before an end, in radii, the skin's course is followed, in which steps, and over how many
of them a slope and the usual one are taken."""
WIDENS, NARROWS = 0.2, 0.25
"""Slopes more than usual with which the skin widens into a ball, and turns in to an end."""
THICKER = 1.06
"""How much thicker than before it a ball at the end is at least."""
ROUND = 1.2
"""How far in, in radii, a round end is taken to reach where too little is seen of it."""
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, kw_only=True)
class End:
    """One end of a limb's line.

    ``place`` is its parameter on the fitted curve, ``keep`` that of the last section that is the
    limb's alone; ``joint``: another part of the body begins there; ``sure``: nothing speaks
    against it.
    """

    place: float
    keep: float
    joint: bool
    sure: bool


def skin_end(solid: Solid, fit: Fit, last: float, way: int, radius: float, hole: float) -> float:
    """Return how far beyond parameter ``last`` the curve leaves the solid, inf if it does not.

    ``hole`` [m]: radius of a channel about the curve, else 0: then rays beside it are taken,
    whose mean is the end for a flat one.
    """
    u = last + way * np.linspace(0.0, LOOK * radius, 17)
    points, tangents = fit.at(u)
    if hole == 0.0:
        return _exit(solid, points)
    planes = planes_across(points, tangents, UP)
    ring = (hole + radius) / 2
    found = []
    for turn in np.arange(12) * np.pi / 6:
        aside = np.tile([[ring * np.cos(turn), ring * np.sin(turn)]], (len(points), 1))
        found.append(_exit(solid, planes.lifted(slice(None), aside)))
    return float(np.mean(found))


def _exit(solid: Solid, points: Array) -> float:
    """Return the length along a chain of points at which it last leaves the triangles near."""
    length = 0.0
    for start, stop in itertools.pairwise(points):
        share = _crossing(faces_near(solid, start, stop), start, stop - start)
        step = float(np.linalg.norm(stop - start))
        if np.isfinite(share):
            return length + share * step
        length += step
    return float("inf")


def _crossing(corners: Array, start: Array, ray: Array) -> float:
    """Return the least share of a ray at which it leaves through triangles with ``corners``
    (m, 3, 3), inf if nowhere.

    Source: Moeller and Trumbore 1997.
    """
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    across = np.cross(ray, two)
    base = np.einsum("ij,ij->i", one, across)
    leaves = base < -1e-30  # the ray runs with the outward normal
    one, two, across, base = one[leaves], two[leaves], across[leaves], base[leaves]
    away = start - corners[leaves, 0]
    u = np.einsum("ij,ij->i", away, across) / base
    over = np.cross(away, one)
    v = over @ ray / base
    t = np.einsum("ij,ij->i", two, over) / base
    slack = 1e-9
    hit = (u >= -slack) & (v >= -slack) & (u + v <= 1 + slack) & (t > 0) & (t <= 1)
    return float(t[hit].min(initial=np.inf))


def last_section(solid: Solid, fit: Fit, last: float, way: int, radius: float) -> float:
    """Return how far beyond ``last`` a plane still finds half a section, for an open end."""
    steps = np.linspace(0.0, TAPERS * radius, 35)
    points, tangents = fit.at(last + way * steps)
    found = sections_at(solid, planes_across(points, tangents, UP), reach=radius)
    good = (found.main >= 0) & (found.radius > 0.7 * radius)
    return float(steps[np.argmin(good) - 1]) if not good.all() else float(steps[-1])


def onset(solid: Solid, fit: Fit, near: float, radius: float, way: int) -> tuple[float, bool]:
    """Return the parameter at which another part begins, near a place on the curve, and whether
    it is sure: there the skin turns outward in some direction, however little the section has
    grown yet.
    """
    fine = near + way * radius * np.linspace(-1.0, 1.2, 111)
    step = 0.02 * radius
    points, tangents = fit.at(fine)
    planes = planes_across(points, tangents, _aside(tangents))
    found = sections_at(solid, planes, reach=radius, places=fine)
    there = np.flatnonzero(found.main >= 0)
    if len(there) < RUN + 20:
        return near, False
    spokes = np.stack([_spokes(found, int(k)) for k in there])
    slopes = (spokes[RUN:] - spokes[:-RUN]) / (RUN * step)
    usual = np.median(slopes[:15], axis=0)
    steep, inward = slopes - usual > OUTWARD, slopes - usual < -2 * OUTWARD
    turned: NDArray[np.bool_] = np.asarray(steep.any(axis=1) | inward.all(axis=1), np.bool_)
    lasting = _lasting(turned, 3)
    if not lasting.any():
        return float(fine[there[-1]]), False
    k = int(np.argmax(lasting))
    # within the run, where the skin first stands off from what it would have been
    steps = np.arange(RUN + 1)[:, None] * step
    off = np.abs(spokes[k : k + RUN + 1] - spokes[k] - usual * steps).max(axis=1)
    first = int(np.argmax(off > STANDS_OFF * radius)) if off.max() > STANDS_OFF * radius else RUN
    return float(fine[there[k + max(first - 1, 0)]]), bool(steep[k].any())


def skin_turns(
    solid: Solid, fit: Fit, spot: float, way: int, radius: float
) -> tuple[float | None, float]:
    """Return how the skin leaves its course before an end at parameter ``spot``.

    First the parameter from which it widens all round, as where a ball begins, None if it does
    not; then how far in, in radii, it first turns inward somewhere, for a round or oblique end.
    Both are told from the slope of the skin a little farther in, however that changes there.
    """
    back = np.arange(COURSE, 0.0, -TURN_STEP)
    fine = spot - way * radius * back
    points, tangents = fit.at(fine)
    planes = planes_across(points, tangents, _aside(tangents))
    found = sections_at(solid, planes, reach=radius)
    there = np.flatnonzero(found.main >= 0)
    if len(there) < 2 * (USUAL + 2 * TURN_RUN):
        return None, ROUND
    spokes = np.stack([_spokes(found, int(k)) for k in there]) / radius
    slopes = (spokes[TURN_RUN:] - spokes[:-TURN_RUN]) / (TURN_RUN * TURN_STEP)
    usual = np.median(sliding_window_view(slopes, USUAL, axis=0), axis=-1)
    turn = slopes[USUAL + TURN_RUN :] - usual[: len(slopes) - USUAL - TURN_RUN]
    begins = there[USUAL + TURN_RUN : USUAL + TURN_RUN + len(turn)]
    widens = _lasting(turn.mean(axis=1) > WIDENS, 2)
    if widens.any():
        k = int(begins[np.argmax(widens)])
        if found.radius[k:].max() > THICKER * found.radius[k]:
            return float(fine[k]), 0.0
    narrows = _lasting(turn.min(axis=1) < -NARROWS, 3)
    return None, float(back[begins[np.argmax(narrows)]]) if narrows.any() else 0.0


def _aside(tangents: Array) -> Array:
    """Return the direction (3,) most square to tangents: sections do not turn in their planes."""
    _, _, axes = np.linalg.svd(tangents, full_matrices=False)
    return np.asarray(axes[2], float)


def _lasting(true: NDArray[np.bool_], count: int) -> NDArray[np.bool_]:
    """Return where something is true and stays so for some steps: a grain of noise does not."""
    lasting = np.array(true)
    for step in range(1, count):
        lasting[:-step] &= true[step:]
    return lasting


def _spokes(sections: Sections, k: int) -> Array:
    """Return the mean radius of a section's outer edge in each of some directions. [m]"""
    ring = sections.curves.ring(int(sections.main[k])) - sections.centroid[k]
    # corners along the edges too, so that a straight edge stays straight between two angles
    parts = min(max(ROUNDLY // len(ring), 1), 6)
    share = np.arange(parts)[:, None] / parts
    ring = ring[:, None] * (1 - share) + np.roll(ring, -1, axis=0)[:, None] * share
    x, y = ring.reshape(-1, 2).T
    turn = np.arctan2(y, x)
    order = np.argsort(turn)
    turns = np.arange(-np.pi, np.pi, 2 * np.pi / (5 * SPOKES))
    reach = np.interp(turns, turn[order], np.hypot(x, y)[order], period=2 * np.pi)
    return np.asarray(reach.reshape(SPOKES, 5).mean(axis=1), float)


def way_out(solid: Solid, points: Array, arc: Array, wrist: float) -> float:
    """Return the arc length at which a line's straight end beyond the wrist first leaves the skin.

    ``points`` (n, 3) and ``arc`` (n,) of the line; where it does not leave, its whole length.
    """
    beyond = arc >= wrist - 1e-12
    length = float(arc[-1])
    if beyond.sum() < 2:
        return length
    start, stop = points[beyond][0], points[-1]
    share = _crossing(faces_near(solid, start, stop), start, stop - start)
    return wrist + share * (length - wrist) if np.isfinite(share) else length


def least_gap(solid: Solid, spots: Array, ahead: Array) -> float:
    """Return the least distance (over a fan of rays) from points (n, 3) to the skin ahead. [m]"""
    side = np.cross(ahead, np.eye(3)[np.abs(ahead).argmin()])
    side /= np.linalg.norm(side)
    other = np.cross(ahead, side)
    rays = [ahead]
    for lean in (0.5, 1.0):
        for turn in np.arange(6) * np.pi / 3:
            out = side * np.cos(turn) + other * np.sin(turn)
            rays.append(ahead * np.cos(lean) + out * np.sin(lean))
    # the nearest skin along the axis bounds how far the others have to look
    far = float(np.linalg.norm(np.ptp(solid.vertices, axis=0)))
    first = _crossing(faces_near(solid, spots[-1], spots[-1] + ahead * far), spots[-1], ahead * far)
    look = min(first * far * 1.01 + 1e-9, far) if np.isfinite(first) else far
    shares = [
        _crossing(faces_near(solid, spot, spot + ray * look), spot, ray * look)
        for spot in spots[::8]
        for ray in rays
    ]
    return float(min([*shares, 1.0]) * look)
