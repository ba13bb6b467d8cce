"""Recipes for a colour: against brute force, round trips, what is out of reach and why."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest

from tinting.colour.colorimetry import delta_e, lab, lab_from_xyz
from tinting.colour.grid import wavelengths_nm
from tinting.colour.screen import srgb_from_hex
from tinting.colour.spectrum import lab_of_screen_colour
from tinting.learn.band import estimate_band
from tinting.mix.batch import volume_for_area
from tinting.recipe.bound import squared_bound
from tinting.recipe.exact import recipe_count
from tinting.recipe.model import Question
from tinting.recipe.search import find_recipes
from tinting.skin.dyed import tint
from tinting.skin.inputs import Base, Dye, Hand, base_from_lab

BATCH, DROP = 1e-5, 3.2e-8


def dye(name: str, *bands: tuple[float, float, float], **extra: float) -> Dye:
    """A dye of bands (middle nm, width nm, height)."""
    absorptivity = np.full(wavelengths_nm.size, 0.3)
    for middle, width, height in bands:
        absorptivity += height * np.exp(-(((wavelengths_nm - middle) / width) ** 2) / 2)
    return Dye(name=name, absorptivity=absorptivity, **extra)


YELLOW = dye("yellow", (430, 30, 30))
RED = dye("red", (520, 35, 40), (410, 30, 6), coat_loss=0.2)
BLUE = dye("blue", (620, 45, 35), saturation=1.0)
GREY = dye("grey", (450, 80, 15), (600, 90, 16), saturation=np.inf)
SEALING = dye("sealing", (520, 40, 30), coat_loss=0.5)
BASE = Base(
    reflectance=0.8 - 0.15 / (1 + np.exp((wavelengths_nm - 430) / 25)),
    scattering_thickness=0.1,
    kind="translucent",
)


def many_dyes(number: int = 12) -> list[Dye]:
    rng = np.random.default_rng(3)
    return [
        dye(
            f"dye {i}",
            *[
                (rng.uniform(410, 690), rng.uniform(30, 60), rng.uniform(8, 50))
                for _ in range(rng.integers(1, 3))
            ],
            coat_loss=rng.uniform(0.03, 0.25),
            saturation=rng.uniform(1, 4),
        )
        for i in range(number)
    ]


DYES = many_dyes()


def colour_of(mix: list[tuple[Dye, int]], coats: int, light: str = "D65") -> Any:
    return tint(BASE, [(each, drops * DROP / BATCH) for each, drops in mix], coats).lab(light)


def random_recipe(rng: np.random.Generator) -> tuple[list[tuple[Dye, int]], int]:
    chosen = rng.choice(len(DYES), size=rng.integers(1, 4), replace=False)
    return [(DYES[i], int(rng.integers(1, 21))) for i in chosen], int(rng.integers(1, 6))


def every_recipe(dyes: list[Dye], drops: int, coats: int, together: int) -> list[Any]:
    return [
        (list(zip(chosen, counted, strict=True)), number)
        for size in range(1, together + 1)
        for chosen in combinations(dyes, size)
        for counted in product(range(1, drops + 1), repeat=size)
        for number in range(1, coats + 1)
    ]


def library_differences(spectra: Any, target: Any, light: str) -> Any:
    """CIEDE2000 of spectra from a target, every step by the library's own calls."""
    import colour

    grid = colour.MultiSpectralDistributions(np.transpose(spectra), wavelengths_nm)
    ones = colour.SpectralDistribution(np.ones(wavelengths_nm.size), wavelengths_nm)
    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy()
    sd = colour.SDS_ILLUMINANTS[light].copy()
    # it says each time that it brings them to one grid, which is wanted
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        white = colour.sd_to_XYZ(ones, cmfs, sd) / 100
        found = colour.msds_to_XYZ(grid, cmfs=cmfs, illuminant=sd) / 100
    labs = colour.XYZ_to_Lab(found, colour.XYZ_to_xy(white))
    return colour.difference.delta_E_CIE2000(labs, np.asarray(target))


def layer_by_cosh(mix: list[tuple[Dye, int]], coats: int) -> Any:
    """The reading of a mix by the published form of the layer, with cosh and sinh."""
    loads = []
    for each, drops in mix:
        kept = 1 - each.coat_loss
        loads.append(drops * DROP / BATCH * sum(kept**n for n in range(coats)))
    crowd = 1 + sum(x / each.saturation for x, (each, _) in zip(loads, mix, strict=True))
    taken = sum(x * each.absorptivity for x, (each, _) in zip(loads, mix, strict=True)) / crowd
    read = BASE.reflectance - BASE.specular
    r = read / (0.96 * 0.40 + 0.60 * read)
    tau = BASE.scattering_thickness
    a = 1 + (1 - r) ** 2 / (2 * r) + taken / tau
    b = np.sqrt(a**2 - 1)
    c = np.cosh(b * tau) / np.sinh(b * tau)
    layer = (1 - r * (a - b * c)) / (a - r + b * c)
    return BASE.specular + 0.96 * 0.40 * layer / (1 - 0.60 * layer)


@pytest.mark.parametrize(
    ("target", "lights"),
    [
        ((60.0, 25.0, 30.0), ("D65",)),
        ((45.0, -8.0, -12.0), ("A", "FL11")),
        ((20.0, 60.0, -60.0), ("D65",)),
        ((97.0, -20.0, 40.0), ("D65",)),
    ],
)
def test_exact_equals_brute_force_by_the_library(
    target: tuple[float, float, float], lights: tuple[str, ...]
) -> None:
    recipes = every_recipe([YELLOW, RED, BLUE, GREY], drops=4, coats=2, together=3)
    spectra = [BASE.reflectance, *(layer_by_cosh(*recipe) for recipe in recipes)]
    targets = {light: np.array(target) for light in lights}
    worst = np.max([library_differences(spectra, targets[s], s) for s in lights], axis=0)
    found = find_recipes(
        BASE, [YELLOW, RED, BLUE, GREY], targets, lights, max_drops=4, max_coats=2, exact=True
    )
    assert found.gap == pytest.approx(worst.min(), abs=1e-4)  # their matrix and ours
    best = int(worst.argmin())
    named = {} if best == 0 else {each.name: n for each, n in recipes[best - 1][0]}
    assert dict(found.nearest.drops) == named
    assert found.nearest.coats == (0 if best == 0 else recipes[best - 1][1])
    assert (found.reach == "within reach") == (worst.min() <= 1)


def test_every_number_of_the_nine_million_is_counted() -> None:
    """12 dyes up to 3, 20 drops, 5 coats: (12·20 + 66·20² + 220·20³)·5."""
    question = Question(
        base=BASE, dyes=tuple(DYES), targets=np.zeros((1, 3)), lights=("D65",), observer=10,
        batch_volume=BATCH, drop_volume=DROP, max_dyes=3, max_drops=20, max_coats=5,
    )  # fmt: skip
    assert recipe_count(question) == 8_933_200
    assert len(question.combinations) == 298


def test_the_full_search_finds_a_hidden_recipe_and_is_never_worse_than_live() -> None:
    hidden = [(DYES[2], 7), (DYES[5], 13), (DYES[9], 4)]
    target = colour_of(hidden, 3) + np.array([0.2, -0.3, 0.2])
    shares: list[float] = []
    exact = find_recipes(BASE, DYES, target, exact=True, progress=shares.append)
    assert exact.gap <= float(delta_e(colour_of(hidden, 3), target)) + 1e-9
    assert exact.gap <= find_recipes(BASE, DYES, target).gap + 1e-9
    assert exact.reach == "within reach" and exact.reason == ""
    assert shares == sorted(shares) and shares[-1] == 1 and len(shares) > 5


def test_reachable_targets_are_found_live() -> None:
    rng = np.random.default_rng(8)
    gaps = []
    for _ in range(100):
        target = colour_of(*random_recipe(rng)) + rng.normal(size=3) * 0.1
        found = find_recipes(BASE, DYES, target)
        assert not found.exact and found.reach in ("within reach", "not decided")
        gaps.append(found.gap)
    assert np.mean(np.array(gaps) <= 1.0) >= 0.99
    assert np.median(gaps) <= 0.2


def test_live_is_near_exact() -> None:
    rng = np.random.default_rng(9)
    gaps = []
    for _ in range(12):
        target = colour_of(*random_recipe(rng)) + rng.normal(size=3)
        limits = {"max_drops": 8, "max_coats": 3}
        exact = find_recipes(BASE, DYES, target, exact=True, **limits)
        gaps.append(find_recipes(BASE, DYES, target, **limits).gap - exact.gap)
    assert min(gaps) >= -1e-9 and np.median(gaps) < 0.02 and max(gaps) < 0.5


def test_several_lights_are_judged_by_the_worst() -> None:
    rng = np.random.default_rng(4)
    gains = []
    for _ in range(6):
        mix, coats = random_recipe(rng)
        targets = {light: colour_of(mix, coats, light) + 0.5 for light in ("D65", "A")}
        both = find_recipes(BASE, DYES, targets, ("D65", "A")).nearest
        day = find_recipes(BASE, DYES, targets["D65"]).nearest
        under_a = float(delta_e(day.tint.lab("A"), targets["A"]))
        assert set(both.delta_e) == {"D65", "A"}
        assert both.worst == max(both.delta_e.values())
        gains.append(max(day.worst, under_a) - both.worst)
    assert min(gains) > -0.05 and max(gains) > 0.2


def test_one_target_is_carried_to_other_lights_by_a_smooth_spectrum() -> None:
    base = base_from_lab((85, 0, 5), "opaque")
    found = find_recipes(base, [YELLOW, RED], (85, 0, 5), ("D65", "A", "FL2"))
    assert found[0].text == "no dye" and found[0].worst < 0.01
    with pytest.raises(ValueError, match=r"^target lab must be a colour that a surface can have"):
        find_recipes(base, [YELLOW], (85, 150, -150), ("D65", "A"))


def test_a_screen_colour_is_a_target_as_its_cielab_is() -> None:
    by_text = find_recipes(BASE, [RED], "#8f9a58")
    by_lab = find_recipes(BASE, [RED], lab_of_screen_colour(srgb_from_hex("#8f9a58")))
    assert by_text.recipes[0].worst == by_lab.recipes[0].worst


def test_no_dye_is_a_recipe() -> None:
    """Reference: target equal to the base is reached by no dye, CIEDE2000 0."""
    base = base_from_lab((88, -1, 6), "opaque")
    for exact in (False, True):
        found = find_recipes(
            base, [YELLOW, RED, BLUE], lab(base.reflectance), exact=exact, max_drops=5
        )
        assert found.reach == "within reach" and found[0].text == found[0].parts == "no dye"
        assert found[0].worst == pytest.approx(0, abs=1e-9) and found[0].coats == 0
        assert not found[0].drops and found[0].alcohol_volume == 0 and found[0].sensitivity == 0


def test_lighter_than_the_base_is_out_of_reach() -> None:
    """Reference: base (88, -1, 6), target (92, 0, 4)."""
    base = base_from_lab((88, -1, 6), "opaque")
    live = find_recipes(base, [YELLOW, RED, BLUE], (92, 0, 4))
    assert live.reach == "not decided" and live.reason == ""
    found = find_recipes(base, [YELLOW, RED, BLUE], (92, 0, 4), exact=True)
    assert found.reach == "out of reach" and found.reason == "lighter"
    assert found[0].text == "no dye"
    assert found.gap == pytest.approx(float(delta_e((88, -1, 6), (92, 0, 4))), abs=1e-6)
    assert f"{found.gap:.1f} ΔE00" in found.reason_text


def test_above_the_base_in_z_alone_is_out_of_reach() -> None:
    """Reference: base XYZ (70, 74, 60), target XYZ (40, 36, 65)."""
    base = base_from_lab(lab_from_xyz([70, 74, 60]), "opaque")
    found = find_recipes(base, DYES[:4], lab_from_xyz([40, 36, 65]), exact=True)
    assert found.reach == "out of reach" and found.reason == "lighter"
    assert "Z (bluer" in found.reason_text
    assert "X (" not in found.reason_text and "Y (" not in found.reason_text


@pytest.mark.parametrize(
    ("reason", "dyes", "mix", "coats", "limits"),
    [
        ("coats", [GREY], [(GREY, 18)], 4, {"max_coats": 1, "max_drops": 20}),
        ("strength", [SEALING], [(SEALING, 60)], 1, {"max_drops": 20}),
        ("dyes", [YELLOW, BLUE], [(YELLOW, 8), (BLUE, 10)], 3, {"max_dyes": 1}),
        ("hue", [YELLOW, RED], [(BLUE, 10)], 3, {}),
    ],
)
def test_the_binding_reason(
    reason: str, dyes: list[Dye], mix: list[tuple[Dye, int]], coats: int, limits: dict[str, int]
) -> None:
    found = find_recipes(BASE, dyes, colour_of(mix, coats), exact=True, **limits)
    assert (found.reach, found.reason) == ("out of reach", reason)
    assert found.gap > 1 and found.reason_text.endswith(".")
    if reason != "hue":
        # the mix that the target was made from is within the limit's lifting
        assert found.left[reason] < 0.3
    # a limit less never leaves more, and the smaller of two never leaves less than both
    for pair in (key.split(" and ") for key in found.left if " and " in key):
        both = found.left[" and ".join(pair)]
        assert both <= min(found.left[key] for key in pair) + 0.1 <= found.gap + 0.1


def test_two_limits_together() -> None:
    """Each coat lays down half of the one before, so ten of 160 drops are 320 at once: one coat
    holds 166, and any number of coats of 75 no more than 150."""
    band = 0.3 * dye("pale", (520, 40, 1.2)).absorptivity
    pale = Dye(name="pale", absorptivity=band, saturation=np.inf, coat_loss=0.5)
    drop = 6e-8
    target = tint(BASE, [(pale, 160 * drop / BATCH)], 10).lab()
    found = find_recipes(
        BASE, [pale], target, exact=True, max_drops=75, max_coats=1, drop_volume=drop
    )
    assert found.reason == "coats and strength"
    assert found.left["coats and strength"] < 0.3 < found.left["strength"]


def test_dyes_that_were_left_out_are_told() -> None:
    target = colour_of([(BLUE, 10)], 3)
    found = find_recipes(BASE, [YELLOW, BLUE], target, exact=True, only=("yellow",))
    assert found.reason == "only" and "left out" in found.reason_text


def test_the_missing_hue_is_named() -> None:
    """A blue like BLUE (620 nm) is what yellow and red lack."""
    found = find_recipes(BASE, [YELLOW, RED], colour_of([(BLUE, 10)], 3), exact=True)
    assert found.reason == "hue" and "A blue dye beside these would leave" in found.reason_text


def test_a_full_skin_is_a_strength_cap() -> None:
    faint = dye("faint", (550, 60, 0.4), saturation=0.5)
    wanted = replace(faint, name="more", absorptivity=20 * faint.absorptivity)
    target = tint(BASE, [(wanted, 0.1)], 3).lab()
    found = find_recipes(BASE, [faint], target, exact=True)
    assert (found.reach, found.reason) == ("out of reach", "strength")
    assert "full" in found.reason_text


def test_recipes_are_distinct_and_ranked() -> None:
    target = colour_of([(DYES[1], 6), (DYES[4], 9)], 2)
    found = find_recipes(BASE, DYES, target, count=20)
    assert found.nearest.worst == found.gap <= min(recipe.worst for recipe in found)
    chosen = [frozenset(recipe.drops) for recipe in found]
    assert len(set(chosen)) == len(chosen) == len(found) > 3
    ranks = [
        (-int(r.probability / 0.05 + 1e-9), r.coats, len(r.drops), r.sensitivity) for r in found
    ]
    assert ranks == sorted(ranks) and found[0].probability > 0.05
    assert max(recipe.worst for recipe in found) <= found.gap + 2
    assert len(find_recipes(BASE, DYES, target, count=2)) == 2


def test_a_recipe_is_whole() -> None:
    target = colour_of([(YELLOW, 2), (BLUE, 9)], 2)
    first = find_recipes(BASE, [YELLOW, RED, BLUE], target, exact=True).nearest
    assert dict(first.drops) == {"yellow": 2, "blue": 9} and first.coats == 2
    assert first.shares["blue"] == pytest.approx(9 * DROP / BATCH)
    assert first.alcohol_volume == pytest.approx(BATCH - 11 * DROP)
    assert first.text == "2 drops yellow + 9 drops blue, alcohol to 10 mL; 2 coats"
    assert first.parts == "1 part yellow + 4.5 parts blue + 151 parts alcohol"
    np.testing.assert_allclose(first.lab["D65"], target, atol=1e-9)
    touch = [
        float(delta_e(colour_of([(YELLOW, 2 + a), (BLUE, 9 + b)], 2), target))
        for a, b in ((1, 0), (0, 1))
    ]
    assert first.sensitivity == pytest.approx(max(touch), abs=1e-9)
    (caution,) = first.cautions
    assert caution.key == "few drops"
    assert "mix 20 mL instead" in caution.text and "1 part dye + 9 parts alcohol" in caution.text


def test_a_batch_holds_no_more_drops_than_fit() -> None:
    dark = colour_of([(RED, 20), (BLUE, 20)], 5)
    for exact in (False, True):
        found = find_recipes(
            BASE, [RED, BLUE, GREY], dark, batch_volume=5.5 * DROP, exact=exact, count=50
        )
        assert all(sum(recipe.drops.values()) <= 5 for recipe in found)
        assert all(recipe.alcohol_volume >= 0 for recipe in found)
    alone = find_recipes(BASE, [RED], dark, batch_volume=DROP)
    assert all(set(recipe.drops.values()) <= {1} for recipe in alone)


def test_the_other_observer() -> None:
    target = tint(BASE, [(BLUE, 0.03)], 2).lab("D65", 2)
    small = find_recipes(BASE, [BLUE], target, observer=2, drop_volume=3e-8).nearest
    assert dict(small.drops) == {"blue": 10} and small.worst < 1e-9


def test_the_bound_is_never_above_the_difference() -> None:
    rng = np.random.default_rng(5)
    for _ in range(200):
        target = rng.uniform((0, -100, -100), (100, 100, 100)) * rng.choice([0.2, 1])
        spread = rng.choice([0.3, 1, 5, 20, 60], size=(2000, 1))
        near = target + rng.normal(size=(2000, 3)) * spread
        near[:, 0] = np.clip(near[:, 0], 0, 100)
        assert (squared_bound(near, target) <= delta_e(near, target) ** 2 + 1e-12).all()


@pytest.mark.parametrize("doubt", [0.0, 0.4])
def test_band_and_probability_are_those_of_the_band_of_a_tint(doubt: float) -> None:
    """Many recipes at once give what `estimate_band` gives for one; a doubtful dye tells on it."""
    second = replace(RED, second_absorptivity=np.roll(RED.absorptivity, 1), missed=0.7)
    dyes = [second, replace(BLUE, strength_spread=doubt), GREY]
    target = colour_of([(RED, 6), (BLUE, 9)], 2)
    for recipe in find_recipes(BASE, dyes, target, max_drops=20):
        band = estimate_band(recipe.tint)
        np.testing.assert_allclose(recipe.band.covariance, band.covariance, atol=1e-9)
        assert recipe.band.radius == pytest.approx(band.radius, abs=1e-9)
        assert recipe.probability == pytest.approx(band.within(2.0, target), abs=1e-9)


def test_a_surer_dye_goes_before_a_nearer_one() -> None:
    """Two dyes alike but for their doubt: one is known ten times as well, and 0.3 dE farther."""
    unsure = replace(BLUE, name="unsure", strength_spread=0.5)
    sure = replace(BLUE, name="sure", strength_spread=0.05, absorptivity=1.01 * BLUE.absorptivity)
    found = find_recipes(BASE, [unsure, sure], colour_of([(BLUE, 12)], 1), max_dyes=1)
    assert set(found.nearest.drops) == {"unsure"} and set(found[0].drops) == {"sure"}
    assert found[0].probability > found.nearest.probability + 0.05


def test_one_coat_of_a_stronger_mix_where_it_is_as_sure() -> None:
    """18 drops in 4 coats lay down 18 (1 - 0.87^4) / 0.13 = 59 drops, which fit in one."""
    target = colour_of([(GREY, 18)], 4)
    own = Hand(spread=0.0)
    first = find_recipes(BASE, [GREY], target, hand=own)[0]
    assert (dict(first.drops), first.coats) == ({"grey": 59}, 1)
    capped = find_recipes(BASE, [GREY], target, max_drops=20, hand=own)[0]
    assert (dict(capped.drops), capped.coats) == ({"grey": 18}, 4)
    # 39 of 312 drops at most
    thin = find_recipes(BASE, [GREY], target, max_share=0.125)[0]
    assert thin.drops["grey"] <= 39 and thin.coats == 2


def test_the_batch_is_what_the_surface_needs() -> None:
    target = colour_of([(RED, 6), (BLUE, 9)], 2)
    for exact in (False, True):
        found = find_recipes(BASE, [RED, BLUE, GREY], target, surface=6e-3, exact=exact, max_dyes=2)
        for recipe in found:
            needed = volume_for_area(6e-3, recipe.coats)
            assert needed <= recipe.batch_volume <= needed + 1e-7
            assert sum(recipe.shares.values()) <= 0.5
            parts = [(each, recipe.shares.get(each.name, 0.0)) for each in (RED, BLUE, GREY)]
            again = tint(BASE, parts, recipe.coats).lab()
            np.testing.assert_allclose(recipe.lab["D65"], again, atol=1e-9)
    wanted = find_recipes(BASE, [RED, BLUE], target, surface=6e-3, batch_volume=BATCH)
    assert {recipe.batch_volume for recipe in wanted} == {BATCH}


def test_only_some_of_the_dyes() -> None:
    found = find_recipes(BASE, [RED, BLUE, GREY], (50, 5, 5), only=("red", "grey"))
    assert all(set(recipe.drops) <= {"red", "grey"} for recipe in found)


def test_nothing_is_changed_in_place() -> None:
    target = np.array([50.0, 10.0, 10.0])
    dyes = [YELLOW, RED]
    find_recipes(BASE, dyes, target, exact=True, max_drops=3)
    assert target.tolist() == [50, 10, 10] and dyes == [YELLOW, RED]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("base", None), ("base", 3), ("dyes", []), ("dyes", None), ("dyes", [RED, 3]),
        ("dyes", [RED, RED]), ("dyes", [RED] * 21), ("dyes", "red"), ("dyes", RED),
        ("target_lab", None), ("target_lab", (50, 0)), ("target_lab", (np.nan, 0, 0)),
        ("target_lab", (np.inf, 0, 0)), ("target_lab", (-5, 0, 0)), ("target_lab", (50, 1e300, 0)),
        ("target_lab", "grey"), ("target_lab", {}), ("target_lab", {"A": (50, 0, 0)}),
        ("target_lab", {"D65": (50, 0)}), ("lights", ()), ("lights", "D65"), ("lights", None),
        ("lights", ("sun",)), ("lights", ("D65", "D65")), ("lights", (3,)), ("lights", ([],)),
        ("batch_volume", 0), ("batch_volume", -1), ("batch_volume", np.nan), ("batch_volume", 10),
        ("batch_volume", 1e-9), ("drop_volume", 0), ("drop_volume", 1), ("drop_volume", "big"),
        ("max_dyes", 0), ("max_dyes", 4), ("max_dyes", 1.5), ("max_drops", 0), ("max_drops", 101),
        ("max_coats", 0), ("max_coats", 21), ("max_coats", None), ("observer", 5),
        ("observer", None), ("exact", 1), ("exact", None), ("progress", 3), ("count", 0),
        ("count", 51), ("fit", 3), ("only", "red"), ("only", ("pink",)), ("only", 3),
        ("max_share", 0), ("max_share", 1.1), ("surface", 0), ("surface", "big"),
    ],
    ids=lambda value: repr(value)[:30],
)  # fmt: skip
def test_bad_arguments_are_refused_by_name(name: str, value: Any) -> None:
    arguments: dict[str, Any] = {"base": BASE, "dyes": [RED], "target_lab": (50, 0, 0), name: value}
    words = {"dyes": "(dyes|each dye)", "lights": "(lights|light)"}.get(name, name)
    with pytest.raises(ValueError, match=rf"^{words.replace('_', ' ')} must be .*; got "):
        find_recipes(**arguments)


def test_too_many_recipes_are_refused_before_the_search() -> None:
    with pytest.raises(ValueError, match=r"^number of recipes must be at most 40 million; got"):
        find_recipes(BASE, DYES, (50, 0, 0), max_drops=100, max_coats=20, exact=True)


def test_strange_bases_and_dyes_give_finite_answers() -> None:
    strong = dye("strong", (550, 300, 1e5))
    clear = Dye(name="clear", absorptivity=np.zeros(wavelengths_nm.size))
    for level, tau in ((1.0, 1e-6), (1.0, 1e4), (0.0176, 0.1), (0.5, 1e-6)):
        base = Base(reflectance=np.full(36, level), scattering_thickness=tau)
        for exact in (False, True):
            found = find_recipes(
                base, [strong, clear, RED], (40, 10, 10), exact=exact, max_drops=4, max_coats=2
            )
            assert np.isfinite([recipe.worst for recipe in found]).all()
            assert np.isfinite([recipe.sensitivity for recipe in found]).all()
