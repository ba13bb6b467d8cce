"""The colour plumbing: equal to the library, its own inverses, and honest about bad input."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest

from tests.charts import shipped_charts
from tests.scripts.colour_tables import MATCHING, library_tables
from tinting.colour import colorimetry
from tinting.colour.colorimetry import (
    delta_e,
    lab,
    lab_from_xyz,
    light_names,
    light_words,
    otsu_reflectance,
    weights,
    white,
    xyz,
    xyz_from_lab,
)
from tinting.colour.grid import Array, wavelengths_nm
from tinting.colour.metamerism import metamerism_index, metamerism_index_from_lab
from tinting.colour.screen import (
    hex_from_srgb,
    in_gamut,
    srgb_from_hex,
    srgb_from_xyz,
    xyz_from_srgb,
)
from tinting.colour.spectrum import hex_from_lab, lab_of_screen_colour, srgb_from_lab

RNG = np.random.default_rng(2)


@cache
def real_spectra() -> Array:
    """Every chart spectrum that the library ships, on our grid."""
    rows = []
    for chart in shipped_charts():
        for sd in chart.values():
            if sd.shape.start <= 380 and sd.shape.end >= 730:
                rows.append(np.interp(wavelengths_nm, sd.wavelengths, sd.values))
    return np.clip(np.array(rows), 0.0, 1.0)


def test_every_light_has_a_name_of_its_own_in_words() -> None:
    assert len({light_words(light) for light in light_names()}) == len(light_names())
    assert light_words("A") == "warm lamp"  # CIE 15:2004, 3.1.1: tungsten filament lighting
    with pytest.raises(ValueError, match="light must be one of"):
        light_words("candle")


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("light", light_names())
def test_equals_the_library_on_real_spectra(light: str, observer: int) -> None:
    import colour

    matching = colour.MSDS_CMFS[MATCHING[observer]]
    lamp = colour.SDS_ILLUMINANTS[colorimetry.LIGHTS[light]]
    spectra = real_spectra()
    assert len(spectra) >= 48
    many = colour.MultiSpectralDistributions(spectra.T, wavelengths_nm)
    one = colour.SpectralDistribution(spectra[3], wavelengths_nm)
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        expected = colour.msds_to_XYZ(many, matching, lamp)
        single = colour.sd_to_XYZ(one, matching, lamp)
    assert np.abs(xyz(spectra, light, observer) - expected).max() <= 1e-9
    assert np.abs(xyz(spectra[3], light, observer) - single).max() <= 1e-9
    neutral = colour.XYZ_to_xy(white(light, observer))
    expected_lab = colour.XYZ_to_Lab(expected / 100, neutral)
    assert np.abs(lab(spectra, light, observer) - expected_lab).max() <= 1e-9


def test_perfect_white_and_black_under_every_light() -> None:
    for light in light_names():
        for observer in (2, 10):
            assert lab(np.ones(36), light, observer) == pytest.approx((100, 0, 0), abs=1e-9)
            assert lab(np.zeros(36), light, observer) == pytest.approx((0, 0, 0), abs=1e-9)
            assert white(light, observer)[1] == pytest.approx(100, abs=1e-9)


def test_lab_and_xyz_are_inverses_down_to_black() -> None:
    values = RNG.uniform(0, 100, (500, 3)) ** 2 / 100
    assert np.abs(xyz_from_lab(lab_from_xyz(values, "A", 2), "A", 2) - values).max() <= 1e-9


def test_ciede2000_equals_the_library_over_random_pairs() -> None:
    import colour

    first = RNG.uniform((0, -110, -110), (100, 110, 110), (20000, 3))
    second = first + RNG.normal(0, 1, first.shape) * 10 ** RNG.uniform(-3, 2, (20000, 1))
    assert np.abs(delta_e(first, second) - colour.delta_E(first, second)).max() <= 1e-9


def test_difference_broadcasts_and_is_zero_only_for_equals() -> None:
    several = RNG.uniform((0, -80, -80), (100, 80, 80), (7, 3))
    table = delta_e(several[:, None], several[None])
    assert table.shape == (7, 7)
    assert np.all(np.diag(table) == 0)
    assert np.allclose(table, table.T, atol=1e-12)
    assert table[~np.eye(7, dtype=bool)].min() > 1
    assert f"{delta_e(several[0], several[1]):.2f}"


def test_metamers_part_under_another_light_and_equals_do_not() -> None:
    first = 0.3 + 0.1 * np.sin(wavelengths_nm / 40)
    matrix = weights("D65", 10)
    bump = np.cos(wavelengths_nm / 15)
    black = bump - matrix @ np.linalg.lstsq(matrix, bump, rcond=None)[0]
    second = first + 0.1 * black / np.abs(black).max()
    assert delta_e(lab(first), lab(second)) < 1e-6
    drift = delta_e(lab(first, "A"), lab(second, "A"))
    # equal under the reference light, so nothing is corrected and the index is the plain drift
    assert metamerism_index(first, second, "A") == pytest.approx(drift, abs=1e-6)
    assert drift > 0.5
    assert metamerism_index(first, first, "FL11") == 0


def test_otsu_spectrum_meets_its_colour_and_is_close_to_real_ones() -> None:
    spectra = real_spectra()[:24]
    found = np.array([otsu_reflectance(xyz(spectrum)) for spectrum in spectra])
    assert np.abs(found @ weights() - spectra @ weights()).max() < 1e-9
    assert np.sqrt(((found - spectra) ** 2).mean()) < 0.06


def test_screen_colours_go_round() -> None:
    rgb = RNG.uniform(0, 1, (200, 3))
    assert np.abs(srgb_from_xyz(xyz_from_srgb(rgb)) - rgb).max() < 1e-9
    assert hex_from_srgb(srgb_from_hex("#7a9B3c")) == "#7a9b3c"
    assert lab_from_xyz(xyz_from_srgb((1.0, 1.0, 1.0)), "D65", 2)[0] == pytest.approx(100, abs=1e-6)


def test_gamut_is_announced() -> None:
    import colour

    cyan = np.where(wavelengths_nm < 560, 0.9, 0.02)
    raw = srgb_from_xyz(xyz(cyan, "D65", 2))
    assert raw[0] < 0 and not in_gamut(raw)
    assert srgb_from_lab(lab(cyan))[0] == 0
    assert in_gamut(srgb_from_xyz(white("D65", 2)))
    plain = np.full(36, 0.4)
    library = colour.XYZ_to_sRGB(xyz(plain, "D65", 2) / 100)
    # the library uses its own rounded matrix
    assert np.abs(srgb_from_lab(lab(plain)) - library).max() < 1e-4


def test_a_colour_is_shown_the_same_wherever_it_comes_from() -> None:
    """Reference: colour-science integrates measured spectra for 2 degree, the eye of sRGB."""
    import colour

    far, careless = [], []
    for spectrum in real_spectra():
        shown = srgb_from_lab(lab(spectrum))
        if shown.min() > 0 and shown.max() < 1:
            true = colour.XYZ_to_Lab(xyz(spectrum, "D65", 2) / 100)
            back = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(shown))
            far.append(float(delta_e(true, back)))
            careless.append(float(delta_e(true, lab(spectrum))))
    assert len(far) > 20
    # two spectra of one colour for 10 degree part for 2 degree, so a little is left
    assert np.median(far) < 0.6 and np.quantile(far, 0.95) < 2.6
    assert np.median(far) < 0.5 * np.median(careless)


def test_a_screen_colour_comes_back_from_its_ten_degree_lab() -> None:
    for text in ("#8f9a58", "#7a9b3c", "#e6e0d2", "#402010", "#ffffff", "#000000", "#3060a0"):
        again = srgb_from_hex(hex_from_lab(lab_of_screen_colour(srgb_from_hex(text))))
        assert np.abs(again - srgb_from_hex(text)).max() * 255 <= 1.5
        for light, observer in (("A", 10), ("D50", 2)):
            grey = hex_from_lab((60.0, 0.0, 0.0), light, observer)
            assert grey == hex_from_lab((60.0, 0.0, 0.0))


def test_the_tables_that_are_kept_are_those_of_the_library() -> None:
    """Weighting factors and the basis of usual spectra; written anew by the script if not."""
    kept, fresh = json.loads(colorimetry.TABLES.read_text(encoding="utf-8")), library_tables()
    assert kept.keys() == fresh.keys() and kept["weights"].keys() == fresh["weights"].keys()
    for name in ("basis", "means", "tree"):
        assert np.abs(np.array(kept[name]) - np.array(fresh[name])).max() <= 1e-12, name
    for name, rows in fresh["weights"].items():
        assert np.abs(np.array(kept["weights"][name]) - np.array(rows)).max() <= 1e-12, name
    from colour.recovery.otsu2018 import DATASET_REFERENCE_OTSU2018

    for xy in RNG.uniform(0.05, 0.65, (300, 2)):
        basis, mean = DATASET_REFERENCE_OTSU2018.cluster(xy)
        ours = colorimetry._usual_spectra(xy)
        assert np.array_equal(ours[0], basis) and np.array_equal(ours[1], mean)


def test_weights_are_read_only() -> None:
    with pytest.raises(ValueError, match="read-only"):
        weights("FL11", 2)[0, 0] = 1.0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: weights("moon"), "light must be one of D65"),
        (lambda: weights(["D65"]), "light must be one of"),
        (lambda: weights("D65", 5), "observer must be 2 or 10 degree; got 5"),
        (lambda: weights("D65", "10"), "observer must be a finite number"),
        (lambda: lab(np.ones(35)), "reflectance must be an array with 36"),
        (lambda: lab([0.5] * 35 + [float("nan")]), "reflectance must be finite and from 0"),
        (lambda: lab(["0.5"] * 36), "reflectance must be an array of numbers"),
        (lambda: lab(None), "reflectance must be an array of numbers"),
        (lambda: delta_e((50, 0, 0), (50, 0)), "lab2 must be an array with 3"),
        (
            lambda: delta_e(np.ones((4, 3)), np.ones((5, 3))),
            "lab1 and lab2 must be of shapes that fit",
        ),
        (lambda: delta_e((50, 0, 1j), (50, 0, 0)), "lab1 must be an array of numbers"),
        (lambda: delta_e((50, 0, float("inf")), (50, 0, 0)), "lab1 must be finite"),
        (lambda: otsu_reflectance((0, 0, 0)), "xyz must be a colour with light in it"),
        (lambda: srgb_from_hex("#12345"), "colour must be six hexadecimal digits"),
        (lambda: hex_from_srgb((1.2, 0, 0)), "rgb must be finite and from 0 to 1"),
        (lambda: metamerism_index(np.ones((2, 36)), np.ones(36)), "standard must be one spectrum"),
        (lambda: metamerism_index_from_lab(*[np.zeros(3)] * 4, "multiplicative"), "without a zero"),
        (lambda: metamerism_index(np.ones(36), np.ones(36), "A1"), "light must be one of"),
    ],
)
def test_refusals(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()  # type: ignore[operator]
