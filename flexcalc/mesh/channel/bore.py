"""The limb with its channel cut out."""

from __future__ import annotations

from typing import Any

import numpy as np

from data.rules import Array, check_choice, check_kind, check_number, refuse
from flexcalc.build.channel import ChannelSize
from flexcalc.build.solids import Piece
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.channel.path import Path, channel_path, channel_profile, planes_of, swept
from flexcalc.mesh.channel.proof import CHECKED, Bored, proven, rounded
from flexcalc.mesh.cuts import planes_across
from flexcalc.mesh.sections import sections_at
from flexcalc.mesh.slices import UP, check_line, check_up, section_area, sections_along
from flexcalc.mesh.solid import (
    FINEST,
    Solid,
    body_of,
    manifold_of,
    place,
    solid_from,
    solid_of,
)
from flexcalc.mesh.surface import Surface, body_labels

ENTRIES = ("root", "tip")
CRUMB = 1e-11
"""Volume of a crumb that the cut leaves loose: far below a bead of any printer. [m3]"""


def bored_limb(
    surface: Surface,
    line: Line,
    channel: ChannelSize,
    *,
    entry: str = "root",
    depth_share: float = 0.9,
    up: object = UP,
    pocket: float = 0.0,
    path: Line | None = None,
) -> Piece:
    """Return the limb with its channel cut out; `bore` returns the proof with it."""
    made = bore(
        surface,
        line,
        channel,
        entry=entry,
        depth_share=depth_share,
        up=up,
        pocket=pocket,
        path=path,
    )
    return made.piece


def bore(
    surface: Surface,
    line: Line,
    channel: ChannelSize,
    *,
    entry: str = "root",
    depth_share: float = 0.9,
    up: object = UP,
    pocket: float = 0.0,
    path: Line | None = None,
) -> Bored:
    """Cut a channel along a limb's line and prove it on the result.

    Parameters
    ----------
    surface : Surface
        A closed body. What lies before the root's end is cut off.
    line : Line
        Its `limb_centreline`.
    channel : ChannelSize
        What to draw, from `size_channel`: diameter, roof, wall and chamfer.
    entry : str
        "root" or "tip": where the wire is pushed in.
    depth_share : float
        Depth as a share of the line's length; 1 is right through.
    up : (float, float, float)
        The printer's up, to which a roof points.
    pocket : float
        Diameter of a wider room at the blind end, for a bent or looped end of the wire; 0: none.
        [m]
    path : Line, optional
        Where the channel runs, from `roomiest_line`; the line itself if left out.

    Returns
    -------
    Bored
        The piece, the proof and cautions.

    Raises
    ------
    ValueError
        For an open mesh, one with a channel along the line already, a channel that would leave
        the skin or turn inside out on a bend, naming the place.
    RuntimeError
        If the cut body does not pass its proof.
    """
    check_line(surface, line)
    course = line if path is None else path
    check_line(surface, course)
    check_kind("channel", channel, ChannelSize, "a ChannelSize")
    check_choice("entry", entry, ENTRIES)
    share = check_number("depth share", depth_share, above=0.0, most=1.0)
    pocket = check_number("pocket", pocket, least=0.0, most=0.1, unit="m")
    upward = check_up(up)
    whole = body_of(surface)
    _check_empty(surface, line, upward)
    body, solid = whole, solid_of(surface)
    if line.left_off > 0:
        body = _limb_alone(whole, line)
        solid = solid_from(body)
    runs = channel_path(solid, course, channel, entry, share, upward, pocket)
    ring = channel_profile(channel)
    _check_bend(runs, ring)
    _check_room(solid, runs, ring)
    tool = manifold_of(*swept(runs, ring))
    if tool is None:
        raise RuntimeError(f"the channel of {channel.draw_diameter} m makes no solid")
    cut, result = _cut(body - tool)
    return proven(body, cut, result, solid, runs, ring, course, channel, entry, upward)


def _cut(cut: Any) -> tuple[Any, Solid]:
    """Return a cut body in one piece, and its triangles as a file holds them."""
    whole, solid = _one_piece(cut.simplify(FINEST))
    result = rounded(solid)
    if result is None:
        rule = "of a skin that a file holds closed once it is cut: simplify or repair it"
        raise refuse("mesh", rule, f"edges that fall together within {FINEST * 1e3:g} mm")
    return whole, result


def _one_piece(cut: Any) -> tuple[Any, Solid]:
    """Return a cut body without crumbs; what comes off and is more than a crumb is refused."""
    solid = solid_from(cut)
    if not body_labels(solid.triangles, len(solid.vertices)).any():
        return cut, solid
    parts = sorted(cut.decompose(), key=lambda part: abs(float(part.volume())))
    for part in parts[:-1]:
        if abs(part.volume()) > CRUMB:
            low, high = np.reshape(part.bounding_box(), (2, 3))
            got = f"{part.volume() * 1e9:.2f} mm3 come off near {place((low + high) / 2)}"
            raise refuse("channel", "one that leaves the limb in one piece", got)
    return parts[-1], solid_from(parts[-1])


def _check_empty(surface: Surface, line: Line, up: Array) -> None:
    """Refuse a mesh that has a channel along the line already."""
    shares = (np.arange(9) + 0.5) / 9 * line.wrist_share
    sections = sections_along(surface, line, shares, up)
    curves = sections.curves
    about = [
        hole
        for k in range(9)
        for hole in sections.holes[k]
        if np.linalg.norm(curves.centroid[hole]) < sections.radius[k] / 2
    ]
    if len(about) > 4:
        size = float(np.median(np.sqrt(-4 * curves.area[about] / np.pi)))
        raise refuse("mesh", "without a channel yet", f"one of {size * 1e3:.2f} mm along the line")


def _limb_alone(body: Any, line: Line) -> Any:
    """Return the body without what lies before the root's end, cut square to the line."""
    import manifold3d

    normal, origin = line.tangents[0], line.points[0]
    after, before = body.split_by_plane(normal.tolist(), float(normal @ origin))
    parts = before.decompose()
    kept = [part for part in parts if not _held_at(part, origin - 1e-6 * normal, normal, line)]
    joined = manifold3d.Manifold.batch_boolean([after, *kept], manifold3d.OpType.Add)
    for part in joined.decompose():  # an oblique torso leaves a corner on the limb's side
        if _held_at(part, origin + 1e-5 * normal, normal, line):
            return part
    raise refuse("limb", "one piece once cut at its root", f"none, cut at {place(origin)}")


def _held_at(part: Any, point: Array, normal: Array, line: Line) -> bool:
    """Whether a body holds a point of the line."""
    planes = planes_across(point[None], normal[None], np.zeros(3))
    found = sections_at(solid_from(part), planes, reach=line.radius)
    return bool(found.main[0] >= 0 and found.curves.winding[found.main[0]] > 0.5)


def _check_bend(path: Path, ring: Array) -> None:
    """Refuse a profile that turns inside out on the inner side of a bend."""
    lean = path.scale * (path.bend @ ring.T).max(axis=1)
    worst = int(np.argmax(lean))
    if lean[worst] >= 0.95:
        where = place(path.points[worst])
        raise refuse("channel", "narrow enough for the bends of the line", f"too wide at {where}")


def _check_room(solid: Solid, path: Path, ring: Array) -> None:
    """Refuse a channel that would leave the skin, naming the first such place."""
    reach = float(np.linalg.norm(ring, axis=1).max())
    last = path.depth - path.through * 1.05 * reach
    inner = np.flatnonzero((path.places > 1.05 * reach) & (path.places <= last))
    if len(inner):
        inner = inner[np.unique(np.linspace(0, len(inner) - 1, CHECKED).astype(int))]
    sections = sections_at(solid, planes_of(path, inner), reach=reach)
    for row, k in enumerate(inner):
        found = sections.main[row] >= 0
        if not found or not _held(section_area(sections, row), ring * path.scale[k]):
            where = f"it would at {path.places[k] * 1e3:.1f} mm, {place(path.points[k])}"
            raise refuse("channel", "within the skin", where)


def _held(area: Any, ring: Array) -> bool:
    from shapely import Polygon

    return bool(area.contains(Polygon(ring)))
