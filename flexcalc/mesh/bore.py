"""The limb with its channel cut out, and the proof on the result."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from data.rules import Array, Caution, check_choice, check_kind, check_number, refuse
from flexcalc.build.channel import ChannelSize
from flexcalc.build.solids import Piece
from flexcalc.limb.printer import hole_constant
from flexcalc.mesh.along import line_curvature
from flexcalc.mesh.cuts import Planes, planes_across
from flexcalc.mesh.ends import least_gap, way_out
from flexcalc.mesh.files.reading import welded
from flexcalc.mesh.line import Line
from flexcalc.mesh.sections import sections_at
from flexcalc.mesh.slices import UP, check_line, check_up, section_area, sections_along
from flexcalc.mesh.solid import Solid, body_of, body_triangles, manifold_of, place, solid_of
from flexcalc.mesh.surface import Surface, Whole, edges_of

ENTRIES = ("root", "tip")
CHECKED = 61
"""Sections in which the cover is measured again."""
FINEST = 1e-6
"""Detail that is kept. [m]"""
SAMPLE = 0.04
"""Length of a test piece. [m]"""


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


def bored_limb(
    surface: Surface,
    line: Line,
    channel: ChannelSize,
    *,
    entry: str = "root",
    depth_share: float = 0.9,
    up: object = UP,
    pocket: float = 0.0,
) -> Piece:
    """Return the limb with its channel cut out; `bore` returns the proof with it."""
    made = bore(surface, line, channel, entry=entry, depth_share=depth_share, up=up, pocket=pocket)
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
) -> Bored:
    """Cut a channel along a limb's line and prove it on the result.

    Parameters
    ----------
    surface : Surface
        A closed body. What lies before the root's end is cut off.
    line : Line
        Its `limb_centreline`, along which the channel runs.
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
    path = channel_path(solid, line, channel, entry, share, upward, pocket)
    ring = channel_profile(channel)
    _check_bend(path, ring)
    _check_room(solid, path, ring)
    tool = manifold_of(*_swept(path, ring))
    if tool is None:
        raise RuntimeError(f"the channel of {channel.draw_diameter} m makes no solid")
    cut = (body - tool).simplify(FINEST)
    return _proven(body, cut, solid, path, ring, line, channel, entry, upward)


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


def solid_from(body: Any) -> Solid:
    """Return the triangles of an exact solid."""
    vertices, triangles = body_triangles(body)
    return Solid(
        vertices=vertices,
        triangles=triangles,
        edges=edges_of(triangles),
        closed=True,
        turned=False,
        cautions=(),
    )


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
    sections = sections_at(solid, _planes(path, inner), reach=reach)
    for row, k in enumerate(inner):
        found = sections.main[row] >= 0
        if not found or not _held(section_area(sections, row), ring * path.scale[k]):
            where = f"it would at {path.places[k] * 1e3:.1f} mm, {place(path.points[k])}"
            raise refuse("channel", "within the skin", where)


def _planes(path: Path, rows: Whole) -> Planes:
    return Planes(
        origins=path.points[rows],
        xs=path.xs[rows],
        ys=path.ys[rows],
        normals=path.tangents[rows],
    )


def _held(area: Any, ring: Array) -> bool:
    from shapely import Polygon

    return bool(area.contains(Polygon(ring)))


def _swept(path: Path, ring: Array) -> tuple[Array, Whole]:
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


def _proven(
    body: Any,
    cut: Any,
    solid: Solid,
    path: Path,
    ring: Array,
    line: Line,
    channel: ChannelSize,
    entry: str,
    up: Array,
) -> Bored:
    """Prove the cut body: closed, one piece, blind or through, volume, cover measured again."""
    import manifold3d

    reach = float(np.linalg.norm(ring, axis=1).max())
    removed, expected = body.volume() - cut.volume(), swept_volume(path, ring)
    # a mouth that is round or oblique holds a little more or less than one cut square
    mouths = (1 + path.through) * (reach + channel.entry_chamfer) ** 3 * 2.5
    good = {
        "closed": cut.status() == manifold3d.Error.NoError,
        "one piece": len(cut.decompose()) == 1,
        "through" if path.through else "blind": cut.genus() == body.genus() + path.through,
        "profile times path": abs(removed - expected) < 0.01 * expected + mouths,
    }
    if not all(good.values()):
        raise RuntimeError(
            f"the bored limb is not as it should be: {good}, removed {removed} of {expected} m3, "
            f"channel {channel.draw_diameter} m, depth {path.depth} m from the {entry}"
        )
    result = _rounded(solid_from(cut))
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


def _rounded(solid: Solid) -> Solid:
    """Return a solid with its corners as a file in single precision holds them, if it stays closed.

    Corners that fall together then are one here already, and no reader finds edges without length.
    """
    corners = np.float32(solid.vertices * 1e3).astype(float) / 1e3
    vertices, triangles = welded(corners, solid.triangles)
    edges = edges_of(triangles)
    if not ((edges.uses == 2) & edges.consistent).all():
        return solid
    return replace(solid, vertices=vertices, triangles=triangles, edges=edges)


def _least_cover(result: Solid, path: Path, reach: float) -> tuple[float, float]:
    """Return the thinnest material beside the channel of a cut body, and its share of the line."""
    from shapely import Polygon

    low = 2 * reach
    high = path.depth - (low if path.through else reach / 2)
    rows = np.flatnonzero((path.places >= low) & (path.places <= high))
    if not len(rows):
        raise refuse("depth share", "more than the channel is wide", f"{path.depth * 1e3:.1f} mm")
    rows = rows[np.unique(np.linspace(0, len(rows) - 1, CHECKED).astype(int))]
    sections = sections_at(result, _planes(path, rows), reach=3 * reach)
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


def bored_sample(
    surface: Surface,
    line: Line,
    channel: ChannelSize,
    *,
    length: float = SAMPLE,
    up: object = UP,
) -> Piece:
    """Return a short piece [m] cut from the limb's own middle, the channel right through it.

    Raises
    ------
    ValueError
        As `bore`, and for a length that the limb does not have.
    """
    check_line(surface, line)
    most = 0.8 * line.limb_length
    size = check_number("sample length", length, least=5e-3, most=most, unit="m")
    made = bore(surface, line, channel, depth_share=1.0, up=up)
    body = manifold_of(made.piece.vertices, made.piece.triangles)
    middle = 0.5 * line.wrist_share
    half = 0.5 * size / line.length
    for share, way in ((middle - half, 1.0), (middle + half, -1.0)):
        normal, origin = way * line.tangent_at(share), line.point_at(share)
        body = body.trim_by_plane(normal.tolist(), float(normal @ origin))
    spot = line.point_at(middle)
    planes = planes_across(spot[None], line.tangent_at(np.array([middle])), check_up(up))
    for part in body.decompose():
        found = sections_at(solid_from(part), planes, reach=line.radius)
        if found.main[0] >= 0 and found.curves.winding[found.main[0]] > 0.5:
            vertices, triangles = body_triangles(part)
            return replace(
                made.piece,
                name="limb sample",
                vertices=vertices,
                triangles=triangles,
                profile_area=part.volume() / size,
                depth=size,
                note="Try the wire, bend it as planned and let it go, before printing the limb.",
            )
    raise RuntimeError(f"no piece of {size} m at the middle of the limb, near {place(spot)}")


def mirrored(piece: Piece) -> Piece:
    """Return a piece's mirror image: the left limb of a right one."""
    check_kind("piece", piece, Piece, "a Piece")
    return replace(
        piece,
        name=f"{piece.name} mirrored",
        vertices=piece.vertices * np.array([-1.0, 1.0, 1.0]),
        triangles=piece.triangles[:, ::-1],
    )
