"""Turn an outline into polygons: the outer edge, the core inside the wall, the channel.

A curve becomes a polygon of 720 corners a full circle whose area is the curve's own; its second
moment then differs by less than 1e-9. Rings are arrays (n, 2) of x, y [m], counter-clockwise,
the first corner not repeated. The wall is an inset of constant thickness; only the ellipse's
core is again an ellipse (semi-axes less the wall), as it is drawn in practice.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, check_number, check_numbers, refuse
from flexcalc.limb.outline import (
    DShape,
    Ellipse,
    Outline,
    Polygon,
    Round,
    RoundedRectangle,
    check_outline,
)

Ring = NDArray[np.float64]
FULL_CIRCLE = 720
THINNEST_POLYGON = 1e-4
"""Least area of a polygon as a share of its longest side squared."""


def outline_ring(outline: Outline) -> Ring:
    """Return the outer edge of the section.

    Parameters
    ----------
    outline : Outline
        Any of the outlines.

    Returns
    -------
    ndarray (n, 2)
        Corners x, y. [m]
    """
    check_outline("outline", outline)
    return _inset_ring(outline, 0.0)


def outline_polygon(outline: Outline) -> Any:
    """Return the outer edge as a shapely Polygon.

    Raises
    ------
    ValueError
        For a polygon that crosses or touches itself, or encloses next to nothing.
    """
    check_outline("outline", outline)
    return _outer_area(outline)


@lru_cache(maxsize=256)
def _outer_area(outline: Outline) -> Any:
    from shapely import Polygon as Area

    area = Area(outline_ring(outline))
    if isinstance(outline, Polygon):
        if not area.is_valid:
            raise refuse("outline polygon", "without crossing or touching itself", "one that does")
        span = max(area.bounds[2] - area.bounds[0], area.bounds[3] - area.bounds[1])
        if span < 1e-4 or area.area < THINNEST_POLYGON * span**2:
            raise refuse("outline polygon", "enclosing an area", f"{area.area:g} m2")
    return area


def core_polygon(outline: Outline, wall: float) -> Any:
    """Return what lies inside the wall as a shapely Polygon or MultiPolygon, empty if nothing.

    ``wall`` [m] is the thickness of the inset. A free polygon narrow in places has its core in
    several pieces.
    """
    check_outline("outline", outline)
    return _core_area(outline, check_number("wall", wall, least=0.0, most=1.0, unit="m"))


@lru_cache(maxsize=1024)
def _core_area(outline: Outline, wall: float) -> Any:
    from shapely import Polygon as Area

    if isinstance(outline, Polygon):
        # fewer corners to a fillet where there are many fillets, or the core grows to 1e5 corners
        quarter = max(8, min(FULL_CIRCLE // 4, 20000 // len(outline.points)))
        return outline_polygon(outline).buffer(-wall, quad_segs=quarter)
    return Area(_inset_ring(outline, wall)) if wall < half_thickness(outline) else Area()


def half_thickness(outline: Outline) -> float:
    """Return the wall that just fills the outline, half its narrower side. [m]

    For a free polygon an upper bound of it.
    """
    check_outline("outline", outline)
    return _half_thickness(outline)


@lru_cache(maxsize=2048)
def _half_thickness(outline: Outline) -> float:
    if isinstance(outline, Round):
        return float(outline.diameter) / 2
    if isinstance(outline, DShape):
        return float(outline.diameter / 2 - outline.flat_y) / 2
    if isinstance(outline, Polygon):
        return float(np.ptp(outline_ring(outline), axis=0).min()) / 2
    return float(min(outline.width, outline.height)) / 2


def channel_ring(radius: float, offset: tuple[float, float], roofed: bool = False) -> Ring:
    """Return a round channel, or one with a 45 degree roof pointing to +y.

    Parameters
    ----------
    radius : float
        Radius of the round part. [m]
    offset : (float, float)
        Its centre. [m]
    roofed : bool
        True for two flats at 45 degrees that meet radius*sqrt(2) above the centre.

    Returns
    -------
    ndarray (n, 2)
        Corners x, y. [m]
    """
    radius = check_number("channel radius", radius, above=0.0, most=1.0, unit="m")
    check_kind("channel roofed", roofed, bool, "True or False")
    place = check_numbers("channel offset", offset, least=-1.0, most=1.0, unit="m")
    if place.shape != (2,):
        raise refuse("channel offset", "a pair (x, y)", f"shape {place.shape}")
    ring = _arc(radius, 0.0, 2 * math.pi)[:-1]
    if roofed:
        round_part = _arc(radius, 0.75 * math.pi, 2.25 * math.pi)
        ring = np.vstack([round_part, [0.0, radius * math.sqrt(2)]])
    return np.asarray(ring + place, float)


def _inset_ring(outline: Outline, wall: float) -> Ring:
    """Return an outline's ring moved inward by ``wall`` (a polygon only by 0)."""
    if isinstance(outline, Round):
        return _arc(outline.diameter / 2 - wall, 0.0, 2 * math.pi)[:-1]
    if isinstance(outline, Ellipse):
        axes = np.array([outline.width / 2 - wall, outline.height / 2 - wall], float)
        return axes * _arc(1.0, 0.0, 2 * math.pi)[:-1]
    if isinstance(outline, RoundedRectangle):
        return _rounded_rectangle(outline, wall)
    if isinstance(outline, DShape):
        radius, flat = outline.diameter / 2 - wall, outline.flat_y + wall
        low = math.asin(max(flat / radius, -1.0))
        return _arc(radius, low, math.pi - low)
    ring = np.array(outline.points, float)
    x, y = (ring - ring[0]).T
    clockwise = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 0
    return ring[::-1] if clockwise else ring


def _rounded_rectangle(outline: RoundedRectangle, wall: float) -> Ring:
    radius = max(outline.corner_radius - wall, 0.0)
    x, y = outline.width / 2 - wall - radius, outline.height / 2 - wall - radius
    centres = ((x, y), (-x, y), (-x, -y), (x, -y))
    if radius == 0:
        return np.array(centres, float)
    quarters = [
        _arc(radius, turn * math.pi / 2, (turn + 1) * math.pi / 2) + np.array(centre, float)
        for turn, centre in enumerate(centres)
    ]
    ring = np.vstack(quarters)
    # corners that fall together would leave edges too short for the polygon library
    apart = np.abs(ring - np.roll(ring, 1, axis=0)).max(axis=1) > 1e-9 * (x + y + radius)
    return np.asarray(ring[apart], float)


def _arc(radius: float, start: float, stop: float) -> Ring:
    """Return corners along an arc about the origin, both ends included, sector area kept.

    The corners stand outside the arc by just so much that the chords cut off nothing; the ends
    of an open arc stay on it, so that straight sides join it where they should.
    """
    count = max(4, math.ceil((stop - start) / (2 * math.pi) * FULL_CIRCLE - 1e-9))
    angles = np.linspace(start, stop, count + 1)
    step = (stop - start) / count
    ratio = step / math.sin(step)
    grown = np.full(count + 1, radius * math.sqrt(ratio))
    if stop - start < 2 * math.pi - 1e-9:
        inner = (math.sqrt(1 + (count - 2) * count * ratio) - 1) / (count - 2)
        grown[:] = radius * inner
        grown[[0, -1]] = radius
    return np.asarray(grown[:, None] * np.column_stack([np.cos(angles), np.sin(angles)]), float)
