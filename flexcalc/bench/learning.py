"""Learn from the bench: readings replace what was assumed of filament, metal and printer.

What is assumed is log-normal (median, factor) for moduli and strengths and normal for the
shrinkage of holes. Readings of those are taken in in closed form; a limb bent and let go by
quadrature over the chain factor, wire over elastomer. Where the same verdict is then asked for
again, its band is narrower.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeAlias, TypeVar, cast

from data.rules import Caution, refuse
from flexcalc.bench.bent_limb import (
    Evidence,
    back_stress_slope,
    chain_evidence,
    saturation_slope,
)
from flexcalc.bench.bent_limb import kept_angles as kept_angles
from flexcalc.bench.droop import droop_number as droop_number
from flexcalc.bench.droop import printed_modulus as printed_modulus
from flexcalc.bench.kinked import measured_kink as measured_kink
from flexcalc.bench.mandrel import stronger
from flexcalc.bench.mandrel import wire_strength as wire_strength
from flexcalc.bench.pins import hole_shrinkage as hole_shrinkage
from flexcalc.bench.readings import READINGS, Reading
from flexcalc.bench.readings import Droop as Droop
from flexcalc.bench.readings import KinkTest as KinkTest
from flexcalc.bench.readings import MandrelBend as MandrelBend
from flexcalc.bench.readings import Measured as Measured
from flexcalc.bench.readings import PinGauge as PinGauge
from flexcalc.bench.readings import PoseTest as PoseTest
from flexcalc.bench.update import LARGEST, SURPRISE, combined, update_of
from flexcalc.bench.update import Update as Update
from flexcalc.build.kink import core_kind, kink_radius_of
from flexcalc.limb.inputs import Elastomer, Limb, Metal
from flexcalc.limb.printer import Printer
from flexcalc.limb.substances import (
    MODEL_FACTORS,
    MOST_BACK_STRESS,
    MOST_MODEL_DEVIATION,
    MOST_MODULUS_FACTOR,
    MOST_STRENGTH_FACTOR,
)

Thing = TypeVar("Thing", Elastomer, Metal, Printer, Limb)
Taught: TypeAlias = tuple[Elastomer | Metal | Printer | Limb, list[Update], list[Caution]]

READS: dict[type, tuple[type, ...]] = {
    Elastomer: (Droop,),
    Metal: (MandrelBend,),
    Printer: (PinGauge, KinkTest),
    Limb: (Droop, MandrelBend, PoseTest),
}
CHAIN = "chain factor"
MODEL = "model's own error"
SATURATION = "saturation stress"
LEAST_WEIGHT = 1e-3
LEAST_OF_MODEL = 1 / 3


@dataclass(frozen=True, kw_only=True)
class Learned:
    """What the bench taught: ``updates`` number by number, and what to mistrust."""

    updates: tuple[Update, ...]
    cautions: tuple[Caution, ...]


def updated(thing: Thing, measurements: Reading | Sequence[Reading]) -> Thing:
    """Return a filament, metal, printer or limb as it is known after some readings.

    Parameters
    ----------
    thing : Elastomer, Metal, Printer or Limb
        What is assumed, with its spread.
    measurements : reading or sequence of readings
        Droop for an Elastomer, MandrelBend for a Metal, PinGauge and KinkTest (of limbs of one
        kind of core) for a Printer; a Limb takes
        Droop, MandrelBend and PoseTest for its filament and its wire.

    Returns
    -------
    Elastomer, Metal, Printer or Limb
        The same kind of thing with new medians and spreads; no reading leaves it as it was.

    Raises
    ------
    ValueError
        For a reading that is not of this thing, or that no material explains.

    Notes
    -----
    Precisions add. A pose test says something of wire over elastomer alone; what it shifts is
    shared by modulus, saturation stress, strength, back-stress and the model's own error in
    proportion to their variances; the last keeps what is known of them together. A reading three
    combined standard errors away widens what is known.
    """
    return cast(Thing, _taught(thing, measurements)[0])


def learned(
    thing: Elastomer | Metal | Printer | Limb, measurements: Reading | Sequence[Reading]
) -> Learned:
    """Return how the numbers of a thing change by some readings; arguments as `updated`."""
    _, updates, cautions = _taught(thing, measurements)
    # what a pose test shifts is judged by its own misfit
    for update in itertools.takewhile(lambda one: one.name != CHAIN, updates):
        if update.surprise > SURPRISE:
            text = (
                f"The {update.name} as read lies {update.surprise:.1f} standard errors from what "
                "was assumed, so that either may be wrong and its spread gets wider. Check the "
                "sizes, and that it is the material it is taken for."
            )
            cautions.append(Caution(key="reading surprises", text=text))
    return Learned(updates=tuple(updates), cautions=tuple(cautions))


def _taught(thing: object, measurements: object) -> Taught:
    readings = _checked(thing, measurements)
    if isinstance(thing, Elastomer):
        return _elastomer(thing, readings)
    if isinstance(thing, Metal):
        return _metal(thing, readings)
    if isinstance(thing, Printer):
        return _printer(thing, readings)
    if isinstance(thing, Limb):
        return _limb(thing, readings)
    raise refuse("thing to update", "an Elastomer, Metal, Printer or Limb", type(thing).__name__)


def _checked(thing: object, measurements: object) -> list[Reading]:
    kinds = READS.get(type(thing), ())
    if isinstance(measurements, READINGS):
        measurements = [measurements]
    if not isinstance(measurements, list | tuple):
        raise refuse("measurements", "a reading or a list of them", type(measurements).__name__)
    if len(measurements) > 200:
        raise refuse("measurements", "at most 200", len(measurements))
    for one in measurements:
        if kinds and not isinstance(one, kinds):
            names = ", ".join(kind.__name__ for kind in kinds)
            raise refuse("measurements", f"{names} for this thing", type(one).__name__)
    return list(measurements)


def _elastomer(
    elastomer: Elastomer, readings: list[Reading]
) -> tuple[Elastomer, list[Update], list[Caution]]:
    found = [printed_modulus(one, elastomer) for one in readings if isinstance(one, Droop)]
    if not found:
        return elastomer, [], []
    before = (elastomer.elastic_modulus, elastomer.modulus_factor)
    update = combined(*before, found, MOST_MODULUS_FACTOR)
    known = replace(elastomer, elastic_modulus=update.after, modulus_factor=update.after_error)
    return known, [update], [caution for one in found for caution in one.cautions]


def _metal(metal: Metal, readings: list[Reading]) -> tuple[Metal, list[Update], list[Caution]]:
    found = [wire_strength(one, metal) for one in readings if isinstance(one, MandrelBend)]
    if not found:
        return metal, [], []
    before = (metal.strength_coefficient, metal.strength_factor)
    update = combined(*before, found, MOST_STRENGTH_FACTOR)
    known = stronger(metal, update.after / metal.strength_coefficient)
    known = replace(known, strength_factor=update.after_error)
    return known, [update], [caution for one in found for caution in one.cautions]


def _printer(
    printer: Printer, readings: list[Reading]
) -> tuple[Printer, list[Update], list[Caution]]:
    updates, cautions = [], []
    for side in ("upright", "lying"):
        gauges = [one for one in readings if isinstance(one, PinGauge) and one.orientation == side]
        if not gauges:
            continue
        found = [hole_shrinkage(one, printer) for one in gauges]
        update = combined(printer.hole_shrinkage(side), printer.hole_spread(side), found)
        # the next hole scatters about the mean that the pins tell
        scatter = math.sqrt(sum(one.error**2 for one in gauges) / len(gauges))
        update = replace(update, after_error=math.hypot(update.after_error, scatter))
        numbers: dict[str, Any] = {
            f"hole_shrinkage_{side}": update.after,
            f"hole_spread_{side}": update.after_error,
            "measured": tuple(dict.fromkeys((*printer.measured, side))),
        }
        printer = replace(printer, **numbers)
        updates.append(update)
        cautions += [caution for one in found for caution in one.cautions]
    tests = [one for one in readings if isinstance(one, KinkTest)]
    printer, kinks, doubts = _kinked(printer, tests)
    return printer, updates + kinks, cautions + doubts


def _kinked(printer: Printer, tests: list[KinkTest]) -> tuple[Printer, list[Update], list[Caution]]:
    if not tests:
        return printer, [], []
    core = core_kind(tests[0].limb)
    if any(core_kind(test.limb) != core for test in tests):
        raise refuse("measurements", "kink tests of limbs of one kind of core", "several kinds")
    before = (1.0, kink_radius_of(tests[0].limb).deviation)
    if printer.kink_core == core:
        before = (printer.kink_factor, printer.kink_deviation)
    found = [measured_kink(one, printer) for one in tests]
    update = combined(before[0], math.exp(before[1]), found)
    # the next limb scatters about the mean that these tell
    scatter = sum(one.error**2 for one in tests) / len(tests)
    deviation = math.sqrt(math.log(update.after_error) ** 2 + scatter)
    known = replace(printer, kink_core=core, kink_factor=update.after, kink_deviation=deviation)
    update = replace(update, after_error=math.exp(deviation))
    return known, [update], [caution for one in found for caution in one.cautions]


def _limb(limb: Limb, readings: list[Reading]) -> tuple[Limb, list[Update], list[Caution]]:
    if limb.wire is None and not all(isinstance(one, Droop) for one in readings):
        raise refuse("measurements", "of the filament alone for a limb without a wire", "others")
    elastomer, updates, cautions = _elastomer(limb.elastomer, readings)
    limb = replace(limb, elastomer=elastomer)
    if limb.wire is None:
        return limb, updates, cautions
    metal, more, warned = _metal(limb.wire.metal, readings)
    limb = replace(limb, wire=replace(limb.wire, metal=metal))
    tests = [one for one in readings if isinstance(one, PoseTest)]
    limb, last, doubts = _tested(limb, tests)
    return limb, updates + more + last, cautions + warned + doubts


def _tested(limb: Limb, tests: list[PoseTest]) -> tuple[Limb, list[Update], list[Caution]]:
    """Share what pose tests say between filament, wire, its way back and the model itself."""
    if not tests or limb.wire is None:
        return limb, [], []
    elastomer, metal = limb.elastomer, limb.wire.metal
    softened = _mean([saturation_slope(test, _offset(limb, test, 0.0)) for test in tests])
    offsets = [_offset(limb, test, softened) for test in tests]
    steep = _mean([back_stress_slope(*pair) for pair in zip(tests, offsets, strict=True)])
    parts = {
        "elastic modulus": (-1.0 - softened, math.log(elastomer.modulus_factor)),
        SATURATION: (softened, math.log(elastomer.saturation_factor) if softened else 0.0),
        "strength coefficient": (1.0, math.log(metal.strength_factor)),
        "back-stress share": (steep, metal.back_stress_spread if steep else 0.0),
        MODEL: (1.0, elastomer.model_deviation),
    }
    whole = math.sqrt(sum((side * deviation) ** 2 for side, deviation in parts.values()))
    if whole == 0:
        return limb, [], []
    evidence = chain_evidence(tests, offsets, whole)
    after = {name: _part(side, one, whole, evidence) for name, (side, one) in parts.items()}
    after |= _of_the_model(parts, after, evidence)
    known = replace(
        elastomer,
        elastic_modulus=elastomer.elastic_modulus * math.exp(after["elastic modulus"][0]),
        modulus_factor=math.exp(after["elastic modulus"][1]),
        saturation_stress=elastomer.saturation_stress * math.exp(after[SATURATION][0]),
        saturation_factor=math.exp(after[SATURATION][1])
        if softened
        else elastomer.saturation_factor,
        model_factor=_within(elastomer.model_factor * math.exp(after[MODEL][0]), MODEL_FACTORS),
        model_deviation=min(after[MODEL][1], MOST_MODEL_DEVIATION),
    )
    shift, spread = after["back-stress share"]
    tough = replace(
        stronger(metal, math.exp(after["strength coefficient"][0])),
        strength_factor=math.exp(after["strength coefficient"][1]),
        back_stress=_within(metal.back_stress + shift, (0.0, MOST_BACK_STRESS)),
        back_stress_spread=spread if steep else metal.back_stress_spread,
    )
    values = {
        CHAIN: ("1", True, 1.0),
        "elastic modulus": ("Pa", True, elastomer.elastic_modulus),
        SATURATION: ("Pa", True, elastomer.saturation_stress),
        "strength coefficient": ("Pa", True, metal.strength_coefficient),
        "back-stress share": ("1", False, metal.back_stress),
        MODEL: ("1", True, elastomer.model_factor),
    }
    parts[CHAIN] = (1.0, whole)
    # an odd test says nothing of the numbers, and widens the model's own error
    after[CHAIN] = (evidence.mean, max(evidence.deviation, abs(evidence.odd) / 2))
    updates = [
        _told(name, kind, parts[name][1], after[name])
        for name, kind in values.items()
        if parts[name][1] > 0
    ]
    made = replace(limb, elastomer=known, wire=replace(limb.wire, metal=tough))
    return made, updates, list(evidence.cautions)


def _part(side: float, deviation: float, whole: float, evidence: Evidence) -> tuple[float, float]:
    """Return shift and deviation of one part of the chain factor after the tests.

    A part takes of what the tests say as much as its share of the variance.
    """
    gain = (side * deviation / whole) ** 2
    left = max(1 - (evidence.deviation / whole) ** 2, 0.0)
    shift = gain * evidence.mean / side if side else 0.0
    return shift, deviation * math.sqrt(1 - gain * left)


def _of_the_model(
    parts: dict[str, tuple[float, float]],
    after: dict[str, tuple[float, float]],
    evidence: Evidence,
) -> dict[str, tuple[float, float]]:
    """Return shift and deviation of the model's own error and of the saturation stress, which are
    asked for in sums alone.

    What the tests tell of wire over elastomer as a whole is so kept though filament and wire
    are known each by itself: both take what these leave, but never less than a third of
    themselves, for another bend is not quite the same. An odd test is as likely wrong as the model.
    """
    alone = (MODEL, SATURATION)
    others = sum(
        (side * after[name][1]) ** 2 for name, (side, _) in parts.items() if name not in alone
    )
    both = sum((parts[name][0] * parts[name][1]) ** 2 for name in alone)
    left = math.sqrt(max(evidence.deviation**2 - others, 0.0) / both) if both else 0.0
    found = {}
    for name in alone:
        shift, deviation = after[name]
        found[name] = (shift, min(max(left, LEAST_OF_MODEL) * parts[name][1], deviation))
    if evidence.odd:
        shift, deviation = found[MODEL]
        wider = math.hypot(max(deviation, parts[MODEL][1]), evidence.odd / 2)
        found[MODEL] = (shift + evidence.odd / 2, wider)
    return found


def _told(
    name: str, kind: tuple[str, bool, float], deviation: float, after: tuple[float, float]
) -> Update:
    """Return how a number changed, with the reading that would have changed it so."""
    unit, as_factor, value = kind
    before = math.log(value) if as_factor else value
    shift, now = after
    weight = max(1 - (now / deviation) ** 2, 0.0)
    reading = (before, LARGEST)
    if weight > LEAST_WEIGHT:
        reading = (before + shift / weight, deviation * math.sqrt((1 - weight) / weight))
    numbers = ((before, deviation), reading, (before + shift, now))
    return update_of(name, unit, as_factor, numbers, weight)


def _within(value: float, ends: tuple[float, float]) -> float:
    return min(max(value, ends[0]), ends[1])


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _offset(limb: Limb, test: PoseTest, softened: float) -> float:
    """Logarithm of wire over elastomer of the limb, over that of the tested one.

    ``softened`` from `saturation_slope`: what the saturation stress has of the elastomer's pull.
    """
    if limb.wire is None or test.limb.wire is None:
        return 0.0
    metal, other = limb.wire.metal, test.limb.wire.metal
    softer = math.log(test.limb.elastomer.elastic_modulus / limb.elastomer.elastic_modulus)
    pull = (1 + softened) * softer
    if softened:
        stresses = (one.elastomer.saturation_stress for one in (test.limb, limb))
        pull -= softened * math.log(next(stresses) / next(stresses))
    missed = limb.elastomer.model_factor / test.limb.elastomer.model_factor
    return pull + math.log(metal.strength_coefficient / other.strength_coefficient * missed)
