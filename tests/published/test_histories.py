"""Limbs bent by hands, pressed again, posed before, loaded, printed curved: small-step answers.

Source: project reference cases, computed by small-step code apart from the project (fibres with
return mapping, superposed steps of the elastomer, 60 to 160 fibres, 16 to 24 looks a decade,
checked there by closed forms, solve_bvp and a rate form; converged to 2e-5 in the share, 1e-5 of
the length in the tip). SI; elastomer a ring, metal by Hollomon, share of h(ref) as back-stress.
Tolerances as stated there: 2e-3 in a share, 4e-3 of the peak in a curvature, 2e-3 of a moment,
5e-4 of the length in a tip, 0.1 1/m where the limb was printed curved.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from flexcalc.joints.balance import Load
from flexcalc.joints.cells import Cells, Piece, cut
from flexcalc.joints.fibres import FibreWire, virgin_wire
from flexcalc.joints.hands import Press, pressed_moment, pressed_to
from flexcalc.joints.history import (
    Clock,
    Closeness,
    Hand,
    Joints,
    Look,
    followed,
    in_hand,
    inserted,
)
from flexcalc.joints.pull import Elastomers, softenings
from flexcalc.limb.inputs import GRAVITY, Elastomer, Limb
from flexcalc.limb.outline import Round
from flexcalc.section.elastomer import section_softening
from flexcalc.section.section import limb_section, section_strips
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.fibre import Flow, flow_stress

Array = NDArray[np.float64]
CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "histories.json").read_text(encoding="utf-8")
)["cases"]
FIBRES, CLOSE = 40, Closeness(looks=8, late_looks=8, curvature=1e-8, angle=1e-8)


def some(kind: str) -> list[Any]:
    return [pytest.param(case, id=case["id"]) for case in CASES if case["kind"] == kind]


def wires(inputs: dict[str, Any], joints: int) -> FibreWire:
    metal, one = inputs["metal"], np.ones(1)
    flow = Flow(
        modulus=metal["E"] * one,
        coefficient=metal["K"] * one,
        exponent=metal["n"] * one,
        virgin=0 * one,
        back_stress=0 * one,
        rate=metal["rate"],
        ludwik=False,
        reversal="mixed",
    )
    limit = metal["share"] * flow_stress(flow, metal["ref"])
    bundle = Bundle(
        flow=replace(flow, back_stress=limit), radius=inputs["wire"] / 2 * one, strands=one
    )
    return virgin_wire(bundle, FIBRES, joints)


def elastomers(inputs: dict[str, Any]) -> Elastomers:
    of, factor = inputs["elastomer"], inputs["modulus_factor"]
    material = Elastomer(
        name="case",
        elastic_modulus=of["E"],
        density=of["density"],
        poisson_ratio=0.48,
        saturation_stress=of["saturation"] or math.inf,
        relaxation_exponent=of["m"],
    )
    limb = Limb(
        elastomer=material,
        outline=Round(diameter=of["outer"]),
        length=0.2,
        channel_diameter=of["hole"],
    )
    table = section_softening(section_strips(limb), material)
    return Elastomers(
        rigidity=np.array([[limb_section(limb).flexural_rigidity_bare[0] * factor]]),
        stiffening=np.array([[factor]]),
        relaxation=np.array([[of["m"]]]),
        natural=np.array([inputs.get("natural_curvature", 0.0)]),
        softening=None if table is None else softenings([table]),
    )


def looked_at(
    inputs: dict[str, Any],
    bent: Array,
    before: tuple[tuple[float, Array], ...] = (),
    load: Load | None = None,
    kind: NDArray[np.intp] | None = None,
) -> tuple[Look, ...]:
    count = bent.shape[1]
    joints = Joints(
        wire=wires(inputs, count),
        elastomers=elastomers(inputs),
        before=before,
        bent=bent,
        rigid=np.zeros(count, dtype=bool),
        kind=np.arange(count) if kind is None else kind,
    )
    clock = Clock(
        hold=inputs["hold_time"],
        pause=inputs.get("press_pause", 60.0),
        presses=inputs.get("presses", 1),
        ages=tuple(1 + time for time in inputs["rest_times"]),
    )
    return followed(joints, clock, load, CLOSE)


@pytest.mark.parametrize("case", some("hands"))
def test_a_bend_by_hands(case: dict[str, Any]) -> None:
    inputs, expected = case["inputs"], case["expected"]
    left, right = inputs["lever"]
    press = Press(middle=0.1, left=left, right=right)
    cells = cut(
        [
            Piece(start=0.1 - left, end=0.1, joints=12, bend=0),
            Piece(start=0.1, end=0.1 + right, joints=12, bend=0),
        ]
    )
    seen = 0.1 + right * np.array(expected["place"])
    places, lengths = np.append(cells.places, seen), np.append(cells.lengths, 0 * seen)
    shares = pressed_moment([press], places)
    nothing = np.zeros((1, len(places)))
    wire, elastomer = wires(inputs, len(places)), elastomers(inputs)
    pull = in_hand(elastomer, inputs["hold_time"], nothing.shape)
    found = pressed_to(
        Hand(wire=wire, pull=pull),
        nothing,
        shares,
        lengths,
        np.array([inputs["angle"]]),
        1e-8,
    )
    peak = expected["peak_curvature"]
    assert found.moment[0] == pytest.approx(expected["press_moment"], rel=2e-3)
    assert found.moment[0] * press.force == pytest.approx(expected["press_force"], rel=2e-3)
    set_there = found.curvature[0, len(cells.places) :]
    assert set_there[0] == pytest.approx(peak, rel=4e-3)
    assert set_there == pytest.approx(np.array(expected["curvature_set"]), abs=4e-3 * peak)
    looks = looked_at(inputs, found.curvature)
    kept = [float(look.weightless[0] @ lengths) / inputs["angle"] for look in looks]
    assert kept == pytest.approx(expected["kept_share"], abs=2e-3)
    for look, when in zip(looks, ("at_once", "hour", "day"), strict=True):
        there = look.weightless[0, len(cells.places) :]
        wanted = np.array(expected[f"curvature_kept_{when}"])
        assert there == pytest.approx(wanted, abs=4e-3 * peak)


@pytest.mark.parametrize("case", some("presses"))
def test_pressed_again(case: dict[str, Any]) -> None:
    inputs = case["inputs"]
    looks = looked_at(inputs, np.array([[1 / inputs["radius"]]]))
    kept = [float(look.weightless[0, 0]) * inputs["radius"] for look in looks]
    assert kept == pytest.approx(case["expected"]["kept_share"], abs=2e-3)


@pytest.mark.parametrize("case", some("last"))
def test_the_pose_before(case: dict[str, Any]) -> None:
    inputs = case["inputs"]
    radius = inputs["last_radius"] or math.inf
    before = ((-inputs["last_time"], np.array([[1 / radius]])),)
    looks = looked_at(inputs, np.array([[1 / inputs["radius"]]]), before)
    kept = [float(look.weightless[0, 0]) * inputs["radius"] for look in looks]
    assert kept == pytest.approx(case["expected"]["kept_share"], abs=2e-3)


@pytest.mark.parametrize("held", [0.0, 3600.0])
def test_posed_straightened_and_posed_again(held: float) -> None:
    """ ".851 against .768" with a day straight between: read in the same place, where it stands
    without its inputs. .768 is the case that was never posed before (LAST-3), so they are taken
    to be that case's; for how long the first pose was held is not said, up to an hour changes
    nothing of the three digits."""
    (case,) = (one for one in CASES if one["id"].startswith("LAST-3"))
    inputs, day = {**case["inputs"], "rest_times": [0.0]}, 86400.0
    bent = np.array([[1 / inputs["radius"]]])
    for before, share in (((), 0.768), (((-day - held, bent), (-day, 0.0 * bent)), 0.851)):
        (look,) = looked_at(inputs, bent, before)
        kept = float(look.weightless[0, 0]) * inputs["radius"]
        assert kept == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize("case", some("natural"))
def test_printed_curved(case: dict[str, Any]) -> None:
    inputs, expected = case["inputs"], case["expected"]
    stood = float(inserted(wires(inputs, 1), elastomers(inputs), (1, 1), 1e-9)[0, 0])
    assert stood == pytest.approx(expected["inserted_curvature"], rel=2e-3)
    bent = np.array([[1 / inputs["radius"], stood]])
    for before, named in ((inputs["inserted_before"], ""), (0.0, "_if_inserted_at_once")):
        looks = looked_at(inputs, bent, ((-before, np.full((1, 2), stood)),))
        kept, elsewhere = np.array([look.weightless[0] for look in looks]).T
        assert kept == pytest.approx(np.array(expected["curvature_kept" + named]), abs=0.1)
        assert elsewhere == pytest.approx(
            np.array(expected["curvature_elsewhere" + named]), abs=0.1
        )


@pytest.mark.parametrize("case", some("load"))
def test_loaded_from_letting_go(case: dict[str, Any]) -> None:
    inputs, expected = case["inputs"], case["expected"]
    start, end = inputs["bend_start"], inputs["bend_start"] + inputs["angle"] * inputs["radius"]
    cells = cut(
        [
            Piece(start=0.0, end=start, joints=8),
            Piece(start=start, end=end, joints=36, bend=0),
            Piece(start=end, end=inputs["length"], joints=10),
        ]
    )
    of, metal = inputs["elastomer"], inputs["metal"]
    mass = of["density"] * math.pi / 4 * (of["outer"] ** 2 - of["hole"] ** 2)
    mass += metal["density"] * math.pi / 4 * inputs["wire"] ** 2
    load = Load(
        clamp=np.array([inputs["clamp"]]),
        joints=cells.lengths,
        segments=cells.segments,
        loads=GRAVITY * (inputs["payload"] + mass * cells.beyond[None, :]),
    )
    kind = np.where(cells.bend == 0, 1, 0)
    looks = looked_at(inputs, np.array([[0.0, 1 / inputs["radius"]]]), load=load, kind=kind)
    near = 5e-4 * inputs["length"]
    for number, look in enumerate(looks):
        hung, free = load.angles(look.loaded)[0], load.angles(look.weightless[:, kind])[0]
        tips = [tip(cells, angles, inputs["clamp"]) for angles in (hung, free)]
        assert tips[0] == pytest.approx(np.array(expected["tip_loaded"][number]), abs=near)
        assert tips[1] == pytest.approx(np.array(expected["tip_weightless"][number]), abs=near)
        sag = expected["sag"][number]
        assert tips[1][1] - tips[0][1] == pytest.approx(sag, abs=0.02 * sag + 5e-5)
        kept = float(look.weightless[0, 1]) * inputs["radius"]
        assert kept == pytest.approx(expected["kept_share_weightless"][number], abs=2e-3)
        turns = look.loaded[0] * cells.lengths
        turned = float(turns[cells.bend == 0].sum()) / inputs["angle"]
        assert turned == pytest.approx(expected["kept_angle_share"][number], abs=3e-3)
        outside = turns[cells.places < start].sum(), turns[cells.places > end].sum()
        wanted = np.array(expected["straight_turn_before_after"][number])
        assert outside == pytest.approx(wanted, abs=3e-4, rel=0.02)


def tip(cells: Cells, angles: Array, clamp: float) -> Array:
    """Where the tip is, from the clamp. [m]"""
    lengths = np.concatenate([cells.places[:1], cells.segments])
    turned = np.concatenate([[clamp], angles])
    return np.array([lengths @ np.sin(turned), -lengths @ np.cos(turned)])
