"""Strength coefficient and tensile strength (Considere's condition, computed).

K and n of 1100-O, brass, copper, steel (600/0.21) and 304 (1400/0.44) read in an open
encyclopedia's table after Kalpakjian and Callister, the others from memory; tensile strengths of
aluminium read in Kutz's handbook, of brass on a maker's page, the rest from memory. [MPa]
"""

from __future__ import annotations

import pytest

from flexcalc.inputs import Metal
from flexcalc.materials import strength_coefficient, tensile_strength

# name: (K, n, tensile strength, tensile strength implied by K and n, K implied by it)
CASES = {
    "aluminium 1100-O": (180, 0.2, 90, 106.81189197452028, 151.66850526217127),
    "low-carbon steel": (600, 0.21, 340, 350.4414439147399, 582.1229296430813),
    "low-carbon steel, second": (530, 0.26, 340, 287.90709983303157, 625.8963398419314),
    "brass 70-30": (900, 0.49, 350, 388.7176786358932, 810.3567635653033),
    "304 annealed": (1400, 0.44, 600, 628.2863743839114, 1336.9699459481228),
    "304 annealed, second": (1275, 0.45, 600, 567.5750539655105, 1347.839364424368),
}


@pytest.mark.parametrize(("name", "case"), CASES.items())
def test_strength_coefficient(name: str, case: tuple[float, ...]) -> None:
    coefficient, exponent, strength, implied_strength, implied_coefficient = case
    metal = Metal(
        name=name,
        elastic_modulus=100e9,
        strength_coefficient=coefficient * 1e6,
        hardening_exponent=exponent,
        density=8000,
    )
    assert tensile_strength(metal) / 1e6 == pytest.approx(implied_strength, rel=1e-6)
    found = strength_coefficient(strength * 1e6, exponent) / 1e6
    assert found == pytest.approx(implied_coefficient, rel=1e-6)
