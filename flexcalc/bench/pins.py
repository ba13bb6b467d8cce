"""How much a printer's holes shrink, from the pins that enter a strip of them."""

from __future__ import annotations

import math

import numpy as np

from data.rules import Array, Caution, check_kind, refuse
from flexcalc.bench.readings import Measured, PinGauge
from flexcalc.build.allowance import geometry_shrinkage
from flexcalc.limb.printer import Printer, hole_constant


def hole_shrinkage(gauge: PinGauge, printer: Printer) -> Measured:
    """Return how much the printer's reference hole shrinks, from pins that enter test holes.

    Parameters
    ----------
    gauge : PinGauge
        Holes and pins.
    printer : Printer
        Its bead width and reference hole.

    Returns
    -------
    Measured
        Shrinkage [m] on the diameter and the error of the mean.

    Raises
    ------
    ValueError
        For anything else, or holes narrower than the bead.

    Notes
    -----
    A hole is taken as half a step wider than its pin. What bead arc and facets do at each
    diameter is taken off, the rest fitted with one over the diameter by least squares, and the
    reference hole's arc and facets put back.
    """
    check_kind("pin gauge", gauge, PinGauge, "a PinGauge")
    check_kind("printer", printer, Printer, "a Printer")
    if min(gauge.drawn_diameters) <= printer.bead_width:
        rule = f"wider than the bead width {printer.bead_width:g} m"
        raise refuse("drawn diameters", rule, f"{min(gauge.drawn_diameters):g} m")
    drawn, pins = np.array(gauge.drawn_diameters), np.array(gauge.pins)
    facets, side = int(hole_constant("facets").value), gauge.orientation
    geometry = np.array([geometry_shrinkage(hole, side, printer, facets) for hole in drawn])
    rest = drawn - pins - gauge.step / 2 - geometry
    single = math.hypot(gauge.error, gauge.step / math.sqrt(12))
    share = printer.reference_hole / drawn
    machine = float(share @ rest / (share @ share))
    reference = geometry_shrinkage(printer.reference_hole, side, printer, facets)
    return Measured(
        name=f"hole shrinkage {gauge.orientation}",
        unit="m",
        value=machine + reference,
        error=single / math.sqrt(float(share @ share)),
        as_factor=False,
        cautions=_gauge_cautions(drawn, rest - machine * share, single),
    )


def _gauge_cautions(drawn: Array, rest: Array, single: float) -> tuple[Caution, ...]:
    """Say where the holes scatter more than assumed, or shrink with their diameter."""
    if len(rest) < 3:
        return ()
    found = []
    off = drawn - drawn.mean()
    spread = float(np.sum(off**2))
    slope = float(np.sum(off * rest)) / spread if spread > 0 else 0.0
    if spread > 0 and abs(slope) * math.sqrt(spread) > 3 * single:
        text = (
            f"The holes shrink by {slope * 1e3:+.0f} µm per millimetre of their diameter beyond "
            "what is expected of small holes: trust this for holes of about these sizes only."
        )
        found.append(Caution(key="shrinkage by size", text=text))
    scatter = float(np.std(rest - slope * off, ddof=2))
    if scatter > 2 * single:
        text = (
            f"The holes scatter by {scatter * 1e3:.2f} mm, more than the {single * 1e3:.2f} mm "
            "assumed. Check them for blobs and strings."
        )
        found.append(Caution(key="holes scatter", text=text))
    return tuple(found)
