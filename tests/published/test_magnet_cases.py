"""Pull of coaxial disc magnets.

Charge-model integral, equivalent to Vokoun, Beleggia, Heller and Sittner 2009 (abstract read, the
formula derived again), computed with scipy's adaptive quadrature and checked with magpylib's
forces on 6000 cells; thick steel by the method of images. Sizes [mm], remanence [T], pull [N].
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from flexcalc.build.magnet import magnet_pull

CASES = [
    # diameter, thickness, remanence, gap, disc on disc, disc on steel
    (6, 2, 1.3, 0.4, 5.742672539259372, 4.184327694182839),
    (6, 2, 1.3, 1.0, 3.635518374119853, 1.9632589433891527),
    (6, 2, 1.3, 4.0, 0.7088974102059332, 0.14571350854509194),
    (10, 3, 1.3, 0.4, 16.896008992367417, 13.473382949092178),
    (10, 3, 1.3, 3.0, 5.4317879462697025, 2.0846503170497175),
    (4, 2, 1.22, 0.8, 1.8105299577361786, 0.9335517100756346),
]


@pytest.mark.parametrize(("diameter", "thickness", "remanence", "gap", "disc", "steel"), CASES)
def test_pull(
    diameter: float, thickness: float, remanence: float, gap: float, disc: float, steel: float
) -> None:
    magnet = (diameter * 1e-3, thickness * 1e-3, remanence, gap * 1e-3)
    assert magnet_pull(*magnet) == pytest.approx(disc, rel=1e-6)
    assert magnet_pull(*magnet, "steel") == pytest.approx(steel, rel=1e-6)


@pytest.mark.parametrize(
    ("first", "second", "gap"),
    [((6, 2), (6, 2), 1.0), ((10, 3), (6, 2), 0.4), ((4, 1), (8, 5), 3.0)],
)
def test_against_the_field_of_magpylib(
    first: tuple[float, float], second: tuple[float, float], gap: float
) -> None:
    """Second route: magpylib's field of one disc on the charged faces of the other."""
    magpylib = pytest.importorskip("magpylib")
    cylinder = magpylib.magnet.Cylinder(
        polarization=(0, 0, 1.3), dimension=(first[0] * 1e-3, first[1] * 1e-3)
    )
    node, weight = np.polynomial.legendre.leggauss(60)
    radius = second[0] / 2 * 1e-3
    r, w = radius * (node + 1) / 2, radius * weight / 2
    pull = 0.0
    for depth, charge in ((0.0, -1.0), (second[1], 1.0)):
        z = (first[1] / 2 + gap + depth) * 1e-3
        field = cylinder.getB(np.column_stack([r, 0 * r, np.full_like(r, z)]))[:, 2]
        pull += charge * 1.22 / (4e-7 * math.pi) * float(np.sum(2 * math.pi * r * w * field))
    found = magnet_pull(
        first[0] * 1e-3,
        first[1] * 1e-3,
        1.3,
        gap * 1e-3,
        other_diameter=second[0] * 1e-3,
        other_thickness=second[1] * 1e-3,
        other_remanence=1.22,
    )
    # 2 % is granted; the smooth part of the field leaves less.
    assert found == pytest.approx(-pull if pull < 0 else pull, rel=2e-3)
    assert pull < 0
