"""Where exactly a limb's line ends: at the skin, or where another part begins."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from data.rules import Array
from flexcalc.mesh.cuts import planes_across
from flexcalc.mesh.fitting import Fit
from flexcalc.mesh.sections import Sections, sections_at
from flexcalc.mesh.solid import Solid

LOOK = 4.0
"""How far beyond its last section, in radii, an end is looked for."""
TAPERS = 1.7
"""How far beyond its last full section, in radii, an end may lie that is round or oblique."""
ONSET = 0.025
"""Share by which a section has grown where another part begins."""
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
    middle = points[len(points) // 2]
    far = np.linalg.norm(solid.vertices - middle, axis=1) < (LOOK + 3) * radius
    faces = solid.triangles[far[solid.triangles].any(axis=1)]
    corners = solid.vertices[faces]
    if hole == 0.0:
        return _exit(corners, points)
    planes = planes_across(points, tangents, UP)
    ring = (hole + radius) / 2
    found = []
    for turn in np.arange(12) * np.pi / 6:
        aside = np.tile([[ring * np.cos(turn), ring * np.sin(turn)]], (len(points), 1))
        found.append(_exit(corners, planes.lifted(slice(None), aside)))
    return float(np.mean(found))


def _exit(corners: Array, points: Array) -> float:
    """Return the length along a chain of points at which it last leaves the triangles near."""
    length = 0.0
    for start, stop in itertools.pairwise(points):
        share = _crossing(corners, start, stop - start)
        step = float(np.linalg.norm(stop - start))
        if np.isfinite(share):
            return length + share * step
        length += step
    return float("inf")


def _crossing(corners: Array, start: Array, ray: Array) -> float:
    """Return the least share of a ray at which it leaves through a triangle, inf if nowhere.

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


def onset(solid: Solid, fit: Fit, sections: Sections, places: Array, index: int, way: int) -> float:
    """Return the parameter at which another part begins, near the last section of the limb."""
    radius = float(sections.radius[index])
    order = np.arange(len(places)) * way
    back = way * (places[index] - places)
    base = (back >= 0.5 * radius) & (back <= 3.0 * radius) & (order <= index * way)
    base &= sections.main >= 0
    fine = places[index] + way * radius * np.linspace(-0.6, 1.0, 81)
    points, tangents = fit.at(fine)
    planes = planes_across(points, tangents, UP)
    found = sections_at(solid, planes, reach=radius, places=fine)
    bad = (found.main < 0) | (found.pieces > 1)
    for values, new in ((sections.radius, found.radius), (sections.breadth, found.breadth)):
        if base.sum() >= 3:
            expected = np.polyval(np.polyfit(places[base], values[base], 1), fine)
            bad |= np.abs(new / np.maximum(expected, 1e-9) - 1) > ONSET
    # the first bad one of a run that lasts
    lasting = bad & np.append(bad[1:], True) & np.append(bad[2:], [True, True])
    return float(fine[int(np.argmax(lasting))]) if lasting.any() else float(fine[-1])
