"""How much wider than its wire a channel is drawn: tolerance, clearance and shrinkage in a chain.

Common practice draws a channel wider than the wire by an allowance that covers both the room the
wire needs and the hole's shrinkage on an untested printer. So the clearance wanted is that
allowance less the usual shrinkage, and a measured shrinkage changes the drawing, not the room.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import read_table
from data.rules import check_choice, refuse
from flexcalc.hole import arc_shrinkage, facet_shrinkage
from flexcalc.printer import ORIENTATIONS, Printer, hole_constant

LABELS = {
    "wire_diameter": "Wire",
    "wire_tolerance": "Wire tolerance",
    "clearance": "Clearance",
    "opening": "Printed opening",
    "arc_shrinkage": "Bead arc",
    "facet_shrinkage": "Facets",
    "machine_shrinkage": "Material and machine",
    "shrinkage": "Expected shrinkage",
    "draw_diameter": "Diameter to draw",
}
REASONS = {
    "wire_diameter": "The diameter it is sold by.",
    "wire_tolerance": "Drawn wire may be this much thicker.",
    "clearance": "Room on the diameter: a wire that touches all round does not go in.",
    "opening": "The thickest pin that should enter the print.",
    "arc_shrinkage": "A bead laid round a standing hole swells inward; a lying one has none.",
    "facet_shrinkage": "A circle drawn with {facets} corners cuts inside the true one.",
    "machine_shrinkage": "What is left of the shrinkage {known}.",
    "shrinkage": "Bead arc, facets, material and machine together.",
    "draw_diameter": "The printed opening and the expected shrinkage together.",
}


@dataclass(frozen=True, kw_only=True)
class ChannelRow:
    """One line of the chain: ``value`` [m] with ``low`` and ``high``, and why in a sentence.

    ``low`` and ``high`` are one standard deviation each side; ``key`` is the name of the field
    that carries the same number.
    """

    key: str
    label: str
    value: float
    low: float
    high: float
    reason: str


def usual_clearance(orientation: str) -> float:
    """Return the room on the diameter that common practice leaves around a wire. [m]"""
    check_choice("orientation", orientation, ORIENTATIONS)
    allowance = read_table("constants")["channel clearance"][orientation].value
    return allowance - hole_constant(f"shrinkage_{orientation}").value


def chain_rows(
    wire_diameter: float,
    orientation: str,
    printer: Printer,
    clearance: float,
    wire_tolerance: float,
    facets: int,
) -> tuple[ChannelRow, ...]:
    """Return the chain from a wire to the diameter to draw; its arguments are checked ones.

    Raises
    ------
    ValueError
        Where the printer's holes come out wider than the wire needs, so that none can be drawn.
    """
    opening = wire_diameter + wire_tolerance + clearance
    machine = _machine_shrinkage(orientation, printer, facets)
    bead = printer.bead_width if orientation == "upright" else 0.0
    draw = _drawn_diameter(opening + machine, bead, facets)
    arc = arc_shrinkage(draw, bead) if bead else 0.0
    facet = facet_shrinkage(draw, facets)
    spread = printer.hole_spread(orientation)
    numbers = {
        "wire_diameter": (wire_diameter, wire_tolerance),
        "wire_tolerance": (wire_tolerance, 0.0),
        "clearance": (clearance, 0.0),
        "opening": (opening, spread),
        "arc_shrinkage": (arc, 0.0),
        "facet_shrinkage": (facet, 0.0),
        "machine_shrinkage": (machine, spread),
        "shrinkage": (draw - opening, spread),
        "draw_diameter": (draw, math.hypot(spread, wire_tolerance)),
    }
    known = "measured on test holes" if orientation in printer.measured else "of untested printers"
    return tuple(
        ChannelRow(
            key=key,
            label=LABELS[key],
            value=value,
            low=value - dv,
            high=value + dv,
            reason=REASONS[key].format(facets=facets, known=known),
        )
        for key, (value, dv) in numbers.items()
    )


def _machine_shrinkage(orientation: str, printer: Printer, facets: int) -> float:
    """Return what material and machine add: the reference hole's shrinkage less its geometry."""
    hole = printer.reference_hole
    rest = printer.hole_shrinkage(orientation) - facet_shrinkage(hole, facets)
    return rest - arc_shrinkage(hole, printer.bead_width) if orientation == "upright" else rest


def _drawn_diameter(needed: float, bead: float, facets: int) -> float:
    """Return D that solves sqrt(D^2 - w^2) - c D = needed, c = 1 - cos(pi/n). [m]"""
    if needed <= 0:
        raise refuse("hole shrinkage", "more than minus the opening wanted", f"{needed:g} m left")
    c = 2 * math.sin(math.pi / (2 * facets)) ** 2
    root = math.sqrt((c * needed) ** 2 + (1 - c**2) * (needed**2 + bead**2))
    return (c * needed + root) / (1 - c**2)
