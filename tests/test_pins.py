"""Pins: values computed from the very formulas that are tested. They hold what we have said.

A pin shows that nothing has moved, not that it is right; for that see tests/published.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from flexcalc.build.insertion import (
    capstan_ratio,
    contact_pressure,
    insertion_force,
    push_stroke,
    wire_slip,
)
from flexcalc.build.life import wire_life
from flexcalc.build.tube import kink_moment, ovalising_radius
from flexcalc.limb.inputs import Elastomer, Metal, Wire
from flexcalc.limb.materials import (
    gent_modulus,
    load_metal,
    modulus_from_shore,
    qi_joyce_boyce_modulus,
    strength_coefficient,
    tensile_strength,
)
from tests.free_wire import euler_stress
from tests.tinting.two_flux import (
    absorption_ratio,
    measured_reflectance,
    thick_reflectance,
)
from tinting.mix.batch import drops_for, thin_down, top_up, volume_for_area
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import Base
from tinting.skin.layer import reflectance_inside
from tinting.skin.uptake import dye_load, uptake

# Modulus from Shore hardness, from the formulas of Gent 1958 and of Qi, Joyce and Boyce 2003 (both
# from memory; coefficients and ranges of the second confirmed on pages that were read). [MPa]

SHORE_A = {
    60: (3.605, 5.884), 70: (5.521, 10.109), 80: (9.351, 17.366), 85: (13.182, 22.761),
    90: (20.844, 29.833), 92: (26.59, 33.243), 95: (43.829, 39.102), 98: (112.785, 45.994),
}  # fmt: skip


SHORE_D = {43: 35.091, 55: 67.174, 60: 88.044, 70: 151.252}


# QJB at 43D and the like carry five digits; the cases grant a part in a thousand.
@pytest.mark.parametrize(("hardness", "moduli"), SHORE_A.items())
def test_shore_a(hardness: float, moduli: tuple[float, float]) -> None:
    assert gent_modulus(hardness) / 1e6 == pytest.approx(moduli[0], rel=1e-3)
    assert qi_joyce_boyce_modulus(hardness, "A") / 1e6 == pytest.approx(moduli[1], rel=1e-3)


@pytest.mark.parametrize(("hardness", "modulus"), SHORE_D.items())
def test_shore_d(hardness: float, modulus: float) -> None:
    assert qi_joyce_boyce_modulus(hardness, "D") / 1e6 == pytest.approx(modulus, rel=1e-3)


def test_the_prior_lies_between_its_relations() -> None:
    assert 5.521e6 < modulus_from_shore(70, "A") < 10.109e6
    # ... and the datasheets lie above Qi, Joyce and Boyce: exp(0.611 + 0.0836 * 55) is 183 MPa.
    assert 67.174e6 < modulus_from_shore(55, "D") < 183e6


# Strength coefficient and tensile strength by Considere's condition. K and n of 1100-O, brass,
# steel (600/0.21) and 304 (1400/0.44) read in an open encyclopedia's table, others from memory;
# tensile strengths of aluminium read in a handbook, of brass on a maker's page, the rest from
# memory. [MPa]

# name: (K, n, tensile strength, tensile strength implied by K and n, K implied by it)
STRENGTHS = {
    "aluminium 1100-O": (180, 0.2, 90, 106.81189197452028, 151.66850526217127),
    "low-carbon steel": (600, 0.21, 340, 350.4414439147399, 582.1229296430813),
    "low-carbon steel, second": (530, 0.26, 340, 287.90709983303157, 625.8963398419314),
    "brass 70-30": (900, 0.49, 350, 388.7176786358932, 810.3567635653033),
    "304 annealed": (1400, 0.44, 600, 628.2863743839114, 1336.9699459481228),
    "304 annealed, second": (1275, 0.45, 600, 567.5750539655105, 1347.839364424368),
}


@pytest.mark.parametrize(("name", "case"), STRENGTHS.items())
def test_strength_coefficient(name: str, case: tuple[float, ...]) -> None:
    coefficient, exponent, strength, implied_strength, implied_coefficient = case
    metal = Metal(
        name=name,
        elastic_modulus=100e9,
        strength_coefficient=coefficient * 1e6,
        hardening_exponent=exponent,
        density=8000,
    )
    assert tensile_strength(metal) / 1e6 == pytest.approx(implied_strength, rel=1e-6)
    found = strength_coefficient(strength * 1e6, exponent) / 1e6
    assert found == pytest.approx(implied_coefficient, rel=1e-6)


# Life of annealed 1100 wire. Constants from memory and unverified: Baumel and Seeger 1990 (1.67
# UTS, -0.095, 0.35, -0.69, UTS 90 MPa), a 1100 table (193 MPa, -0.106, 1.8, -0.69), Manson 1965
# universal slopes with a fracture strain of 2.1; E 69 GPa.

# diameter [mm], radius [mm], both ways, strain amplitude, re-poses by the three sets
LIVES = [
    (2, 40, False, 0.0125, (73.88032618271674, 785.4959247040349, 1126.0553035238936)),
    (2, 40, True, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
    (1.5, 15, False, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
    (4, 40, False, 0.025, (25.062122856843146, 267.9253853361607, 334.4067393247176)),
]


@pytest.mark.parametrize(("diameter", "radius", "both_ways", "amplitude", "lives"), LIVES)
def test_aluminium_1100(
    diameter: float, radius: float, both_ways: bool, amplitude: float, lives: tuple[float, ...]
) -> None:
    wire = Wire(metal=load_metal("annealed aluminium 1100"), diameter=diameter * 1e-3)
    life = wire_life(wire, (2 if both_ways else 1) / (radius * 1e-3))
    assert life.strain_amplitude == pytest.approx(amplitude, rel=1e-12)
    assert dict(life.by_law) == pytest.approx(
        dict(
            zip(
                ("aluminium uniform law", "aluminium 1100 table", "universal slopes"),
                lives,
                strict=True,
            )
        ),
        rel=1e-3,
    )
    assert (life.low, life.high) == pytest.approx((min(lives), max(lives)), rel=1e-3)


# Insertion of the wire by textbook formulas: Euler column, capstan, Lame sleeve with Coulomb
# friction (coefficient 0.5 assumed), balance of moments of an elastic wire, geometry. mm, N, MPa

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


@pytest.mark.parametrize(("diameter", "length", "load", "stress", "elastic"), EULER)
def test_euler(diameter: float, length: float, load: float, stress: float, elastic: bool) -> None:
    wire = Wire(metal=ALUMINIUM, diameter=diameter * 1e-3)
    found, area = euler_stress(wire, length * 1e-3), math.pi / 4 * wire.diameter**2
    # The printed loads carry the effective length rounded to four digits.
    assert found * area == pytest.approx(load, rel=1e-4)
    assert found / 1e6 == pytest.approx(stress, rel=1e-4)
    if elastic:
        assert push_stroke(wire, load) == pytest.approx(length * 1e-3, rel=1e-4)


@pytest.mark.parametrize(("friction", "degrees", "ratio"), CAPSTAN)
def test_capstan(friction: float, degrees: float, ratio: float) -> None:
    assert capstan_ratio(friction, math.radians(degrees)) == pytest.approx(ratio, rel=1e-9)


@pytest.mark.parametrize(("channel", "wire", "pressure", "force"), SLEEVE)
def test_sleeve(channel: float, wire: float, pressure: float, force: float) -> None:
    sizes = (wire * 1e-3, channel * 1e-3, 6e-3)
    assert contact_pressure(*sizes, TPU) / 1e6 == pytest.approx(pressure, rel=1e-6)
    assert insertion_force(*sizes, 0.12, TPU, 0.5) == pytest.approx(force, rel=1e-6)


def test_slip() -> None:
    assert wire_slip(2.5e-3, math.pi / 2) * 1e3 == pytest.approx(3.9269908169872414, rel=1e-9)


def test_undersize_of_a_hundredth() -> None:
    """0.02 mm undersize of a 2 mm wire over 120 mm: 87 N (printed without decimals)."""
    force = insertion_force(2e-3, 1.98e-3, 6e-3, 0.12, TPU)
    assert force == pytest.approx(87, abs=0.5)


# Brazier's closed form and the plane-strain core. mm, MPa, N mm

CORES = [(0.05, 41.4642477053714), (0.1, 34.108708173114195), (0.2, 22.523532585361444)]


KINKS = [  # outer diameter, wall, modulus, kink radius, kink moment
    (12, 0.8, 35, 72.94992562024993, 141.17437462601006),
    (10, 1.6, 27, 20.517166580695296, 326.7178384201947),
    (16, 1.2, 69, 84.92214980792703, 827.4907157606715),
    (20, 2.0, 35, 75.36918335765618, 1418.0461736987615),
]


@pytest.mark.parametrize(("diameter", "wall", "modulus", "radius", "moment"), KINKS)
def test_closed_form(
    diameter: float, wall: float, modulus: float, radius: float, moment: float
) -> None:
    assert ovalising_radius(diameter / 1e3, wall / 1e3) * 1e3 == pytest.approx(radius, rel=1e-6)
    got = kink_moment(diameter / 1e3, wall / 1e3, modulus * 1e6) * 1e3
    assert got == pytest.approx(moment, rel=1e-6)


@pytest.mark.parametrize(("infill", "radius"), CORES)
def test_infill_core(infill: float, radius: float) -> None:
    assert ovalising_radius(0.012, 0.0012, infill) * 1e3 == pytest.approx(radius, rel=1e-6)


# Liquid for a part and drops of a batch, by hand.

ML = 1e-6


def test_liquid_for_a_part() -> None:
    found = volume_for_area(250e-4, 3, coverage=0.5 * ML / 100e-4, loss_factor=1.5)
    assert found / ML == pytest.approx(5.625, abs=1e-9)


def test_drops_of_a_batch() -> None:
    found = drops_for(10 * ML, 0.03, 0.05 * ML)
    assert found.drops == 6 and found.cautions == ()
    assert found.stock_volume / ML == pytest.approx(0.3, abs=1e-9)
    assert found.alcohol_volume / ML == pytest.approx(9.7, abs=1e-9)
    assert found.share == pytest.approx(0.03, abs=1e-9)


def test_stronger_and_weaker() -> None:
    assert top_up(12 * ML, 0.02, 0.05) / ML == pytest.approx(0.37895, abs=1e-4)
    assert thin_down(12 * ML, 0.05, 0.02) / ML == pytest.approx(18.0, abs=1e-9)


# The surface between plastic and air: R = ks + (1 - k1)(1 - k2) r / (1 - k2 r), J. L. Saunderson,
# Journal of the Optical Society of America 32 (1942) 727-736 (memory).

FORWARD = [  # r, k1, k2, ks, reading
    (0.5, 0.04, 0.6, 0.04, 0.314285714),
    (0.5, 0.04, 0.6, 0.0, 0.274285714),
    (0.9, 0.04, 0.6, 0.04, 0.791304348),
    (0.5, 0.04, 0.4, 0.04, 0.4),
    (0.0, 0.04, 0.6, 0.04, 0.04),
]


BACKWARD = [  # reading, ks, r
    (0.3142857142857143, 0.04, 0.5),
    (0.06, 0.04, 0.050505051),
    (0.3, 0.0, 0.531914894),
]


FILM = [(0.1, 0.8, 0.21644662), (0.3, 0.8, 0.06269874), (0.3, 0.4, 0.05487514)]


@pytest.mark.parametrize(("r", "k1", "k2", "ks", "reading"), FORWARD)
def test_reading(r: float, k1: float, k2: float, ks: float, reading: float) -> None:
    assert measured_reflectance(r, ks, k1, k2) == pytest.approx(reading, abs=1e-9)


@pytest.mark.parametrize(("reading", "ks", "r"), BACKWARD)
def test_body_behind_a_reading(reading: float, ks: float, r: float) -> None:
    base = Base(reflectance=np.full(36, reading), scattering_thickness=0.5, specular=ks)
    assert reflectance_inside(base.reflectance, base.specular) == pytest.approx(r, abs=1e-9)


def test_white_body_with_gloss_reads_white() -> None:
    assert measured_reflectance(1.0, 0.04, 0.04, 0.6) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("absorbance", "base", "reading"), FILM)
def test_clear_dyed_film_under_the_surface(absorbance: float, base: float, reading: float) -> None:
    """A skin that does not scatter, passed twice at the mean path of diffuse light, 2."""
    bare = Base(reflectance=np.full(36, base), scattering_thickness=1e-6, specular=0.04)
    absorption = np.full(36, 2 * absorbance * np.log(10))
    assert dyed_reflectance(absorption, bare) == pytest.approx(reading, abs=2e-6)


# Ratios of thick bodies and the load of coats.


@pytest.mark.parametrize(
    ("reflectance", "ratio"),
    [(0.8, 0.025), (0.2, 1.6), (0.1, 4.05), (0.05, 9.025), (0.02, 24.01)],
)
def test_ratio_of_a_thick_body(reflectance: float, ratio: float) -> None:
    assert absorption_ratio(reflectance) == pytest.approx(ratio, abs=1e-9)


@pytest.mark.parametrize(
    ("ratio", "reflectance"),
    [(0.0, 1.0), (0.25, 0.5), (1.0, 0.267949192), (4.05, 0.1), (10.0, 0.04554885)],
)
def test_thick_body_of_a_ratio(ratio: float, reflectance: float) -> None:
    assert thick_reflectance(ratio) == pytest.approx(reflectance, abs=1e-9)


def test_ratios_of_dyes_add() -> None:
    base = absorption_ratio(0.8)
    first, second = absorption_ratio(0.4) - base, absorption_ratio(0.2) - base
    total = base + 1.0 * first + 0.5 * second
    assert total == pytest.approx(1.2375, abs=1e-9)
    assert thick_reflectance(total) == pytest.approx(0.235899078, abs=1e-9)


def test_dye_load_and_uptake() -> None:
    assert uptake([dye_load(0.1, 3, 0.13)], [2.0]) == pytest.approx(0.23219266, abs=1e-8)
    assert uptake([dye_load(0.1, 3, 0.0)], [1e12]) == pytest.approx(0.3, abs=1e-8)
