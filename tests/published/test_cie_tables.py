"""Whites, screen colours, adaptation and metamerism as published or computed elsewhere.

Whites: computed with colour-science 0.4.7 (`sd_to_XYZ` at 1 nm) and its tables of xy. Screen:
IEC 61966-2-1:1999 through the same library. Metamerism index: examples in that library's
documentation, which cites ISO 18314-4:2024 (read).
"""

from __future__ import annotations

import numpy as np
import pytest

from tinting.colour.colorimetry import lab_from_xyz, white, xyz
from tinting.colour.metamerism import metamerism_index_from_lab
from tinting.colour.screen import adaptation_matrix, xyz_from_srgb

WHITES = [
    ("A", 2, (109.849, 100.0, 35.591), (0.44758, 0.40745)),
    ("FL2", 2, (99.147, 100.0, 67.319), (0.3721, 0.3751)),
    ("FL11", 2, (100.9, 100.0, 64.267), (0.3805, 0.3769)),
    ("LED-B3", 2, (100.862, 100.0, 67.634), (0.3756, 0.3723)),
    ("D65", 10, (94.811, 100.0, 107.305), (0.31382, 0.331)),
    ("D50", 10, (96.721, 100.0, 81.415), (0.34773, 0.35952)),
    ("FL11", 10, (103.821, 100.0, 65.558), (0.38541, 0.37123)),
    ("LED-B3", 10, (103.31, 100.0, 67.907), (0.38085, 0.36852)),
]


@pytest.mark.parametrize(("light", "observer", "values", "xy"), WHITES)
def test_white(light: str, observer: int, values: object, xy: object) -> None:
    found = white(light, observer)
    assert found == pytest.approx(values, abs=0.005)
    # the tabled xy of the lamps come from other steps of summing and differ by 0.0002
    assert found[:2] / found.sum() == pytest.approx(xy, abs=3e-4)


def test_half_grey_by_the_integration_matrix() -> None:
    assert xyz(np.full(36, 0.5), "D65", 10) == pytest.approx((47.4055, 50.0, 53.6524), abs=5e-4)


SCREEN = [
    ((1.0, 1.0, 1.0), (95.05, 100.0, 108.9), (100.0, 0.008, 0.004)),
    ((0.5, 0.5, 0.5), (20.345, 21.404, 23.309), (53.389, 0.005, 0.002)),
    ((0.2, 0.4, 0.6), (11.866, 12.506, 31.926), (42.01, -0.144, -32.842)),
]


@pytest.mark.parametrize(("rgb", "values", "colour_lab"), SCREEN)
def test_screen_colour(rgb: object, values: object, colour_lab: object) -> None:
    assert xyz_from_srgb(rgb) == pytest.approx(values, abs=0.01)
    # the reference takes the white of the rounded xy, 0.016 apart in Z from the spectral one
    assert lab_from_xyz(xyz_from_srgb(rgb), "D65", 2) == pytest.approx(colour_lab, abs=0.02)


def test_bradford() -> None:
    matrix = adaptation_matrix((0.95047, 1, 1.08883), (0.96422, 1, 0.82521))
    printed = (
        (1.0478112, 0.0228866, -0.050127),
        (0.0295424, 0.9904844, -0.0170491),
        (-0.0092345, 0.0150436, 0.7521316),
    )
    assert np.abs(matrix - printed).max() <= 1e-6


STANDARD = ((39.0908, -21.3269, 22.6657), (38.17781, -17.4939, 21.0618))
SAMPLE = ((38.83253, -19.8787, 20.0453), (37.9013, -19.56327, 16.9346))


@pytest.mark.parametrize(
    ("correction", "printed"), [("additive", 3.8267581), ("multiplicative", 3.9842216)]
)
def test_metamerism_index(correction: str, printed: float) -> None:
    found = metamerism_index_from_lab(
        SAMPLE[1], STANDARD[1], SAMPLE[0], STANDARD[0], correction, method="CIE 1976"
    )
    assert found == pytest.approx(printed, abs=1e-6)
