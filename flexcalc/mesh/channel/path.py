"""Where a channel runs in a limb, how wide it is there, and the solid that it takes out."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from data.rules import Array, refuse
from flexcalc.build.channel import ChannelSize
from flexcalc.limb.printer import hole_constant
from flexcalc.mesh.along import line_curvature
from flexcalc.mesh.centreline.ends import way_out
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.cuts import Planes, planes_across
from flexcalc.mesh.solid import Solid, place
from flexcalc.mesh.surface import Whole


@dataclass(frozen=True, kw_only=True, eq=False)
class Path:
    """Where a channel runs: parameters of the line, from the mouth inward.

    ``places`` (n,) [m] from the mouth, below 0 outside the body; ``points``, ``xs``, ``ys`` and
    ``tangents`` (n, 3) there, the tangents pointing inward; ``scale`` (n,) of the profile;
    ``bend`` (n, 2) [1/m] the curvature towards x and y; ``shares`` (n,) of the line, clipped.
    """

    places: Array = field(repr=False)
    points: Array = field(repr=False)
    xs: Array = field(repr=False)
    ys: Array = field(repr=False)
    tangents: Array = field(repr=False)
    scale: Array = field(repr=False)
    bend: Array = field(repr=False)
    shares: Array = field(repr=False)
    depth: float
    through: bool


def channel_profile(channel: ChannelSize) -> Array:
    """Return the corners (n, 2) of a channel's profile, a roof towards +y. [m]"""
    radius = channel.draw_diameter / 2
    corners = int(hole_constant("facets").value)
    if not channel.roofed:
        turn = 2 * math.pi * np.arange(corners) / corners
        return radius * np.stack([np.cos(turn), np.sin(turn)], 1)
    turn = np.linspace(0.75 * math.pi, 2.25 * math.pi, corners * 3 // 4 + 1)
    round_part = radius * np.stack([np.cos(turn), np.sin(turn)], 1)
    top = channel.roof_height
    half = radius * math.sqrt(2) - top
    flat = [[half, top], [-half, top]] if half > 1e-6 else [[0.0, radius * math.sqrt(2)]]
    return np.vstack([round_part, flat])


def channel_path(
    solid: Solid,
    line: Line,
    channel: ChannelSize,
    entry: str,
    share: float,
    up: Array,
    pocket: float,
) -> Path:
    """Return where the channel runs and how wide its profile is along it."""
    reach = channel.draw_diameter / 2 * math.sqrt(2) + channel.entry_chamfer
    over = 1.5 * line.radius + reach
    inside = way_out(solid, line.points, line.arc_length, line.limb_length)
    if entry == "root":
        start, way, most = 0.0, 1.0, inside
    else:
        start, way, most = inside, -1.0, inside
    through = share == 1.0
    depth = most if through else share * line.length
    if not through and depth > most - 1e-4:
        spot = line.point_at(min(most / line.length, 1.0))
        raise refuse("depth share", "less, so that the channel ends within the body", place(spot))
    last = depth + over if through else depth
    places = _places(depth, last, over, channel, pocket)
    arc = start + way * places
    shares = np.clip(arc / line.length, 0.0, 1.0)
    points, tangents = line.point_at(shares), line.tangent_at(shares)
    points = points + (arc - shares * line.length)[:, None] * tangents
    # a round profile needs no up, and one that is carried along does not twist
    planes = planes_across(points, way * tangents, up if channel.roofed else np.zeros(3))
    limb = np.clip(shares, 0.0, line.wrist_share)
    bend = line_curvature(line, limb, planes) * ((arc > 0) & (shares < line.wrist_share))[:, None]
    return Path(
        places=places,
        points=points,
        xs=planes.xs,
        ys=planes.ys,
        tangents=way * tangents,
        scale=_scale(places, depth, channel, 0.0 if through else pocket),
        bend=bend,
        shares=shares,
        depth=depth,
        through=through,
    )


def _places(depth: float, last: float, over: float, channel: ChannelSize, pocket: float) -> Array:
    """Return places from outside the mouth to the end, with corners of the profile's width."""
    step = max(channel.draw_diameter / 3, depth / 400)
    even = np.linspace(-over, last, int((last + over) / step) + 2)
    ramp = max(pocket - channel.draw_diameter, 0.0) / 2
    corners = [0.0, channel.entry_chamfer, depth]
    if ramp > 0:
        corners += [depth - ramp - pocket, depth - pocket]
    places = np.unique(np.concatenate([even, [corner for corner in corners if corner <= last]]))
    return np.asarray(places[np.concatenate([[True], np.diff(places) > 1e-7])], float)


def _scale(places: Array, depth: float, channel: ChannelSize, pocket: float) -> Array:
    """Return the factor on the profile: a chamfer at the mouth, perhaps a pocket at the end."""
    radius = channel.draw_diameter / 2
    wider = np.clip(channel.entry_chamfer - places, 0.0, channel.entry_chamfer)
    ramp = pocket / 2 - radius
    if ramp > 0:
        wider = np.maximum(wider, np.clip(places - (depth - pocket - ramp), 0.0, ramp))
    return np.asarray(1 + wider / radius, float)


def planes_of(path: Path, rows: Whole) -> Planes:
    return Planes(
        origins=path.points[rows],
        xs=path.xs[rows],
        ys=path.ys[rows],
        normals=path.tangents[rows],
    )


def swept(path: Path, ring: Array) -> tuple[Array, Whole]:
    """Return the solid of a profile swept along a path, both ends closed flat."""
    count, corners = len(path.places), len(ring)
    sized = ring[None] * path.scale[:, None, None]
    x, y = sized[..., :1], sized[..., 1:]
    vertices = path.points[:, None] + x * path.xs[:, None] + y * path.ys[:, None]
    k = np.arange(corners)
    after = (k + 1) % corners
    rows = np.arange(count - 1)[:, None] * corners
    one, two = rows + k, rows + after
    sides = [
        np.stack([one, two, two + corners], -1).reshape(-1, 3),
        np.stack([one, two + corners, one + corners], -1).reshape(-1, 3),
    ]
    last = (count - 1) * corners
    first_middle, last_middle = count * corners, count * corners + 1
    lids = [
        np.stack([np.full(corners, first_middle), after, k], 1),
        np.stack([np.full(corners, last_middle), last + k, last + after], 1),
    ]
    middles = np.stack([path.points[0], path.points[-1]])
    return np.vstack([vertices.reshape(-1, 3), middles]), np.concatenate([*sides, *lids])


def swept_volume(path: Path, ring: Array) -> float:
    """Return the profile times its path, from the mouth to the end of the channel. [m3]

    Source: Pappus, with the profile's own centroid where it is not on the line.
    """
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    cross = x0 * y1 - x1 * y0
    area = float(cross.sum() / 2)
    middle = np.array([cross @ (x0 + x1), cross @ (y0 + y1)]) / 6 / area
    grown = area * path.scale**2 * (1 - path.scale * (path.bend @ middle))
    inside = (path.places >= -1e-9) & (path.places <= path.depth + 1e-9)
    return float(np.trapezoid(grown[inside], path.places[inside]))
