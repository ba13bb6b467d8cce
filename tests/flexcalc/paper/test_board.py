"""The board: its views are to one scale, and the line to bend to is the one that hands give."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from flexcalc.forms.limb_form import BENT, DEFAULTS, plan_from_form
from flexcalc.paper.answers import line_to_bend_to, verdict_on
from flexcalc.paper.pictures.board import board_drawing, likely_drawing
from flexcalc.paper.pictures.line_joints import joints_of, parted
from flexcalc.pose.pose import hold_pose, shape_in_hand

PLAN = plan_from_form(DEFAULTS)


def test_the_line_to_bend_to_is_the_one_that_hands_give() -> None:
    verdict = verdict_on(PLAN)
    line = line_to_bend_to(PLAN, verdict)
    assert line is not None and PLAN.setting.bent_by == "hands"
    made = hold_pose(PLAN.limb, verdict.made).shape_set.points
    assert np.abs(line - made).max() < 1e-9
    arcs = shape_in_hand(PLAN.limb, replace(verdict.made, bent_by="former")).points
    assert math.dist(arcs[-1], line[-1]) > 2e-3


def test_both_views_are_to_one_scale_and_none_hides_the_other() -> None:
    plan = plan_from_form({**DEFAULTS, "swing1": "60", "direction": "90", "bent": BENT[1]})
    board = board_drawing(plan.limb, plan.setting, None, name="a", summary="b", from_above=True)
    side, above = board.views
    assert side.width == above.width and above.down == side.height
    assert board.height == pytest.approx(1e3 * (side.height + above.height))
    tip = shape_in_hand(plan.limb, plan.setting).points[-1]
    (x, y), (right, down) = side.place(tip), above.place(tip)
    (x0, y0), (right0, down0) = board.clamps
    assert x == right and x - x0 == pytest.approx(1e3 * tip[0])
    assert y0 - y == pytest.approx(1e3 * tip[2])
    assert right0 == x0 and down0 - down == pytest.approx(1e3 * tip[1])  # left is up
    assert y < 1e3 * side.height < down < board.height
    fan = likely_drawing(board.views, [shape_in_hand(plan.limb, plan.setting).points], None)
    assert len(re.findall('class="outcome"', fan)) == 2


def test_joints_lead_to_where_the_limb_goes_and_a_bend_leaves_a_straight_limb() -> None:
    plan = plan_from_form({**DEFAULTS, "swing1": "40", "swing2": "-70", "bent": BENT[1]})
    shape = shape_in_hand(plan.limb, plan.setting)
    joints = joints_of(shape, plan.setting.clamp_angle)
    ends = [(bend.start, bend.end) for bend in plan.setting.bends]
    curve, made = parted(joints, ends)
    assert joints[:, 0].sum() == pytest.approx(plan.limb.length)
    assert np.abs(curve[:, 1:]).max() < 1e-9
    for bend, (joint,) in zip(plan.setting.bends, made, strict=True):
        wanted = (math.cos(bend.swing), math.sin(bend.swing))
        assert joint == pytest.approx([bend.end - bend.start, *np.multiply(bend.angle, wanted)])
