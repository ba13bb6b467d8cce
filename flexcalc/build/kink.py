"""When a limb folds: a bent tube flattens, its pressed wall buckles into short waves, or its
inner side creases.

A hollow tube flattens (Brazier). A core holds it round, and then the pressed wall buckles on that
core, mostly sooner: so infill cures kinking less than it props the tube up. Infill printed as
lines lies open between its lines and is pressed sideways, where it carries little. A solid limb
does not fold, its inner side creases. Formulas of perfect tubes: no measurement stands behind
them, so that where a limb kinks is a band, and a `KinkTest` is worth more than all of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from data import read_table
from data.rules import Caution, check_kind, check_number
from flexcalc.limb.inputs import Along, Limb, outlines_of
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.limb.shape import outline_polygon
from flexcalc.section.moments import BENDING_EXPONENT

CORE_POISSON = 0.3
"""Poisson's ratio of an infill core, the usual value of cellular solids (memory)."""
THICKEST_TRIED = 0.67
"""Wall over mean radius up to which the thin-walled formula was within 5 % of a solid's."""
DENSEST_TRIED = 0.4
"""Infill up to which the formulas were compared with a finite-strain section."""
SPARSEST_TRIED, TRACE = 0.05, 1e-9
DENSE_RATIO = 0.05
"""Core over wall from which the formula for flattening can turn against a thicker wall."""
FILLED_BORE = 0.9
"""Wire over bore from which the wire keeps the bore from flattening."""


@dataclass(frozen=True, kw_only=True)
class Kink:
    """Where a limb folds: ``radius`` [m] of its middle line, ``moment`` [N m] there.

    ``deviation`` is one standard deviation of the radius' logarithm: between `low` and `high` it
    may kink. ``mode`` is "ovalising", "wall" or "crease"; ``core`` is "hollow", "isotropic",
    "lines" or "solid". A crease has no moment of its own: 0.
    """

    radius: float
    deviation: float
    moment: float
    mode: str
    core: str
    cautions: tuple[Caution, ...]

    @property
    def low(self) -> float:
        """Bend radius below which it will kink. [m]"""
        return self.radius * math.exp(-self.deviation)

    @property
    def high(self) -> float:
        """Bend radius from which it holds. [m]"""
        return self.radius * math.exp(self.deviation)


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
class _Tube:
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
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
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
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent)
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
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent, bead_width)
    return 0.0 if tube is None else _fold(tube)[0]


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
    tube = _checked(outer_diameter, wall, infill, poisson_ratio, infill_exponent, bead_width)
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
    tube = _checked(outer_diameter, thickness, *given)
    if tube is None or _fold(tube)[0] <= radius:
        return KinkCure(needed=False, wall=thickness, infill=float(infill), cautions=())

    def excess(**changes: float) -> float:
        return math.log(_fold(replace(tube, **changes))[0] / radius)

    needed_wall = _first_zero(lambda wall: excess(wall=wall), thickness, tube.diameter / 2)
    share = SPARSEST_TRIED
    if excess(infill=max(tube.infill, TRACE)) > 0:
        least = max(tube.infill, TRACE)
        share = _first_zero(lambda infill: excess(infill=infill), least, 1.0)
    cautions = (_dense_core(share),) if share > DENSEST_TRIED else ()
    return KinkCure(needed=True, wall=needed_wall, infill=share, cautions=cautions)


def kink_radius_of(
    limb: Limb,
    *,
    printer: Printer | None = None,
    infill_exponent: float = BENDING_EXPONENT,
) -> Kink:
    """Return where a limb folds or creases, its band, and what is doubtful about it.

    Parameters
    ----------
    limb : Limb
        Its outline is taken as the round tube of equal perimeter, its infill as lines or alike
        in all directions by its ``infill_pattern``.
    printer : Printer, optional
        Gives the width of the infill's beads and a factor on the radius if it was measured on
        such a core; an untested one if left out.
    infill_exponent : float
        Exponent of the core's modulus where the pattern is alike in all directions.

    Returns
    -------
    Kink
        Never tighter than the crease of a solid limb: surely below 1.0 and perhaps below 1.3
        times the thickness. Of a limb whose outline changes, where it folds first.
    """
    check_kind("limb", limb, Limb, "a Limb")
    machine = Printer() if printer is None else printer
    check_kind("printer", machine, Printer, "a Printer or None")
    if isinstance(limb.outline, Along):
        kinks = [
            kink_radius_of(one, printer=machine, infill_exponent=infill_exponent)
            for one in _sections_of(limb)
        ]
        return max(kinks, key=lambda kink: kink.radius)
    size = _round_diameter(limb)
    tube = _tube_of(limb, size, machine, infill_exponent)
    core = core_kind(limb)
    radius, mode, moment = _crease(limb, size), "crease", 0.0
    deviation = math.log(_kink_row("crease_high") / _kink_row("crease_low")) / 2
    if tube is not None:
        folds, how = _fold(tube)
        spread = _kink_row(f"deviation_{core}")
        if folds * math.exp(spread) > radius * math.exp(deviation):
            modulus = limb.elastomer.elastic_modulus
            radius, mode, deviation = folds, how, spread
            moment = kink_moment(
                size, tube.wall, modulus, tube.infill, tube.poisson_ratio,
                infill_exponent=infill_exponent, bead_width=tube.bead_width,
            )  # fmt: skip
    if machine.kink_core == core:
        radius, deviation = radius * machine.kink_factor, machine.kink_deviation
    return Kink(
        radius=radius,
        deviation=deviation,
        moment=moment,
        mode=mode,
        core=core,
        cautions=_cautions(limb, size, tube),
    )


def kink_cure_of(limb: Limb, radius: float, *, printer: Printer | None = None) -> KinkCure | None:
    """Return what lets a limb bend to a radius with its whole band passed, None where nothing does.

    ``radius`` [m]; ``printer`` as in `kink_radius_of`. Nothing helps within the crease of a
    solid limb but a thinner limb or a wider bend.
    """
    if isinstance(limb.outline, Along):
        limb = max(_sections_of(limb), key=lambda one: kink_radius_of(one, printer=printer).radius)
    kink = kink_radius_of(limb, printer=printer)
    machine = Printer() if printer is None else printer
    size = _round_diameter(limb)
    tube = _tube_of(limb, size, machine, BENDING_EXPONENT)
    wanted = check_number("bend radius", radius, least=5e-4, most=100.0, unit="m")
    if tube is None or kink.mode == "crease" or wanted < _kink_row("crease_high") * size:
        return None
    scale = kink.radius / _fold(tube)[0] * math.exp(kink.deviation)
    return kink_cure(
        size,
        tube.wall,
        max(wanted / scale, 5e-4),
        tube.infill,
        tube.poisson_ratio,
        bead_width=tube.bead_width,
    )


def _sections_of(limb: Limb) -> list[Limb]:
    """Return limbs of one section each, as a limb's sections are at its stations and between."""
    return [replace(limb, outline=outline) for outline in outlines_of(limb)]


def core_kind(limb: Limb) -> str:
    """Return what is inside a limb's wall: "hollow", "isotropic", "lines" or "solid"."""
    check_kind("limb", limb, Limb, "a Limb")
    if limb.wall is None or limb.infill == 1:
        return "solid"
    return limb.infill_pattern if limb.infill > 0 else "hollow"


def bending_thickness(limb: Limb) -> float:
    """Return how thick a limb is in its bending plane. [m]"""
    check_kind("limb", limb, Limb, "a Limb")
    if isinstance(limb.middle_outline, Round):
        return float(limb.middle_outline.diameter)
    _, low, _, high = outline_polygon(limb.middle_outline).bounds
    return float(high - low)


def _round_diameter(limb: Limb) -> float:
    """Diameter of the round tube of equal perimeter. [m]"""
    if isinstance(limb.middle_outline, Round):
        return float(limb.middle_outline.diameter)
    return float(outline_polygon(limb.middle_outline).length) / math.pi


def _tube_of(limb: Limb, size: float, printer: Printer, exponent: float) -> _Tube | None:
    """Return the tube that can fold, None for a limb that is solid or as good as that."""
    bead = printer.bead_width if limb.infill_pattern == "lines" else None
    ratio = limb.elastomer.poisson_ratio
    tube = _checked(size, limb.wall, limb.infill, ratio, exponent, bead)
    return None if tube is None or tube.wall > _kink_row("crease_wall") * size else tube


def _crease(limb: Limb, size: float) -> float:
    """Middle of the bend radii at which a solid limb's inner side creases. [m]"""
    thickness = max(size, bending_thickness(limb))
    return math.sqrt(_kink_row("crease_low") * _kink_row("crease_high")) * thickness


def _cautions(limb: Limb, size: float, tube: _Tube | None) -> tuple[Caution, ...]:
    found = []
    if not isinstance(limb.middle_outline, Round):
        text = f"The kink radius is that of a round limb {size * 1e3:.1f} mm wide: a rough guide."
        found.append(Caution(key="kink_outline", text=text))
    if limb.wall is not None and limb.wall > THICKEST_TRIED * (size - limb.wall) / 2:
        text = "The wall is thick for the thin-walled kink formula: a rough guide."
        found.append(Caution(key="kink_thick_wall", text=text))
    if tube is not None and limb.infill > DENSEST_TRIED:
        found.append(_dense_core(limb.infill))
    if tube is not None and limb.wire is not None and limb.wire_runs_in_bore:
        bore = size - 2 * tube.wall
        if limb.wire.bundle_diameter >= FILLED_BORE * bore:
            text = "The wire fills the bore and keeps it round: the limb kinks later than this."
            found.append(Caution(key="kink_bore_filled", text=text))
    return tuple(found)


def _dense_core(infill: float) -> Caution:
    text = f"An infill of {infill:.0%} is outside the range of the cellular-core formula."
    return Caution(key="kink_dense_core", text=text)


def _kink_row(quantity: str) -> float:
    return read_table("constants")["kink"][quantity].value


def _checked(
    outer_diameter: float,
    wall: float | None,
    infill: float,
    poisson_ratio: float,
    exponent: float,
    bead_width: float | None = None,
) -> _Tube | None:
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
    return _Tube(
        diameter=diameter,
        wall=thickness,
        infill=core,
        poisson_ratio=nu,
        exponent=power,
        bead_width=bead_width,
    )


def _fold(tube: _Tube) -> tuple[float, str]:
    """Return at what radius a tube folds, and whether by "ovalising" or by its "wall"."""
    flat, wave = _ovalising(tube), _wall_buckling(tube)
    if tube.infill == 0:
        return flat * _kink_row("hollow_factor"), "ovalising"
    if wave >= flat:
        return wave, "wall"
    if _core_ratio(tube) > DENSE_RATIO:
        # a thicker wall leaves less of a dense core: what bore the bend with less still does
        flat = min(flat, _evenly_matched(tube))
    return flat, "ovalising"


def _evenly_matched(tube: _Tube) -> float:
    """Return the radius of the thinner wall that flattens and buckles at once, inf for none."""

    def lead(wall: float) -> float:
        thinner = replace(tube, wall=wall)
        return math.log(_wall_buckling(thinner) / _ovalising(thinner))

    walls = [tube.wall * 0.8**step for step in range(1, 32)]
    least = next((wall for wall in walls if lead(wall) > 0), None)
    if least is None:
        return math.inf
    return _wall_buckling(replace(tube, wall=_zero(lead, least, tube.wall)))


def _ovalising(tube: _Tube) -> float:
    nu, mean = tube.poisson_ratio, (tube.diameter - tube.wall) / 2
    thin = math.sqrt(2) / 3 * tube.wall / (mean**2 * math.sqrt(1 - nu**2))
    k = 3 - 4 * CORE_POISSON
    inner = tube.diameter / 2 - tube.wall
    core = math.pi * inner**2 / (2 * (1 + CORE_POISSON)) * (9 / 8 + 3 / (8 * k))
    ring = 3 * math.pi / 8 * tube.wall**3 / (mean * (1 - nu**2))
    return 1 / (thin * math.sqrt(1 + _core_ratio(tube) * core / ring))


def _wall_buckling(tube: _Tube) -> float:
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


def _core_ratio(tube: _Tube) -> float:
    """Return the modulus of the core over that of the wall."""
    if tube.bead_width is None or tube.infill == 0:
        return float(tube.infill**tube.exponent)
    mean, nu = (tube.diameter - tube.wall) / 2, tube.poisson_ratio
    half_wave = math.pi * math.sqrt(mean * tube.wall) / (12 * (1 - nu**2)) ** 0.25
    spacing = 2 * tube.bead_width / tube.infill
    reach = (_kink_row("line_spacing_most") - spacing / half_wave) / _kink_row("line_spacing_ramp")
    return float(_kink_row("line_share") * tube.infill**2 * min(max(reach, 0.0), 1.0))


def _first_zero(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where a falling excess is used up, ``high`` where it never is."""
    return high if excess(high) >= 0 else _zero(excess, low, high)


def _zero(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return float(brentq(function, low, high, xtol=1e-16, rtol=1e-14, maxiter=500))
