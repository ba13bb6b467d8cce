"""Pushing in and pulling out: limits, scaling, second routes, refusals."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flexcalc.build.insertion import (
    EFFECTIVE_LENGTH,
    capstan_ratio,
    contact_pressure,
    insertion_force,
    pull_out_force,
    push_stroke,
    wire_slip,
)
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import load_elastomer, load_metal, metal_names
from tests.free_wire import bearable_load, euler_stress

TPU = load_elastomer("TPU 85A")
WIRE = Wire(metal=load_metal("annealed aluminium 1100"), diameter=2e-3)
BAD = [None, "1", math.nan, math.inf, -math.inf, 1e300, 10**400, True, [1.0], 1j]


def test_a_loose_wire_slides_in_for_its_weight_alone() -> None:
    assert contact_pressure(2e-3, 2e-3, 6e-3, TPU) == 0
    assert insertion_force(2e-3, 2.4e-3, 6e-3, 0.12, TPU) == 0
    weight = 2700 * 9.80665 * math.pi * 1e-6 * 0.12
    force = insertion_force(2e-3, 2.4e-3, 6e-3, 0.12, TPU, 0.4, wire_density=2700)
    assert force == pytest.approx(0.4 * weight, rel=1e-12)


def test_pressure_against_a_boundary_value_solver() -> None:
    """Second route: u'' + u'/r - u/r^2 = 0 in plane stress, by finite differences."""
    inner, outer, stretch = 0.9e-3, 6e-3, 0.1e-3
    modulus, nu = TPU.elastic_modulus, TPU.poisson_ratio
    r = np.linspace(inner, outer, 1201)
    h = r[1] - r[0]
    matrix = np.diag(-2 / h**2 - 1 / r**2)
    matrix = matrix + np.diag(1 / h**2 + 1 / (2 * h * r[:-1]), 1)
    matrix = matrix + np.diag(1 / h**2 - 1 / (2 * h * r[1:]), -1)
    right = np.zeros_like(r)
    matrix[0], matrix[-1] = 0, 0
    matrix[0, 0], right[0] = 1, stretch
    matrix[-1, -3:] = np.array([0.5, -2, 1.5]) / h
    matrix[-1, -1] += nu / outer
    u = np.linalg.solve(matrix, right)
    slope = (-1.5 * u[0] + 2 * u[1] - 0.5 * u[2]) / h
    pressure = -modulus / (1 - nu**2) * (slope + nu * u[0] / inner)
    assert contact_pressure(2e-3, 1.8e-3, outer, TPU) == pytest.approx(pressure, rel=1e-4)


def test_force_scales_with_length_and_turns_multiply_it() -> None:
    straight = insertion_force(2e-3, 1.9e-3, 6e-3, 0.1, TPU, 0.3)
    assert insertion_force(2e-3, 1.9e-3, 6e-3, 0.3, TPU, 0.3) == pytest.approx(3 * straight)
    turned = insertion_force(2e-3, 1.9e-3, 6e-3, 0.1, TPU, 0.3, math.pi)
    assert turned == pytest.approx(straight * math.exp(0.3 * math.pi))
    assert capstan_ratio(0.3, 1.0) * capstan_ratio(0.3, 2.0) == pytest.approx(capstan_ratio(0.3, 3))
    assert capstan_ratio(0, 5) == capstan_ratio(2, 0) == 1


def test_what_rested_comes_out_easier() -> None:
    fitted = (2e-3, 1.9e-3, 6e-3, 0.1, TPU)
    at_once = pull_out_force(*fitted)
    assert at_once == pytest.approx(insertion_force(*fitted))
    assert pull_out_force(*fitted, rest_time=86400) == pytest.approx(at_once * 8640**-0.07)
    heavy = pull_out_force(*fitted, rest_time=1e9, wire_density=2700)
    assert heavy - pull_out_force(*fitted, rest_time=1e9) == pytest.approx(
        0.5 * 2700 * 9.80665 * math.pi * 1e-6 * 0.1
    )


def test_slip_has_a_side() -> None:
    assert wire_slip(2e-3, 1.5) == pytest.approx(3e-3)
    assert wire_slip(-2e-3, 1.5) == wire_slip(2e-3, -1.5) == pytest.approx(-3e-3)
    assert wire_slip(0, 3) == 0


@pytest.mark.parametrize("name", metal_names())
@pytest.mark.parametrize("length", [0.01, 0.05, 0.1, 0.3, 1.0])
def test_the_stroke_is_the_inverse_of_the_buckling_load(name: str, length: float) -> None:
    wire = Wire(metal=load_metal(name), diameter=2e-3, strands=2)
    free = bearable_load(wire, length)
    # Where tangent and yield meet the load is flat, so a stroke can only be longer there.
    stroke = push_stroke(wire, free * (1 - 1e-12))
    assert stroke >= length * (1 - 1e-9)
    assert bearable_load(wire, stroke) == pytest.approx(free, rel=1e-9)


def test_the_bearable_load_is_the_tangent_modulus_load() -> None:
    """Second route: stress where it equals tangent modulus x c, by bisection on the strain."""
    metal = WIRE.metal
    share = (math.pi * 0.5e-3 / (0.6992 * 0.03)) ** 2
    low, high = 1e-6, 1.0
    for _ in range(100):
        strain = math.sqrt(low * high)
        stress = metal.strength_coefficient * strain**metal.hardening_exponent
        tangent = metal.hardening_exponent * stress / strain
        low, high = (strain, high) if tangent * share > stress else (low, strain)
    bearable = bearable_load(WIRE, 0.03)
    assert bearable == pytest.approx(stress * math.pi * 1e-6, rel=1e-3)
    assert bearable < euler_stress(WIRE, 0.03) * math.pi * 1e-6


def test_shorter_is_stronger_and_short_strokes_are_common_practice() -> None:
    loads = [bearable_load(WIRE, length) for length in np.geomspace(1e-3, 1, 40)]
    assert all(first >= second for first, second in itertools.pairwise(loads))
    # Common practice: 2 mm wire is pushed by hand in strokes of 30 to 50 mm.
    assert push_stroke(WIRE, 60) > 50e-3
    assert push_stroke(Wire(metal=WIRE.metal, diameter=1e-3), 60) < 30e-3


def test_a_wire_without_hardening_takes_no_more_than_its_yield() -> None:
    soft = Metal(
        name="soft", elastic_modulus=70e9, strength_coefficient=50e6, hardening_exponent=0.0,
        density=2700,
    )  # fmt: skip
    ludwik = Metal(
        name="ludwik", elastic_modulus=70e9, strength_coefficient=50e6, hardening_exponent=0.3,
        density=2700, yield_stress=50e6,
    )  # fmt: skip
    for metal in (soft, ludwik):
        wire = Wire(metal=metal, diameter=2e-3)
        assert bearable_load(wire, 1e-3) == pytest.approx(50 * math.pi, rel=1e-12)
        assert push_stroke(wire, 50.1 * math.pi) == 0
        assert push_stroke(wire, 49.9 * math.pi) > 0.01
    nearly = Metal(
        name="nearly", elastic_modulus=70e9, strength_coefficient=50e6, hardening_exponent=1e-4,
        density=2700,
    )  # fmt: skip
    assert push_stroke(Wire(metal=nearly, diameter=2e-3), 60 * math.pi) == 0


@given(
    st.floats(5e-5, 0.1), st.floats(5e-5, 0.1), st.floats(5e-5, 1), st.floats(0, 10),
    st.floats(0, 3), st.floats(0, 25), st.floats(10, 1e9),
)  # fmt: skip
def test_forces_are_finite_or_refused(
    wire: float, channel: float, outer: float, length: float, friction: float, angle: float,
    time: float,
) -> None:  # fmt: skip
    fitted = (wire, channel, outer, length, TPU, friction, angle)
    try:
        pushed, pulled = insertion_force(*fitted), pull_out_force(*fitted, rest_time=time)
    except ValueError as error:
        assert "diameter must be less than the outer" in str(error)
    else:
        assert 0 <= pulled <= pushed < math.inf
        if wire <= channel or length == 0 or friction == 0:
            assert pushed == 0
        elif wire > 1.001 * channel and length > 1e-6 and friction > 1e-6:
            assert pushed > 0


@given(st.sampled_from(metal_names()), st.floats(1e-4, 0.02), st.floats(1e-6, 1e6))
def test_strokes_are_finite(name: str, diameter: float, force: float) -> None:
    stroke = push_stroke(Wire(metal=load_metal(name), diameter=diameter), force)
    assert 0 <= stroke < math.inf


@pytest.mark.parametrize("value", BAD)
def test_impossible_input(value: object) -> None:
    good = [2e-3, 1.9e-3, 6e-3, 0.1, TPU, 0.5, 0.3]
    names = ["wire diameter", "channel diameter", "outer radius", "channel length", "elastomer"]
    names += ["friction", "bend angle"]
    for place, name in enumerate(names):
        arguments = [*good[:place], value, *good[place + 1 :]]
        if value is True and name == "elastomer":
            continue
        for force in (insertion_force, pull_out_force):
            with pytest.raises(ValueError, match=rf"^{name} must be .*; got"):
                force(*arguments)  # type: ignore[arg-type]
    for keyword in ("rest_time", "wire_density"):
        name = keyword.replace("_", " ")
        with pytest.raises(ValueError, match=rf"^{name} must be .*; got"):
            pull_out_force(*good, **{keyword: value})  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^channel offset must be"):
        wire_slip(value, 1)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^bend angle must be"):
        wire_slip(0.001, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^push force must be"):
        push_stroke(WIRE, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^wire must be a Wire"):
        push_stroke(value, 0.1)  # type: ignore[arg-type]


def test_a_channel_must_lie_inside_its_tpu() -> None:
    with pytest.raises(ValueError, match=r"^channel diameter must be less than the outer 0.004 m"):
        contact_pressure(3e-3, 4.1e-3, 2e-3, TPU)
    with pytest.raises(ValueError, match=r"^wire diameter must be less than the outer 0.004 m"):
        contact_pressure(4.1e-3, 3e-3, 2e-3, TPU)


def test_effective_length_is_the_first_root_of_tan_x_equal_x() -> None:
    assert pytest.approx(0.6992, abs=5e-5) == EFFECTIVE_LENGTH
    root = math.pi / EFFECTIVE_LENGTH
    assert math.tan(root) == pytest.approx(root, rel=1e-10)
