"""Sections: limits, invariants and second routes (values from outside are in published/)."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from flexcalc.limb.inputs import Elastomer, Limb, Metal, Wire
from flexcalc.limb.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.limb.shape import outline_polygon
from flexcalc.section.moments import disc_moments, moments_below, polygon_moments, section_regions
from flexcalc.section.section import (
    Section,
    limb_section,
    mass_over_wall,
    rigidity_over_wall,
    section_strips,
    surface_area,
)

TPU = Elastomer(
    name="TPU", elastic_modulus=35e6, density=1200.0, poisson_ratio=0.48,
    saturation_stress=5.5e6, relaxation_exponent=0.06,
)  # fmt: skip
METAL = Metal(
    name="metal", elastic_modulus=69e9, strength_coefficient=180e6,
    hardening_exponent=0.2, density=2700.0,
)  # fmt: skip
ROUND = Round(diameter=0.012)
ELL = Polygon(
    points=((0, 0), (0.03, 0), (0.03, 0.01), (0.01, 0.01), (0.01, 0.03), (0, 0.03)),
)


def limb(outline: Outline, **given: object) -> Limb:
    return Limb(elastomer=TPU, outline=outline, length=0.12, **given)  # type: ignore[arg-type]


LIMBS = {
    "tube": limb(ROUND, wall=0.0012),
    "tube with infill and sleeve": limb(
        ROUND, wall=0.0012, infill=0.2, channel_diameter=0.003, sleeve=0.0008,
        channel_offset=(0.0005, 0.001),
    ),
    "sleeve runs into the wall": limb(
        ROUND, wall=0.0012, infill=0.1, channel_diameter=0.003, sleeve=0.0012,
        channel_offset=(0.001, 0.0025),
    ),
    "channel cuts the wall": limb(
        ROUND, wall=0.0015, infill=0.3, channel_diameter=0.003, channel_offset=(0.0, 0.004)
    ),
    "roofed": limb(
        DShape(diameter=0.012, flat_height=0.003), wall=0.0012, infill=0.15,
        channel_diameter=0.0026, sleeve=0.001, channel_roofed=True,
    ),
    "ellipse": limb(
        Ellipse(width=0.016, height=0.010), wall=0.0012, channel_diameter=0.0016,
        channel_offset=(0.001, 0.0026), sleeve=0.0008,
    ),
    "box": limb(
        RoundedRectangle(width=0.016, height=0.010, corner_radius=0.003), wall=0.0016, infill=0.2
    ),
    "polygon": limb(
        ELL, wall=0.0012, infill=0.2, channel_diameter=0.003, channel_offset=(0.005, 0.012)
    ),
}  # fmt: skip
ANY = pytest.mark.parametrize("given", LIMBS.values(), ids=LIMBS)


def rastered(given: Limb, exponent: float, pitch: float = 2e-5) -> Section:
    """The section summed over small squares, by the words of its definition."""
    outer = outline_polygon(given.outline)
    left, low, right, top = outer.bounds
    x, y = np.meshgrid(np.arange(left, right, pitch), np.arange(low, top, pitch))
    x, y = x.ravel() + pitch / 2, y.ravel() + pitch / 2
    gross, core = section_regions(given, given.wall)
    from shapely import contains_xy

    share = np.where(contains_xy(gross, x, y), 1.0, 0.0)
    share[contains_xy(core, x, y)] = given.infill**exponent
    weight = TPU.elastic_modulus * share * pitch**2
    total = weight.sum()
    cx, cy = weight @ x / total, weight @ y / total
    rigidity = (
        weight @ (y - cy) ** 2, weight @ (x - cx) ** 2, weight @ ((x - cx) * (y - cy)),
    )  # fmt: skip
    return replace(
        limb_section(given), axial_rigidity_bare=total, centroid=(cx, cy),
        flexural_rigidity_bare=rigidity,
    )  # fmt: skip


@ANY
def test_second_route_sum_of_small_squares(given: Limb) -> None:
    got, expected = limb_section(given, infill_exponent=1.5), rastered(given, 1.5)
    assert got.axial_rigidity_bare == pytest.approx(expected.axial_rigidity_bare, rel=1e-3)
    scale = got.flexural_rigidity_bare[0]
    assert got.flexural_rigidity_bare == pytest.approx(
        expected.flexural_rigidity_bare, rel=1e-3, abs=1e-3 * scale
    )
    assert got.centroid == pytest.approx(expected.centroid, abs=3e-6)


def test_closed_form_agrees_with_polygons_for_round_parts() -> None:
    given = LIMBS["tube with infill and sleeve"]
    gross, core = section_regions(given, given.wall)
    bare = TPU.elastic_modulus * (
        polygon_moments(gross) - (1 - given.infill**2) * polygon_moments(core)
    )
    got = limb_section(given)
    assert got.axial_rigidity_bare == pytest.approx(bare[0], rel=1e-9)
    about = [bare[3] - bare[2] ** 2 / bare[0], bare[4] - bare[1] ** 2 / bare[0]]
    assert got.flexural_rigidity_bare[:2] == pytest.approx(about, rel=1e-8)


def test_sleeve_that_meets_the_wall_counts_once() -> None:
    """The union's area from the lens of two circles."""
    given = LIMBS["sleeve runs into the wall"]
    core, sleeve, apart = 0.0048, 0.0027, math.hypot(0.001, 0.0025)
    inner = math.acos((apart**2 + sleeve**2 - core**2) / (2 * apart * sleeve))
    outer = math.acos((apart**2 + core**2 - sleeve**2) / (2 * apart * core))
    lens = sleeve**2 * (inner - math.sin(2 * inner) / 2)
    lens += core**2 * (outer - math.sin(2 * outer) / 2)
    empty = math.pi * core**2 - lens
    area = math.pi * (0.006**2 - 0.0015**2) - 0.9 * empty
    assert limb_section(given).area == pytest.approx(area, rel=1e-5)


@ANY
def test_mass_follows_the_printed_area(given: Limb) -> None:
    bare = limb_section(given)
    assert bare.mass_per_length == pytest.approx(1200 * bare.area, rel=1e-12)


def test_a_full_infill_is_a_solid_limb() -> None:
    full = replace(LIMBS["polygon"], infill=1.0)
    solid = replace(LIMBS["polygon"], wall=None, infill=0.0)
    assert limb_section(full).flexural_rigidity_bare == pytest.approx(
        limb_section(solid).flexural_rigidity_bare, rel=1e-12
    )


def test_infill_exponent_weakens_the_core() -> None:
    given = LIMBS["box"]
    firm, soft = (limb_section(given, infill_exponent=n) for n in (1.0, 2.0))
    shell = limb_section(replace(given, infill=0.0))
    share = [s.axial_rigidity_bare - shell.axial_rigidity_bare for s in (firm, soft)]
    assert share[1] / share[0] == pytest.approx(0.2, rel=1e-9)
    assert firm.area == soft.area


def test_twisted_strands_slide_and_add_up() -> None:
    one = Wire(metal=METAL, diameter=0.001)
    given = limb(ROUND, channel_diameter=0.0035, channel_offset=(0, 0.002), wire=one)
    three = replace(given, wire=replace(one, strands=3))
    first, second = limb_section(given), limb_section(three)
    bare = first.flexural_rigidity_bare[0]
    own = 69e9 * math.pi * 0.001**4 / 64
    assert first.flexural_rigidity_sliding[0] - bare == pytest.approx(own, rel=1e-9)
    assert second.flexural_rigidity_sliding[0] - bare == pytest.approx(3 * own, rel=1e-9)
    wire_mass = second.mass_per_length - first.mass_per_length
    assert wire_mass == pytest.approx(2 * 2700 * math.pi * 0.0005**2, rel=1e-9)
    assert second.flexural_rigidity_bonded[0] > second.flexural_rigidity_sliding[0]


def test_a_wire_in_the_bore_sits_at_its_offset() -> None:
    wire = Wire(metal=METAL, diameter=0.002)
    got = limb_section(limb(ROUND, wall=0.0012, wire=wire, channel_offset=(0.0, -0.003)))
    EA, wire_EA = got.axial_rigidity_bare, 69e9 * math.pi * 0.001**2
    assert got.centroid_bonded[1] == pytest.approx(-0.003 * wire_EA / (wire_EA + EA), rel=1e-9)
    steiner = EA * wire_EA / (EA + wire_EA) * 0.003**2
    assert got.flexural_rigidity_bonded[0] == pytest.approx(
        got.flexural_rigidity_sliding[0] + steiner, rel=1e-9
    )


def test_moving_or_turning_a_polygon_changes_nothing() -> None:
    given = LIMBS["polygon"]
    far = tuple((x + 0.25, y - 0.25) for x, y in ELL.points)
    moved = replace(given, outline=Polygon(points=far), channel_offset=(0.255, -0.238))
    turned = replace(
        given, outline=Polygon(points=tuple((-y, x) for x, y in ELL.points)),
        channel_offset=(-0.012, 0.005),
    )  # fmt: skip
    here, there, round_ = limb_section(given), limb_section(moved), limb_section(turned)
    assert there.flexural_rigidity_bare == pytest.approx(here.flexural_rigidity_bare, rel=1e-9)
    assert there.centroid == pytest.approx((here.centroid[0] + 0.25, here.centroid[1] - 0.25))
    EIxx, EIyy, EIxy = here.flexural_rigidity_bare
    assert round_.flexural_rigidity_bare == pytest.approx((EIyy, EIxx, -EIxy), rel=1e-9)


def test_extreme_fibre_is_measured_from_the_centroid() -> None:
    assert limb_section(LIMBS["tube"]).extreme_fibre == pytest.approx(0.006, rel=1e-5)
    half = limb_section(limb(DShape(diameter=0.012, flat_height=0.006)))
    # centroid of a half disc: 4R/(3 pi)
    assert half.extreme_fibre == pytest.approx(0.006 * (1 - 4 / (3 * math.pi)), rel=2e-5)


@ANY
def test_strips_keep_area_centroid_and_second_moment(given: Limb) -> None:
    heights, areas = section_strips(given)
    got = limb_section(given)
    assert (areas > 0).all() and len(heights) <= 80
    assert TPU.elastic_modulus * areas.sum() == pytest.approx(got.axial_rigidity_bare, rel=1e-8)
    assert areas @ heights == pytest.approx(0, abs=1e-9 * areas @ np.abs(heights))
    second = TPU.elastic_modulus * areas @ heights**2
    assert second == pytest.approx(got.flexural_rigidity_bare[0], rel=1e-8)
    assert np.abs(heights).max() < got.extreme_fibre


@ANY
def test_strips_integrate_a_softening_law(given: Limb) -> None:
    """Against ten times as many strips, the law saturating well inside the section."""

    def moment(count: int) -> float:
        heights, areas = section_strips(given, count=count)
        strain = 40.0 * heights
        ratio = np.abs(TPU.elastic_modulus * strain / TPU.saturation_stress) ** 1.7
        return float(areas @ (TPU.elastic_modulus * strain / (1 + ratio) ** (1 / 1.7) * heights))

    assert moment(80) == pytest.approx(moment(400), rel=1e-4)


def test_strips_of_a_disc_give_its_plastic_moment() -> None:
    heights, areas = section_strips(limb(ROUND), count=100)
    assert areas @ np.abs(heights) == pytest.approx(0.012**3 / 6, rel=1e-4)


def test_moments_below_half_a_disc() -> None:
    area = outline_polygon(ROUND)
    got = moments_below(area, np.array([-1.0, 0.0, 1.0]), (0.0, 0.0))
    full = disc_moments(0.006, (0.0, 0.0))
    assert got[:, 0] == pytest.approx([0, 0, 0], abs=1e-18)
    assert got[:, 1] == pytest.approx([full[0] / 2, -2 * 0.006**3 / 3, full[3] / 2], rel=1e-5)
    assert got[:, 2] == pytest.approx([full[0], 0, full[3]], rel=1e-8, abs=1e-15)


@ANY
def test_rigidity_and_mass_over_wall_follow_the_section(given: Limb) -> None:
    walls = np.array([0.0009, 0.001, 0.0011, 0.00125, 0.0014])
    exponents = np.array([2.0, 1.5, 1.0, 2.0, 2.3])
    rigidities = rigidity_over_wall(given, walls, infill_exponent=exponents)
    masses = mass_over_wall(given, walls)
    for wall, exponent, rigidity, mass in zip(walls, exponents, rigidities, masses, strict=True):
        each = replace(given, wall=float(wall))
        section = limb_section(each, infill_exponent=float(exponent))
        assert rigidity == pytest.approx(section.flexural_rigidity_bare[0], rel=2e-4)
        assert mass == pytest.approx(section.mass_per_length, rel=2e-4)


def test_walls_that_fill_the_outline_are_solid() -> None:
    for given in (LIMBS["tube"], LIMBS["box"], LIMBS["roofed"], LIMBS["polygon"]):
        solid = limb_section(replace(given, wall=None)).flexural_rigidity_bare[0]
        walls = [[0.001, 0.02], [0.5, 0.02]]
        got = rigidity_over_wall(given, walls)
        assert got.shape == (2, 2)
        assert [got[0, 1], got[1, 0], got[1, 1]] == pytest.approx([solid] * 3, rel=1e-9)
        assert got[0, 0] < solid
    one = rigidity_over_wall(LIMBS["box"], 0.0016)
    assert one.shape == ()
    assert one == pytest.approx(limb_section(LIMBS["box"]).flexural_rigidity_bare[0], rel=1e-9)


def test_surface_for_the_tint() -> None:
    assert surface_area(LIMBS["tube"]) == pytest.approx(math.pi * (0.012 * 0.12 + 0.006**2))
    perimeter = 2 * (0.010 + 0.004) + 2 * math.pi * 0.003
    end = 0.016 * 0.010 - (4 - math.pi) * 0.003**2
    assert surface_area(LIMBS["box"]) == pytest.approx(perimeter * 0.12 + end, rel=1e-5)
    assert surface_area(LIMBS["polygon"]) == pytest.approx(0.12 * 0.12 + 5e-4)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: limb_section([1]), "limb must be a Limb"),  # type: ignore[arg-type]
        (lambda: limb_section(LIMBS["tube"], infill_exponent=math.nan), "infill exponent must"),
        (lambda: section_strips(LIMBS["tube"], count=9), "strip count must be even"),
        (lambda: section_strips(LIMBS["tube"], count=10**9), "strip count must"),
        (lambda: rigidity_over_wall(LIMBS["tube"], [0.001, -1]), "walls must"),
        (lambda: rigidity_over_wall(LIMBS["tube"], [[1e-3, 2e-3], [1e-3]]), "walls must"),
        (
            lambda: rigidity_over_wall(LIMBS["tube"], [1e-3] * 3, infill_exponent=[2, 1]),
            "walls and infill exponent must be of shapes that broadcast",
        ),
        (lambda: surface_area(None), "limb must be a Limb"),  # type: ignore[arg-type]
        (lambda: mass_over_wall(LIMBS["tube"], "x"), "walls must"),
    ],
)
def test_refusals(call: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()  # type: ignore[operator]
