"""Stiffness, mass and strips of a limb's cross-section.

The stiffness field is the solid TPU of shell and sleeve, and a core of E*infill^exponent
(Gibson and Ashby: 2 where the infill's walls bend, 1 at most). A push-in wire slides, so it adds
its own rigidity about its own axis; the bonded value is the upper bound for a wire fixed at
both ends. A sleeve is printed only where it lies inside the outline.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.rules import check_kind, check_number, check_numbers, check_whole, refuse
from flexcalc.limb.inputs import Along, Limb, limb_at
from flexcalc.limb.outline import Outline, Round
from flexcalc.limb.shape import outline_polygon, outline_ring
from flexcalc.section.moments import (
    BENDING_EXPONENT,
    disc_moments,
    moments_below,
    moments_over_wall,
    section_moments,
    section_origin,
    section_regions,
)

Array = NDArray[np.float64]
Rigidity = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Section:
    """A finished cross-section. x runs sideways, y up in the bending plane.

    ``area`` [m2] of printed material, the core weighted by its infill; ``mass_per_length``
    [kg/m] with the wire; ``centroid`` of the printed section and ``centroid_bonded`` with the
    wire [m], both weighted by modulus, from the outline's origin; ``axial_rigidity_bare`` and
    ``_bonded`` [N]; ``flexural_rigidity_bare``, ``_sliding`` and ``_bonded`` are (EIxx, EIyy,
    EIxy) [N m2] about the centroid, EIxx = integral of E y^2 dA, EIxy = integral of E x y dA;
    ``extreme_fibre`` [m] is the farthest printed point above or below the bare centroid.
    """

    area: float
    mass_per_length: float
    centroid: tuple[float, float]
    centroid_bonded: tuple[float, float]
    axial_rigidity_bare: float
    axial_rigidity_bonded: float
    flexural_rigidity_bare: Rigidity
    flexural_rigidity_sliding: Rigidity
    flexural_rigidity_bonded: Rigidity
    extreme_fibre: float


def limb_section(limb: Limb, *, infill_exponent: float = BENDING_EXPONENT) -> Section:
    """Return area, mass, centroids and rigidities of a limb's cross-section.

    Parameters
    ----------
    limb : Limb
        The limb; its elastomer's modulus is the one at small strain.
    infill_exponent : float
        Exponent of the core's modulus, E*infill^exponent.

    Returns
    -------
    Section
        See there for units.

    Raises
    ------
    ValueError
        For anything but a Limb, or an exponent outside 0 to 10.

    Notes
    -----
    Strands slide on each other and add up; bonded, all of them sit at the channel's centre.

    Source: parallel-axis theorem; checked against computed sections of a finite element library.
    """
    check_kind("limb", limb, Limb, "a Limb")
    return _section(limb, _checked_exponent(infill_exponent))


def rigidity_over_wall(
    limb: Limb, walls: ArrayLike, *, infill_exponent: ArrayLike = BENDING_EXPONENT
) -> Array:
    """Return the bare EIxx of a limb printed with other walls.

    Parameters
    ----------
    limb : Limb
        The limb; its own wall is replaced, also where it is solid.
    walls : array_like (...)
        Wall thicknesses; one that fills the outline is a solid limb. [m]
    infill_exponent : array_like (...)
        Exponent of the core's modulus, broadcast against ``walls``.

    Returns
    -------
    ndarray (...)
        EIxx about the bare centroid, at the elastomer's modulus. [N m2]

    Raises
    ------
    ValueError
        For walls outside 1e-9 to 1 m, exponents outside 0.01 to 10, or shapes that do not
        broadcast.

    Notes
    -----
    Closed form for a round limb whose core holds the whole sleeve, else interpolated over the
    range of the walls: within 1e-6 over a printer's scatter, 3e-3 from the thinnest to solid.
    """
    check_kind("limb", limb, Limb, "a Limb")
    exponent = check_numbers("infill exponent", infill_exponent, least=0.01, most=10.0)
    gross, core = moments_over_wall(limb, walls)
    try:
        missing = np.broadcast_to(1 - limb.infill**exponent, np.broadcast(core[0], exponent).shape)
    except ValueError:
        shapes = f"{core[0].shape} and {exponent.shape}"
        raise refuse("walls and infill exponent", "of shapes that broadcast", shapes) from None
    area, first, second = (gross[i] - missing * core[i] for i in (0, 2, 3))
    return np.asarray(limb.elastomer.elastic_modulus * (second - first**2 / area), float)


def mass_over_wall(limb: Limb, walls: ArrayLike) -> Array:
    """Return the mass per length, wire included, of a limb printed with other walls. [kg/m]

    Arguments, errors and method as `rigidity_over_wall`.
    """
    check_kind("limb", limb, Limb, "a Limb")
    gross, core = moments_over_wall(limb, walls)
    printed = limb.elastomer.density * (gross[0] - (1 - limb.infill) * core[0])
    wire = 0.0 if limb.wire is None else limb.wire.mass_per_length
    return np.asarray(printed + wire, float)


def section_strips(
    limb: Limb, *, count: int = 80, infill_exponent: float = BENDING_EXPONENT
) -> tuple[Array, Array]:
    """Return thin strips across the bending plane, to integrate a stress law over the section.

    Parameters
    ----------
    limb : Limb
        The limb; the strips leave out its wire.
    count : int
        How many strips at most; even, 8 to 400.
    infill_exponent : float
        Exponent of the core's modulus.

    Returns
    -------
    heights : ndarray (n,)
        y of each strip above the bare centroid. [m]
    areas : ndarray (n,)
        Its area, the core weighted by its share of the modulus. [m2]

    Notes
    -----
    The section is cut into count/2 slices, and each becomes two equal strips at its own radius of
    gyration, so area, first and second moment are the section's own: the sum of
    E*areas*heights^2 is EIxx. Slices are thinner towards top and bottom, where strain is high.
    """
    check_kind("limb", limb, Limb, "a Limb")
    whole = check_whole("strip count", count, least=8, most=400)
    if whole % 2:
        raise refuse("strip count", "even", count)
    heights, areas = _strips(limb, whole // 2, _checked_exponent(infill_exponent))
    return heights.copy(), areas.copy()


def surface_area(limb: Limb) -> float:
    """Return the outer surface of a limb: its sides and the end at the tip. [m2]"""
    check_kind("limb", limb, Limb, "a Limb")
    sides = mean_along(limb, lambda one: _edge(one.middle_outline)[0])
    return sides * limb.length + _edge(limb_at(limb, 1.0).middle_outline)[1]


def limb_mass(limb: Limb) -> float:
    """Return the mass of a limb, wire included. [kg]"""
    check_kind("limb", limb, Limb, "a Limb")
    return mean_along(limb, lambda one: limb_section(one).mass_per_length) * limb.length


def mean_along(limb: Limb, value: Callable[[Limb], float]) -> float:
    """Return the mean along a limb of what a function finds for a limb of one section."""
    if not isinstance(limb.outline, Along) or limb.outline.even:
        return value(limb_at(limb, 0.0))
    # Simpson's rule between the stations: exact where a size changes evenly
    total = 0.0
    for start, end in itertools.pairwise(limb.outline.shares):
        first, middle, last = (
            value(limb_at(limb, share)) for share in (start, (start + end) / 2, end)
        )
        total += (end - start) * (first + 4 * middle + last) / 6
    return total


def _edge(outline: Outline) -> tuple[float, float]:
    """Return length [m] and area [m2] of an outline."""
    if isinstance(outline, Round):
        diameter = float(outline.diameter)
        return math.pi * diameter, math.pi * diameter**2 / 4
    area = outline_polygon(outline)
    return float(area.length), float(area.area)


def _checked_exponent(exponent: float) -> float:
    return check_number("infill exponent", exponent, least=0.01, most=10.0)


@lru_cache(maxsize=512)
def _section(limb: Limb, exponent: float) -> Section:
    gross, core = section_moments(limb, limb.wall)
    origin = section_origin(limb)
    area = float(gross[0] - (1 - limb.infill) * core[0])
    bare = limb.elastomer.elastic_modulus * (gross - (1 - limb.infill**exponent) * core)
    bonded, own, wire_mass = bare, 0.0, 0.0
    if limb.wire is not None:
        stiffness = limb.wire.strands * limb.wire.metal.elastic_modulus
        place = (limb.channel_offset[0] - origin[0], limb.channel_offset[1] - origin[1])
        bonded = bare + stiffness * disc_moments(limb.wire.diameter / 2, place)
        wire_mass = limb.wire.mass_per_length
        own = stiffness * math.pi * limb.wire.diameter**4 / 64
    centroid, (EIxx, EIyy, EIxy) = _about_centroid(bare, origin)
    centroid_bonded, rigidity_bonded = _about_centroid(bonded, origin)
    return Section(
        area=area,
        mass_per_length=limb.elastomer.density * area + wire_mass,
        centroid=centroid,
        centroid_bonded=centroid_bonded,
        axial_rigidity_bare=float(bare[0]),
        axial_rigidity_bonded=float(bonded[0]),
        flexural_rigidity_bare=(EIxx, EIyy, EIxy),
        flexural_rigidity_sliding=(EIxx + own, EIyy + own, EIxy),
        flexural_rigidity_bonded=rigidity_bonded,
        extreme_fibre=float(np.abs(outline_ring(limb.middle_outline)[:, 1] - centroid[1]).max()),
    )


def _about_centroid(
    moments: Array, origin: tuple[float, float]
) -> tuple[tuple[float, float], Rigidity]:
    area, x, y, xx, yy, xy = (float(value) for value in moments)
    cx, cy = x / area, y / area
    rigidity = (xx - area * cy**2, yy - area * cx**2, xy - area * cx * cy)
    return (cx + origin[0], cy + origin[1]), rigidity


@lru_cache(maxsize=128)
def _strips(limb: Limb, slices: int, exponent: float) -> tuple[Array, Array]:
    origin = _section(limb, exponent).centroid
    gross, core = section_regions(limb, limb.wall)
    ring = outline_ring(limb.middle_outline)[:, 1] - origin[1]
    middle, half = (ring.max() + ring.min()) / 2, float(np.ptp(ring)) / 2
    cuts = middle - half * np.cos(np.linspace(0.0, math.pi, slices + 1))
    missing = 1 - limb.infill**exponent
    below = moments_below(gross, cuts, origin) - missing * moments_below(core, cuts, origin)
    area, first, second = np.diff(below, axis=1)
    filled = area > 1e-12 * area.sum()
    area, first, second = area[filled], first[filled], second[filled]
    mean = first / area
    gyration = np.sqrt(np.maximum(second / area - mean**2, 0.0))  # below 0 by rounding alone
    return np.concatenate([mean - gyration, mean + gyration]), np.concatenate([area, area]) / 2
