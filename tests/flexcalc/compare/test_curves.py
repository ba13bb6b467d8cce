"""What a limb keeps against wire size, hold and rest: the same chain as the verdict's band."""

from __future__ import annotations

import numpy as np
import pytest

from flexcalc.compare.curves import life_by_radius, share_by_hold, share_by_rest, share_by_size
from flexcalc.forms.limb_form import DEFAULTS, plan_from_form
from flexcalc.limb.materials import load_metal
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.plan import LimbPlan

QUICK = {**DEFAULTS, "bent": "round a former", "wire": "2.5"}


@pytest.fixture(scope="module")
def plan() -> LimbPlan:
    return plan_from_form(QUICK)


def test_a_size_keeps_what_the_likely_limbs_of_its_plan_keep(plan: LimbPlan) -> None:
    assert plan.limb.wire is not None
    points = share_by_size(plan, [plan.limb.wire.metal])
    own = next(point for point in points if point.wire.diameter == pytest.approx(2.5e-3))
    likely = sample_pose(plan.limb, plan.setting, samples=256, printer=plan.printer)
    assert own.share.median == pytest.approx(likely.worst_share.median, abs=0.03)
    assert own.share.low < own.share.median < own.share.high


def test_a_thicker_wire_keeps_more(plan: LimbPlan) -> None:
    points = share_by_size(plan, [load_metal("annealed aluminium 1100")], "AWG")
    assert len(points) > 4
    shares = [point.share.median for point in points]
    assert np.all(np.diff([point.wire.diameter for point in points]) > 0)
    assert np.all(np.diff(shares) > -0.01) and shares[-1] > shares[0] + 0.1


def test_a_longer_hold_keeps_more_and_time_takes_little_back(plan: LimbPlan) -> None:
    holds = [point.share.median for point in share_by_hold(plan, (1.0, 600.0))]
    assert holds[1] > holds[0]
    rests = [point.share for point in share_by_rest(plan, (0.0, 86400.0))]
    assert abs(rests[1].median - rests[0].median) < 0.1
    assert all(0 < share.low <= share.median <= share.high <= 1 for share in rests)


def test_more_re_poses_want_a_wider_bend(plan: LimbPlan) -> None:
    assert plan.limb.wire is not None
    points = life_by_radius(plan.limb.wire)
    assert np.all(np.diff([point.safe for point in points]) > 0)
    assert all(point.hopeful <= point.safe for point in points)


def test_a_wire_too_thick_for_the_limb_is_left_out() -> None:
    thin = plan_from_form(
        {**QUICK, "outline": "round", "diameter": "6", "wall": "1.2", "wire": "1"}
    )
    assert thin.limb.wire is not None
    points = share_by_size(thin, [thin.limb.wire.metal])
    assert 0 < len(points) < len(share_by_size(plan_from_form(QUICK), [thin.limb.wire.metal]))


def test_a_system_that_is_none_is_refused(plan: LimbPlan) -> None:
    with pytest.raises(ValueError, match="system must be one of metric, AWG, SWG"):
        share_by_size(plan, [load_metal("annealed aluminium 1100")], "furlongs")
