"""A path with more cover than the middles of the sections give, where there is one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.interpolate import make_lsq_spline

from data.rules import Array, check_kind, refuse
from flexcalc.mesh.centreline.line import POINTS, Line
from flexcalc.mesh.cuts import planes_across
from flexcalc.mesh.sections import Sections
from flexcalc.mesh.slices import Slices, check_line, section_area, sections_along
from flexcalc.mesh.surface import Surface

GAIN = 0.03
"""Share of the least cover below which more of it is not worth leaving the middles."""
ENOUGH = 0.97
"""Share of the largest circle's radius that is as good as the largest."""
STRETCH = 3.0
"""Length over which a path changes its course, in radii."""
SHARES = (1.0, 0.75, 0.5, 0.25)
"""Of the way from the middles to the roomiest places that are tried."""


def roomiest_line(surface: Surface, line: Line, slices: Slices) -> Line:
    """Return the line along which the least cover is thickest.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`.
    slices : Slices
        Its `limb_slices`, at least 12 of them within the limb.

    Returns
    -------
    Line
        ``line`` itself, unless another gives a cover that is thicker by 3 % where it is least.
        Beyond the wrist it runs on beside the line as at the wrist.

    Raises
    ------
    ValueError
        For a line of another mesh, or too few slices.
    """
    check_line(surface, line)
    check_kind("slices", slices, Slices, "Slices")
    edge = min(line.radius, 0.2 * line.limb_length)
    inside = (slices.arc_length > edge) & (slices.arc_length < line.limb_length - edge)
    if inside.sum() < 12:
        raise refuse("slices", "at least 12 within the limb", int(inside.sum()))
    places = slices.arc_length[inside]
    middles = line.point_at(slices.share[inside])
    aside = slices.roomiest[inside] - middles
    aside[slices.cover[inside] >= ENOUGH * slices.inscribed_radius[inside]] = 0.0
    if not aside.any():
        return line
    moved = _smooth(places, aside, STRETCH * line.radius)
    sections = sections_along(surface, line, slices.share[inside], np.zeros(3))
    covers = [_least_cover(sections, share * moved) for share in SHARES]
    best = int(np.argmax(covers))
    if covers[best] < (1 + GAIN) * float(slices.cover[inside].min()):
        return line
    return _shifted(line, places, SHARES[best] * moved)


def _smooth(places: Array, aside: Array, stretch: float) -> Array:
    """Return steps (n, 3) that change over ``stretch``, by least squares."""
    spans = max(1, min(int(np.ptp(places) / stretch), (len(places) - 4) // 2))
    inner = np.linspace(places[0], places[-1], spans + 1)[1:-1]
    knots = np.concatenate([np.full(4, places[0]), inner, np.full(4, places[-1])])
    return np.asarray(make_lsq_spline(places, aside, knots, 3)(places), float)


def _least_cover(sections: Sections, aside: Array) -> float:
    """Return the least distance from moved places to the skin, below 0 outside."""
    from shapely import Point, Polygon

    planes = sections.planes
    least = np.inf
    for k, step in enumerate(aside):
        shape = section_area(sections, k)
        spot = Point(float(step @ planes.xs[k]), float(step @ planes.ys[k]))
        outer = Polygon(shape.exterior) if not shape.is_empty else shape
        away = outer.exterior.distance(spot) if not shape.is_empty else 0.0
        least = min(least, away if outer.contains(spot) else -away)
    return float(least)


def _shifted(line: Line, places: Array, aside: Array) -> Line:
    """Return a line moved by steps (n, 3) at places along it, evenly beyond the last ones."""
    limb = np.linspace(0.0, line.limb_length, POINTS)
    course = make_lsq_spline(places, aside, _knots(places), 3)
    points = line.point_at(limb / line.length) + course(np.clip(limb, places[0], places[-1]))
    beyond = line.arc_length > line.limb_length * (1 + 1e-9)
    points = np.vstack([points, line.points[beyond] + course(places[-1])])
    run = np.linalg.norm(np.diff(points, axis=0), axis=1)
    arc = np.concatenate([[0.0], np.cumsum(run)])
    tangents = np.gradient(points, arc, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    return replace(
        line,
        arc_length=arc,
        points=points,
        tangents=tangents,
        length=float(arc[-1]),
        wrist_share=float(arc[POINTS - 1] / arc[-1]),
    )


def _knots(places: Array) -> Array:
    inner = places[2:-2:2]
    return np.concatenate([np.full(4, places[0]), inner, np.full(4, places[-1])])


def offsets_from(line: Line, other: Line, shares: Array, up: Array) -> Array:
    """Return how far (n, 2) another line lies from one, in x and y of planes across it. [m]

    ``shares`` (n,) of ``line``; ``up`` (3,) is where the planes' y points.
    """
    points, tangents = line.point_at(shares), line.tangent_at(shares)
    planes = planes_across(points, tangents, up)
    limb = shares * line.length / line.limb_length
    step = other.point_at(np.clip(limb * other.wrist_share, 0.0, 1.0)) - points
    return np.stack([np.einsum("ij,ij->i", step, axis) for axis in (planes.xs, planes.ys)], axis=1)
