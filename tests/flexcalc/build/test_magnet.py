"""Magnets: limits, symmetry, the integral itself, what holds and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import j1

from flexcalc.build.magnet import MAGNETIC_CONSTANT, magnet_hold, magnet_pull

BAD = [None, "1", math.nan, math.inf, -1.0, 1e300, 10**400, True, [1.0], 1j]


def test_the_bessel_integral_itself() -> None:
    """Second route: Gauss's rule on the oscillating integral, discs of two sizes."""
    r1, t1, r2, t2, gap = 3e-3, 2e-3, 4.5e-3, 1.2e-3, 0.7e-3
    node, weight = np.polynomial.legendre.leggauss(12)
    edges = np.linspace(0, 60 / gap, 401)
    half = np.diff(edges)[:, None] / 2
    k = edges[:-1, None] + half * (node + 1)
    value = j1(k * r1) * j1(k * r2) * np.exp(-k * gap) / k
    value = value * (1 - np.exp(-k * t1)) * (1 - np.exp(-k * t2))
    integral = float(np.sum(value * weight * half))
    expected = math.pi / MAGNETIC_CONSTANT * 1.3 * 1.1 * r1 * r2 * integral
    found = magnet_pull(
        2 * r1, t1, 1.3, gap, other_diameter=2 * r2, other_thickness=t2, other_remanence=1.1
    )
    assert found == pytest.approx(expected, rel=1e-9)


def test_far_away_a_disc_is_a_dipole() -> None:
    diameter, thickness, gap = 5e-3, 2e-3, 0.4
    moment = 1.3 / MAGNETIC_CONSTANT * math.pi / 4 * diameter**2 * thickness
    dipole = 1.5 * MAGNETIC_CONSTANT * moment**2 / (math.pi * (gap + thickness) ** 4)
    assert magnet_pull(diameter, thickness, 1.3, gap) == pytest.approx(dipole, rel=1e-3)


def test_touching_long_magnets_reach_the_pressure_of_the_field() -> None:
    """Two long rods end to end: B = Br inside, so F = Br^2 A/(2 mu0) across the joint."""
    pressure = 1.3**2 / (2 * MAGNETIC_CONSTANT) * math.pi / 4 * 2e-3**2
    assert magnet_pull(2e-3, 0.2, 1.3, 0.0) == pytest.approx(pressure, rel=2e-4)


def test_either_disc_may_be_called_the_first() -> None:
    one = magnet_pull(
        6e-3, 2e-3, 1.3, 1e-3, other_diameter=9e-3, other_thickness=4e-3, other_remanence=1.1
    )
    two = magnet_pull(
        9e-3, 4e-3, 1.1, 1e-3, other_diameter=6e-3, other_thickness=2e-3, other_remanence=1.3
    )
    assert one == pytest.approx(two, rel=1e-12)


def test_scaling_and_steel() -> None:
    pull = magnet_pull(6e-3, 2e-3, 1.2, 1e-3)
    assert magnet_pull(12e-3, 4e-3, 1.2, 2e-3) == pytest.approx(4 * pull, rel=1e-12)
    assert magnet_pull(6e-3, 2e-3, 0.6, 1e-3) == pytest.approx(pull / 4, rel=1e-12)
    assert magnet_pull(6e-3, 2e-3, 1.2, 0.5e-3, "steel") == pytest.approx(pull, rel=1e-12)


@given(st.floats(1e-4, 0.2), st.floats(1e-4, 0.2), st.floats(0, 0.24), st.floats(1e-4, 0.2))
def test_pull_is_positive_and_falls_with_the_gap(
    diameter: float, thickness: float, gap: float, other: float
) -> None:
    """Equal discs always; a small disc before a wide one may pull harder a little away from it."""
    near = magnet_pull(diameter, thickness, 1.3, gap)
    far = magnet_pull(diameter, thickness, 1.3, 2 * gap + 1e-4)
    unequal = magnet_pull(diameter, thickness, 1.3, gap, other_diameter=other)
    assert 0 < far < near < math.inf
    # Never above the field's pressure on the smaller face with both fluxes added.
    pressure = 1.3**2 / MAGNETIC_CONSTANT * math.pi / 4
    assert near <= pressure * diameter**2
    assert 0 < unequal <= pressure * min(diameter, other) ** 2


def test_hold_names_what_gives_way_first() -> None:
    peel = magnet_hold(5.0, 6e-3, 0.02, 0.05, friction=0.5)
    assert peel.weakest == "it peels off"
    assert peel.payload_peel == pytest.approx(0.6 * 5.0 * 3e-3 / (9.80665 * 0.05))
    slide = magnet_hold(5.0, 6e-3, 0.02, 0.01)
    assert slide.weakest == "it slides down"
    assert slide.payload_slide == pytest.approx(0.2 * 0.6 * 5.0 / 9.80665)
    straight = magnet_hold(5.0, 6e-3, 0.02, 0.0, friction=1.5)
    assert straight.weakest == "it lets go straight"
    assert (slide.pull_low, slide.pull_high) == pytest.approx((3.0, 4.0))


def test_hold_is_a_band() -> None:
    """Peel of 5 N on 6 mm at 50 mm: 18.4 to 24.5 g."""
    holds = [magnet_hold(5.0, 6e-3, mass, 0.05, friction=0.5).holds for mass in (0.018, 0.02, 0.03)]
    assert holds == ["yes", "perhaps", "no"]
    assert magnet_hold(0.0, 6e-3, 0.0, 0.0).holds == "yes"
    keys = [caution.key for caution in magnet_hold(5.0, 6e-3, 0.018, 0.05).cautions]
    assert keys == ["magnet children", "magnet heat"]


def test_a_thicker_skin_never_helps() -> None:
    masses = [
        magnet_hold(magnet_pull(6e-3, 2e-3, 1.3, skin), 6e-3, 0.0, 0.03).payload_peel
        for skin in np.linspace(0, 5e-3, 11)
    ]
    assert all(np.diff(masses) < 0)


@pytest.mark.parametrize("value", BAD)
def test_impossible_input(value: object) -> None:
    good = [6e-3, 2e-3, 1.3, 1e-3]
    for place, name in enumerate(("diameter", "thickness", "remanence", "gap")):
        arguments = [*good[:place], value, *good[place + 1 :]]
        with pytest.raises(ValueError, match=rf"^magnet {name} must be .*; got"):
            magnet_pull(*arguments)  # type: ignore[arg-type]
    if value is not None:
        for name in ("diameter", "thickness", "remanence"):
            with pytest.raises(ValueError, match=rf"^other magnet {name} must be .*; got"):
                magnet_pull(*good, **{f"other_{name}": value})  # type: ignore[arg-type]
    hold = [5.0, 6e-3, 0.02, 0.05]
    for place, name in enumerate(("magnet pull", "magnet diameter", "payload", "payload arm")):
        arguments = [*hold[:place], value, *hold[place + 1 :]]
        with pytest.raises(ValueError, match=rf"^{name} must be .*; got"):
            magnet_hold(*arguments)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^magnet friction must be"):
        magnet_hold(*hold, friction=value)  # type: ignore[arg-type]


def test_partner_is_known_and_steel_has_no_size() -> None:
    with pytest.raises(ValueError, match=r"^magnet partner must be one of disc, steel; got 'wood'"):
        magnet_pull(6e-3, 2e-3, 1.3, 1e-3, "wood")
    with pytest.raises(ValueError, match=r"^other magnet must be left out where it is steel"):
        magnet_pull(6e-3, 2e-3, 1.3, 1e-3, "steel", other_diameter=6e-3)
