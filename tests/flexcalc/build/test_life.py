"""Life of the wire: the root, its limits, the inverse, what the result says."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from flexcalc.build.fatigue import ENDLESS, LifeLaw, amplitude_for, life_laws, re_poses
from flexcalc.build.life import tightest_radius, wire_life
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import load_metal, metal_names

ALUMINIUM = Wire(metal=load_metal("annealed aluminium 1100"), diameter=2e-3)
BAD = [None, "1", math.nan, math.inf, -1.0, 1e300, 10**400, True, [1, [2]], [], 1j]


def own_metal(modulus: float, strength: float) -> Metal:
    return Metal(
        name="own wire",
        elastic_modulus=modulus,
        strength_coefficient=strength,
        hardening_exponent=0.0,
        density=5000,
    )


@pytest.mark.parametrize("name", metal_names())
def test_the_root_is_that_of_a_bracketing_solver(name: str) -> None:
    amplitudes = np.geomspace(2e-3, 5.0, 23)
    for law in life_laws(load_metal(name)):

        def excess(log_reversals: float, target: float, law: LifeLaw = law) -> float:
            return (
                law.elastic_strain * math.exp(law.elastic_exponent * log_reversals)
                + law.plastic_strain * math.exp(law.plastic_exponent * log_reversals)
                - target
            )

        expected = [
            min(math.exp(brentq(excess, -30, 300, args=(amplitude,), xtol=1e-13)) / 2, ENDLESS)
            for amplitude in amplitudes
        ]
        assert re_poses(amplitudes, law) == pytest.approx(np.array(expected), rel=1e-9)


@given(
    st.floats(0, 100), st.floats(0, 1), st.sampled_from(metal_names()), st.floats(1e8, 1e12),
)  # fmt: skip
def test_life_is_finite_and_falls_with_strain(
    amplitude: float, share: float, name: str, modulus: float
) -> None:
    strength = min(max(1e5, share * 0.2 * modulus), 1e10)
    for metal in (load_metal(name), own_metal(modulus, strength)):
        lives = [re_poses([amplitude * share, amplitude], law) for law in life_laws(metal)]
        low, high = np.min(lives, axis=0), np.max(lives, axis=0)
        assert np.all(np.isfinite([low, high]))
        assert np.all((low > 0) & (low <= high) & (high <= ENDLESS))
        assert low[0] >= low[1] * (1 - 1e-12) and high[0] >= high[1] * (1 - 1e-12)


@pytest.mark.parametrize("name", metal_names())
@pytest.mark.parametrize("both_ways", [False, True])
@pytest.mark.parametrize("wanted", [1, 10, 50, 200, 1e6])
def test_the_radius_is_the_inverse_of_the_life(name: str, both_ways: bool, wanted: float) -> None:
    wire = Wire(metal=load_metal(name), diameter=1.3e-3, strands=2)
    radius = tightest_radius(wire, wanted, both_ways)
    swing = 2 if both_ways else 1
    assert wire_life(wire, swing / radius.high).low == pytest.approx(wanted, rel=1e-9)
    assert wire_life(wire, swing / radius.low).high == pytest.approx(wanted, rel=1e-9)
    assert radius.low < radius.high


def test_radius_scales_with_the_wire_and_strands_do_not_count() -> None:
    thick = Wire(metal=ALUMINIUM.metal, diameter=6e-3, strands=3)
    assert tightest_radius(thick, 50).high == pytest.approx(
        3 * tightest_radius(ALUMINIUM, 50).high, rel=1e-12
    )
    assert tightest_radius(ALUMINIUM, 50, both_ways=True).high == pytest.approx(
        2 * tightest_radius(ALUMINIUM, 50).high, rel=1e-12
    )


def test_the_two_ends_of_the_law() -> None:
    """Elastic alone and plastic alone are powers that can be turned round by hand."""
    elastic = LifeLaw(
        name="elastic", elastic_strain=5e-3, elastic_exponent=-0.1, plastic_strain=1e-12,
        plastic_exponent=-0.6,
    )  # fmt: skip
    assert re_poses(2.5e-3, elastic) == pytest.approx(2**10 / 2, rel=1e-6)
    plastic = LifeLaw(
        name="plastic", elastic_strain=1e-12, elastic_exponent=-0.1, plastic_strain=0.5,
        plastic_exponent=-0.5,
    )  # fmt: skip
    assert re_poses(0.05, plastic) == pytest.approx(100 / 2, rel=1e-6)


def test_which_laws_know_which_metal() -> None:
    laws = {name: [law.name for law in life_laws(load_metal(name))] for name in metal_names()}
    assert len(laws["annealed aluminium 1100"]) == len(laws["annealed aluminium 1350"]) == 3
    assert laws["hard-drawn aluminium 1350"] == ["aluminium uniform law", "universal slopes"]
    assert laws["annealed low-carbon steel"] == ["steel uniform law", "universal slopes"]
    assert laws["annealed copper"] == ["aluminium uniform law", "universal slopes"]


def test_strong_steel_loses_ductility_steadily() -> None:
    strengths = [100e6, 600e6, 620e6, 1500e6, 2000e6, 2001e6, 9000e6]
    ductility = [life_laws(own_metal(200e9, strength))[0].plastic_strain for strength in strengths]
    assert ductility[0] == ductility[1] == pytest.approx(0.59)
    assert ductility[2] == pytest.approx(0.59 * (1.375 - 125 * 620 / 200e3))
    assert all(b <= a for a, b in itertools.pairwise(ductility))
    assert ductility[-1] > 0.05


def test_cautions_and_place() -> None:
    def keys(wire: Wire, curvature: float) -> set[str]:
        return {caution.key for caution in wire_life(wire, curvature).cautions}

    assert keys(ALUMINIUM, 25) == set()
    assert keys(ALUMINIUM, 0) == {"wire life endless"}
    assert wire_life(ALUMINIUM, 0).low == ENDLESS
    assert keys(ALUMINIUM, 1e4) == {"wire first bend"}
    copper = Wire(metal=load_metal("annealed copper"), diameter=2e-3)
    assert keys(copper, 25) == {"wire life borrowed", "wire life few laws"}
    own = Wire(metal=own_metal(200e9, 3e9), diameter=2e-3)
    assert {"wire ductility assumed", "wire life strong metal"} <= keys(own, 25)
    assert "mouth of the channel" in wire_life(ALUMINIUM, 25).place
    assert {c.key for c in tightest_radius(ALUMINIUM, 1).cautions} == {"wire folded"}


@pytest.mark.parametrize("value", BAD)
def test_impossible_input(value: object) -> None:
    with pytest.raises(ValueError, match=r"^curvature range must be .*; got"):
        wire_life(ALUMINIUM, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^wire must be a Wire; got"):
        wire_life(value, 25)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^wire must be a Wire; got"):
        tightest_radius(value, 25)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^re-poses must be .*; got"):
        tightest_radius(ALUMINIUM, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^strain amplitude must be .*; got"):
        re_poses(value, life_laws(ALUMINIUM.metal)[0])
    with pytest.raises(ValueError, match=r"^metal must be a Metal; got"):
        life_laws(value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^life law must be a LifeLaw; got"):
        re_poses(0.01, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^re-poses must be .*; got"):
        amplitude_for(value, life_laws(ALUMINIUM.metal)[0])
    if value != -1:
        with pytest.raises(ValueError, match=r"^life plastic exponent must be .*; got"):
            LifeLaw(
                name="own", elastic_strain=0.01, elastic_exponent=-0.1, plastic_strain=0.5,
                plastic_exponent=value,  # type: ignore[arg-type]
            )  # fmt: skip


@pytest.mark.parametrize("value", [None, 1, "yes"])
def test_both_ways_is_a_yes_or_no(value: object) -> None:
    with pytest.raises(ValueError, match=r"^both ways must be True or False; got"):
        tightest_radius(ALUMINIUM, 10, both_ways=value)  # type: ignore[arg-type]


def test_arguments_stay_as_they_were() -> None:
    amplitudes = np.array([0.0, 0.01, 1.0])
    before = amplitudes.copy()
    re_poses(amplitudes, life_laws(ALUMINIUM.metal)[0])
    assert np.array_equal(amplitudes, before)
