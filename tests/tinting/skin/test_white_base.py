"""White plastics lose light below 420 nm, which a smooth spectrum does not show."""

from __future__ import annotations

import numpy as np
import pytest

from tinting.colour.colorimetry import delta_e, lab
from tinting.colour.grid import wavelengths_nm
from tinting.colour.spectrum import smoothest_within
from tinting.skin.inputs import base_from_lab

EDGE = (0.23, 0.32, 0.50, 0.72, 0.87, 0.93, 0.95, 0.96)
"""Mean of 20 white paints against the smoothest spectrum at 380 to 450 nm (a note, not seen)."""


@pytest.mark.parametrize(
    "colour",
    [(85.5, 0, 2), (88, -1, 6), (92, 0, -2), (95, 0, 1), (96, 0, -3), (98.9, -0.3, 0.8)],
)
def test_a_white_base_has_its_colour_and_the_edge(colour: tuple[float, float, float]) -> None:
    found = base_from_lab(colour, "opaque").reflectance
    assert float(delta_e(lab(found), colour)) < 0.01
    assert found.max() <= 1
    np.testing.assert_array_equal(wavelengths_nm[:8], np.arange(380, 460, 10))
    # over the next band, which runs on smoothly
    np.testing.assert_allclose(found[:8] / found[8], EDGE, atol=0.05)
    assert np.abs(np.diff(found[8:])).max() < 0.03


@pytest.mark.parametrize(
    ("colour", "kind"),
    [((84.5, 0, 2), "opaque"), ((92, 0, 2), "translucent"), ((92, 0, 2), "unknown")],
)
def test_other_bases_stay_smooth(colour: tuple[float, float, float], kind: str) -> None:
    found = base_from_lab(colour, kind)
    smooth = smoothest_within("lab", np.array(colour), "D65", 10, found.specular + 1e-4, 1.0)
    np.testing.assert_array_equal(found.reflectance, smooth)


def test_whiter_than_the_edge_allows_is_still_a_base() -> None:
    found = base_from_lab((100, 0, 0), "opaque").reflectance
    assert float(delta_e(lab(found), (100, 0, 0))) < 0.01 and found.max() <= 1
