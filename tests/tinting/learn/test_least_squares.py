"""Least squares within bounds against closed forms and scipy's own solvers."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares, lsq_linear

from tinting.learn.least_squares import least_squares_within

RNG = np.random.default_rng(5)


def linear(matrix: np.ndarray, target: np.ndarray):
    return lambda row: (matrix @ row - target, matrix)


def test_a_free_linear_problem_is_solved_as_by_the_normal_equations() -> None:
    matrix, target = RNG.standard_normal((9, 4)), RNG.standard_normal(9)
    wide = np.full(4, 1e3)
    found = least_squares_within(linear(matrix, target), np.zeros(4), -wide, wide)
    # it stops within 1e-3 of the least sum, so the place is only near
    np.testing.assert_allclose(found.parameters, np.linalg.lstsq(matrix, target)[0], atol=0.03)
    assert not found.pressure.any()


@pytest.mark.parametrize("seed", range(8))
def test_a_bounded_linear_problem_against_another_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    matrix, target = rng.standard_normal((20, 9)), 3 * rng.standard_normal(20)
    lower, upper = np.zeros(9), np.full(9, 0.7)
    found = least_squares_within(linear(matrix, target), np.full(9, 0.3), lower, upper)
    other = lsq_linear(matrix, target, bounds=(lower, upper))
    assert found.residuals @ found.residuals == pytest.approx(2 * other.cost, rel=2e-3)
    assert (found.parameters >= lower).all() and (found.parameters <= upper).all()


def test_a_curved_valley_against_another_solver() -> None:
    # Rosenbrock's valley, with the bound lying across it
    def valley(row: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        rest = np.array([10 * (row[1] - row[0] ** 2), 1 - row[0]])
        return rest, np.array([[-20 * row[0], 10.0], [-1.0, 0.0]])

    lower, upper = np.array([-2.0, -2.0]), np.array([0.5, 2.0])
    found = least_squares_within(valley, np.array([-1.2, 1.0]), lower, upper)
    other = least_squares(lambda row: valley(row)[0], [-1.2, 1.0], bounds=(lower, upper))
    np.testing.assert_allclose(found.parameters, other.x, atol=0.01)
    assert found.pressure[0] == pytest.approx(0.5, abs=0.1)
    assert found.pressure[1] == 0


def test_equal_bounds_hold_a_parameter() -> None:
    matrix, target = RNG.standard_normal((9, 3)), RNG.standard_normal(9)
    lower, upper = np.array([-9.0, 0.25, -9.0]), np.array([9.0, 0.25, 9.0])
    found = least_squares_within(linear(matrix, target), np.zeros(3), lower, upper)
    assert found.parameters[1] == 0.25


def test_what_never_settles_is_said() -> None:
    # every step goes on by 1 and there is no end within 300 of them
    def slow(row: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        rest = 1e150 * np.exp(-row)
        return rest, -np.diag(rest)

    with pytest.raises(RuntimeError, match="did not settle"):
        least_squares_within(slow, np.zeros(1), np.full(1, -1e9), np.full(1, 1e9))
