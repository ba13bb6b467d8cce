"""Metals by yield and tensile strength, against tables other than those of their rows.

Sources, all read: a handbook's table (1100-O, 1060-O, 1350-O, 1100-H14), ASTM B233 (tempers of
1350 stock), a copper association's alloy table, wire and strip makers' pages, a tube page for 304
and J. Eng. Mater. Technol. 97 (1975), abstract. MPa as printed; exponents computed elsewhere.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import load_metal, metal_names, tensile_strength
from flexcalc.wire.bending import spring_back_share

# modulus [GPa], yield, tensile, total strain at yield or None for 0.2 % offset, n (two digits)
PAIRS = [
    ("1100-O", 69, 34, 90, None, 0.265),
    ("1060-O", 69, 28, 69, None, 0.248),
    ("1350-O", 69, 28, 83, None, 0.287),
    ("copper OS050", 117, 69, 220, 0.005, 0.355),
    ("brass wire", 110, 132, 350, 0.005, 0.31),
    ("304 tube", 193, 205, 515, None, 0.266),
]


def stress(metal: Metal, strain: float) -> float:
    """Of the curve at a total strain past yield. [MPa]"""
    return metal.strength_coefficient * strain**metal.hardening_exponent / 1e6


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p[0])
def test_two_strengths_give_both_constants(pair: tuple) -> None:  # type: ignore[type-arg]
    name, modulus, soft, strong, total, exponent = pair
    offset = 0.002 if total is None else total - soft / modulus / 1e3
    metal = Metal(
        name=name, elastic_modulus=modulus * 1e9, density=8000.0, yield_strength=soft * 1e6,
        tensile_strength=strong * 1e6, yield_offset=offset,
    )  # fmt: skip
    assert metal.hardening_exponent == pytest.approx(exponent, abs=0.002)
    assert stress(metal, soft / modulus / 1e3 + offset) == pytest.approx(soft, rel=1e-9)
    # the greatest engineering stress along the curve, by search
    strains = np.linspace(1e-3, 1.0, 100001)
    load = metal.strength_coefficient * strains**metal.hardening_exponent * np.exp(-strains)
    assert load.max() / 1e6 == pytest.approx(strong, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("annealed aluminium 1350", 59, 97),  # B233, O
        ("half-hard aluminium 1100", 103, 138),  # B233, H14 of 1350
        ("hard-drawn aluminium 1350", 161, 201),  # B233, H19
        ("annealed copper", 241, 247),  # soft wire
        ("annealed brass", 310, 420),  # strip
        ("annealed stainless steel", 740, 740),  # soft tying wire
    ],
)
def test_tensile_strength_of_another_source(name: str, low: float, high: float) -> None:
    """The middle of what the other source prints lies inside the row's spread."""
    metal = load_metal(name)
    middle = math.sqrt(low * high)
    off = abs(math.log(middle / (tensile_strength(metal) / 1e6)))
    assert off < math.log(metal.strength_factor)


@pytest.mark.parametrize(
    ("name", "soft", "strain"),
    [
        ("annealed aluminium 1350", 28, 0.0024),  # 1060-O, nearly the same metal
        ("annealed copper", 76, 0.005),  # strip, the other end of 69 to 76
        ("annealed brass", 145, 0.005),  # strip
        # re-annealed 304, 172 to 186 of 515, at the strength of wire
        ("annealed stainless steel", 179 * 680 / 515, 0.003),
    ],
)
def test_yield_strength_of_another_source(name: str, soft: float, strain: float) -> None:
    metal = load_metal(name)
    off = abs(math.log(stress(metal, strain) / soft))
    # strength and exponent both scatter; the exponent counts from where the load is greatest
    lever = math.log(metal.hardening_exponent / strain) * metal.exponent_spread
    assert off < math.hypot(math.log(metal.strength_factor), lever)


def test_every_metal_has_a_back_stress_of_its_own_and_the_spread_of_its_kind() -> None:
    assert {load_metal(name).back_stress for name in metal_names()} == {0.27, 0.30, 0.40}
    assert load_metal("annealed low-carbon steel").back_stress_spread == pytest.approx(0.08)
    for name in ("copper", "brass", "stainless steel"):
        metal = load_metal(f"annealed {name}")
        # x/÷ 1.15 to 1.2 where wires are bent, by strength and exponent together
        lever = math.log(metal.hardening_exponent / 0.03) * metal.exponent_spread
        assert 1.14 < math.exp(math.hypot(math.log(metal.strength_factor), lever)) < 1.21


# x = Ri Y/(E t), radius before over after: 4x^3 - 3x + 1 (textbook, memory), of a thin strip
STRIP = [(0.02, 0.940), (0.05, 0.8505), (0.1, 0.704), (0.2, 0.432), (0.4, 0.056)]


@pytest.mark.parametrize(("x", "kept"), STRIP)
def test_a_strip_of_a_perfectly_plastic_metal(x: float, kept: float) -> None:
    """Round wire by our section against its own closed form, a strip by the same fibres.

    The strip: fibres stretched kappa y bounded by Y, unloaded elastically; the wire keeps more
    of a bend than the strip of its own thickness, which carries its metal farther out.
    """
    E, Y = 70e9, 70e6
    heights = (np.arange(20000) + 0.5) / 20000
    curvature = Y / (2 * x * E)  # of a strip of half thickness 1: x = Y/(E t kappa), t = 2
    moment = np.mean(np.minimum(E * curvature * heights, Y) * heights)
    left = 1 - moment / (E / 3 * curvature)
    assert left == pytest.approx(4 * x**3 - 3 * x + 1, abs=1e-6)
    assert left == pytest.approx(kept, abs=6e-4)
    metal = Metal(
        name="perfect", elastic_modulus=E, density=8000.0, strength_coefficient=Y,
        hardening_exponent=0.0, back_stress=0.0,
    )  # fmt: skip
    wire = float(spring_back_share(Wire(metal=metal, diameter=0.002), curvature * 1e3))
    a = 2 * x  # elastic core over radius
    round_moment = 2 / math.pi * (math.asin(a) / a + (5 - 2 * a * a) * math.sqrt(1 - a * a) / 3)
    assert wire == pytest.approx(1 - round_moment * a, rel=1e-6, abs=1e-6)
    assert wire < left
