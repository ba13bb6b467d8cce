"""Printed holes: bead arc, facets, 45 degree roofs.

Source: a public derivation of arc compensation (read: R 1, t 0.5 needs a path of 1.28) and its
inverse (computed); a public page on polygonal holes (read: 10 sides lose 5 %, 22 lose 1 %);
roofs by geometry (computed; common practice). Units as printed: mm.
"""

from __future__ import annotations

import pytest

from flexcalc.build.hole import (
    arc_shrinkage,
    facet_shrinkage,
    path_radius,
    roof_apex,
    roof_area,
    roof_bridge,
)


@pytest.mark.parametrize(
    ("diameter", "bead", "radius", "undersize"),
    [
        (2.0, 0.5, 1.2807764064044151, 0.06350832689629149),
        (1.3, 0.45, 0.9128408246098803, 0.08036890823495324),
        (2.3, 0.45, 1.3968041645257965, 0.044451286272007895),
    ],
)
def test_bead_arc(diameter: float, bead: float, radius: float, undersize: float) -> None:
    drawn, width = diameter / 1e3, bead / 1e3
    assert path_radius(drawn, width) * 1e3 == pytest.approx(radius, abs=1e-9)
    assert arc_shrinkage(drawn, width) * 1e3 == pytest.approx(undersize, abs=1e-9)


@pytest.mark.parametrize(
    ("facets", "undersize"), [(12, 0.07837059953514287), (64, 0.0027704507281034684)]
)
def test_facets(facets: int, undersize: float) -> None:
    assert facet_shrinkage(0.0023, facets) * 1e3 == pytest.approx(undersize, rel=1e-9)


@pytest.mark.parametrize(("facets", "percent"), [(10, 5), (22, 1)])
def test_facets_as_the_page_rounds_them(facets: int, percent: int) -> None:
    assert facet_shrinkage(1.0, facets) * 100 == pytest.approx(percent, abs=0.5)


@pytest.mark.parametrize(
    ("radius", "apex", "area", "bridge"),
    [
        (1.15, 1.6263455967290592, 4.438567213279375, 0.9526911934581188),
        (1.7, 2.4041630560342617, 9.699402076655876, 1.4083261120685235),
    ],
)
def test_roofs(radius: float, apex: float, area: float, bridge: float) -> None:
    r = radius / 1e3
    assert roof_apex(r) * 1e3 == pytest.approx(apex, rel=1e-9)
    assert roof_area(r) * 1e6 == pytest.approx(area, rel=1e-9)
    assert roof_bridge(r, r) * 1e3 == pytest.approx(bridge, rel=1e-9)  # cut off at h = r
