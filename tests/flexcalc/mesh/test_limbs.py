"""A few of the limbs that tests/scripts/random_limbs.py makes by the hundred, one of each kind."""

from __future__ import annotations

import numpy as np
import pytest

from data.rules import Refused
from flexcalc.mesh import Line, Surface, hand_beyond, limb_centreline, limb_slices, read_surface
from tests.flexcalc.mesh.limbs import made_limb
from tests.flexcalc.mesh.lofts import build, stl_bytes
from tests.scripts.random_limbs import errors, right

SEEDS = (1, 2, 3, 4, 71003, 71043, 71224)
"""The last three: open bodies that overlap, a ball hardly thicker than its limb, a barrel."""


@pytest.mark.parametrize("seed", SEEDS)
def test_limb_as_people_draw_them(seed: int) -> None:
    found, _ = errors(made_limb(seed))
    assert right(found), found


def test_cut_planes_and_hand_add_up_to_the_whole() -> None:
    v, f, root = build(dict(kind="round", corners=48, rings=90, path="arc", bend_radius=60,
                            angle=1.5, a0=7, a1=5))  # fmt: skip
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    slices = limb_slices(surface, line, 200)
    whole = float(slices.area.mean() * line.length)  # Pappus
    beyond = hand_beyond(surface, line, 0.6)
    part = float(slices.area[slices.share > 0.6].sum() * line.length / 200)
    volume = float(np.einsum("ij,ij->i", v[f[:, 0]], np.cross(v[f[:, 1]], v[f[:, 2]])).sum() / 6e9)
    assert whole == pytest.approx(volume, rel=1e-3)
    assert beyond.volume == pytest.approx(part, rel=1e-3)


def test_wrist_can_be_moved() -> None:
    v, f, root = build(dict(kind="round", corners=48, rings=40, length=120, a0=7, a1=4,
                            hand=[11, 126], hand_facets=[48, 41]))  # fmt: skip
    surface = read_surface(stl_bytes(v, f), "mm")
    proposed = limb_centreline(surface, root / 1e3)
    moved = limb_centreline(surface, root / 1e3, wrist=0.6)
    assert proposed.length == pytest.approx(0.137, rel=1e-3)
    assert moved.length == pytest.approx(0.137, rel=1e-3)
    assert moved.wrist_share == pytest.approx(0.6, rel=1e-3)
    assert moved.point_at(0.5) == pytest.approx(proposed.point_at(0.5), abs=1e-5)


def test_ball_at_the_root_is_left_off_and_said() -> None:
    # the same body the other way round: the ball is before the root's end now
    v, f, _ = build(dict(kind="round", corners=48, rings=40, length=120, a0=7, a1=4,
                         hand=[11, 126], hand_facets=[48, 41]))  # fmt: skip
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, (0.0, 0.0, 0.13))
    assert {caution.key for caution in line.cautions} == {"root_cut"}
    assert line.length == pytest.approx(0.1159, rel=5e-3)
    other = limb_centreline(surface, (0.0, 0.0, 0.0))
    hand = hand_beyond(surface, other, line.points[0][2] / other.length)
    assert line.left_off == pytest.approx(hand.volume, rel=1e-3)


@pytest.mark.parametrize(
    ("recipe", "name"),
    [
        (dict(kind="round", corners=32, rings=20, length=20, a0=8, a1=8), "limb"),
        (dict(kind="rectangle", corners=4, rings=9, length=20, a0=22, a1=22, b0=25, b1=25), None),
    ],
    ids=["stubby", "block"],
)
def test_stubby_body_is_refused(recipe: dict[str, object], name: str | None) -> None:
    v, f, root = build(recipe)
    with pytest.raises(Refused) as told:
        limb_centreline(read_surface(stl_bytes(v, f), "mm"), root / 1e3)
    assert name in (None, told.value.name)


def test_root_given_amid_the_limb_is_doubted() -> None:
    v, f, _ = build(dict(kind="round", corners=24, rings=40, length=120, a0=6, a1=5))
    line = limb_centreline(read_surface(stl_bytes(v, f), "mm"), (0.0, 0.006, 0.045))
    assert {caution.key for caution in line.cautions} & {"root_far", "root_unsure"}


def test_open_mesh_has_its_sections_and_a_caution() -> None:
    recipe = dict(kind="round", corners=48, rings=60, length=120, a0=7, a1=5)
    v, f, root = build(dict(recipe, defects=["three holes", "lid missing"]))
    surface = read_surface(stl_bytes(v, f), "mm")
    line = limb_centreline(surface, root / 1e3)
    assert "mesh_open" in {caution.key for caution in line.cautions}
    slices = limb_slices(surface, line, 24)
    whole = limb_slices(*_closed(recipe), 24)
    assert line.length == pytest.approx(0.12, rel=0.01)
    assert slices.area == pytest.approx(whole.area, rel=0.02)


def _closed(recipe: dict[str, object]) -> tuple[Surface, Line]:
    v, f, root = build(recipe)
    surface = read_surface(stl_bytes(v, f), "mm")
    return surface, limb_centreline(surface, root / 1e3)


@pytest.mark.parametrize("root", [(5.0, 5.0, 5.0), (0.0, 0.0), "here"])
def test_root_far_away_or_no_point_is_refused(root: object) -> None:
    v, f, _ = build(dict(kind="round", corners=24, rings=40, length=120, a0=7, a1=4))
    with pytest.raises(Refused) as told:
        limb_centreline(read_surface(stl_bytes(v, f), "mm"), root)
    assert told.value.name == "root"
