"""Every wire of a list in the one limb, bent, let go and loaded together: rows are wires x samples.

Each wire gets the channel that would be printed for it; in a bore the limb stays as it is. All
wires meet the same drawn limbs, so that they differ by the wire alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.compare.sections import channel_sections, softening_steepness
from flexcalc.joints.falling import pose_or_fall
from flexcalc.joints.limbs import (
    corners_of,
    in_the_room,
    limb_width,
    natural_of,
    sides_of,
    stations_of,
)
from flexcalc.joints.posed import Posed, coarse
from flexcalc.joints.pull import softenings
from flexcalc.joints.rows import Limbs
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.printer import Printer
from flexcalc.limb.trade import wire_name
from flexcalc.pose.centre_line import tip_moves, tip_sags
from flexcalc.pose.pose import check_bends, worst_kept
from flexcalc.rod.chain import Mask
from flexcalc.section.moments import BENDING_EXPONENT
from flexcalc.spread.likely_hands import hand_numbers, likely_hands
from flexcalc.spread.likely_limbs import AXES, drawn_bundle, drawn_inputs, drawn_stiffness
from flexcalc.wire.bundle import Bundle

CHUNK = 192
PLACE_DIGITS = 12
"""Decimals of shares of the length that are one place."""


@dataclass(frozen=True, kw_only=True)
class FittedWire:
    """A limb with one of the wires in it, in the channel that would be printed for it."""

    limb: Limb
    wire: Wire
    channel: ChannelSize


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """A wire that cannot be put into the limb or bent as wanted, and why."""

    wire: Wire
    name: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """What becomes of each wire in each drawn limb.

    ``worst`` (W, samples) share of a bend kept, 1 without a bend; ``sags`` and ``moves`` of the
    tip from where it springs back to and from where the hand put it [m], ``stable``
    (1 or 0) and whether it hangs ``slack`` likewise. The middle ones (W,) of the limbs: greatest
    curvature in the hand ``peak`` [1/m], ``press_force`` of the thumb [N], ``bending_moment`` of
    wire and elastomer where it is bent most [N m], ``mass`` with the wire [kg].
    """

    worst: Array
    sags: Array
    moves: Array
    stable: Array
    slack: Mask
    peak: Array
    press_force: Array
    bending_moment: Array
    mass: Array

    def within(self, sag: float, near: float | None = None) -> Mask:
        """Tell which tips (W, samples) fall no more than ``sag``, rest as ``near`` to where the
        hand put them as is asked [m], of limbs that have not fallen and do not hang slack."""
        reached = True if near is None else self.moves <= near
        return np.asarray((self.sags <= sag) & reached & (self.stable > 0))


def fitted_wires(
    limb: Limb, setting: Setting, wires: Sequence[Wire], printer: Printer, orientation: str
) -> tuple[list[FittedWire], list[Misfit]]:
    """Return the limb with each wire that can be put into it, and those that cannot."""
    fitted, misfits = [], []
    for wire in wires:
        made = _fitted(limb, setting, wire, printer, orientation)
        if isinstance(made, FittedWire):
            fitted.append(made)
        else:
            misfits.append(Misfit(wire=wire, name=wire_name(wire), reason=made))
    return fitted, misfits


def _fitted(
    limb: Limb, setting: Setting, wire: Wire, printer: Printer, orientation: str
) -> FittedWire | str:
    """Return the limb with the wire in it, or why it cannot be put in."""
    across = wire.bundle_diameter
    try:
        channel = _channel(across, orientation, printer)
        drawn = 0.0 if limb.wire_runs_in_bore else channel.opening
        made = replace(limb, wire=wire, channel_diameter=drawn)
    except ValueError:
        if limb.wire_runs_in_bore:
            return f"{across * 1e3:.1f} mm do not fit the bore"
        return f"the channel for {across * 1e3:.1f} mm does not fit the limb"
    try:
        check_bends(made, setting)
    except ValueError:
        return "the tightest bend is tighter than the wire itself"
    return FittedWire(limb=made, wire=wire, channel=channel)


@lru_cache(maxsize=512)
def _channel(across: float, orientation: str, printer: Printer) -> ChannelSize:
    return size_channel(across, orientation, printer=printer)


def posed_wires(
    fitted: Sequence[FittedWire],
    setting: Setting,
    printer: Printer,
    points: Array,
    progress: Callable[[float], None] | None = None,
) -> Outcomes:
    """Return how each wire holds in each limb that the points (samples, axes) draw.

    At least one wire; the limbs differ in wire and channel alone. ``progress`` is told the share
    that is done.
    """
    limbs, found = _limbs(fitted, setting, printer, points), _Found(setting.bends)
    length, samples = fitted[0].limb.length, len(points)
    hands = likely_hands(setting, length, limb_width(fitted[0].limb))
    by = hand_numbers(points[:, AXES.index("how it is bent")]) if len(hands) > 1 else 0
    done = 0
    for places in _by_metal(fitted):
        rows = (places[:, None] * samples + np.arange(samples)).ravel()
        bundle = _bundle([fitted[place] for place in places], setting, printer, points)
        some = replace(limbs.take(rows), bundle=bundle)
        bent_by = np.broadcast_to(by, (len(places), samples)).ravel()
        for number, hand in enumerate(hands):
            own = np.flatnonzero(bent_by == number)
            for first in range(0, len(own), CHUNK):
                if progress is not None:
                    progress(done / (len(fitted) * samples))
                taken = own[first : first + CHUNK]
                posed = pose_or_fall(
                    fitted[0].limb, some.take(taken), hand.setting, hand.stretches, coarse(setting),
                    (setting.rest_time,), settles=False,
                )  # fmt: skip
                found.add(rows[taken], posed)
                done += len(taken)
    return found.outcomes(len(fitted), samples, limbs.mean_mass * length)


class _Found:
    """What was found so far, row by row."""

    def __init__(self, bends: Sequence[Bend]) -> None:
        self.bends = bends
        self.rows: list[NDArray[np.intp]] = []
        self.parts: list[tuple[NDArray[Any], ...]] = []

    def add(self, rows: NDArray[np.intp], posed: Posed) -> None:
        look = posed.looks[0]
        self.rows.append(rows)
        self.parts.append(
            (
                worst_kept(look.retained, self.bends, look.straightened),
                tip_sags(look, posed.arc_length),
                tip_moves(posed),
                look.stable,
                posed.slack,
                posed.peak.max(axis=1, initial=0.0),
                posed.force.max(axis=1, initial=0.0),
                (posed.wire + posed.elastomer).max(axis=1, initial=0.0),
            )
        )

    def outcomes(self, wires: int, samples: int, mass: Array) -> Outcomes:
        back = np.argsort(np.concatenate(self.rows))
        worst, sags, moves, stable, slack, peak, force, moment = (
            np.concatenate(values)[back].reshape(wires, samples)
            for values in zip(*self.parts, strict=True)
        )
        return Outcomes(
            worst=worst,
            sags=sags,
            moves=moves,
            stable=stable.astype(np.float64),
            slack=slack,
            peak=np.median(peak, axis=1),
            press_force=np.median(force, axis=1),
            bending_moment=np.median(moment, axis=1),
            mass=np.median(mass.reshape(wires, samples), axis=1),
        )


def _by_metal(fitted: Sequence[FittedWire]) -> list[NDArray[np.intp]]:
    """Return the places of the wires of each metal: they share one kind of law."""
    metals = [one.wire.metal for one in fitted]
    return [
        np.array([place for place, metal in enumerate(metals) if metal == one])
        for one in dict.fromkeys(metals)
    ]


def _bundle(
    same: Sequence[FittedWire], setting: Setting, printer: Printer, points: Array
) -> Bundle:
    """Return wires of one metal in every drawn limb, rows wire by wire."""
    drawn = drawn_inputs(same[0].limb, setting, printer, points)
    size = drawn["wire diameter"] / same[0].wire.diameter
    law = drawn_bundle(same[0].wire, drawn).take(np.tile(np.arange(len(points)), len(same)))
    radius = np.array([one.wire.diameter / 2 for one in same])[:, None] * size
    grip = drawn_stiffness(setting, drawn)[2]
    strands = np.array([float(one.wire.strands) for one in same])[:, None] * grip
    return Bundle(flow=law.flow, radius=radius.ravel(), strands=strands.ravel())


def curvatures_of(setting: Setting) -> list[float]:
    """Return the curvatures in the hand of the bends that have an angle, without sign. [1/m]"""
    return [abs(bend.hand_curvature) for bend in setting.bends if bend.curvature]


def _limbs(wires: Sequence[FittedWire], setting: Setting, printer: Printer, points: Array) -> Limbs:
    """Return all rows as one batch, still without their wires."""
    count = len(points)
    diameters = [one.limb.channel_diameter for one in wires]
    kinds = dict(zip(diameters, [one.limb for one in wires], strict=True))
    which = [list(kinds).index(diameter) for diameter in diameters]
    warm = [in_the_room(one, setting) for one in kinds.values()]
    first = in_the_room(wires[0].limb, setting)
    drawn = drawn_inputs(first, setting, printer, points)
    _, pull, _, stiffening = drawn_stiffness(setting, drawn)
    turning = drawn.get("wire turning", np.zeros(count))
    exponents = drawn.get("infill exponent", np.full(count, BENDING_EXPONENT))
    walls = drawn.get("wall", np.ones(count))
    stations = stations_of(first)
    places = stations.round(PLACE_DIGITS).tolist()
    found = {
        share: channel_sections(warm, walls, exponents, share) for share in dict.fromkeys(places)
    }
    sections = [found[share] for share in places]
    wire_mass = np.array([one.wire.mass_per_length for one in wires])[:, None]

    def flat(values: Array) -> Array:
        return np.broadcast_to(values, (len(wires), count)).ravel()

    # how much sooner a limb softens with a larger hole is much the same all along
    tightest = max(curvatures_of(setting), default=0.0)
    steepness = softening_steepness(warm, tightest, places[len(places) // 2])[which][:, None]
    tables = [section.softening for section in sections if section.softening is not None]
    return Limbs(
        bundle=None,
        rigidity=np.stack([flat(section.rigidity[which] * pull) for section in sections], axis=1),
        stiffening=flat(steepness * stiffening),
        softening=softenings(tables) if tables else None,
        relaxation=flat(drawn["relaxation exponent"]),
        mass_per_length=np.stack(
            [flat(section.mass_per_length[which] + wire_mass) for section in sections], axis=1
        ),
        payload=flat(setting.payload * drawn.get("payload", np.ones(count))),
        stations=stations,
        corners=corners_of(first),
        natural=natural_of(first),
        inserted_before=first.inserted_before,
        sides=sides_of(first, setting, 1 - flat(turning)),
    )
