"""The set shape that the board's script draws while a handle moves, against the one worked out."""

from __future__ import annotations

import math
from dataclasses import asdict, replace
from importlib.resources import files
from typing import Any

import numpy as np
import pytest

from flexcalc.forms.limb_form import BENT, DEFAULTS, plan_from_form
from flexcalc.limb.inputs import Setting
from flexcalc.pages.limb.board import board_line
from flexcalc.paper.pictures.board import board_drawing
from flexcalc.pose.pose import hold_pose, shape_in_hand
from flexcalc.verdict.plan import LimbPlan

FORMER = {"bent": BENT[1]}
SWUNG = {"swing1": "90", "swing2": "-35", "direction": "70"}
CURVED = {"curl_root": "300", "curl_tip": "300"}
TAPERING_CURVE = {"curl_root": "250", "curl_tip": "-400"}
POINTS = """([line, along, changes]) => {
  for (const [of, value] of changes) line = lineWith(line, of, value);
  return along.map((each) => standAt(line, each).at);
}"""


def drawn(browser: Any, plan: LimbPlan, along: Any, changes: Any = ()) -> Any:
    """Points (n, 3) [m] of the script's own line, some of its values changed."""
    page = browser.new_page()
    script = (files("data.page.pointing") / "bent_line.js").read_text(encoding="utf-8")
    page.add_script_tag(content=script)
    board = board_drawing(plan.limb, plan.setting, None, name="a", summary="b", from_above=True)
    line = asdict(board_line(plan, None, board.views))
    found = page.evaluate(POINTS, [line, (1e3 * along).tolist(), list(changes)])
    page.close()
    return np.array(found) / 1e3


def asked(**form: str) -> LimbPlan:
    return plan_from_form({**DEFAULTS, **form})


@pytest.mark.parametrize(
    "form",
    [{}, FORMER, {**SWUNG, **FORMER}, SWUNG, {**CURVED, **SWUNG}, {**TAPERING_CURVE, **FORMER}],
    ids=["hands", "former", "swung", "swung by hands", "curved and swung", "two curves"],
)
def test_it_is_the_one_that_is_worked_out(browser: Any, form: dict[str, str]) -> None:
    plan = asked(**form)
    shape = hold_pose(plan.limb, plan.setting).shape_set
    found = drawn(browser, plan, shape.arc_length)
    assert np.ptp(shape.points, axis=0).max() > 0.5 * plan.limb.length
    assert np.abs(found - shape.points).max() < 1e-6 * plan.limb.length


def test_round_formers_it_follows_every_handle(browser: Any) -> None:
    plan = asked(**FORMER, **SWUNG, **CURVED)
    first, second = plan.setting.bends
    changes = [
        (("angle", 0), 65.0), (("swing", 0), 120.0), (("radius", 0), 40.0),
        (("start", 1), 80.0), (("swing", 1), 10.0), (("direction", 0), 40.0),
    ]  # fmt: skip
    bends = (
        replace(first, angle=math.radians(65), swing=math.radians(120), radius=0.04),
        replace(second, start=0.08, swing=math.radians(10)),
    )
    setting: Setting = replace(plan.setting, bends=bends, clamp_angle=math.radians(40))
    shape = shape_in_hand(plan.limb, setting)
    found = drawn(browser, plan, shape.arc_length, changes)
    assert np.abs(found - shape.points).max() < 1e-6 * plan.limb.length
