"""Whether wall, channel and wire fit an outline, and what material is left around a channel."""

from __future__ import annotations

import math
from functools import lru_cache

from data.rules import check_kind, check_number, check_numbers, refuse
from flexcalc.limb.outline import Outline, Polygon, Round, check_outline
from flexcalc.limb.shape import channel_ring, core_polygon, half_thickness, outline_polygon

LEAST_SKIN = 1e-5
"""Material that must be left between a channel and the outside. [m]"""


def check_fit(
    outline: Outline,
    wall: float | None,
    channel_diameter: float,
    channel_offset: tuple[float, float],
    channel_roofed: bool,
    bore_wire_diameter: float,
) -> None:
    """Raise a ValueError if wall, channel or the wire in the bore do not fit the outline.

    Parameters
    ----------
    outline : Outline
        Any of the outlines.
    wall : float or None
        Wall thickness, None for solid. [m]
    channel_diameter : float
        0 for none. [m]
    channel_offset : (float, float)
        Centre of the channel, or of the wire in the bore. [m]
    channel_roofed : bool
        Whether the channel has a 45 degree roof.
    bore_wire_diameter : float
        Diameter of a wire that lies in the bore itself, 0 for none. [m]
    """
    if isinstance(outline, Polygon):
        outline_polygon(outline)
    if wall is not None:
        _check_wall(outline, wall)
    reach = channel_diameter / 2 * (math.sqrt(2) if channel_roofed else 1.0)
    if channel_diameter > 0 and _middle_room(outline, channel_offset) - reach < LEAST_SKIN:
        room = _room(outline, 0.0, channel_offset, channel_diameter / 2, channel_roofed)
        if room < LEAST_SKIN:
            raise refuse(
                "channel",
                f"inside the outline with at least {1e3 * LEAST_SKIN:.3g} mm of material around it",
                f"{1e3 * room:.3g} mm",
            )
    if bore_wire_diameter > 0 and wall is not None:
        room = _room(outline, wall, channel_offset, bore_wire_diameter / 2, False)
        if room < -1e-9 * bore_wire_diameter:
            raise refuse(
                "wire diameter",
                "small enough to fit the bore at its place",
                f"{1e3 * bore_wire_diameter:.3g} mm, {-1e3 * room:.3g} mm too much on one side",
            )


def least_skin(
    outline: Outline, radius: float, offset: tuple[float, float], roofed: bool = False
) -> float:
    """Return the least material between a channel of ``radius`` [m] and the outside. [m]"""
    check_outline("outline", outline)
    inner = check_number("channel radius", radius, least=0.0, most=1.0, unit="m")
    place = check_numbers("channel offset", offset, least=-1.0, most=1.0, unit="m")
    if place.shape != (2,):
        raise refuse("channel offset", "a pair (x, y)", f"shape {place.shape}")
    check_kind("channel roofed", roofed, bool, "True or False")
    return _room(outline, 0.0, (float(place[0]), float(place[1])), inner, roofed)


@lru_cache(maxsize=2048)
def _check_wall(outline: Outline, wall: float) -> None:
    half = half_thickness(outline)
    if wall >= half:
        raise refuse(
            "wall", f"less than half the outline, {1e3 * half:.3g} mm", f"{1e3 * wall:.3g} mm"
        )
    if isinstance(outline, Polygon) and core_polygon(outline, wall).area <= 0:
        raise refuse(
            "wall", "less than half the outline where it is widest", f"{1e3 * wall:.3g} mm"
        )


@lru_cache(maxsize=2048)
def _middle_room(outline: Outline, offset: tuple[float, float]) -> float:
    """Return the distance from a channel's centre to the outside, < 0 if it lies there. [m]

    One for all channels at a place: a table of wires asks for hundreds.
    """
    return _room(outline, 0.0, offset, 0.0, False)


@lru_cache(maxsize=1024)
def _room(
    outline: Outline, wall: float, offset: tuple[float, float], radius: float, roofed: bool
) -> float:
    """Return the least distance from a channel to the inside of the wall, < 0 if it crosses."""
    x, y = offset
    if isinstance(outline, Round):
        reach = math.hypot(x, y) + radius
        if roofed:
            reach = max(reach, math.hypot(x, y + radius * math.sqrt(2)))
        return outline.diameter / 2 - wall - reach
    from shapely import LinearRing, Point

    area = core_polygon(outline, wall) if wall else outline_polygon(outline)
    edge, centre = area.boundary, Point(x, y)
    inside = 1.0 if area.contains(centre) else -1.0
    room = inside * float(edge.distance(centre)) - radius
    if roofed and room > 0:
        ring = LinearRing(channel_ring(radius, offset, roofed))
        room = -radius if ring.intersects(edge) else min(room, float(ring.distance(edge)))
    return room
