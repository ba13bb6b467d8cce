"""Strain-life laws of wire metals: how often a strain can be repeated.

The amplitude of the surface strain is sigma_f/E (2N)^b + eps_f (2N)^c over N re-poses. The sets
of constants stem from memory and disagree by a factor of ten: a life is a range over them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from data import read_table
from data.rules import Array, check_kind, check_name, check_number, check_numbers, plain_numbers
from flexcalc.limb.inputs import Metal
from flexcalc.limb.materials import tensile_strength

ENDLESS = 1e7
"""Re-poses at which the laws end; a longer life is given as this many."""
ALUMINIUM_BELOW, STEEL_FROM = 85e9, 150e9
SOFT_BELOW = 130e6


@dataclass(frozen=True, kw_only=True)
class LifeLaw:
    """One set of strain-life constants for one metal.

    Amplitude = ``elastic_strain`` (2N)^``elastic_exponent`` + ``plastic_strain``
    (2N)^``plastic_exponent``.
    """

    name: str
    elastic_strain: float
    elastic_exponent: float
    plastic_strain: float
    plastic_exponent: float

    def __post_init__(self) -> None:
        check_name("life law name", self.name)
        check_number("life elastic strain", self.elastic_strain, least=1e-12, most=100.0)
        check_number("life plastic strain", self.plastic_strain, least=1e-12, most=100.0)
        check_number("life elastic exponent", self.elastic_exponent, least=-0.9, most=-0.02)
        check_number("life plastic exponent", self.plastic_exponent, least=-2.0, most=-0.1)
        plain_numbers(self)


def re_poses(strain_amplitude: object, law: LifeLaw) -> Array:
    """Return how many re-poses a strain amplitude allows by one law.

    Parameters
    ----------
    strain_amplitude : array_like, any shape
        Half the range of the surface strain, 0 to 100.
    law : LifeLaw
        Constants of the metal.

    Returns
    -------
    numpy.ndarray, same shape
        Re-poses N, at most `ENDLESS`; below 1 the first bend may crack the wire.

    Notes
    -----
    The logarithm of the amplitude is a convex, falling function of ln 2N, so Newton's method
    started left of the root runs up to it without overshoot. The larger of the roots of the
    two terms alone lies left, and there the sum is at most twice the amplitude.
    """
    amplitude = check_numbers("strain amplitude", strain_amplitude, least=0.0, most=100.0)
    check_kind("life law", law, LifeLaw, "a LifeLaw")
    least = amplitude_for(ENDLESS, law)
    target = np.log(np.maximum(amplitude, least))
    elastic, plastic = math.log(law.elastic_strain), math.log(law.plastic_strain)
    slope_e, slope_p = law.elastic_exponent, law.plastic_exponent
    x = np.maximum((target - elastic) / slope_e, (target - plastic) / slope_p)
    for _ in range(8):
        first, second = elastic + slope_e * x, plastic + slope_p * x
        total = np.logaddexp(first, second)
        slope = slope_e * np.exp(first - total) + slope_p * np.exp(second - total)
        x = x - (total - target) / slope
    return np.where(amplitude <= least, ENDLESS, np.minimum(np.exp(x) / 2, ENDLESS))


def life_laws(metal: Metal) -> tuple[LifeLaw, ...]:
    """Return the strain-life laws that can be scaled to a metal.

    The metal's family is told by its elastic modulus: aluminium below 85 GPa, steel from 150 GPa,
    copper and its alloys between, which borrow the aluminium law.

    Source: data/fatigue.csv, all from memory.
    """
    check_kind("metal", metal, Metal, "a Metal")
    strength, modulus = tensile_strength(metal), metal.elastic_modulus
    steel = modulus >= STEEL_FROM
    laws = [_uniform_law("steel uniform law" if steel else "aluminium uniform law", metal)]
    if modulus < ALUMINIUM_BELOW and strength < SOFT_BELOW:
        row = _values("aluminium 1100 table")
        laws.append(
            LifeLaw(
                name="aluminium 1100 table",
                elastic_strain=row["strength"] / modulus,
                elastic_exponent=row["strength_exponent"],
                plastic_strain=row["ductility"],
                plastic_exponent=row["ductility_exponent"],
            )
        )
    return (*laws, _universal_slopes(metal))


def amplitude_for(re_poses: object, law: LifeLaw) -> Array:
    """Return the amplitude of the surface strain that allows N re-poses, 0.5 to `ENDLESS`.

    Parameters and result are those of `re_poses`, the other way round.
    """
    wanted = check_numbers("re-poses", re_poses, least=0.5, most=ENDLESS)
    check_kind("life law", law, LifeLaw, "a LifeLaw")
    log_reversals = np.log(2 * wanted)
    elastic = law.elastic_strain * np.exp(law.elastic_exponent * log_reversals)
    return np.asarray(elastic + law.plastic_strain * np.exp(law.plastic_exponent * log_reversals))


def _uniform_law(name: str, metal: Metal) -> LifeLaw:
    row = _values(name)
    strain = tensile_strength(metal) / metal.elastic_modulus
    ductility = row["ductility"]
    if "ductility_loss" in row:
        excess = min(strain, row["strongest_strain"]) - row["full_ductility_strain"]
        ductility *= 1 - row["ductility_loss"] * max(excess, 0.0)
    return LifeLaw(
        name=name,
        elastic_strain=row["strength_factor"] * strain,
        elastic_exponent=row["strength_exponent"],
        plastic_strain=ductility,
        plastic_exponent=row["ductility_exponent"],
    )


def _universal_slopes(metal: Metal) -> LifeLaw:
    row = _values("universal slopes")
    strain = tensile_strength(metal) / metal.elastic_modulus
    b, c = row["strength_exponent"], row["ductility_exponent"]
    # Manson writes the whole range over N, the laws here the amplitude over 2N.
    return LifeLaw(
        name="universal slopes",
        elastic_strain=row["strength_factor"] / 2 * strain * 2**-b,
        elastic_exponent=b,
        plastic_strain=_fracture_ductility(metal) ** row["ductility_power"] / 2 * 2**-c,
        plastic_exponent=c,
    )


def _fracture_ductility(metal: Metal) -> float:
    rows = read_table("fatigue")
    known = rows.get(metal.name, {}).get("fracture_ductility")
    return (known or rows["any other wire"]["fracture_ductility"]).value


def _values(item: str) -> dict[str, float]:
    return {name: quantity.value for name, quantity in read_table("fatigue")[item].items()}
