"""One swatch gives a dye: the swatch comes back, and what no dye can do is refused."""

from __future__ import annotations

import numpy as np
import pytest

from tinting.colour.colorimetry import delta_e, lab, weights, xyz_from_lab
from tinting.colour.grid import wavelengths_nm
from tinting.skin.absorptivity import absorption_of, dye_from_swatch
from tinting.skin.dyed import dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye, base_from_lab

RNG = np.random.default_rng(21)
BASE_LAB = (90.0, -0.5, 5.0)


def bell(centre: float, width: float, height: float) -> np.ndarray:
    return height * np.exp(-0.5 * ((wavelengths_nm - centre) / width) ** 2)


@pytest.mark.parametrize("kind", ["translucent", "opaque", "unknown"])
@pytest.mark.parametrize("centre", [400, 440, 500, 560, 620, 680])
def test_swatch_comes_back_and_other_loads_are_near(kind: str, centre: float) -> None:
    base = base_from_lab(BASE_LAB, kind)
    true = Dye(name="true", absorptivity=bell(centre, 35, 6) + bell(centre + 60, 45, 1.5) + 0.05)
    for share, coats in ((0.125, 3), (0.5, 1)):
        seen = tint(base, [(true, share)], coats).lab()
        found = dye_from_swatch(base, share, coats, seen, name="found")
        assert found.covariance is None and found.name == "found"
        again = tint(base, [(found, share)], coats)
        assert delta_e(again.lab(), seen) < 0.01
        assert again.spread() == pytest.approx(1.2, abs=1e-4)
        # half and double the load, same light: a band of known sort is met within a few dE
        for other in (share / 2, min(1.0, 2 * share)):
            ahead = tint(base, [(found, other)], coats).lab()
            assert delta_e(ahead, tint(base, [(true, other)], coats).lab()) < 4
        assert 0.02 < tint(base, [(found, share)], coats).spread("A") < 8


def test_under_another_light_and_observer() -> None:
    base = base_from_lab((80.0, 2.0, 10.0), "opaque", light="A", observer=2)
    seen = (55.0, 20.0, 22.0)
    found = dye_from_swatch(base, 0.2, 2, seen, light="A", observer=2)
    assert delta_e(tint(base, [(found, 0.2)], 2).lab("A", 2), seen) < 0.01


def test_saturation_and_loss_only_scale_the_strength() -> None:
    base, seen = base_from_lab(BASE_LAB, "opaque"), (60.0, -20.0, 30.0)
    plain = dye_from_swatch(base, 0.2, 3, seen, saturation=np.inf, coat_loss=0.0)
    usual = dye_from_swatch(base, 0.2, 3, seen)
    assert usual.absorptivity / plain.absorptivity == pytest.approx(
        (0.2 * 3) / (0.2 * 2.6269 / (1 + 0.2 * 2.6269 / 2)), rel=1e-4
    )


def test_accepts_what_absorption_can_reach_and_nothing_else() -> None:
    from scipy.optimize import linprog

    base = base_from_lab((80.0, 5.0, 15.0), "opaque")
    matrix = weights() / 100
    found = {True: 0, False: 0}
    for wanted in RNG.uniform((25, -45, -45), (80, 55, 70), (80, 3)):
        bounds = [(base.specular + 2e-4, high) for high in base.reflectance]
        values = xyz_from_lab(wanted) / 100
        reachable = linprog(np.zeros(36), A_eq=matrix.T, b_eq=values, bounds=bounds).status == 0
        found[reachable] += 1
        if reachable:
            dye = dye_from_swatch(base, 0.3, 2, wanted)
            assert delta_e(tint(base, [(dye, 0.3)], 2).lab(), wanted) < 0.01
        else:
            # refused, or the nearest is told to be off by what it is off
            try:
                dye = dye_from_swatch(base, 0.3, 2, wanted)
            except ValueError as error:
                assert "swatch lab must be" in str(error)
            else:
                away = delta_e(tint(base, [(dye, 0.3)], 2).lab(), wanted)
                assert 0.01 < dye.missed <= 5
                assert dye.missed == pytest.approx(float(away), abs=1e-6)
    assert min(found.values()) > 10


def test_colour_at_the_rim_of_what_a_dye_can_reach() -> None:
    base = base_from_lab(BASE_LAB, "opaque")
    cut = np.where(wavelengths_nm < 520, 0.1, base.reflectance)
    dye = dye_from_swatch(base, 0.5, 2, lab(cut))
    assert delta_e(tint(base, [(dye, 0.5)], 2).lab(), lab(cut)) < 0.01


def test_absorption_is_the_inverse_of_the_tint() -> None:
    for thickness in (1e-6, 0.1, 1.5, 100.0):
        base = Base(reflectance=np.linspace(0.3, 0.9, 36), scattering_thickness=thickness)
        taken = np.geomspace(1e-3, 3, 36)
        assert absorption_of(dyed_reflectance(taken, base), base) == pytest.approx(taken, rel=1e-6)
        assert np.all(absorption_of(base.reflectance, base) == 0)


def test_lighter_swatch_is_refused_with_the_reason() -> None:
    """Common practice: a fluorescent dye gives back more light than the base does."""
    base = base_from_lab(BASE_LAB, "opaque")
    with pytest.raises(ValueError, match="no lighter than its base in X, Y and Z, here X"):
        dye_from_swatch(base, 0.2, 2, (92.0, 5.0, 5.0))
    with pytest.raises(ValueError, match=r"here Z at most .* \(a fluorescent"):
        dye_from_swatch(base, 0.2, 2, (85.0, 5.0, -20.0))


def test_reading_error_takes_the_nearest_reachable_colour() -> None:
    base = base_from_lab(BASE_LAB, "opaque")
    slightly_off = (90.2, -0.8, 8.0)
    with pytest.raises(ValueError, match="swatch lab must be no lighter"):
        dye_from_swatch(base, 0.2, 2, slightly_off)
    dye = dye_from_swatch(base, 0.2, 2, slightly_off, reading_error=2.0)
    assert delta_e(tint(base, [(dye, 0.2)], 2).lab(), slightly_off) < 2.0
    with pytest.raises(ValueError, match="nearest is"):
        dye_from_swatch(base, 0.2, 2, (98.0, -20.0, 5.0), reading_error=2.0)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"base": "white"}, "base must be a Base"),
        ({"share": 0.0}, "swatch share must be a finite number at least 1e-06 and at most 1"),
        ({"share": "1:10"}, "swatch share must be"),
        ({"coats": 0}, "swatch coats must be"),
        ({"coats": 2.5}, "swatch coats must be a whole number"),
        ({"lab": (50, 0)}, "swatch lab must be three finite numbers"),
        ({"lab": BASE_LAB}, "swatch lab must be darker than its base"),
        ({"lab": (12.0, 0.0, 0.0)}, "than the surface reflection 0.0175 alone"),
        ({"lab": (60.0, 95.0, -60.0)}, "swatch lab must be"),
        ({"light": "dusk"}, "light must be one of"),
        ({"observer": 4}, "observer must be 2 or 10"),
        ({"saturation": 0.0}, "saturations must be"),
        ({"coat_loss": 1.0}, "coat loss must be"),
        ({"name": ""}, "dye name must be"),
        ({"reading_error": -1}, "reading error must be"),
    ],
)
def test_refusals(change: dict[str, object], says: str) -> None:
    given: dict[str, object] = {
        "base": base_from_lab(BASE_LAB, "opaque"),
        "share": 0.2,
        "coats": 2,
        "lab": (60.0, 10.0, 20.0),
    }
    with pytest.raises(ValueError, match=says):
        dye_from_swatch(**(given | change))  # type: ignore[arg-type]
