"""Reading meshes: every format gives the same body, and what is wrong is refused or counted."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest

from data.rules import Refused
from flexcalc.build import droop_strip
from flexcalc.build.solids import Piece, file_bytes
from flexcalc.mesh import read_surface, surface_health
from flexcalc.mesh.files.threemf import MOST_UNPACKED
from tests.flexcalc.mesh.lofts import build, stl_bytes, stl_text

TAPER = dict(kind="round", corners=24, rings=30, length=150, a0=8, a1=4, seed=12)
V, F, ROOT = build(TAPER)
VOLUME = float(np.einsum("ij,ij->i", V[F[:, 0]], np.cross(V[F[:, 1]], V[F[:, 2]])).sum() / 6e9)


def model_3mf(body: str, unit: str = "millimeter", head: str = "") -> bytes:
    """Return a 3MF with one model file."""
    xml = f'<?xml version="1.0"?>{head}<model unit="{unit}">{body}</model>'
    store = io.BytesIO()
    with zipfile.ZipFile(store, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", xml)
    return store.getvalue()


CORNERS = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in V.tolist())
FACES = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in F.tolist())
OBJECT = (
    f'<object id="1"><mesh><vertices>{CORNERS}</vertices>'
    f"<triangles>{FACES}</triangles></mesh></object>"
)


def test_binary_text_and_3mf_are_the_same_body() -> None:
    piece = Piece(
        name="limb", vertices=V / 1e3, triangles=F, profile_area=1.0, depth=1.0, holes=(), note=""
    )
    files = [stl_bytes(V, F), stl_text(V, F), file_bytes(piece, "3mf"), file_bytes(piece, "stl")]
    for data in files:
        health = surface_health(read_surface(data))
        assert (health.triangles, health.bodies, health.closed) == (len(F), 1, True)
        assert not health.turned
        assert health.volume == pytest.approx(VOLUME, rel=1e-5)  # single precision at 200 mm


@pytest.mark.parametrize(
    ("unit", "metres"), [("mm", 1e-3), ("cm", 1e-2), ("m", 1.0), ("inch", 0.0254)]
)
def test_unit_given_scales(unit: str, metres: float) -> None:
    surface = read_surface(stl_bytes(V * 1e-3 / metres, F), unit)
    assert surface_health(surface).volume == pytest.approx(VOLUME, rel=1e-5)
    assert surface.cautions == ()


def test_unit_left_out_lists_the_likely_ones_with_sizes() -> None:
    surface = read_surface(stl_bytes(V / 25.4, F))
    (caution,) = surface.cautions
    longest = max(surface.size) * 1e3  # a number of file units
    assert caution.key == "unit_guessed"
    assert f"{longest * 25.4:.0f} mm if in inch" in caution.text
    assert f"{longest * 10:.0f} mm if in cm" in caution.text
    assert surface_health(surface).likely_units == ("cm", "inch")


def test_3mf_brings_its_unit_and_its_placing() -> None:
    turn = "0 1 0 -1 0 0 0 0 1 10 20 30"
    body = f'<resources>{OBJECT}</resources><build><item objectid="1" transform="{turn}"/></build>'
    surface = read_surface(model_3mf(body, "inch"))
    x, y, z = (V * 25.4e-3).T
    placed = np.stack([10 * 25.4e-3 - y, 20 * 25.4e-3 + x, 30 * 25.4e-3 + z], 1)
    assert surface.unit == "inch" and surface.cautions == ()
    assert surface.vertices.min(axis=0) == pytest.approx(placed.min(axis=0), abs=1e-9)
    assert surface_health(surface).volume == pytest.approx(VOLUME * 25.4**3, rel=1e-9)


def test_3mf_part_mirrored_by_its_placing_is_not_inside_out() -> None:
    part = '<object id="2"><components><component objectid="1" {}/></components></object>'
    mirror = part.format('transform="-1 0 0 0 1 0 0 0 1 0 0 0"')
    body = f'<resources>{OBJECT}{mirror}</resources><build><item objectid="2"/></build>'
    health = surface_health(read_surface(model_3mf(body)))
    assert not health.turned and health.volume == pytest.approx(VOLUME, rel=1e-9)


def test_parts_within_parts_are_bounded() -> None:
    parts = "".join(
        f'<object id="{i}"><components>'
        + f'<component objectid="{i - 1}"/>' * 10
        + "</components></object>"
        for i in range(2, 9)
    )
    body = f'<resources>{OBJECT}{parts}</resources><build><item objectid="8"/></build>'
    with pytest.raises(Refused):
        read_surface(model_3mf(body))


def test_part_of_itself_is_refused() -> None:
    part = '<object id="2"><components><component objectid="2"/></components></object>'
    body = f'<resources>{part}</resources><build><item objectid="2"/></build>'
    with pytest.raises(Refused) as told:
        read_surface(model_3mf(body))
    assert told.value.name == "3MF file"


def test_zip_bomb_and_document_type_are_refused() -> None:
    bomb = model_3mf(" " * (MOST_UNPACKED + 1))
    assert len(bomb) < 1e6
    for data in (bomb, model_3mf("", head="<!DOCTYPE model [<!ENTITY a 'b'>]>")):
        with pytest.raises(Refused) as told:
            read_surface(data)
        assert told.value.name == "3MF file"


def test_count_that_lies_is_refused_before_memory_is_taken() -> None:
    data = bytearray(stl_bytes(V, F))
    data[80:84] = np.uint32(4_000_000_000).tobytes()
    with pytest.raises(Refused) as told:
        read_surface(bytes(data))
    assert told.value.name == "STL file" and f"bytes for {len(F)}" in told.value.got


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"PK",
        b"hello",
        b"solid x\nendsolid",
        stl_text(V, F)[:-400],
        stl_bytes(V, F)[:-1],
        stl_bytes(V * np.nan, F),
        stl_bytes(V * 1e9, F),
        stl_bytes(V * 0, F),
        model_3mf("", "parsec"),
        model_3mf("<build/>"),
        model_3mf('<build><item objectid="7"/></build>'),
    ],
    ids=range(12),
)
def test_broken_files_are_refused(data: bytes) -> None:
    with pytest.raises(Refused):
        read_surface(data)


def test_an_archive_that_points_before_its_start_is_refused() -> None:
    data = bytearray(file_bytes(droop_strip(), "3mf"))
    data[-6:-2] = (2**31).to_bytes(4, "little")  # where the list of its parts begins
    with pytest.raises(Refused, match="3MF file must be a whole ZIP archive"):
        read_surface(bytes(data))


def test_corners_that_nearly_meet_are_one() -> None:
    soup = V[F].reshape(-1, 3) + np.random.default_rng(3).uniform(-2e-5, 2e-5, (3 * len(F), 3))
    surface = read_surface(stl_bytes(soup, np.arange(3 * len(F)).reshape(-1, 3)))
    assert surface_health(surface).closed and len(surface.vertices) == len(V)


def test_mixed_and_hollow_bodies_come_out_with_their_own_volume() -> None:
    mixed = F.copy()
    mixed[::3] = mixed[::3, ::-1]
    health = surface_health(read_surface(stl_bytes(V, mixed)))
    assert health.turned and health.closed and health.volume == pytest.approx(VOLUME, rel=1e-5)
    middle = V.mean(axis=0)
    hollow = np.vstack([V, middle + (V - middle) * 0.5])
    faces = np.vstack([F, F[:, ::-1] + len(V)])
    for order in (faces, faces[:, ::-1]):
        health = surface_health(read_surface(stl_bytes(hollow, order)))
        assert health.volume == pytest.approx(VOLUME * 7 / 8, rel=1e-5)
    # a second body that overlaps the first, its inside out, counts once
    both = np.vstack([V, V + np.array([1e-3, 2e-3, 1e-3])])
    health = surface_health(read_surface(stl_bytes(both, faces)))
    assert health.turned and health.volume == pytest.approx(VOLUME, rel=2e-3)
