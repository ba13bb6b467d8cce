"""The verdict answers as a maker would, and its checks move the way the physics says.

Trade facts, marked common practice: a bare TPU limb keeps none of its bend; the same limb with a
strong enough wire keeps most of it; a hollow limb kinks when bent tightly and infill cures it.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from data.rules import Refused
from flexcalc.build.channel import size_channel
from flexcalc.build.life import wire_life
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import DShape, Round
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import hold_pose
from flexcalc.rod.rest import rest_shape
from flexcalc.section.section import limb_section
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.checks import STATES, tip_distance
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import Verdict, assess

LEVEL = pi / 2


def limb(wire: float | None = 3e-3, **changes: object) -> Limb:
    made = Limb(
        elastomer=load_elastomer("TPU 85A"),
        outline=Round(diameter=0.012),
        length=0.12,
        wall=0.0012,
        infill=0.15,
        channel_diameter=0.0038,
        sleeve=0.0008,
        wire=Wire(metal=load_metal("annealed copper"), diameter=wire) if wire else None,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def bend(radius: float = 0.04, angle: float = 1.5) -> Setting:
    return Setting(bends=(Bend(start=0.01, angle=angle, radius=radius),), clamp_angle=LEVEL)


def state_of(verdict: Verdict, key: str) -> str:
    return next(check.state for check in verdict.checks if check.key == key)


def value_of(verdict: Verdict, key: str) -> float:
    return next(check.value for check in verdict.checks if check.key == key)


def test_a_bare_limb_keeps_none_of_its_bend() -> None:  # common practice
    bare = assess(limb(None), bend())
    assert value_of(bare, "share") < 0.12
    assert bare.state == "fails"
    assert "no wire" in bare.sentence
    assert any(caution.key == "no wire" for caution in bare.cautions)


def test_a_strong_wire_keeps_most_of_it() -> None:  # common practice
    strong = assess(limb(3.6e-3), bend())
    assert value_of(strong, "share") > 0.85
    assert state_of(strong, "share") == "holds"


def test_the_sentence_says_what_the_checks_say() -> None:
    verdict = assess(limb(), bend())
    assert f"{value_of(verdict, 'share'):.0%}" in verdict.sentence
    for word in ("tip", "kinks below R", "re-poses"):
        assert word in verdict.sentence


def test_every_check_has_its_limit_and_reason() -> None:
    verdict = assess(limb(), bend())
    keys = [check.key for check in verdict.checks]
    assert keys == ["share", "sag", "kink", "life", "prints", "together", "apart"]
    for check in verdict.checks:
        assert check.question.endswith("?")
        assert check.answer and check.limit and check.reason
        assert check.state in STATES


def test_a_tight_bend_kinks_and_a_thick_wall_cures_it() -> None:
    hollow = limb(infill=0.0)
    tight = bend(radius=0.03)
    assert state_of(assess(hollow, tight), "kink") == "fails"
    cure = next(check for check in assess(hollow, tight).checks if check.key == "kink")
    assert cure.reason.index("wall of") < cure.reason.index("infill of lines cures it")
    assert state_of(assess(limb(infill=0.2), tight), "kink") == "close"  # R 35.5 by lines
    assert state_of(assess(limb(wall=0.0021, infill=0.0), tight), "kink") == "holds"
    solid = assess(limb(wall=None, infill=0.0, sleeve=0.0), tight)
    assert state_of(solid, "kink") == "holds" and "creases inside below R" in solid.sentence
    tighter = assess(limb(wall=None, infill=0.0, sleeve=0.0), bend(0.013))
    assert "a thinner limb helps" in tighter.checks[2].reason


def test_what_counts_as_holding_is_the_users() -> None:
    kept = value_of(assess(limb(), bend()), "share")
    asked = Wish(share=kept - 0.01, sag=0.05)
    assert state_of(assess(limb(), bend(), wish=asked), "share") == "holds"
    more = Wish(share=min(kept + 0.05, 1.0), sag=0.05)
    assert state_of(assess(limb(), bend(), wish=more), "share") == "close"


def test_a_longer_hold_keeps_more_and_time_goes_by() -> None:
    long = assess(limb(), replace(bend(), hold_time=600.0))
    assert value_of(long, "share") > value_of(assess(limb(), bend()), "share")
    assert [name for name, _ in long.later] == ["at once", "after an hour", "after a day"]


def test_printing_lying_wants_a_roof_and_a_flat_side() -> None:  # common practice
    lying = assess(limb(), bend(), orientation="lying")
    assert state_of(lying, "prints") == "close"
    assert state_of(assess(limb(), bend(), orientation="upright"), "prints") == "holds"
    flat = limb(outline=DShape(diameter=0.012, flat_height=0.0015), channel_roofed=True)
    assert state_of(assess(flat, bend()), "prints") == "holds"
    thin = limb(wall=0.0006)
    assert state_of(assess(thin, bend(), orientation="upright"), "prints") == "fails"


def test_a_tight_channel_needs_more_push() -> None:
    wide = value_of(assess(limb(), bend()), "together")
    tight = assess(limb(channel_diameter=0.00301), bend())
    assert value_of(tight, "together") > 50 * max(wide, 1.0)
    assert state_of(tight, "together") == "fails"


def test_an_offset_channel_leaves_a_pocket() -> None:
    verdict = assess(limb(channel_offset=(0.0, 0.0015)), bend(angle=1.4))
    apart = next(check for check in verdict.checks if check.key == "apart")
    assert "pocket of 2.1 mm" in apart.answer  # 1.5 mm x 1.4 rad


def test_a_measured_printer_takes_the_caution_away() -> None:
    guessed = assess(limb(), bend())
    assert any(caution.key == "channel_untested" for caution in guessed.cautions)
    measured = replace(Printer(), measured=("lying",))
    known = assess(limb(), bend(), printer=measured)
    assert not any(caution.key == "channel_untested" for caution in known.cautions)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"wish": 3}, "wish"),
        ({"printer": "mine"}, "printer"),
        ({"orientation": "askew"}, "orientation"),
        ({"rule": "guess"}, "rule"),
        ({"back_stress": 2.0}, "back stress"),
    ],
)
def test_refusals(changes: dict[str, object], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be .*; got "):
        assess(limb(), bend(), **changes)  # type: ignore[arg-type]


def test_a_bend_beyond_the_limb_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^bend end must be at most"):
        assess(limb(), bend(radius=0.1, angle=3.0))


def test_a_limb_far_too_heavy_hangs_slack() -> None:
    """Level, 5 kg on 0.6 m of solid 12 mm TPU: 49 N x 0.36 m2 is above 50 x 0.015 N m2."""
    rod = Limb(elastomer=load_elastomer("TPU 85A"), outline=Round(diameter=0.012), length=0.6)
    setting = Setting(bends=(), clamp_angle=LEVEL, payload=5.0)
    rigidity = limb_section(rod).flexural_rigidity_bare[0]
    assert 50 * rigidity < 9.80665 * 5.0 * 0.6**2
    verdict = assess(rod, setting)
    assert verdict.sentence.startswith("Does not hold: it hangs slack")
    assert verdict.state == "fails" and verdict.pose is None and verdict.later == ()
    assert "hangs slack" in {caution.key for caution in verdict.cautions}
    with pytest.raises(Refused, match="hangs slack") as refused:
        hold_pose(rod, setting)
    assert refused.value.name == "payload"
    with pytest.raises(Refused, match="hangs slack") as refused:
        hold_pose(replace(rod, length=1.0), replace(setting, payload=0.001))
    assert refused.value.name == "limb length"
    # straight down any load hangs as it did
    assert hold_pose(rod, replace(setting, clamp_angle=0.0)).tip_sag == 0


def test_results_print_as_a_sentence_or_on_a_screen() -> None:
    verdict, sample = assess(limb(), bend()), sample_pose(limb(), bend(), 16)
    assert str(verdict) == verdict.sentence
    for result in (verdict, verdict.pose, sample, rest_shape(1.0, 1.0, 1.0, 1.0, 1.0)):
        assert 50 < len(repr(result)) < 2000


def test_names_and_texts_are_told_what_to_call() -> None:
    with pytest.raises(Refused, match="load_elastomer"):
        limb(elastomer="TPU 85A")
    with pytest.raises(Refused, match="load_metal"):
        Wire(metal="annealed copper", diameter=0.002)  # type: ignore[arg-type]
    with pytest.raises(Refused, match="parse_length"):
        size_channel("2 mm", "lying")  # type: ignore[arg-type]


def test_kink_life_and_strain_are_those_of_the_shape_bent_by_hand() -> None:
    setting = bend(radius=0.05)
    stout = limb(wall=0.0024, infill=0.0)
    verdict = assess(stout, setting)
    (made,) = verdict.made.bends
    assert made.radius < 0.05
    assert stout.wire is not None
    assert value_of(verdict, "life") == wire_life(stout.wire, 1 / made.radius).low
    kink = next(check for check in verdict.checks if check.key == "kink")
    assert kink.bound == made.radius
    # a bend that is wanted too tight is judged as wanted, though less is proposed
    tight = assess(limb(infill=0.0), bend(radius=0.03))
    assert tight.made.bends[0].radius == 0.03 and state_of(tight, "kink") == "fails"


def test_holds_is_all_of_it_together_in_the_same_draws() -> None:
    strong = limb(3.6e-3, wall=0.0024, infill=0.0)
    easy = Wish(share=0.5, sag=0.05, re_poses=1, probability=0.6)
    verdict = assess(strong, bend(0.05), wish=easy)
    likely = verdict.likely
    assert likely.probability >= 0.6 and verdict.state != "fails"
    # the same draws as the sample's own
    again = sample_pose(
        strong, bend(0.05), samples=likely.samples, wanted_share=0.5, sag_limit=0.05, re_poses=1
    )
    assert again.probability == likely.probability
    each = (
        likely.probability_kept,
        likely.probability_within_sag,
        likely.probability_unkinked,
        likely.probability_life,
    )
    assert sum(each) - 3 - 1e-9 <= likely.probability <= min(each)
    # each of the four alone can forbid it
    for harder in ({"share": 0.999}, {"sag": 1e-6}, {"re_poses": 1e6}):
        asked = replace(easy, **harder)
        assert assess(strong, bend(0.05), wish=asked).state == "fails"
    assert assess(limb(3.6e-3, infill=0.0), bend(0.03), wish=easy).likely.probability < 0.01
    surer = replace(easy, probability=min(likely.probability + 0.01, 1.0))
    assert assess(strong, bend(0.05), wish=surer).state != "holds" or likely.probability == 1


def test_the_worst_check_comes_first() -> None:
    long = limb(2.0e-3, outline=Round(diameter=0.01), length=0.3, infill=0.0, wall=None, sleeve=0.0)
    wide = Setting(
        bends=(Bend(start=0.01, angle=0.3, radius=0.3),), clamp_angle=LEVEL, payload=0.06
    )
    sentence = assess(long, wide, wish=Wish(share=0.1)).sentence
    assert sentence.startswith("The tip sags ")
    assert 0 < sentence.index("it keeps") < len(sentence)
    assert assess(limb(None), bend()).sentence.startswith("It keeps")


def test_the_tips_distance_has_two_parts_and_is_judged_where_asked() -> None:
    verdict = assess(limb(), bend())
    assert "tip" not in [check.key for check in verdict.checks]
    assert verdict.pose is not None
    whole, sprung, weight = tip_distance(verdict.pose)
    assert abs(sprung - weight) <= whole <= sprung + weight
    (sag,) = (check for check in verdict.checks if check.key == "sag")
    assert "from where the hand put it" in sag.reason and "by weight" in sag.reason
    near = assess(limb(), bend(), wish=Wish(tip_within=whole * 0.5))
    far = assess(limb(), bend(), wish=Wish(tip_within=whole * 1.01))
    assert (state_of(near, "tip"), state_of(far, "tip")) == ("fails", "holds")
    assert near.state == "fails" and value_of(near, "tip") == whole
    # as likely limbs go: about half of them rest nearer than the middle one
    assert near.likely.probability_within_tip < 0.1
    assert 0.2 < far.likely.probability_within_tip < 0.8
    assert far.likely.probability <= far.likely.probability_within_tip
    assert verdict.likely.probability_within_tip == 1.0


def test_hands_are_asked_whether_they_are_strong_enough() -> None:
    """A former asks nothing; the thumb's force is 2 M / lever, at most the row's 120 N."""
    strong, wide = limb(3.0e-3), bend(0.05)
    assert "hand" not in [check.key for check in assess(strong, wide).checks]
    pressed = replace(wide, bent_by="hands", lever=0.03)
    verdict = assess(strong, pressed)
    force = max(hold_pose(strong, verdict.made).press_force)
    assert value_of(verdict, "hand") == pytest.approx(force, rel=1e-9)
    assert state_of(verdict, "hand") == ("holds" if force <= 120 else "fails")
    longer = assess(strong, replace(pressed, lever=0.04))
    assert value_of(longer, "hand") < force
