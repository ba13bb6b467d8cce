"""A short piece of a bored limb to try, and its mirror image."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from data.rules import check_kind, check_number
from flexcalc.build.channel import ChannelSize
from flexcalc.build.solids import Piece
from flexcalc.mesh.centreline.line import Line
from flexcalc.mesh.channel.bore import bore
from flexcalc.mesh.cuts import planes_across
from flexcalc.mesh.sections import sections_at
from flexcalc.mesh.slices import UP, check_line, check_up
from flexcalc.mesh.solid import body_triangles, manifold_of, place, solid_from
from flexcalc.mesh.surface import Surface

SAMPLE = 0.04
"""Length of a test piece. [m]"""


def bored_sample(
    surface: Surface,
    line: Line,
    channel: ChannelSize,
    *,
    length: float = SAMPLE,
    up: object = UP,
    path: Line | None = None,
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
    made = bore(surface, line, channel, depth_share=1.0, up=up, path=path)
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
