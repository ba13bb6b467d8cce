"""Base and swatch measured in rendered photos, see `tests.tinting.photo_world`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.tinting.photo_world import (
    BASE,
    CARD,
    CORNERS,
    LIGHTS,
    SWATCH,
    Array,
    Scene,
    chart_spectra,
    dyed,
    jpeg,
    plastic,
    render,
    true_lab,
)
from tinting.colour.chart24 import (
    chart_names,
    chart_xyz,
    root_polynomial_matrix,
    root_polynomial_xyz,
)
from tinting.colour.colorimetry import delta_e, white
from tinting.photo.camera import camera_fit, grey_curve, neutral_targets
from tinting.photo.flatfield import even_curve
from tinting.photo.picture import read_picture
from tinting.photo.reading import CLAIMED_ERROR, PhotoReading, measure_swatch

EVEN = {"falloff": 0.0, "slope": 0.0}
PHOTOS = 48


def random_scene(seed: int, **changes: Any) -> Scene:
    rng = np.random.default_rng(seed)
    base = plastic(rng.uniform(0.0, 0.4), rng.uniform(0.6, 0.88))
    scene = Scene(
        base=base,
        swatch=dyed(rng, base),
        sensor=seed % 2,
        light=LIGHTS[seed // 2 % 2],
        seed=seed,
    )
    return replace(scene, **changes)


def plain_scene(**changes: Any) -> Scene:
    return random_scene(4, **changes)


def by_chart(scene: Scene, **extra: Any) -> PhotoReading:
    return measure_swatch(jpeg(render(scene)), BASE, SWATCH, chart_corners=scene.corners, **extra)


def by_card(scene: Scene, **extra: Any) -> PhotoReading:
    return measure_swatch(jpeg(render(scene)), BASE, SWATCH, CARD, **extra)


def errors(scene: Scene, reading: PhotoReading) -> tuple[float, float]:
    return (
        float(delta_e(reading.swatch_lab, true_lab(scene.swatch))),
        float(delta_e(reading.base_lab, true_lab(scene.base))),
    )


def keys(reading: PhotoReading) -> set[str]:
    return {caution.key for caution in reading.cautions}


def spread_of_errors(read: Callable[..., PhotoReading], scenes: list[Scene], **extra: Any) -> Array:
    """(n, 2) of swatch and base, without the few photos that are refused as too dark."""
    found = []
    for scene in scenes:
        try:
            found.append(errors(scene, read(scene, **extra)))
        except ValueError as error:
            assert "too dark" in str(error)
    assert len(found) >= 0.95 * len(scenes)
    return np.array(found)


def test_chart_reads_a_spread_of_swatches_within_the_claim() -> None:
    scenes = [random_scene(seed, chart=seed // 4 % 2) for seed in range(PHOTOS)]
    found = spread_of_errors(by_chart, scenes)
    assert (np.median(found, axis=0) <= (1.7, 1.0)).all()
    assert (np.quantile(found, 0.95, axis=0) <= (5.3, 2.5)).all()


@pytest.mark.parametrize("level", [0.18, 0.9])
def test_card_reads_a_spread_of_swatches_within_the_claim(level: float) -> None:
    scenes = [random_scene(seed, card=level, chart=None) for seed in range(PHOTOS // 2)]
    found = spread_of_errors(by_card, scenes, card_reflectance=level)
    assert (np.median(found, axis=0) <= 4).all()
    assert (np.quantile(found, 0.95, axis=0) <= 12).all()


def test_strong_falloff_and_side_light_are_evened_out() -> None:
    scenes = [random_scene(seed, falloff=0.35, slope=0.12) for seed in range(8)]
    readings = [by_chart(scene) for scene in scenes]
    assert np.median([errors(s, r)[0] for s, r in zip(scenes, readings, strict=True)]) <= 2.5
    for reading in readings:
        assert "light-uneven" in keys(reading) and reading.light_unevenness > 0.3


def test_the_light_is_found_without_ground_too() -> None:
    scenes = [random_scene(seed, background=None) for seed in range(8)]
    readings = [by_chart(scene) for scene in scenes]
    assert np.median([errors(s, r)[0] for s, r in zip(scenes, readings, strict=True)]) <= 2.5
    assert all("no-ground" in keys(reading) for reading in readings)


@pytest.mark.parametrize("corner", range(8))
def test_corners_may_begin_anywhere_and_go_either_way(corner: int) -> None:
    scene = plain_scene(corners=((100, 175), (505, 195), (540, 400), (50, 385)))
    order = np.roll(np.array(scene.corners), corner // 2, axis=0)[:: 1 if corner % 2 else -1]
    reading = measure_swatch(jpeg(render(scene)), BASE, SWATCH, chart_corners=order.tolist())
    assert errors(scene, reading)[0] < 3 and reading.method == "chart"


def test_corners_may_be_a_fifth_of_a_patch_off() -> None:
    scene = plain_scene()
    photo = jpeg(render(scene))
    exact = measure_swatch(photo, BASE, SWATCH, chart_corners=CORNERS)
    wide = [(25, 168), (535, 169), (534, 412), (26, 411)]
    off = measure_swatch(photo, BASE, SWATCH, chart_corners=wide)
    assert float(delta_e(exact.swatch_lab, off.swatch_lab)) < 0.7


def test_the_whole_reading() -> None:
    scene = plain_scene(**EVEN)
    reading = by_chart(scene)
    assert reading.lab is reading.swatch_lab and not reading.swatch_lab.flags.writeable
    assert set(reading.residuals) <= set(chart_names()) and len(reading.residuals) >= 18
    assert max(reading.residuals.values()) < 8 and reading.degree in (1, 2)
    assert reading.error >= CLAIMED_ERROR["chart"] and reading.light_unevenness < 0.05
    assert reading.flat_field and "light-uneven" not in keys(reading)
    assert keys(by_card(replace(scene, card=0.18))) == {"card-guessed"}
    card = by_card(replace(scene, card=0.9), card_reflectance=0.9)
    assert (card.method, card.degree, dict(card.residuals)) == ("card", 0, {})
    assert card.error == CLAIMED_ERROR["card"] and card.cautions == ()


def test_a_card_is_told_white_or_grey_by_its_brightness() -> None:
    for level in (0.18, 0.9):
        scene = plain_scene(card=level, chart=None, **EVEN)
        said = by_card(scene, card_reflectance=level)
        np.testing.assert_allclose(by_card(scene).lab, said.lab)
        # a card said to be half as bright makes everything half as bright
        half = by_card(scene, card_reflectance=level / 2)
        assert half.lab[0] < said.lab[0] - 10


def test_uneven_light_is_refused_unless_evened_out() -> None:
    scene = plain_scene(falloff=0.0, slope=0.1, card=0.18)
    assert 0.2 < by_chart(scene).light_unevenness < 0.9
    for read in (by_chart, by_card):
        with pytest.raises(ValueError, match=r"^light must be at most 20% uneven"):
            read(scene, flat_field=False)
    mild = by_chart(plain_scene(falloff=0.0, slope=0.025), flat_field=False)
    assert "light-uneven" in keys(mild) and 0.05 < mild.light_unevenness < 0.2
    assert not mild.flat_field
    with pytest.raises(ValueError, match=r"^light must be at most 100% uneven"):
        by_chart(plain_scene(falloff=0.9, slope=0.3))


def test_evening_out_helps() -> None:
    scenes = [random_scene(seed, falloff=0.0, slope=0.05) for seed in range(6)]
    with_it, without = (
        np.median([errors(s, by_chart(s, flat_field=how))[1] for s in scenes])
        for how in (True, False)
    )
    assert with_it < 0.7 * without


@pytest.mark.parametrize(
    ("region", "value", "why"),
    [
        ("base", 254, "blown out"),
        ("swatch", 255, "blown out"),
        ("card", 252, "blown out"),
        ("base", 3, "too dark"),
        ("swatch", 0, "too dark"),
        ("card", 2, "too dark"),
    ],
)
def test_a_blown_or_black_patch_is_refused(region: str, value: int, why: str) -> None:
    pixels = render(plain_scene(card=0.18)).astype(np.uint8)
    left, top, right, bottom = {"base": BASE, "swatch": SWATCH, "card": CARD}[region]
    rows = int(0.02 * (bottom - top)) + 1
    spoiled = pixels.copy()
    spoiled[top : top + rows, left:right, 2] = value  # one channel over 2 % of the patch
    with pytest.raises(ValueError, match=rf"^{region} region must be .*{why}"):
        measure_swatch(spoiled, BASE, SWATCH, CARD)
    pixels[top, left : left + 5] = value  # a glint
    measure_swatch(pixels, BASE, SWATCH, CARD)


def test_spoiled_chart_patches_are_left_out_and_said() -> None:
    pixels = render(plain_scene()).astype(np.uint8)
    width = (CORNERS[1][0] - CORNERS[0][0]) / 6
    left = int(CORNERS[0][0] + 0.1 * width)
    pixels[345:400, left : left + int(0.8 * width)] = 255  # the white patch
    reading = measure_swatch(pixels, BASE, SWATCH, chart_corners=CORNERS)
    assert "patches-left-out" in keys(reading)
    assert not any(name.startswith("white") for name in reading.residuals)
    pixels[345:400, left : left + int(3 * width)] = 255
    with pytest.raises(ValueError, match=r"^chart must be lit so that 18 patches and 4 greys"):
        measure_swatch(pixels, BASE, SWATCH, chart_corners=CORNERS)


def test_what_is_no_chart_is_refused() -> None:
    photo = jpeg(render(plain_scene(chart=None)))
    with pytest.raises(ValueError, match=r"^chart corners must be on the outer corners"):
        measure_swatch(photo, BASE, SWATCH, chart_corners=CORNERS)


def test_a_region_over_an_edge_is_said() -> None:
    photo = jpeg(render(plain_scene(chart=None, card=0.18)))
    left, top, right, bottom = SWATCH
    over = (left, top, right + 60, bottom)
    assert "mixed-region" in keys(measure_swatch(photo, BASE, over, CARD))


def test_regions_are_those_of_the_turned_picture() -> None:
    from PIL import Image

    scene = plain_scene(chart=None, card=0.18)
    seen = render(scene)
    exif = Image.Exif()
    exif[0x0112] = 8  # seen after a quarter turn to the left
    stored = np.rot90(seen, -1)
    turned = measure_swatch(jpeg(stored, 95, exif=exif.tobytes()), BASE, SWATCH, CARD)
    upright = measure_swatch(jpeg(seen, 95), BASE, SWATCH, CARD)
    assert float(delta_e(turned.lab, upright.lab)) < 0.5


@pytest.mark.parametrize(
    ("name", "value"),
    [
        (name, value)
        for name in ("base_region", "swatch_region", "card_region")
        for value in (
            5, "abcd", (1, 2, 3), (0, 0, 4, 90), (30, 20, 10, 90), (-1, 0, 90, 90),
            (0, 0, 561, 90), (0, 0, np.nan, 90), (0, 0, np.inf, 90), (0, 0, 1e300, 90),
            (0, "1", 90, 90), (True, 0, 90, 90), (None,) * 4, ((0, 0), (90, 90)), {}, (),
        )
    ]
    + [
        ("chart_corners", value)
        for value in (
            5, "abcd", CORNERS[:3], (*CORNERS, (1, 1)), [(0, 0)] * 4, [(1, 2, 3)] * 4,
            [(0, 0), (1, 1), (2, 2), (3, 3)], [(0, 0), (500, 400), (500, 0), (0, 400)],
            [(-1, 0), (500, 0), (500, 400), (0, 400)], [(np.nan, 0)] * 4, [(None, 0)] * 4,
            [(10, 10), (500, 10), (500, 14), (10, 14)], [1, 2, 3, 4], ["ab"] * 4,
        )
    ]
    + [("card_reflectance", value) for value in (0, -1, 1.5, np.nan, "white", True)]
    + [("flat_field", value) for value in (None, 1, "yes")]
    + [("photo", value) for value in (None, 3, b"no picture", np.zeros((9, 9, 3), np.uint8))]
    + [("swatch_region", BASE), ("card_region", None)],
    ids=repr,
)  # fmt: skip
def test_bad_arguments_are_refused_by_name(name: str, value: Any, still: Any) -> None:
    arguments: dict[str, Any] = {
        "photo": still,
        "base_region": BASE,
        "swatch_region": SWATCH,
        "card_region": CARD,
        name: value,
    }
    words = "card region or chart corners" if value is None and name == "card_region" else name
    with pytest.raises(ValueError, match=rf"^{words.replace('_', ' ')} must be .*; got "):
        measure_swatch(**arguments)


@pytest.fixture(scope="module")
def still() -> Any:
    return read_picture(jpeg(render(plain_scene(chart=None, card=0.18))))


def test_root_polynomial_by_hand() -> None:
    """Finlayson et al. (2015), equation of degree 2: r, g, b and the roots of their products."""
    rng = np.random.default_rng(0)
    rgb, matrix = rng.uniform(0.02, 1, (24, 3)), rng.uniform(0.1, 1, (3, 6))
    r, g, b = rgb.T
    terms = np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], axis=1)
    xyz = terms @ matrix.T
    np.testing.assert_allclose(root_polynomial_matrix(rgb, xyz, 2), matrix, atol=1e-9)
    np.testing.assert_allclose(root_polynomial_xyz(rgb, matrix, 2), xyz, atol=1e-12)
    np.testing.assert_allclose(root_polynomial_xyz(2 * rgb, matrix, 2), 2 * xyz, atol=1e-12)


def test_degree_one_is_enough_for_a_camera_that_is_one() -> None:
    matrix = np.array([[0.5, 0.3, 0.1], [0.2, 0.7, 0.1], [0.0, 0.1, 0.9]])
    rgb = chart_xyz() @ np.linalg.inv(matrix).T / 100
    assert rgb.min() > 0
    rng = np.random.default_rng(3)
    fit = camera_fit(rgb * rng.normal(1, 0.01, rgb.shape), np.ones(24, dtype=bool))
    assert fit.degree == 1
    exact = camera_fit(rgb, np.ones(24, dtype=bool))
    assert exact.residuals.max() < 1e-6 and exact.left_out < 1e-6


def test_grey_curve_undoes_a_tone_curve() -> None:
    """A camera that writes the 1.8th root instead of sRGB, with blue gained by a half."""
    targets = neutral_targets()
    encoded = (targets * (1.0, 1.0, 1.5) / 1.5) ** (1 / 1.8) * 255
    seen = np.array(
        [np.interp(encoded[:, c], np.arange(256), even_curve()[:, c]) for c in range(3)]
    ).T
    curve = grey_curve(seen, targets)
    for level in (60.0, 120.0, 200.0):
        wanted = (level / 255) ** 1.8 * 1.5
        for channel, gain in enumerate((1.0, 1.0, 1.5)):
            found = np.interp(level, np.arange(256), curve[:, channel])
            assert found == pytest.approx(wanted / gain, rel=0.01)
    with pytest.raises(ValueError, match=r"^chart greys must be brighter from patch to patch"):
        grey_curve(seen, targets[::-1])


def test_chart_is_the_one_of_the_world() -> None:
    """Y of the patches, summed over 5 nm in the world and by the library's matrix here."""
    y = np.array([(true_lab(spectrum)[0] + 16) / 116 for spectrum in chart_spectra(0)]) ** 3
    bright = chart_xyz()[:, 1] > 1
    np.testing.assert_allclose(chart_xyz()[bright, 1] / white()[1], y[bright], atol=0.003)
