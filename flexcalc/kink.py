"""When a hollow limb folds: Brazier's flattening of a bent tube, with an infill core.

Thin-walled theory: the wall bends as a ring without stretching. Good to 1-2 % up to a wall of a
fifth of the mean radius (a numerical ring); it knows no wrinkle of the inner side and no local
dent. A solid limb does not fold: its kink radius is 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data.rules import Caution, check_kind, check_number
from flexcalc.inputs import Limb
from flexcalc.moments import BENDING_EXPONENT
from flexcalc.outline import Round
from flexcalc.shape import outline_ring

CORE_POISSON = 0.3
"""Poisson's ratio of an infill core, the usual value of cellular solids (memory)."""
THICKEST_TRIED = 0.3
"""Wall over mean radius beyond which the thin-walled ring is a rough guide."""
DENSEST_TRIED = 0.3
"""Infill beyond which the core is no cellular solid any more; Gibson and Ashby, from memory."""


@dataclass(frozen=True, kw_only=True)
class Kink:
    """Where a limb folds: ``radius`` [m] of its middle line (0 for never), ``moment`` [N m]."""

    radius: float
    moment: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class KinkCure:
    """What lets a limb bend to the wanted radius: either ``infill`` or ``wall`` [m] alone.

    Where it bends that far as it is, both are what was given and ``needed`` is False. An infill
    of 1 and a wall of half the diameter are a solid limb.
    """

    needed: bool
    infill: float
    wall: float
    cautions: tuple[Caution, ...]


def kink_radius(
    outer_diameter: float,
    wall: float | None,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
) -> float:
    """Return the bend radius, to the middle line, below which a round tube folds.

    Parameters
    ----------
    outer_diameter : float
        Outer diameter. [m]
    wall : float or None
        Wall thickness, at most half the diameter; None or half of it is solid. [m]
    infill : float
        Relative density of the core, 0 to 1 (1 is solid).
    poisson_ratio : float
        Of the wall's material.
    infill_exponent : float
        Exponent of the core's modulus, E*infill^exponent.

    Returns
    -------
    float
        Radius of curvature, 0 for a solid limb. [m]

    Raises
    ------
    ValueError
        For a number outside these ranges.

    Notes
    -----
    Curvature (sqrt(2)/3) t/(r^2 sqrt(1 - nu^2)) sqrt(1 + q), r the mean radius, q the core's
    stiffness against flattening over the ring's.

    Source: Brazier 1927 (from memory, derived again); core: plane-strain disc bonded to the ring.
    """
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
    return 1 / _kink_curvature(*tube) if tube is not None else 0.0


def kink_moment(
    outer_diameter: float,
    wall: float | None,
    elastic_modulus: float,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
) -> float:
    """Return the bending moment at which a round tube folds, 0 for a solid limb. [N m]

    ``elastic_modulus`` [Pa]; the rest as `kink_radius`. The core props the wall up but its own
    bending (1-3 %) is left out: the value is low by that.

    Source: Brazier 1927, (2 sqrt(2) pi/9) E r t^2/sqrt(1 - nu^2), times sqrt(1 + q).
    """
    modulus = check_number("elastic modulus", elastic_modulus, least=1e3, most=1e12, unit="Pa")
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
    if tube is None:
        return 0.0
    diameter, thickness = tube[:2]
    mean = (diameter - thickness) / 2
    # at the fold the flattening has taken a third of the stiffness of the round tube
    return 2 / 3 * math.pi * modulus * mean**3 * thickness * _kink_curvature(*tube)


def kink_cure(
    outer_diameter: float,
    wall: float,
    radius: float,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
) -> KinkCure:
    """Return the least infill, or the least wall without infill, that bears a bend.

    Parameters
    ----------
    outer_diameter, wall, infill, poisson_ratio, infill_exponent
        As `kink_radius`.
    radius : float
        Wanted bend radius to the middle line. [m]

    Returns
    -------
    KinkCure
        The one or the other cures it.

    Notes
    -----
    Both are the exact inverses of `kink_radius`.
    """
    radius = check_number("bend radius", radius, least=5e-4, most=100.0, unit="m")
    thickness = check_number("wall", wall, least=5e-5, most=0.5, unit="m")
    tube = _checked(outer_diameter, thickness, infill, poisson_ratio, infill_exponent)
    if tube is None or _kink_curvature(*tube) * radius >= 1:
        return KinkCure(needed=False, infill=float(infill), wall=thickness, cautions=())
    diameter, nu = tube[0], tube[3]
    bare = _kink_curvature(diameter, thickness, 0.0, nu, infill_exponent)
    prop = ((1 / (radius * bare)) ** 2 - 1) / _full_core_over_ring(diameter, thickness, nu)
    share = min(prop, 1.0) ** (1 / infill_exponent)  # 1 is solid, which never folds
    # kappa (D - t)^2 = 4 c t, the smaller root
    c = 4 * math.sqrt(2) / (3 * math.sqrt(1 - nu**2)) * radius
    b = diameter + c / 2
    needed_wall = diameter**2 / (b + math.sqrt(b**2 - diameter**2))
    cautions = (_dense_core(share),) if share > DENSEST_TRIED else ()
    return KinkCure(
        needed=True, infill=share, wall=min(needed_wall, diameter / 2), cautions=cautions
    )


def kink_radius_of(limb: Limb, *, infill_exponent: float = BENDING_EXPONENT) -> Kink:
    """Return where a limb folds, with what is doubtful about it.

    An outline that is not round is taken as a tube as wide as its longer side: what flattens a
    wide one is the span of its flat sides, and a high one that of its flanks.
    """
    check_kind("limb", limb, Limb, "a Limb")
    x, y = outline_ring(limb.outline).T
    size = max(float(x.max() - x.min()), float(y.max() - y.min()))
    if isinstance(limb.outline, Round):
        size = float(limb.outline.diameter)
    modulus, nu = limb.elastomer.elastic_modulus, limb.elastomer.poisson_ratio
    radius = kink_radius(size, limb.wall, limb.infill, nu, infill_exponent=infill_exponent)
    moment = kink_moment(size, limb.wall, modulus, limb.infill, nu, infill_exponent=infill_exponent)
    return Kink(radius=radius, moment=moment, cautions=_cautions(limb, size, radius))


def _cautions(limb: Limb, size: float, radius: float) -> tuple[Caution, ...]:
    found = []
    if radius > 0 and not isinstance(limb.outline, Round):
        text = f"The kink radius is that of a round tube {size * 1e3:.1f} mm wide: a rough guide."
        found.append(Caution(key="kink_outline", text=text))
    if radius > 0 and limb.wall is not None:
        if limb.wall > THICKEST_TRIED * (size - limb.wall) / 2:
            text = "The wall is thick for the thin-walled kink formula: a rough guide."
            found.append(Caution(key="kink_thick_wall", text=text))
        if limb.infill > DENSEST_TRIED:
            found.append(_dense_core(limb.infill))
    return tuple(found)


def _dense_core(infill: float) -> Caution:
    text = f"An infill of {infill:.0%} is outside the range of the cellular-core formula."
    return Caution(key="kink_dense_core", text=text)


def _checked(
    outer_diameter: float, wall: float | None, infill: float, poisson_ratio: float, exponent: float
) -> tuple[float, float, float, float, float] | None:
    """Return the checked tube, None where it is solid."""
    diameter = check_number("outer diameter", outer_diameter, least=1e-6, most=2.5, unit="m")
    core = check_number("infill", infill, least=0.0, most=1.0)
    nu = check_number("poisson ratio", poisson_ratio, least=0.0, below=0.5)
    power = check_number("infill exponent", exponent, least=0.01, most=10.0)
    if wall is None:
        return None
    thickness = check_number("wall", wall, least=1e-6, most=diameter / 2, unit="m")
    if thickness == diameter / 2 or core == 1:
        return None
    return diameter, thickness, core, nu, power


def _kink_curvature(
    diameter: float, wall: float, infill: float, poisson_ratio: float, exponent: float
) -> float:
    mean = (diameter - wall) / 2
    thin = math.sqrt(2) / 3 * wall / (mean**2 * math.sqrt(1 - poisson_ratio**2))
    prop = infill**exponent * _full_core_over_ring(diameter, wall, poisson_ratio)
    return thin * math.sqrt(1 + prop)


def _full_core_over_ring(diameter: float, wall: float, poisson_ratio: float) -> float:
    """Return the energy of flattening a core as stiff as the wall, over the ring's."""
    k = 3 - 4 * CORE_POISSON
    core = math.pi * (diameter / 2 - wall) ** 2 / (2 * (1 + CORE_POISSON)) * (9 / 8 + 3 / (8 * k))
    ring = 3 * math.pi / 8 * wall**3 / ((diameter - wall) / 2 * (1 - poisson_ratio**2))
    return core / ring
