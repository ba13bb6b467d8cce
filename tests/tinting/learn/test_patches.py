"""Readings of painted patches and their slopes: against `tint`, and against differences."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tinting.colour.colorimetry import lab
from tinting.learn.patches import COEFFICIENTS, Layout, Patches, colours, readings, spline_basis
from tinting.skin.dyed import tint
from tinting.skin.inputs import Base, Dye

RNG = np.random.default_rng(11)
LAYOUT = Layout(dyes=2, bases=2)
BASES = (
    Base(reflectance=np.linspace(0.45, 0.7, 36), scattering_thickness=0.12, specular=0.0),
    Base(reflectance=np.linspace(0.8, 0.6, 36), scattering_thickness=1.4, specular=0.03),
)
SHARES = np.array([[0.2, 0.0], [0.05, 0.3], [0.0, 0.7], [0.1, 0.1]])
COATS = np.array([1.0, 3.0, 5.0, 2.0])
PLACES = [0, 1, 1, 0]
PATCHES = Patches(
    shares=SHARES,
    coats=COATS,
    base=PLACES,
    bare=np.array([BASES[i].reflectance for i in PLACES]),
)
HANDS = np.array([0.1, -0.2, 0.0, 0.05])


def parameters() -> np.ndarray:
    row = np.zeros(LAYOUT.size)
    row[LAYOUT.shape] = RNG.uniform(0, 2, 2 * COEFFICIENTS)
    row[LAYOUT.strength] = [0.3, -0.4]
    row[LAYOUT.saturation] = [0.5, 1.1]
    row[LAYOUT.coat_loss] = [0.2, 0.0]
    row[LAYOUT.thickness] = np.log([0.12, 1.4])
    row[LAYOUT.scale] = [0.0, -0.3]
    row[LAYOUT.specular] = [base.specular for base in BASES]
    return row


def test_the_layout_holds_every_parameter_once() -> None:
    places = [*range(LAYOUT.thickness.start, LAYOUT.size), *LAYOUT.of_dye(0), *LAYOUT.of_dye(1)]
    assert sorted(places) == list(range(LAYOUT.size))


def test_the_splines_add_up_to_one_and_are_never_negative() -> None:
    basis = spline_basis()
    assert basis.shape == (36, COEFFICIENTS)
    np.testing.assert_allclose(basis.sum(axis=1), 1.0, atol=1e-12)
    assert basis.min() >= 0


@pytest.mark.parametrize("patch", range(4))
def test_readings_are_those_of_tint(patch: int) -> None:
    row = parameters()
    shown, _, _ = readings(row, HANDS, PATCHES, LAYOUT)
    base = PLACES[patch]
    # a heavier hand is more of the spectrum, not more of the share: saturation stays
    more = np.exp(HANDS[patch] + row[LAYOUT.scale][base])
    mix = []
    for j in range(2):
        shape, rest = np.split(row[LAYOUT.of_dye(j)], [COEFFICIENTS])
        spectrum = more * np.exp(rest[0]) * (spline_basis() @ shape)
        dye = Dye(
            name=str(j),
            absorptivity=spectrum,
            saturation=float(np.exp(rest[1])),
            coat_loss=float(rest[2]),
        )
        mix.append((dye, float(SHARES[patch, j])))
    expected = tint(BASES[base], mix, int(COATS[patch])).reflectance
    np.testing.assert_allclose(shown[patch], expected, atol=1e-12)


def test_slopes_against_differences() -> None:
    row = parameters()
    shown, slope, hand_slope = readings(row, HANDS, PATCHES, LAYOUT)
    step = 1e-5
    for place in range(LAYOUT.size):
        nudge = step * (np.arange(LAYOUT.size) == place)
        # the coat loss of 0 is its bound, where the formula goes on all the same
        more, less = (readings(row + s * nudge, HANDS, PATCHES, LAYOUT)[0] for s in (1, -1))
        np.testing.assert_allclose(slope[:, :, place], (more - less) / (2 * step), atol=2e-5)
    for patch in range(4):
        nudge = step * (np.arange(4) == patch)
        more, less = (readings(row, HANDS + s * nudge, PATCHES, LAYOUT)[0] for s in (1, -1))
        np.testing.assert_allclose(hand_slope[patch], (more - less)[patch] / (2 * step), atol=2e-5)
    assert np.abs(shown).max() < 1


def test_colour_slopes_against_differences() -> None:
    # the last is so dark that the cube root gives way to its tangent
    spectra = np.array(
        [BASES[0].reflectance, BASES[1].reflectance, 0.004 + 0 * BASES[0].reflectance]
    )
    way = RNG.standard_normal((3, 36, 2))
    found, (slope,) = colours(spectra, [way])
    np.testing.assert_allclose(found, lab(spectra), atol=1e-12)
    for k in range(2):
        step = 1e-7 * way[:, :, k]
        np.testing.assert_allclose(
            slope[:, :, k], (lab(spectra + step) - lab(spectra - step)) / 2e-7, rtol=1e-5, atol=1e-4
        )


def test_arguments_stay_as_they_are() -> None:
    row, hands = parameters(), HANDS.copy()
    kept = row.copy(), dataclasses.replace(PATCHES, shares=SHARES.copy())
    readings(row, hands, PATCHES, LAYOUT)
    assert (row == kept[0]).all() and (hands == HANDS).all()
    assert (PATCHES.shares == kept[1].shares).all()
