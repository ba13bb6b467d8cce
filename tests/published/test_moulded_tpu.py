"""One moulded TPU pressed and pulled, against the softening law.

Source: a maker's data sheet of one moulded grade. How seen: read. Engineering stress as printed:
MPa, at strains as printed: per cent.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from flexcalc.limb.inputs import Elastomer
from flexcalc.section.elastomer import elastomer_moment

PRESSED = {5: 1.99, 10: 4.07, 15: 5.97, 20: 7.87, 25: 9.91}
PULLED = {50: 9.65, 100: 11.0}
STRIPS = (np.array([-1.0, 1.0]), np.array([0.5, 0.5]))


def grade(modulus: float, saturation: float) -> Elastomer:
    return Elastomer(
        name="moulded", elastic_modulus=modulus * 1e6, density=1200.0, poisson_ratio=0.48,
        saturation_stress=saturation * 1e6, relaxation_exponent=0.07,
    )  # fmt: skip


def test_pressed_it_stays_linear() -> None:
    """To a quarter: 40 MPa within 3 %, so that softening is for the pulled side."""
    moduli = np.array(list(PRESSED.values())) / (np.array(list(PRESSED)) / 100)
    assert moduli == pytest.approx(np.full(5, 39.8), rel=0.03)


def test_one_pair_of_constants_tells_both_sides() -> None:
    """Pulled points, and the modulus of small pressed strains, within 8 %."""
    strains = np.array([0.05, 0.10, 0.50, 1.00])
    stresses = np.array([PRESSED[5], PRESSED[10], PULLED[50], PULLED[100]])

    def misfit(logs: np.ndarray) -> np.ndarray:
        # two strips of half a square metre, one metre from the middle: moment over curvature is
        # stress over strain
        law = elastomer_moment(STRIPS, grade(*np.exp(logs)), strains) / 1e6
        return np.asarray(np.log(law / stresses))

    fitted = least_squares(misfit, np.log([40.0, 10.0]))
    assert np.abs(fitted.fun).max() < 0.08
    assert np.exp(fitted.x[0]) == pytest.approx(40, rel=0.1)
