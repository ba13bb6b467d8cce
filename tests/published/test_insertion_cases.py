"""Insertion of the wire: Euler column, capstan, Lame sleeve, straightening, slip.

All computed from textbook formulas: Euler column fixed-pinned (first root of tan x = x, 4.4934),
Euler-Eytelwein, Lame's thick cylinder with Coulomb friction (coefficient 0.5 assumed), balance of
moments of an elastic wire, geometry. Lengths [mm], forces [N], stresses [MPa].
"""

from __future__ import annotations

import math

import pytest

from flexcalc.inputs import Elastomer, Metal, Wire
from flexcalc.insertion import (
    capstan_ratio,
    contact_pressure,
    insertion_force,
    straightened_curvature,
    wire_slip,
)
from flexcalc.stroke import EFFECTIVE_LENGTH, buckling_load

TPU = Elastomer(
    name="TPU of the cases", elastic_modulus=35e6, density=1200, poisson_ratio=0.48,
    saturation_stress=math.inf, relaxation_exponent=0.07,
)  # fmt: skip
# Annealed 1100 aluminium as those cases have it: E 69 GPa, K 180 MPa, n 0.2.
ALUMINIUM = Metal(
    name="aluminium of the cases", elastic_modulus=69e9, strength_coefficient=180e6,
    hardening_exponent=0.2, density=2700,
)  # fmt: skip

EULER = [
    # diameter, free length, load, stress, elastic
    (2.0, 50, 437.67378094457644, 139.31589139809745, False),
    (2.0, 100, 109.41844523614411, 34.82897284952436, False),
    (2.0, 300, 12.157605026238231, 3.869885872169373, True),
    (1.5, 100, 34.620679937998716, 19.591297227857453, True),
    (3.0, 100, 553.9308790079795, 78.36518891142981, False),
]
CAPSTAN = [(0.3, 90, 1.6019776512823565), (0.8, 90, 3.5135856242857333)]
SLEEVE = [
    # channel, wire, pressure, force over 120 mm in TPU of radius 6 mm
    (1.9, 2.0, 1.2028675624367995, 453.47038768714935),
    (1.8, 2.0, 2.548360185619687, 960.7091565412236),
    (2.9, 3.0, 0.752405608305345, 425.4753476829296),
]
STRAIGHTENED = [
    # wire in a limb of 21033.39 N mm2 printed at R 40: curvature [1/mm], share left
    (1.5, 0.013772436360800193, 0.5508974544320077),
    (2.0, 0.006990079303998878, 0.2796031721599551),
]


def test_effective_length() -> None:
    assert pytest.approx(0.6992, abs=5e-5) == EFFECTIVE_LENGTH
    root = math.pi / EFFECTIVE_LENGTH
    assert math.tan(root) == pytest.approx(root, rel=1e-10)


@pytest.mark.parametrize(("diameter", "length", "load", "stress", "elastic"), EULER)
def test_euler(diameter: float, length: float, load: float, stress: float, elastic: bool) -> None:
    free = buckling_load(Wire(metal=ALUMINIUM, diameter=diameter * 1e-3), length * 1e-3)
    # The printed loads carry the effective length rounded to four digits.
    assert free.load == pytest.approx(load, rel=1e-4)
    assert free.stress / 1e6 == pytest.approx(stress, rel=1e-4)
    assert free.elastic is elastic


@pytest.mark.parametrize(("friction", "degrees", "ratio"), CAPSTAN)
def test_capstan(friction: float, degrees: float, ratio: float) -> None:
    assert capstan_ratio(friction, math.radians(degrees)) == pytest.approx(ratio, rel=1e-9)


@pytest.mark.parametrize(("channel", "wire", "pressure", "force"), SLEEVE)
def test_sleeve(channel: float, wire: float, pressure: float, force: float) -> None:
    sizes = (wire * 1e-3, channel * 1e-3, 6e-3)
    assert contact_pressure(*sizes, TPU) / 1e6 == pytest.approx(pressure, rel=1e-6)
    assert insertion_force(*sizes, 0.12, TPU, 0.5) == pytest.approx(force, rel=1e-6)


@pytest.mark.parametrize(("diameter", "curvature", "share"), STRAIGHTENED)
def test_straightened(diameter: float, curvature: float, share: float) -> None:
    wire = Wire(metal=ALUMINIUM, diameter=diameter * 1e-3)
    limb = straightened_curvature(wire, 21033.39e-6, 1 / 40e-3)
    assert limb.elastic_bound / 1e3 == pytest.approx(curvature, rel=1e-6)
    assert limb.elastic_bound * 40e-3 == pytest.approx(share, rel=1e-6)


def test_slip() -> None:
    assert wire_slip(2.5e-3, math.pi / 2) * 1e3 == pytest.approx(3.9269908169872414, rel=1e-9)


def test_undersize_in_the_house_notes() -> None:
    """0.02 mm undersize of a 2 mm wire over 120 mm: 87 N (printed without decimals)."""
    force = insertion_force(2e-3, 1.98e-3, 6e-3, 0.12, TPU)
    assert force == pytest.approx(87, abs=0.5)
