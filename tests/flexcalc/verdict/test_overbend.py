"""Over-bending: the inverse of letting go, and its saturation."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.pose.pose import hold_pose
from flexcalc.pose.retained import retained_bend
from flexcalc.section.section import limb_section
from flexcalc.verdict.overbend import over_bend, over_bend_setting, over_bent
from flexcalc.wire.bending import bending_moment

ALUMINIUM = load_metal("annealed aluminium 1100")
LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    wall=0.0012,
    length=0.2,
    wire=Wire(metal=ALUMINIUM, diameter=0.003),
)
WEAK = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.002))


@pytest.mark.parametrize("rule", ["mixed", "isotropic", "masing"])
@pytest.mark.parametrize("wanted", [8.0, -15.0, 20.0])
def test_round_trip(rule: str, wanted: float) -> None:
    strong = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.004))
    over = over_bend(strong, wanted, rule)
    assert over.held
    assert abs(over.set_curvature) > abs(wanted)
    kept = over.set_curvature * float(retained_bend(strong, over.set_curvature, rule))
    assert kept == pytest.approx(wanted, rel=1e-5)
    assert over.kept_curvature == pytest.approx(kept, rel=1e-9)
    assert over.factor == over.set_curvature / wanted


@pytest.mark.parametrize("rest_time", [0.0, 3600.0])
def test_round_trip_of_a_pose(rest_time: float) -> None:
    bends = (
        Bend(start=0.02, angle=0.8, radius=0.06),
        Bend(start=0.1, angle=-0.5, radius=0.05),
        Bend(start=0.14, angle=0.0, radius=0.05),
        Bend(start=0.15, angle=0.4, radius=0.05, rigid=True),
    )
    wanted = Setting(bends=bends, clamp_angle=0.3, rest_time=rest_time)
    overs = over_bend_setting(LIMB, wanted)
    assert overs[2] is None and overs[3] is None
    by_hand = [
        over_bent(bend, over) for bend, over in zip(bends[:2], overs[:2], strict=True) if over
    ]
    for bend, made in zip(bends, by_hand, strict=False):
        assert made.end == pytest.approx(bend.end, rel=1e-9)
    pose = hold_pose(LIMB, replace(wanted, bends=(*by_hand, bends[3])))
    for bend, made, share in zip(bends, by_hand, pose.retained_share, strict=False):
        assert made.curvature * share == pytest.approx(bend.curvature, rel=1e-3)
    assert pose.shape_released.angles[-1] == pytest.approx(0.3 + 0.8 - 0.5 + 0.4, abs=1e-3)


def test_saturation_names_the_tightest_radius() -> None:
    """A wire holds about E I / M, whatever it is bent to (shared notes)."""
    over = over_bend(WEAK, 20.0)
    assert not over.held
    assert abs(over.kept_curvature) == pytest.approx(over.tightest_kept, rel=1e-9)
    assert over.tightest_kept < 20.0
    assert f"R {1e3 / over.tightest_kept:.3g} mm" in over.text
    grid = np.geomspace(5.0, 80.0, 60)
    assert np.max(grid * retained_bend(WEAK, grid)) <= over.tightest_kept * (1 + 1e-6)
    linear = replace(WEAK, elastomer=replace(WEAK.elastomer, saturation_stress=math.inf))
    kept = over_bend(linear, 20.0).tightest_kept
    assert WEAK.wire is not None
    moment = float(bending_moment(WEAK.wire, 80.0))
    about = moment / limb_section(linear).flexural_rigidity_bare[0]
    assert kept == pytest.approx(about, rel=0.2)  # it hardens on, so a little more


def test_a_bare_limb_cannot_be_over_bent() -> None:
    over = over_bend(replace(LIMB, wire=None), -10.0)
    assert not over.held
    assert "springs back straight" in over.text
    assert over.cautions == ()
    assert over.set_curvature < 0


def test_a_caution_where_the_wire_is_overstretched() -> None:
    thick = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.006))
    over = over_bend(thick, 45.0)
    assert {caution.key for caution in over.cautions} == {"wire strain"}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: over_bend(None, 1.0), "limb must be a Limb"),
        (lambda: over_bend(LIMB, 0.0), "wanted curvature must be other than 0"),
        (lambda: over_bend(LIMB, float("nan")), "wanted curvature must be"),
        (lambda: over_bend(LIMB, [1.0]), "wanted curvature must be"),
        (lambda: over_bend(LIMB, 5.0, "x"), "rule must be"),
        (lambda: over_bend_setting(LIMB, 3), "setting must be a Setting"),
        (lambda: over_bent(3, over_bend(LIMB, 5.0)), "bend must be a Bend"),
        (lambda: over_bent(Bend(start=0, angle=1, radius=0.1), 3), "over-bend must be an OverBend"),
    ],
)
def test_refusals(call: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
