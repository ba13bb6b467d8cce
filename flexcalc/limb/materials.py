"""Metals and elastomers from the tables, and a modulus from a Shore hardness.

Yield and tensile strength of one table give both hardening constants; printed exponents miss the
stress where wires are bent by up to two. Where only the tensile strength is known (hard-drawn
aluminium, soft steel) the coefficient is taken from it and not from printed values, which can
be 19 % too strong for their own tensile strength.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from data import Quantity, read_table
from data.rules import check_choice, check_kind, check_number
from flexcalc.limb.inputs import Elastomer, Metal
from flexcalc.limb.substances import YIELD_OFFSET

SOFTEST_A, HARDEST_A = 20, 98
SOFTEST_D, HARDEST_D = 33, 75


def metal_names() -> tuple[str, ...]:
    """Return the names of the tabled wire metals."""
    return tuple(read_table("metals"))


def load_metal(name: str) -> Metal:
    """Return a metal of the table with its spreads.

    Raises
    ------
    ValueError
        For an unknown name; the message lists the known ones.
    """
    row = read_table("metals")[check_choice("metal name", name, metal_names())]
    known: dict[str, Any] = {
        "elastic_modulus": row["elastic_modulus"].value,
        "density": row["density"].value,
        "strength_factor": _factor(row["tensile_strength"]),
        "back_stress": row["back_stress"].value,
        "back_stress_spread": _spread(row["back_stress"]),
    }
    tensile = row["tensile_strength"].value
    if "yield_strength" in row:
        return Metal(
            name=name,
            yield_strength=row["yield_strength"].value,
            tensile_strength=tensile,
            yield_offset=row["yield_offset"].value if "yield_offset" in row else YIELD_OFFSET,
            exponent_spread=row["exponent_spread"].value,
            **known,
        )
    exponent = row["hardening_exponent"]
    return Metal(
        name=name,
        strength_coefficient=strength_coefficient(tensile, exponent.value),
        hardening_exponent=exponent.value,
        exponent_spread=_spread(exponent),
        **known,
    )


def elastomer_names() -> tuple[str, ...]:
    """Return the names of the tabled elastomers, soft to hard."""
    return tuple(read_table("elastomers"))


def load_elastomer(name: str) -> Elastomer:
    """Return an elastomer of the table with its spreads.

    Raises
    ------
    ValueError
        For an unknown name; the message lists the known ones.
    """
    row = read_table("elastomers")[check_choice("elastomer name", name, elastomer_names())]
    return Elastomer(
        name=name,
        elastic_modulus=row["elastic_modulus"].value,
        density=row["density"].value,
        poisson_ratio=row["poisson_ratio"].value,
        saturation_stress=row["saturation_stress"].value,
        relaxation_exponent=row["relaxation_exponent"].value,
        modulus_factor=_factor(row["elastic_modulus"]),
        relaxation_spread=_spread(row["relaxation_exponent"]),
        saturation_factor=_factor(row["saturation_stress"]),
    )


def temperature_factor(temperature: float) -> tuple[float, float]:
    """Return by what a room's temperature multiplies the modulus of TPU.

    Parameters
    ----------
    temperature : float
        5 to 40. [degC]

    Returns
    -------
    tuple of float
        The factor, 1 at 23 degrees, and its spread as a factor (x/÷), one standard deviation.

    Notes
    -----
    The logarithm runs straight from 23 degrees through the row of a cool and of a warm room.

    Source: public data sheets (rows "tpu temperature").
    """
    degrees = check_number("temperature", temperature, least=5.0, most=40.0, unit="degC")
    row = read_table("constants")["tpu temperature"]
    side = "warm" if degrees > row["reference"].value else "cool"
    far = (degrees - row["reference"].value) / (row[side].value - row["reference"].value)
    factor = row[f"{side}_factor"]
    return factor.value**far, _factor(factor) ** abs(far)


def at_temperature(elastomer: Elastomer, temperature: float) -> Elastomer:
    """Return a filament in a room of another temperature than 23 degrees, see `temperature_factor`.

    Only its modulus scales, not the stress at which it saturates; it is known so much less.
    """
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    factor, spread = temperature_factor(temperature)
    known = math.hypot(math.log(elastomer.modulus_factor), math.log(spread))
    return replace(
        elastomer,
        elastic_modulus=elastomer.elastic_modulus * factor,
        modulus_factor=math.exp(known),
    )


def strength_coefficient(tensile_strength: float, hardening_exponent: float) -> float:
    """Return the coefficient K of sigma = K eps^n for a tensile strength.

    Parameters
    ----------
    tensile_strength : float
        Engineering tensile strength, 1e5 to 1e10. [Pa]
    hardening_exponent : float
        n, 0 to 0.8; 0 does not harden and K is the tensile strength itself.

    Returns
    -------
    float
        K = UTS (e/n)^n. [Pa]

    Notes
    -----
    Source: Considere's condition, the load is greatest at the true strain n.
    """
    strength = check_number("tensile strength", tensile_strength, least=1e5, most=1e10, unit="Pa")
    exponent = check_number("hardening exponent", hardening_exponent, least=0.0, most=0.8)
    return strength / _considere(exponent)


def tensile_strength(metal: Metal) -> float:
    """Return the engineering tensile strength that a metal's hardening law implies. [Pa]

    For Ludwik's law (yield stress given) the greatest load is searched along the curve.
    """
    check_kind("metal", metal, Metal, "a Metal")
    exponent = metal.hardening_exponent
    if metal.yield_stress is None:
        return metal.strength_coefficient * _considere(exponent)
    virgin, coefficient = metal.yield_stress, metal.strength_coefficient
    strains = (step / 2000 for step in range(2001))
    return max(
        float((virgin + coefficient * strain**exponent) * math.exp(-strain)) for strain in strains
    )


def modulus_from_shore(hardness: float, scale: str) -> float:
    """Return the middle estimate of a TPU's small-strain modulus for its Shore hardness.

    Parameters
    ----------
    hardness : float
        20 to 98 on the A scale, 33 to 75 on the D scale.
    scale : str
        "A" or "D".

    Returns
    -------
    float
        Geometric mean of the relations that are valid there; the truth lies within a factor
        of 1.9 either way in two cases of three. [Pa]

    Notes
    -----
    A to 80: `gent_modulus` and `qi_joyce_boyce_modulus`. D, and A from 85 through the durometer
    chart: `qi_joyce_boyce_modulus` and `datasheet_modulus`. Between 80A and 85A, where no
    relation is at home, the logarithm runs straight.
    """
    check_choice("hardness scale", scale, ("A", "D"))
    if scale == "D":
        least, most = SOFTEST_D, HARDEST_D
    else:
        least, most = SOFTEST_A, HARDEST_A
    hardness = check_number(f"Shore {scale} hardness", hardness, least=least, most=most)
    if scale == "D":
        return _plastic_side(hardness)
    if hardness <= 80:
        return math.sqrt(gent_modulus(hardness) * qi_joyce_boyce_modulus(hardness, "A"))
    if hardness >= 85:
        return _plastic_side(_shore_d(hardness))
    share = (hardness - 80) / 5
    soft, hard = modulus_from_shore(80, "A"), modulus_from_shore(85, "A")
    return float(soft * (hard / soft) ** share)


def gent_modulus(hardness: float) -> float:
    """Return Gent's modulus for a Shore A hardness of 1 to 99 (meant for 20 to 80). [Pa]

    Source: A. N. Gent 1958, from memory.
    """
    hardness = check_number("Shore A hardness", hardness, least=1, most=99)
    row = {name: quantity.value for name, quantity in read_table("shore")["gent"].items()}
    force = row["force_at_zero"] + row["force_per_point"] * hardness
    depth = row["depth_at_zero"] - row["depth_per_point"] * hardness
    return 1e6 * row["stress_unit"] * force / (row["indentation_scale"] * depth)


def qi_joyce_boyce_modulus(hardness: float, scale: str) -> float:
    """Return the modulus of Qi, Joyce and Boyce for a Shore hardness of 1 to 99. [Pa]

    Meant for 20 to 80 on scale "A" and 30 to 85 on scale "D". Source: Qi, Joyce and Boyce 2003;
    the logarithm is to base ten, two widely read pages take e and are 5 to 13 times off.
    """
    check_choice("hardness scale", scale, ("A", "D"))
    hardness = check_number(f"Shore {scale} hardness", hardness, least=1, most=99)
    row = {name: quantity.value for name, quantity in read_table("shore")["qi joyce boyce"].items()}
    shift = row["d_shift"] if scale == "D" else 0.0
    return float(1e6 * 10 ** (row["slope"] * (hardness + shift) + row["intercept"]))


def datasheet_modulus(hardness: float) -> float:
    """Return the modulus that moulding datasheets give at a Shore D of 1 to 99. [Pa]

    Meant for 33 to 75. Source: our fit to ten public datasheets, from memory.
    """
    hardness = check_number("Shore D hardness", hardness, least=1, most=99)
    row = read_table("shore")["datasheets"]
    return 1e6 * math.exp(row["intercept"].value + row["slope"].value * hardness)


def _plastic_side(shore_d: float) -> float:
    return math.sqrt(qi_joyce_boyce_modulus(shore_d, "D") * datasheet_modulus(shore_d))


def _shore_d(shore_a: float) -> float:
    chart = {
        float(item[:-1]): row["shore_d"].value
        for item, row in read_table("shore").items()
        if "shore_d" in row
    }
    below = max(point for point in chart if point <= shore_a)
    above = min(point for point in chart if point >= shore_a)
    if above == below:
        return chart[above]
    share = (shore_a - below) / (above - below)
    return chart[below] + share * (chart[above] - chart[below])


def _considere(exponent: float) -> float:
    # not (n/e)^n, which is 0^n for the smallest numbers
    return math.exp(exponent * (math.log(exponent) - 1)) if exponent > 0 else 1.0


def _factor(quantity: Quantity) -> float:
    return math.sqrt(quantity.high / quantity.low)


def _spread(quantity: Quantity) -> float:
    return (quantity.high - quantity.low) / 2
