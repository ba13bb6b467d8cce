"""The proof on a bored limb's own triangles: closed, one piece, volume, cover measured again."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from data.rules import Array, Caution, refuse
from flexcalc.build.channel import ChannelSize
from flexcalc.build.solids import Piece
from flexcalc.mesh.centreline.ends import least_gap
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.channel.path import Path, planes_of, swept_volume
from flexcalc.mesh.files.reading import distinct, welded
from flexcalc.mesh.sections import sections_at
from flexcalc.mesh.solid import Solid, place
from flexcalc.mesh.surface import body_labels, edges_of

APART = (0.0, 0.05, 0.2)
"""Shares of the way to their neighbours' middle by which corners of two sheets are parted."""
CHECKED = 61
"""Sections in which the cover is measured again."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Bored:
    """A limb with its channel, proven on its own triangles.

    ``piece`` is the solid; ``depth`` [m] the channel's length from its mouth; ``through`` whether
    it is open at both ends; ``removed`` [m3] the volume that is gone and ``expected`` [m3] the
    profile times its path; ``least_cover`` [m] the thinnest material beside the channel, found
    at ``least_cover_at``, a share of the line; ``end_cover`` [m] the thinnest before a blind
    end, 0 where it goes through.
    """

    piece: Piece
    depth: float
    through: bool
    removed: float
    expected: float
    least_cover: float
    least_cover_at: float
    end_cover: float
    cautions: tuple[Caution, ...]


def proven(
    body: Any,
    cut: Any,
    result: Solid,
    solid: Solid,
    path: Path,
    ring: Array,
    line: Line,
    channel: ChannelSize,
    entry: str,
    up: Array,
) -> Bored:
    """Prove a cut body: closed, one piece, blind or through, volume, cover measured again.

    ``result`` are its triangles as a file holds them, ``solid`` those of ``body`` before the cut.
    """
    import manifold3d

    reach = float(np.linalg.norm(ring, axis=1).max())
    removed, expected = body.volume() - cut.volume(), swept_volume(path, ring)
    # a mouth that is round or oblique holds a little more or less than one cut square
    mouths = (1 + path.through) * (reach + channel.entry_chamfer) ** 3 * 2.5
    good = {
        "closed": cut.status() == manifold3d.Error.NoError,
        "one piece": not body_labels(result.triangles, len(result.vertices)).any(),
        "through" if path.through else "blind": cut.genus() == body.genus() + path.through,
        "profile times path": abs(removed - expected) < 0.01 * expected + mouths,
    }
    if not all(good.values()):
        raise RuntimeError(
            f"the bored limb is not as it should be: {good}, removed {removed} of {expected} m3, "
            f"channel {channel.draw_diameter} m, depth {path.depth} m from the {entry}"
        )
    cover, at = _least_cover(result, path, reach)
    end_cover = 0.0
    if not path.through:
        rim = path.scale[-1] * ring
        spots = path.points[-1] + rim[:, :1] * path.xs[-1] + rim[:, 1:] * path.ys[-1]
        spots = np.vstack([spots, path.points[-1]])
        end_cover = least_gap(solid, spots, path.tangents[-1])
    volume = cut.volume()
    mm = 1e3
    note = (
        f"Channel of {channel.draw_diameter * mm:.2f} mm, "
        f"{'right through' if path.through else f'{path.depth * mm:.0f} mm deep'} from the "
        f"{entry}; thinnest cover {cover * mm:.2f} mm, "
        f"{at * line.length * mm:.0f} mm from the root."
    )
    return Bored(
        piece=Piece(
            name="bored limb",
            vertices=result.vertices,
            triangles=result.triangles,
            profile_area=volume / line.length,
            depth=line.length,
            holes=(channel.draw_diameter,),
            note=note,
        ),
        depth=path.depth,
        through=path.through,
        removed=removed,
        expected=expected,
        least_cover=cover,
        least_cover_at=at,
        end_cover=end_cover,
        cautions=_cautions(path, channel, line, up, cover, at, end_cover),
    )


def rounded(solid: Solid) -> Solid | None:
    """Return a solid with its corners as a file in single precision holds them, None if that opens.

    Corners that fall together then are one here already, and no reader finds edges without length.
    Where two sheets touch along an edge, its corners are drawn apart into their own sheets.
    """
    corners = solid.vertices
    for share in APART:
        if share:
            corners = corners + share * _drawn_in(solid, corners)
        held = np.float32(corners * 1e3).astype(float) / 1e3
        if len(distinct(held)[0]) == len(held):
            return replace(solid, vertices=held)
        vertices, triangles = welded(held, solid.triangles)
        edges = edges_of(triangles)
        if ((edges.uses == 2) & edges.consistent).all():
            return replace(solid, vertices=vertices, triangles=triangles, edges=edges)
    return None


def _drawn_in(solid: Solid, corners: Array) -> Array:
    """Return steps (n, 3) to the middle of its neighbours for each corner that lies on another."""
    held = np.float32(corners * 1e3)
    _, number, count = np.unique(held, axis=0, return_inverse=True, return_counts=True)
    doubled = count[number.reshape(-1)] > 1
    one, two = solid.edges.ends.T
    many = len(corners)
    beside = np.bincount(one, minlength=many) + np.bincount(two, minlength=many)
    middle = np.stack(
        [
            np.bincount(one, weights=axis[two], minlength=many)
            + np.bincount(two, weights=axis[one], minlength=many)
            for axis in corners.T
        ],
        axis=1,
    )
    return np.asarray((middle / beside[:, None] - corners) * doubled[:, None], float)


def _least_cover(result: Solid, path: Path, reach: float) -> tuple[float, float]:
    """Return the thinnest material beside the channel of a cut body, and its share of the line."""
    from shapely import Polygon

    low = 2 * reach
    high = path.depth - (low if path.through else reach / 2)
    rows = np.flatnonzero((path.places >= low) & (path.places <= high))
    if not len(rows):
        raise refuse("depth share", "more than the channel is wide", f"{path.depth * 1e3:.1f} mm")
    rows = rows[np.unique(np.linspace(0, len(rows) - 1, CHECKED).astype(int))]
    sections = sections_at(result, planes_of(path, rows), reach=3 * reach)
    best, where = math.inf, 0.0
    for k, row in enumerate(rows):
        curves = sections.curves
        held = [hole for hole in sections.holes[k] if abs(curves.winding[hole]) > 0.5]
        if sections.main[k] < 0 or not held:
            raise RuntimeError(f"the channel is open to the side at {place(path.points[row])}")
        outer = Polygon(curves.ring(int(sections.main[k]))).exterior
        gap = min(float(outer.distance(Polygon(curves.ring(hole)))) for hole in held)
        if gap < best:
            best, where = gap, float(path.shares[row])
    return best, where


def _cautions(
    path: Path,
    channel: ChannelSize,
    line: Line,
    up: Array,
    cover: float,
    at: float,
    end_cover: float,
) -> tuple[Caution, ...]:
    wall = channel.least_wall
    steep = channel.roofed and bool((np.abs(path.tangents @ up) > 0.9).any())
    found = {
        "cover_thin": (
            cover < wall,
            f"The cover over the channel is {cover * 1e3:.2f} mm near "
            f"{place(line.point_at(at))}, less than {wall * 1e3:.2f} mm.",
        ),
        "end_thin": (
            not path.through and end_cover < wall,
            f"Only {end_cover * 1e3:.2f} mm remain before the blind end.",
        ),
        "roof_steep": (steep, "The channel stands in places, where a roof does not help it."),
    }
    return tuple(Caution(key=key, text=text) for key, (true, text) in found.items() if true)
