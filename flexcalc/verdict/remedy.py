"""What would make a limb hold: the plan changed in one place, the cheapest change first.

The middle limb screens, at the price of one pose a change; what helps it is assessed whole, so
that whoever adopts a change finds exactly the verdict that was promised.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, check_choice
from flexcalc.build.channel import sized_limb
from flexcalc.build.corner import corner_piece
from flexcalc.build.kink import Kink, kink_cure_of, kink_radius_of
from flexcalc.build.life import WireLife, wire_life
from flexcalc.joints.aims import leaves_plane
from flexcalc.joints.falling import pose_or_fall
from flexcalc.joints.limbs import in_the_room, limb_width, one_limb
from flexcalc.joints.posed import coarse
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Limb, Setting, Wire
from flexcalc.limb.materials import elastomer_names, load_elastomer
from flexcalc.limb.printer import ORIENTATIONS, Printer, hole_constant
from flexcalc.limb.trade import trade_size, trade_sizes, wire_name
from flexcalc.pose.centre_line import tip_sags
from flexcalc.pose.pose import check_bends, hangs_slack, worst_kept
from flexcalc.spread.likely_limits import limits_met
from flexcalc.spread.sample import Band
from flexcalc.verdict.checks import STATES, Check
from flexcalc.verdict.corner_check import with_corner
from flexcalc.verdict.overbend import over_bend_setting
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

HOLDS = (30.0, 120.0, 600.0)
"""Times for which a hand can be asked to hold a pose. [s]"""
MORE_PLACES = (1, 2, 4)
MORE_PRESSES = (2, 3)
LIGHTER = (0.75, 0.5, 0.25)
SIZES_UP = 4
SOFTER = 2
LEAST_OVER = 1.01
SURE = 0.98
"""A check that is met with this probability needs no remedy."""
MOST_KEPT = 0.97
"""About the most that any wire keeps of a bend: it springs back a little by itself."""
WORTH = 0.01
"""Least gain of a probability that is worth telling."""
MOST_ASSESSED, MOST_TOGETHER = 4, 1
"""How many changes, and how many of several together, are assessed whole."""
ENOUGH = 3
"""Kinds of change that hold by the guess, after which none that costs more is looked at."""


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


@dataclass(frozen=True, kw_only=True)
class Change:
    """A changed plan that was not looked at yet; ``key`` and ``title`` as of a Remedy."""

    key: str
    title: str
    limb: Limb
    setting: Setting


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """The plan that is to be helped, and what is known of it."""

    limb: Limb
    setting: Setting
    wish: Wish
    printer: Printer
    orientation: str
    verdict: Verdict

    def sized(self, limb: Limb) -> Limb:
        """Return a limb whose channel fits its wire as the plan's does: sized, or by as much."""
        if self.limb.wire is None or limb.wire is None:
            return limb
        own = sized_limb(self.limb, self.printer, self.orientation)
        if own.channel_diameter == self.limb.channel_diameter:
            return sized_limb(limb, self.printer, self.orientation)
        wider = limb.wire.bundle_diameter - self.limb.wire.bundle_diameter
        return replace(limb, channel_diameter=self.limb.channel_diameter + wider)


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
    that help most are assessed. Where three kinds hold none that costs more is looked at.
    """
    wish = Wish() if wish is None else wish
    printer = Printer() if printer is None else printer
    check_choice("orientation", orientation, ORIENTATIONS)
    verdict = assess(
        limb, setting, wish=wish, printer=printer, orientation=orientation, whole=False
    )
    if verdict.likely.probability >= wish.probability:
        return ()
    plan = _Plan(
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


def _picked(plan: _Plan) -> list[Change]:
    """Return of every kind of change the one that the middle limb speaks for, the best few."""
    now = _quick(plan.limb, plan.setting, plan)
    if now is None:
        return []
    least = _guessed(plan, now, now)
    picked: list[tuple[float, Change]] = []
    for kind in KINDS:
        if sum(guess >= plan.wish.probability for guess, _ in picked) == ENOUGH:
            break
        best: tuple[float, Change] | None = None
        for change in _admitted(kind, plan):
            then = _quick(change.limb, change.setting, plan)
            guess = 0.0 if then is None else _guessed(plan, now, then)
            if guess > (least + WORTH / 2 if best is None else best[0]):
                best = (guess, change)
            if guess >= plan.wish.probability:
                break
        if best is not None:
            picked.append(best)
    likeliest = sorted((guess for guess, _ in picked), reverse=True)[:MOST_ASSESSED]
    return [change for guess, change in picked if guess >= likeliest[-1]][:MOST_ASSESSED]


def _admitted(kind: Callable[[_Plan], Iterator[Change]], plan: _Plan) -> Iterator[Change]:
    """Yield the changes of a kind that the inputs admit."""
    changes = kind(plan)
    while True:
        try:
            change = next(changes)
            check_bends(change.limb, change.setting)
        except StopIteration:
            return
        except ValueError:
            # a generator that raised is at its end; one whose change was refused goes on
            continue
        yield change


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


def _quick(limb: Limb, setting: Setting, plan: _Plan) -> _Quick | None:
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


def _guessed(plan: _Plan, now: _Quick, then: _Quick) -> float:
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


def _assessed(plan: _Plan, change: Change) -> Remedy | None:
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


def _together(plan: _Plan, found: Sequence[Remedy]) -> list[Remedy]:
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


def _both(plan: _Plan, first: Remedy | Change, second: Remedy) -> Change | None:
    """Return the plan with the fields of both changes, None where they change the same one."""
    limb, setting = first.limb, first.setting
    for name in ("elastomer", "wall", "infill", "sleeve", "wire", "channel_diameter"):
        old, new = getattr(plan.limb, name), getattr(second.limb, name)
        if new != old:
            if getattr(limb, name) != old:
                return None
            taken = _changed(limb, name, new)
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


def _changed(limb: Limb, name: str, value: object) -> Limb | None:
    try:
        return replace(limb, **{name: value})  # type: ignore[arg-type]
    except ValueError:
        return None


def _hold_longer(plan: _Plan) -> Iterator[Change]:
    for seconds in HOLDS:
        if seconds > 1.5 * plan.setting.hold_time:
            words = f"{seconds:.0f} s" if seconds < 60 else f"{seconds / 60:.0f} min"
            yield Change(
                key="hold longer",
                title=f"Hold it for {words} before letting go",
                limb=plan.limb,
                setting=replace(plan.setting, hold_time=seconds),
            )


def _more_places(plan: _Plan) -> Iterator[Change]:
    if plan.setting.bent_by != "hands":
        return
    for more in MORE_PLACES:
        places = plan.setting.places + more
        if places <= 20:
            yield Change(
                key="more places",
                title=f"Press each bend at {places} places",
                limb=plan.limb,
                setting=replace(plan.setting, places=places),
            )


def _press_again(plan: _Plan) -> Iterator[Change]:
    for presses in MORE_PRESSES:
        if presses > plan.setting.presses:
            yield Change(
                key="press again",
                title=f"Press it into the pose {'twice' if presses == 2 else f'{presses} times'}, "
                f"{plan.setting.press_pause:.0f} s apart",
                limb=plan.limb,
                setting=replace(plan.setting, presses=presses),
            )


def _over_bend(plan: _Plan) -> Iterator[Change]:
    setting = plan.setting
    if plan.limb.wire is None or any(bend.over_bend > 1 for bend in setting.bends):
        return
    overs = over_bend_setting(plan.limb, setting, printer=plan.printer, re_poses=plan.wish.re_poses)
    bends = [
        replace(bend, over_bend=over.factor) if over and over.factor > LEAST_OVER else bend
        for bend, over in zip(setting.bends, overs, strict=True)
    ]
    further = [bend for bend in bends if bend.over_bend > 1]
    if further:
        words = ", ".join(f"{math.degrees(abs(b.angle) * b.over_bend):.0f}°" for b in further)
        wanted = ", ".join(f"{math.degrees(abs(b.angle)):.0f}°" for b in further)
        yield Change(
            key="over-bend",
            title=f"Bend it to {words} for the {wanted} wanted",
            limb=plan.limb,
            setting=replace(setting, bends=tuple(bends)),
        )


def _former(plan: _Plan) -> Iterator[Change]:
    if plan.setting.bent_by == "hands" and plan.setting.bends:
        yield Change(
            key="former",
            title="Bend it round a printed former",
            limb=plan.limb,
            setting=replace(plan.setting, bent_by="former"),
        )


def _anchor(plan: _Plan) -> Iterator[Change]:
    limb = plan.limb
    if limb.wire is not None and not limb.wire_anchored and leaves_plane(limb, plan.setting):
        yield Change(
            key="anchor",
            title="Hold the wire's end against turning at the root",
            limb=replace(limb, wire_anchored=True),
            setting=plan.setting,
        )


def _lighter(plan: _Plan) -> Iterator[Change]:
    for share in LIGHTER:
        if plan.setting.payload > 0:
            payload = float(f"{share * plan.setting.payload:.3g}")
            yield Change(
                key="lighter",
                title=f"Let the tip carry {payload * 1e3:.3g} g",
                limb=plan.limb,
                setting=replace(plan.setting, payload=payload),
            )


def _thinner_wall(plan: _Plan) -> Iterator[Change]:
    limb, bead = plan.limb, plan.printer.bead_width
    if limb.wall is None:
        return
    least = hole_constant("least_wall_beads").value
    beads = math.ceil(limb.wall / bead - 1e-6) - 1
    while beads >= least:
        made = _changed(limb, "wall", float(f"{beads * bead:.6g}"))
        if made is not None:
            yield Change(
                key="thinner wall",
                title=f"Print the wall {show_length(beads * bead)} thick, {beads} beads",
                limb=made,
                setting=plan.setting,
            )
        beads -= 1


def _no_sleeve(plan: _Plan) -> Iterator[Change]:
    made = _changed(plan.limb, "sleeve", 0.0)
    if plan.limb.sleeve > 0 and plan.limb.infill > 0 and made is not None:
        yield Change(
            key="no sleeve",
            title="Leave the sleeve around the channel away",
            limb=made,
            setting=plan.setting,
        )


def _against_kinks(plan: _Plan) -> Iterator[Change]:
    likely, limb = plan.verdict.likely, plan.limb
    if likely.probability_unkinked >= SURE or limb.wall is None:
        return
    (kink,) = (check for check in plan.verdict.checks if check.key == "kink")
    cure = kink_cure_of(limb, kink.bound, printer=plan.printer)
    if cure is None:
        return
    bead = plan.printer.bead_width
    wall = math.ceil(cure.wall / bead - 1e-6) * bead
    for name, value, words in (
        ("wall", float(f"{wall:.6g}"), f"Print the wall {show_length(wall)} thick"),
        ("infill", math.ceil(100 * cure.infill) / 100, f"Print {cure.infill:.0%} infill"),
    ):
        made = _changed(limb, name, value) if value > getattr(limb, name) else None
        if made is not None:
            yield Change(key="against kinks", title=words, limb=made, setting=plan.setting)


def _softer(plan: _Plan) -> Iterator[Change]:
    own = plan.limb.elastomer.elastic_modulus
    tabled = [load_elastomer(name) for name in elastomer_names()]
    softer = [one for one in tabled if one.elastic_modulus < 0.9 * own]
    for one in sorted(softer, key=lambda one: -one.elastic_modulus)[:SOFTER]:
        yield Change(
            key="softer filament",
            title=f"Print it in {one.name}",
            limb=replace(plan.limb, elastomer=one),
            setting=plan.setting,
        )


def _other_sizes(plan: _Plan, sizes: Sequence[float], key: str) -> Iterator[Change]:
    wire = plan.limb.wire
    if wire is None:
        return
    for diameter in sizes:
        other = Wire(metal=wire.metal, diameter=diameter, strands=wire.strands)
        wide = max(plan.limb.channel_diameter, other.bundle_diameter)
        room = (
            plan.limb
            if plan.limb.wire_runs_in_bore
            else _changed(plan.limb, "channel_diameter", wide)
        )
        made = None if room is None else _changed(room, "wire", other)
        if made is not None:
            try:
                made = plan.sized(made)
            except ValueError:
                continue
            yield Change(key=key, title=f"Take {wire_name(other)}", limb=made, setting=plan.setting)


def _diameters(plan: _Plan) -> tuple[list[float], list[float]]:
    """Return the usual sizes of the wire's own system: thinner and thicker, the nearest first."""
    wire = plan.limb.wire
    if wire is None:
        return [], []
    system = trade_size(wire).system
    usual = sorted(size.diameter for size in trade_sizes() if size.system == system)
    thinner = [size for size in usual if size < wire.diameter * 0.999]
    return thinner[::-1], [size for size in usual if size > wire.diameter * 1.001]


def _thicker_wire(plan: _Plan) -> Iterator[Change]:
    yield from _other_sizes(plan, _diameters(plan)[1][:SIZES_UP], "thicker wire")


def _thinner_wire(plan: _Plan) -> Iterator[Change]:
    if plan.verdict.likely.probability_life < SURE:
        yield from _other_sizes(plan, _diameters(plan)[0][:SIZES_UP], "thinner wire")


def _corner(plan: _Plan) -> Iterator[Change]:
    if plan.limb.wire is None or plan.verdict.pose is None:
        return
    shares = plan.verdict.pose.retained_share
    bends = [n for n, bend in enumerate(plan.setting.bends) if bend.angle and not bend.rigid]
    for number in sorted(bends, key=lambda n: (-abs(plan.setting.bends[n].curvature), shares[n])):
        bend = plan.setting.bends[number]
        try:
            piece = corner_piece(
                plan.limb, bend, payload=plan.setting.payload, printer=plan.printer
            )
            made = with_corner(plan.setting, number, piece)
        except ValueError:
            continue
        title = f"Hold bend {number + 1} by a printed corner piece"
        yield Change(key="corner piece", title=title, limb=plan.limb, setting=made)


KINDS: tuple[Callable[[_Plan], Iterator[Change]], ...] = (
    _hold_longer,
    _more_places,
    _press_again,
    _over_bend,
    _former,
    _anchor,
    _lighter,
    _thinner_wall,
    _no_sleeve,
    _against_kinks,
    _softer,
    _thicker_wire,
    _thinner_wire,
    _corner,
)
"""Kinds of change, the cheapest first: by the hand, by the print, by what is bought."""
FOR_STRANGERS = ((_thicker_wire, 3), (_thinner_wall, 2), (_softer, 1), (_lighter, 2))
"""What a stranger can change who has printed nothing yet, and how many of each are tried."""


def changes_for_strangers(
    limb: Limb,
    setting: Setting,
    wish: Wish,
    printer: Printer,
    orientation: str,
    verdict: Verdict,
) -> list[Change]:
    """Return changes of a plan that are worth a try with another spool or wire, mildest first."""
    plan = _Plan(
        limb=limb,
        setting=setting,
        wish=wish,
        printer=printer,
        orientation=orientation,
        verdict=verdict,
    )
    found = [list(itertools.islice(_admitted(kind, plan), most)) for kind, most in FOR_STRANGERS]
    return [change for row in itertools.zip_longest(*found) for change in row if change is not None]
