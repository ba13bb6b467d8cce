"""The hand: all of the body beyond a place on the line, one rigid part."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from data import read_table
from data.rules import Array, check_kind, check_number, refuse
from flexcalc.mesh.beyond import part_beyond
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.slices import UP, check_line, check_up, sections_along
from flexcalc.mesh.solid import place, solid_of
from flexcalc.mesh.surface import Surface

SOLID_DENSITY = read_table("elastomers")["TPU 95A"]["density"].value
"""Density of the usual filament printed without gaps. [kg/m3]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Hand:
    """What lies beyond a place on the line, cut off square to it.

    ``mass`` [kg] printed solid at the density given, ``volume`` [m3], ``skin`` [m2] of its
    surface, ``centre`` (3,) [m] of both mass and volume, ``ahead`` [m] how far that lies beyond
    the cut along the line's direction there, ``aside`` [m] how far beside it, ``reach`` [m] how
    far the part goes.
    """

    mass: float
    volume: float
    skin: float
    centre: Array = field(repr=False)
    ahead: float
    aside: float
    reach: float


def hand_beyond(
    surface: Surface, line: Line, share: float, *, density: float = SOLID_DENSITY
) -> Hand:
    """Return the part of a body beyond a share of its line.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`.
    share : float
        Of the line's length, below 1.
    density : float
        Of the print, infill counted; that of solid TPU 95A if left out. [kg/m3]

    Returns
    -------
    Hand
        Exact for the triangles.

    Raises
    ------
    ValueError
        Where the section does not part the body, or there is none.
    """
    check_line(surface, line)
    share = check_number("share", share, above=0.0, below=1.0)
    density = check_number("density", density, above=0.0, most=3e4, unit="kg/m3")
    sections = sections_along(surface, line, np.array([share]), check_up(UP))
    where = place(line.point_at(share))
    if sections.main[0] < 0:
        raise refuse("share", "where the line is within the body", where)
    part = part_beyond(solid_of(surface), sections, 0)
    if not part.apart:
        raise refuse("share", "where a section parts the body", where)
    away = part.centre - line.point_at(share)
    ahead = float(away @ line.tangent_at(share))
    return Hand(
        mass=density * part.volume,
        volume=part.volume,
        skin=part.skin,
        centre=part.centre,
        ahead=ahead,
        aside=math.sqrt(max(float(away @ away) - ahead**2, 0.0)),
        reach=part.reach,
    )


def printed_mass(hand: Hand, density: float, wall: float | None, infill: float) -> float:
    """Return the mass of a hand printed with a wall and infill.

    Parameters
    ----------
    hand : Hand
        Its volume and skin.
    density : float
        Of the filament. [kg/m3]
    wall : float or None
        Thickness of the wall, None for solid. [m]
    infill : float
        Relative density of the core.

    Returns
    -------
    float
        The wall counted as skin times thickness, at most the whole volume. [kg]
    """
    check_kind("hand", hand, Hand, "a Hand")
    density = check_number("density", density, above=0.0, most=3e4, unit="kg/m3")
    infill = check_number("infill", infill, least=0.0, most=1.0)
    if wall is None:
        return density * hand.volume
    thick = check_number("wall", wall, least=0.0, most=0.15, unit="m")
    shell = min(hand.skin * thick, hand.volume)
    return density * (shell + infill * (hand.volume - shell))
