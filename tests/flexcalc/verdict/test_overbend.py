"""Over-bending: the inverse of letting go, and its saturation."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flexcalc.build.kink import kink_radius_of
from flexcalc.build.life import wire_life
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import hold_pose
from flexcalc.pose.retained import retained_bend
from flexcalc.section.section import limb_section
from flexcalc.verdict.overbend import (
    bend_limits,
    over_bend,
    over_bend_setting,
    over_bent,
    over_bent_setting,
)
from flexcalc.wire.bending import bending_moment

ALUMINIUM = load_metal("annealed aluminium 1100")
LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    wall=0.0028,
    length=0.2,
    wire=Wire(metal=ALUMINIUM, diameter=0.003),
)
"""So thick a wall that it creases at R 15.6 mm before it kinks."""
WEAK = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.002))


@pytest.mark.parametrize("rule", ["mixed", "isotropic", "masing"])
@pytest.mark.parametrize("wanted", [8.0, -15.0, 17.0])
def test_round_trip(rule: str, wanted: float) -> None:
    strong = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.004))
    over = over_bend(strong, wanted, rule, re_poses=1)
    assert over.held and over.limit == ""
    assert abs(over.set_curvature) > abs(wanted)
    kept = over.set_curvature * float(retained_bend(strong, over.set_curvature, rule))
    assert kept == pytest.approx(wanted, rel=1e-5)
    assert over.kept_curvature == pytest.approx(kept, rel=1e-5)
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
    strong = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.004))
    overs = over_bend_setting(strong, wanted, re_poses=1)
    assert overs[2] is None and overs[3] is None
    by_hand = [
        over_bent(bend, over) for bend, over in zip(bends[:2], overs[:2], strict=True) if over
    ]
    for bend, made in zip(bends, by_hand, strict=False):
        assert made.end == pytest.approx(bend.end, rel=1e-9)
    pose = hold_pose(strong, replace(wanted, bends=(*by_hand, bends[3])))
    for bend, made, share in zip(bends, by_hand, pose.retained_share, strict=False):
        assert made.curvature * share == pytest.approx(bend.curvature, rel=1e-3)
    assert pose.shape_released.angles[-1] == pytest.approx(0.3 + 0.8 - 0.5 + 0.4, abs=1e-3)


def test_saturation_names_the_tightest_radius() -> None:
    """A wire holds about E I / M, whatever it is bent to (shared notes)."""
    over = over_bend(WEAK, 20.0, re_poses=1)
    assert not over.held and over.limit == ""
    assert abs(over.kept_curvature) == pytest.approx(over.tightest_kept, rel=1e-9)
    assert over.tightest_kept < 20.0
    assert f"R {1e3 / over.tightest_kept:.3g} mm" in over.text
    grid = np.geomspace(5.0, 49.9, 60)
    assert np.max(grid * retained_bend(WEAK, grid)) <= over.tightest_kept * (1 + 1e-6)
    linear = replace(WEAK, elastomer=replace(WEAK.elastomer, saturation_stress=math.inf))
    kept = over_bend(linear, 20.0, re_poses=1).tightest_kept
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


HOLLOW = replace(LIMB, wall=0.0012, wire=Wire(metal=ALUMINIUM, diameter=0.0025))
STOUT = replace(LIMB, wire=Wire(metal=ALUMINIUM, diameter=0.006), wall=0.0025)


@pytest.mark.parametrize(
    ("limb", "wanted", "lives", "limit"),
    [
        (HOLLOW, 16.0, 1.0, "kink"),
        (LIMB, 25.0, 500.0, "life"),
        (STOUT, 33.0, 1.0, "wire strain"),
        (replace(WEAK, wall=None, channel_diameter=0.0026), 30.0, 1.0, ""),
    ],
    ids=["kink", "life", "strain", "saturation"],
)
def test_what_is_proposed_stays_within_every_limit(
    limb: Limb, wanted: float, lives: float, limit: str
) -> None:
    over = over_bend(limb, wanted, re_poses=lives)
    assert not over.held and over.limit == limit
    bent = over.set_curvature
    assert limb.wire is not None
    assert 1 / bent >= kink_radius_of(limb).high * (1 - 1e-9)
    assert wire_life(limb.wire, bent).low >= lives * (1 - 1e-9)
    assert bent * limb.wire.diameter / 2 <= 0.1 * (1 + 1e-9)
    assert bent * 0.006 <= 0.3 * (1 + 1e-9)
    assert over.kept_curvature == pytest.approx(bent * float(retained_bend(limb, bent)))
    if limit:
        # what is kept is said, and it is less than wanted
        assert f"R {1e3 / over.kept_curvature:.3g} mm is left, not" in over.text
        reached = {"kink": "kink", "life": "cracks", "wire strain": "stretched"}[limit]
        assert reached in over.text and bend_limits(limb, re_poses=lives)[limit] == bent


def test_a_bend_tighter_than_its_limit_is_made_at_the_limit() -> None:
    over = over_bend(HOLLOW, 40.0)
    assert over.limit == "kink" and over.set_curvature < 40.0
    setting = Setting(bends=(Bend(start=0.02, angle=1.0, radius=0.025),), clamp_angle=0.3)
    (made,) = over_bent_setting(HOLLOW, setting).bends
    assert made.radius == pytest.approx(kink_radius_of(HOLLOW).high)
    assert over_bent_setting(replace(HOLLOW, wire=None), setting) == setting
    known = Printer(kink_core="hollow", kink_factor=0.5, kink_deviation=0.05)
    assert over_bend(HOLLOW, 40.0, printer=known).set_curvature > over.set_curvature


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
