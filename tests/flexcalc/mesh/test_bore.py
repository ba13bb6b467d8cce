"""The channel in the limb, checked on the triangles that go out, by a second route: trimesh."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
import trimesh

from data.rules import Array, Refused
from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.build.solids import Piece, file_bytes
from flexcalc.limb.outline import Polygon
from flexcalc.mesh import (
    Line,
    Surface,
    bore,
    bored_limb,
    bored_sample,
    limb_along,
    limb_centreline,
    limb_shape,
    mirrored,
    read_surface,
    surface_health,
)
from flexcalc.mesh.channel.proof import rounded
from flexcalc.mesh.solid import Solid, winding
from flexcalc.mesh.surface import edges_of
from tests.flexcalc.mesh.lofts import build, stl_bytes

ARC = dict(kind="round", corners=48, rings=80, path="arc", bend_radius=55, angle=1.4, a0=7, a1=5)
HAND = dict(
    kind="round", corners=48, rings=40, length=120, a0=7, a1=4, hand=[11, 126],
    hand_facets=[48, 41], wrist=100.0,
)  # fmt: skip
RECIPES: dict[str, dict[str, Any]] = {"arc": ARC, "hand": HAND}


@lru_cache(maxsize=4)
def made(name: str) -> tuple[Surface, Line]:
    v, f, root = build(RECIPES[name])
    surface = read_surface(stl_bytes(v, f), "mm")
    return surface, limb_centreline(surface, root / 1e3)


def upright(diameter: float = 2e-3) -> ChannelSize:
    return size_channel(diameter, "upright")


def closed_body(piece: Piece) -> Any:
    """The piece as another program reads it back from its own file."""
    body = trimesh.load(trimesh.util.wrap_as_stream(file_bytes(piece, "stl")), file_type="stl")
    body.merge_vertices()
    assert body.is_watertight and body.is_winding_consistent and body.body_count == 1
    return body


def holes(body: Any) -> int:
    """How many holes go through, from Euler's number 2 - 2g."""
    return (2 - body.euler_number) // 2


@pytest.mark.parametrize("entry", ["root", "tip"])
@pytest.mark.parametrize(("share", "through"), [(0.8, 0), (1.0, 1)])
def test_bored_limb_is_closed_and_blind_or_through(entry: str, share: float, through: int) -> None:
    surface, line = made("arc")
    channel = upright()
    result = bore(surface, line, channel, entry=entry, depth_share=share)
    body = closed_body(result.piece)
    assert holes(body) == through
    v, f, _ = build(ARC)
    before = trimesh.Trimesh(v, f).volume
    # a 64-gon of the drawn diameter along the path, and a cone round the mouth
    radius, facets = channel.draw_diameter / 2, 64
    polygon = facets / 2 * math.sin(2 * math.pi / facets)
    path = share * line.length
    c = channel.entry_chamfer
    expected = polygon * (radius**2 * path + radius * c**2 + c**3 / 3)
    removed = (before - body.volume) / 1e9
    assert removed == pytest.approx(expected, rel=2e-3)
    assert result.removed == pytest.approx(removed, rel=1e-3)
    # the cover at the thin end: ring of 48 corners less the channel
    thin = 5e-3 * math.cos(math.pi / 48) - radius
    assert thin - 1e-5 < result.least_cover < 2.5e-3 + thin


def test_cover_is_the_one_drawn() -> None:
    v, f, root = build(dict(ARC, a1=7))
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    result = bore(surface, line, upright())
    flat = 7e-3 * math.cos(math.pi / 48) - result.piece.holes[0] / 2
    assert result.least_cover == pytest.approx(flat, abs=3e-5)
    assert result.end_cover == pytest.approx(0.1 * line.length, rel=0.35)


def test_roof_points_up_and_cautions_tell_of_thin_cover() -> None:
    surface, line = made("arc")
    channel = size_channel(5.3e-3, "lying")
    up = (0.0, 1.0, 0.0)  # square to the plane of the arc
    result = bore(surface, line, channel, up=up, depth_share=1.0)
    wall = replace(channel, least_wall=result.least_cover + 1e-5)
    thin = bore(surface, line, wall, up=up, depth_share=1.0)
    assert {caution.key for caution in thin.cautions} == {"cover_thin"}
    body = closed_body(result.piece)
    middle = line.point_at(0.5) * 1e3
    radius = channel.draw_diameter * 1e3 / 2
    inside = middle + np.array([[0, s * radius * 1.3, 0] for s in (1, -1)])
    turns = [winding(spot, np.asarray(body.vertices), np.asarray(body.faces)) for spot in inside]
    assert turns == pytest.approx([0.0, 1.0], abs=1e-6)
    assert result.cautions == ()
    assert str(round(result.least_cover * 1e3, 2)) in result.piece.note


def test_pocket_is_wider_at_the_blind_end() -> None:
    surface, line = made("arc")
    plain = bore(surface, line, upright(), depth_share=0.7)
    wide = bore(surface, line, upright(), depth_share=0.7, pocket=5e-3)
    radius, pocket = plain.piece.holes[0] / 2, 2.5e-3
    ramp = pocket - radius
    ring = 32 * math.sin(2 * math.pi / 64)
    cone = ramp * (radius**2 + radius * pocket + pocket**2) / 3 - ramp * radius**2
    more = ring * ((pocket**2 - radius**2) * 2 * pocket + cone)
    assert wide.removed - plain.removed == pytest.approx(more, rel=5e-3)


def test_hand_is_bored_into_and_refused_beyond() -> None:
    surface, line = made("hand")
    body = closed_body(bore(surface, line, upright(1.2e-3), depth_share=0.95).piece)
    assert holes(body) == 0
    with pytest.raises(Refused) as told:
        bore(surface, line, upright(1.2e-3), depth_share=0.9999)
    assert told.value.name == "depth share" and "mm" in told.value.got


@pytest.mark.parametrize(
    ("recipe", "diameter", "name"),
    [
        (dict(ARC, a1=0.7), 2e-3, "channel"),
        (dict(ARC, channel=2.0), 2e-3, "mesh"),
        (dict(ARC, defects=["lid missing"]), 2e-3, "mesh"),
    ],
    ids=["through the skin", "channel there", "open"],
)
def test_refused_with_the_reason(recipe: dict[str, Any], diameter: float, name: str) -> None:
    v, f, root = build(recipe)
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    with pytest.raises(Refused) as told:
        bored_limb(surface, line, upright(diameter), depth_share=1.0)
    assert told.value.name == name and "mm" in told.value.got


def test_ball_before_the_root_is_cut_off() -> None:
    surface, _ = made("hand")
    line = limb_centreline(surface, (0.0, 0.0, 0.13))
    body = closed_body(bore(surface, line, upright(1.2e-3)).piece)
    assert body.extents[2] == pytest.approx(line.length * 1e3, rel=1e-4)
    assert body.volume / 1e9 < 0.7 * surface_health(surface).volume


def test_line_of_another_mesh_is_refused() -> None:
    with pytest.raises(Refused) as told:
        bored_limb(made("hand")[0], made("arc")[1], upright())
    assert told.value.name == "line"


def test_sample_and_mirror_image() -> None:
    surface, line = made("arc")
    piece = bored_sample(surface, line, upright(), length=0.03)
    body = closed_body(piece)
    assert holes(body) == 1
    assert body.volume / 1e9 == pytest.approx(piece.profile_area * piece.depth)
    ring, mid = 24 * math.sin(2 * math.pi / 48), 6e-3
    hole = 32 * math.sin(2 * math.pi / 64) * (piece.holes[0] / 2) ** 2
    assert piece.profile_area == pytest.approx(ring * mid**2 - hole, rel=0.01)
    twin = closed_body(mirrored(piece))
    assert twin.volume == pytest.approx(body.volume)
    assert twin.center_mass == pytest.approx(body.center_mass * [-1, 1, 1])


def test_shape_along_the_limb() -> None:
    surface, line = made("arc")
    up = np.array([0.0, 1.0, 0.0])
    shape = limb_shape(surface, line, up=up, stations=11)
    assert shape.length == pytest.approx(line.length)
    for share, outline in zip(shape.share[1:-1], shape.outlines[1:-1], strict=True):
        radius = 7e-3 - 2e-3 * share
        area, x, y = _moments(outline)
        assert area == pytest.approx(24 * math.sin(2 * math.pi / 48) * radius**2, rel=2e-3)
        assert abs(x) < 1e-6 and abs(y) < 1e-6
    # bends in the plane square to up, towards one side: x, none of it towards y
    assert np.abs(shape.natural_curvature[:, 1]).max() < 0.2
    assert np.abs(shape.natural_curvature[1:-1, 0]) == pytest.approx(1 / 0.055, rel=0.04)


@pytest.mark.parametrize("kind", ["round", "rectangle"])
def test_along_is_the_limb_that_the_mesh_was_built_from(kind: str) -> None:
    v, f, root = build(
        dict(ARC, kind=kind, a0=14, a1=10, b0=11, b1=9, corners=48 if kind == "round" else 4)
    )
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    # the arc bends towards +x: taken as up, its curvature is positive
    along = limb_along(surface, line, up=(1.0, 0.0, -0.2), stations=9)
    for share in (0.25, 0.4, 0.8):
        a, b = (
            14e-3 - 4e-3 * share,
            11e-3 - 2e-3 * share,
        )  # a across the line in the plane, b along y
        outline = along.outline_at(share)
        assert isinstance(outline, Polygon)
        points = np.array(outline.points)
        n = 48
        area = a * b if kind == "rectangle" else n / 2 * math.sin(2 * math.pi / n) * a * b
        assert _moments(points)[0] == pytest.approx(area, rel=2e-3)
        wide, high = np.ptp(points, axis=0)
        size = 1.0 if kind == "rectangle" else 2.0
        assert (wide, high) == pytest.approx((size * b, size * a), rel=5e-3)
        assert along.natural_at(share) == pytest.approx(1 / 0.055, rel=0.04)


def _moments(ring: Array) -> tuple[float, float, float]:
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    c = x0 * y1 - x1 * y0
    area = float(c.sum() / 2)
    return area, float(c @ (x0 + x1) / 6 / area), float(c @ (y0 + y1) / 6 / area)


def test_sheets_that_touch_along_an_edge_stay_closed_in_a_file() -> None:
    one = trimesh.creation.box(extents=[4, 4, 4])
    other = one.copy().apply_translation([4, 4, 0])  # they share one edge of the corner
    both = trimesh.util.concatenate([one, other])
    corners = np.asarray(both.vertices) * 1e-3
    triangles = np.asarray(both.faces, np.int64)
    edges = edges_of(triangles)
    solid = Solid(
        vertices=corners,
        triangles=triangles,
        edges=edges,
        closed=True,
        turned=False,
        cautions=(),
    )
    result = rounded(solid)
    assert result is not None
    again = read_surface(stl_bytes(result.vertices * 1e3, result.triangles), "mm")
    health = surface_health(again)
    assert health.closed and health.bodies == 2 and health.crowded_edges == 0
    assert health.volume == pytest.approx(2 * 4e-3**3, rel=0.05)
    assert surface_health(read_surface(stl_bytes(corners * 1e3, triangles), "mm")).crowded_edges
