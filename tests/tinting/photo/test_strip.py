"""A whole strip in one rendered photo, see `tests.tinting.photo_world`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from data.rules import Refused
from tests.tinting.photo_world import (
    CARD,
    CORNERS,
    LIGHTS,
    STRIP,
    Scene,
    dyed_strip,
    jpeg,
    plastic,
    render,
    true_lab,
)
from tinting.colour.difference import delta_e
from tinting.photo.patches import UNEVEN_PATCH
from tinting.photo.strip import COATS, StripReading, read_strip

CHART: dict[str, Any] = {"chart_corners": CORNERS}


def scene(seed: int, **changes: Any) -> Scene:
    rng = np.random.default_rng(seed)
    base = plastic(rng.uniform(0.0, 0.4), rng.uniform(0.6, 0.88))
    strip = dyed_strip(rng, base, COATS)
    made: dict[str, Any] = {"sensor": seed % 2, "light": LIGHTS[seed // 2 % 2], "seed": seed}
    return Scene(base=base, swatch=base, strip=strip, **{**made, **changes})


def misses(one: Scene, reading: StripReading) -> np.ndarray:
    true = [true_lab(one.strip[COATS.index(coats)]) for coats in reading.coats]
    return np.asarray(delta_e(reading.labs, true))


def all_misses(scenes: list[Scene], **how: Any) -> np.ndarray:
    """CIEDE2000 of every dyed patch, without the few that are too dark for the camera."""
    found = []
    for one in scenes:
        reading = read_strip(jpeg(render(one)), STRIP, **how)
        assert (len(reading.coats) < 5) == ("strip-left-out" in keys(reading))
        found.append(misses(one, reading)[1:])
    assert sum(map(len, found)) >= 0.9 * 4 * len(scenes)
    return np.concatenate(found)


def keys(reading: StripReading) -> set[str]:
    return {caution.key for caution in reading.cautions}


def test_chart_reads_strips_within_the_claim() -> None:
    found = all_misses([scene(seed, chart=seed // 4 % 2) for seed in range(48)], **CHART)
    assert np.median(found) <= 1.7
    assert np.quantile(found, 0.95) <= 5.3


@pytest.mark.parametrize("level", [0.18, 0.9])
def test_card_reads_strips_within_the_claim(level: float) -> None:
    scenes = [scene(seed, card=level, chart=None) for seed in range(20)]
    found = all_misses(scenes, card_region=CARD, card_reflectance=level)
    assert np.median(found) <= 3
    assert np.quantile(found, 0.95) <= 6


def test_what_is_read() -> None:
    one = scene(6)
    reading = read_strip(jpeg(render(one)), STRIP, **CHART)
    assert reading.coats == COATS and reading.labs.shape == (5, 3)
    assert reading.method == "chart" and len(reading.residuals) >= 18
    assert not keys(reading) & {"swapped", "uneven-patch"}
    assert max(reading.scatter) < UNEVEN_PATCH
    np.testing.assert_array_equal(reading.base_lab, reading.labs[0])
    made = reading.swatches({"moss": 0.1}, base="scrap")
    assert [swatch.coats for swatch in made] == [1, 2, 3, 5]
    assert made[0].shares == {"moss": 0.1} and made[0].base == "scrap"
    for swatch, scatter in zip(made, reading.scatter[1:], strict=True):
        assert swatch.error == pytest.approx(np.hypot(2.0, scatter))


def test_an_uneven_patch_is_told() -> None:
    """The upper half of the patch of two coats has the colour of five."""
    pixels = render(scene(6))
    (left, top, right, _), (other, *_) = STRIP[2], STRIP[4]
    pixels[top : top + 65, left:right] = pixels[top : top + 65, other : other + right - left]
    reading = read_strip(pixels.astype(np.uint8), STRIP, **CHART)
    (told,) = (caution for caution in reading.cautions if caution.key == "uneven-patch")
    assert "patch of 2 coats" in told.text and "patch of 3 coats" not in told.text
    # half of the places lie on either side of the middle between both colours
    apart = float(delta_e(reading.labs[1], reading.labs[4]))
    assert 1.0 < reading.scatter[2] < apart
    assert reading.swatches({"a": 0.1})[1].error > 1.3 * reading.swatches({"a": 0.1})[0].error


@pytest.mark.parametrize(
    ("swap", "said"), [((0, 3), "bare patch"), ((1, 4), "patch of 1 coat"), ((0, 4), "bare patch")]
)
def test_swapped_marks_are_told(swap: tuple[int, int], said: str) -> None:
    photo = jpeg(render(scene(6)))
    marks = list(STRIP)
    marks[swap[0]], marks[swap[1]] = marks[swap[1]], marks[swap[0]]
    reading = read_strip(photo, marks, **CHART)
    (told,) = (caution for caution in reading.cautions if caution.key == "swapped")
    assert said in told.text and "swapped" in told.text
    # the marks in their order, from light to dark, are named as they really lie
    names = ["bare patch", "patch of 1 coat", "patch of 2 coats", "patch of 3 coats",
             "patch of 5 coats"]  # fmt: skip
    order = [*names]
    order[swap[0]], order[swap[1]] = names[swap[1]], names[swap[0]]
    assert told.text.endswith(f"{', '.join(order)}.")


def test_no_strip_in_order_is_called_swapped() -> None:
    for seed in range(12):
        reading = read_strip(jpeg(render(scene(seed))), STRIP, **CHART)
        assert "swapped" not in keys(reading)


def test_marks_in_any_order_and_patches_repeated() -> None:
    photo = jpeg(render(scene(6)))
    plain = read_strip(photo, STRIP, **CHART)
    turned = read_strip(photo, STRIP[::-1], COATS[::-1], **CHART)
    np.testing.assert_allclose(turned.labs[::-1], plain.labs)
    left, top, right, bottom = STRIP[2]
    marks = [STRIP[0], (left, top, right, 80), (left, 90, right, bottom)]
    twice = read_strip(photo, marks, (0, 2, 2), **CHART)
    assert float(delta_e(twice.labs[1], twice.labs[2])) < 1.0


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"regions": STRIP[:3]}, "regions and coats"),
        ({"regions": 5}, "regions"),
        ({"regions": "abcde"}, "regions and coats"),
        ({"regions": [STRIP[0]] * 5}, "patch of 1 coat"),
        ({"regions": [*STRIP[:4], (1, 2, 3)]}, "patch of 5 coats"),
        ({"coats": (1, 2, 3, 4, 5)}, "coats"),
        ({"coats": (0, 0, 0, 0, 0)}, "coats"),
        ({"coats": (0,)}, "coats"),
        ({"coats": (0, 1, 2, 3, 99)}, "coats"),
        ({"coats": 5}, "coats"),
        ({"card_region": None}, "card region or chart corners"),
        ({"card_reflectance": 3}, "card reflectance"),
        ({"flat_field": 3}, "flat field"),
        ({"photo": b"none"}, "photo"),
    ],
)
def test_refusals(change: dict[str, Any], name: str, still: bytes) -> None:
    given: dict[str, Any] = {"photo": still, "regions": STRIP, "card_region": CARD, **change}
    with pytest.raises(Refused) as refused:
        read_strip(**given)
    assert refused.value.name == name


@pytest.fixture(scope="module")
def still() -> bytes:
    return jpeg(render(scene(6, chart=None, card=0.18)))
