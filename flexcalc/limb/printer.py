"""The printer: how wide its beads are and how much smaller than drawn its holes come out.

The defaults are those of an untested printer with a 0.4 mm nozzle (data/constants.csv); a strip
of test holes replaces them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from data import Quantity, read_table
from data.rules import check_choice, check_kind, check_name, check_number, plain_numbers

ORIENTATIONS = ("upright", "lying")
KINK_CORES = ("hollow", "isotropic", "lines", "solid")


def hole_constant(quantity: str) -> Quantity:
    """Return a trade constant of printed holes, by the name of its row."""
    return read_table("constants")["printed hole"][quantity]


def _value(quantity: str) -> float:
    return hole_constant(quantity).value


def _spread(quantity: str) -> float:
    row = hole_constant(quantity)
    return (row.high - row.low) / 2


def _wire_tolerance() -> float:
    row = read_table("constants")["wire"]["diameter_factor"]
    return (row.high - row.low) / 2


@dataclass(frozen=True, kw_only=True)
class Printer:
    """A printer with one filament.

    ``bead_width`` and ``layer_height`` [m]. ``hole_shrinkage_upright`` and ``_lying`` [m] are how
    much smaller than drawn, on the diameter, a hole of ``reference_hole`` [m] comes out, bead arc
    and facets included; ``hole_spread_upright`` and ``_lying`` [m] are one standard deviation
    each. ``wall_spread`` is one standard deviation of wall thickness and ``wire_tolerance`` of a
    bought wire's diameter, as shares. ``measured`` names the orientations whose shrinkage was
    measured on test holes. ``kink_factor`` is by how much limbs with a ``kink_core`` ("hollow",
    "isotropic", "lines" or "solid"; "" where none was bent till it kinked) kink at a wider
    radius than reckoned, ``kink_deviation`` one standard deviation of its logarithm.
    """

    name: str = "untested printer"
    bead_width: float = field(default_factory=lambda: _value("bead_width"))
    layer_height: float = field(default_factory=lambda: _value("layer_height"))
    hole_shrinkage_upright: float = field(default_factory=lambda: _value("shrinkage_upright"))
    hole_shrinkage_lying: float = field(default_factory=lambda: _value("shrinkage_lying"))
    hole_spread_upright: float = field(default_factory=lambda: _spread("shrinkage_upright"))
    hole_spread_lying: float = field(default_factory=lambda: _spread("shrinkage_lying"))
    reference_hole: float = field(default_factory=lambda: _value("reference_diameter"))
    wall_spread: float = field(
        default_factory=lambda: read_table("constants")["printed wall"]["thickness_factor"].high - 1
    )
    wire_tolerance: float = field(default_factory=_wire_tolerance)
    measured: tuple[str, ...] = ()
    kink_core: str = ""
    kink_factor: float = 1.0
    kink_deviation: float = 0.0

    def __post_init__(self) -> None:
        check_name("printer name", self.name)
        check_number("bead width", self.bead_width, least=5e-5, most=2e-3, unit="m")
        check_number("layer height", self.layer_height, least=1e-5, most=2e-3, unit="m")
        for side in ORIENTATIONS:
            shrinkage = getattr(self, f"hole_shrinkage_{side}")
            check_number(f"hole shrinkage {side}", shrinkage, least=-5e-4, most=2e-3, unit="m")
            spread = getattr(self, f"hole_spread_{side}")
            check_number(f"hole spread {side}", spread, least=0.0, most=2e-3, unit="m")
        check_number("reference hole", self.reference_hole, above=self.bead_width, most=0.1)
        check_number("wall spread", self.wall_spread, least=0.0, most=0.5)
        check_number("wire tolerance", self.wire_tolerance, least=0.0, most=0.2)
        check_kind("printer measured", self.measured, tuple, "a tuple of orientations")
        for side in self.measured:
            check_choice("printer measured", side, ORIENTATIONS)
        check_choice("kink core", self.kink_core, ("", *KINK_CORES))
        check_number("kink factor", self.kink_factor, least=0.2, most=5.0)
        check_number("kink deviation", self.kink_deviation, least=0.0, most=1.0)
        plain_numbers(self)

    def hole_shrinkage(self, orientation: str) -> float:
        """Return the shrinkage of the reference hole printed upright or lying. [m]"""
        side = check_choice("orientation", orientation, ORIENTATIONS)
        return float(getattr(self, f"hole_shrinkage_{side}"))

    def hole_spread(self, orientation: str) -> float:
        """Return one standard deviation of that shrinkage. [m]"""
        side = check_choice("orientation", orientation, ORIENTATIONS)
        return float(getattr(self, f"hole_spread_{side}"))
