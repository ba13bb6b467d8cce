"""When a round tube folds: it flattens, or its pressed wall buckles into short waves.

A hollow tube flattens (Brazier). A core holds it round, and then the pressed wall buckles on that
core, mostly sooner: so infill cures kinking less than it props the tube up. Infill printed as
lines lies open between its lines and is pressed sideways, where it carries little. Formulas of
perfect tubes: no measurement stands behind them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from data import read_table
from data.rules import Caution, check_number
from flexcalc.section.moments import BENDING_EXPONENT

CORE_POISSON = 0.3
"""Poisson's ratio of an infill core, the usual value of cellular solids (memory)."""
DENSEST_TRIED = 0.4
"""Infill up to which the formulas were compared with a finite-strain section."""
SPARSEST_TRIED, TRACE = 0.05, 1e-9
DENSE_RATIO = 0.05
"""Core over wall from which the formula for flattening can turn against a thicker wall."""


@dataclass(frozen=True, kw_only=True)
class KinkCure:
    """What lets a limb bend to the wanted radius: either ``wall`` [m] or ``infill`` alone.

    The wall comes first: infill is a poor cure. Where it bends that far as it is, both are what
    was given and ``needed`` is False. A wall of half the diameter and an infill of 1 are solid.
    """

    needed: bool
    wall: float
    infill: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class Tube:
    """A round tube: ``diameter`` and ``wall`` [m], its core's ``infill`` and ``exponent``;
    ``bead_width`` [m] of a core printed as lines, None for one alike in all directions."""

    diameter: float
    wall: float
    infill: float
    poisson_ratio: float
    exponent: float
    bead_width: float | None


def ovalising_radius(
    outer_diameter: float,
    wall: float | None,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
) -> float:
    """Return the bend radius, to the middle line, at which a round tube flattens until it folds.

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
    stiffness against flattening over the ring's. Thin-walled: the wall bends as a ring without
    stretching.

    Source: Brazier 1927 (from memory, derived again); core: plane-strain disc bonded to the ring.
    """
    tube = checked_tube(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
    return 0.0 if tube is None else _ovalising(tube)


def wall_buckling_radius(
    outer_diameter: float,
    wall: float | None,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
) -> float:
    """Return the bend radius at which the pressed wall of a round tube buckles into short waves.

    Parameters as `ovalising_radius`, the core alike in all directions.

    Returns
    -------
    float
        Radius of the middle line, 0 for a solid limb. [m]

    Notes
    -----
    a/eps with the strain of the wall's middle eps = (t/a) min over x of
    [(a/t)/(12(1-nu^2)x^2) + x^2 t/a + 2/((3-nu_c)(1+nu_c)) (E_c/E) x a/t], a the mean radius;
    without a core the classical t/(a sqrt(3(1-nu^2))).

    Source: cylinder wall on an elastic half-space, Karam and Gibson 1995 (from memory).
    """
    tube = checked_tube(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
    return 0.0 if tube is None else _wall_buckling(tube)


def kink_radius(
    outer_diameter: float,
    wall: float | None,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
    bead_width: float | None = None,
) -> float:
    """Return the bend radius, to the middle line, below which a round tube folds.

    Parameters
    ----------
    outer_diameter, wall, infill, poisson_ratio, infill_exponent
        As `ovalising_radius`.
    bead_width : float, optional
        Of an infill printed as lines; left out, the core is alike in all directions. [m]

    Returns
    -------
    float
        The greater of `ovalising_radius` and `wall_buckling_radius`, 0 for a solid limb; a
        thicker wall never folds earlier. [m]

    Notes
    -----
    A hollow tube softens and its crest flattens: 1.08 times the ovalising radius. Lines are 2
    beads over the infill apart and are pressed sideways: E_c = 0.3 E infill^2 clip((1.6 - s/h)/0.9,
    0, 1) with the half wave h = pi sqrt(a t)/(12(1-nu^2))^(1/4) (rows "kink"). Where a dense core
    makes the formula for flattening fold a thicker wall earlier, the thinner wall's radius stands.
    """
    tube = checked_tube(outer_diameter, wall, infill, poisson_ratio, infill_exponent, bead_width)
    return 0.0 if tube is None else fold_of(tube)[0]


def kink_moment(
    outer_diameter: float,
    wall: float | None,
    elastic_modulus: float,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
    bead_width: float | None = None,
) -> float:
    """Return the bending moment at which a round tube folds, 0 for a solid limb. [N m]

    ``elastic_modulus`` [Pa]; the rest as `kink_radius`. The core props the wall up but its own
    bending (1-3 %) is left out: the value is low by that. E I k (1 - (k/k_o)^2/3) at the fold's
    curvature k, k_o that of ovalising, where the moment is greatest and flat.

    Source: Brazier 1927, (2 sqrt(2) pi/9) E r t^2/sqrt(1 - nu^2) for a hollow tube.
    """
    modulus = check_number("elastic modulus", elastic_modulus, least=1e3, most=1e12, unit="Pa")
    tube = checked_tube(outer_diameter, wall, infill, poisson_ratio, infill_exponent, bead_width)
    if tube is None:
        return 0.0
    mean = (tube.diameter - tube.wall) / 2
    flattest = 1 / _ovalising(tube)
    curvature = min(flattest, 1 / _wall_buckling(tube))
    rigidity = math.pi * modulus * mean**3 * tube.wall
    return rigidity * curvature * (1 - (curvature / flattest) ** 2 / 3)


def kink_cure(
    outer_diameter: float,
    wall: float,
    radius: float,
    infill: float = 0.0,
    poisson_ratio: float = 0.48,
    *,
    infill_exponent: float = BENDING_EXPONENT,
    bead_width: float | None = None,
) -> KinkCure:
    """Return the least wall with this infill, or the least infill with this wall, for a bend.

    Parameters
    ----------
    outer_diameter, wall, infill, poisson_ratio, infill_exponent, bead_width
        As `kink_radius`.
    radius : float
        Wanted bend radius to the middle line. [m]

    Returns
    -------
    KinkCure
        The one or the other cures it; the wall is the better one.

    Notes
    -----
    Both are inverses of `kink_radius` by root finding, to 1e-12.
    """
    radius = check_number("bend radius", radius, least=5e-4, most=100.0, unit="m")
    thickness = check_number("wall", wall, least=5e-5, most=0.5, unit="m")
    given = (infill, poisson_ratio, infill_exponent, bead_width)
    tube = checked_tube(outer_diameter, thickness, *given)
    if tube is None or fold_of(tube)[0] <= radius:
        return KinkCure(needed=False, wall=thickness, infill=float(infill), cautions=())

    def excess(**changes: float) -> float:
        return math.log(fold_of(replace(tube, **changes))[0] / radius)

    needed_wall = _first_zero(lambda wall: excess(wall=wall), thickness, tube.diameter / 2)
    share = SPARSEST_TRIED
    if excess(infill=max(tube.infill, TRACE)) > 0:
        least = max(tube.infill, TRACE)
        share = _first_zero(lambda infill: excess(infill=infill), least, 1.0)
    cautions = (dense_core(share),) if share > DENSEST_TRIED else ()
    return KinkCure(needed=True, wall=needed_wall, infill=share, cautions=cautions)


def checked_tube(
    outer_diameter: float,
    wall: float | None,
    infill: float,
    poisson_ratio: float,
    exponent: float,
    bead_width: float | None = None,
) -> Tube | None:
    """Return the checked tube, None where it is solid."""
    diameter = check_number("outer diameter", outer_diameter, least=1e-6, most=2.5, unit="m")
    core = check_number("infill", infill, least=0.0, most=1.0)
    nu = check_number("poisson ratio", poisson_ratio, least=0.0, below=0.5)
    power = check_number("infill exponent", exponent, least=0.01, most=10.0)
    if bead_width is not None:
        check_number("bead width", bead_width, least=5e-5, most=2e-3, unit="m")
    if wall is None:
        return None
    thickness = check_number("wall", wall, least=1e-6, most=diameter / 2, unit="m")
    if thickness == diameter / 2 or core == 1:
        return None
    return Tube(
        diameter=diameter,
        wall=thickness,
        infill=core,
        poisson_ratio=nu,
        exponent=power,
        bead_width=bead_width,
    )


def fold_of(tube: Tube) -> tuple[float, str]:
    """Return at what radius a tube folds, and whether by "ovalising" or by its "wall"."""
    flat, wave = _ovalising(tube), _wall_buckling(tube)
    if tube.infill == 0:
        return flat * kink_row("hollow_factor"), "ovalising"
    if wave >= flat:
        return wave, "wall"
    if _core_ratio(tube) > DENSE_RATIO:
        # a thicker wall leaves less of a dense core: what bore the bend with less still does
        flat = min(flat, _evenly_matched(tube))
    return flat, "ovalising"


def _evenly_matched(tube: Tube) -> float:
    """Return the radius of the thinner wall that flattens and buckles at once, inf for none."""

    def lead(wall: float) -> float:
        thinner = replace(tube, wall=wall)
        return math.log(_wall_buckling(thinner) / _ovalising(thinner))

    walls = [tube.wall * 0.8**step for step in range(1, 32)]
    least = next((wall for wall in walls if lead(wall) > 0), None)
    if least is None:
        return math.inf
    return _wall_buckling(replace(tube, wall=_zero(lead, least, tube.wall)))


def _ovalising(tube: Tube) -> float:
    nu, mean = tube.poisson_ratio, (tube.diameter - tube.wall) / 2
    thin = math.sqrt(2) / 3 * tube.wall / (mean**2 * math.sqrt(1 - nu**2))
    k = 3 - 4 * CORE_POISSON
    inner = tube.diameter / 2 - tube.wall
    core = math.pi * inner**2 / (2 * (1 + CORE_POISSON)) * (9 / 8 + 3 / (8 * k))
    ring = 3 * math.pi / 8 * tube.wall**3 / (mean * (1 - nu**2))
    return 1 / (thin * math.sqrt(1 + _core_ratio(tube) * core / ring))


def _wall_buckling(tube: Tube) -> float:
    mean = (tube.diameter - tube.wall) / 2
    slender = mean / tube.wall
    bending = slender / (12 * (1 - tube.poisson_ratio**2))
    foundation = 2 / ((3 - CORE_POISSON) * (1 + CORE_POISSON)) * _core_ratio(tube) * slender
    free = (bending * slender) ** 0.25  # least without a core
    x = free
    if foundation > 0:
        high = free * (1 + 1e-9)  # above the zero also where a soft core is lost in rounding
        x = _zero(lambda x: 2 * x**4 / slender + foundation * x**3 - 2 * bending, 0.0, high)
    strain = (bending / x**2 + x**2 / slender + foundation * x) / slender
    return float(mean / strain)


def _core_ratio(tube: Tube) -> float:
    """Return the modulus of the core over that of the wall."""
    if tube.bead_width is None or tube.infill == 0:
        return float(tube.infill**tube.exponent)
    mean, nu = (tube.diameter - tube.wall) / 2, tube.poisson_ratio
    half_wave = math.pi * math.sqrt(mean * tube.wall) / (12 * (1 - nu**2)) ** 0.25
    spacing = 2 * tube.bead_width / tube.infill
    reach = (kink_row("line_spacing_most") - spacing / half_wave) / kink_row("line_spacing_ramp")
    return float(kink_row("line_share") * tube.infill**2 * min(max(reach, 0.0), 1.0))


def dense_core(infill: float) -> Caution:
    """Return the caution of a core denser than was tried."""
    text = f"An infill of {infill:.0%} is outside the range of the cellular-core formula."
    return Caution(key="kink_dense_core", text=text)


def kink_row(quantity: str) -> float:
    """Return a number of the table's rows on kinking."""
    return read_table("constants")["kink"][quantity].value


def _first_zero(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where a falling excess is used up, ``high`` where it never is."""
    return high if excess(high) >= 0 else _zero(excess, low, high)


def _zero(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return float(brentq(function, low, high, xtol=1e-16, rtol=1e-14, maxiter=500))
