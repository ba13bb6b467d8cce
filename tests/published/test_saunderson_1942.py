"""The surface between plastic and air.

J. L. Saunderson, Journal of the Optical Society of America 32 (1942) 727-736, the form
R = ks + (1 - k1)(1 - k2) r / (1 - k2 r) (memory). Numbers computed from it, and Fresnel's
equations integrated over a hemisphere with numpy (computed).
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.tinting.two_flux import fresnel_reflection, measured_reflectance
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import Base
from tinting.skin.layer import EXTERNAL_REFLECTION, INTERNAL_REFLECTION, reflectance_inside

FORWARD = [  # r, k1, k2, ks, reading
    (0.5, 0.04, 0.6, 0.04, 0.314285714),
    (0.5, 0.04, 0.6, 0.0, 0.274285714),
    (0.9, 0.04, 0.6, 0.04, 0.791304348),
    (0.5, 0.04, 0.4, 0.04, 0.4),
    (0.0, 0.04, 0.6, 0.04, 0.04),
]
BACKWARD = [  # reading, ks, r
    (0.3142857142857143, 0.04, 0.5),
    (0.06, 0.04, 0.050505051),
    (0.3, 0.0, 0.531914894),
]
FILM = [(0.1, 0.8, 0.21644662), (0.3, 0.8, 0.06269874), (0.3, 0.4, 0.05487514)]
INDEX = [
    (1.45, 0.03374, 0.0844, 0.5645),
    (1.5, 0.04, 0.0918, 0.5963),
    (1.55, 0.04652, 0.0991, 0.625),
]


@pytest.mark.parametrize(("r", "k1", "k2", "ks", "reading"), FORWARD)
def test_reading(r: float, k1: float, k2: float, ks: float, reading: float) -> None:
    assert measured_reflectance(r, ks, k1, k2) == pytest.approx(reading, abs=1e-9)


@pytest.mark.parametrize(("reading", "ks", "r"), BACKWARD)
def test_body_behind_a_reading(reading: float, ks: float, r: float) -> None:
    base = Base(reflectance=np.full(36, reading), scattering_thickness=0.5, specular=ks)
    assert reflectance_inside(base.reflectance, base.specular) == pytest.approx(r, abs=1e-9)


def test_white_body_with_gloss_reads_white() -> None:
    assert measured_reflectance(1.0, 0.04, 0.04, 0.6) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("absorbance", "base", "reading"), FILM)
def test_clear_dyed_film_under_the_surface(absorbance: float, base: float, reading: float) -> None:
    """A skin that does not scatter, passed twice at the mean path of diffuse light, 2."""
    bare = Base(reflectance=np.full(36, base), scattering_thickness=1e-6, specular=0.04)
    absorption = np.full(36, 2 * absorbance * np.log(10))
    assert dyed_reflectance(absorption, bare) == pytest.approx(reading, abs=2e-6)


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
