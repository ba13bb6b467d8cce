"""Limbs that taper along a bend round a former: curvature kept, released and resting tip.

Source: project reference cases; computed apart from the project by closed form (elastic,
perfectly plastic wire, Masing's release) and scipy's solve_bvp at 1e-9. A solid round limb whose
diameter falls or grows evenly from clamp to tip, linear elastomer that does not relax; curvature
at the beginning, middle and end of the bend. Tolerances as stated there: 2e-4 in a curvature,
1e-4 of the length in a tip, 1 % in the sag.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flexcalc.joints.balance import Load
from flexcalc.joints.cells import Piece, cut
from flexcalc.joints.fibres import virgin_wire
from flexcalc.joints.history import Clock, Closeness, Joints, followed
from flexcalc.joints.pull import Elastomers
from flexcalc.limb.inputs import GRAVITY
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.fibre import Flow
from tests.published.test_histories import tip

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "tapers.json").read_text(encoding="utf-8")
)["cases"]
FIBRES = 64


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_a_tapered_limb(case: dict[str, Any]) -> None:
    inputs, expected = case["inputs"], case["expected"]
    start, end, bent = inputs["bend"]
    length = inputs["length"]
    cells = cut(
        [
            Piece(start=0.0, end=start, joints=16),
            Piece(start=start, end=end, joints=48, bend=0),
            Piece(start=end, end=length, joints=32),
        ]
    )
    places = np.append(cells.places, [start, (start + end) / 2, end])
    count, joints = len(places), len(cells.places)
    wide = inputs["diameter"] * (1 + (inputs["taper"] - 1) * places / length)
    one = np.ones(1)
    flow = Flow(
        modulus=inputs["E_wire"] * one,
        coefficient=inputs["yield"] * one,
        exponent=0 * one,
        virgin=0 * one,
        back_stress=0 * one,
        rate=300.0,
        ludwik=False,
        reversal="mixed",
    )
    bundle = Bundle(flow=flow, radius=inputs["wire"] / 2 * one, strands=one)
    elastomers = Elastomers(
        rigidity=inputs["E_tpu"] * math.pi / 64 * wide[None, :] ** 4,
        stiffening=np.ones((1, 1)),
        relaxation=np.zeros((1, 1)),
        natural=np.zeros(1),
        softening=None,
    )
    inside = np.append(cells.bend == 0, [True] * 3)
    density = inputs["density"] * math.pi / 4 * wide[:joints] ** 2
    density += inputs["wire_density"] * math.pi / 4 * inputs["wire"] ** 2
    hanging = np.append(np.cumsum((density * cells.lengths)[::-1])[::-1], 0.0)
    middles = length - cells.beyond
    load = Load(
        clamp=np.array([inputs["clamp"]]),
        joints=cells.lengths,
        segments=cells.segments,
        loads=GRAVITY
        * (inputs["payload"] + np.interp(middles, cells.arc_length, hanging))[None, :],
    )
    made = Joints(
        wire=virgin_wire(bundle, FIBRES, count),
        elastomers=elastomers,
        before=(),
        bent=np.where(inside, bent, 0.0)[None, :],
        rigid=np.zeros(count, dtype=bool),
        kind=np.arange(joints),
    )
    clock = Clock(hold=10.0, pause=60.0, presses=1, ages=(1.0,))
    look = followed(
        made, clock, load, Closeness(looks=8, late_looks=8, curvature=1e-10, angle=1e-9)
    )[0]
    kept = look.weightless[0, joints:]
    assert kept == pytest.approx(np.array(expected["kept_curvature"]), rel=2e-4)
    free = tip(cells, load.angles(look.weightless[:, :joints])[0], inputs["clamp"])
    hung = tip(cells, load.angles(look.loaded)[0], inputs["clamp"])
    assert free == pytest.approx(np.array(expected["released_tip"]), abs=1e-4 * length)
    assert hung == pytest.approx(np.array(expected["resting_tip"]), abs=1e-4 * length)
    assert free[1] - hung[1] == pytest.approx(expected["sag"], rel=0.01)
