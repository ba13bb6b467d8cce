"""Life of annealed 1100 wire.

Constants from memory and unverified: Baumel and Seeger 1990 (aluminium: 1.67 UTS, -0.095, 0.35,
-0.69, UTS 90 MPa), a 1100 table (193 MPa, -0.106, 1.8, -0.69), Manson 1965 universal slopes with
a fracture strain of 2.1 (reduction of area 88 %); E 69 GPa. The arithmetic is computed.
"""

from __future__ import annotations

import pytest

from flexcalc.inputs import Wire
from flexcalc.life import wire_life
from flexcalc.materials import load_metal

# diameter [mm], radius [mm], both ways, strain amplitude, re-poses by the three sets
CASES = [
    (2, 40, False, 0.0125, (73.88032618271674, 785.4959247040349, 1126.0553035238936)),
    (2, 40, True, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
    (1.5, 15, False, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
    (4, 40, False, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
]


@pytest.mark.parametrize(("diameter", "radius", "both_ways", "amplitude", "lives"), CASES)
def test_aluminium_1100(
    diameter: float, radius: float, both_ways: bool, amplitude: float, lives: tuple[float, ...]
) -> None:
    wire = Wire(metal=load_metal("annealed aluminium 1100"), diameter=diameter * 1e-3)
    life = wire_life(wire, (2 if both_ways else 1) / (radius * 1e-3))
    assert life.strain_amplitude == pytest.approx(amplitude, rel=1e-12)
    assert dict(life.by_law) == pytest.approx(
        dict(
            zip(
                ("aluminium uniform law", "aluminium 1100 table", "universal slopes"),
                lives,
                strict=True,
            )
        ),
        rel=1e-3,
    )
    assert (life.low, life.high) == pytest.approx((min(lives), max(lives)), rel=1e-3)
