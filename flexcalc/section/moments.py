"""Moments of a limb's cross-section: of everything printed, and of the core within it.

A set of moments is an array (6, ...) of the integrals of 1, x, y, y^2, x^2, xy over an area,
about `section_origin` [m2, m3, m3, m4, m4, m4]. ``gross`` is the outline less the channel;
``core`` is what lies inside the wall, outside the sleeve. The stiffness of the section is then
E*(gross - (1 - infill^exponent)*core): linear, so one core serves every infill.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data import read_table
from data.rules import check_numbers, refuse
from flexcalc.limb.inputs import Limb
from flexcalc.limb.outline import Polygon, Round
from flexcalc.limb.shape import channel_ring, core_polygon, half_thickness, outline_polygon

Array = NDArray[np.float64]
BENDING_EXPONENT = read_table("constants")["infill"]["modulus_exponent"].value
"""Exponent of the infill's modulus, E*infill^exponent, where the infill's walls bend."""
WALL_NODES = 13


def disc_moments(radius: ArrayLike, centre: tuple[float, float]) -> Array:
    """Return the moments (6, ...) of discs of ``radius`` [m] at ``centre`` [m]."""
    x, y = centre
    squared = np.asarray(radius, float) ** 2
    area = math.pi * squared
    second_x, second_y = area * (squared / 4 + y**2), area * (squared / 4 + x**2)
    return np.stack([area, area * x, area * y, second_x, second_y, area * x * y])


def polygon_moments(area: Any, origin: tuple[float, float] = (0.0, 0.0)) -> Array:
    """Return the moments (6,) of a shapely area about ``origin`` [m], zeros for an empty one.

    Source: Green's theorem along the edges.
    """
    x0, y0, x1, y1 = polygon_edges(area, origin)
    cross = x0 * y1 - x1 * y0
    x, y = x0 + x1, y0 + y1
    return np.array(
        [
            cross.sum() / 2,
            cross @ x / 6,
            cross @ y / 6,
            cross @ (y**2 - y0 * y1) / 12,
            cross @ (x**2 - x0 * x1) / 12,
            cross @ (x * y + x0 * y0 + x1 * y1) / 24,
        ]
    )


def polygon_edges(area: Any, origin: tuple[float, float]) -> Array:
    """Return the edges (4, n) x0, y0, x1, y1 [m] of a shapely area, its inside to their left."""
    from shapely import get_coordinates, get_parts, get_rings
    from shapely.geometry.polygon import orient

    edges = [np.empty((4, 0))]
    for part in get_parts(area):
        for ring in get_rings(orient(part)):
            corners = (get_coordinates(ring) - origin).T
            edges.append(np.vstack([corners[:, :-1], corners[:, 1:]]))
    return np.concatenate(edges, axis=1)


def channel_moments(limb: Limb, sleeve: float, origin: tuple[float, float]) -> Array:
    """Return the moments (6,) of a limb's channel with a ``sleeve`` [m] about ``origin`` [m].

    Those of a channel of radius 1, scaled and moved: zeros for a limb without one.
    """
    if limb.channel_diameter == 0:
        return np.zeros(6)
    size = limb.channel_diameter / 2 + sleeve
    area, first_x, first_y, second_y, second_x, mixed = (
        _unit_channel(limb.channel_roofed) * size ** np.array([2, 3, 3, 4, 4, 4])
    ).tolist()
    x, y = limb.channel_offset[0] - origin[0], limb.channel_offset[1] - origin[1]
    return np.array(
        [
            area,
            first_x + area * x,
            first_y + area * y,
            second_y + 2 * first_y * y + area * y**2,
            second_x + 2 * first_x * x + area * x**2,
            mixed + first_x * y + first_y * x + area * x * y,
        ]
    )


@cache
def _unit_channel(roofed: bool) -> Array:
    from shapely import Polygon as Area

    return polygon_moments(Area(channel_ring(1.0, (0.0, 0.0), roofed)))


def section_origin(limb: Limb) -> tuple[float, float]:
    """Return the point about which moments are taken: a polygon may lie far from its zero. [m]"""
    if not isinstance(limb.middle_outline, Polygon):
        return 0.0, 0.0
    x, y = np.mean(limb.middle_outline.points, axis=0)
    return float(x), float(y)


def section_regions(limb: Limb, wall: float | None) -> tuple[Any, Any]:
    """Return gross area and core of a limb with this ``wall`` [m] as shapely areas."""
    from shapely import Polygon as Area

    outer = outline_polygon(limb.middle_outline)
    core = _core_region(limb, wall) if wall is not None else Area()
    radius = limb.channel_diameter / 2
    if radius == 0:
        return outer, core
    channel = Area(channel_ring(radius, limb.channel_offset, limb.channel_roofed))
    return outer.difference(channel), core


def _core_region(limb: Limb, wall: float) -> Any:
    """Return the core within a wall [m], less the channel and its sleeve, as a shapely area."""
    from shapely import Polygon as Area

    core = core_polygon(limb.middle_outline, wall)
    reach = limb.channel_diameter / 2 + limb.sleeve
    if limb.channel_diameter == 0:
        return core
    return core.difference(Area(channel_ring(reach, limb.channel_offset, limb.channel_roofed)))


def _core_moments(limb: Limb, wall: float) -> Array:
    outline = limb.middle_outline
    if isinstance(outline, Round) and not limb.channel_roofed:
        return section_moments(limb, wall)[1]
    return polygon_moments(_core_region(limb, wall), section_origin(limb))


def section_moments(limb: Limb, wall: float | None) -> tuple[Array, Array]:
    """Return the moments (6,) of gross area and core of a limb with this ``wall`` [m]."""
    outline = limb.middle_outline
    if isinstance(outline, Round) and not limb.channel_roofed:
        inner = outline.diameter / 2 - (wall if wall is not None else outline.diameter)
        if _hole_fits(limb, inner):
            return _round_moments(limb, np.array(inner))
    origin = section_origin(limb)
    gross, core = section_regions(limb, wall)
    return polygon_moments(gross, origin), polygon_moments(core, origin)


def moments_over_wall(limb: Limb, walls: ArrayLike) -> tuple[Array, Array]:
    """Return the moments of gross area (6,) and core (6, ...) for an array of ``walls`` [m].

    A wall that fills the outline leaves no core. Closed form where everything is round and the
    core holds the whole sleeve; otherwise interpolated between 13 walls (Chebyshev points).

    Raises
    ------
    ValueError
        For walls that are not numbers from 1e-9 to 1 m.
    """
    walls = check_numbers("walls", walls, least=1e-9, most=1.0, unit="m")
    return _moments_over_wall(limb, walls.tobytes(), walls.shape)


@lru_cache(maxsize=8)
def _moments_over_wall(limb: Limb, packed: bytes, shape: tuple[int, ...]) -> tuple[Array, Array]:
    """Return moments over walls in the bytes of an array: rigidity and mass ask for the same."""
    walls = np.frombuffer(packed).reshape(shape)
    half = half_thickness(limb.middle_outline)
    if isinstance(limb.middle_outline, Round) and not limb.channel_roofed:
        inner = half - walls
        if _hole_fits(limb, float(inner.min(initial=half, where=inner > 0))):
            return _round_moments(limb, inner)
    low, high = float(walls.min()), min(float(walls.max()), half)
    gross, core = section_moments(limb, low)
    if high - low < 1e-12:
        return gross, np.multiply.outer(core, walls <= high)
    spots = np.polynomial.chebyshev.chebpts1(WALL_NODES)
    nodes = low + (high - low) * (spots + 1) / 2
    cores = np.array([_core_moments(limb, float(node)) for node in nodes])
    series = np.polynomial.chebyshev.chebvander(spots, WALL_NODES - 1).T @ cores * 2 / WALL_NODES
    series[0] /= 2
    place = 2 * (np.minimum(walls, high) - low) / (high - low) - 1
    fitted = np.polynomial.chebyshev.chebval(place, series)
    return gross, np.asarray(fitted * (walls < half), float)


def moments_below(area: Any, heights: Array, origin: tuple[float, float]) -> Array:
    """Return area, first and second moment about x (3, n) of what lies below ``heights`` (n,).

    Heights and moments are measured from ``origin`` [m]. Each edge adds the strip between itself
    and the y axis: its x is linear in y, so three Gauss points integrate x*y^2 exactly.
    """
    x0, y0, x1, y1 = (edge[:, None] for edge in polygon_edges(area, origin))
    bottom, top = np.minimum(y0, y1), np.maximum(y0, y1)
    end = np.clip(heights, bottom, top)
    slope = (x1 - x0) / np.where(y1 == y0, 1.0, y1 - y0)
    total = np.zeros((3, len(heights)))
    for point, weight in zip(*np.polynomial.legendre.leggauss(3), strict=True):
        y = bottom + (end - bottom) * (point + 1) / 2
        strip = np.sign(y1 - y0) * weight / 2 * (end - bottom) * (x0 + slope * (y - y0))
        total += np.stack([strip.sum(axis=0), (strip * y).sum(axis=0), (strip * y**2).sum(axis=0)])
    return total


def _hole_fits(limb: Limb, inner: float) -> bool:
    """Tell whether a round core of radius ``inner`` is absent, or holds channel and sleeve."""
    if limb.channel_diameter == 0:
        return True
    reach = math.hypot(*limb.channel_offset) + limb.channel_diameter / 2 + limb.sleeve
    return inner <= 0 or reach <= inner


def _round_moments(limb: Limb, inner: Array) -> tuple[Array, Array]:
    if not isinstance(limb.middle_outline, Round):
        raise refuse("limb outline", "Round", type(limb.middle_outline).__name__)
    radius = limb.channel_diameter / 2
    gross = disc_moments(limb.middle_outline.diameter / 2, (0.0, 0.0))
    gross = gross - disc_moments(radius, limb.channel_offset)
    hole = disc_moments(radius + limb.sleeve, limb.channel_offset)
    core = disc_moments(inner, (0.0, 0.0)) - hole.reshape(6, *[1] * inner.ndim)
    return gross, core * (inner > 0)
