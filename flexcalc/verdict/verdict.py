"""One verdict on a limb in its pose: a sentence, every check with its limit, all cautions.

A model result: no experiment stands behind the retained shares. Friction of the wire in its
clearance, a local kink at the channel's mouth, the softening of a first bend, shear and the layers
of a print are left out. A bench measurement narrows it more than any
refinement would.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from data.rules import Caution, check_choice, check_kind
from flexcalc.build.channel import ChannelSize, size_channel, typed_channel_cautions
from flexcalc.build.kink import Kink, kink_radius_of
from flexcalc.build.life import WireLife, wire_life
from flexcalc.joints.limbs import printed_curved
from flexcalc.limb.inputs import Limb, Setting, in_the_hand
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.pose.cautions import bend_cautions
from flexcalc.pose.pose import Pose, check_bends, hangs_slack, hold_poses, peaks_and_forces
from flexcalc.section.section import Section, limb_section
from flexcalc.spread.sample import PoseSample, sample_pose
from flexcalc.verdict.checks import (
    Check,
    build_checks,
    curve_check,
    hand_check,
    kink_check,
    life_check,
    sag_check,
    share_check,
    tip_checks,
    torsion_check,
)
from flexcalc.verdict.overbend import over_bent_setting
from flexcalc.verdict.plan import Wish
from flexcalc.wire.bending import rebent_limb

SAMPLES, SEED = 512, 0
"""Likely limbs behind a verdict, and what draws them: they tell a probability within 0.02."""
DRAWN = ("share", "sag", "tip", "kink", "life")
"""Checks that are met or not in each likely limb."""
Poses: TypeAlias = tuple[Pose | None, tuple[tuple[str, Pose], ...]]
"""How a limb rests, None where it hangs slack, and how at the TIMES."""
TIMES = (("at once", 0.0), ("after an hour", 3600.0), ("after a day", 86400.0))


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What a maker needs to know, and what it rests on.

    ``sentence`` says it; ``checks`` holds every question with its limit; ``pose`` is None where
    the limb hangs slack, and ``later``, the pose "at once", "after an hour" and "after a day",
    is empty then, or where nothing of it was asked; ``channel`` (one if there is a wire) and
    ``life`` likewise. ``made`` is the setting as it is bent by hand, further than wanted so that
    the wanted bends are left: by its bends kink, life and strain are judged. ``likely`` are limbs
    that could be this one, and ``wish`` what counts as holding. ``cautions`` are all of them, each
    kind once.
    """

    sentence: str
    checks: tuple[Check, ...] = field(repr=False)
    pose: Pose | None = field(repr=False)
    later: tuple[tuple[str, Pose], ...] = field(repr=False)
    section: Section = field(repr=False)
    made: Setting = field(repr=False)
    likely: PoseSample = field(repr=False)
    wish: Wish
    kink: Kink
    channel: tuple[ChannelSize, ...] = field(repr=False)
    life: tuple[WireLife, ...] = field(repr=False)
    cautions: tuple[Caution, ...]

    def __str__(self) -> str:
        return self.sentence

    @property
    def state(self) -> str:
        """What is said in one word: "holds", "close" or "fails".

        It "holds" where share, sag, kink and life are met together in at least the wanted
        probability of the likely limbs, and every other check holds; it is "close" from every
        other one on.
        """
        found = self.likely.probability
        sure = "holds" if found >= self.wish.probability else "close" if found >= 0.5 else "fails"
        states = {sure, *(check.state for check in self.checks if check.key not in DRAWN)}
        return "fails" if "fails" in states else "close" if "close" in states else "holds"


def assess(
    limb: Limb,
    setting: Setting,
    *,
    wish: Wish | None = None,
    printer: Printer | None = None,
    orientation: str = "lying",
    rule: str | None = None,
    back_stress: float | None = None,
    whole: bool = True,
) -> Verdict:
    """Return the verdict on a limb in a setting.

    Parameters
    ----------
    limb, setting : Limb, Setting
        The limb with its wire, and how it is posed and loaded.
    wish : Wish, optional
        What counts as holding; 85 % of the bend and 10 mm of sag if not given.
    printer : Printer, optional
        Measured or untested; gives clearances and bead width.
    orientation : str
        How the channel lies in the printer, "lying" or "upright".
    rule, back_stress : str, float, optional
        In place of the ``reversal`` and ``back_stress`` of the wire's metal.
    whole : bool
        False: nothing is said of later than the setting's rest time, which takes less.

    Returns
    -------
    Verdict

    Raises
    ------
    ValueError
        For a bend that the limb cannot take, and bad arguments.
    """
    wish = Wish() if wish is None else wish
    printer = Printer() if printer is None else printer
    check_kind("wish", wish, Wish, "a Wish")
    check_kind("printer", printer, Printer, "a Printer")
    check_choice("orientation", orientation, ORIENTATIONS)
    limb = rebent_limb(limb, rule, back_stress)
    check_bends(limb, setting)
    check_kind("whole", whole, bool, "True or False")
    middle = middle_limb(limb, setting, wish, printer, orientation, whole=whole)
    return verdict_of(limb, setting, wish, middle, likely_limbs(limb, setting, wish, printer))


def assess_posed(
    limb: Limb, setting: Setting, pose: Pose | None, wish: Wish, printer: Printer, orientation: str
) -> Verdict:
    """Return the verdict of `assess` on a limb whose pose is known, without what is later.

    ``pose`` is what `hold_pose` returns, None where the limb hangs slack; the other arguments are
    as `assess` takes them. Errors as `assess`.
    """
    check_bends(limb, setting)
    middle = middle_limb(limb, setting, wish, printer, orientation, poses=(pose, ()))
    return verdict_of(limb, setting, wish, middle, likely_limbs(limb, setting, wish, printer))


def later_poses(limb: Limb, setting: Setting) -> tuple[tuple[str, Pose], ...]:
    """Return a limb's pose "at once", "after an hour" and "after a day"; none where it hangs slack.

    Errors as `hold_pose`.
    """
    return _poses(limb, setting, whole=True)[1]


def likely_limbs(
    limb: Limb, setting: Setting, wish: Wish, printer: Printer, samples: int = SAMPLES
) -> PoseSample:
    """Return the draws behind a verdict; arguments as `assess` has checked them."""
    return sample_pose(
        limb,
        setting,
        samples=samples,
        seed=SEED,
        wanted_share=wish.share,
        sag_limit=wish.sag,
        printer=printer,
        re_poses=wish.re_poses,
        tip_within=wish.tip_within,
    )


@dataclass(frozen=True, kw_only=True)
class MiddleLimb:
    """The limb whose inputs are all in the middle of their spreads, and its checks."""

    pose: Pose | None
    later: tuple[tuple[str, Pose], ...]
    made: Setting
    kink: Kink
    channel: tuple[ChannelSize, ...]
    life: tuple[WireLife, ...]
    checks: tuple[Check, ...]
    cautions: tuple[Caution, ...]


def middle_limb(
    limb: Limb,
    setting: Setting,
    wish: Wish,
    printer: Printer,
    orientation: str,
    *,
    whole: bool = True,
    poses: Poses | None = None,
) -> MiddleLimb:
    """Return what a verdict says of the middle limb; arguments as `assess` has checked them.

    Without the ``whole`` of it nothing is said of later than the setting's rest time. ``poses``
    are those of the limb where they are known.
    """
    pose, later = _poses(limb, setting, whole) if poses is None else poses
    kink = kink_radius_of(limb, printer=printer)
    channel = _channel(limb, orientation, printer)
    made = _made(limb, setting, printer, wish)
    peaks, forces = peaks_and_forces(limb, made)
    life = _life(limb, peaks)
    checks = (
        share_check(pose, setting, wish),
        sag_check(pose, wish),
        kink_check(limb, made, kink, printer, peaks),
        *((curve_check(limb),) if printed_curved(limb) and limb.wire else ()),
        *_twisted(limb, pose),
        *(life_check(found, wish) for found in life),
        *hand_check(made, forces),
        *tip_checks(pose, wish),
        *(check for size in channel for check in build_checks(limb, setting, size, printer)),
    )
    found: list[tuple[Caution, ...]] = [_pose_cautions(limb, setting, pose), kink.cautions]
    found.append(bend_cautions(limb, made, peaks))
    found += [typed_channel_cautions(limb, printer, orientation)]
    found += [size.cautions for size in channel] + [one.cautions for one in life]
    return MiddleLimb(
        pose=pose,
        later=later,
        made=made,
        kink=kink,
        channel=channel,
        life=life,
        checks=checks,
        cautions=tuple({caution.key: caution for part in found for caution in part}.values()),
    )


def _poses(limb: Limb, setting: Setting, whole: bool) -> Poses:
    """Return how a limb rests, None where it hangs slack, and with the ``whole`` of it later."""
    if hangs_slack(limb, setting):
        return None, ()
    rest = setting.rest_time
    times = sorted({rest, *(time for _, time in TIMES if whole or time <= rest)})
    poses = dict(zip(times, hold_poses(limb, setting, times), strict=True))
    return poses[rest], tuple((name, poses[time]) for name, time in TIMES if whole)


def verdict_of(
    limb: Limb, setting: Setting, wish: Wish, middle: MiddleLimb, likely: PoseSample
) -> Verdict:
    """Return the verdict that the middle limb and the likely ones make together."""
    return Verdict(
        sentence=_sentence(limb, middle.checks, likely, wish),
        checks=middle.checks,
        pose=middle.pose,
        later=middle.later,
        section=limb_section(limb),
        made=middle.made,
        likely=likely,
        wish=wish,
        kink=middle.kink,
        channel=middle.channel,
        life=middle.life,
        cautions=middle.cautions,
    )


def _pose_cautions(limb: Limb, setting: Setting, pose: Pose | None) -> tuple[Caution, ...]:
    if pose is not None:
        return pose.cautions
    text = (
        "Weight and payload are so far above the limb's rigidity that it hangs slack; no shape is "
        "worked out."
    )
    return (*bend_cautions(limb, setting), Caution(key="hangs slack", text=text))


def _channel(limb: Limb, orientation: str, printer: Printer) -> tuple[ChannelSize, ...]:
    if limb.wire is None:
        return ()
    return (size_channel(limb.wire.bundle_diameter, orientation, printer=printer),)


def _made(limb: Limb, setting: Setting, printer: Printer, wish: Wish) -> Setting:
    """Return the tighter of every bend as wanted and as bent further by hand."""
    if any(bend.over_bend > 1 for bend in setting.bends):  # how far is said
        return replace(setting, bends=tuple(in_the_hand(bend) for bend in setting.bends))
    bent = over_bent_setting(limb, setting, printer=printer, re_poses=wish.re_poses)
    pairs = zip(setting.bends, bent.bends, strict=True)
    return replace(setting, bends=tuple(min(pair, key=lambda bend: bend.radius) for pair in pairs))


def _twisted(limb: Limb, pose: Pose | None) -> tuple[Check, ...]:
    check = None if pose is None else torsion_check(limb, pose)
    return () if check is None else (check,)


def _life(limb: Limb, peaks: Sequence[float]) -> tuple[WireLife, ...]:
    tightest = max(peaks, default=0.0)
    if limb.wire is None or tightest == 0:
        return ()
    return (wire_life(limb.wire, tightest),)


def _sentence(limb: Limb, checks: tuple[Check, ...], likely: PoseSample, wish: Wish) -> str:
    """Say the four drawn checks in their order where all holds, else the worst first."""
    by_key = {check.key: check for check in checks}
    share, sag = by_key["share"], by_key["sag"]
    others = all(check.state == "holds" for check in checks if check.key not in DRAWN)
    holds = likely.probability >= wish.probability and others
    met = {
        "share": likely.probability_kept,
        "sag": likely.probability_within_sag,
        "tip": likely.probability_within_tip,
        "kink": likely.probability_unkinked,
        "life": likely.probability_life,
    }
    kept = "keeps 0% of the bend" if sag.value == math.inf else share.answer
    words = {
        "share": kept.replace("keeps", "holds") if holds else f"it {kept}",
        "sag": f"the tip {sag.answer}",
        "kink": f"{'' if holds else 'it '}{by_key['kink'].answer}",
    }
    if "tip" in by_key:
        words["tip"] = f"the tip {by_key['tip'].answer}"
    if "life" in by_key:
        words["life"] = f"re-poses {by_key['life'].answer}"
    keys = list(words) if holds else sorted(words, key=lambda key: met[key])
    parts = [words[key] for key in keys]
    if sag.value == math.inf:
        parts = ["does not hold: it hangs slack", *(words[key] for key in keys if key != "sag")]
    ending = "" if limb.wire else " There is no wire in it."
    said = "; ".join(parts)
    return f"{said[0].upper()}{said[1:]}.{ending}"
