"""A limb in several poses: each comes from the one before, the wire tires by the sum, and the
worst decides."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from data.page.form import RefusedFieldsError
from data.rules import Refused
from flexcalc.build.life import sequence_life, wire_life
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.forms.texts import form_from_plan
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import DShape
from flexcalc.paper.answers import poses_of
from flexcalc.paper.sheet.report import limb_lines, limb_parts
from flexcalc.pose.pose import hold_pose
from flexcalc.verdict.plan import NamedPose, Wish, limb_plan_from, plain, poses_in_order
from flexcalc.verdict.poses import assess_poses
from flexcalc.verdict.verdict import assess

STEEL = Wire(metal=load_metal("annealed low-carbon steel"), diameter=0.0026)
LIMB = Limb(
    elastomer=load_elastomer("TPU 80A"),
    outline=DShape(diameter=0.012, flat_height=0.0015),
    length=0.15,
    wall=0.002,
    infill=0.1,
    channel_diameter=0.0034,
    channel_roofed=True,
    sleeve=0.0008,
    wire=STEEL,
)
SIT = Setting(bends=(Bend(start=0.045, angle=1.0, radius=0.05),), clamp_angle=pi / 2)
BACK = replace(SIT, bends=(Bend(start=0.045, angle=-0.8, radius=0.0625),))
STAND = replace(SIT, bends=(), clamp_angle=0.0)
FAR = replace(SIT, bends=(Bend(start=0.14, angle=1.0, radius=0.05),))


def test_to_and_from_straight_is_the_life_of_one_pose() -> None:
    for bent in (10.0, 25.0):
        one, other = sequence_life(STEEL, [[bent, 0.0]]), wire_life(STEEL, bent)
        assert (one.low, one.high) == pytest.approx((other.low, other.high))


def test_damage_adds_up_by_half_cycles() -> None:
    """Miner's sum by hand: there and back over twice the range, or twice over half of it; a place
    that is bent less breaks later."""
    there = sequence_life(STEEL, [[20.0, 5.0], [-20.0, 5.0]])
    assert there.low == pytest.approx(wire_life(STEEL, 40.0).low)
    by_straight = sequence_life(STEEL, [[20.0], [0.0], [-20.0], [0.0]])
    assert by_straight.low == pytest.approx(wire_life(STEEL, 20.0).low / 2)
    three = sequence_life(STEEL, [[10.0], [25.0], [0.0]])
    halves = sum(0.5 / wire_life(STEEL, swing).by_law[0][1] for swing in (15.0, 25.0, 10.0))
    assert three.by_law[0][1] == pytest.approx(1 / halves)


def test_one_pose_alone_is_the_verdict_on_it() -> None:
    whole, one = assess_poses(LIMB, [NamedPose(name="sit", setting=SIT)]), assess(LIMB, SIT)
    assert whole.verdicts[0].sentence == one.sentence
    assert whole.probability == pytest.approx(one.likely.probability, abs=0.01)
    assert whole.life[0].low == pytest.approx(one.life[0].low, rel=0.02)


def test_each_pose_comes_from_the_one_before() -> None:
    poses = [
        NamedPose(name="sit", setting=SIT, stays=7200.0),
        NamedPose(name="reach", setting=BACK, stays=60.0),
        NamedPose(name="stand", setting=STAND, stays=600.0),
    ]
    found = assess_poses(LIMB, poses)
    after_sitting = replace(BACK, last_bends=SIT.bends, last_time=7200.0)
    kept = found.verdicts[1].pose
    assert kept is not None
    # a verdict looks at more times than one pose alone
    alone = hold_pose(LIMB, after_sitting).retained_share
    assert kept.retained_share == pytest.approx(alone, abs=1e-6)
    assert kept.retained_share[0] < hold_pose(LIMB, BACK).retained_share[0] - 0.005
    assert poses_in_order(LIMB, poses)[0].setting.last_bends == ()  # from standing straight
    # the way from one side to the other tires the wire more than to and from straight
    single = min(verdict.life[0].low for verdict in found.verdicts if verdict.life)
    assert found.life[0].low < 0.7 * single


def test_a_straight_pose_after_a_bent_one_is_held_by_how_far_it_goes_back() -> None:
    poses = [
        NamedPose(name="sit", setting=SIT, stays=86400.0),
        NamedPose(name="stand", setting=STAND, stays=600.0),
    ]
    weak = replace(LIMB, elastomer=load_elastomer("TPU 55D"))
    for limb in (LIMB, weak):
        sit, stand = assess_poses(limb, poses).verdicts
        after = replace(STAND, last_bends=SIT.bends, last_time=86400.0)
        went = hold_pose(limb, after).straightened
        check = stand.checks[0]
        assert check.key == "share" and check.value == pytest.approx(went, abs=1e-6)
        assert f"goes back by {went:.0%} of the bend before" in check.answer
        assert 0 < went < 1 and check.answer in stand.sentence.lower()
        assert stand.likely.worst_share.low <= went <= stand.likely.worst_share.high
        assert stand.likely.probability_kept == (stand.likely.worst >= 0.85).mean()
        assert sit.checks[0].answer.startswith("keeps")
    assert hold_pose(LIMB, STAND).straightened == 1.0  # nobody bent it before
    # a bend elsewhere leaves that of the pose before to go
    other = replace(after, bends=(Bend(start=0.11, angle=0.4, radius=0.05),))
    assert hold_pose(LIMB, other).straightened == pytest.approx(
        hold_pose(LIMB, after).straightened, abs=2e-3
    )
    assert hold_pose(LIMB, replace(after, bends=BACK.bends)).straightened == 1.0


def test_the_worst_decides_and_the_matrix_has_every_pose() -> None:
    tight = replace(SIT, bends=(Bend(start=0.045, angle=1.0, radius=0.012),))
    poses = [NamedPose(name="sit", setting=SIT), NamedPose(name="crouch", setting=tight)]
    found = assess_poses(LIMB, poses, Wish(re_poses=20))
    assert found.state == "fails" == found.verdicts[1].state != found.verdicts[0].state
    assert found.worst == 1 and "crouch: " in found.sentence and str(found) == found.sentence
    assert found.probability <= min(verdict.likely.probability for verdict in found.verdicts)
    assert [name for name, _ in found.matrix] == ["sit", "crouch", "all"]
    assert {check.key for check in found.matrix[0][1]} >= {"share", "sag", "kink", "life"}
    assert [check.key for check in found.matrix[2][1]] == ["life"]


@pytest.mark.parametrize(
    ("poses", "name"),
    [
        ([], "poses"),
        ([SIT], "poses"),
        (3, "poses"),
        ([NamedPose(name="a", setting=SIT)] * 2, "pose name"),
        ([NamedPose(name=str(n), setting=SIT) for n in range(13)], "poses"),
        ([NamedPose(name="far", setting=FAR)], "bend end"),
    ],
)
def test_refusals(poses: object, name: str) -> None:
    with pytest.raises(Refused) as refused:
        assess_poses(LIMB, poses)  # type: ignore[arg-type]
    assert refused.value.name == name


FORM = {
    "start1": "45", "angle1": "60", "radius1": "50", "start2": "", "angle2": "", "radius2": "",
    "further": "1.05", "poses_time": "12; 0.5",
    "poses": "sit: 45 60 50 then stand: straight",
}  # fmt: skip


def test_poses_are_typed_kept_and_come_back() -> None:
    plan = plan_from_form(FORM, "leg")
    assert [pose.name for pose in plan.poses] == ["sit", "stand"]
    assert [pose.stays for pose in plan.poses] == [43200.0, 1800.0]
    assert plan.setting.bends[0].over_bend == 1.05
    assert plan.poses[1].setting.bends == ()
    assert limb_plan_from(plain(plan)) == plan
    again = plan_from_form(form_from_plan(plan), "leg")
    assert again.poses == plan.poses and again.setting.bends == plan.setting.bends
    for key, text in (("poses", "sit 45 60 50"), ("poses_time", "1; 2; 3"), ("further", "1; 1; 1")):
        with pytest.raises(RefusedFieldsError):
            plan_from_form({**FORM, key: text})


def test_poses_stand_on_the_sheet_and_in_the_lines() -> None:
    plan = plan_from_form(FORM, "leg")
    found = poses_of(plan)
    assert found is not None
    (part,) = (part for part in limb_parts(plan) if part.title == "leg: its poses")
    told = str(part)
    assert found.sentence in told and "Each pose coming from the one before it" in told
    assert all(f"('{pose.name}'" in told for pose in plan.poses)
    lines = limb_lines(plain(plan))
    assert any(line.startswith("  In its poses: ") for line in lines)
    assert poses_of(plan_from_form({})) is None


def test_sequence_wants_a_table() -> None:
    with pytest.raises(Refused, match="curvatures"):
        sequence_life(STEEL, np.array([1.0, 2.0]))
