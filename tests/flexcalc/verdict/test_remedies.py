"""Remedies: each is a plan whose verdict is what was promised, and none breaks what held."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import DShape
from flexcalc.pose.pose import hold_pose, worst_kept
from flexcalc.verdict.checks import STATES
from flexcalc.verdict.overbend import over_bend_setting
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.remedy import remedies
from flexcalc.verdict.verdict import DRAWN, assess

LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=DShape(diameter=0.012, flat_height=0.0015),
    length=0.15,
    wall=0.0024,
    infill=0.1,
    channel_diameter=0.0034,
    channel_roofed=True,
    sleeve=0.0008,
    wire=Wire(metal=load_metal("annealed low-carbon steel"), diameter=0.0025),
)
SETTING = Setting(
    bends=(Bend(start=0.045, angle=1.2, radius=0.05),), clamp_angle=pi / 2, payload=0.01
)
CASES = {
    "round a former": SETTING,
    "by one press": replace(SETTING, bent_by="hands", places=1),
    "heavy": replace(SETTING, payload=0.12, bent_by="hands", places=2),
}


@pytest.mark.parametrize("setting", CASES.values(), ids=CASES)
def test_what_is_promised_is_what_the_verdict_shows(setting: Setting) -> None:
    wish = Wish(share=0.88)
    before = assess(LIMB, setting, wish=wish)
    found = remedies(LIMB, setting, wish)
    assert found
    states = {check.key: STATES.index(check.state) for check in before.checks}
    for remedy in found:
        after = assess(remedy.limb, remedy.setting, wish=wish)
        (share,) = (check.value for check in after.checks if check.key == "share")
        assert remedy.share == pytest.approx(share, abs=1e-9)
        assert remedy.probability == pytest.approx(after.likely.probability, abs=1e-9)
        for end in ("low", "median", "high"):
            promised, shown = getattr(remedy.band, end), getattr(after.likely.worst_share, end)
            assert promised == pytest.approx(shown, abs=1e-9)
        assert remedy.holds == (after.state == "holds")
        assert remedy.probability > before.likely.probability
        assert str(remedy) == remedy.sentence and f"{remedy.probability:.0%}" in remedy.sentence
        for check in after.checks:
            if check.key not in DRAWN:
                assert STATES.index(check.state) <= states[check.key], (remedy.key, check)


def test_what_the_hand_can_do_comes_before_what_is_bought() -> None:
    """One press of a soft wire bends it sharply and keeps 9 points less than a former, so says
    small-step code of a neck bent by 100 degrees (computed)."""
    soft = replace(
        LIMB, wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.0033),
        channel_diameter=0.0042, elastomer=load_elastomer("TPU 80A"),
    )  # fmt: skip
    bent = replace(SETTING.bends[0], angle=1.6)
    setting = replace(SETTING, bends=(bent,), bent_by="hands", places=1)
    keys = [remedy.key for remedy in remedies(soft, setting, Wish(share=0.85))]
    by_hand = [
        key for key in ("hold longer", "more places", "press again", "former") if key in keys
    ]
    bought = [key for key in ("softer filament", "thicker wire", "corner piece") if key in keys]
    assert {"more places", "former"} & set(by_hand)
    assert keys[: len(by_hand)] == by_hand or not bought


def test_what_holds_needs_none() -> None:
    assert remedies(LIMB, SETTING, Wish(share=0.3, sag=0.05, re_poses=1, probability=0.5)) == ()


def test_a_bend_that_is_made_further_is_left_as_wanted() -> None:
    """Bent as far as over-bending says, the whole angle is left; left too far counts as short."""
    (bend,) = SETTING.bends
    strong = replace(LIMB, elastomer=load_elastomer("TPU 80A"))
    for by in ("former", "hands"):
        setting = replace(SETTING, bent_by=by, places=3)
        (over,) = over_bend_setting(strong, setting)
        assert over is not None and over.held and over.factor > 1.02
        further = replace(setting, bends=(replace(bend, over_bend=over.factor),))
        assert hold_pose(strong, further).retained_share[0] == pytest.approx(1.0, abs=1e-3)
    row = np.array([[1.2]])
    assert worst_kept(row, (replace(bend, over_bend=1.5),))[0] == pytest.approx(0.8)
    assert worst_kept(row, (bend,))[0] == pytest.approx(1.0)
