"""Geometry of printed holes: why they come out smaller than drawn, and their 45 degree roofs."""

from __future__ import annotations

import math

from data.rules import check_number, check_whole


def arc_shrinkage(diameter: float, bead_width: float) -> float:
    """Return how much a bead laid round a standing hole makes it smaller.

    Parameters
    ----------
    diameter : float
        Drawn diameter, wider than the bead. [m]
    bead_width : float
        Width of the bead. [m]

    Returns
    -------
    float
        D - sqrt(D^2 - w^2), on the diameter. [m]

    Notes
    -----
    A bead keeps its volume, and on an inner curve there is less room for it than on a straight.

    Source: public derivation of arc compensation (read), solved for the hole that results.
    """
    hole = check_number("hole diameter", diameter, above=0.0, most=1.0, unit="m")
    bead = check_number("bead width", bead_width, above=0.0, below=hole, unit="m")
    return bead**2 / (hole + math.sqrt((hole - bead) * (hole + bead)))


def path_radius(diameter: float, bead_width: float) -> float:
    """Return the radius of the bead's middle that leaves a standing hole of ``diameter``. [m]

    Source: r = (w + sqrt(w^2 + D^2))/2, public derivation of arc compensation (read).
    """
    hole = check_number("hole diameter", diameter, above=0.0, most=1.0, unit="m")
    bead = check_number("bead width", bead_width, above=0.0, most=1.0, unit="m")
    return (bead + math.hypot(bead, hole)) / 2


def facet_shrinkage(diameter: float, facets: int) -> float:
    """Return how much smaller, across its flats, a hole drawn with so many corners is. [m]

    Source: inscribed polygon, D (1 - cos(pi/n)).
    """
    hole = check_number("hole diameter", diameter, above=0.0, most=1.0, unit="m")
    corners = check_whole("facets", facets, least=3, most=100000)
    return 2 * hole * math.sin(math.pi / (2 * corners)) ** 2


def roof_apex(radius: float) -> float:
    """Return how high the point of a 45 degree roof stands above the hole's centre. [m]"""
    return check_number("channel radius", radius, above=0.0, most=1.0, unit="m") * math.sqrt(2)


def roof_area(radius: float) -> float:
    """Return the area of a hole with its whole 45 degree roof, r^2 (3 pi/4 + 1). [m2]"""
    inner = check_number("channel radius", radius, above=0.0, most=1.0, unit="m")
    return inner**2 * (0.75 * math.pi + 1)


def roof_bridge(radius: float, height: float) -> float:
    """Return the width of the flat that closes a roof cut off at ``height``.

    Parameters
    ----------
    radius : float
        Radius of the round part. [m]
    height : float
        Of the flat above the centre, from the radius to the roof's apex. [m]

    Returns
    -------
    float
        2 (sqrt(2) r - h), 0 at the apex. [m]
    """
    apex = roof_apex(radius)
    top = check_number("roof height", height, least=radius, most=apex, unit="m")
    return 2 * (apex - top)
