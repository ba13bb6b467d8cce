"""Modulus from Shore hardness: Gent 1958 and Qi, Joyce and Boyce 2003.

Both formulas from memory; the coefficients and ranges of the second confirmed on pages that were
read, its abstract read. Values computed from the formulas, also outside their own ranges. [MPa]
"""

from __future__ import annotations

import pytest

from flexcalc.materials import gent_modulus, modulus_from_shore, qi_joyce_boyce_modulus

SHORE_A = {
    60: (3.605, 5.884), 70: (5.521, 10.109), 80: (9.351, 17.366), 85: (13.182, 22.761),
    90: (20.844, 29.833), 92: (26.59, 33.243), 95: (43.829, 39.102), 98: (112.785, 45.994),
}  # fmt: skip
SHORE_D = {43: 35.091, 55: 67.174, 60: 88.044, 70: 151.252}


# QJB at 43D and the like carry five digits; the cases grant a part in a thousand.
@pytest.mark.parametrize(("hardness", "moduli"), SHORE_A.items())
def test_shore_a(hardness: float, moduli: tuple[float, float]) -> None:
    assert gent_modulus(hardness) / 1e6 == pytest.approx(moduli[0], rel=1e-3)
    assert qi_joyce_boyce_modulus(hardness, "A") / 1e6 == pytest.approx(moduli[1], rel=1e-3)


@pytest.mark.parametrize(("hardness", "modulus"), SHORE_D.items())
def test_shore_d(hardness: float, modulus: float) -> None:
    assert qi_joyce_boyce_modulus(hardness, "D") / 1e6 == pytest.approx(modulus, rel=1e-3)


def test_the_prior_lies_between_its_relations() -> None:
    assert 5.521e6 < modulus_from_shore(70, "A") < 10.109e6
    # ... and the datasheets lie above Qi, Joyce and Boyce: exp(0.611 + 0.0836 * 55) is 183 MPa.
    assert 67.174e6 < modulus_from_shore(55, "D") < 183e6
