"""How much wider than its wire a channel is drawn: tolerance, clearance and shrinkage in a chain.

Common practice draws a channel wider than the wire by an allowance that covers both the room the
wire needs and the hole's shrinkage on an untested printer. So the clearance wanted is that
allowance less the usual shrinkage, and a measured shrinkage changes the drawing, not the room.
What material and machine take off a hole goes as one over its diameter: small holes lose more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from data import read_table
from data.rules import Array, check_choice, check_kind, check_number, refuse
from flexcalc.build.hole import arc_shrinkage, facet_shrinkage
from flexcalc.limb.printer import ORIENTATIONS, Printer, hole_constant
from flexcalc.wire.roots import increasing_root

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
    row = read_table("constants")["channel clearance"]
    usual = expected_shrinkage(row["usual_hole"].value, orientation, Printer())
    return row[orientation].value - usual


def expected_shrinkage(diameter: float, orientation: str, printer: Printer) -> float:
    """Return how much smaller than drawn a printer's hole comes out, on the diameter.

    Parameters
    ----------
    diameter : float
        Drawn diameter, wider than the bead. [m]
    orientation : str
        "upright" or "lying".
    printer : Printer
        Its bead and what its reference hole shrinks.

    Returns
    -------
    float
        Bead arc (upright), facets and what material and machine add. [m]

    Notes
    -----
    The last goes as one over the diameter. Source: upright holes of 3 to 10 mm on one printer
    (hole metrology graph, read), 1.3 mm2/D - 0.04 mm.
    """
    check_choice("orientation", orientation, ORIENTATIONS)
    check_kind("printer", printer, Printer, "a Printer")
    hole = check_number("hole diameter", diameter, above=printer.bead_width, most=1.0, unit="m")
    facets = int(hole_constant("facets").value)
    machine = machine_area(orientation, printer, facets) / hole
    return machine + geometry_shrinkage(hole, orientation, printer, facets)


def geometry_shrinkage(hole: float, orientation: str, printer: Printer, facets: int) -> float:
    """Return what bead arc and facets take off a hole; its arguments are checked ones. [m]"""
    flat = facet_shrinkage(hole, facets)
    return flat + arc_shrinkage(hole, printer.bead_width) if orientation == "upright" else flat


def machine_area(orientation: str, printer: Printer, facets: int) -> float:
    """Return what material and machine take off a hole, times its diameter. [m2]"""
    hole = printer.reference_hole
    rest = printer.hole_shrinkage(orientation) - geometry_shrinkage(
        hole, orientation, printer, facets
    )
    return rest * hole


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
    bead = printer.bead_width if orientation == "upright" else 0.0
    area = machine_area(orientation, printer, facets)
    draw = _drawn_diameter(opening, area, bead, facets)
    machine = area / draw
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


def _drawn_diameter(opening: float, area: float, bead: float, facets: int) -> float:
    """Return D that solves sqrt(D^2 - w^2) - c D - A/D = opening, c = 1 - cos(pi/n). [m]"""
    c = 2 * math.sin(math.pi / (2 * facets)) ** 2

    def left(hole: Array) -> tuple[Array, Array]:
        open_width = np.sqrt((hole - bead) * (hole + bead))
        return (
            open_width - c * hole - area / hole - opening,
            hole / open_width - c + area / hole**2,
        )

    # where holes come out wider, below this a smaller one would come out wider still
    least = max(bead, math.sqrt(max(-area, 0.0)), 1e-9)
    if math.sqrt((least - bead) * (least + bead)) - c * least - area / least >= opening:
        rule = "such that a hole as narrow as the wire needs can be drawn"
        raise refuse("hole shrinkage", rule, f"{area / least:g} m on a hole of {least:g} m")
    most = 2 * (opening + bead) / (1 - c) + math.sqrt(2 * abs(area) / (1 - c))
    ends = np.array([least]), np.array([most])
    return float(increasing_root(left, *ends, ends[1], 1e-14)[0])
