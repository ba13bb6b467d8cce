"""Every wire of a list in the one limb, bent, let go and loaded together: rows are wires x samples.

Each wire gets the channel that would be printed for it; in a bore the limb stays as it is. All
wires meet the same drawn limbs, so that they differ by the wire alone.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.compare.moments import MetalWires, taken_tables, wire_tables
from flexcalc.compare.sections import channel_sections
from flexcalc.limb.inputs import Limb, Setting, Wire
from flexcalc.limb.printer import Printer
from flexcalc.limb.trade import wire_name
from flexcalc.pose.batch import Fineness, LimbBatch, joined, posed_batch, taken
from flexcalc.pose.pose import check_bends
from flexcalc.rod.chain import Mask
from flexcalc.section.moments import BENDING_EXPONENT
from flexcalc.spread.likely_limbs import drawn_bundle, drawn_inputs

CHUNK = 512
QUICK = Fineness(joints=24, nodes=12, fibres=6)
"""Share within 1e-3 and sag within 1 % of `hold_pose`."""


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

    ``worst`` (W, samples) share of a bend kept, 1 without a bend; ``sags`` [m], ``stable``
    (1 or 0) and whether it hangs ``slack`` likewise; ``elastomer_moment`` (W,) [N m] against the
    hand in the tightest bend and ``mass`` (W,) [kg] with the wire are the middle ones.
    """

    worst: Array
    sags: Array
    stable: Array
    slack: Mask
    elastomer_moment: Array
    mass: Array

    def within(self, sag: float) -> Mask:
        """Tell which tips (W, samples) fall no more than ``sag`` [m] and do not hang slack."""
        return (self.sags <= sag) & ~self.slack


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
    metals = list(dict.fromkeys(one.wire.metal for one in fitted))
    order = np.argsort([metals.index(one.wire.metal) for one in fitted], kind="stable")
    by_metal = [fitted[place] for place in order]
    batch = _batch(by_metal, setting, printer, points)
    groups = _groups(by_metal, setting, printer, points)
    tables = wire_tables(groups, curvatures_of(setting), QUICK)
    parts = []
    for first in range(0, len(batch.rigidity), CHUNK):
        if progress is not None:
            progress(first / len(batch.rigidity))
        rows = slice(first, first + CHUNK)
        some = taken_tables(tables, rows)
        parts.append(posed_batch(taken(batch, rows), setting, fitted[0].limb.length, QUICK, some))
    found = joined(parts)
    back = np.argsort(order)

    def by_wire(values: NDArray[Any]) -> NDArray[Any]:
        return np.asarray(values.reshape(len(fitted), len(points))[back])

    pull = batch.pull(0.0, 0.0).at_ten_seconds(
        np.full((len(batch.rigidity), 1), max(curvatures_of(setting), default=0.0))
    )[0]
    mass = batch.mass_per_length * fitted[0].limb.length
    return Outcomes(
        worst=by_wire(found.worst),
        sags=by_wire(found.sags),
        stable=by_wire(found.stable.astype(np.float64)),
        slack=by_wire(found.slack),
        elastomer_moment=np.median(by_wire(pull[:, 0]), axis=1),
        mass=np.median(by_wire(mass), axis=1),
    )


def _groups(
    by_metal: Sequence[FittedWire], setting: Setting, printer: Printer, points: Array
) -> list[MetalWires]:
    groups = []
    for _, same in itertools.groupby(by_metal, key=lambda one: one.wire.metal):
        own = list(same)
        drawn = drawn_inputs(own[0].limb, setting, printer, points)
        size = drawn["wire diameter"] / own[0].wire.diameter
        groups.append(
            MetalWires(
                law=drawn_bundle(own[0].wire, drawn),
                radius=np.array([one.wire.diameter / 2 for one in own])[:, None] * size,
                strands=np.array([float(one.wire.strands) for one in own]),
            )
        )
    return groups


def curvatures_of(setting: Setting) -> list[float]:
    """Return the curvatures of the bends that have an angle, without sign. [1/m]"""
    return [abs(bend.curvature) for bend in setting.bends if bend.curvature]


def _batch(
    wires: Sequence[FittedWire], setting: Setting, printer: Printer, points: Array
) -> LimbBatch:
    """Return all rows as one batch, their wires left to the tables."""
    count = len(points)
    drawn = drawn_inputs(replace(wires[0].limb, wire=None), setting, printer, points)
    exponents = drawn.get("infill exponent", np.full(count, BENDING_EXPONENT))
    diameters = [one.limb.channel_diameter for one in wires]
    kinds = dict(zip(diameters, (one.limb for one in wires), strict=True))
    sections = channel_sections(
        list(kinds.values()),
        drawn.get("wall", np.ones(count)),
        exponents,
        max(curvatures_of(setting), default=0.0),
    )
    which = [list(kinds).index(diameter) for diameter in diameters]
    wire_mass = np.array([one.wire.mass_per_length for one in wires])[:, None]

    def flat(values: Array) -> Array:
        return np.broadcast_to(values, (len(wires), count)).ravel()

    return LimbBatch(
        bundle=None,
        rigidity=flat(sections.rigidity[which] * drawn["modulus"]),
        stiffening=flat(sections.steepness[which][:, None] * drawn["modulus"]),
        softening=sections.softening,
        relaxation=flat(drawn["relaxation exponent"]),
        mass_per_length=flat(sections.mass_per_length[which] + wire_mass),
        payload=flat(setting.payload * drawn.get("payload", np.ones(count))),
    )
