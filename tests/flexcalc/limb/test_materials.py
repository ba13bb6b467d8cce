"""Metals and elastomers of the tables, and the modulus prior."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from data import read_table
from data.plain import value_from
from flexcalc.limb.inputs import Metal
from flexcalc.limb.materials import (
    at_temperature,
    datasheet_modulus,
    elastomer_names,
    gent_modulus,
    load_elastomer,
    load_metal,
    metal_names,
    modulus_from_shore,
    qi_joyce_boyce_modulus,
    strength_coefficient,
    temperature_factor,
    tensile_strength,
)
from flexcalc.verdict.plan import CLASSES, plain


@pytest.mark.parametrize("name", metal_names())
def test_a_metal_carries_its_table_row(name: str) -> None:
    metal, row = load_metal(name), read_table("metals")[name]
    assert metal.name == name
    assert metal.elastic_modulus == row["elastic_modulus"].value
    assert metal.density == row["density"].value
    assert tensile_strength(metal) == pytest.approx(row["tensile_strength"].value, rel=1e-12)
    strength = row["tensile_strength"]
    # A factor spread: low and high stand at about the same factor from the value.
    assert strength.value / strength.low == pytest.approx(metal.strength_factor, rel=0.01)
    assert strength.high / strength.value == pytest.approx(metal.strength_factor, rel=0.01)
    assert 0.01 <= metal.exponent_spread <= 0.1


def test_the_table_has_the_wires_of_the_trade() -> None:
    names = metal_names()
    assert sum("annealed aluminium" in name for name in names) == 2
    for word in ("hard-drawn aluminium", "copper", "brass", "low-carbon steel", "stainless"):
        assert any(word in name for name in names), word
    assert [
        f"TPU {hardness}" for hardness in ("80A", "85A", "90A", "95A", "98A", "55D", "60D")
    ] == [*elastomer_names()]


@pytest.mark.parametrize("name", elastomer_names())
def test_an_elastomer_carries_its_table_row(name: str) -> None:
    elastomer, row = load_elastomer(name), read_table("elastomers")[name]
    for quantity in row:
        assert getattr(elastomer, quantity) == row[quantity].value
    assert elastomer.modulus_factor == pytest.approx(1.9, rel=1e-3)
    assert elastomer.relaxation_spread == pytest.approx(0.02)
    # 20 to 45 % of the modulus is lost from 10 s to an hour.
    kept = 360 ** -np.array([0.05, 0.07, 0.09])
    assert np.all((kept > 0.55) & (kept < 0.80))


@pytest.mark.parametrize("name", ["", "gold", None, 3, "ANNEALED COPPER", ["TPU 85A"]])
def test_unknown_names_list_the_known_ones(name: object) -> None:
    with pytest.raises(ValueError, match=r"^metal name must be one of .*annealed copper.*; got"):
        load_metal(name)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^elastomer name must be one of .*TPU 85A.*; got"):
        load_elastomer(name)  # type: ignore[arg-type]


@pytest.mark.parametrize("exponent", [0.0, 1e-300, 0.05, 0.3, 0.8])
def test_the_load_is_greatest_at_the_exponent(exponent: float) -> None:
    """Second route: the maximum of the engineering stress along the curve."""
    coefficient = strength_coefficient(123e6, exponent)
    strains = np.linspace(1e-6, 1, 200_001)
    engineering = coefficient * strains**exponent * np.exp(-strains)
    assert engineering.max() == pytest.approx(123e6, rel=1e-5)


def test_ludwik_without_hardening_is_its_yield_stress() -> None:
    metal = Metal(
        name="plain",
        elastic_modulus=70e9,
        strength_coefficient=1e5,
        hardening_exponent=0.5,
        density=2700,
        yield_stress=50e6,
    )
    assert tensile_strength(metal) == pytest.approx(50e6, rel=1e-4)


def test_ludwik_without_yield_is_hollomon() -> None:
    hollomon = load_metal("annealed copper")
    ludwik = Metal(
        name="same",
        elastic_modulus=hollomon.elastic_modulus,
        strength_coefficient=hollomon.strength_coefficient,
        hardening_exponent=hollomon.hardening_exponent,
        density=hollomon.density,
        yield_stress=1e5,
    )
    assert tensile_strength(ludwik) == pytest.approx(tensile_strength(hollomon), rel=1e-3)


@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf, None, "90", 1e12, True])
def test_impossible_strength_or_exponent(value: object) -> None:
    with pytest.raises(ValueError, match=r"^tensile strength must be"):
        strength_coefficient(value, 0.2)  # type: ignore[arg-type]
    if value != 0:
        with pytest.raises(ValueError, match=r"^hardening exponent must be"):
            strength_coefficient(90e6, value)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^metal must be a Metal"):
        tensile_strength(value)  # type: ignore[arg-type]


def test_the_prior_rises_steadily_and_has_no_jump() -> None:
    moduli = np.array([modulus_from_shore(hardness, "A") for hardness in np.linspace(20, 98, 781)])
    steps = moduli[1:] / moduli[:-1]
    assert np.all(steps > 1)
    assert np.all(steps < 1.02)
    moduli = np.array([modulus_from_shore(hardness, "D") for hardness in np.linspace(33, 75, 421)])
    assert np.all(moduli[1:] > moduli[:-1])


def test_printed_tpu_lies_within_two_deviations() -> None:
    """Abstracts read: four printed TPUs 24 to 247 MPa; a 95A print 100 to 146 MPa."""
    soft, hard = modulus_from_shore(85, "A"), modulus_from_shore(60, "D")
    assert soft / 1.9**2 < 24e6 and hard * 1.9**2 > 247e6
    middle = load_elastomer("TPU 95A")
    assert middle.elastic_modulus * middle.modulus_factor**2 > 146e6


@pytest.mark.parametrize("value", [0, 19.9, 98.1, -5, math.nan, math.inf, None, "85"])
def test_impossible_hardness(value: object) -> None:
    with pytest.raises(ValueError, match=r"^Shore A hardness must be"):
        modulus_from_shore(value, "A")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^Shore D hardness must be"):
        modulus_from_shore(value, "D")  # type: ignore[arg-type]


@pytest.mark.parametrize("value", [0, 100, -5, math.nan, math.inf, None, "85"])
def test_impossible_hardness_of_one_relation(value: object) -> None:
    for relation in (gent_modulus, datasheet_modulus, lambda x: qi_joyce_boyce_modulus(x, "A")):
        with pytest.raises(ValueError, match="hardness must be"):
            relation(value)


@pytest.mark.parametrize("scale", ["B", "", None, "a"])
def test_unknown_scale(scale: object) -> None:
    with pytest.raises(ValueError, match=r"^hardness scale must be one of A, D"):
        modulus_from_shore(85, scale)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^hardness scale must be one of A, D"):
        qi_joyce_boyce_modulus(85, scale)  # type: ignore[arg-type]


def test_a_room_changes_the_modulus() -> None:
    """Maker's sheets (read): falls 0.6 to 1.7 % per degree above 23; x1.1 to 1.35 at 15."""
    assert temperature_factor(23.0) == (1.0, 1.0)
    for degrees, low, high in ((15.0, 1.1, 1.35), (30.0, 1 - 7 * 0.017, 1 - 7 * 0.006)):
        factor, spread = temperature_factor(degrees)
        assert low < factor < high and 1.0 < spread < 1.15
    filament = load_elastomer("TPU 95A")
    warm, cool = at_temperature(filament, 30.0), at_temperature(filament, 15.0)
    assert warm.elastic_modulus < filament.elastic_modulus < cool.elastic_modulus
    assert at_temperature(filament, 23.0).modulus_factor == filament.modulus_factor
    assert warm.modulus_factor > filament.modulus_factor
    assert cool.saturation_stress == filament.saturation_stress == warm.saturation_stress
    with pytest.raises(ValueError, match="temperature must be"):
        at_temperature(filament, 60.0)


def test_printed_moduli_of_95a_lie_about_the_table() -> None:
    """Sheets and papers (read): 35, 43.8, 67, 100.4 and 145.8 MPa; their scatter is the spread."""
    logs = np.log([35.0, 43.8, 67.0, 100.4, 145.8])
    filament = load_elastomer("TPU 95A")
    off = abs(np.mean(logs) - math.log(filament.elastic_modulus / 1e6))
    assert off < math.log(filament.modulus_factor) / 2
    assert np.std(logs, ddof=1) < math.log(filament.modulus_factor)


GIVEN = {"name": "any", "elastic_modulus": 100e9, "density": 8000.0}
TWO = {"yield_strength": 100e6, "tensile_strength": 250e6}
ONE = {"strength_coefficient": 400e6, "hardening_exponent": 0.2}


@pytest.mark.parametrize(
    "law",
    [
        {},
        {"yield_strength": 100e6},
        {"tensile_strength": 250e6},
        {"strength_coefficient": 400e6},
        {"hardening_exponent": 0.2},
        {"yield_stress": 1e8},
        {**TWO, **ONE},
        {**TWO, "hardening_exponent": 0.2},
        {**TWO, "yield_stress": 1e8},
        {"yield_strength": 100e6, **ONE},
    ],
    ids=lambda law: "+".join(law),
)
def test_a_metal_is_given_in_one_way(law: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"^metal strength must be given by yield and tensile"):
        Metal(**GIVEN, **law)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("law", "words"),
    [
        ({"yield_strength": 100e6, "tensile_strength": 99e6}, "metal tensile strength"),
        ({"yield_strength": 10e6, "tensile_strength": 9e9}, "metal tensile strength"),
        ({"yield_strength": math.nan, "tensile_strength": 1e8}, "metal yield strength"),
        ({"yield_strength": 100e6, "tensile_strength": "250"}, "metal tensile strength"),
        ({**TWO, "yield_offset": 0.0}, "metal yield offset"),
        ({"yield_strength": 5e9, "tensile_strength": 6e9, "yield_offset": 0.02}, "metal"),
    ],
)
def test_strengths_that_cannot_be(law: dict[str, float], words: str) -> None:
    with pytest.raises(ValueError, match=f"^{words}"):
        Metal(**GIVEN, **law)  # type: ignore[arg-type]


def test_a_metal_of_two_strengths_can_be_changed_and_kept() -> None:
    metal = Metal(**GIVEN, **TWO)  # type: ignore[arg-type]
    assert replace(metal, name="other").strength_coefficient == metal.strength_coefficient
    assert value_from(plain(metal), "metal", CLASSES) == metal
    equal = Metal(**GIVEN, **{**TWO, "tensile_strength": 100e6})  # type: ignore[arg-type]
    assert tensile_strength(equal) == pytest.approx(100e6)  # hardly hardens
    assert equal.hardening_exponent == pytest.approx(math.e * 0.003)
