"""Sections computed by a finite element library with 720-cornered, area-preserving circles.

How seen: computed (geometric integration over a mesh; closed form by parallel axes where wires
are concentric). Units as printed: mm, N.
"""

from __future__ import annotations

import pytest

from flexcalc.limb.inputs import Elastomer, Limb, Metal, Wire
from flexcalc.limb.outline import DShape, Ellipse, Outline, Round, RoundedRectangle
from flexcalc.section.section import Section, limb_section

TPU = Elastomer(
    name="TPU", elastic_modulus=35e6, density=1200.0, poisson_ratio=0.48,
    saturation_stress=5.5e6, relaxation_exponent=0.06,
)  # fmt: skip


def wire(diameter_mm: float, modulus_mpa: float = 69000.0) -> Wire:
    metal = Metal(
        name="test metal", elastic_modulus=modulus_mpa * 1e6, strength_coefficient=180e6,
        hardening_exponent=0.2, density=2700.0,
    )  # fmt: skip
    return Wire(metal=metal, diameter=diameter_mm * 1e-3)


def section(outline: Outline, **given: object) -> Section:
    return limb_section(Limb(elastomer=TPU, outline=outline, length=0.12, **given))  # type: ignore[arg-type]


def in_nmm2(rigidity: tuple[float, float, float]) -> list[float]:
    return [value * 1e6 for value in rigidity]


ROUND = Round(diameter=0.012)
BOX = RoundedRectangle(width=0.016, height=0.010, corner_radius=0.003)


@pytest.mark.parametrize(
    ("outline", "wall", "EIxx", "EIyy", "cy", "EA"),
    [
        (BOX, None, 41511.47448687014, 104852.70219188134, 0.0, 5329.589125515632),
        (
            DShape(diameter=0.012, flat_height=0.003), None,
            17930.15052990884, 31115.986519827275, 1.027960824920947, 3184.533833370404,
        ),
        (ROUND, 0.0012, 21033.390073062772, 21033.390073062797, 0.0, 1425.0264276683786),
    ],
    ids=["SEC-03", "SEC-04", "SEC-05"],
)  # fmt: skip
def test_bare_sections(
    outline: Outline, wall: float | None, EIxx: float, EIyy: float, cy: float, EA: float
) -> None:
    got = section(outline, wall=wall)
    assert in_nmm2(got.flexural_rigidity_bare)[:2] == pytest.approx([EIxx, EIyy], rel=2e-4)
    assert got.flexural_rigidity_bare[2] * 1e6 == pytest.approx(0, abs=1e-6)
    assert got.axial_rigidity_bare == pytest.approx(EA, rel=2e-4)
    assert got.centroid[1] * 1e3 == pytest.approx(cy, rel=2e-4, abs=1e-9)
    assert got.flexural_rigidity_sliding == got.flexural_rigidity_bare  # no wire


@pytest.mark.parametrize(
    ("outline", "diameter", "offset", "bonded", "centroid", "EA", "sliding"),
    [
        (
            ROUND, 2.0, (0, 0),
            (89790.6450333011, 89790.64503330164, 0.0), (0, 0), 220618.34409833455,
            89790.64503041327,
        ),
        (
            ROUND, 3.0, (0, 2.0),
            (325541.98646247317, 309835.8939163484, 0.0), (0, 1.9838906868032973),
            491443.2657918367, 308780.3187747962,
        ),
        (
            BOX, 2.5, (3.0, 1.5),
            (185555.92069923168, 284314.29314152803, 23611.429824854713),
            (2.9535022017379005, 1.4767511008689522), 343860.7412424341, None,
        ),
    ],
    ids=["SEC-06", "SEC-08", "SEC-12"],
)  # fmt: skip
def test_wire_fills_the_channel(
    outline: Outline,
    diameter: float,
    offset: tuple[float, float],
    bonded: tuple[float, ...],
    centroid: tuple[float, float],
    EA: float,
    sliding: float | None,
) -> None:
    place = (offset[0] * 1e-3, offset[1] * 1e-3)
    got = section(
        outline, channel_diameter=diameter * 1e-3, channel_offset=place, wire=wire(diameter)
    )
    assert in_nmm2(got.flexural_rigidity_bonded) == pytest.approx(bonded, rel=2e-4, abs=1e-6)
    assert [c * 1e3 for c in got.centroid_bonded] == pytest.approx(centroid, rel=2e-4, abs=1e-9)
    assert got.axial_rigidity_bonded == pytest.approx(EA, rel=2e-4)
    if sliding is not None:
        assert got.flexural_rigidity_sliding[0] * 1e6 == pytest.approx(sliding, rel=2e-4)


def test_sec_11_elliptical_tube_with_a_sleeve_that_runs_into_the_wall() -> None:
    got = section(
        Ellipse(width=0.016, height=0.010), wall=0.0012, channel_diameter=0.001628,
        channel_offset=(0.0, 0.0026), sleeve=0.0008, wire=wire(1.628, 117000.0),
    )  # fmt: skip
    expected = [68165.05044546654, 78038.56989524268, 0.0]
    # 1e-3 is the reference's own tolerance for this case
    assert in_nmm2(got.flexural_rigidity_bonded) == pytest.approx(expected, rel=1e-3, abs=1e-6)
    assert got.centroid_bonded[1] * 1e3 == pytest.approx(2.583371019463408, rel=2e-4)
    assert got.axial_rigidity_bonded == pytest.approx(245295.77680947326, rel=1e-3)


def test_sec_13_loose_wire_in_a_wider_channel() -> None:
    got = section(ROUND, channel_diameter=0.0026, wire=wire(2.0))
    assert got.flexural_rigidity_bare[0] * 1e6 == pytest.approx(35547.14954354685, rel=2e-4)
    assert got.axial_rigidity_bare == pytest.approx(3772.5815380633026, rel=2e-4)
    assert got.flexural_rigidity_sliding[0] * 1e6 == pytest.approx(89739.6228168254, rel=2e-4)


def test_sec_14_roofed_channel() -> None:
    got = section(ROUND, channel_diameter=0.0026, channel_roofed=True)
    expected = [35520.87453035094, 35545.953413625786, 0.0]
    # 1e-3 is the reference's own tolerance for this case
    assert in_nmm2(got.flexural_rigidity_bare) == pytest.approx(expected, rel=1e-3, abs=1e-6)
    assert got.axial_rigidity_bare == pytest.approx(3759.889608346315, rel=1e-3)
    # the centroid moves by the roof alone, so it shows the roof's side and size
    assert got.centroid[1] * 1e3 == pytest.approx(-0.004820624358672912, rel=0.02)
