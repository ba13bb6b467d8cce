"""Stiffness and mass of one limb drawn with many channels and printed with many walls.

Only the hole differs from channel to channel. Where it lies wholly within the core its moments
are taken off in closed form; where it cuts into the wall, what is left of the core inside it is
interpolated over the walls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from data.rules import Array
from flexcalc.limb.inputs import Limb, limb_at
from flexcalc.limb.outline import Outline
from flexcalc.limb.shape import channel_ring, core_polygon, half_thickness, outline_polygon
from flexcalc.section.elastomer import Softening, effective_curvature, section_softening
from flexcalc.section.moments import (
    channel_moments,
    moments_over_wall,
    polygon_moments,
    section_origin,
)
from flexcalc.section.section import section_strips

WALL_NODES = 9
"""Walls between which a hole that cuts into the wall is interpolated, for a printer's scatter."""
SOFTENING_CHANNELS = 5
FARTHEST_CORNER = 1.415
"""How far from its centre a channel reaches at most, roof and all, over its radius."""


@dataclass(frozen=True, kw_only=True)
class ChannelSections:
    """A limb with each of C channels, printed with each of S walls.

    ``rigidity`` (C, S) [N m2] is the bare EIxx at the elastomer's middle modulus;
    ``mass_per_length`` (C, S) [kg/m] leaves the wire out. ``softening`` is the table of the middle
    one, see `softening_steepness`.
    """

    rigidity: Array
    mass_per_length: Array
    softening: Softening | None


def channel_sections(
    limbs: Sequence[Limb], walls: Array, exponents: Array, share: float = 0.5
) -> ChannelSections:
    """Return the sections of limbs that differ in their channel alone, at a share of their length.

    Parameters
    ----------
    limbs : sequence of Limb
        Their wires do not matter.
    walls, exponents : array (S,)
        Printed wall [m], ignored for solid limbs, and exponent of the infill's modulus.
    share : float
        Where along limbs whose outline changes.
    """
    limb = limb_at(limbs[0], share)
    outline, origin = limb.middle_outline, section_origin(limb)
    if limb.wall is None:
        gross, core = polygon_moments(outline_polygon(outline), origin), None
    else:
        bare = replace(limb, wire=None, channel_diameter=0.0, sleeve=0.0, channel_roofed=False)
        gross, core = moments_over_wall(bare, walls)
    thickest = min(float(walls.max()), half_thickness(outline))
    rooms = {
        centre: 0.0 if core is None else _core_room(outline, thickest, centre)
        for centre in {one.channel_offset for one in limbs}
    }
    rigidities, masses = [], []
    for one in limbs:
        whole = gross - channel_moments(one, 0.0, origin)
        left = (
            np.zeros((6, len(walls)))
            if core is None
            else core - _sleeve_moments(one, outline, origin, walls, rooms[one.channel_offset])
        )
        missing = 1 - one.infill**exponents
        area, first, second = (whole[i] - missing * left[i] for i in (0, 2, 3))
        rigidities.append(one.elastomer.elastic_modulus * (second - first**2 / area))
        masses.append(one.elastomer.density * (whole[0] - (1 - one.infill) * left[0]))
    picked = _picked(limbs)
    return ChannelSections(
        rigidity=np.array(rigidities),
        mass_per_length=np.array(masses),
        softening=_softening(picked[len(picked) // 2], share),
    )


def _sleeve_moments(
    limb: Limb, outline: Outline, origin: tuple[float, float], walls: Array, room: float
) -> Array:
    """Return the moments (6, S) of what channel and sleeve take out of the core of an outline.

    ``room`` [m] is that of the channel's centre within the thickest wall.
    """
    if limb.channel_diameter == 0:
        return np.zeros((6, len(walls)))
    low, high = float(walls.min()), min(float(walls.max()), half_thickness(outline))
    reach = limb.channel_diameter / 2 + limb.sleeve
    if room > reach * FARTHEST_CORNER:
        return np.multiply.outer(channel_moments(limb, limb.sleeve, origin), np.ones(len(walls)))
    hole = _hole(limb, reach)
    if high <= low or core_polygon(outline, high).contains(hole):
        inside = hole if high > low else core_polygon(outline, low).intersection(hole)
        return np.multiply.outer(polygon_moments(inside, origin), np.ones(len(walls)))
    spots = np.polynomial.chebyshev.chebpts1(WALL_NODES)
    nodes = low + (high - low) * (spots + 1) / 2
    parts = np.array(
        [
            polygon_moments(core_polygon(outline, float(wall)).intersection(hole), origin)
            for wall in nodes
        ]
    )
    series = np.polynomial.chebyshev.chebfit(spots, parts, WALL_NODES - 1)
    place = 2 * (np.minimum(walls, high) - low) / (high - low) - 1
    return np.asarray(np.polynomial.chebyshev.chebval(place, series))


def _core_room(outline: Outline, wall: float, centre: tuple[float, float]) -> float:
    """Return how far a point is from the wall, 0 for one in the wall. [m]"""
    from shapely import Point

    core, spot = core_polygon(outline, wall), Point(centre)
    return float(core.boundary.distance(spot)) if core.contains(spot) else 0.0


def _hole(limb: Limb, radius: float) -> Any:
    from shapely import Polygon as Area

    return Area(channel_ring(radius, limb.channel_offset, limb.channel_roofed))


def softening_steepness(limbs: Sequence[Limb], curvature: float, share: float = 0.5) -> Array:
    """Return how many times the curvature each limb (C,) is read at in the middle one's table.

    A larger hole takes out what is strained least, so that what is left softens sooner; between
    a few channels that follows the diameter. It is met exactly at a ``curvature`` [1/m]; all are
    1 where that is 0.
    """
    picked = _picked(limbs)
    middle = _softening(picked[len(picked) // 2], share)
    if middle is None or curvature == 0 or len(picked) == 1:
        return np.ones(len(limbs))
    factors = np.exp(np.linspace(-0.7, 0.7, 281))
    secants = effective_curvature(middle, curvature * factors)[0] / (curvature * factors)
    found = []
    for one in picked:
        table = _softening(one, share)
        secant = effective_curvature(table, np.array([curvature]))[0][0] / curvature
        found.append(float(np.interp(-secant, -secants, factors)))
    diameters = [one.channel_diameter for one in picked]
    return np.interp([one.channel_diameter for one in limbs], diameters, found)


def _picked(limbs: Sequence[Limb]) -> list[Limb]:
    """Return a few limbs from the smallest channel to the largest."""
    order = sorted(limbs, key=lambda one: one.channel_diameter)
    places = np.unique(np.linspace(0, len(order) - 1, SOFTENING_CHANNELS).round().astype(int))
    return [order[place] for place in places]


def _softening(limb: Limb, share: float) -> Softening | None:
    one = limb_at(limb, share)
    return section_softening(section_strips(one), one.elastomer)
