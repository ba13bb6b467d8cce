"""When a limb folds: as a tube that flattens or buckles, or, solid, by creasing on its inner side.

A limb is the round tube of equal perimeter (tube). A solid limb does not fold, its inner side
creases. Where a limb kinks is a band, and a `KinkTest` is worth more than all formulas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from data.rules import Caution, check_kind, check_number
from flexcalc.build.tube import (
    DENSEST_TRIED,
    KinkCure,
    Tube,
    checked_tube,
    dense_core,
    fold_of,
    kink_cure,
    kink_moment,
    kink_row,
)
from flexcalc.limb.inputs import Along, Limb, outlines_of
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.limb.shape import outline_polygon
from flexcalc.section.moments import BENDING_EXPONENT

THICKEST_TRIED = 0.67
"""Wall over mean radius up to which the thin-walled formula was within 5 % of a solid's."""
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
    deviation = math.log(kink_row("crease_high") / kink_row("crease_low")) / 2
    if tube is not None:
        folds, how = fold_of(tube)
        spread = kink_row(f"deviation_{core}")
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
    if tube is None or kink.mode == "crease" or wanted < kink_row("crease_high") * size:
        return None
    scale = kink.radius / fold_of(tube)[0] * math.exp(kink.deviation)
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


def _tube_of(limb: Limb, size: float, printer: Printer, exponent: float) -> Tube | None:
    """Return the tube that can fold, None for a limb that is solid or as good as that."""
    bead = printer.bead_width if limb.infill_pattern == "lines" else None
    ratio = limb.elastomer.poisson_ratio
    tube = checked_tube(size, limb.wall, limb.infill, ratio, exponent, bead)
    return None if tube is None or tube.wall > kink_row("crease_wall") * size else tube


def _crease(limb: Limb, size: float) -> float:
    """Middle of the bend radii at which a solid limb's inner side creases. [m]"""
    thickness = max(size, bending_thickness(limb))
    return math.sqrt(kink_row("crease_low") * kink_row("crease_high")) * thickness


def _cautions(limb: Limb, size: float, tube: Tube | None) -> tuple[Caution, ...]:
    found = []
    if not isinstance(limb.middle_outline, Round):
        text = f"The kink radius is that of a round limb {size * 1e3:.1f} mm wide: a rough guide."
        found.append(Caution(key="kink_outline", text=text))
    if limb.wall is not None and limb.wall > THICKEST_TRIED * (size - limb.wall) / 2:
        text = "The wall is thick for the thin-walled kink formula: a rough guide."
        found.append(Caution(key="kink_thick_wall", text=text))
    if tube is not None and limb.infill > DENSEST_TRIED:
        found.append(dense_core(limb.infill))
    if tube is not None and limb.wire is not None and limb.wire_runs_in_bore:
        bore = size - 2 * tube.wall
        if limb.wire.bundle_diameter >= FILLED_BORE * bore:
            text = "The wire fills the bore and keeps it round: the limb kinks later than this."
            found.append(Caution(key="kink_bore_filled", text=text))
    return tuple(found)
