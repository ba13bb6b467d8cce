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
from flexcalc.limb.inputs import Limb
from flexcalc.limb.shape import channel_ring, core_polygon, half_thickness, outline_polygon
from flexcalc.section.elastomer import Softening, effective_curvature, section_softening
from flexcalc.section.moments import moments_over_wall, polygon_moments, section_origin
from flexcalc.section.section import section_strips

WALL_NODES = 9
"""Walls between which a hole that cuts into the wall is interpolated, for a printer's scatter."""
SOFTENING_CHANNELS = 5


@dataclass(frozen=True, kw_only=True)
class ChannelSections:
    """A limb with each of C channels, printed with each of S walls.

    ``rigidity`` (C, S) [N m2] is the bare EIxx at the elastomer's middle modulus;
    ``mass_per_length`` (C, S) [kg/m] leaves the wire out. All of them soften by the one table
    ``softening``, read at ``steepness`` (C,) times the curvature.
    """

    rigidity: Array
    mass_per_length: Array
    softening: Softening | None
    steepness: Array


def channel_sections(
    limbs: Sequence[Limb], walls: Array, exponents: Array, curvature: float
) -> ChannelSections:
    """Return the sections of limbs that differ in their channel alone.

    Parameters
    ----------
    limbs : sequence of Limb
        Their wires do not matter.
    walls, exponents : array (S,)
        Printed wall [m], ignored for solid limbs, and exponent of the infill's modulus.
    curvature : float
        Where the softening of each channel is met exactly, 0 if there is no bend. [1/m]
    """
    limb = limbs[0]
    bare = replace(limb, wire=None, channel_diameter=0.0, sleeve=0.0, channel_roofed=False)
    if limb.wall is None:
        gross, core = (
            polygon_moments(outline_polygon(limb.middle_outline), section_origin(limb)),
            None,
        )
    else:
        gross, core = moments_over_wall(bare, walls)
    rigidities, masses = [], []
    for one in limbs:
        whole = gross - _hole_moments(one, one.channel_diameter / 2)
        left = np.zeros((6, len(walls))) if core is None else core - _sleeve_moments(one, walls)
        missing = 1 - one.infill**exponents
        area, first, second = (whole[i] - missing * left[i] for i in (0, 2, 3))
        rigidities.append(one.elastomer.elastic_modulus * (second - first**2 / area))
        masses.append(one.elastomer.density * (whole[0] - (1 - one.infill) * left[0]))
    softening, steepness = _softenings(limbs, curvature)
    return ChannelSections(
        rigidity=np.array(rigidities),
        mass_per_length=np.array(masses),
        softening=softening,
        steepness=steepness,
    )


def _hole_moments(limb: Limb, radius: float) -> Array:
    if limb.channel_diameter == 0:
        return np.zeros(6)
    return polygon_moments(_hole(limb, radius), section_origin(limb))


def _hole(limb: Limb, radius: float) -> Any:
    from shapely import Polygon as Area

    return Area(channel_ring(radius, limb.channel_offset, limb.channel_roofed))


def _sleeve_moments(limb: Limb, walls: Array) -> Array:
    """Return the moments (6, S) of what channel and sleeve take out of the core."""
    if limb.channel_diameter == 0:
        return np.zeros((6, len(walls)))
    origin = section_origin(limb)
    hole = _hole(limb, limb.channel_diameter / 2 + limb.sleeve)
    low, high = float(walls.min()), min(float(walls.max()), half_thickness(limb.middle_outline))
    if high <= low or core_polygon(limb.middle_outline, high).contains(hole):
        inside = hole if high > low else core_polygon(limb.middle_outline, low).intersection(hole)
        return np.multiply.outer(polygon_moments(inside, origin), np.ones(len(walls)))
    spots = np.polynomial.chebyshev.chebpts1(WALL_NODES)
    nodes = low + (high - low) * (spots + 1) / 2
    parts = np.array(
        [
            polygon_moments(
                core_polygon(limb.middle_outline, float(wall)).intersection(hole), origin
            )
            for wall in nodes
        ]
    )
    series = np.polynomial.chebyshev.chebfit(spots, parts, WALL_NODES - 1)
    place = 2 * (np.minimum(walls, high) - low) / (high - low) - 1
    return np.asarray(np.polynomial.chebyshev.chebval(place, series))


def _softenings(limbs: Sequence[Limb], curvature: float) -> tuple[Softening | None, Array]:
    """Return one table, and how much faster than it each limb softens.

    A larger hole takes out what is strained least, so that what is left softens sooner; between
    a few channels that follows the diameter.
    """
    order = sorted(limbs, key=lambda one: one.channel_diameter)
    places = np.unique(np.linspace(0, len(order) - 1, SOFTENING_CHANNELS).round().astype(int))
    picked = [order[place] for place in places]
    tables = [section_softening(section_strips(one), one.elastomer) for one in picked]
    middle = tables[len(tables) // 2]
    if middle is None or curvature == 0 or len(picked) == 1:
        return middle, np.ones(len(limbs))
    factors = np.exp(np.linspace(-0.7, 0.7, 281))
    secants = effective_curvature(middle, curvature * factors)[0] / (curvature * factors)
    found = []
    for table in tables:
        secant = effective_curvature(table, np.array([curvature]))[0][0] / curvature
        found.append(float(np.interp(-secant, -secants, factors)))
    diameters = [one.channel_diameter for one in picked]
    return middle, np.interp([one.channel_diameter for one in limbs], diameters, found)
