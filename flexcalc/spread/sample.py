"""Hold with a probability: the whole chain for thousands of limbs that could be this one.

The spread is that of the tables and of the inputs, of the hands that bend the limb, of the room's
temperature, and of the model's own error. Every limb keeps the same pose, length and hold.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from data.rules import Array, Caution, check_kind, check_number, check_whole
from flexcalc.build.kink import kink_radius_of
from flexcalc.build.life import wire_life
from flexcalc.joints.falling import pose_or_fall
from flexcalc.joints.limbs import in_the_room, limb_width
from flexcalc.joints.posed import Posed, coarse
from flexcalc.joints.rows import Limbs
from flexcalc.limb.inputs import Limb, Setting
from flexcalc.limb.printer import Printer
from flexcalc.pose.cautions import bend_cautions
from flexcalc.pose.centre_line import points_of, tip_moves, tip_sags
from flexcalc.pose.pose import check_bends, peaks_in_hand, worst_kept
from flexcalc.rod.chain import Mask
from flexcalc.spread.drivers import Driver, measure_next, ranked_drivers
from flexcalc.spread.likely_hands import bent_by_hand, likely_hands
from flexcalc.spread.likely_limbs import drawn_inputs, drawn_limbs, unit_points
from flexcalc.spread.likely_limits import limits_met
from flexcalc.wire.bending import rebent_limb

CHUNK = 192
"""Limbs computed together: their arrays then stay in the processor's cache."""
BAND = (0.1, 0.9)
FAN_LINES = 11
WANTED_SHARE = 0.85


@dataclass(frozen=True, kw_only=True)
class Band:
    """Median and 80 % band of a result: one in ten lies below ``low``, one above ``high``."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class FanLine:
    """One possible centre line at rest: ``level`` is the share of limbs whose tip points lower
    in the order of the tip's direction; ``positions`` (n, 2) from the side, ``points`` (n, 3) in
    space [m].
    """

    level: float
    positions: Array = field(repr=False)
    points: Array = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class PoseSample:
    """What becomes of thousands of limbs that could be this one.

    ``retained_share``: one band per bend; ``worst_share``: band of each limb's worst bend, one of
    the pose before that was to go counted by how far it went;
    ``tip_sag`` [m]. ``probability_kept``: that every bend keeps at least ``wanted_share``;
    ``probability_within_sag``: that the tip falls no more than ``sag_limit`` [m] (infinite if
    none was asked for); ``probability_within_tip``: that it rests as near to where the hand put it
    as was asked for; ``probability_unkinked`` and ``probability_life``: that the limb does not
    kink and the wire bears the re-poses (1 where no life was asked for); ``probability``: all of
    them. ``probability_stable``: that the pose does not
    buckle, snap over or hang slack. A limb that hangs slack does not hold; its sag is that of one
    straight down, and the ``fan`` leaves it out. ``drivers``: the uncertain inputs, strongest
    first. ``inputs`` (samples,) by name, ``retained`` (samples, bends), ``worst`` (samples,) share
    of each limb's worst bend and ``sags`` (samples,) [m] are the samples, ``met`` (samples, 4)
    whether each keeps its share, holds its tip, does not
    kink and lives as wished.
    """

    samples: int
    wanted_share: float
    sag_limit: float
    retained_share: tuple[Band, ...]
    worst_share: Band
    tip_sag: Band
    probability_kept: float
    probability_within_sag: float
    probability_within_tip: float
    probability_unkinked: float
    probability_life: float
    probability: float
    probability_stable: float
    drivers: tuple[Driver, ...] = field(repr=False)
    measure_next: str
    fan: tuple[FanLine, ...] = field(repr=False)
    inputs: dict[str, Array] = field(repr=False)
    retained: Array = field(repr=False)
    worst: Array = field(repr=False)
    sags: Array = field(repr=False)
    met: Mask = field(repr=False)
    cautions: tuple[Caution, ...]


def sample_pose(
    limb: Limb,
    setting: Setting,
    samples: int = 4096,
    seed: int = 0,
    wanted_share: float = WANTED_SHARE,
    sag_limit: float | None = None,
    rule: str | None = None,
    printer: Printer | None = None,
    back_stress: float | None = None,
    *,
    re_poses: float | None = None,
    tip_within: float | None = None,
) -> PoseSample:
    """Return how a limb holds a pose, with the probability that it does.

    Parameters
    ----------
    limb : Limb
        Its materials carry their spreads.
    setting : Setting
        The pose; the payload is uncertain too.
    samples : int
        How many limbs, 16 to 65536; powers of two fill the space best.
    seed : int
        0 to 2**32 - 1; the same seed draws the same limbs.
    wanted_share : float
        Share of every bend that is to stay, 0 to 1.
    sag_limit : float, optional
        How far the tip may fall from its released place; no limit if left out. [m]
    rule : str, optional
        In place of the ``reversal`` of the wire's metal.
    printer : Printer, optional
        Spread of wall and wire; an untested printer if left out.
    back_stress : float, optional
        A back-stress that is known, in place of that spread.
    re_poses : float, optional
        Wanted life of the wire, 1 to 10 million: ``probability`` is then also that of no kink and
        of this life.
    tip_within : float, optional
        How near to where the hand put it the tip is to rest; not asked for if left out. [m]

    Returns
    -------
    PoseSample

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    RuntimeError
        With its inputs, if the rod solver does not converge.

    Notes
    -----
    Scrambled Sobol points; the chain is that of `hold_pose` with fewer joints, fibres and looks
    (share within 3e-3, sag within 3 %).
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    count = check_whole("samples", samples, least=16, most=65536)
    start = check_whole("seed", seed, least=0, most=2**32 - 1)
    wanted = check_number("wanted share", wanted_share, least=0.0, most=1.0)
    limit = math.inf
    if sag_limit is not None:
        limit = check_number("sag limit", sag_limit, least=0.0, most=1.0, unit="m")
    near = math.inf
    if tip_within is not None:
        near = check_number("tip within", tip_within, above=0.0, most=1.0, unit="m")
    limb = rebent_limb(limb, rule, back_stress)
    machine = Printer() if printer is None else printer
    check_kind("printer", machine, Printer, "a Printer or None")
    check_bends(limb, setting)
    planned, limb = limb, in_the_room(limb, setting)
    drawn = drawn_inputs(limb, setting, machine, unit_points(count, start))
    if back_stress is not None and "back-stress share" in drawn:
        drawn["back-stress share"] = np.full(count, float(back_stress))
    found = _posed(drawn_limbs(limb, setting, drawn), limb, setting, drawn.get("how it is bent"))
    tight = _too_tight(planned, setting, drawn, found)
    met = np.ones(count, dtype=bool), ~tight
    if re_poses is not None:
        lives = check_number("re-poses", re_poses, least=1.0, most=1e7)
        tightest = _tightest(found, setting)
        life = wire_life(limb.wire, tightest) if limb.wire is not None and tightest else None
        kink = kink_radius_of(limb, printer=machine)
        straight, long = limits_met(kink, life, tightest, lives, count, start)
        met = straight, long & ~tight
    return _summed_up(limb, setting, drawn, found, (wanted, limit, near), met, tight)


def _too_tight(limb: Limb, setting: Setting, drawn: dict[str, Array], found: _Found) -> Mask:
    """Return which wires (samples,) the hands bend round their own radius.

    Raises
    ------
    ValueError
        If they do it to the limb as it is planned.
    """
    if limb.wire is None or not bent_by_hand(setting):
        return np.zeros(len(found.sags), dtype=bool)
    round_itself = found.peaks.max(axis=1, initial=0.0) * drawn["wire diameter"] > 2.0
    if round_itself.any():
        peaks_in_hand(limb, setting)
    return np.asarray(round_itself)


def _tightest(found: _Found, setting: Setting) -> float:
    """Return the greatest curvature in the hand of the middle limb, 0 without a bend. [1/m]"""
    own = [number for number, bend in enumerate(setting.bends) if bend.angle and not bend.rigid]
    return float(np.median(found.peaks[:, own].max(axis=1))) if own else 0.0


@dataclass(frozen=True, kw_only=True)
class _Found:
    arcs: Array
    retained: Array
    straightened: Array
    peaks: Array
    sags: Array
    moves: Array
    angles: Array
    points: Array | None
    stable: Array
    slack: Mask


def _posed(limbs: Limbs, limb: Limb, setting: Setting, by: Array | None) -> _Found:
    """Return what becomes of limbs that are bent ``by`` one of the likely hands each."""
    hands = likely_hands(setting, limb.length, limb_width(limb))
    rows, parts = [], []
    for number, hand in enumerate(hands):
        own = np.arange(len(limbs.payload)) if by is None else np.flatnonzero(by == number)
        for first in range(0, len(own), CHUNK):
            some = own[first : first + CHUNK]
            rows.append(some)
            parts.append(
                pose_or_fall(
                    limb, limbs.take(some), hand.setting, hand.stretches, coarse(setting),
                    (setting.rest_time,),
                )
            )  # fmt: skip
    back = np.argsort(np.concatenate(rows))
    arcs = parts[len(parts) // 2].arc_length
    looks = [part.looks[0] for part in parts]
    lines: list[Array] = []
    if any(look.lines is not None for look in looks):
        for part, look in zip(parts, looks, strict=True):
            line = None if look.lines is None else look.lines[1]
            lines.append(_at(arcs, part, points_of(look.resting, part.arc_length, line)))
    sags = [tip_sags(part.looks[0], part.arc_length) for part in parts]
    return _Found(
        arcs=arcs,
        retained=np.concatenate([look.retained for look in looks])[back],
        straightened=np.concatenate([look.straightened for look in looks])[back],
        peaks=np.concatenate([part.peak for part in parts])[back],
        sags=np.concatenate(sags)[back],
        moves=np.concatenate([tip_moves(part) for part in parts])[back],
        angles=np.concatenate([_at(arcs, part, part.looks[0].resting) for part in parts])[back],
        points=np.concatenate(lines)[back] if lines else None,
        stable=np.concatenate([look.stable for look in looks]).astype(np.float64)[back],
        slack=np.concatenate([part.slack for part in parts])[back],
    )


def _at(arcs: Array, part: Posed, angles: Array) -> Array:
    """Return angles (B, n), or points (B, n, 3), of a part at other arc lengths (n,)."""
    own = part.arc_length
    if np.array_equal(own, arcs):
        return angles
    after = np.clip(np.searchsorted(own, arcs), 1, len(own) - 1)
    share = (arcs - own[after - 1]) / (own[after] - own[after - 1])
    share = share.reshape(-1, *[1] * (angles.ndim - 2))
    return np.asarray((1 - share) * angles[:, after - 1] + share * angles[:, after])


def _summed_up(
    limb: Limb,
    setting: Setting,
    drawn: dict[str, Array],
    found: _Found,
    goals: tuple[float, float, float],
    met: tuple[Mask, Mask],
    tight: Mask,
) -> PoseSample:
    wanted, limit, near = goals
    unkinked, lives = met
    sags, worst = found.sags, worst_kept(found.retained, setting.bends, found.straightened)
    stands = found.stable > 0
    kept, within = worst >= wanted, (sags <= limit) & stands
    reached = (found.moves <= near) & stands if near < math.inf else np.ones_like(within)
    all_met = np.stack([kept, within & reached, unkinked, lives], axis=1)
    drivers = ranked_drivers(drawn, worst, sags)
    stable = float(found.stable.mean())
    return PoseSample(
        samples=len(sags),
        wanted_share=wanted,
        sag_limit=limit,
        retained_share=tuple(_band(column) for column in found.retained.T),
        worst_share=_band(worst),
        tip_sag=_band(sags),
        probability_kept=float(kept.mean()),
        probability_within_sag=float(within.mean()),
        probability_within_tip=float(reached.mean()),
        probability_unkinked=float(unkinked.mean()),
        probability_life=float(lives.mean()),
        probability=float(all_met.all(axis=1).mean()),
        probability_stable=stable,
        drivers=drivers,
        measure_next=measure_next(drivers),
        fan=_fan(found),
        inputs=drawn,
        retained=found.retained,
        worst=worst,
        sags=found.sags,
        met=all_met,
        cautions=bend_cautions(limb, setting, np.median(found.peaks, axis=0).tolist())
        + _rest_cautions(found)
        + _tight_cautions(tight),
    )


def _tight_cautions(tight: Mask) -> tuple[Caution, ...]:
    if not tight.any():
        return ()
    text = (
        f"In {tight.mean():.0%} of the cases the hands bend the wire round its own radius; those "
        "count as wires that crack."
    )
    return (Caution(key="wire round itself", text=text),)


def _band(values: Array) -> Band:
    low, median, high = (float(x) for x in np.quantile(values, (BAND[0], 0.5, BAND[1])))
    return Band(median=median, low=low, high=high)


def _fan(found: _Found) -> tuple[FanLine, ...]:
    order = np.argsort(found.angles[:, -1], kind="stable")
    order = order[~found.slack[order]]
    if order.size == 0:
        return ()
    levels = np.linspace(0.05, 0.95, FAN_LINES)
    picked = order[np.round(levels * (len(order) - 1)).astype(int)]
    if found.points is None:
        lines = points_of(found.angles[picked], found.arcs, None)
    else:
        lines = found.points[picked]
    return tuple(
        FanLine(level=float(level), positions=line[:, [0, 2]], points=line)
        for level, line in zip(levels, lines, strict=True)
    )


def _rest_cautions(found: _Found) -> tuple[Caution, ...]:
    slack = float(found.slack.mean())
    falls = 1 - float(found.stable.mean()) - slack
    cautions = []
    if slack > 0:
        text = (
            f"In {slack:.0%} of the cases weight and payload are so far above the limb's rigidity "
            "that it hangs slack; those count as not holding."
        )
        cautions.append(Caution(key="hangs slack", text=text))
    if falls > 1e-9:
        text = (
            f"In {falls:.0%} of the cases the limb cannot keep this pose under its weight and "
            "payload: it buckles, snaps over or falls sideways."
        )
        cautions.append(Caution(key="loses its pose", text=text))
    return tuple(cautions)
