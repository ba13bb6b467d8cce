"""What would make a limb hold: the plan changed in one place, the cheapest change first.

The middle limb screens, at the price of one pose a change; what helps it is assessed whole, so
that whoever adopts a change finds exactly the verdict that was promised.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, check_choice
from flexcalc.build.kink import Kink, kink_radius_of
from flexcalc.build.life import WireLife, wire_life
from flexcalc.joints.falling import pose_or_fall
from flexcalc.joints.limbs import in_the_room, limb_width, one_limb
from flexcalc.joints.posed import coarse
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Limb, Setting
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.pose.centre_line import tip_sags
from flexcalc.pose.pose import hangs_slack, worst_kept
from flexcalc.spread.likely_limits import limits_met
from flexcalc.spread.sample import Band
from flexcalc.verdict.change import KINDS, AssessedPlan, Change, admitted, changed_limb
from flexcalc.verdict.checks import STATES, Check
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import (
    DRAWN,
    SEED,
    Verdict,
    assess,
    likely_limbs,
    middle_limb,
    verdict_of,
)

MOST_KEPT = 0.97
"""About the most that any wire keeps of a bend: it springs back a little by itself."""
WORTH = 0.01
"""Least gain of a probability that is worth telling."""
MOST_ASSESSED, MOST_TOGETHER = 4, 1
"""How many changes, and how many of several together, are assessed whole."""
ENOUGH = 3
"""Changes that are assessed where so many hold by the guess."""


@dataclass(frozen=True, kw_only=True)
class Remedy:
    """One change of a plan that helps it to hold.

    ``key`` names the kind of change; ``title`` says it in a few words and ``sentence`` with what
    comes of it. ``limb`` and ``setting`` are the changed plan: assessed with the same wish,
    printer and orientation it has this ``share`` of the middle limb's worst bend, this ``band``
    of the likely limbs' and this ``probability`` of all that is wished. ``holds``: whether the
    verdict then is that it holds.
    """

    key: str
    title: str
    sentence: str
    limb: Limb = field(repr=False)
    setting: Setting = field(repr=False)
    share: float
    band: Band
    probability: float
    holds: bool

    def __str__(self) -> str:
        return self.sentence


def remedies(
    limb: Limb,
    setting: Setting,
    wish: Wish | None = None,
    *,
    printer: Printer | None = None,
    orientation: str = "lying",
) -> tuple[Remedy, ...]:
    """Return what helps a limb to hold, the cheapest first; nothing where it holds already.

    Parameters
    ----------
    limb, setting : Limb, Setting
        The plan as it is.
    wish : Wish, optional
        What counts as holding, as for `assess`.
    printer : Printer, optional
        As for `assess`.
    orientation : str
        How the channel lies in the printer, "lying" or "upright".

    Returns
    -------
    tuple of Remedy
        Each is one change: no check of it is worse than that of the plan, and it holds with a
        higher probability. Where none holds by itself the last one is several of them together.

    Raises
    ------
    ValueError
        As `assess`.

    Notes
    -----
    The plan's likely limbs, changed as the middle one changes, tell about how likely a change
    holds: of every kind the mildest that does is taken, else the one that helps most, and the few
    that help most are assessed.
    """
    wish = Wish() if wish is None else wish
    printer = Printer() if printer is None else printer
    check_choice("orientation", orientation, ORIENTATIONS)
    verdict = assess(
        limb, setting, wish=wish, printer=printer, orientation=orientation, whole=False
    )
    if verdict.likely.probability >= wish.probability:
        return ()
    plan = AssessedPlan(
        limb=limb,
        setting=setting,
        wish=wish,
        printer=printer,
        orientation=orientation,
        verdict=verdict,
    )
    tried = [_assessed(plan, change) for change in _picked(plan)]
    found = [remedy for remedy in tried if remedy is not None]
    if not any(remedy.holds for remedy in found):
        found += _together(plan, found)
    return tuple(found)


def _picked(plan: AssessedPlan) -> list[Change]:
    """Return of every kind of change the one that the middle limb speaks for, the best few."""
    now = _quick(plan.limb, plan.setting, plan)
    if now is None:
        return []
    least = _guessed(plan, now, now)
    picked: list[tuple[float, Change]] = []
    for kind in KINDS:
        best: tuple[float, Change] | None = None
        for change in admitted(kind, plan):
            then = _quick(change.limb, change.setting, plan)
            guess = 0.0 if then is None else _guessed(plan, now, then)
            if guess > (least + WORTH / 2 if best is None else best[0]):
                best = (guess, change)
            if guess >= plan.wish.probability:
                break
        if best is not None:
            picked.append(best)
    likeliest = sorted((guess for guess, _ in picked), reverse=True)
    most = min(MOST_ASSESSED, len(likeliest))
    if most > ENOUGH and likeliest[ENOUGH - 1] >= plan.wish.probability:
        most = ENOUGH
    return [change for guess, change in picked if guess >= likeliest[most - 1]][:most]


@dataclass(frozen=True, kw_only=True)
class _Quick:
    """The middle limb, quickly: share, sag [m], tightest curvature [1/m], kink, life of the wire
    there, and whether it is bent further than wanted."""

    share: float
    sag: float
    peak: float
    kink: Kink
    life: WireLife | None
    further: bool


def _quick(limb: Limb, setting: Setting, plan: AssessedPlan) -> _Quick | None:
    """Return the middle limb in few joints, None where it hangs slack."""
    if hangs_slack(limb, setting):
        return None
    warm = in_the_room(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    limbs = one_limb(warm, setting)
    posed = pose_or_fall(
        warm, limbs, setting, stretches, coarse(setting), (setting.rest_time,), settles=False
    )
    look = posed.looks[0]
    sag = float(tip_sags(look, posed.arc_length)[0])
    own = [n for n, bend in enumerate(setting.bends) if bend.angle and not bend.rigid]
    peak = float(posed.peak[0, own].max()) if own else 0.0
    return _Quick(
        share=float(worst_kept(look.retained, setting.bends, look.straightened)[0]),
        sag=sag if look.stable[0] else math.inf,
        peak=peak,
        kink=kink_radius_of(limb, printer=plan.printer),
        life=wire_life(limb.wire, peak) if limb.wire is not None and peak else None,
        further=any(bend.over_bend > 1 for bend in setting.bends),
    )


def _guessed(plan: AssessedPlan, now: _Quick, then: _Quick) -> float:
    """Return about how likely a changed plan holds: the plan's likely limbs, changed as the
    middle one changes; a hundredth of the worst of the four is in it, where several fail."""
    likely, wish = plan.verdict.likely, plan.wish
    worst = likely.worst
    if then.further and not now.further:
        worst = 1 - np.abs(1 - (worst + 1 - now.share))
    else:
        # a share nears the most that a wire keeps as a logistic curve does
        worst = _kept_of(_strength(worst) + _strength(then.share) - _strength(now.share))
    grown = abs(then.sag) / max(abs(now.sag), 1e-9)
    met = (
        worst >= wish.share,
        likely.sags * grown <= wish.sag,
        *limits_met(then.kink, then.life, then.peak, wish.re_poses, likely.samples, SEED),
    )
    together = float(np.all(met, axis=0).mean())
    return together + WORTH * min(float(one.mean()) for one in met)


def _strength(share: ArrayLike) -> Array:
    kept = np.clip(share, 1e-3, MOST_KEPT - 1e-3)
    return np.asarray(np.log(kept / (MOST_KEPT - kept)))


def _kept_of(strength: Array) -> Array:
    return np.asarray(MOST_KEPT / (1 + np.exp(-strength)))


def _assessed(plan: AssessedPlan, change: Change) -> Remedy | None:
    """Return a change with what comes of it, None where it does not help or breaks a check."""
    limb, setting, wish = change.limb, change.setting, plan.wish
    try:
        middle = middle_limb(limb, setting, wish, plan.printer, plan.orientation, whole=False)
        if _fails_a_check(plan.verdict, middle.checks):
            return None
        likely = likely_limbs(limb, setting, wish, plan.printer)
    except ValueError:
        return None
    verdict = verdict_of(limb, setting, wish, middle, likely)
    if _misses_more(plan.verdict, verdict) or not _better(plan.verdict, verdict):
        return None
    share = next(check.value for check in verdict.checks if check.key == "share")
    holds = verdict.state == "holds"
    return Remedy(
        key=change.key,
        title=change.title,
        sentence=f"{change.title}: the limb then holds with a probability of "
        f"{likely.probability:.0%}, not {plan.verdict.likely.probability:.0%}, and keeps "
        f"{share:.0%} of the bend ({likely.worst_share.low:.0%} to {likely.worst_share.high:.0%}).",
        limb=change.limb,
        setting=change.setting,
        share=share,
        band=likely.worst_share,
        probability=likely.probability,
        holds=holds,
    )


def _fails_a_check(before: Verdict, after: Sequence[Check]) -> bool:
    """Tell whether a check that held does not any more, or one that was close fails.

    The four that the likely limbs meet or not are judged by these.
    """
    states = {check.key: STATES.index(check.state) for check in before.checks}
    return any(
        STATES.index(check.state) > states.get(check.key, 0)
        for check in after
        if check.key not in DRAWN or states.get(check.key, 0) == 0
    )


def _misses_more(before: Verdict, after: Verdict) -> bool:
    """Tell whether one of the four that was likely enough is not any more."""
    wanted = before.wish.probability
    return any(now < wanted <= then for then, now in zip(_met(before), _met(after), strict=True))


def _met(verdict: Verdict) -> tuple[float, ...]:
    likely = verdict.likely
    return (
        likely.probability_kept,
        likely.probability_within_sag,
        likely.probability_within_tip,
        likely.probability_unkinked,
        likely.probability_life,
    )


def _better(before: Verdict, after: Verdict) -> bool:
    """Tell whether a change is worth it: all together, or the worst of the four."""
    if after.likely.probability >= before.likely.probability + WORTH:
        return True
    low = before.likely.probability < WORTH
    return low and min(_met(after)) > min(_met(before)) + WORTH


def _together(plan: AssessedPlan, found: Sequence[Remedy]) -> list[Remedy]:
    """Return several changes in one plan, the likeliest and what goes with it."""
    if not found:
        return []
    best, *rest = sorted(found, key=lambda one: (-one.probability, -one.share))
    made: list[Remedy] = []
    for _ in range(MOST_TOGETHER):
        # all the others that do not change the same, then one less each time
        change: Change | None = None
        for other in rest:
            change = _both(plan, change or best, other) or change
        remedy = None if change is None else _assessed(plan, change)
        if remedy is not None and remedy.probability >= best.probability + WORTH:
            made.append(remedy)
            break
        rest = rest[: len(rest) // 2]
    return made


def _both(plan: AssessedPlan, first: Remedy | Change, second: Remedy) -> Change | None:
    """Return the plan with the fields of both changes, None where they change the same one."""
    limb, setting = first.limb, first.setting
    for name in ("elastomer", "wall", "infill", "sleeve", "wire", "channel_diameter"):
        old, new = getattr(plan.limb, name), getattr(second.limb, name)
        if new != old:
            if getattr(limb, name) != old:
                return None
            taken = changed_limb(limb, name, new)
            if taken is None:
                return None
            limb = taken
    for name in ("bends", "payload", "hold_time", "bent_by", "places", "presses"):
        old, new = getattr(plan.setting, name), getattr(second.setting, name)
        if new != old:
            if getattr(setting, name) != old:
                return None
            setting = replace(setting, **{name: new})
    title = f"{first.title}; {second.title[0].lower()}{second.title[1:]}"
    key = f"{first.key} and {second.key}"
    return Change(key=key, title=title, limb=limb, setting=setting)
