"""Limits, invariants and a second route for the rod; how it refuses and what it warns of."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from flexcalc.rod.rest import rest_shape
from tests.columns import buckling_tip_load, buckling_weight

RIGIDITY, LENGTH = 0.0021, 0.13
FORCE, WEIGHT = RIGIDITY / LENGTH**2, RIGIDITY / LENGTH**3


@pytest.mark.parametrize(
    ("clamp", "tip", "weight", "curl"),
    [(1.1, 3.0, 5.0, -1.0), (2.6, 8.0, 2.0, 0.5), (-0.4, 20.0, 30.0, 2.5)],
)
def test_second_route_by_a_boundary_value_solver(
    clamp: float, tip: float, weight: float, curl: float
) -> None:
    """phi, phi', x and y by solve_bvp to 1e-9, started from our shape bent by 2 %."""
    rest = rest_shape(RIGIDITY, LENGTH, clamp, tip * FORCE, weight * WEIGHT, curl / LENGTH)

    def slopes(s: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array(
            [y[1], (tip + weight * (1 - s)) * np.sin(y[0]), np.sin(y[0]), -np.cos(y[0])]
        )

    def ends(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([a[0] - clamp, b[1] - curl, a[2], a[3]])

    shares = rest.arc_length / LENGTH
    guess = np.stack([rest.angles, np.gradient(rest.angles, shares), *rest.positions.T / LENGTH])
    route = solve_bvp(slopes, ends, shares, guess * 1.02, tol=1e-9, max_nodes=20000)
    assert route.success
    phi, _, x, y = route.sol(shares)
    assert rest.angles == pytest.approx(phi, abs=1e-7)
    assert rest.positions / LENGTH == pytest.approx(np.stack([x, y], axis=1), abs=1e-8)


def batch(size: int) -> tuple[NDArray[np.float64], ...]:
    draw = np.random.default_rng(11)
    return (
        draw.uniform(-np.pi, np.pi, size),
        10 ** draw.uniform(-2, 1.39, size) * FORCE,
        10 ** draw.uniform(-2, 1.39, size) * WEIGHT,
        draw.uniform(-4, 4, size) / LENGTH,
    )


def test_mirrored_limb_rests_in_the_mirrored_shape() -> None:
    clamp, tip, weight, curl = batch(60)
    one = rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl)
    other = rest_shape(RIGIDITY, LENGTH, -clamp, tip, weight, -curl)
    assert one.positions == pytest.approx(other.positions * [-1, 1], abs=1e-9 * LENGTH)
    assert one.angles == pytest.approx(-other.angles, abs=1e-7)
    assert one.root_moment == pytest.approx(-other.root_moment, abs=1e-9)


def test_shape_scales_with_size_and_stiffness() -> None:
    clamp, tip, weight, curl = batch(40)
    one = rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl)
    big, stiff = 3.7, 41.0
    other = rest_shape(
        RIGIDITY * stiff,
        LENGTH * big,
        clamp,
        tip * stiff / big**2,
        weight * stiff / big**3,
        curl / big,
    )
    assert other.positions == pytest.approx(one.positions * big, abs=1e-9 * LENGTH)
    assert other.root_moment == pytest.approx(one.root_moment * stiff / big, rel=1e-6, abs=1e-12)


def test_root_moment_is_the_moment_of_the_loads() -> None:
    """Weight at its own centre and the load at the tip, integrated from the shape itself."""
    clamp, tip, weight, curl = batch(60)
    rest = rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl, segments=512)
    across = np.trapezoid(rest.positions[..., 0], rest.arc_length, axis=1)
    moment = tip * rest.tip_position[:, 0] + weight * across
    heavy = RIGIDITY / LENGTH * 100
    assert rest.root_moment == pytest.approx(moment, abs=1e-4 * heavy)
    assert rest.root_moment[:10] == pytest.approx(moment[:10], rel=2e-4, abs=1e-9)


def test_energy_is_least_at_rest() -> None:
    """Any small change of shape that keeps the clamp costs energy."""
    clamp, tip, weight, curl = 2.4, 4.0, 3.0, 1.2
    rest = rest_shape(1.0, 1.0, clamp, tip, weight, curl, segments=256)
    s, phi = rest.arc_length, rest.angles

    def energy(angles: NDArray[np.float64]) -> float:
        bend = (np.diff(angles) / np.diff(s) - curl) ** 2 / 2
        middle = (s[1:] + s[:-1]) / 2
        hang = (tip + weight * (1 - middle)) * np.cos((angles[1:] + angles[:-1]) / 2)
        return float(np.sum((bend - hang) * np.diff(s)))

    for change in (s, s**2, np.sin(3 * s), s * np.cos(5 * s)):
        assert energy(phi + 0.02 * change) > energy(phi) < energy(phi - 0.02 * change)


def test_batch_axes_broadcast_and_agree_with_single_limbs() -> None:
    clamp = np.array([0.3, 1.2, 2.5])
    tip = np.array([[0.5], [7.0]]) * FORCE
    rest = rest_shape(RIGIDITY, LENGTH, clamp, tip, 2 * WEIGHT)
    count = rest.angles.shape[-1]
    assert rest.angles.shape == (2, 3, count) == rest.arc_length.shape
    assert rest.positions.shape == (2, 3, count, 2)
    assert rest.tip_position.shape == (2, 3, 2)
    assert rest.root_moment.shape == rest.stable.shape == rest.buckling_ratio.shape == (2, 3)
    one = rest_shape(RIGIDITY, LENGTH, 1.2, 7.0 * FORCE, 2 * WEIGHT)
    assert one.positions.shape == (count, 2)
    assert rest.positions[1, 1] == pytest.approx(one.positions, abs=1e-9 * LENGTH)
    assert isinstance(float(one.root_moment), float)


def test_ends_of_the_limb() -> None:
    rest = rest_shape(RIGIDITY, LENGTH, 1.3, FORCE, WEIGHT)
    assert rest.positions[0] == pytest.approx([0, 0])
    assert rest.angles[0] == 1.3
    assert rest.arc_length[[0, -1]] == pytest.approx([0, LENGTH])
    assert rest.positions[-1] == pytest.approx(rest.tip_position)
    chords = np.hypot(*np.diff(rest.positions, axis=0).T)
    assert np.all(chords <= np.diff(rest.arc_length) * (1 + 1e-12))


def test_functions_along_the_limb_equal_numbers() -> None:
    rest = rest_shape(RIGIDITY, LENGTH, 1.3, FORCE, 3 * WEIGHT, 4.0)
    same = rest_shape(
        lambda s: RIGIDITY + 0 * s,
        LENGTH,
        1.3,
        FORCE,
        lambda s: 3 * WEIGHT + 0 * s,
        lambda s: 4.0 + 0 * s,
        breaks=(0.31, 0.8),
    )
    assert same.tip_position == pytest.approx(rest.tip_position, abs=1e-8 * LENGTH)
    assert same.root_moment == pytest.approx(rest.root_moment, rel=1e-8)


def test_function_may_differ_between_members_of_the_batch() -> None:
    ends = np.array([0.5, 0.9])
    rest = rest_shape(
        lambda s: RIGIDITY * (1 - np.outer(1 - ends, s)), LENGTH, np.pi / 2, FORCE, 0.0
    )
    alone = rest_shape(lambda s: RIGIDITY * (1 - 0.1 * s), LENGTH, np.pi / 2, FORCE, 0.0)
    assert rest.tip_position[1] == pytest.approx(alone.tip_position, abs=1e-9 * LENGTH)
    assert rest.tip_position[0, 1] < rest.tip_position[1, 1]


def test_coarser_accuracy_is_kept_too() -> None:
    clamp, tip, weight, curl = batch(200)
    fine = rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl)
    rough = rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl, accuracy=1e-4)
    gap = np.abs(rough.positions - fine.positions).max(axis=(1, 2))
    assert np.all(gap < 1e-4 * LENGTH)
    assert gap.max() > 1e-9 * LENGTH


def test_jump_that_is_not_named_is_flagged() -> None:
    def bent(s: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.where(s < 0.6123, 25.0, 0.0)

    vague = rest_shape(RIGIDITY, LENGTH, 1.3, FORCE, WEIGHT, bent, segments=64)
    sharp = rest_shape(RIGIDITY, LENGTH, 1.3, FORCE, WEIGHT, bent, breaks=(0.6123,))
    assert [caution.key for caution in vague.cautions] == ["coarse"]
    assert sharp.cautions == ()
    gap = np.abs(vague.tip_position - sharp.tip_position).max()
    assert 1e-9 * LENGTH < gap < 30 * vague.error


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_upright_limb_stands_below_the_critical_weight_and_falls_above(side: float) -> None:
    critical = buckling_weight(RIGIDITY, LENGTH)
    standing = rest_shape(RIGIDITY, LENGTH, side * math.pi, 0.0, 0.99 * critical)
    assert standing.tip_position == pytest.approx([0, LENGTH], abs=1e-12)
    assert standing.stable and not standing.buckles and standing.cautions == ()
    assert standing.buckling_ratio == pytest.approx(0.99, rel=1e-4)
    fallen = rest_shape(RIGIDITY, LENGTH, side * math.pi, 0.0, 1.2 * critical)
    assert not fallen.stable and fallen.buckles
    assert [caution.key for caution in fallen.cautions] == ["buckles"]
    assert side * fallen.tip_position[0] > 0.3 * LENGTH  # the side named in the docstring


def test_column_loads_combine() -> None:
    """Half of each critical load is a little under the combined critical load (convexity)."""
    half_tip, half_weight = (
        buckling(RIGIDITY, LENGTH) / 2 for buckling in (buckling_tip_load, buckling_weight)
    )
    both = rest_shape(RIGIDITY, LENGTH, math.pi, half_tip, half_weight)
    assert 0.97 < both.buckling_ratio < 1
    assert both.stable


def test_limb_nearly_upright_leans_over_and_says_so() -> None:
    heavy = 1.5 * buckling_weight(RIGIDITY, LENGTH)
    rest = rest_shape(RIGIDITY, LENGTH, math.radians(177), 0.0, heavy)
    assert rest.stable and rest.buckles
    assert [caution.key for caution in rest.cautions] == ["buckles"]
    level = rest_shape(RIGIDITY, LENGTH, math.pi / 2, 0.0, heavy)
    assert not level.buckles and level.cautions == ()


def test_fallen_column_is_the_elastica_of_its_load() -> None:
    """Just above Euler's load the tip's slope a follows P/Pcr = 1 + a^2/8 (text on buckling)."""
    load = 1.01 * buckling_tip_load(RIGIDITY, LENGTH)
    rest = rest_shape(RIGIDITY, LENGTH, math.pi, load, 0.0)
    lean = math.pi - rest.angles[-1]
    assert lean == pytest.approx(math.sqrt(8 * 0.01), rel=5e-3)  # next order a^4 is left out


def test_whole_admitted_range_is_solved() -> None:
    """A seeded map: loads over six decades, any clamp, up to two turns of curl."""
    draw = np.random.default_rng(2024)
    size = 600
    curl = draw.uniform(-4 * np.pi, 4 * np.pi, size) * (draw.random(size) < 0.7)
    tip = 10 ** draw.uniform(-4, 1.39, size) * (draw.random(size) < 0.7)
    weight = 10 ** draw.uniform(-4, 1.39, size) * (draw.random(size) < 0.7)
    clamp = np.where(draw.random(size) < 0.1, np.pi, draw.uniform(-np.pi, np.pi, size))
    rest = rest_shape(1.0, 1.0, clamp, tip, weight, curl)
    finer = rest_shape(1.0, 1.0, clamp, tip, weight, curl, segments=64, accuracy=1e-9)
    assert rest.positions == pytest.approx(finer.positions[:, ::2], abs=1e-8)
    assert np.isfinite(rest.positions).all()
    assert 0 < (~rest.stable).sum() < size / 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.0, 0.1, 1.0, 0.0, 0.0), "flexural rigidity"),
        ((1.0, -0.1, 1.0, 0.0, 0.0), "length"),
        ((1.0, 0.1, 4.0, 0.0, 0.0), "clamp angle"),
        ((1.0, 0.1, 1.0, -1.0, 0.0), "tip load"),
        ((1.0, 0.1, 1.0, 0.0, math.nan), "weight per length"),
        ((1.0, 0.1, 1.0, 0.0, 0.0, "curled"), "natural curvature"),
        ((1.0, 0.1, 1.0, 0.0, 0.0, None), "natural curvature"),
        ((1.0, 1.0, 1.0, 50.1, 0.0), "tip load"),
        ((1.0, 1.0, 1.0, 20.0, 31.0), "weight per length"),
        ((1.0, 1.0, 1.0, 0.0, 0.0, 12.6), "natural curvature"),
        ((1.0, 1.0, 0.0, 60.0, 0.0, 6.0), "tip load"),
        ((1.0, [1.0, 2.0], [1.0, 2.0, 3.0], 0.0, 0.0), "clamp angle"),
        ((lambda s: s[:3] + 1, 1.0, 1.0, 0.0, 0.0), "flexural rigidity"),
        ((lambda s: s - 0.5, 1.0, 1.0, 0.0, 0.0), "flexural rigidity"),
    ],
)
def test_refusals_name_the_field(arguments: tuple[object, ...], words: str) -> None:
    with pytest.raises(ValueError, match=f"^{words} must be .*; got "):
        rest_shape(*arguments)  # type: ignore[arg-type]


def test_a_limb_that_hangs_straight_bears_any_load() -> None:
    rest = rest_shape(1.0, 1.0, 0.0, [0.0, 60.0, 1e6], 1e3)
    assert not rest.angles.any() and not rest.cautions


@pytest.mark.parametrize(
    ("tip", "weight", "most"),
    [(1.0, 0.0, 1e-6), (0.4, 0.6, 1e-6), (5.0, 0.0, 1e-4), (2.0, 3.0, 1e-4)],
)
def test_few_segments_do_where_the_load_is_small(tip: float, weight: float, most: float) -> None:
    """Level, against 256 segments and an accuracy of 1e-9."""
    fine = rest_shape(1.0, 1.0, np.pi / 2, tip, weight, segments=256, accuracy=1e-9)
    quick = rest_shape(1.0, 1.0, np.pi / 2, tip, weight, segments=8, accuracy=1e-4)
    assert np.abs(quick.tip_position - fine.tip_position).max() < most


@pytest.mark.parametrize("breaks", [(0.5, 0.4), (1.2,), (math.nan,), 3, "half", None, [0.5, 0.5]])
def test_refuses_breaks(breaks: object) -> None:
    with pytest.raises(ValueError, match=r"^breaks must be .*; got "):
        rest_shape(1.0, 1.0, 1.0, 0.0, 0.0, breaks=breaks)  # type: ignore[arg-type]


@pytest.mark.parametrize("keyword", [{"segments": 4}, {"segments": 20.5}, {"accuracy": 0.0}])
def test_refuses_settings_of_the_solver(keyword: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=f"^{next(iter(keyword))} must be .*; got "):
        rest_shape(1.0, 1.0, 1.0, 0.0, 0.0, **keyword)  # type: ignore[arg-type]


def test_arguments_are_left_alone() -> None:
    clamp, tip, weight, curl = batch(5)
    kept = [value.copy() for value in (clamp, tip, weight, curl)]
    rest_shape(RIGIDITY, LENGTH, clamp, tip, weight, curl)
    for value, before in zip((clamp, tip, weight, curl), kept, strict=True):
        assert np.array_equal(value, before)
