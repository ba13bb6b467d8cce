"""A whole limb in a mesh: its hand, its skin and its outlines, against closed forms and trimesh."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
import trimesh

from data.rules import Array, Refused
from flexcalc.build.channel import size_channel
from flexcalc.limb.inputs import Limb, Setting
from flexcalc.limb.materials import load_elastomer
from flexcalc.limb.outline import Polygon
from flexcalc.mesh import (
    Line,
    Surface,
    bending_up,
    bore,
    ends_of,
    limb_centreline,
    mesh_limb,
    printed_mass,
    read_surface,
    side_view,
)
from flexcalc.mesh.slices import planes_at
from flexcalc.pose.pose import hold_pose, inserted_shape
from tests.flexcalc.mesh.lofts import build, capped, stl_bytes

CONE = dict(kind="round", corners=96, rings=60, length=120, a0=8, a1=4)
ARC = dict(kind="round", corners=48, rings=80, path="arc", bend_radius=55, angle=1.4, a0=7, a1=5)
HAND = dict(
    kind="round", corners=48, rings=40, length=120, a0=7, a1=4, hand=[11, 126],
    hand_facets=[48, 41], wrist=100.0,
)  # fmt: skip


@lru_cache(maxsize=4)
def made(name: str) -> tuple[Surface, Line, Any]:
    v, f, root = build({"cone": CONE, "arc": ARC, "hand": HAND}[name])
    surface = read_surface(stl_bytes(v, f), "mm")
    body = trimesh.load(trimesh.util.wrap_as_stream(stl_bytes(v, f)), file_type="stl")
    return surface, limb_centreline(surface, root / 1e3), body


def test_a_cone_has_the_volume_and_skin_of_a_frustum() -> None:
    surface, line, _ = made("cone")
    limb = mesh_limb(surface, line)
    lateral = math.pi * 12e-3 * math.hypot(0.12, 4e-3)
    assert limb.skin == pytest.approx(lateral + math.pi * (64 + 16) * 1e-6, rel=2e-3)
    assert limb.volume == pytest.approx(math.pi * 0.12 * (64 + 32 + 16) / 3 * 1e-6, rel=2e-3)
    assert limb.hand is None and limb.length == limb.wrist == pytest.approx(0.12, rel=1e-3)
    assert limb.sideways < 0.02 and limb.outlines.natural_at(0.5) == pytest.approx(0.0, abs=0.1)
    half = limb.outlines.outline_at(0.5)
    assert isinstance(half, Polygon)
    x, y = np.array(half.points).T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    assert area == pytest.approx(math.pi * 36e-6, rel=3e-3)


def test_a_hand_is_what_trimesh_cuts_off_and_lengthens_the_limb_to_its_middle() -> None:
    surface, line, body = made("hand")
    limb = mesh_limb(surface, line)
    hand = limb.hand
    assert hand is not None
    joined = trimesh.boolean.union(body.split())
    point, normal = line.point_at(line.wrist_share) * 1e3, line.tangent_at(line.wrist_share)
    beyond = joined.slice_plane(point, normal, cap=True)
    assert hand.volume == pytest.approx(beyond.volume / 1e9, rel=2e-3)
    ahead = float((beyond.center_mass - point) @ normal) / 1e3
    assert hand.ahead == pytest.approx(ahead, rel=5e-3)
    assert limb.length == pytest.approx(limb.wrist + hand.ahead)
    assert limb.outlines.shares[-2] == pytest.approx(limb.wrist / limb.length)
    open_end = joined.slice_plane(point, normal, cap=False)
    assert hand.skin == pytest.approx(open_end.area / 1e6, rel=5e-3)
    assert limb.skin == pytest.approx(joined.area / 1e6, rel=1e-3)
    solid = printed_mass(hand, 1200.0, None, 0.1)
    assert solid == pytest.approx(1200.0 * hand.volume)
    hollow = printed_mass(hand, 1200.0, 8e-4, 0.1)
    assert hollow == pytest.approx(1200.0 * (0.9 * hand.skin * 8e-4 + 0.1 * hand.volume))
    assert printed_mass(hand, 1200.0, 0.1, 0.0) == pytest.approx(solid)
    with pytest.raises(Refused):
        printed_mass(hand, -1.0, None, 0.1)


def test_a_limb_printed_as_an_arc_bends_in_its_own_plane_towards_its_inside() -> None:
    surface, line, _ = made("arc")  # from z towards +x, in the plane y = 0
    assert bending_up(line)[1] == pytest.approx(0.0, abs=1e-3)
    limb = mesh_limb(surface, line)
    assert limb.outlines.natural_at(0.5) == pytest.approx(1 / 0.055, rel=0.03)
    assert limb.sideways < 0.02 and limb.cautions == line.cautions
    aside = mesh_limb(surface, line, up=(0.0, 1.0, 0.0))
    assert aside.sideways == pytest.approx(1.4, rel=0.05)
    assert "line_sideways" in {caution.key for caution in aside.cautions}


def test_a_round_end_does_not_thin_the_outlines() -> None:
    radius = 7.0
    body = trimesh.creation.capsule(height=90.0, radius=radius, count=[48, 24])
    surface = read_surface(stl_bytes(np.asarray(body.vertices), np.asarray(body.faces)), "mm")
    line = limb_centreline(surface, (0.0, 0.0, -7e-3))
    limb = mesh_limb(surface, line)
    assert 0 < limb.full[0] < limb.full[1] < limb.wrist
    for share in (0.0, 0.05, 0.95, 1.0):
        outline = limb.outlines.outline_at(share)
        assert isinstance(outline, Polygon)
        reach = np.hypot(*np.array(outline.points).T)
        assert reach == pytest.approx(radius * 1e-3, rel=0.03)


def test_it_is_seen_from_its_largest_side() -> None:
    surface, _, body = made("cone")
    view = side_view(surface)
    x, y = view.rings[0].T
    seen = abs(float(x[:-1] @ y[1:] - x[1:] @ y[:-1])) / 2
    assert len(view.rings) == 1 and seen == pytest.approx(120e-3 * 12e-3, rel=5e-3)
    spot = np.array([[3e-3, 0.0, 0.05]])
    back = view.spot_at(view.flat(spot)[0])
    assert view.flat(back[None])[0] == pytest.approx(view.flat(spot)[0], abs=3e-3)
    thick, thin = ends_of(surface)
    assert thick[2] < 5e-3 and thin[2] > 0.115
    assert body.is_watertight


def test_a_channel_runs_where_the_cover_is_thickest() -> None:
    """In a wedge the largest circle is the incircle, not about the centroid."""
    import shapely

    corners = np.array([[-8.0, -5.0], [8.0, -5.0], [0.0, 14.0]])
    body = trimesh.creation.extrude_polygon(shapely.Polygon(corners), 120.0)
    for _ in range(4):
        body = body.subdivide()
    surface = read_surface(body.export(file_type="stl"), "mm")
    line = limb_centreline(surface, (0.0, 0.0, 0.0))
    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
    inradius = 16.0 * 19.0 / sides.sum()  # twice the area over the perimeter
    plain, roomy = mesh_limb(surface, line), mesh_limb(surface, line, roomiest=True)
    assert plain.slices.cover.min() < 0.95 * inradius / 1e3
    assert roomy.slices.cover.min() == pytest.approx(inradius / 1e3, rel=5e-3)
    outline = roomy.outlines.outline_at(0.5)
    assert isinstance(outline, Polygon)
    from shapely import Point

    about = shapely.Polygon(outline.points).exterior.distance(Point(0, 0))
    assert about == pytest.approx(inradius / 1e3, rel=0.02)
    channel = size_channel(2e-3, "upright")
    bored = bore(surface, line, channel, path=roomy.path)
    assert bored.least_cover == pytest.approx(inradius / 1e3 - channel.draw_diameter / 2, abs=3e-5)
    cone, through, _ = made("cone")
    assert mesh_limb(cone, through, roomiest=True).path is through


def test_a_limb_printed_as_a_helix_stands_in_space_along_its_own_line() -> None:
    """The rod that is worked out of its curvatures leads where the mesh's own line leads."""
    recipe = dict(kind="ellipse", corners=40, rings=90, path="helix", helix_radius=35, pitch=70,
                  turns=0.55, a0=6, a1=4.5, b0=8, b1=6)  # fmt: skip
    v, f, root = build(recipe)
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    limb = mesh_limb(surface, line)
    outlines = limb.outlines
    assert outlines.sideways_curvature and outlines.natural_twist
    told = {caution.key: caution.text for caution in limb.cautions}
    assert "in space" in told["line_sideways"]
    made = Limb(elastomer=load_elastomer("TPU 85A"), outline=outlines, length=limb.length)
    shape = inserted_shape(made)
    # from the middle of the root in its own axes: left, up, along
    first = planes_at(line, np.array([1e-3]), limb.up)
    axes = np.stack([first.xs[0], first.ys[0], first.normals[0]])
    for share in (0.3, 0.6, 0.9):
        place = axes @ (line.point_at(share * line.wrist_share) - line.point_at(0.0))
        x, y, z = (np.interp(share * limb.length, shape.arc_length, p) for p in shape.points.T)
        assert np.array([y, x, -z]) == pytest.approx(place, abs=0.012 * limb.length), share
    flat = replace(made, outline=replace(outlines, sideways_curvature=(), natural_twist=()))
    off = inserted_shape(flat).points[-1] - shape.points[-1]
    assert np.linalg.norm(off) > 0.1 * limb.length
    weighty = hold_pose(made, Setting(bends=(), clamp_angle=math.pi / 2))
    assert weighty.stable and weighty.tip_sag > 0


@pytest.mark.parametrize("hand", [1.0, -1.0])
@pytest.mark.parametrize("up", [None, (0.0, 0.0, 1.0)])
def test_a_limb_printed_as_a_screw_has_its_shape_in_space(
    hand: float, up: tuple[float, float, float] | None
) -> None:
    """Without bends a limb as it is set has the shape of its mesh, mirror images told apart."""
    turn = np.linspace(0.0, 1.6, 120)
    screw = [45 * np.cos(turn) - 45, hand * 45 * np.sin(turn), 40 * turn]
    centres = np.stack(screw, axis=1)
    ahead = np.gradient(centres, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    across = np.cross(ahead, [1.0, 0.3, 0.2])
    across /= np.linalg.norm(across, axis=1)[:, None]
    around = 2 * math.pi * np.arange(48) / 48
    flat = np.stack([np.cos(around), np.sin(around)], axis=1)
    rings = np.linspace(6.0, 5.0, 120)[:, None, None] * flat
    v, f = capped(centres, np.cross(across, ahead), across, rings)
    surface = read_surface(stl_bytes(v, f), "mm")
    limb = mesh_limb(surface, limb_centreline(surface, centres[0] / 1e3), up=up)
    assert limb.sideways > math.radians(15)
    printed = Limb(elastomer=load_elastomer("TPU 95A"), outline=limb.outlines, length=limb.length)
    shape = hold_pose(printed, Setting(bends=(), clamp_angle=1.2)).shape_set
    spots = np.linspace(0, len(shape.points) - 1, 7).astype(int)
    found = shape.points[spots]
    share = shape.arc_length[spots] / shape.arc_length[-1]
    drawn = np.stack([np.interp(share, turn / 1.6, axis) for axis in centres.T], axis=1) / 1e3

    def apart(points: Array) -> Array:
        return np.asarray(np.linalg.norm(points[:, None] - points[None], axis=2))

    def handed(points: Array) -> float:
        return float(np.linalg.det(points[[2, 4, 6]] - points[0]))

    assert apart(found) == pytest.approx(apart(drawn), abs=1e-4)
    assert handed(found) == pytest.approx(handed(drawn), rel=0.02)
