"""Windows for strangers: who reads inside holds, and tests help."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from data.rules import Refused
from flexcalc.bench.learning import printed_modulus
from flexcalc.bench.readings import Droop
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.outline import RoundedRectangle
from flexcalc.paper.report import limb_parts
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import assess
from flexcalc.verdict.window import Window, Windows, windows

STIFF = plan_from_form(
    {
        "elastomer": "TPU 85A", "outline": "round", "diameter": "9", "length": "110",
        "infill": "15", "wire": "2.5", "direction": "0", "payload": "0", "start1": "45",
        "angle1": "70", "radius1": "30", "start2": "", "angle2": "", "radius2": "",
        "printed": "upright",
    },
    "leg",
)  # fmt: skip


def asked(plan: LimbPlan, probability: float = 0.8) -> Windows:
    return windows(
        plan.limb, plan.setting, probability, wish=plan.wish, printer=plan.printer,
        orientation=plan.orientation,
    )  # fmt: skip


@pytest.fixture(scope="module")
def found() -> Windows:
    return asked(STIFF)


def window(found: Windows, key: str) -> Window:
    return next(window for window in found.windows if window.key == key)


def test_other_limbs_whose_strip_reads_inside_hold(found: Windows) -> None:
    """Limbs drawn anew: the modulus that the bench would learn from the edge of the window parts
    those that hold from those that do not."""
    droop = window(found, "droop")
    assert 0.01 < droop.low < 0.1 and math.isinf(droop.high)
    strip = RoundedRectangle(width=0.012, height=0.002, corner_radius=0.0)
    reading = Droop(length=0.12, drop=droop.low, outline=strip)
    edge = printed_modulus(reading, STIFF.limb.elastomer).value
    wish = STIFF.wish
    others = sample_pose(
        STIFF.limb, STIFF.setting, 1024, seed=99, wanted_share=wish.share, sag_limit=wish.sag,
        printer=STIFF.printer, re_poses=wish.re_poses,
    )  # fmt: skip
    modulus = STIFF.limb.elastomer.elastic_modulus * others.inputs["modulus"]
    holds = others.met.all(axis=1)
    assert holds[modulus < edge].mean() >= 0.8
    assert holds[modulus > edge].mean() < holds.mean() < holds[modulus < edge].mean()
    assert holds[(modulus > edge) & (modulus < 1.2 * edge)].mean() < 0.85
    assert droop.passing == pytest.approx(float((modulus < edge).mean()), abs=0.06)


def test_tests_help_a_stranger(found: Windows) -> None:
    verdict = assess(
        STIFF.limb, STIFF.setting, wish=STIFF.wish, printer=STIFF.printer,
        orientation=STIFF.orientation,
    )  # fmt: skip
    assert found.without <= verdict.likely.probability + 0.02
    assert found.inside >= 0.8 and found.with_tests > found.without + 0.1
    assert 0 < found.passing < 1
    for chance in (found.without, found.inside, found.with_tests):
        assert f"{chance:.0%}" in found.sentence
    assert str(found).count("\n") == len(found.windows)


def test_outside_a_change_is_said_that_helps(found: Windows) -> None:
    droop = window(found, "droop")
    assert droop.below and not droop.above and droop.changed_below is not None
    limb, setting = droop.changed_below
    stiff = replace(
        STIFF.limb.elastomer, elastic_modulus=1.5 * STIFF.limb.elastomer.elastic_modulus,
        modulus_factor=1.1,
    )  # fmt: skip
    planned, changed = (
        sample_pose(
            replace(made, elastomer=stiff), setting, 256, wanted_share=STIFF.wish.share
        ).probability_kept
        for made in (STIFF.limb, limb)
    )
    assert planned < changed - 0.3


def test_the_pins_and_the_finished_limb_have_windows_too(found: Windows) -> None:
    pins, bent = window(found, "pins"), window(found, "bent limb")
    assert STIFF.limb.wire is not None
    assert STIFF.limb.wire.diameter < pins.low < pins.high < STIFF.limb.wire.diameter + 0.0011
    assert "enters" in pins.sentence and "does not" in pins.sentence
    whole = STIFF.setting.bends[0].angle
    assert 0.7 * whole < bent.low < whole and "keeps" in bent.sentence


def test_who_asks_for_more_gets_less(found: Windows) -> None:
    surer = asked(STIFF, 0.95)
    assert window(surer, "droop").low > window(found, "droop").low
    assert surer.passing < found.passing and surer.inside >= found.inside - 0.02


def test_a_limb_that_holds_whatever_is_read_says_so() -> None:
    every = asked(plan_from_form({"share": "30", "sag": "50", "re_poses": "1", "wall": "2.5"}))
    assert "any usual reading does" in window(every, "droop").sentence
    assert not np.isfinite([window(every, "droop").low, window(every, "droop").high]).any()


def test_windows_stand_on_the_sheet() -> None:
    parts = [part for part in limb_parts(STIFF) if "with your own spool" in part.title]
    assert len(parts) == 1 and "clamped level" in str(parts[0])


def test_refusals() -> None:
    with pytest.raises(Refused, match="probability"):
        asked(STIFF, 1.0)
    with pytest.raises(Refused, match="limb wire"):
        windows(replace(STIFF.limb, wire=None), STIFF.setting)
