"""Learning dyes: recovery of known dyes, weights, mixtures, bases, spectra, refusals."""

from __future__ import annotations

import dataclasses
import warnings
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tinting.colour.colorimetry import lab, lab_from_xyz, xyz
from tinting.colour.difference import delta_e
from tinting.colour.grid import wavelengths_nm
from tinting.learn.doubts import parameter_cautions
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.learn.prior import prior_rows, usual_parameters
from tinting.skin.absorptivity import dye_from_swatch
from tinting.skin.dyed import tint
from tinting.skin.inputs import Base, Dye, Swatch, base_from_lab

SHADE = np.linspace(0.5, 0.68, 36)
CLEAR = Base(reflectance=SHADE, scattering_thickness=0.1, kind="translucent", name="clear")
WHITE = Base(reflectance=SHADE + 0.15, scattering_thickness=1.5, kind="opaque", name="white")


def band(centre: float, width: float, height: float) -> np.ndarray:
    return height * np.exp(-0.5 * ((wavelengths_nm - centre) / width) ** 2)


RED = Dye(name="red", absorptivity=0.1 + band(530, 38, 3.0), saturation=1.7, coat_loss=0.1)
BLUE = Dye(name="blue", absorptivity=0.05 + band(625, 45, 4.0), saturation=2.5, coat_loss=0.15)
DYES = {"red": RED, "blue": BLUE}
SIX = ((1 / 8, 3), (1 / 2, 5), (1 / 8, 1), (1 / 32, 2), (1.0, 3), (1 / 4, 2))


def painted(
    shares: dict[str, float], coats: int, part: Base = CLEAR, shift: Any = 0.0, **more: Any
) -> Swatch:
    """A swatch that follows the model itself, its reading shifted in CIELAB."""
    shown = tint(part, [(DYES[name], share) for name, share in shares.items()], coats)
    return Swatch(shares=shares, coats=coats, lab=shown.lab() + shift, **{"error": 0.4, **more})


def predicted(fit: DyeFit, shares: dict[str, float], coats: int) -> np.ndarray:
    return tint(fit.base, [(fit.dyes[name], s) for name, s in shares.items()], coats).lab()


def misses(fit: DyeFit, name: str) -> list[float]:
    recipes = [({name: share}, coats) for share in (1 / 20, 1 / 6, 1 / 3) for coats in (1, 2, 4)]
    return [
        float(delta_e(predicted(fit, shares, n), painted(shares, n).lab)) for shares, n in recipes
    ]


def test_tint_gives_what_the_fit_predicts() -> None:
    swatches = [painted({"red": share}, coats) for share, coats in SIX]
    swatches += [painted({"red": 0.1, "blue": 0.2}, 2), painted({"blue": 0.3}, 1)]
    fit = fit_dyes(CLEAR, swatches)
    for swatch, colour in zip(swatches, fit.predicted, strict=True):
        np.testing.assert_allclose(predicted(fit, dict(swatch.shares), swatch.coats), colour)
    expected = [float(delta_e(s.lab, c)) for s, c in zip(swatches, fit.predicted, strict=True)]
    np.testing.assert_allclose(fit.differences, expected)


def test_a_dye_of_the_model_is_found_again() -> None:
    fit = fit_dyes(CLEAR, [painted({"red": share}, coats) for share, coats in SIX])
    assert max(misses(fit, "red")) < 0.6
    assert fit.cautions == ()
    assert fit.dyes["red"].name == "red"
    assert fit.dyes["red"].covariance.shape == (17, 17)


def test_more_swatches_miss_less() -> None:
    found = [
        np.mean(misses(fit_dyes(CLEAR, [painted({"red": s}, n) for s, n in SIX[:count]]), "red"))
        for count in (1, 3, 6)
    ]
    assert found[0] > found[1] > found[2]


def test_one_swatch_says_the_same_as_the_smoothest_dye() -> None:
    swatch = painted({"red": 1 / 8}, 3, error=0.4)
    fit = fit_dyes(CLEAR, [swatch])
    alone = dye_from_swatch(CLEAR, 1 / 8, 3, swatch.lab)
    for share, coats in ((1 / 16, 2), (1 / 8, 3), (1 / 5, 3)):
        other = tint(CLEAR, [(alone, share)], coats).lab()
        assert delta_e(predicted(fit, {"red": share}, coats), other) < 1.0
    assert {caution.key for caution in fit.cautions} == {"one recipe"}


def test_the_order_of_swatches_and_the_names_do_not_matter() -> None:
    swatches = [painted({"red": s}, n) for s, n in SIX] + [painted({"blue": 0.1}, 2)]
    fit, turned = fit_dyes(CLEAR, swatches), fit_dyes(CLEAR, swatches[::-1])
    for recipe in ({"red": 0.2}, {"red": 0.05, "blue": 0.1}):
        # the search ends within a hundredth of a spread
        assert delta_e(predicted(fit, recipe, 2), predicted(turned, recipe, 2)) < 0.1


def test_dyes_that_were_only_seen_mixed() -> None:
    mixes = [(0.2, 0.02), (0.02, 0.2), (0.1, 0.1), (0.05, 0.3), (0.3, 0.05)]
    swatches = [painted({"red": r, "blue": b}, 2) for r, b in mixes]
    fit = fit_dyes(CLEAR, swatches)
    assert {caution.key for caution in fit.cautions} == {"only mixed"}
    wanted = painted({"red": 0.15, "blue": 0.15}, 3).lab
    assert delta_e(predicted(fit, {"red": 0.15, "blue": 0.15}, 3), wanted) < 1.0


@pytest.mark.parametrize("copies", [1, 2, 4])
def test_repeats_count_for_what_they_are_worth(copies: int) -> None:
    # one patch reads 4 lighter than the others of its recipe
    odd = painted({"red": 0.1}, 2, shift=[4.0, 0, 0], error=2.0)
    rest = [painted({"red": 0.1}, 2, error=2.0)] * copies
    pulled = predicted(fit_dyes(CLEAR, [odd, *rest]), {"red": 0.1}, 2)[0] - rest[0].lab[0]
    assert pulled == pytest.approx(4 / (copies + 1), abs=0.35)


def test_a_sure_reading_weighs_more_than_a_doubtful_one() -> None:
    light, dark = [4.0, 0, 0], [0.0, 0, 0]
    target = painted({"red": 0.1}, 2).lab[0]
    pulled = []
    for errors in ((0.4, 4.0), (4.0, 0.4)):
        swatches = [
            painted({"red": 0.1}, 2, shift=shift, error=error)
            for shift, error in zip((light, dark), errors, strict=True)
        ]
        pulled.append(predicted(fit_dyes(CLEAR, swatches), {"red": 0.1}, 2)[0] - target)
    assert pulled[0] > 2.2
    assert pulled[1] < 1.8


def test_the_scattering_thickness_is_refined() -> None:
    # painted on a skin that scatters four times as much as is usual for its kind
    true = dataclasses.replace(CLEAR, scattering_thickness=0.4)
    swatches = [painted({n: s}, c, true) for s, c in SIX for n in ("red", "blue")]
    fit = fit_dyes(CLEAR, swatches)
    assert fit.base.scattering_thickness > 0.15
    assert fit.base.name == "clear"
    assert CLEAR.scattering_thickness == 0.1


def test_another_base_has_a_scale_of_its_own() -> None:
    weaker = {n: dataclasses.replace(d, absorptivity=d.absorptivity * 0.6) for n, d in DYES.items()}
    swatches = [painted({"red": s}, c, base="clear") for s, c in SIX]
    for share, coats in SIX[:3]:
        shown = tint(WHITE, [(weaker["red"], share)], coats).lab()
        swatches.append(Swatch(shares={"red": share}, coats=coats, lab=shown, error=0.4, base="w"))
    fit = fit_dyes({"clear": CLEAR, "w": WHITE}, swatches)
    assert fit.scales["clear"] == 1
    assert 0.4 < fit.scales["w"] < 0.9
    here = tint(fit.bases["w"], [(fit.dyes_on("w")["red"], 1 / 6)], 2).lab()
    assert delta_e(here, tint(WHITE, [(weaker["red"], 1 / 6)], 2).lab()) < 1.0
    np.testing.assert_allclose(
        fit.predicted[6],
        tint(fit.bases["w"], [(fit.dyes_on("w")["red"], SIX[0][0])], SIX[0][1]).lab(),
    )
    assert fit.dyes_on("clear")["red"].absorptivity == pytest.approx(fit.dyes["red"].absorptivity)
    with pytest.raises(ValueError, match="base must be one of clear, w; got 'x'"):
        fit.dyes_on("x")


def test_a_base_without_swatches_learns_from_one_of_its_kind() -> None:
    true = dataclasses.replace(CLEAR, scattering_thickness=0.4)
    swatches = [painted({n: s}, c, true, base="a") for s, c in SIX for n in ("red", "blue")]
    other = dataclasses.replace(WHITE, scattering_thickness=1.5)
    fit = fit_dyes({"a": CLEAR, "b": CLEAR, "c": other}, swatches)
    assert 0.1 < fit.bases["b"].scattering_thickness < fit.bases["a"].scattering_thickness
    assert fit.bases["c"].scattering_thickness == pytest.approx(1.5, rel=0.01)
    assert fit.scales["b"] == pytest.approx(1.0, rel=0.01)


def test_a_spectrum_tells_more_than_its_colour() -> None:
    recipes = SIX[:2]
    by_colour = [painted({"red": s}, c) for s, c in recipes]
    by_spectrum = [
        dataclasses.replace(swatch, reflectance=tint(CLEAR, [(RED, s)], c).reflectance)
        for swatch, (s, c) in zip(by_colour, recipes, strict=True)
    ]
    far = []
    for swatches in (by_colour, by_spectrum):
        fit = fit_dyes(CLEAR, swatches)
        seen = tint(fit.base, [(fit.dyes["red"], 1 / 8)], 3).reflectance
        far.append(np.abs(seen - tint(CLEAR, [(RED, 1 / 8)], 3).reflectance)[3:33].max())
    assert far[1] < 0.03
    assert far[1] < far[0] / 2


@pytest.mark.parametrize("channel", [0, 1, 2])
def test_a_fluorescent_swatch_is_refused_by_its_number(channel: int) -> None:
    bare = xyz(CLEAR.reflectance)
    shining = bare * np.where(np.arange(3) == channel, 1.2, 0.8)
    swatches = [
        painted({"red": 0.1}, 2),
        Swatch(shares={"red": 0.1}, coats=2, lab=lab_from_xyz(shining), error=0.4),
    ]
    with pytest.raises(ValueError, match=f"^{'XYZ'[channel]} of swatch 2 must be .*fluorescent"):
        fit_dyes(CLEAR, swatches)


def test_a_fluorescent_spectrum_is_refused() -> None:
    shining = CLEAR.reflectance + band(530, 20, 0.6) - band(420, 20, 0.3)
    swatch = Swatch(shares={"red": 0.1}, coats=1, lab=[70, 0, 0], error=0.4, reflectance=shining)
    with pytest.raises(ValueError, match="fluorescent"):
        fit_dyes(CLEAR, [swatch])


def test_a_pale_swatch_may_read_a_little_lighter_than_its_base() -> None:
    pale = Swatch(shares={"red": 1e-4}, coats=1, lab=np.add(lab(SHADE), [0.5, 0, 0]), error=0.4)
    fit = fit_dyes(CLEAR, [pale, *[painted({"red": s}, n) for s, n in SIX]])
    assert len(fit.swatches) == 7
    light = Swatch(shares={"red": 1e-4}, coats=1, lab=np.add(lab(SHADE), [4.0, 0, 0]), error=2.0)
    fit = fit_dyes(CLEAR, [light, *[painted({"red": s}, n) for s, n in SIX]])
    assert "lighter than base" in {caution.key for caution in fit.cautions}


def test_what_does_not_fit_in_is_named() -> None:
    swatches = [painted({"red": s}, n) for s, n in SIX]
    swatches[3] = painted({"red": SIX[3][0]}, 2, shift=[-14.0, 0.0, 10.0])
    found = {caution.key: caution.text for caution in fit_dyes(CLEAR, swatches).cautions}
    assert "swatch 4 (" in found["swatch off"]


def test_a_wrong_kind_of_base_is_named() -> None:
    swatches = [painted({n: s}, c, WHITE) for s, c in SIX for n in ("red", "blue")]
    wrong = dataclasses.replace(WHITE, kind="translucent", scattering_thickness=0.1)
    found = {caution.key: caution.text for caution in fit_dyes(wrong, swatches).cautions}
    assert "called translucent" in found["base kind"]


def test_many_coats_are_named() -> None:
    found = fit_dyes(CLEAR, [painted({"red": 0.02}, 9), painted({"red": 0.1}, 2)]).cautions
    assert {caution.key for caution in found} == {"coats"}


def test_a_sure_reading_leaves_less_in_doubt() -> None:
    doubt = [
        np.linalg.slogdet(
            fit_dyes(CLEAR, [painted({"red": s}, n, error=e) for s, n in SIX]).covariance
        )[1]
        for e in (0.4, 2.0, 4.0)
    ]
    assert doubt[0] < doubt[1] < doubt[2]


def test_the_prior_is_proper_and_in_the_middle_where_it_says() -> None:
    fit = fit_dyes({"a": CLEAR, "b": WHITE, "c": CLEAR}, [painted({"red": 0.1}, 2, base="a")])
    bases = [CLEAR, WHITE, CLEAR]
    root, target = prior_rows(fit.layout, bases)
    spread = np.linalg.inv(
        root.T @ root
        + np.diag(
            np.isin(np.arange(fit.layout.size), range(fit.layout.size)[fit.layout.strength]).astype(
                float
            )
        )
    )
    usual = usual_parameters(fit.layout, bases)
    np.testing.assert_allclose(root @ usual, target, atol=1e-9)
    place = fit.layout.thickness.start
    assert np.sqrt(spread[place, place]) == pytest.approx(1.5, abs=0.005)
    alike = spread[place, place + 2] / spread[place, place]
    assert alike == pytest.approx(0.7)
    assert spread[place, place + 1] == pytest.approx(0)
    place = fit.layout.saturation.start
    assert np.sqrt(spread[place, place]) == pytest.approx(0.8, abs=0.01)
    assert usual[place] == pytest.approx(np.log(2))


GOOD = painted({"red": 0.1}, 2)


@pytest.mark.parametrize(
    ("base", "swatches", "message"),
    [
        (None, [GOOD], "base must be a Base or a mapping of name to Base; got 'NoneType'"),
        ({}, [GOOD], "base must be 1 to 12 bases; got 0"),
        ({1: CLEAR}, [GOOD], "base name must be a text; got 1"),
        ({"a": 3}, [GOOD], "base a must be a Base; got 'int'"),
        (CLEAR, [], "swatches must be 1 to 100 swatches; got 0"),
        (CLEAR, None, "swatches must be a sequence of Swatch; got 'NoneType'"),
        (CLEAR, [GOOD, 4], "swatch 2 must be a Swatch; got 'int'"),
        (CLEAR, [GOOD] * 101, "swatches must be 1 to 100 swatches; got 101"),
        (CLEAR, [dataclasses.replace(GOOD, base="x")], "base of swatch 1 must be one of clear"),
        ({"a": CLEAR, "b": WHITE}, [GOOD], "base of swatch 1 must be one of a, b; got ''"),
        (
            CLEAR,
            [dataclasses.replace(GOOD, shares={"red": 0.1, "blue": 0.0})],
            "dye blue must be laid on in at least one swatch",
        ),
        (CLEAR, [dataclasses.replace(GOOD, coats=0)], "dye red must be laid on"),
        (CLEAR, [dataclasses.replace(GOOD, shares={})], "dyes in the swatches must be 1 to 12"),
    ],
)
def test_wrong_arguments_are_refused(base: Any, swatches: Any, message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        fit_dyes(base, swatches)
    assert str(refusal.value).startswith(message)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(data=st.data())
def test_any_swatches_give_a_finite_fit_or_a_refusal(data: Any) -> None:
    kind = data.draw(st.sampled_from(["translucent", "opaque", "unknown"]))
    base = base_from_lab([data.draw(st.floats(30, 95)), data.draw(st.floats(-15, 15)), 5.0], kind)
    swatches = []
    for _ in range(data.draw(st.integers(1, 5))):
        kept = [data.draw(st.floats(1e-4, 1.0)) for _ in range(3)]
        colour = lab_from_xyz(xyz(base.reflectance) * kept)
        swatches.append(
            Swatch(
                shares={data.draw(st.sampled_from(["a", "b"])): data.draw(st.floats(1e-6, 1.0))},
                coats=data.draw(st.integers(1, 50)),
                lab=np.clip(colour, [0, -200, -200], [100, 200, 200]),
                error=data.draw(st.floats(0.01, 20.0)),
            )
        )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            fit = fit_dyes(base, swatches)
        except ValueError as refusal:
            assert " must be " in str(refusal)
            return
    assert np.isfinite(fit.predicted).all() and np.isfinite(fit.covariance).all()
    assert all((dye.absorptivity >= 0).all() for dye in fit.dyes.values())


def test_a_search_that_ran_off_is_told() -> None:
    fit = fit_dyes(CLEAR, [painted({"red": s}, n, error=0.4) for s, n in SIX])
    assert not {"spikes", "thickness bound", "darker than surface"} & keys_of(fit)
    layout, row = fit.layout, fit.parameters.copy()
    assert not parameter_cautions(["red"], fit.bases, row, layout)
    row[layout.shape] = 0.0
    row[layout.shape.start + 6] = 14.0
    row[layout.thickness] = np.log(1e-4)
    told = {caution.key: caution.text for caution in
            parameter_cautions(["red"], fit.bases, row, layout)}  # fmt: skip
    # by hand: second differences of one coefficient of 14 are 14, -28, 14 and nine times 0
    assert f"{np.sqrt((14**2 + 28**2 + 14**2) / 12):.1f} where dyes" in told["spikes"]
    assert "of clear ran to 0.0001" in told["thickness bound"]
    one_band = np.array([0.0, 0, 0, 0, 0.5, 2, 4.5, 4.5, 2, 0.5, 0, 0, 0, 0])
    row[layout.shape], row[layout.thickness] = one_band, np.log(0.1)
    assert not parameter_cautions(["red"], fit.bases, row, layout)


def test_a_swatch_darker_than_its_surface_is_told() -> None:
    """The surface alone, .0175, is L* 14.1: 903.3 times .0089, then 116 (.0175)^(1/3) - 16."""
    swatches = [painted({"red": s}, n, error=0.4) for s, n in SIX[:3]]
    black = Swatch(shares={"red": 1.0}, coats=5, lab=(3.0, 0.0, 0.0), error=0.4)
    fit = fit_dyes(CLEAR, [*swatches, black])
    (told,) = (caution for caution in fit.cautions if caution.key == "darker than surface")
    assert "swatch 4 (L* 3.0 below" in told.text


def keys_of(fit: DyeFit) -> set[str]:
    return {caution.key for caution in fit.cautions}
