"""The wire: limits, invariants, and small-step integration of the fibre law as a second route."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray

from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import load_metal, metal_names
from flexcalc.wire.bending import (
    bending_moment,
    elastic_rigidity,
    plastic_moment,
    release_moment,
    spring_back_share,
    wire_bundle,
    yield_curvature,
    yield_moment,
    yield_stress,
)
from flexcalc.wire.bundle import loading_moment, release_moment_at

Array = NDArray[np.float64]
ALUMINIUM = Metal(
    name="aluminium",
    elastic_modulus=69e9,
    strength_coefficient=180e6,
    hardening_exponent=0.2,
    density=2700,
)
STEEL = Metal(
    name="steel",
    elastic_modulus=200e9,
    strength_coefficient=530e6,
    hardening_exponent=0.26,
    yield_stress=180e6,
    density=7850,
)
PERFECT = Metal(
    name="perfect",
    elastic_modulus=69e9,
    strength_coefficient=35e6,
    hardening_exponent=0.0,
    density=2700,
)
RULES = ("mixed", "isotropic", "masing")


def flow_stress(metal: Metal, plastic: Array) -> Array:
    """h(p), by bisection on the total strain for Hollomon's law."""
    E, K, n = metal.elastic_modulus, metal.strength_coefficient, metal.hardening_exponent
    if metal.yield_stress is not None:
        return np.asarray(metal.yield_stress + K * plastic**n)
    low = np.full_like(plastic, (K / E) ** (1 / (1 - n)))
    high = low + plastic + 0.1
    for _ in range(60):
        middle = (low + high) / 2
        over = middle - K * middle**n / E > plastic
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray(K * low**n)


def excess_stress(
    metal: Metal,
    limit: float,
    rate: float,
    state: tuple[Array, Array, Array, Array],
    table: tuple[Array, Array],
    dp: Array,
) -> tuple[Array, Array, Array]:
    """Return how far the stress lies outside yield after a plastic step, stress, back-stress."""
    trial, side, back, plastic = state
    new_back = side * limit + (back - side * limit) * np.exp(-rate * dp)
    total = plastic + dp
    flow = np.interp(total, *table) - limit * (1 - np.exp(-rate * total))
    new = trial - metal.elastic_modulus * side * dp
    return side * (new - new_back) - flow, new, new_back


def stepped_moment(
    wire: Wire, set_curvature: float, curvature: float, share: float, steps: int = 500
) -> float:
    """The moment by small steps of strain with return mapping, fibre by fibre."""
    metal, radius = wire.metal, wire.diameter / 2
    E, rate = metal.elastic_modulus, 300.0
    heights = (np.arange(200) + 0.5) / 200 * radius
    widths = 2 * np.sqrt(radius**2 - heights**2) * radius / 200
    table_p = np.concatenate([[0.0], np.geomspace(1e-9, 0.3, 4000)])
    table_h = flow_stress(metal, table_p)
    limit = share * float(np.interp(0.025, table_p, table_h))
    stress, back, plastic = np.zeros(200), np.zeros(200), np.zeros(200)
    path = np.concatenate(
        [
            np.linspace(0, set_curvature, steps),
            np.linspace(set_curvature, curvature, steps)[1:],
        ]
    )
    for change in np.diff(path):
        trial = stress + E * change * heights
        side = np.sign(trial - back)

        left_over = partial(
            excess_stress, metal, limit, rate, (trial, side, back, plastic), (table_p, table_h)
        )
        low, high = np.zeros(200), np.full(200, abs(change) * radius * 2)
        yields = left_over(low)[0] > 0
        for _ in range(32):
            middle = (low + high) / 2
            over = left_over(middle)[0] > 0
            low, high = np.where(over, middle, low), np.where(over, high, middle)
        dp = np.where(yields, low, 0.0)
        _, new, new_back = left_over(dp)
        stress = np.where(yields, new, trial)
        back = np.where(yields, new_back, back)
        plastic = plastic + dp
    return float(2 * np.sum(stress * heights * widths) * wire.strands)


@pytest.mark.parametrize("metal", [ALUMINIUM, STEEL], ids=lambda metal: metal.name)
@pytest.mark.parametrize("share", [0.0, 0.3])
@pytest.mark.parametrize("end", [0.6, 0.2, -0.7])
def test_release_follows_small_steps(metal: Metal, share: float, end: float) -> None:
    wire = Wire(metal=metal, diameter=0.0026)
    rule = "mixed" if share else "isotropic"
    closed = float(release_moment(wire, 24.0, end * 24.0, rule, share))
    scale = float(bending_moment(wire, 24.0))
    # 200 fibres and steps of 1/500: the second route's own error
    assert stepped_moment(wire, 24.0, end * 24.0, share) == pytest.approx(
        closed, abs=1.5e-3 * scale
    )


def test_a_perfect_wire_reaches_its_plastic_moment_from_below() -> None:
    wire = Wire(metal=PERFECT, diameter=0.0023)
    assert yield_stress(wire) == pytest.approx(35e6, rel=1e-12)
    assert yield_moment(wire) == pytest.approx(math.pi * 35e6 * 0.00115**3 / 4, rel=1e-12)
    assert plastic_moment(wire) == pytest.approx(35e6 * 0.0023**3 / 6, rel=1e-12)
    moments = bending_moment(wire, [10.0, 100.0, 800.0])
    assert np.all(np.diff(moments) > 0)
    assert moments[-1] == pytest.approx(plastic_moment(wire), rel=1e-6)
    assert moments[-1] < plastic_moment(wire)


def test_elastic_below_first_yield_and_free_of_spring_back_loss() -> None:
    wire = Wire(metal=ALUMINIUM, diameter=0.0023)
    first = yield_curvature(wire)
    assert bending_moment(wire, 0.7 * first) == pytest.approx(
        elastic_rigidity(wire) * 0.7 * first, rel=1e-12
    )
    assert spring_back_share(wire, 0.7 * first) == pytest.approx(0.0, abs=1e-12)
    assert bending_moment(wire, first) == pytest.approx(yield_moment(wire), rel=1e-12)


@pytest.mark.parametrize("metal", [ALUMINIUM, STEEL, PERFECT], ids=lambda metal: metal.name)
def test_moments_are_odd_and_rise(metal: Metal) -> None:
    wire = Wire(metal=metal, diameter=0.0017)
    grid = np.linspace(-60, 60, 241)
    moments = bending_moment(wire, grid)
    assert np.all(np.diff(moments) > 0)
    np.testing.assert_allclose(moments, -moments[::-1], rtol=0, atol=1e-15)
    for rule in RULES:
        opened = release_moment(wire, 31.0, grid, rule)
        assert np.all(np.diff(opened) > -1e-12 * abs(moments[-1]))
        mirrored = -release_moment(wire, -31.0, -grid, rule)
        np.testing.assert_allclose(opened, mirrored, rtol=0, atol=1e-15)
        onward = grid >= 31.0
        np.testing.assert_allclose(opened[onward], moments[onward], rtol=1e-12)


def test_a_virgin_wire_is_released_along_its_loading_curve() -> None:
    grid = np.linspace(-50, 50, 41)
    for metal in (ALUMINIUM, STEEL):
        wire = Wire(metal=metal, diameter=0.0017)
        for rule in RULES:
            np.testing.assert_allclose(
                release_moment(wire, 0.0, grid, rule), bending_moment(wire, grid), rtol=2e-6
            )


def test_masing_mirrors_the_loop_and_goes_on_along_the_virgin_curve() -> None:
    wire = Wire(metal=ALUMINIUM, diameter=0.0029)
    moment = float(bending_moment(wire, 22.0))
    assert release_moment(wire, 22.0, -22.0, "masing") == pytest.approx(-moment, rel=1e-12)
    assert release_moment(wire, 22.0, -40.0, "masing") == pytest.approx(
        -float(bending_moment(wire, 40.0)), rel=1e-12
    )


def test_the_back_stress_lies_between_the_two_pure_rules_here() -> None:
    wire = Wire(metal=ALUMINIUM, diameter=0.003)
    shares = [
        float(release_moment(wire, 25.0, 15.0, "mixed", share)) for share in (0.0, 0.1, 0.25, 0.4)
    ]
    isotropic = float(release_moment(wire, 25.0, 15.0, "isotropic"))
    masing = float(release_moment(wire, 25.0, 15.0, "masing"))
    assert shares[0] == isotropic
    assert isotropic < shares[1] < shares[2] < shares[3] < masing


def test_strands_slide_so_their_moments_add() -> None:
    one, three = (Wire(metal=ALUMINIUM, diameter=0.0011, strands=n) for n in (1, 3))
    assert bending_moment(three, 33.0) == pytest.approx(3 * float(bending_moment(one, 33.0)))
    assert elastic_rigidity(three) == pytest.approx(3 * elastic_rigidity(one))
    assert spring_back_share(three, 33.0) == pytest.approx(float(spring_back_share(one, 33.0)))


@pytest.mark.parametrize("metal", [ALUMINIUM, STEEL], ids=lambda metal: metal.name)
@pytest.mark.parametrize("rule", RULES)
def test_slopes_are_those_of_the_moments(metal: Metal, rule: str) -> None:
    bundle = wire_bundle(Wire(metal=replace(metal, reversal=rule), diameter=0.0021))
    drops = np.array([0.5, 3.0, 9.0, 21.0, 70.0])
    first = np.full(5, 26.0)
    moments = [release_moment_at(bundle, first, drops + d)[0] for d in (-1e-4, 1e-4)]
    slopes = release_moment_at(bundle, first, drops)[1]
    np.testing.assert_allclose((moments[0] - moments[1]) / 2e-4, slopes, rtol=2e-4)
    bent = np.array([0.3, 4.0, 60.0])
    ends = [loading_moment(bundle, bent + d)[0] for d in (-1e-4, 1e-4)]
    np.testing.assert_allclose(
        (ends[1] - ends[0]) / 2e-4, loading_moment(bundle, bent)[1], rtol=1e-4
    )


def test_every_tabled_metal_bends_and_lets_go() -> None:
    for name in metal_names():
        wire = Wire(metal=load_metal(name), diameter=0.002)
        assert 0.5 < float(spring_back_share(wire, 25.0)) < 1
        for rule in RULES:
            assert np.all(np.isfinite(release_moment(wire, 25.0, np.linspace(-80, 80, 33), rule)))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda wire: bending_moment(wire, 2000.0), "curvature must be"),
        (lambda wire: bending_moment(wire, float("nan")), "curvature must be"),
        (lambda wire: bending_moment(None, 2.0), "wire must be a Wire"),
        (lambda wire: release_moment(wire, 20.0, 1.0, "kinematic"), "rule must be one of"),
        (lambda wire: release_moment(wire, 20.0, 1.0, "mixed", 0.7), "back stress must be"),
        (lambda wire: release_moment(wire, [1.0, 2.0], [1.0, 2.0, 3.0]), "curvatures must be"),
        (lambda wire: spring_back_share(wire, 0.0), "set curvature must be other than 0"),
        (lambda wire: spring_back_share(wire, []), "set curvature must be"),
    ],
)
def test_refusals(call: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call(Wire(metal=ALUMINIUM, diameter=0.0021))  # type: ignore[operator]
