"""Everything that a verdict needs of a limb in a mesh, measured once: outlines, hand, skin."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from data.rules import Array, Caution, check_whole, refuse
from flexcalc.limb.along import Along
from flexcalc.limb.outline import Outline, Polygon
from flexcalc.mesh.along import ENDS, SIDEWAYS, limb_along, sideways_turn
from flexcalc.mesh.beyond import part_beyond
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.channel.roomiest import offsets_from, roomiest_line
from flexcalc.mesh.hand import Hand, hand_beyond
from flexcalc.mesh.slices import (
    Slices,
    check_line,
    check_up,
    limb_slices,
    sections_along,
)
from flexcalc.mesh.solid import printed_skin, solid_of
from flexcalc.mesh.surface import Surface

STRAIGHT = 0.05
"""A line that leaves its chord by less than this share of a radius has no plane of its own."""
NEAR = 0.02
"""Share of the limb's length by which a hand's centre has to lie beyond the wrist to count."""
TAPERED = 0.85
"""Share of the area a radius farther in below which an end is round or oblique."""
ASIDE = 0.5
"""How far a hand's centre may lie aside of the line, in radii, before that is said."""
DIFFERS = 0.025
"""Share by which the volume along the line may differ: 1 % at most in limbs that are right."""
SLICES = 60
DIGITS = 8
"""Decimals of outlines in metres: a design keeps them, and no file is finer."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MeshLimb:
    """A limb in a mesh, measured.

    ``up`` (3,) is the direction in the bending plane; ``wrist`` [m] the limb's own length. Its
    ``outlines`` go on beyond the wrist, with the last section, to the ``length`` [m] at which the
    middle of the ``hand`` lies, so that the hand's weight has its lever. From ``full[0]`` to
    ``full[1]`` [m] sections are whole: beyond, where an end is round or oblique, the outline
    there is taken, since an end is held or rigid. ``path`` is where the channel runs, at the zero
    of every outline: the line, or one with more cover. ``slices`` are along the whole path, hand
    as well; ``skin`` [m2] of all that is printed, and its ``volume`` [m3];
    ``sideways`` [rad] how far the line turns out of the bending plane in all.
    """

    line: Line = field(repr=False)
    path: Line = field(repr=False)
    up: Array = field(repr=False)
    outlines: Along = field(repr=False)
    wrist: float
    length: float
    full: tuple[float, float]
    hand: Hand | None = field(repr=False)
    slices: Slices = field(repr=False)
    skin: float
    volume: float
    sideways: float
    cautions: tuple[Caution, ...]


def bending_up(line: Line) -> Array:
    """Return a direction (3,) in the plane in which a limb is printed curved, towards its inside.

    For a straight limb upward in the file, or along its y where the limb itself runs upward.
    """
    points = line.points[line.arc_length <= line.limb_length * (1 + 1e-9)]
    middle = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - middle, full_matrices=False)
    up = np.asarray(axes[1], float)
    if np.ptp((points - middle) @ up) < STRAIGHT * line.radius:
        along = np.abs(axes[0])
        up = np.eye(3)[2 if along[2] < 0.9 else 1]
        return np.asarray(up, float)
    last = int(np.searchsorted(line.arc_length, line.limb_length * (1 - 1e-9)))
    inward = float(up @ (line.tangents[last] - line.tangents[0]))
    if abs(inward) < math.radians(5.0):  # an S has no inside
        inward = float(up @ np.array([0.1, 0.3, 1.0]))
    return up if inward >= 0 else -up


def mesh_limb(
    surface: Surface,
    line: Line,
    *,
    up: object = None,
    stations: int = 17,
    roomiest: bool = False,
) -> MeshLimb:
    """Measure the limb along a line for its verdict.

    Parameters
    ----------
    surface : Surface
        The body.
    line : Line
        Its `limb_centreline`.
    up : (float, float, float), optional
        In the plane in which the limb will be bent; that of its own curve if left out.
    stations : int
        How many outlines, 2 to 48.
    roomiest : bool
        Whether the channel leaves the middles of the sections where that gives more cover.

    Returns
    -------
    MeshLimb

    Raises
    ------
    ValueError
        As `limb_along`.
    """
    check_line(surface, line)
    count = check_whole("stations", stations, least=2, most=48)
    upward = bending_up(line) if up is None else check_up(up)
    ends = _full_ends(surface, line, upward)
    outlines = limb_along(surface, line, up=upward, stations=count, ends=ends)
    hand = None
    if line.wrist_share < 1:
        hand = hand_beyond(surface, line, line.wrist_share * (1 - 1e-6))
    wrist = line.limb_length
    ahead = hand.ahead if hand is not None and hand.ahead > NEAR * wrist else 0.0
    solid = solid_of(surface)
    a, b, c = solid.vertices[solid.triangles.T]
    skin = printed_skin(surface)
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)
    if line.left_off > 0:
        cut = sections_along(surface, line, np.array([1e-4]), upward)
        skin -= part_beyond(solid, cut, 0, -1).skin
        volume -= line.left_off
    own = volume - (hand.volume if hand is not None else 0.0)
    off = _volume_along(surface, line, upward) / own - 1 if solid.closed else 0.0
    sideways = sideways_turn(line, upward)
    slices = limb_slices(surface, line, SLICES, up=upward)
    path = roomiest_line(surface, line, slices) if roomiest else line
    if path is not line:
        slices = limb_slices(surface, path, SLICES, up=upward)
        shares = np.clip([share for share, _ in outlines.stations], *ends) * line.wrist_share
        outlines = _about(outlines, offsets_from(line, path, shares, upward))
    return MeshLimb(
        line=line,
        path=path,
        up=upward,
        outlines=_lengthened(outlines, wrist, ahead),
        wrist=wrist,
        length=wrist + ahead,
        full=(ends[0] * wrist, ends[1] * wrist),
        hand=hand,
        slices=slices,
        skin=skin,
        volume=volume,
        sideways=sideways,
        cautions=(
            *line.cautions,
            *_cautions(line, hand, sideways, off, bool(outlines.sideways_curvature)),
        ),
    )


def _full_ends(surface: Surface, line: Line, up: Array) -> tuple[float, float]:
    """Return the shares of a limb between which its sections are not those of a round end."""
    first, last = ENDS
    inner = min(line.radius / line.limb_length, 0.4)
    shares = np.array([first, inner, 1 - inner, last]) * line.wrist_share
    area = sections_along(surface, line, shares, up).area
    start = inner if area[0] < TAPERED * area[1] else first
    return start, 1 - inner if area[3] < TAPERED * area[2] else last


def _lengthened(outlines: Along, wrist: float, ahead: float) -> Along:
    """Return outlines that go on beyond the wrist with the last one, printed straight there."""
    share = wrist / (wrist + ahead)
    stations = [(place * share, _rounded(outline)) for place, outline in outlines.stations]
    if ahead > 0:
        stations.append((1.0, stations[-1][1]))

    def lengthened(pairs: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        curved = [(place * share, value) for place, value in pairs]
        if ahead > 0 and curved:
            curved += [(min(share + 1e-4, (1 + share) / 2), 0.0), (1.0, 0.0)]
        return tuple(curved)

    return Along(
        stations=tuple(stations),
        natural_curvature=lengthened(outlines.natural_curvature),
        sideways_curvature=lengthened(outlines.sideways_curvature),
        natural_twist=lengthened(outlines.natural_twist),
    )


def _about(outlines: Along, places: Array) -> Along:
    """Return polygons about places (n, 2) [m] in them instead of their middles."""
    moved = []
    for (share, outline), (x, y) in zip(outlines.stations, places.tolist(), strict=True):
        if not isinstance(outline, Polygon):
            raise refuse("outlines", "polygons", type(outline).__name__)
        points = tuple((a - x, b - y) for a, b in outline.points)
        moved.append((share, Polygon(points=points)))
    return replace(outlines, stations=tuple(moved))


def _rounded(outline: Outline) -> Outline:
    if not isinstance(outline, Polygon):
        return outline
    return Polygon(points=tuple((round(x, DIGITS), round(y, DIGITS)) for x, y in outline.points))


def _volume_along(surface: Surface, line: Line, up: Array) -> float:
    """Return the volume of a limb from its sections and its line, after Pappus. [m3]

    It checks the line against the mesh: where sections stand square to a line through their
    middles it is the volume itself, however the line is curved.
    """
    shares = np.linspace(*ENDS, 81) * line.wrist_share
    area, _, _ = sections_along(surface, line, shares, up).net()
    return float(np.trapezoid(area, shares * line.length)) / (ENDS[1] - ENDS[0])


def _cautions(
    line: Line, hand: Hand | None, sideways: float, off: float, in_space: bool
) -> tuple[Caution, ...]:
    aside = hand.aside if hand is not None else 0.0
    counts = "follows it in space" if in_space else "counts its curve in that plane alone"
    found = {
        "line_sideways": (
            sideways > SIDEWAYS,
            f"The limb is printed with a turn of {math.degrees(sideways):.0f}° out of the plane in "
            f"which it is bent; the verdict {counts}.",
        ),
        "hand_aside": (
            aside > ASIDE * line.radius,
            f"The middle of the hand lies {aside * 1e3:.0f} mm beside the line: its weight also "
            "twists the limb, which the verdict leaves out.",
        ),
    }
    found["volume_differs"] = (
        abs(off) > DIFFERS,
        f"The sections along the line make {off:+.1%} of the limb's volume too much or too little: "
        "look whether the line runs through its middle.",
    )
    return tuple(Caution(key=key, text=text) for key, (true, text) in found.items() if true)
