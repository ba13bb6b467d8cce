"""Finite layers of the two-flux theory, integrated as differential equations.

Equations of Kubelka and Munk (1931), Kubelka (1948) and Kubelka (1954), computed (not read from a
table) in double precision. The tint model's cases are the same layer with the base behind it.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.tinting.two_flux import (
    finite_layer,
    layer_transmittance,
    stacked_reflectance,
)
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import Base

LAYERS = [  # K, S, X, backing, reflectance
    (0.5, 1.0, 2.0, 0.9, 0.38964129),
    (2.0, 1.0, 0.3, 0.85, 0.30937421),
    (1.0, 20.0, 0.1, 0.05, 0.62292026),
    (5.0, 20.0, 0.1, 0.9, 0.52667367),
    (0.02, 1.6, 2.0, 0.85, 0.8524931),
    (0.02, 1.6, 2.0, 0.05, 0.7425322),
    (0, 1.0, 1.0, 0.0, 0.5),
    (0, 2.0, 0.5, 0.5, 0.666666667),
    (0, 10.0, 1.0, 0.0, 0.909090909),
    (1.0, 0, 0.5, 0.8, 0.294303553),
    (0.2, 0, 1.0, 0.9, 0.603288041),
]


@pytest.mark.parametrize(("k", "s", "x", "backing", "reflectance"), LAYERS)
def test_finite_layer(k: float, s: float, x: float, backing: float, reflectance: float) -> None:
    assert finite_layer(k, s, x, backing) == pytest.approx(reflectance, abs=1e-7)


def test_stacked_layers_equal_the_finite_layer() -> None:
    alone, passed = finite_layer(1.0, 2.0, 0.5, 0.0), layer_transmittance(1.0, 2.0, 0.5)
    assert stacked_reflectance(alone, passed, 0.6) == pytest.approx(0.407492, abs=1e-7)
    assert finite_layer(1.0, 2.0, 0.5, 0.6) == pytest.approx(0.407492, abs=1e-7)


@pytest.mark.parametrize(
    ("thickness", "reflectance"), [(1.5, 0.28607024), (0.1, 0.18878547), (50.0, 0.67920359)]
)
def test_tint_model(thickness: float, reflectance: float) -> None:
    base = Base(reflectance=np.full(36, 0.8), scattering_thickness=thickness, specular=0.0175)
    assert dyed_reflectance(np.full(36, 0.5), base) == pytest.approx(reflectance, abs=1e-7)
