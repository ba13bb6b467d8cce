"""Outlines as polygons, insets, and what does not fit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point, affinity
from shapely import Polygon as Area

from flexcalc.limb.inputs import Elastomer, Limb, Metal, Wire
from flexcalc.limb.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.limb.shape import channel_ring, core_polygon, half_thickness, outline_polygon

TPU = Elastomer(
    name="TPU", elastic_modulus=35e6, density=1200.0, poisson_ratio=0.48,
    saturation_stress=5.5e6, relaxation_exponent=0.06,
)  # fmt: skip
METAL = Metal(
    name="metal", elastic_modulus=69e9, strength_coefficient=180e6,
    hardening_exponent=0.2, density=2700.0,
)  # fmt: skip
ROUND = Round(diameter=0.012)
BAR = Polygon(points=((-0.02, -0.004), (0.02, -0.004), (0.02, 0.004), (-0.02, 0.004)))
ELL = Polygon(
    points=((0, 0), (0.03, 0), (0.03, 0.01), (0.01, 0.01), (0.01, 0.03), (0, 0.03)),
)
OUTLINES: list[Outline] = [
    ROUND,
    Ellipse(width=0.016, height=0.010),
    RoundedRectangle(width=0.016, height=0.010, corner_radius=0.003),
    DShape(diameter=0.012, flat_height=0.003),
    ELL,
]


def limb(outline: Outline, **given: object) -> Limb:
    return Limb(elastomer=TPU, outline=outline, length=0.12, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("outline", "area"),
    [
        (ROUND, math.pi * 0.006**2),
        (OUTLINES[1], math.pi * 0.008 * 0.005),
        (OUTLINES[2], 0.016 * 0.010 - (4 - math.pi) * 0.003**2),
        # segment cut off at y = -R/2: R^2 (pi/3 - sqrt(3)/4)
        (OUTLINES[3], 0.006**2 * (math.pi - math.pi / 3 + math.sqrt(3) / 4)),
        (RoundedRectangle(width=0.01, height=0.01, corner_radius=0.005), math.pi * 0.005**2),
        (ELL, 5e-4),
    ],
    ids=lambda value: type(value).__name__,
)  # fmt: skip
def test_polygons_keep_the_area(outline: Outline, area: float) -> None:
    assert outline_polygon(outline).area == pytest.approx(area, rel=1e-9)
    assert outline_polygon(outline).is_valid


@pytest.mark.parametrize("outline", [o for o in OUTLINES if not isinstance(o, Ellipse)])
def test_cores_are_true_offsets(outline: Outline) -> None:
    """Every corner of the core is one wall away from the outer edge."""
    core = core_polygon(outline, 0.0012)
    edge = outline_polygon(outline).exterior
    gaps = np.array([edge.distance(Point(corner)) for corner in core.exterior.coords])
    np.testing.assert_allclose(gaps, 0.0012, rtol=0, atol=2e-7)


def test_core_of_a_sharp_cornered_inset_rectangle() -> None:
    core = core_polygon(OUTLINES[2], 0.0035)  # deeper than the corner radius
    assert core.area == pytest.approx(0.009 * 0.003, rel=1e-12)


def test_core_of_an_ellipse_is_an_ellipse() -> None:
    core = core_polygon(OUTLINES[1], 0.0012)
    expected = affinity.scale(Point(0, 0).buffer(1, quad_segs=360), 0.0068, 0.0038)
    assert core.symmetric_difference(expected).area < 1e-5 * expected.area


def test_a_narrow_neck_leaves_two_cores() -> None:
    dumbbell = Area([(0, 0), (10, 0), (10, 4), (14, 4), (14, 0), (24, 0), (24, 10), (14, 10),
                     (14, 6), (10, 6), (10, 10), (0, 10)])  # fmt: skip
    outline = Polygon(points=tuple((x / 1e3, y / 1e3) for x, y in dumbbell.exterior.coords[:-1]))
    core = core_polygon(outline, 0.0015)
    assert len(core.geoms) == 2
    # two squares, each with a bulge towards the neck between arcs about its two corners
    bulge = 1.5 - (math.sqrt(1.25) / 2 + 1.125 * math.asin(1 / 1.5))
    assert core.area * 1e6 == pytest.approx(2 * (49 + 2 * bulge), rel=1e-5)
    limb(outline, wall=0.0015)


def test_orientation_of_a_polygon_does_not_matter() -> None:
    turned = Polygon(points=ELL.points[::-1])
    assert outline_polygon(turned).equals(outline_polygon(ELL))


def test_roofed_channel_reaches_its_apex_and_keeps_its_area() -> None:
    ring = channel_ring(0.0017, (0.001, -0.002), True)
    assert ring[:, 1].max() == pytest.approx(-0.002 + 0.0017 * math.sqrt(2), abs=1e-15)
    assert Area(ring).is_valid
    assert Area(ring).area == pytest.approx(0.0017**2 * (0.75 * math.pi + 1), rel=1e-9)


@pytest.mark.parametrize("outline", OUTLINES, ids=lambda value: type(value).__name__)
def test_a_wall_that_fills_the_outline_is_refused(outline: Outline) -> None:
    half = half_thickness(outline)
    fits = 0.0049 if outline is ELL else half * 0.99
    limb(outline, wall=fits)
    for wall in (half, half * 1.5):
        with pytest.raises(ValueError, match=r"wall must be less than half .*; got"):
            limb(outline, wall=wall)


def test_the_arms_of_an_l_set_its_wall() -> None:
    """The widest circle inside sits in its corner and touches the re-entrant one: 5.858 mm."""
    widest = 0.01 / (1 + math.sqrt(0.5))
    limb(ELL, wall=widest * 0.999)
    with pytest.raises(ValueError, match=r"wall must be less than half the outline where"):
        limb(ELL, wall=widest * 1.001)


@pytest.mark.parametrize(
    ("outline", "given"),
    [
        (ROUND, {"channel_diameter": 0.012}),
        (ROUND, {"channel_diameter": 0.003, "channel_offset": (0.0, 0.0045)}),
        (ROUND, {"channel_diameter": 0.003, "channel_offset": (0.0, 0.02)}),
        # the round part leaves 0.5 mm, the roof's apex stands outside
        (
            ROUND,
            {"channel_diameter": 0.004, "channel_offset": (0, 0.0035), "channel_roofed": True},
        ),
        (OUTLINES[1], {"channel_diameter": 0.0099999}),
        (OUTLINES[3], {"channel_diameter": 0.002, "channel_offset": (0.0, -0.0025)}),
        (BAR, {"channel_diameter": 0.006, "channel_offset": (0, 0), "channel_roofed": True}),
        (ELL, {"channel_diameter": 0.002, "channel_offset": (0.02, 0.02)}),
    ],
)
def test_a_channel_outside_is_refused(outline: Outline, given: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"channel must be inside the outline .*; got"):
        limb(outline, **given)


def test_a_channel_just_inside_is_taken() -> None:
    limb(ROUND, channel_diameter=0.01197)
    limb(BAR, channel_diameter=0.00797)
    limb(BAR, channel_diameter=0.0056, channel_roofed=True)  # apex at 3.96 of 4 mm
    limb(ROUND, channel_diameter=0.0041, channel_offset=(0, 0.0035))


@pytest.mark.parametrize("outline", [ROUND, BAR, OUTLINES[3]])
def test_a_wire_in_the_bore_must_fit(outline: Outline) -> None:
    wire = Wire(metal=METAL, diameter=0.004)
    limb(outline, wall=0.0012, wire=wire, channel_offset=(0.0, 0.0005))
    with pytest.raises(ValueError, match=r"wire diameter must be small enough to fit the bore"):
        limb(outline, wall=0.0012, wire=wire, channel_offset=(0.0, 0.003))
    with pytest.raises(ValueError, match=r"wire diameter must be small enough to fit the bore"):
        limb(outline, wall=0.0012, wire=Wire(metal=METAL, diameter=0.004, strands=4))


def test_a_wire_as_wide_as_the_bore_fits() -> None:
    limb(ROUND, wall=0.0012, wire=Wire(metal=METAL, diameter=0.0096))


@pytest.mark.parametrize(
    "points",
    [
        ((0, 0), (0.01, 0.01), (0.01, 0), (0, 0.01)),  # a bow tie
        ((0, 0), (0.01, 0), (0.02, 0)),  # a line
        ((0, 0), (0.01, 0), (0, 0)),
        ((0.01, 0.01),) * 3,
        ((0, 0), (0.1, 0), (0.1, 1e-9)),  # a sliver
        ((0, 0), (0.01, 0), (0.01, 0.01), (0.01, 0.02), (0.01, 0.01), (0, 0.01)),  # a spike
        ((0, 0), (1e-5, 0), (0, 1e-5)),  # smaller than any outline
    ],
)
def test_degenerate_polygons_are_refused(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match=r"outline polygon must be .*; got"):
        limb(Polygon(points=points))


def test_a_closed_polygon_may_repeat_its_first_corner() -> None:
    assert outline_polygon(Polygon(points=(*BAR.points, BAR.points[0]))).area == pytest.approx(
        0.04 * 0.008
    )
