"""Do the legs hold the figure, or do they give way under its weight?

Each leg stands clamped on its foot, which lies flat on the ground, and bears its share of the whole
figure at its upper end, which nothing else holds. Where all feet lie in one row the body leans as
the legs bend, so that the share sits where the figure's centre of mass is, carried there rigidly;
else the other feet keep the body level, and the share sits at the clamp. A leg gives way where it
buckles or where its upper end moves so far that the centre of mass leaves the feet, or by more than
a share of the leg. Its own weight is counted as if it stood at its upper end; that the clamp would
turn less in a level body is left out. Both make the answer a cautious one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from data import read_table
from data.rules import Array, Caution, check_kind, refuse
from flexcalc.figure.figure import Figure, FigureLimb, Place, on_figure, twins
from flexcalc.figure.standing import Standing
from flexcalc.joints.aims import in_plane_setting, leaves_plane
from flexcalc.joints.limbs import in_the_room, limb_width
from flexcalc.joints.posed import coarse, pose_limbs
from flexcalc.joints.rows import Limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Along, Bend, Limb, Setting
from flexcalc.limb.outline import Outline
from flexcalc.pose.centre_line import positions_of
from flexcalc.pose.pose import check_bends
from flexcalc.rod.chain import Mask
from flexcalc.spread.likely_limbs import drawn_inputs, drawn_limbs, unit_points
from flexcalc.spread.sample import BAND, Band
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import SEED

DAY = 86400.0
SAMPLES, ROUNDS = 64, 7
MOST_TIMES = 16.0
"""Loads are looked for from a sixteenth of the weight to sixteen times it."""
SHORTEST_ARM, LARGEST_TURN = 1e-3, 2.5
"""Least length of the rigid piece from a leg to the centre of mass [m], and how far it may turn
from the leg's direction [rad]; else the share sits at the clamp."""
FLATTEST = 9.9
"""Radius of a rigid piece that is about straight. [m]"""


@dataclass(frozen=True, kw_only=True)
class Legs:
    """What the legs of a figure hold.

    ``mass`` [kg] of the whole figure, ``shares`` (limb, kg that each of it bears); ``held``
    [kg], the mass of a figure like this that the legs just hold: its band; ``probability`` that
    they hold this one. ``state`` is "holds", "close" or "fails", ``sentence`` says it; both are
    empty where it falls over anyhow, and where it is not worked out, of which the cautions say why.
    """

    mass: float
    shares: tuple[tuple[str, float], ...]
    held: Band
    probability: float
    state: str
    sentence: str
    cautions: tuple[Caution, ...]

    def __str__(self) -> str:
        return self.sentence


def legs(figure: Figure, lines: Sequence[ArrayLike], stands: Standing) -> Legs:
    """Return whether the legs of a figure hold it.

    Parameters
    ----------
    figure : Figure
        Its limbs, where they are, and its body.
    lines : sequence of array_like (n, 2) or (n, 3)
        As `flexcalc.figure.standing.standing` takes them. [m]
    stands : Standing
        What that returned: the weight, its middle, and how far it may move.

    Raises
    ------
    ValueError
        For another number of lines. A leg that cannot be worked out is a caution.

    Notes
    -----
    The likely limbs of `sample_pose`, bent, let go and loaded for a day; each bears more and more
    until it gives way. All legs are of one spool and one coil: the weakest of them decides.
    Source: own; checked against the closed forms of a column and of one that bears its load on a
    rigid piece.
    """
    check_kind("figure", figure, Figure, "a Figure")
    check_kind("standing", stands, Standing, "a Standing")
    if not isinstance(lines, (list, tuple)) or len(lines) != len(figure.limbs):
        raise refuse("lines", f"{len(figure.limbs)}, one per limb", lines)
    placed = [(one, np.asarray(line, float)) for one, line in zip(figure.limbs, lines, strict=True)]
    carrying = [(one, line) for one, line in placed if one.place.stands]
    if not carrying or stands.state in ("", "fails"):
        return _unknown(stands, ())
    tips = [
        (one.plan.name, on_figure(line, one.place, twin)[-1])
        for one, line in carrying
        for twin in twins(one.place)
    ]
    borne = _shares(np.array([tip for _, tip in tips]), stands, _least_spread(carrying))
    factors, cautions = np.full(SAMPLES, np.inf), []
    shares = []
    for one, line in carrying:
        names = zip(tips, borne, strict=True)
        most = float(max(share for (name, _), share in names if name == one.plan.name))
        shares.append((one.plan.name, most))
        if most <= 0:
            continue
        try:
            found = _held(one, line, most, stands, [tip for _, tip in tips])
        except (ValueError, RuntimeError) as error:
            cautions.append(_not_worked_out(one.plan.name, str(error)))
            continue
        factors = np.minimum(factors, found / most)
    if cautions:
        return _unknown(stands, tuple(cautions), tuple(shares))
    return _summed_up(figure, stands, tuple(shares), factors)


def _not_worked_out(name: str, reason: str) -> Caution:
    text = f"Whether {name} holds the figure is not worked out: {reason}."
    return Caution(key=f"leg {name}", text=text)


def _unknown(
    stands: Standing, cautions: tuple[Caution, ...], shares: tuple[tuple[str, float], ...] = ()
) -> Legs:
    return Legs(
        mass=stands.mass,
        shares=shares,
        held=Band(median=0.0, low=0.0, high=0.0),
        probability=0.0,
        state="",
        sentence="",
        cautions=cautions,
    )


def _summed_up(
    figure: Figure, stands: Standing, shares: tuple[tuple[str, float], ...], factors: Array
) -> Legs:
    wanted = max(one.plan.wish.probability for one in figure.limbs if one.place.stands)
    low, median, high = (
        float(value) * stands.mass for value in np.quantile(factors, (BAND[0], 0.5, BAND[1]))
    )
    probability = float((factors >= 1).mean())
    state = "holds" if probability >= wanted else "close" if probability >= 0.5 else "fails"
    held = Band(median=median, low=low, high=high)
    return Legs(
        mass=stands.mass,
        shares=shares,
        held=held,
        probability=probability,
        state=state,
        sentence=_sentence(state, held, probability, stands.mass),
        cautions=(),
    )


def _sentence(state: str, held: Band, probability: float, mass: float) -> str:
    said = {
        "holds": "Its legs hold it",
        "close": "Its legs may hold it",
        "fails": "Its legs give way under it",
    }[state]
    least, most = mass / MOST_TIMES * 1.1, mass * MOST_TIMES * 0.9
    if held.low > most:
        return f"{said}: they bear more than {MOST_TIMES * 0.9:.0f} times its {_grams(mass)}."
    if held.median < least:
        return f"{said}: they bear less than {_grams(least)}, and it weighs {_grams(mass)}."
    sure = "" if state == "holds" else f" The probability that they hold it is {probability:.0%}."
    over = "over " if held.high > most else ""
    return (
        f"{said}: they bear a figure of {_grams(held.median)} for a day (four of five "
        f"{_grams(held.low)} to {over}{_grams(held.high)}), and it weighs {_grams(mass)}.{sure}"
    )


def _grams(mass: float) -> str:
    return f"{float(f'{mass * 1e3:.2g}'):.0f} g"


def _least_spread(carrying: Sequence[tuple[FigureLimb, Array]]) -> float:
    """Return how far apart feet must be to lie in more than one row. [m]"""
    return max(one.place.foot[0] for one, _ in carrying)


def _shares(tips: Array, stands: Standing, row: float) -> Array:
    """Return what each foot bears (n,) [kg]: as springs alike under a stiff body, which takes
    what feet in one ``row`` [m] cannot."""
    ground = tips[:, [0, 2]]
    off = ground - ground.mean(axis=0)
    away = np.array([stands.centre[0], stands.centre[2]]) - ground.mean(axis=0)
    spread, axes = np.linalg.eigh(off.T @ off)
    share = np.full(len(tips), 1 / len(tips))
    for number, square in enumerate(spread):
        along = off @ axes[:, number]
        if np.ptp(along) > row:
            share = share + along * (away @ axes[:, number]) / square
    return np.asarray(share * stands.mass, float)


def _held(
    one: FigureLimb, line: Array, share: float, stands: Standing, tips: Sequence[Array]
) -> Array:
    """Return what likely legs (SAMPLES,) just hold. [kg]"""
    plan = one.plan
    if leaves_plane(plan.limb, plan.setting):
        raise refuse("leg", "one that stays in its plane", "one that leaves it")
    limb, setting = _on_its_foot(plan, line, _arm(one.place, stands, tips))
    setting = replace(setting, payload=share, rest_time=DAY)
    check_bends(limb, setting)
    warm = in_the_room(limb, setting)
    drawn = drawn_inputs(warm, setting, plan.printer, unit_points(SAMPLES, SEED))
    limbs = drawn_limbs(warm, setting, drawn)
    limbs = replace(limbs, mass_per_length=0.0 * limbs.mass_per_length)
    most = read_table("constants")["standing"]["most_give"].value * plan.limb.length
    near = min(stands.margin, most)
    low, high = np.full(SAMPLES, share / MOST_TIMES), np.full(SAMPLES, share * MOST_TIMES)
    for _ in range(ROUNDS):
        load = np.sqrt(low * high)
        bears = _bears(limb, setting, replace(limbs, payload=load), near)
        low, high = np.where(bears, load, low), np.where(bears, high, load)
    return np.asarray(np.sqrt(low * high))


def _bears(limb: Limb, setting: Setting, limbs: Limbs, near: float) -> Mask:
    """Return which legs (n,) keep their upper end within ``near`` [m] of where it is unloaded."""
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    posed = pose_limbs(limbs, setting, stretches, limb.length, coarse(setting), (DAY,))
    look = posed.looks[0]
    free, loaded = (
        positions_of(shape, posed.arc_length)[:, -1] for shape in (look.released, look.resting)
    )
    moved = np.linalg.norm(loaded - free, axis=1)
    return np.asarray(look.stable & ~posed.slack & (moved <= near))


def _arm(place: Place, stands: Standing, tips: Sequence[Array]) -> tuple[float, float]:
    """Return where the leg's share sits, ahead of its clamp and above it, in its plane. [m]"""
    ahead = np.array([math.cos(place.facing), math.sin(place.facing)])
    row = np.array([tip[[0, 2]] @ ahead for tip in tips])
    if np.ptp(row) > place.foot[0]:
        return (0.0, 0.0)
    x, up, z = (now - at for now, at in zip(stands.centre, place.at, strict=True))
    return (float(ahead @ (x, z)), float(up))


def _on_its_foot(plan: LimbPlan, line: Array, arm: tuple[float, float]) -> tuple[Limb, Setting]:
    """Return a leg from its foot up, with a rigid piece from its clamp to where its share sits."""
    setting, length = in_plane_setting(plan.setting), plan.limb.length
    onward = setting.clamp_angle + math.pi
    reach, turn = math.hypot(*arm), 0.0
    if reach > SHORTEST_ARM:
        turn = math.remainder(math.atan2(arm[0], -arm[1]) - onward, 2 * math.pi)
    arms: tuple[Bend, ...] = ()
    if reach > SHORTEST_ARM and abs(turn) < LARGEST_TURN:
        arc = reach / float(np.sinc(turn / math.pi))
        turn = math.copysign(max(abs(turn), arc / (2 * FLATTEST)), turn)
        arms = (Bend(start=length, angle=2 * turn, radius=arc / (2 * abs(turn)), rigid=True),)
    whole = length + sum(bend.end - bend.start for bend in arms)
    last = line[-1] - line[-2]
    tip = math.atan2(float(last[0]), -float(last[1]))
    before = tuple((_turned_over(bends, length), time) for bends, time in setting.poses_before)
    limb = replace(plan.limb, length=whole, outline=_outlines(plan.limb, whole))
    standing = replace(
        setting,
        bends=(*_turned_over(setting.bends, length), *arms),
        clamp_angle=math.remainder(tip + math.pi, 2 * math.pi),
        last_bends=before,
        last_time=0.0,
    )
    return limb, standing


def _turned_over(bends: Sequence[Bend], length: float) -> tuple[Bend, ...]:
    """Return bends as they come from the tip on: a bend up is one down for who goes back."""
    return tuple(
        replace(bend, start=max(length - bend.end, 0.0), angle=-bend.angle)
        for bend in reversed(bends)
    )


def _outlines(limb: Limb, whole: float) -> Outline | Along:
    """Return a limb's outlines from the tip on, and its first one along the rigid piece."""
    outline = limb.outline
    if not isinstance(outline, Along):
        return outline
    if outline.natural_twist or outline.sideways_curvature:
        raise refuse("leg", "printed in its plane", "one that twists or curves sideways")
    part = limb.length / whole
    stations = [((1 - share) * part, each) for share, each in reversed(outline.stations)]
    curved = [((1 - share) * part, -value) for share, value in reversed(outline.natural_curvature)]
    if part < 1:
        stations.append((1.0, stations[-1][1]))
        beyond = min(part + 1e-5, (1 + part) / 2)
        curved += [(beyond, 0.0), (1.0, 0.0)] if curved else []
    return Along(stations=tuple(stations), natural_curvature=tuple(curved))
