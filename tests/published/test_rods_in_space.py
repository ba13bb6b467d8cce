"""Kirchhoff rods in space, and a quarter-circle girder: what others computed and closed forms.

Source of the rods: project reference cases, computed apart from the project by scipy's solve_bvp
at 1e-9; each case carries its own source line, its inputs and how closely it was found. Inputs
and results are copied as they were given.

Source of the girder: S. Timoshenko, Strength of Materials, part I, curved bars loaded at right
angles to their plane (from memory, not seen): a quarter circle of radius R, clamped at one end
and loaded at the other by P square to its plane, sinks by P R^3 [pi/(4 EI) + (3 pi/4 - 2)/GJ].

Source of the narrow beam: A.G.M. Michell and L. Prandtl 1899 (from memory, not seen): a
cantilever with a load at the middle of its end section falls sideways at 4.0126 sqrt(EI2 GJ)/L^2
where it is much stiffer upright.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from data.rules import Array
from flexcalc.rod import RestShapeInSpace, rest_shape_in_space
from tests.columns import buckling_tip_load, buckling_weight

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "rods_in_space.json").read_text(encoding="utf-8")
)["cases"]
LEVEL = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
UPRIGHT = np.eye(3)


def solved(case: dict[str, Any], joints: int = 160) -> RestShapeInSpace:
    length = case["length"]
    breaks = tuple(place / length for place in case["breaks"])
    curls = np.array([piece["k"] for piece in case["natural_at"]])

    def along(shares: Array) -> Array:
        return np.asarray(curls[np.searchsorted(breaks, shares)])

    return rest_shape_in_space(
        bending_stiffness=tuple(case["stiffness"][:2]),
        torsional_stiffness=case["stiffness"][2],
        length=length,
        clamp_frame=case["clamp_columns"],
        tip_load=case["tip_load"],
        weight_per_length=case["weight"],
        natural_curvature=along if breaks else curls[0],
        breaks=breaks,
        joints=joints,
    )


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_a_rod_in_space(case: dict[str, Any]) -> None:
    rest, expected, length = solved(case), case["expected"], case["length"]
    close = 1e-7  # of the length; the case itself promises tolerance_of_length
    assert rest.tip_position == pytest.approx(expected["tip"], abs=close * length)
    assert rest.tip_frame == pytest.approx(np.array(expected["tip_frame"]), abs=close)
    assert rest.root_moment == pytest.approx(expected["root_moment"], abs=close)
    assert rest.stable
    # the difference that the extrapolation made is that of the finer chain: a third of 3e-5
    assert 0 < rest.error < 1e-5 * length


@pytest.mark.parametrize("case", CASES[2:5], ids=[case["id"] for case in CASES[2:5]])
def test_half_the_joints_leave_sixteen_times_the_error(case: dict[str, Any]) -> None:
    tips = [
        float(np.abs(solved(case, joints).tip_position - case["expected"]["tip"]).max())
        for joints in (20, 40)
    ]
    assert 12 < tips[0] / tips[1] < 20


def test_a_quarter_circle_loaded_across_its_plane() -> None:
    bending, twist, radius = 0.05, 0.032, 0.17
    load = 1e-4 * bending / radius**2
    rest = rest_shape_in_space(
        bending_stiffness=(bending, bending),
        torsional_stiffness=twist,
        length=radius * math.pi / 2,
        clamp_frame=LEVEL,
        tip_load=load,
        weight_per_length=0.0,
        natural_curvature=(0.0, 1 / radius, 0.0),
    )
    sinks = load * radius**3 * (math.pi / 4 / bending + (3 * math.pi / 4 - 2) / twist)
    # the closed form is for small loads: what it leaves out goes with the square of the load
    assert -rest.tip_position[2] == pytest.approx(sinks, rel=1e-6)


def narrow(load: float) -> RestShapeInSpace:
    upright, flat, twist, length = 80.0, 0.05, 0.04, 0.2
    return rest_shape_in_space(
        bending_stiffness=(upright, flat),
        torsional_stiffness=twist,
        length=length,
        clamp_frame=LEVEL,
        tip_load=load * math.sqrt(flat * twist) / length**2,
        weight_per_length=0.0,
    )


def test_a_narrow_beam_falls_sideways() -> None:
    stands, falls = narrow(4.00), narrow(4.03)  # 4.0126, and 0.1 % for the pre-bend
    assert stands.stable
    assert stands.tip_position[1] == pytest.approx(0.0, abs=1e-9)
    assert not falls.stable
    assert abs(falls.tip_position[1]) > 0.005
    assert [caution.key for caution in falls.cautions] == ["falls"]


@pytest.mark.parametrize("by_weight", [True, False])
def test_an_upright_rod_buckles_where_a_column_does(by_weight: bool) -> None:
    bending, length = 0.05, 0.2
    most = buckling_weight if by_weight else buckling_tip_load
    for share, stands in ((0.999, True), (1.001, False), (1.3, False)):
        load = share * most(bending, length)
        rest = rest_shape_in_space(
            bending_stiffness=(bending, bending),
            torsional_stiffness=0.04,
            length=length,
            clamp_frame=UPRIGHT,
            tip_load=0.0 if by_weight else load,
            weight_per_length=load if by_weight else 0.0,
        )
        assert rest.stable == stands
