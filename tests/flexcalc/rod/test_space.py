"""Limits, invariants and a second route for the rod in space."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from data.rules import Array, Refused
from flexcalc.rod import RestShapeInSpace, rest_shape, rest_shape_in_space
from flexcalc.rod import space_chain as chains
from flexcalc.rod.rotations import (
    exponential,
    matrices,
    product,
    rotation_vectors,
    spun,
    vector_rates,
)

LEVEL = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
LIMB: dict[str, Any] = {
    "bending_stiffness": (0.05, 0.07),
    "torsional_stiffness": 0.03,
    "length": 0.21,
    "clamp_frame": LEVEL,
    "tip_load": 0.9,
    "weight_per_length": 4.0,
    "natural_curvature": (-4.0, 6.0, 3.0),
}


def limb(**changes: Any) -> RestShapeInSpace:
    return rest_shape_in_space(**{**LIMB, **changes})


def test_turning_the_scene_about_the_vertical_turns_the_answer() -> None:
    one, turn = limb(), Rotation.from_euler("z", 1.234).as_matrix()
    other = limb(clamp_frame=turn @ LEVEL)
    assert other.positions == pytest.approx(one.positions @ turn.T, abs=1e-11)
    assert other.tip_frame == pytest.approx(turn @ one.tip_frame, abs=1e-10)
    assert other.root_moment == pytest.approx(turn @ one.root_moment, abs=1e-11)


def test_a_mirrored_limb_rests_in_the_mirrored_shape() -> None:
    """Curvature is a turn: a mirror keeps the one about the axis that it turns about."""
    mirror = np.diag([1.0, -1.0, 1.0])
    one = limb()
    # axis 1 points left: mirrored it is turned about, so that the frame stays right-handed
    clamp = mirror @ LEVEL @ np.diag([-1.0, 1.0, 1.0])
    other = limb(clamp_frame=clamp, natural_curvature=(-4.0, -6.0, -3.0))
    assert other.positions == pytest.approx(one.positions @ mirror, abs=1e-11)


def test_a_tall_scale_changes_nothing() -> None:
    one = limb()
    length, force = 3.0, 7.0
    other = limb(
        length=0.21 * length,
        bending_stiffness=(0.05 * force * length**2, 0.07 * force * length**2),
        torsional_stiffness=0.03 * force * length**2,
        tip_load=0.9 * force,
        weight_per_length=4.0 * force / length,
        natural_curvature=(-4.0 / length, 6.0 / length, 3.0 / length),
    )
    assert other.tip_position == pytest.approx(length * one.tip_position, abs=1e-11)
    assert other.root_moment == pytest.approx(force * length * one.root_moment, abs=1e-10)


def test_without_load_a_helix() -> None:
    """Constant curvature and twist turn the rod about one axis while it moves along it."""
    curl = np.array([9.0, -4.0, 14.0])
    rest = limb(tip_load=0.0, weight_per_length=0.0, natural_curvature=curl)
    rate = float(np.linalg.norm(curl))
    axis = curl / rate
    along = axis[2] * axis
    around = np.array([0.0, 0.0, 1.0]) - along
    angle = rate * rest.arc_length[:, None]
    local = (
        along * rest.arc_length[:, None]
        + around * np.sin(angle) / rate
        + np.cross(axis, around) * (1 - np.cos(angle)) / rate
    )
    assert rest.positions == pytest.approx(local @ LEVEL.T, abs=1e-8 * 0.21)
    turned = Rotation.from_rotvec(curl * 0.21).as_matrix()
    assert rest.tip_frame == pytest.approx(LEVEL @ turned, abs=1e-12)


@pytest.mark.parametrize("curl", [(-4.0, 6.0, 3.0), (0.0, 0.0, 0.0), (10.0, -3.0, -8.0)])
def test_energy_and_moment_that_every_section_shares(curl: tuple[float, float, float]) -> None:
    """Without weight u C u / 2 + m . natural + P t . down is the same at the clamp, from the
    moment there, and at the tip, where there is none; the load has no moment about z."""
    rest = limb(weight_per_length=0.0, natural_curvature=curl)
    moment = LEVEL.T @ rest.root_moment
    stiffness = np.array([0.05, 0.07, 0.03])
    clamp = (moment / stiffness) @ moment / 2 + moment @ np.array(curl) - 0.9 * LEVEL[2, 2]
    assert clamp == pytest.approx(-0.9 * rest.tip_frame[2, 2], abs=1e-8)
    assert rest.root_moment[2] == pytest.approx(0.0, abs=1e-12)
    about = np.cross(rest.tip_position, [0.0, 0.0, -0.9])
    assert rest.root_moment == pytest.approx(about, abs=1e-8)


def test_in_one_plane_the_planar_rod() -> None:
    """Section axis 1 to the left of someone who looks along: a positive curl bends down."""
    clamp = 1.1
    frame = np.array(
        [[0.0, math.cos(clamp), math.sin(clamp)], [1.0, 0.0, 0.0], [0.0, math.sin(clamp),
         -math.cos(clamp)]]
    )  # fmt: skip

    def weight(shares: Array) -> Array:
        return np.asarray(5.0 - 3.0 * shares)

    def rigidity(shares: Array) -> Array:
        return np.asarray(0.06 - 0.03 * shares)

    flat = rest_shape(rigidity, 0.21, clamp, 0.9, weight, 6.0)
    rest = limb(
        clamp_frame=frame,
        bending_stiffness=(rigidity, 0.07),
        weight_per_length=weight,
        natural_curvature=(-6.0, 0.0, 0.0),
    )
    tip = [flat.tip_position[0], 0.0, flat.tip_position[1]]
    assert rest.tip_position == pytest.approx(tip, abs=1e-8 * 0.21)


def test_the_second_variation_is_that_of_the_energy(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks against differences of the gradient, two limbs of five joints, any shape."""
    draw = np.random.default_rng(3)
    batch, count = 2, 5
    law = chains.ElasticSpaceLaw(
        stiffness=draw.uniform(0.5, 2, (3, batch, count)),
        natural=draw.normal(size=(3, batch, count)),
    )
    clamp = exponential(draw.normal(size=(3, batch)))
    chain = chains.SpaceChain(
        law=law, lengths=np.full(count, 0.02), clamp=clamp,
        pull=draw.uniform(0.1, 1, (batch, count)),
    )  # fmt: skip
    frames = [clamp]
    for _ in range(count):
        frames.append(product(frames[-1], exponential(0.05 * draw.normal(size=(3, batch)))))
    shape, load = np.stack(frames[1:], axis=2), np.array([1.0, 0.5])
    blocks: list[Array] = []
    solve = chains.block_steps

    def seen(diagonal: Array, coupling: Array, sides: list[Array]) -> Any:
        blocks.extend([diagonal, coupling])
        return solve(diagonal, coupling, sides)

    monkeypatch.setattr(chains, "block_steps", seen)
    chains.steps(chain, shape, load)
    diagonal, coupling = blocks
    for member in range(batch):
        matrix = np.zeros((3 * count, 3 * count))
        for row in range(count):
            own = slice(3 * row, 3 * row + 3)
            matrix[own, own] = diagonal[:, :, member, row]
            if row + 1 < count:
                beside = slice(3 * row + 3, 3 * row + 6)
                matrix[own, beside] = coupling[:, :, member, row]
                matrix[beside, own] = coupling[:, :, member, row].T
        found = np.zeros_like(matrix)
        for column in range(3 * count):
            spin = np.zeros((3, batch, count))
            spin[column % 3, member, column // 3] = 1e-5
            ends = [
                chains.balance(chain, spun(shape, sign * spin)).gradient(load)[:, member]
                for sign in (1, -1)
            ]
            found[:, column] = ((ends[0] - ends[1]) / 2e-5).T.ravel()
        # turns enter to second order: 0.1 rad leaves 1e-3 of what is itself 1e-3 of the matrix
        scale = np.abs(matrix).max()
        assert (found + found.T) / 2 / scale == pytest.approx(matrix / scale, abs=2e-6)


def test_rotation_vectors_there_and_back() -> None:
    draw = np.random.default_rng(8)
    vectors = draw.normal(size=(3, 40))
    vectors *= 10.0 ** draw.uniform(-9, 0.49, 40) / np.linalg.norm(vectors, axis=0)
    turns = exponential(vectors)
    assert rotation_vectors(turns) == pytest.approx(vectors, abs=1e-13)
    assert rotation_vectors(-turns) == pytest.approx(vectors, abs=1e-13)
    expected = Rotation.from_rotvec(vectors.T).as_matrix()
    assert np.moveaxis(matrices(turns), -1, 0) == pytest.approx(expected, abs=1e-14)


def test_rates_against_differences() -> None:
    draw = np.random.default_rng(9)
    vectors = draw.normal(size=(3, 30))
    vectors *= 10.0 ** draw.uniform(-4, 0.45, 30) / np.linalg.norm(vectors, axis=0)
    spins, step = draw.normal(size=(3, 30)), 1e-6
    ends = [
        rotation_vectors(product(exponential(vectors), exponential(sign * step * spins)))
        for sign in (1, -1)
    ]
    expected = (ends[0] - ends[1]) / (2 * step)
    assert np.einsum("ijn,jn->in", vector_rates(vectors), spins) == pytest.approx(
        expected, rel=1e-8, abs=1e-8
    )


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"clamp_frame": np.eye(2)}, "clamp frame"),
        ({"clamp_frame": 0.9 * LEVEL}, "clamp frame"),
        ({"clamp_frame": LEVEL[:, [1, 0, 2]]}, "clamp frame"),
        ({"bending_stiffness": 0.05}, "bending stiffness"),
        ({"bending_stiffness": (0.05, 0.0)}, "bending stiffness"),
        ({"torsional_stiffness": 1e-10}, "torsional stiffness"),
        ({"natural_curvature": 4.0}, "natural curvature"),
        ({"natural_curvature": lambda shares: np.zeros(len(shares))}, "natural curvature"),
        ({"natural_curvature": (900.0, 0.0, 0.0)}, "natural curvature"),
        ({"tip_load": 90.0}, "tip load"),
        ({"breaks": (0.7, 0.3)}, "breaks"),
        ({"joints": 4}, "joints"),
    ],
)
def test_refusals(changes: dict[str, Any], name: str) -> None:
    with pytest.raises(Refused) as refused:
        limb(**changes)
    assert refused.value.name == name
