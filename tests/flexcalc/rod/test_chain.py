"""The chain of rigid segments: its order, its branches, its refusals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize

from flexcalc.rod.chain import Array, ChainShape, ElasticLaw, solve_chain
from flexcalc.rod.tridiagonal import chain_steps


def solved(
    count: int, tip: NDArray[np.float64], clamp: NDArray[np.float64], curl: float = 0.0
) -> ChainShape:
    segments = np.full(count, 1 / count)
    joints = segments.copy()
    joints[0] /= 2
    start = clamp[:, None] + curl * np.cumsum(joints)
    rigidity = np.ones((len(tip), 1))
    law = ElasticLaw(flexural_rigidity=rigidity, natural_curvature=curl * rigidity)
    loads = np.repeat(tip[:, None], count, axis=1)
    return solve_chain(law, joints, segments, clamp, loads, start)


def test_error_falls_with_the_square_of_the_segment() -> None:
    """Level, P L2/EI 10: x/L 0.445004402246 by elliptic integrals (computed)."""
    errors = []
    for count in (50, 100, 200):
        shape = solved(count, np.array([10.0]), np.array([np.pi / 2]))
        errors.append(np.sin(shape.angles).sum() / count - 0.445004402246)
    assert abs(errors[1]) < 3.5e-5
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.02)
    assert errors[1] / errors[2] == pytest.approx(4, rel=0.02)


def test_every_segment_is_in_balance() -> None:
    draw = np.random.default_rng(4)
    shape = solved(60, draw.uniform(0, 50, 40), draw.uniform(-3, 3, 40), curl=1.7)
    assert shape.residual.max() < 1e-10
    assert shape.moments == pytest.approx(shape.curvatures - 1.7)


def test_law_without_members_to_take_gives_the_same() -> None:
    """A plain function as the law; its batch is then never narrowed."""
    tip, clamp = np.array([0.5, 40.0, 3.0]), np.array([0.4, 2.9, -2.0])
    segments = np.full(30, 1 / 30)
    joints = np.append(1 / 60, segments[1:])
    loads, start = np.repeat(tip[:, None], 30, axis=1), np.repeat(clamp[:, None], 30, axis=1)
    plain = solve_chain(lambda k: (k, np.ones_like(k)), joints, segments, clamp, loads, start)
    assert plain.angles == pytest.approx(solved(30, tip, clamp).angles, abs=1e-9)


def test_hardening_law_against_its_own_closed_form() -> None:
    """Moment k^3 with a couple only by weight at the tip of two segments: solved by hand.

    Segment 1 hangs at angle b from a level clamp: moments F h sin(b) at joint 1, and at joint 0
    F h (sin a + sin b); the turns follow from the cube roots.
    """
    shape = solve_chain(
        lambda k: (k**3 + 1e-3 * k, 3 * k**2 + 1e-3),
        np.array([0.25, 0.5]),
        np.array([0.5, 0.5]),
        np.array([np.pi / 2]),
        np.array([[0.8, 0.8]]),
        np.full((1, 2), np.pi / 2),
    )
    a, b = shape.angles[0]
    bends = np.array([(a - np.pi / 2) / 0.25, (b - a) / 0.5])
    moments = -0.8 * 0.5 * np.array([np.sin(a) + np.sin(b), np.sin(b)])
    assert bends**3 + 1e-3 * bends == pytest.approx(moments, abs=1e-9)


def test_branch_from_zero_load_is_kept() -> None:
    """A limb curled by a turn and a half hangs curled under a small load, opened by a large one.

    The same load also holds a straight limb; that is the other branch, of lower energy.
    """
    tip, clamp = np.array([1.0, 60.0]), np.zeros(2)
    shape = solved(120, tip, clamp, curl=3 * np.pi)
    assert shape.angles[0, -1] > 2 * np.pi
    assert shape.curvatures.max() > 5


def test_upright_chain_falls_by_the_sign_of_its_clamp() -> None:
    shape = solved(80, np.array([3.0, 3.0, 2.0]), np.array([np.pi, -np.pi, np.pi]))
    assert shape.stable.tolist() == [False, False, True]
    assert shape.angles[0] == pytest.approx(-shape.angles[1])
    assert np.all(np.diff(shape.angles[0]) < 0)
    assert shape.angles[2] == pytest.approx(np.pi)


def test_start_may_be_a_known_shape() -> None:
    tip, clamp = np.array([9.0]), np.array([1.9])
    shape = solved(50, tip, clamp)
    joints = np.append(0.01, np.full(49, 0.02))
    law = ElasticLaw(flexural_rigidity=np.ones((1, 1)), natural_curvature=np.zeros((1, 1)))
    again = solve_chain(
        law,
        joints,
        np.full(50, 0.02),
        clamp,
        np.full((1, 50), 9.0),
        shape.angles + 0.01,
        start_load=1.0,
    )
    assert again.angles == pytest.approx(shape.angles, abs=1e-10)
    assert again.steps < shape.steps


@dataclass(frozen=True)
class CornerLaw:
    """A wire that yields at a curvature and is a hundred thousand times softer from there."""

    corner: float = 1e-3
    stiff: float = 1000.0
    soft: float = 0.01

    def __call__(self, curvature: Array) -> tuple[Array, Array]:
        within = np.clip(curvature, -self.corner, self.corner)
        moment = self.stiff * within + self.soft * (curvature - within)
        slope = np.where(np.abs(curvature) <= self.corner, self.stiff, self.soft)
        return moment, slope

    def take(self, rows: NDArray[np.intp]) -> CornerLaw:
        return self

    def energy(self, curvature: Array) -> Array:
        within = np.clip(curvature, -self.corner, self.corner)
        beyond = np.abs(curvature) - np.abs(within)
        at_corner = self.stiff * np.abs(within)
        return self.stiff * within**2 / 2 + at_corner * beyond + self.soft * beyond**2 / 2


def test_a_chain_comes_to_rest_past_the_corners_of_its_law() -> None:
    """Against the least energy by scipy's general minimiser, followed or let fall at once."""
    law, count = CornerLaw(), 12
    segments, joints = (
        np.full(count, 1 / count),
        np.append(0.5 / count, np.full(count - 1, 1 / count)),
    )
    clamp, load = np.pi / 2, 3.0

    def energy(angles: Array) -> float:
        curvature = np.diff(np.append(clamp, angles)) / joints
        hanging = -load * float(segments @ np.cos(angles))
        return float(joints @ law.energy(curvature)) + hanging

    start = np.full((1, count), clamp)
    least = min(
        (minimize(energy, guess, method="Powell", options={"xtol": 1e-12, "ftol": 1e-15})
         for guess in (start[0], np.zeros(count))),
        key=lambda found: float(found.fun),
    )  # fmt: skip
    shape = solve_chain(law, joints, segments, np.array([clamp]), np.full((1, count), load), start)
    assert energy(shape.angles[0]) <= float(least.fun) + 1e-6
    assert shape.residual.max() < 1e-3 * load


def test_steps_solve_the_systems_and_run_downhill_elsewhere() -> None:
    draw = np.random.default_rng(8)
    stiffness, side = draw.uniform(1, 2, (5, 7)), draw.normal(size=(5, 7))
    bowl = draw.uniform(-0.05, 0.2, (5, 7))
    bowl[3] = -2.0
    (steps,), sound = chain_steps(stiffness, bowl, [side])
    assert sound.tolist() == [True, True, True, False, True]
    for row in range(5):
        matrix = np.diag(stiffness[row] + np.append(stiffness[row, 1:], 0) + bowl[row])
        matrix -= np.diag(stiffness[row, 1:], 1) + np.diag(stiffness[row, 1:], -1)
        if sound[row]:
            assert np.linalg.eigvalsh(matrix).min() > 0
            assert matrix @ steps[row] == pytest.approx(side[row])
        else:
            assert np.linalg.eigvalsh(matrix).min() < 0
            assert steps[row] @ side[row] > 0


def test_refuses_shapes_and_values() -> None:
    law = ElasticLaw(flexural_rigidity=np.ones((1, 1)), natural_curvature=np.zeros((1, 1)))
    good = [np.full(4, 0.25), np.full(4, 0.25), np.zeros(1), np.ones((1, 4)), np.zeros((1, 4))]
    solve_chain(law, *good)
    for place, bad, words in (
        (0, np.full(3, 0.25), "joint lengths"),
        (0, np.zeros(4), "joint and segment lengths"),
        (1, np.full(4, np.nan), "segment lengths"),
        (2, np.zeros(2), "clamp angle"),
        (3, np.ones((2, 4)), "segment loads"),
        (4, np.zeros(4), "start angles"),
        (4, np.full((1, 4), np.inf), "start angles"),
    ):
        wrong = [*good]
        wrong[place] = bad
        with pytest.raises(ValueError, match=f"^{words} must be .*; got "):
            solve_chain(law, *wrong)


def test_law_that_yields_no_number_is_an_error_with_the_inputs() -> None:
    with pytest.raises(RuntimeError, match=r"found no rest .* clamp angle 1 rad"):
        solve_chain(
            lambda k: (k * np.nan, np.ones_like(k)),
            np.full(4, 0.25),
            np.full(4, 0.25),
            np.ones(1),
            np.ones((1, 4)),
            np.ones((1, 4)),
        )
