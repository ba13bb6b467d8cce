"""The surface between plastic and air: what is sent back outside and inside, by Fresnel.

Fresnel's equations (textbook) integrated over a hemisphere with numpy (computed elsewhere, and here
again by another sum), angles straight on, diffuse outside and diffuse inside.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.tinting.two_flux import fresnel_reflection
from tinting.skin.layer import EXTERNAL_REFLECTION, INTERNAL_REFLECTION

INDEX = [
    (1.45, 0.03374, 0.0844, 0.5645),
    (1.5, 0.04, 0.0918, 0.5963),
    (1.55, 0.04652, 0.0991, 0.625),
]


@pytest.mark.parametrize(("n", "straight", "diffuse", "inside"), INDEX)
def test_fresnel(n: float, straight: float, diffuse: float, inside: float) -> None:
    assert fresnel_reflection(n) == pytest.approx((straight, diffuse, inside), abs=2e-4)


def test_the_surface_of_the_model_is_that_of_an_index_of_one_and_a_half() -> None:
    straight, _, inside = fresnel_reflection(1.5)
    assert straight == pytest.approx(EXTERNAL_REFLECTION, abs=1e-9)
    assert inside == pytest.approx(INTERNAL_REFLECTION, abs=5e-3)


def test_inside_reflection_by_integrating_total_reflection_too() -> None:
    n = 1.5
    angle = (np.arange(200000) + 0.5) * (np.pi / 2) / 200000
    across = np.sqrt(np.maximum(1 - (n * np.sin(angle)) ** 2, 0.0))
    s = (n * np.cos(angle) - across) ** 2 / (n * np.cos(angle) + across) ** 2
    p = (np.cos(angle) - n * across) ** 2 / (np.cos(angle) + n * across) ** 2
    mean = np.where(n * np.sin(angle) >= 1, 1.0, (s + p) / 2)
    inside = float((mean * np.sin(2 * angle)).sum() * (np.pi / 2) / 200000)
    assert fresnel_reflection(n)[2] == pytest.approx(inside, abs=1e-5)
