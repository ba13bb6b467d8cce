"""By how much a printer's limbs kink at a wider radius than reckoned, from one bent till it did."""

from __future__ import annotations

import math

from data.rules import check_kind
from flexcalc.bench.readings import KinkTest, Measured
from flexcalc.build.kink import bending_thickness, kink_radius_of
from flexcalc.limb.printer import Printer


def measured_kink(test: KinkTest, printer: Printer) -> Measured:
    """Return the radius at which a limb kinked over the one reckoned.

    Parameters
    ----------
    test : KinkTest
        The limb and its two mandrels.
    printer : Printer
        Its bead width; what it has learned of kinks before is left aside.

    Returns
    -------
    Measured
        A factor on `kink_radius_of`, and its error (x/÷).

    Notes
    -----
    The radius of the limb's middle lies evenly, in its logarithm, between those of both mandrels.
    """
    check_kind("kink test", test, KinkTest, "a KinkTest")
    check_kind("printer", printer, Printer, "a Printer")
    thickness = bending_thickness(test.limb)
    held, kinked = (test.held_diameter + thickness) / 2, (test.kinked_diameter + thickness) / 2
    reckoned = kink_radius_of(test.limb, printer=printer)
    own = printer.kink_factor if printer.kink_core == reckoned.core else 1.0
    return Measured(
        name="kink radius over the reckoned one",
        unit="1",
        value=math.sqrt(held * kinked) / reckoned.radius * own,
        error=math.exp(math.hypot(test.error, math.log(held / kinked) / math.sqrt(12))),
        as_factor=True,
        cautions=reckoned.cautions,
    )
