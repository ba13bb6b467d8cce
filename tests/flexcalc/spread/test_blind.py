"""The bands against limbs of a blind truth: small steps that share no function with the package.

Computed here; a few limbs of two plans, the 200 of `tests.scripts.blind_limbs` are run by hand:
78.5 % keep a share and 75 % a sag inside the bands of 80 %, of 2000 others 77 % and 76 %; truths
a fifth wider than the tables in bands a tenth wider come to 76 %.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flexcalc.pose.pose import hold_pose
from tests.blind_limbs import drawn, outcomes
from tests.scripts.blind_limbs import PLANS, compared, kind_of

PRESSED_ONCE, PRESSED_THRICE, NEIGHBOURS = 1, 3, 8


@pytest.mark.parametrize("number", [PRESSED_ONCE, PRESSED_THRICE, NEIGHBOURS])
def test_the_middle_of_the_blind_truth_is_the_held_pose(number: int) -> None:
    limb, setting = PLANS[number]
    kind = kind_of(limb, setting)
    sure = drawn(kind, 1, 0.0, np.random.default_rng(1))
    sure = replace(sure, places=np.array([kind.places]))
    if kind.places == 1:  # one press is by a point
        sure = replace(sure, thumb=np.zeros(1))
    truth, pose = outcomes(kind, sure), hold_pose(limb, setting)
    assert truth["share"][0] == pytest.approx(min(pose.retained_share), abs=2e-3)
    assert truth["sag"][0] == pytest.approx(pose.tip_sag, rel=0.01)


def test_bands_hold_limbs_drawn_wider_than_the_tables_say() -> None:
    """Inputs 1.2 times as wide: of 24 limbs about 19 keep a share inside the band of 80 %, and as
    many a sag."""
    inside = {"share": 0, "sag": 0}
    for number in (PRESSED_ONCE, PRESSED_THRICE):
        sample, truth = compared(number, 12, 11)
        for name, band in (("share", sample.worst_share), ("sag", sample.tip_sag)):
            inside[name] += int(np.sum((truth[name] >= band.low) & (truth[name] <= band.high)))
    # one standard deviation of the count is 2
    assert all(15 <= count <= 23 for count in inside.values())
