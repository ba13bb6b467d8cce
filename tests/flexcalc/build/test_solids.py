"""Test pieces measured back from their meshes, and from the files a slicer would open.

The mesh library (trimesh) is the second route: it knows nothing of how the pieces were drawn.
"""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import trimesh

from flexcalc.build.solids import (
    NOTCH,
    Piece,
    bending_former,
    channel_strip,
    droop_strip,
    file_bytes,
    limb_sample,
    swatch_strip,
    swatch_tile,
)
from flexcalc.limb.inputs import Limb, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import DShape, Ellipse, Outline, Round
from flexcalc.section.section import limb_section


def loaded(piece: Piece, kind: str) -> trimesh.Trimesh:
    """The piece as a slicer gets it: written, read again, coinciding corners joined."""
    mesh = trimesh.load(io.BytesIO(file_bytes(piece, kind)), file_type=kind, force="mesh")
    mesh.merge_vertices()
    return mesh


def loops(mesh: trimesh.Trimesh, normal: list[float], origin: list[float]) -> list[np.ndarray]:
    """Closed outlines of a cut through the mesh, as points in space [mm], the longest first."""
    found = mesh.section(plane_normal=normal, plane_origin=origin).discrete
    return sorted(found, key=lambda ring: -np.linalg.norm(np.ptp(ring, axis=0)))


def holes_of(mesh: trimesh.Trimesh, normal: list[float], origin: list[float]) -> list[float]:
    """Diameters [mm] of the holes in a cut through the mesh, by twice the largest radius."""
    rings = loops(mesh, normal, origin)[1:]
    centres = [(ring.max(0) + ring.min(0)) / 2 for ring in rings]
    return sorted(
        2 * float(np.linalg.norm(ring - centre, axis=1).max())
        for ring, centre in zip(rings, centres, strict=True)
    )


PIECES = [
    channel_strip(3.4e-3, "upright"),
    channel_strip(3.4e-3, "lying"),
    droop_strip(),
    swatch_tile(),
    swatch_strip(),
]


@pytest.mark.parametrize("kind", ["stl", "3mf"])
@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.name)
def test_files_are_watertight_and_hold_the_volume(piece: Piece, kind: str) -> None:
    mesh = loaded(piece, kind)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(piece.profile_area * piece.depth * 1e9, rel=1e-6)
    assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-6)  # stands on the bed


def test_3mf_says_millimetres() -> None:
    import zipfile

    with zipfile.ZipFile(io.BytesIO(file_bytes(droop_strip(), "3mf"))) as archive:
        assert b'unit="millimeter"' in archive.read("3D/3dmodel.model")


def test_upright_holes_measure_as_drawn() -> None:
    piece = channel_strip(2.6e-3, "upright", holes=5, step=2e-4)
    measured = holes_of(loaded(piece, "stl"), [0, 0, 1], [0, 0, 5.0])
    assert piece.holes == pytest.approx([2.2e-3, 2.4e-3, 2.6e-3, 2.8e-3, 3.0e-3])
    assert np.array(measured) == pytest.approx(np.array(piece.holes) * 1e3, abs=1e-3)


def test_lying_holes_have_a_roof_of_root_two_radii_and_a_round_floor() -> None:
    piece = channel_strip(3e-3, "lying", holes=3, step=1e-4)
    rings = loops(loaded(piece, "stl"), [0, 1, 0], [0, 5.0, 0])[1:]
    widths = [np.ptp(ring[:, 0]) for ring in rings]
    heights = [np.ptp(ring[:, 2]) for ring in rings]
    radius = np.array(piece.holes) * 1e3 / 2
    assert np.sort(widths) == pytest.approx(2 * radius, abs=1e-3)
    assert np.sort(heights) == pytest.approx(radius * (1 + math.sqrt(2)), abs=1e-3)


@pytest.mark.parametrize("holes", [3, 7])
def test_notches_can_be_counted(holes: int) -> None:
    piece = channel_strip(3e-3, "upright", holes=holes)
    mesh = loaded(piece, "stl")
    top = mesh.bounds[1][1]
    teeth = loops(mesh, [0, 1, 0], [0, top - NOTCH * 500, 0])
    notches = sum(range(1, holes + 1))
    assert len(teeth) == notches + 1  # the teeth that the notches leave


def test_droop_strip_has_its_free_length_and_thickness() -> None:
    mesh = loaded(droop_strip(length=0.1, width=0.01, thickness=0.0015, tab=0.02), "stl")
    assert mesh.extents == pytest.approx([120, 10, 1.5], abs=1e-3)
    assert mesh.volume == pytest.approx(120 * 10 * 1.5 - 2 * 0.8**2 * 1.5, rel=1e-6)


def test_tile_steps_stand_on_the_bed() -> None:
    mesh = loaded(swatch_tile((0.001, 0.003), side=0.015), "stl")
    assert mesh.extents == pytest.approx([30, 15, 3], abs=1e-3)
    assert mesh.volume == pytest.approx(15 * 15 * (1 + 3), rel=1e-6)


def test_a_strip_has_its_fields_notches_between_them_and_a_hole_for_a_tag() -> None:
    piece = swatch_strip(5, side=0.015, thickness=0.0012, hole=0.005)
    mesh = loaded(piece, "stl")
    assert mesh.extents == pytest.approx([5 * 15 + 10, 15, 1.2], abs=1e-3)
    assert holes_of(mesh, [0, 0, 1], [0, 0, 0.6]) == pytest.approx([5.0], abs=1e-3)
    # five fields are parted from each other and from the tab on both edges
    round_hole = math.pi * 2.5**2 * 1.2
    assert mesh.volume == pytest.approx(
        (85 * 15 - 10 * 0.8**2) * 1.2 - round_hole, abs=0.01 * round_hole
    )


@pytest.mark.parametrize(
    "outline",
    [
        Round(diameter=0.012),
        Ellipse(width=0.016, height=0.01),
        DShape(diameter=0.012, flat_height=0.002),
    ],
    ids=lambda outline: type(outline).__name__,
)
@pytest.mark.parametrize("wall", [None, 0.0012])
def test_sample_has_the_area_of_the_section(outline: Outline, wall: float | None) -> None:
    limb = Limb(
        elastomer=load_elastomer("TPU 85A"),
        outline=outline,
        length=0.1,
        wall=wall,
        channel_diameter=0.0026,
        sleeve=0.0 if wall is None else 0.0008,
        wire=Wire(metal=load_metal("annealed copper"), diameter=0.002),
    )
    mesh = loaded(limb_sample(limb, 0.05), "stl")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(limb_section(limb).area * 0.05 * 1e9, rel=1e-4)
    assert min(holes_of(mesh, [0, 0, 1], [0, 0, 20.0])) == pytest.approx(2.6, abs=1e-3)


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda: channel_strip(-1.0, "upright"), "drawn diameter"),
        (lambda: channel_strip(3e-3, "askew"), "orientation"),
        (lambda: channel_strip(3e-3, "lying", holes=2), "holes"),
        (lambda: channel_strip(4e-4, "lying", step=2e-4), "step"),
        (lambda: droop_strip(thickness=math.nan), "strip thickness"),
        (lambda: swatch_tile(()), "tile thicknesses"),
        (lambda: swatch_tile((1.0,)), "tile thicknesses"),
        (lambda: swatch_strip(1), "strip fields"),
        (lambda: swatch_strip(hole=0.02), "tag hole"),
        (lambda: limb_sample("limb"), "limb"),  # type: ignore[arg-type]
        (lambda: file_bytes(droop_strip(), "obj"), "file kind"),
    ],
)
def test_refusals_name_the_field(make: object, name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be .*; got "):
        make()  # type: ignore[operator]


def test_a_former_bends_the_middle_of_a_limb_to_its_radius() -> None:
    limb = Limb(elastomer=load_elastomer("TPU 85A"), outline=Round(diameter=0.012), length=0.1)
    piece = bending_former(0.04, limb)
    mesh = loaded(piece, "3mf")
    spans = np.ptp(mesh.vertices, axis=0)
    assert spans == pytest.approx([68.0, 68.0, 16.0], rel=1e-4)
    # the limb's middle lies half its thickness outside the rim
    assert np.hypot(*mesh.vertices[:, :2].T).max() + 6.0 == pytest.approx(40.0, rel=1e-4)
    assert mesh.is_watertight
    with pytest.raises(ValueError, match=r"bend radius must be at least 0.008 m"):
        bending_former(0.007, limb)
