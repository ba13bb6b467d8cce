"""Spectra for colours: they reproduce the colour, keep their bounds and are the smoothest."""

from __future__ import annotations

import numpy as np
import pytest

from tinting.colour.colorimetry import delta_e, lab, lab_from_xyz, weights, xyz_from_lab
from tinting.colour.grid import wavelengths_nm
from tinting.colour.screen import xyz_from_srgb
from tinting.colour.spectrum import (
    lab_of_screen_colour,
    nearest_in_slope,
    second_reflectance,
    smoothest_reflectance,
)
from tinting.skin.inputs import SCATTERING_THICKNESS, Base, base_from_lab

RNG = np.random.default_rng(11)
REAL = [
    lab(0.5 + 0.4 * np.sin(wavelengths_nm / span + turn))
    for span in (25, 60, 140)
    for turn in range(6)
]


@pytest.mark.parametrize("light", ["D65", "A", "FL11"])
@pytest.mark.parametrize("observer", [2, 10])
def test_colour_comes_back(light: str, observer: int) -> None:
    for wanted in REAL:
        found = smoothest_reflectance(wanted, light, observer)
        assert delta_e(lab(found, light, observer), wanted) < 1e-4
        assert found.min() > 0 and found.max() < 1
        second = second_reflectance(wanted, light, observer)
        assert delta_e(lab(second, light, observer), wanted) < 0.01


def test_refuses_exactly_what_no_spectrum_can_show() -> None:
    from scipy.optimize import linprog

    matrix = weights() / 100
    found = {True: 0, False: 0}
    for wanted in RNG.uniform((5, -90, -90), (97, 90, 90), (60, 3)):
        values = xyz_from_lab(wanted) / 100
        exists = linprog(np.zeros(36), A_eq=matrix.T, b_eq=values, bounds=(0, 1)).status == 0
        found[exists] += 1
        if exists:
            assert delta_e(lab(smoothest_reflectance(wanted)), wanted) < 0.01
        else:
            with pytest.raises(ValueError, match="lab must be a colour that a surface can have"):
                smoothest_reflectance(wanted)
    assert min(found.values()) > 15


def test_no_neighbour_of_the_same_colour_is_smoother() -> None:
    found = smoothest_reflectance((55, 25, 30))
    z = np.arctanh(2 * found - 1)
    matrix = weights()
    roughness = (np.diff(z) ** 2).sum()
    for _ in range(20):
        push = RNG.normal(0, 1e-4, 36)
        push -= matrix @ np.linalg.lstsq(matrix, push, rcond=None)[0]
        moved = np.arctanh(2 * (found + push) - 1)
        assert (np.diff(moved) ** 2).sum() > roughness


def test_grey_is_flat() -> None:
    assert np.ptp(smoothest_reflectance((50, 0, 0))) < 1e-6


def test_bounded_least_squares_meets_a_colour_at_the_rim() -> None:
    spectrum = np.where(wavelengths_nm < 560, 0.0, 1.0)
    found = smoothest_reflectance(lab(spectrum))
    assert delta_e(lab(found), lab(spectrum)) < 0.01
    assert np.abs(found - spectrum).max() < 0.3
    held = nearest_in_slope(np.zeros(36), spectrum @ weights(), weights(), 0.0, 1.0)
    assert held.min() >= 0 and held.max() <= 1


@pytest.mark.parametrize("kind", ["translucent", "opaque", "unknown"])
def test_base_from_lab(kind: str) -> None:
    for wanted in ((91.0, -0.5, 4.0), (62.0, 8.0, 30.0), (25.0, 3.0, -8.0), (99.0, 0.0, 0.5)):
        found = base_from_lab(wanted, kind, "D65", 10, name="part", thickness=0.001)
        assert isinstance(found, Base) and found.kind == kind and found.name == "part"
        assert found.scattering_thickness == SCATTERING_THICKNESS[kind]
        assert delta_e(lab(found.reflectance), wanted) < 0.01
    warm = base_from_lab((70.0, 10.0, 20.0), kind, light="A", observer=2)
    assert delta_e(lab(warm.reflectance, "A", 2), (70.0, 10.0, 20.0)) < 0.01


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        ((8.0, 0.0, 0.0), "base lab must be lighter in X, Y and Z than the surface reflection"),
        ((15.0, 20.0, 60.0), "base lab must be"),
        ((97.0, 40.0, 0.0), "base lab must be a colour that a surface can have under D65"),
        ((50.0, 0.0), "base lab must be three finite numbers"),
        ("white", "base lab must be three numbers"),
        ((50.0, 0.0, float("nan")), "base lab must be three finite numbers"),
    ],
)
def test_impossible_bases_are_refused(wanted: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        base_from_lab(wanted, "opaque")


def test_other_refusals() -> None:
    with pytest.raises(ValueError, match="base kind must be one of translucent"):
        base_from_lab((80, 0, 0), "glass")
    with pytest.raises(ValueError, match="light must be one of"):
        base_from_lab((80, 0, 0), "opaque", light="candle")
    with pytest.raises(ValueError, match="highest reflectance must be one number or 36"):
        second_reflectance((50, 0, 0), highest=[0.5, 0.6])
    with pytest.raises(ValueError, match="rgb must be one colour"):
        lab_of_screen_colour(np.ones((2, 3)))


def test_second_opinion_stays_under_its_ceiling() -> None:
    ceiling = smoothest_reflectance((85, 2, 12))
    second = second_reflectance((60, -15, 25), highest=ceiling)
    assert (second <= ceiling + 1e-9).all()
    assert delta_e(lab(second), (60, -15, 25)) < 0.01
    assert 0.05 < delta_e(lab(second, "A"), lab(smoothest_reflectance((60, -15, 25)), "A")) < 10


def test_every_screen_colour_has_a_ten_degree_lab() -> None:
    ends = (0.0, 0.2, 1.0)
    for rgb in [(r, g, b) for r in ends for g in ends for b in ends]:
        found = lab_of_screen_colour(rgb)
        assert np.isfinite(found).all()
        same = lab_of_screen_colour(rgb, "D65", 2)
        # the white of sRGB is rounded to four digits
        assert delta_e(same, lab_from_xyz(xyz_from_srgb(rgb), "D65", 2)) < 0.03
    assert lab_of_screen_colour((1.0, 1.0, 1.0)) == pytest.approx((100, 0, 0), abs=1e-3)
