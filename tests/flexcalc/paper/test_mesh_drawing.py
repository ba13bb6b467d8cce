"""The pictures of a maker's own mesh: to scale, back and forth, whichever way it points."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from flexcalc.forms.mesh_form import DEFAULTS, plan_from_mesh, suggested_bend
from flexcalc.limb.mesh_file import MeshFile
from flexcalc.mesh import (
    Line,
    MeshLimb,
    Surface,
    few_triangles,
    limb_centreline,
    mesh_limb,
    read_surface,
    side_view,
)
from flexcalc.paper.answers import verdict_on
from flexcalc.paper.pictures.mesh_drawing import (
    body_drawing,
    channel_reach,
    mesh_pose_drawing,
    thinnest,
    turned_drawing,
)
from flexcalc.verdict.plan import LimbPlan
from tests.flexcalc.mesh.lofts import build, capped, stl_bytes

CONE = dict(kind="round", corners=96, rings=60, length=120, a0=9, a1=7)


def measured(v: Any, f: Any, root: Any) -> tuple[Surface, Line, MeshLimb]:
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, np.asarray(root) / 1e3)
    return surface, line, mesh_limb(surface, line)


@lru_cache(maxsize=1)
def cone() -> tuple[Surface, Line, MeshLimb]:
    return measured(*build(CONE))


@lru_cache(maxsize=1)
def screw() -> tuple[Surface, Line, MeshLimb]:
    turn = np.linspace(0.0, 1.6, 120)
    centres = np.stack([45 * np.cos(turn) - 45, 45 * np.sin(turn), 40 * turn], axis=1)
    ahead = np.gradient(centres, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    across = np.cross(ahead, [1.0, 0.3, 0.2])
    across /= np.linalg.norm(across, axis=1)[:, None]
    around = 2 * math.pi * np.arange(48) / 48
    flat = np.stack([np.cos(around), np.sin(around)], axis=1)
    rings = np.linspace(8.0, 7.0, 120)[:, None, None] * flat
    v, f = capped(centres, np.cross(across, ahead), across, rings)
    return measured(v, f, centres[0])


def asked(surface: Surface, limb: MeshLimb, **changes: str) -> LimbPlan:
    x, y, z = limb.line.points[0].tolist()
    a, b, c = limb.up.tolist()
    file = MeshFile(
        name="arm.stl", sha256=surface.sha256, unit="mm", root=(x, y, z),
        wrist=limb.wrist, up=(a, b, c),
    )  # fmt: skip
    form = {**DEFAULTS, **suggested_bend(limb.wrist), "wire": "2", "wall": "1.2", **changes}
    return plan_from_mesh(form, limb.outlines, limb.length, file, limb.hand)


def test_a_place_on_the_picture_is_the_place_that_is_seen() -> None:
    surface, line, _ = cone()
    picture = body_drawing(side_view(surface), line)
    spot = np.array([[0.012, -0.003]])
    x, y = picture.place(spot)[0]
    assert picture.seen(x, y) == pytest.approx(spot[0])
    assert 0 <= x <= picture.width and 0 <= y <= picture.height
    assert "120 mm from its root to its wrist" in picture.svg


def test_the_thinnest_cover_is_at_the_thin_end_less_the_channel_and_its_roof() -> None:
    surface, _, limb = cone()
    plan = asked(surface, limb)
    verdict = verdict_on(plan)
    reach = channel_reach(plan, verdict)
    assert reach == pytest.approx(verdict.channel[0].draw_diameter / math.sqrt(2))
    at, cover = thinnest(limb, reach, limb.wrist)
    assert at > 0.11
    assert cover + reach == pytest.approx(9e-3 - 2e-3 * at / 0.12, rel=5e-3)


@pytest.mark.parametrize("direction", ["0", "90", "180"])
def test_a_limb_in_space_is_drawn_from_both_sides_whichever_way_it_points(direction: str) -> None:
    surface, _, limb = screw()
    plan = asked(surface, limb, direction=direction)
    verdict = verdict_on(plan)
    for above in (False, True):
        svg = mesh_pose_drawing(plan, verdict, limb, above=above)
        assert 'class="channel"' in svg and "nan" not in svg.lower() and "inf" not in svg.lower()
        assert ("from above" in svg) == above
        assert ("cover" in svg.split("</desc>")[1]) == (not above)


def test_a_body_is_turned_in_few_triangles_that_keep_its_outline() -> None:
    surface, _, _ = cone()
    view, corners = side_view(surface), few_triangles(surface)
    assert len(corners) <= 2000 < len(surface.triangles)
    # a cone of 120 mm and radii 9 and 7: upright, turned by a right angle it shows its round end
    for turn, wide, tall in ((0.0, 120.0, 18.0), (math.pi / 2, 18.0, 18.0)):
        svg = turned_drawing(corners, view, turn, 0.0, "cone")
        drawn = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)(?= L| Z)", svg), float)
        spans = np.ptp(drawn, axis=0) * (math.hypot(120.0, 18.0) / 120.0)
        assert spans == pytest.approx((wide, tall), rel=0.03)
    with pytest.raises(ValueError, match="turn must be"):
        turned_drawing(corners, view, math.nan, 0.0, "cone")
