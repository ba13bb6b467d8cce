"""Where along a limb its joints are, and which of them share everything but their place.

Those are of one sort and worked out once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.aims import Aims, Sides, aims_of
from flexcalc.joints.balance import WireState
from flexcalc.joints.cells import Cells, Piece, cut
from flexcalc.joints.fibres import virgin_wire
from flexcalc.joints.hands import breaks, pressed_moment
from flexcalc.joints.history import Closeness, inserted
from flexcalc.joints.loops import virgin_loops
from flexcalc.joints.pull import Elastomers
from flexcalc.joints.rows import (
    Limbs,
    between_stations,
    curvature_between,
    elastomers_at,
)
from flexcalc.joints.space_law import SpaceElastomers, space_elastomers
from flexcalc.joints.stretches import Stretch
from flexcalc.limb.inputs import Setting

Rows = NDArray[np.intp]
LEAST_PIECE = 1e-6
"""Pieces shorter than this share of the limb are left out."""
PLACE_DIGITS = 12
"""Decimals to which moments over the greatest agree where joints are worked out once."""


@dataclass(frozen=True, kw_only=True)
class Fineness:
    """How finely a pose is computed: ``fibres`` over half a wire; joints of a former's ``arc``,
    of a hand's ``arm``, of all that is ``straight``; how ``closely`` the history is followed."""

    fibres: int
    arc: int
    arm: int
    straight: int
    closely: Closeness


@dataclass(frozen=True, kw_only=True)
class LimbPoints:
    """Points of the limbs: their N joints, and behind them the middles of presses.

    ``places`` [m]; ``lengths`` that bend there [m], 0 for the middles; ``bend`` number or -1;
    ``shares`` of the press's moment; ``last`` (poses, points) curvatures of the poses before, the
    oldest first [1/m]; ``aims`` of limbs that leave their plane.
    """

    cells: Cells
    places: Array
    lengths: Array
    bend: Rows
    shares: Array
    last: Array
    aims: Aims | None


def points_along(
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    length: float,
    fineness: Fineness,
) -> LimbPoints:
    """Return the points of limbs, their joints cut where something changes along them."""
    edges = {0.0, length}
    edges |= {length * share for share in limbs.corners}
    edges |= {length * share for share, _ in limbs.natural}
    if limbs.sides is not None:
        edges |= {length * share for share, _ in (*limbs.sides.curvature, *limbs.sides.twist)}
    poses = [bends for bends, _ in setting.poses_before]
    edges |= {edge for bends in poses for bend in bends for edge in (bend.start, bend.end)}
    for stretch in stretches:
        edges |= {stretch.start, stretch.end}
        edges |= set(breaks(stretch.presses)) if stretch.presses else set()
    ordered = [0.0]
    for edge in sorted(edges):
        if ordered[-1] + LEAST_PIECE * length < edge < length - LEAST_PIECE * length:
            ordered.append(edge)
    pieces = [
        _piece(start, end, stretches, length, fineness)
        for start, end in zip(ordered, [*ordered[1:], length], strict=True)
        if end > start
    ]
    cells = cut(pieces)
    middles = [
        (press.middle, number)
        for number, stretch in enumerate(stretches)
        for press in stretch.presses
    ]
    places = np.append(cells.places, [middle for middle, _ in middles])
    bend = np.append(cells.bend, np.array([number for _, number in middles], dtype=np.intp))
    shares = np.zeros(len(places))
    for number, stretch in enumerate(stretches):
        inside = bend == number
        if stretch.presses:
            shares[inside] = pressed_moment(stretch.presses, places[inside])
    last = np.zeros((len(poses), len(places)))
    for curled, bends in zip(last, poses, strict=True):
        for before in bends:
            curled[(places >= before.start) & (places <= before.end)] = before.curvature
    aims = None
    if limbs.sides is not None:
        aims = _aims(limbs, limbs.sides, setting, places, bend, length)
        last = aims.last[:, 0]
    return LimbPoints(
        cells=cells,
        places=places,
        lengths=np.append(cells.lengths, np.zeros(len(middles))),
        bend=bend,
        shares=shares,
        last=last,
        aims=aims,
    )


def _aims(
    limbs: Limbs, sides: Sides, setting: Setting, places: Array, bend: Rows, length: float
) -> Aims:
    shares = places / length
    natural = np.stack(
        [
            curvature_between(pairs, shares)
            for pairs in (limbs.natural, sides.curvature, sides.twist)
        ]
    )
    return aims_of(
        [(bend == number, one) for number, one in enumerate(setting.bends)],
        [
            [((places >= one.start) & (places <= one.end), one) for one in bends]
            for bends, _ in setting.poses_before
        ],
        natural,
    )


def _piece(
    start: float, end: float, stretches: Sequence[Stretch], length: float, fineness: Fineness
) -> Piece:
    middle = (start + end) / 2
    for number, stretch in enumerate(stretches):
        if not stretch.start < middle < stretch.end:
            continue
        if not stretch.presses:
            share = (end - start) / (stretch.end - stretch.start)
            return Piece(start=start, end=end, joints=_count(fineness.arc * share, 3), bend=number)
        arm = max(max(press.left, press.right) for press in stretch.presses)
        count = max(round(fineness.arm * (end - start) / arm), 1)
        return Piece(start=start, end=end, joints=count, bend=number)
    return Piece(start=start, end=end, joints=_count(fineness.straight * (end - start) / length, 3))


def _count(wanted: float, fewest: int) -> int:
    return max(int(np.ceil(wanted - 1e-9)), fewest)


def fresh_wires(limbs: Limbs, fineness: Fineness, joints: int) -> WireState:
    """Return straight wires that nobody has bent at some joints, None without wires."""
    if limbs.bundle is None:
        return None
    if limbs.bundle.flow.reversal == "masing":
        return virgin_loops(limbs.bundle, joints)
    close = max(10 * fineness.closely.curvature, 1e-8)
    return virgin_wire(limbs.bundle, fineness.fibres, joints, min(close, 1e-4))


@dataclass(frozen=True, kw_only=True)
class Sorts:
    """Sorts of points that share everything but their place: the ``first`` point of each, the
    sort ``kind`` of each point, their ``bend``, virgin ``wire``, ``elastomers``, and the
    curvature ``stood`` (B, n) of the limb with its wire before it was posed [1/m]; ``aims`` and
    ``elastomers_in_space`` of limbs that leave their plane, and ``stood_in_space`` (3, B, n)
    their curvatures in own axes."""

    first: Rows
    kind: Rows
    bend: Rows
    wire: WireState
    elastomers: Elastomers
    stood: Array
    space: tuple[Aims, SpaceElastomers, Array] | None = None


def sorts_of(limbs: Limbs, points: LimbPoints, length: float, fineness: Fineness) -> Sorts:
    """Return which points share everything but their place, and what they are before any pose."""
    count = len(points.places)
    alone = np.arange(count) if len(limbs.stations) > 1 else np.zeros(count)
    natural = curvature_between(limbs.natural, points.places / length)
    told = np.stack(
        [points.bend, points.shares.round(PLACE_DIGITS), *points.last, alone, natural], axis=1
    )
    if points.aims is not None:
        told = np.concatenate([told, points.aims.told], axis=1)
    _, first, kind = np.unique(told, axis=0, return_index=True, return_inverse=True)
    elastomers = elastomers_at(limbs, points.places[first] / length)
    wire = fresh_wires(limbs, fineness, len(first))
    stood = np.zeros((len(limbs.rigidity), len(first)))
    space: tuple[Aims, SpaceElastomers, Array] | None = None
    if limbs.sides is not None and points.aims is not None:
        aims = points.aims.take(first)
        ratios = limbs.sides.ratios @ between_stations(limbs, points.places[first] / length)
        aimed = space_elastomers(elastomers, aims, ratios)
        before = np.zeros((3, *stood.shape))
        before[2] = aims.natural[2]
        if limbs.curved:
            # pushed in, the wire straightens a limb towards where it was printed curved
            size, way = aims.towards_natural
            towards = space_elastomers(elastomers, way, ratios).along
            stood = inserted(wire, towards, stood.shape, fineness.closely.curvature)
            before[:2] = stood * size[:, None]
        elastomers, stood, space = aimed.along, before[0], (aims, aimed, before)
    elif limbs.natural:
        stood = inserted(wire, elastomers, stood.shape, fineness.closely.curvature)
    return Sorts(
        first=first,
        kind=kind.reshape(-1),
        bend=points.bend[first],
        wire=wire,
        elastomers=elastomers,
        stood=stood,
        space=space,
    )
