"""The heart: how much of a bend a limb keeps, and how it rests under its own weight.

Always true of the model: no friction of the wire in its channel, no kink at the channel's
mouth, no shear. The retained shares are model results
that no published experiment backs; a bench measurement of one limb is worth more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from data.rules import Array, Caution, check_kind, check_numbers, refuse
from flexcalc.joints.aims import leaves_plane
from flexcalc.joints.falling import may_fall_sideways
from flexcalc.joints.limbs import (
    FLATTEST,
    flatness,
    in_space,
    in_the_room,
    limb_width,
    one_limb,
    printed_curved,
)
from flexcalc.joints.posed import FINE, Looked, Posed, hand_peaks, line_in_hand, pose_limbs
from flexcalc.joints.rows import Limbs, load_share
from flexcalc.joints.space_line import SpaceLine
from flexcalc.joints.stretches import Stretch, bent_stretches
from flexcalc.limb.inputs import GRAVITY, Bend, Limb, Setting
from flexcalc.pose.cautions import bend_cautions, rest_cautions, space_cautions
from flexcalc.pose.centre_line import LEAST_STRETCH, points_of, positions_of
from flexcalc.pose.retained import check_wire_fits
from flexcalc.pose.retained import retained_bend as retained_bend
from flexcalc.rod.chain import SLACK
from flexcalc.wire.bending import rebent_limb

MOST_TIMES = 1000
MOST_STRETCH = 10.0
"""Half a limb's width over the radius of a bend, up to which it is a rod that leaves its plane."""


@dataclass(frozen=True, kw_only=True)
class Shape:
    """A limb's centre line at stations from the clamp to the tip.

    ``arc_length`` (n,) [m]; ``points`` (n, 3), x forward, y to the left and z up from the clamp
    [m]; ``positions`` (n, 2), the same from the side, x to the right and y up; ``angles`` (n,) from
    straight down [rad]; ``curvature`` (n - 1,) between stations [1/m], positive where the limb
    curls upward; without sign for a limb that leaves its plane.
    """

    arc_length: Array
    positions: Array
    angles: Array
    curvature: Array
    points: Array

    def __repr__(self) -> str:
        x, y = self.tip
        return f"Shape({len(self.arc_length)} stations, tip at {x:.4g}, {y:.4g} m)"

    @property
    def tip(self) -> tuple[float, float]:
        """Where the tip is, (x, y) from the clamp, seen from the side. [m]"""
        return float(self.positions[-1, 0]), float(self.positions[-1, 1])


@dataclass(frozen=True, kw_only=True)
class Moments:
    """What works against what. [N m]

    ``root``: of weight and payload about the clamp, positive where they push the limb down from
    x > 0; ``wire`` and ``elastomer``: one per bend where it is bent most, the wire's moment and
    the elastomer's pull when the hand lets go, both without sign; ``wire_torque``: the greatest
    torque that twists the wire at rest where it cannot turn in its channel, without sign, 0 for a
    limb that stays in its plane.
    """

    root: float
    wire: tuple[float, ...]
    elastomer: tuple[float, ...]
    wire_torque: float


@dataclass(frozen=True, kw_only=True)
class Pose:
    """A limb as set by hand, after letting go, and at rest under its weight and payload.

    One per bend: ``retained_share`` of its angle without weight at the setting's rest time (1 for
    a bend of no angle, below 0 possible on a limb printed curved), ``loaded_share`` under load;
    ``least_curvature`` and ``greatest_curvature`` kept along it without weight [1/m];
    ``peak_curvature`` in the hand, without sign [1/m]; ``press_force`` of the thumb [N].
    ``straightened``: the share that went of the bend of the pose before, where none is now, 1
    without one; of several the worst.
    ``tip_sag`` [m]: how far the tip at rest lies below the weightless one at the same time;
    ``tip_moved`` [m]: how far it is from where the hand held it. ``hand_turn`` [rad]: by how much
    weight and payload turn the hand at the tip. ``sag_wire_free`` and ``sag_wire_anchored`` [m]:
    the sag if the wire turns freely in its channel and if it cannot turn; the same for a limb that
    stays in its plane. ``stable``: False where the limb lost its pose and fell to another one.
    """

    shape_set: Shape
    shape_released: Shape
    shape_at_rest: Shape
    retained_share: tuple[float, ...]
    loaded_share: tuple[float, ...]
    least_curvature: tuple[float, ...]
    greatest_curvature: tuple[float, ...]
    peak_curvature: tuple[float, ...]
    press_force: tuple[float, ...]
    straightened: float
    tip_sag: float
    tip_moved: float
    hand_turn: float
    sag_wire_free: float
    sag_wire_anchored: float
    moments: Moments
    stable: bool
    cautions: tuple[Caution, ...]


def hold_pose(
    limb: Limb, setting: Setting, rule: str | None = None, back_stress: float | None = None
) -> Pose:
    """Return a limb as set, after letting go, and at rest under its weight and payload.

    Parameters
    ----------
    limb : Limb
        The limb.
    setting : Setting
        Bends, how they are made, clamp, payload, hold and rest time. "At once" (rest time 0) is
        one second after letting go; the released shape is the weightless one at the rest time.
    rule, back_stress : str, float, optional
        In place of the ``reversal`` and ``back_stress`` of the wire's metal.

    Returns
    -------
    Pose

    Raises
    ------
    ValueError
        For a bend beyond the limb's length or tighter than the wire, hands that find no place for
        their fingers, a load over 50 EI/L^2 where the limb does not hang straight down, and bad
        arguments.
    RuntimeError
        With the inputs, if the rod solver does not converge.

    Notes
    -----
    Every joint keeps its own history, with weight and payload on from the moment of letting go;
    see the folder joints. Source: own; checked against small-step code that shares nothing with
    it, and a spectral elastica with fibre return mapping.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    return hold_poses(limb, setting, (setting.rest_time,), rule, back_stress)[0]


def hold_poses(
    limb: Limb,
    setting: Setting,
    rest_times: Sequence[float],
    rule: str | None = None,
    back_stress: float | None = None,
) -> tuple[Pose, ...]:
    """Return a limb at several times after letting go, which are one history.

    Parameters
    ----------
    limb, setting, rule, back_stress
        As in `hold_pose`; the setting's rest time is not read.
    rest_times : sequence of float
        Rising, 0 or more; at most 1000 of them. [s]

    Returns
    -------
    tuple of Pose
        One per time; errors as `hold_pose`.
    """
    limb = rebent_limb(limb, rule, back_stress)
    check_bends(limb, setting)
    limb = in_the_room(limb, setting)
    times = check_numbers(
        "rest times", rest_times, least=0.0, most=1e9, unit="s", longest=MOST_TIMES
    )
    if times.ndim != 1 or np.any(np.diff(times) <= 0):
        raise refuse("rest times", "a rising row of times", rest_times)
    if hangs_slack(limb, setting):
        weighs = float(one_limb(limb, setting).mass_per_length.mean()) * limb.length
        name, got = ("payload", f"{1e3 * setting.payload:.4g} g")
        if setting.payload < weighs:
            name, got = ("limb length", f"{1e3 * limb.length:.3g} mm")
        raise refuse(name, f"less: loaded over {SLACK:g} EI/L^2 the limb hangs slack", got)
    numbers = _both_ways(one_limb(limb, setting))
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    moments = tuple(float(time) for time in times)
    posed = pose_limbs(numbers, setting, stretches, limb.length, FINE, moments)
    _check_peaks(limb, setting, posed.peak[0], numbers, stretches)
    if numbers.sides is None and may_fall_sideways(limb, numbers).any():
        aside = _both_ways(in_space(numbers, limb))
        fallen = pose_limbs(aside, setting, stretches, limb.length, FINE, moments)
        if any(
            a.stable[0] and not b.stable[0] for a, b in zip(posed.looks, fallen.looks, strict=True)
        ):
            numbers, posed = aside, fallen
    return tuple(
        _pose(limb, replace(setting, rest_time=float(time)), numbers, posed, look)
        for time, look in zip(times, posed.looks, strict=True)
    )


def inserted_shape(limb: Limb) -> Shape:
    """Return how a limb printed curved stands with a straight wire pushed in, without weight.

    Notes
    -----
    Wire and elastomer balance joint by joint, the wire bent once from straight, the elastomer ten
    seconds after. A limb printed straight stays straight.
    """
    check_kind("limb", limb, Limb, "a Limb")
    setting = Setting(bends=(), clamp_angle=0.0)
    posed = pose_limbs(
        one_limb(limb, setting), setting, (), limb.length, FINE, (0.0,), weightless=True
    )
    return _shape(posed.arc_length, posed.as_set, posed.line)


def hangs_slack(limb: Limb, setting: Setting) -> bool:
    """Tell whether weight and payload are so far above a limb's rigidity that it hangs slack."""
    numbers = one_limb(in_the_room(limb, setting), setting)
    return bool(load_share(numbers, setting, limb.length)[0] > SLACK)


def check_bends(limb: Limb, setting: Setting) -> None:
    """Raise the ValueError if a bend is tighter than the limb's wire, ends beyond the limb, or
    leaves no place for the fingers of a hand."""
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    before = [("last bend", bends) for bends, _ in setting.poses_before]
    for name, bends in (("bend", setting.bends), *before):
        for bend in bends:
            if bend.end > limb.length * (1 + LEAST_STRETCH):
                rule = f"at most the limb length {1e3 * limb.length:.3g} mm"
                raise refuse(f"{name} end", rule, f"{1e3 * bend.end:.4g} mm")
            if name == "last bend" or setting.bent_by == "former" or bend.rigid:
                check_wire_fits(limb.wire, abs(bend.hand_curvature))
    held = sum(time for _, time in setting.poses_before)
    if printed_curved(limb) and limb.inserted_before < held:
        rule = f"at least the time of the poses before, {held:g} s"
        raise refuse("inserted before", rule, f"{limb.inserted_before:g} s")
    if leaves_plane(limb, setting):
        _check_out_of_plane(limb, setting)
    if setting.bent_by == "hands":
        bent_stretches(setting, limb.length, limb_width(limb))


def _check_out_of_plane(limb: Limb, setting: Setting) -> None:
    """Raise the ValueError for a limb that is no rod to be followed in space."""
    wide, stiffer = limb_width(limb), flatness(limb)
    if stiffer > FLATTEST:
        rule = f"at most {FLATTEST:g} times as stiff one way as the other to leave its plane"
        raise refuse("limb outline", rule, f"{stiffer:.3g} times")
    if limb.length < wide:
        rule = f"at least its width {1e3 * wide:.3g} mm to leave its plane"
        raise refuse("limb length", rule, f"{1e3 * limb.length:.3g} mm")
    tightest = max((abs(bend.curvature) for bend in setting.bends), default=0.0)
    if tightest * wide / 2 > MOST_STRETCH:
        rule = f"at least {1e3 * wide / 2 / MOST_STRETCH:.3g} mm to leave its plane"
        raise refuse("bend radius", rule, f"{1e3 / tightest:.3g} mm")


def shape_in_hand(limb: Limb, setting: Setting) -> Shape:
    """Return a limb as set by hand, without following it further; errors as `peaks_and_forces`,
    but none for a wire that hands bend too tightly."""
    check_bends(limb, setting)
    limb = in_the_room(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    return _shape(*line_in_hand(one_limb(limb, setting), setting, stretches, limb.length, FINE))


def peaks_in_hand(limb: Limb, setting: Setting) -> tuple[float, ...]:
    """Return the greatest curvature of each bend in the hand, without sign [1/m]; errors as
    `peaks_and_forces`."""
    return peaks_and_forces(limb, setting)[0]


def peaks_and_forces(limb: Limb, setting: Setting) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the greatest curvature of each bend in the hand, without sign [1/m], and the force of
    the thumb that presses it, 0 round a former [N].

    Raises
    ------
    ValueError
        As `hold_pose`, but for a load.
    """
    check_bends(limb, setting)
    limb = in_the_room(limb, setting)
    numbers = one_limb(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    peaks, forces = hand_peaks(numbers, setting, stretches, limb.length, FINE)
    _check_peaks(limb, setting, peaks[0], numbers, stretches)
    return _plain(peaks), _plain(forces)


def _check_peaks(
    limb: Limb,
    setting: Setting,
    peaks: Array,
    numbers: Limbs,
    stretches: Sequence[Stretch],
) -> None:
    """Raise the ValueError if hands bend the wire tighter than its own radius."""
    if limb.wire is None or setting.bent_by == "former":
        return
    most = 2 / limb.wire.diameter
    for number, bend in enumerate(setting.bends):
        if peaks[number] <= most * (1 + 1e-12):
            continue
        shares = np.linspace(0.02, 1.0, 50) * bend.over_bend
        batch = numbers.take(np.zeros(len(shares), dtype=np.intp))
        factors = np.ones((len(shares), len(setting.bends)))
        factors[:, number] = shares
        tried = hand_peaks(batch, setting, stretches, limb.length, FINE, factors)[0][:, number]
        angle = float(np.interp(most, tried, shares)) * math.degrees(abs(bend.angle))
        rule = f"at most {angle:.0f} degrees by these hands, or the wire bends round its own radius"
        raise refuse("bend angle", rule, f"{math.degrees(abs(bend.angle)):.0f} degrees")


def worst_kept(retained: Array, bends: Sequence[Bend], straightened: Array | float = 1.0) -> Array:
    """Return the share (B,) of the worst bend that is kept, out of shares (B, bends), 1 without.

    A bend that was bent further by hand and is left so much too far counts as one that is left as
    much short; a bend of the pose before that was to go, as the share ``straightened`` (B,) of it.
    """
    further = np.array([bend.over_bend > 1 for bend in bends], dtype=bool)
    counted = np.where(further, 1 - np.abs(1 - retained), retained)
    return np.asarray(np.minimum(counted.min(axis=1, initial=1.0), straightened))


def _both_ways(numbers: Limbs) -> Limbs:
    """Return a limb as it is, and once more with its wire free to turn, or held, instead."""
    if numbers.sides is None:
        return numbers
    both = numbers.take(np.array([0, 0]))
    held = float(numbers.sides.held[0])
    return replace(both, sides=replace(numbers.sides, held=np.array([held, 1.0 - held])))


def _pose(limb: Limb, setting: Setting, numbers: Limbs, posed: Posed, look: Looked) -> Pose:
    lines = look.lines if look.lines is not None else (None, None)
    as_set = _shape(posed.arc_length, posed.as_set, posed.line)
    released = _shape(posed.arc_length, look.released, lines[0])
    resting = _shape(posed.arc_length, look.resting, lines[1])
    stable = bool(look.stable[0])
    peaks = _plain(posed.peak)
    sags = points_of(look.released, posed.arc_length, lines[0])[:, -1, 2]
    sags = sags - points_of(look.resting, posed.arc_length, lines[1])[:, -1, 2]
    turn, torque = abs(float(released.angles[-1] - resting.angles[-1])), 0.0
    free = held = float(sags[0])
    if look.lines is not None and numbers.sides is not None:
        turn = float(look.lines[0].hand_turn(look.lines[1])[0])
        torque = float(np.max(look.torque))
        held, free = (float(sag) for sag in sags[np.argsort(-numbers.sides.held)])
    return Pose(
        shape_set=as_set,
        shape_released=released,
        shape_at_rest=resting,
        retained_share=_plain(look.retained),
        loaded_share=_plain(look.loaded),
        least_curvature=_plain(look.least),
        greatest_curvature=_plain(look.greatest),
        peak_curvature=peaks,
        press_force=_plain(posed.force),
        straightened=float(look.straightened[0]),
        tip_sag=released.tip[1] - resting.tip[1],
        tip_moved=math.dist(as_set.points[-1], resting.points[-1]),
        hand_turn=turn,
        sag_wire_free=free,
        sag_wire_anchored=held,
        moments=Moments(
            root=_root_moment(setting, numbers, resting),
            wire=_plain(posed.wire),
            elastomer=_plain(posed.elastomer),
            wire_torque=torque,
        ),
        stable=stable,
        cautions=bend_cautions(limb, setting, peaks)
        + rest_cautions(limb, as_set.curvature, resting.curvature, stable)
        + space_cautions(limb, setting, free, held),
    )


def _plain(values: Array) -> tuple[float, ...]:
    return tuple(float(value) for value in values[0])


def _shape(arcs: Array, angles: Array, line: SpaceLine | None) -> Shape:
    """Return the shape of the first limb."""
    first = angles[0]
    if line is None:
        positions = positions_of(first, arcs)
        curvature = np.diff(first) / np.diff(arcs)
        points = np.stack([positions[:, 0], 0.0 * arcs, positions[:, 1]], axis=1)
    else:
        points = line.points[0]
        positions = points[:, [0, 2]]
        curvature = line.curvatures(arcs)[0]
    return Shape(
        arc_length=arcs, positions=positions, angles=first, curvature=curvature, points=points
    )


def _root_moment(setting: Setting, numbers: Limbs, resting: Shape) -> float:
    arcs = _halved(resting.arc_length)
    if np.any(resting.points[:, 1]):
        levers = _halved(resting.points[:, 0])
    else:
        levers = positions_of(_halved(resting.angles), arcs)[:, 0]
    moments = levers * numbers.mass_along(arcs / arcs[-1])[0]
    steps = np.diff(resting.arc_length)
    weight = float(np.sum(steps * (moments[:-1:2] + 4 * moments[1::2] + moments[2::2]) / 6))
    return GRAVITY * (setting.payload * resting.tip[0] + weight)


def _halved(values: Array) -> Array:
    """Return values (2 n - 1,) at stations and half way between them."""
    finer = np.repeat(values, 2)[:-1]
    finer[1::2] = (values[1:] + values[:-1]) / 2
    return finer
