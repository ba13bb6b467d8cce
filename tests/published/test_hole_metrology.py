"""Printed upright holes of 3 to 10 mm: small ones come out smaller by more.

Source: public repository of a web log, hole metrology graph, digitised; one desktop printer, bead
0.4 mm, layer 0.2 mm, measured with calipers. How seen: read off the graph, to about 0.01 mm.
Printed hole less drawn hole, units as printed: mm.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from flexcalc.bench.learning import PinGauge, hole_shrinkage
from flexcalc.build.allowance import expected_shrinkage
from flexcalc.limb.printer import Printer

DRAWN = (3, 4, 5, 6, 7, 8, 9, 10)
PRINTED = (-0.398, -0.311, -0.224, -0.137, -0.153, -0.164, -0.128, -0.083)
PRINTER = Printer(bead_width=0.0004)


def test_the_row_holds_the_holes_in_its_spread() -> None:
    """Within two of its standard deviations, each and as one printer."""
    for drawn, error in zip(DRAWN, PRINTED, strict=True):
        expected = expected_shrinkage(drawn / 1e3, "upright", PRINTER) * 1e3
        assert abs(-error - expected) < 2 * PRINTER.hole_spread_upright * 1e3 * 3 / drawn
    known = hole_shrinkage(_gauge(), PRINTER).value
    off = abs(known - PRINTER.hole_shrinkage_upright)
    assert off < PRINTER.hole_spread_upright


def test_one_number_tells_all_eight_holes() -> None:
    printer = Printer(
        bead_width=0.0004, hole_shrinkage_upright=hole_shrinkage(_gauge(), PRINTER).value
    )
    expected = [expected_shrinkage(drawn / 1e3, "upright", printer) * 1e3 for drawn in DRAWN]
    rms = math.sqrt(np.mean((np.array(expected) + PRINTED) ** 2))
    assert rms < 0.03
    # a shrinkage that is the same for all holes misses by three times that
    assert np.std(PRINTED) > 0.09


def _gauge() -> PinGauge:
    step = 1e-5
    pins = tuple((d + e) / 1e3 - step / 2 for d, e in zip(DRAWN, PRINTED, strict=True))
    drawn = tuple(d / 1e3 for d in DRAWN)
    return PinGauge(drawn_diameters=drawn, pins=pins, orientation="upright", step=step, error=2e-5)


def test_the_graph_falls_as_one_over_the_diameter() -> None:
    """About 1.3 mm2/D - 0.04 mm, as read off: a least-squares line in 1/D."""
    slope, rest = np.polyfit(1 / np.array(DRAWN), -np.array(PRINTED), 1)
    assert slope == pytest.approx(1.3, abs=0.1) and rest == pytest.approx(-0.04, abs=0.02)
