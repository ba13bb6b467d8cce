"""The corners of a chart from two of them, on rendered photos, see `tests.tinting.photo_world`."""

from __future__ import annotations

import numpy as np
import pytest

from tests.tinting.photo_world import (
    BASE,
    CORNERS,
    SWATCH,
    Scene,
    dyed,
    jpeg,
    plastic,
    render,
    true_lab,
)
from tinting.colour.colorimetry import delta_e
from tinting.photo.corners import corners_from_two
from tinting.photo.picture import read_picture
from tinting.photo.reading import measure_swatch

LAID = {
    "straight": CORNERS,
    "turned": ((60.0, 200.0), (330.0, 170.0), (350.0, 350.0), (80.0, 380.0)),
    "on its side": ((60.0, 400.0), (60.0, 175.0), (210.0, 175.0), (210.0, 400.0)),
    "from aslant": ((60.0, 190.0), (500.0, 200.0), (470.0, 400.0), (80.0, 380.0)),
}
"""Where the corners of the chart lie, from the first patch on."""


@pytest.mark.parametrize("first", [0, 1])
@pytest.mark.parametrize("laid", LAID)
def test_two_corners_read_as_well_as_four(laid: str, first: int) -> None:
    rng = np.random.default_rng(4)
    base = plastic(0.4)
    swatch = dyed(rng, base)
    corners = LAID[laid]
    picture = read_picture(jpeg(render(Scene(base=base, swatch=swatch, corners=corners))))
    found = corners_from_two(picture, corners[first], corners[first + 2])
    # half a patch would still lie on the patch
    away = [np.hypot(*(found - place).T).min() for place in corners]
    assert max(away) < 0.5 * np.hypot(*np.subtract(corners[0], corners[1])) / 6
    reading = measure_swatch(picture, BASE, SWATCH, None, found)
    assert delta_e(reading.swatch_lab, true_lab(swatch)) < 5.3


def test_where_no_chart_lies_it_is_refused() -> None:
    rng = np.random.default_rng(4)
    base = plastic(0.4)
    picture = read_picture(jpeg(render(Scene(base=base, swatch=dyed(rng, base)))))
    for one, other in (((10, 10), (250, 160)), ((40, 180), (41, 181)), ((-5, 0), (9e9, 3))):
        with pytest.raises(ValueError, match="chart corners must be opposite outer corners"):
            corners_from_two(picture, one, other)
    with pytest.raises(ValueError, match="corner must be a pair"):
        corners_from_two(picture, 3, (1, 2))
