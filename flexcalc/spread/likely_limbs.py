"""What is not known about a limb, drawn many times: one low-discrepancy point is one limb.

Each uncertain input has one axis of a scrambled Sobol sequence, always the same one, so that a
seed draws the same limbs whatever else is asked. Factors are log-normal, the rest normal inside
the range that is possible; one standard deviation is the low/high of the tables, and somewhat more
(row "spread, wider"): a spread that was judged from few values is in doubt itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from data import read_table
from data.rules import Array
from flexcalc.joints.aims import leaves_plane
from flexcalc.joints.limbs import (
    at_stations,
    corners_of,
    gripping,
    natural_of,
    sides_of,
    softenings_of,
    stations_of,
)
from flexcalc.joints.rows import Limbs
from flexcalc.limb.inputs import Limb, Metal, Setting, Wire
from flexcalc.limb.materials import strength_coefficient, temperature_factor
from flexcalc.limb.printer import Printer
from flexcalc.limb.substances import MOST_BACK_STRESS
from flexcalc.section.section import mass_over_wall, rigidity_over_wall
from flexcalc.spread.likely_hands import bent_by_hand, hand_numbers
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.fibre import flow_of

AXES = (
    "modulus",
    "strength",
    "hardening exponent",
    "wire diameter",
    "wall",
    "infill exponent",
    "back-stress share",
    "relaxation exponent",
    "payload",
    "model's own error",
    "room's temperature",
    "how it is bent",
    "saturation stress",
)


UNRELATED = 4096.0
"""Times the sum of a point's coordinates: the fraction of it has nothing to do with any of them."""


def unit_points(samples: int, seed: int) -> Array:
    """Return points (samples, axes) that fill the unit cube evenly, never on its sides."""
    from scipy.stats import qmc

    power = max(math.ceil(math.log2(samples)), 1)
    points = qmc.Sobol(len(AXES), scramble=True, seed=seed).random_base2(power)[:samples]
    return np.clip(np.asarray(points, dtype=np.float64), 1e-9, 1 - 1e-9)


def drawn_inputs(limb: Limb, setting: Setting, printer: Printer, points: Array) -> dict[str, Array]:
    """Return every uncertain input that matters here, by its name in AXES, arrays (samples,).

    ``modulus``, ``saturation stress``, ``strength``, ``payload`` and ``model's own error`` (wire
    over elastomer) are factors, ``wall`` [m] and ``wire diameter`` [m] sizes, ``room's
    temperature`` in degC, ``how it is bent`` the number of the hand (see `likely_hands`), ``wire
    turning`` 1 where the wire turns freely in its channel and 0 where it cannot, the others plain
    numbers. The limb is one in the setting's room.
    """
    axis = {name: points[:, index] for index, name in enumerate(AXES)}
    elastomer = limb.elastomer
    drawn = {
        "modulus": _factor(axis["modulus"], elastomer.modulus_factor),
        "relaxation exponent": _between(
            axis["relaxation exponent"],
            elastomer.relaxation_exponent,
            elastomer.relaxation_spread,
            (0.0, 0.4),
        ),
        "room's temperature": _between(
            axis["room's temperature"],
            setting.temperature,
            setting.temperature_spread,
            (5.0, 40.0),
        ),
    }
    if math.isfinite(elastomer.saturation_stress):
        drawn["saturation stress"] = _factor(axis["saturation stress"], elastomer.saturation_factor)
    if bent_by_hand(setting):
        drawn["how it is bent"] = hand_numbers(axis["how it is bent"]).astype(np.float64)
    if limb.wall is not None:
        factor = _between(axis["wall"], 1.0, printer.wall_spread, (0.3, 3.0))
        drawn["wall"] = limb.wall * factor
    if limb.wall is not None and limb.infill > 0:
        row = read_table("constants")["infill"]["modulus_exponent"]
        spread = (row.high - row.low) / 2
        drawn["infill exponent"] = _between(axis["infill exponent"], row.value, spread, (1.0, 4.0))
    if setting.payload > 0:
        row = read_table("constants")["payload"]["mass_factor"]
        drawn["payload"] = _factor(axis["payload"], math.sqrt(row.high / row.low))
    if limb.wire is not None:
        drawn |= _drawn_wire(limb.wire, printer, axis)
        deviation = elastomer.model_deviation
        drawn["model's own error"] = elastomer.model_factor * _factor(
            axis["model's own error"], math.exp(deviation)
        )
        if not limb.wire_anchored and leaves_plane(limb, setting):
            # an axis of its own would draw all the other axes anew
            drawn["wire turning"] = np.floor(2 * np.modf(UNRELATED * points.sum(axis=1))[0])
    return drawn


def drawn_stiffness(
    setting: Setting, drawn: Mapping[str, Array]
) -> tuple[Array, Array, Array, Array]:
    """Return modulus and pull of the elastomer, grip of the wire, and modulus over saturation
    stress (samples,), all over the middle's.

    Pull and grip have each half of the model's own error, which is one of wire over elastomer;
    the modulus has none of it. A section softens by modulus over saturation stress alone.
    """
    modulus = drawn["modulus"] * warmed(drawn["room's temperature"], setting.temperature)
    even = np.ones(len(modulus))
    half = np.sqrt(drawn.get("model's own error", even))
    return modulus, modulus / half, half, modulus / drawn.get("saturation stress", even)


def warmed(temperatures: Array, middle: float) -> Array:
    """Return the modulus at temperatures (n,) over that at the ``middle`` one. [degC]"""
    row = read_table("constants")["tpu temperature"]
    at = [5.0, row["reference"].value, 40.0]
    logs = [math.log(temperature_factor(one)[0]) for one in at]
    return np.asarray(np.exp(np.interp(temperatures, at, logs) - np.interp(middle, at, logs)))


def drawn_limbs(limb: Limb, setting: Setting, drawn: Mapping[str, Array]) -> Limbs:
    """Return the limbs that `drawn_inputs` describes."""
    count = len(drawn["modulus"])
    _, pull, grip, stiffening = drawn_stiffness(setting, drawn)
    sections = at_stations(limb, lambda one: _drawn_section(one, drawn))
    return Limbs(
        bundle=None if limb.wire is None else gripping(drawn_bundle(limb.wire, drawn), grip),
        rigidity=np.stack([rigidity * pull for rigidity, _ in sections], axis=1),
        stiffening=stiffening,
        softening=softenings_of(limb),
        relaxation=drawn["relaxation exponent"],
        mass_per_length=np.stack([np.broadcast_to(mass, (count,)) for _, mass in sections], axis=1),
        payload=setting.payload * drawn.get("payload", np.ones(count)),
        stations=stations_of(limb),
        corners=corners_of(limb),
        natural=natural_of(limb),
        inserted_before=limb.inserted_before,
        sides=sides_of(limb, setting, 1 - drawn.get("wire turning", np.zeros(count))),
    )


def _drawn_section(limb: Limb, drawn: Mapping[str, Array]) -> tuple[Array, Array]:
    """Return rigidity [N m2] at the middle modulus and mass per length [kg/m] of one section."""
    if limb.wall is None:
        whole = np.array([1.0])
        return rigidity_over_wall(limb, whole), mass_over_wall(limb, whole)
    mass = mass_over_wall(limb, drawn["wall"])
    if "infill exponent" not in drawn:
        return rigidity_over_wall(limb, drawn["wall"]), mass
    exponent = drawn["infill exponent"]
    return rigidity_over_wall(limb, drawn["wall"], infill_exponent=exponent), mass


def _drawn_wire(wire: Wire, printer: Printer, axis: Mapping[str, Array]) -> dict[str, Array]:
    metal = wire.metal
    size = _between(axis["wire diameter"], 1.0, printer.wire_tolerance, (0.5, 2.0))
    strongest = max(metal.strength_coefficient, metal.yield_stress or 0.0)
    # no metal is stronger than a fifth of its modulus, see Metal
    ceiling = math.log(0.2 * metal.elastic_modulus / strongest)
    spread = math.log(metal.strength_factor)
    drawn = {
        "strength": np.exp(_between(axis["strength"], 0.0, spread, (-20.0, ceiling))),
        "hardening exponent": _between(
            axis["hardening exponent"],
            metal.hardening_exponent,
            metal.exponent_spread,
            (0.0, 0.8),
        ),
        "wire diameter": wire.diameter * size,
    }
    if metal.reversal == "mixed":
        drawn["back-stress share"] = _between(
            axis["back-stress share"],
            metal.back_stress,
            metal.back_stress_spread,
            (0.0, MOST_BACK_STRESS),
        )
    return drawn


def drawn_bundle(wire: Wire, drawn: Mapping[str, Array]) -> Bundle:
    """Return a wire as `drawn_inputs` describes it, arrays (samples,)."""
    metal, exponent = wire.metal, drawn["hardening exponent"]
    share = drawn.get("back-stress share", 0.0 * exponent)
    virgin = (metal.yield_stress or 0.0) * drawn["strength"]
    coefficient = drawn["strength"] * _coefficients(metal, exponent)
    return Bundle(
        flow=flow_of(metal, coefficient, exponent, virgin, share),
        radius=drawn["wire diameter"] / 2,
        strands=np.full_like(exponent, float(wire.strands)),
    )


def _coefficients(metal: Metal, exponent: Array) -> Array:
    """Return K for other exponents: hardening is redrawn at one and the same strength."""
    from scipy.special import xlogy

    middle = metal.hardening_exponent
    if metal.yield_stress is not None:
        # the curves cross at the plastic strain n, where the load on a wire is about greatest
        reference = read_table("constants")["reversal"]["reference_strain"].value
        crossing = max(middle, reference)
        return np.asarray(metal.strength_coefficient * crossing ** (middle - exponent))
    considere = np.exp(exponent - xlogy(exponent, exponent))  # (e/n)^n
    return np.asarray(
        metal.strength_coefficient * considere / strength_coefficient(1e5, middle) * 1e5
    )


def _wider() -> float:
    return read_table("constants")["spread"]["wider"].value


def _factor(points: Array, factor: float) -> Array:
    """Return log-normal factors with median 1 and one standard deviation of x/÷ ``factor``."""
    from scipy.special import ndtri

    return np.asarray(np.exp(_wider() * math.log(factor) * ndtri(points)))


def _between(points: Array, middle: float, spread: float, ends: tuple[float, float]) -> Array:
    """Return normal numbers, cut off (not piled up) at the ends."""
    from scipy.special import ndtr, ndtri

    if spread == 0:
        return np.full_like(points, middle)
    spread = _wider() * spread
    low, high = (float(ndtr((end - middle) / spread)) for end in ends)
    return np.asarray(middle + spread * ndtri(low + (high - low) * points))
