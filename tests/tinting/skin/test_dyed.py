"""The dyed skin: its limits, what it may never do, and the formula by a second route."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from data.rules import Caution
from tests.tinting.two_flux import (
    absorption_ratio,
    finite_layer,
    internal_reflectance,
    layer_transmittance,
    measured_reflectance,
    stacked_reflectance,
    thick_reflectance,
)
from tinting.colour.colorimetry import delta_e, lab
from tinting.colour.grid import Array, wavelengths_nm
from tinting.skin.dyed import dyed_reflectance, skin_reflectance, tint
from tinting.skin.inputs import Base, Dye
from tinting.skin.layer import reflectance_inside
from tinting.skin.uptake import dye_load, dye_uptake, skin_absorption, uptake

SPECTRUM = 0.75 + 0.1 * np.tanh((wavelengths_nm - 450) / 60)


def base(thickness: float = 0.4, specular: float = 0.0175, spectrum: Array = SPECTRUM) -> Base:
    return Base(reflectance=spectrum, scattering_thickness=thickness, specular=specular)


def dye(centre: float, strength: float = 8.0, **more: float) -> Dye:
    bell = strength * np.exp(-(((wavelengths_nm - centre) / 50) ** 2))
    return Dye(name=f"dye {centre:g}", absorptivity=bell, **more)


@pytest.mark.parametrize("thickness", [1e-6, 0.1, 0.5, 1.5, 1e4])
@pytest.mark.parametrize("specular", [0.0, 0.0175, 0.04])
def test_no_dye_is_the_base_to_the_last_bit(thickness: float, specular: float) -> None:
    bare = base(thickness, specular)
    assert np.array_equal(dyed_reflectance(np.zeros(36), bare), bare.reflectance)
    for mix, coats in (((), 3), (((dye(600), 0.3),), 0), (((dye(600), 0.0),), 5)):
        shown = tint(bare, mix, coats)
        assert np.array_equal(shown.reflectance, bare.reflectance)
        assert np.array_equal(shown.lab(), lab(bare.reflectance))


def test_equals_the_layer_formula_and_the_integrated_equation() -> None:
    from scipy.integrate import solve_ivp

    rng = np.random.default_rng(5)
    for _ in range(20):
        tau, absorbed, read = np.exp(rng.uniform(-3, 2)), np.exp(rng.uniform(-3, 1)), 0.0
        read = rng.uniform(0.2, 0.95)
        r = float(internal_reflectance(read, 0.0175))
        k = float(absorption_ratio(r)) * tau + absorbed
        by_layer = finite_layer(k, tau, 1.0, r)
        rise = solve_ivp(
            lambda _, now, s=tau, q=k: s - 2 * (q + s) * now + s * now**2,
            (0.0, 1.0), [r], rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        assert rise.y[0, -1] == pytest.approx(by_layer, abs=1e-8)
        found = skin_reflectance(np.array(absorbed), np.array(read), tau, 0.0175)
        assert found == pytest.approx(measured_reflectance(by_layer, 0.0175), abs=1e-12)


def test_limit_of_no_scattering_is_the_double_pass() -> None:
    bare, absorbed = base(1e-6), np.linspace(0, 2, 36)
    r = internal_reflectance(bare.reflectance, bare.specular)
    expected = measured_reflectance(r * np.exp(-2 * absorbed), bare.specular)
    assert dyed_reflectance(absorbed, bare) == pytest.approx(expected, abs=1e-5)


def test_limit_of_deep_scattering_adds_the_ratios() -> None:
    bare = base(1e4)
    added = np.linspace(0, 3, 36)
    r = internal_reflectance(bare.reflectance, bare.specular)
    body = thick_reflectance(absorption_ratio(r) + added)
    expected = measured_reflectance(body, bare.specular)
    assert dyed_reflectance(added * 1e4, bare) == pytest.approx(expected, abs=1e-6)


def test_full_absorption_leaves_the_surface_reflection() -> None:
    for thickness in (1e-6, 0.5):
        assert dyed_reflectance(np.full(36, 1e6), base(thickness)) == pytest.approx(
            0.0175, abs=1e-5
        )


def test_reading_falls_steadily_and_never_leaves_its_bounds() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for specular in (0.0, 0.0175, 0.04):
            for level in (specular + 1e-15, specular + 1e-6, 0.3, 0.96, 0.99, 1.0):
                bare = base(0.4, specular, np.full(36, max(level, 1e-300)))
                for thickness in (1e-6, 0.1, 1.5, 1e4):
                    steps = np.concatenate([[0.0], np.logspace(-12, 9, 400)])[:, None]
                    shown = skin_reflectance(steps, bare.reflectance, thickness, specular)
                    assert np.isfinite(shown).all()
                    assert (np.diff(shown, axis=0) <= 1e-15).all()
                    assert (shown <= bare.reflectance).all() and (shown >= specular).all()


@pytest.mark.parametrize("kind", ["translucent", "opaque", "unknown"])
def test_dye_never_makes_a_part_lighter(kind: str) -> None:
    """Common practice: a tint only takes light away, in every band, for any mix and coats."""
    thickness = {"translucent": 0.1, "opaque": 1.5, "unknown": 0.5}[kind]
    bare, shares = base(thickness), ((dye(450), 0.1), (dye(620), 0.4), (dye(540), 0.02))
    for coats in range(0, 51, 5):
        shown = tint(bare, shares, coats).reflectance
        assert (shown <= bare.reflectance).all()
    one = [tint(bare, ((dye(600), share),), 3).reflectance for share in np.linspace(0, 1, 30)]
    assert (np.diff(one, axis=0) <= 0).all()
    more = [tint(bare, ((dye(600), 0.1),), coats).reflectance for coats in range(51)]
    assert (np.diff(more, axis=0) <= 0).all()


def test_load_without_loss_and_with_nearly_none() -> None:
    assert dye_load(0.1, 3, 0.0) == pytest.approx(0.3, abs=1e-15)
    assert dye_load(0.1, 3, 1e-9) == pytest.approx(0.3, rel=1e-8)
    assert dye_load(1.0, 50, 0.999) == pytest.approx(1 / 0.999, rel=1e-9)
    summed = sum(0.2 * (1 - 0.3) ** step for step in range(4))
    assert dye_load(0.2, 4, 0.3) == pytest.approx(summed, rel=1e-12)


def test_uptake_is_joint_and_bounded() -> None:
    alone = uptake([1.0], [2.0])[0]
    beside = uptake([1.0, 1.0], [2.0, 4.0])
    assert alone == pytest.approx(1 / 1.5)
    assert beside == pytest.approx([1 / 1.75, 1 / 1.75])
    assert uptake([1.0, 0.5], [np.inf, np.inf]) == pytest.approx([1.0, 0.5])
    assert uptake([1e6], [2.0])[0] == pytest.approx(2.0, rel=1e-5)


def test_many_mixes_at_once_equal_single_tints() -> None:
    dyes = [dye(450, saturation=1.0), dye(550, coat_loss=0.3), dye(630, saturation=np.inf)]
    rng = np.random.default_rng(3)
    shares, coats = rng.dirichlet((1, 1, 1, 3), 40)[:, :3], rng.integers(0, 6, 40)
    bare = base()
    together = dyed_reflectance(skin_absorption(shares, coats, dyes), bare)
    for row, number, shown in zip(shares, coats, together, strict=True):
        single = tint(bare, list(zip(dyes, row.tolist(), strict=True)), int(number))
        assert np.abs(single.reflectance - shown).max() < 1e-14
    assert dye_uptake(shares, 2, dyes).shape == (40, 3)


def test_same_dye_twice_is_its_sum() -> None:
    twice = tint(base(), ((dye(500), 0.1), (dye(500), 0.2)), 2)
    once = tint(base(), ((dye(500), 0.3),), 2)
    assert twice.reflectance == pytest.approx(once.reflectance, abs=1e-14)


def test_tint_tells_its_colours_and_cautions() -> None:
    bare = base()
    guessed = Dye(
        name="reed", absorptivity=dye(440).absorptivity, second_absorptivity=dye(450).absorptivity
    )
    shown = tint(bare, ((guessed, 0.5),), 7)
    assert shown.hex == "#" + "".join(f"{round(part * 255):02x}" for part in shown.srgb)
    assert all(0 <= part <= 1 for part in shown.srgb)
    away = float(delta_e(shown.lab(), lab(shown.second_reflectance)))
    # 1.2 beside the second opinion holds 80 % of measured paints
    assert away > 0.1 and shown.spread() == pytest.approx((away**2 + 1.2**2) ** 0.5)
    assert {"estimate", "coats", "saturation", "base kind"} <= {note.key for note in shown.cautions}
    assert all(isinstance(note, Caution) and note.text for note in shown.cautions)
    known = Dye(name="known", absorptivity=dye(440).absorptivity, covariance=np.zeros((2, 2)))
    quiet = tint(
        Base(reflectance=SPECTRUM, scattering_thickness=1.5, kind="opaque"), ((known, 0.01),), 1
    )
    assert quiet.cautions == () and quiet.spread() == 0
    with pytest.raises(ValueError, match="read-only"):
        shown.reflectance[0] = 0.0


def test_reading_above_an_ideal_white_is_said_and_still_falls() -> None:
    white = Base(reflectance=np.full(36, 0.995), scattering_thickness=1.5, kind="opaque")
    assert reflectance_inside(white.reflectance, white.specular) == pytest.approx(1.0)
    shown = tint(white, ((dye(500), 0.1),), 2)
    assert "base too light" in {note.key for note in shown.cautions}
    assert (shown.reflectance < 0.995).all()


@pytest.mark.parametrize(
    ("mix", "coats", "says"),
    [
        (None, 1, "mix must be a sequence"),
        ([(dye(500), 0.5, 1)], 1, "each part of the mix must be a"),
        ([("red", 0.5)], 1, "each part of the mix must be a"),
        ([(dye(500), -0.1)], 1, "share of dye 500 must be a finite number at least 0"),
        ([(dye(500), float("nan"))], 1, "share of dye 500 must be"),
        ([(dye(500), 0.6), (dye(600), 0.6)], 1, "shares of the mix must be at most 1 together"),
        ([(dye(500), 0.5)], 51, "coats must be a finite number at least 0 and at most 50"),
        ([(dye(500), 0.5)], 1.5, "coats must be a whole number"),
        ("ab", 1, "each part of the mix must be a"),
    ],
)
def test_refusals(mix: object, coats: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        tint(base(), mix, coats)  # type: ignore[arg-type]


def test_refusals_of_the_parts() -> None:
    with pytest.raises(ValueError, match="base must be a Base"):
        tint("base", (), 1)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="saturations must be"):
        uptake([1.0], [0.0])
    with pytest.raises(ValueError, match="saturations must be one for each"):
        uptake([1.0, 2.0], [1.0])
    with pytest.raises(ValueError, match="dyes must be at least one"):
        dye_uptake([[0.1]], 1, [])
    with pytest.raises(ValueError, match="shapes that fit each other"):
        dye_load([0.1, 0.2], [1, 2, 3], 0.1)
    with pytest.raises(ValueError, match="absorption must be finite and from 0"):
        dyed_reflectance(np.full(36, -0.1), base())


def test_layers_stack_for_any_split() -> None:
    for part in (0.1, 0.5, 0.9):
        lower = finite_layer(0.7, 2.0, part, 0.6)
        upper = finite_layer(0.7, 2.0, 1 - part, 0.0)
        stacked = stacked_reflectance(upper, layer_transmittance(0.7, 2.0, 1 - part), lower)
        assert stacked == pytest.approx(finite_layer(0.7, 2.0, 1.0, 0.6), abs=1e-12)
