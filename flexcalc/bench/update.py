"""Take readings of one number into what was assumed of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flexcalc.bench.readings import Measured

SHOWN = {"Pa": (1e-6, "MPa"), "m": (1e3, "mm"), "1": (1.0, "")}
LARGEST = 5.0  # deviation of a logarithm: a reading that says nothing
SURPRISE = 3.0  # standard errors between what was assumed and what was read


@dataclass(frozen=True, kw_only=True)
class Update:
    """How one number changed, in SI; errors are one standard deviation.

    ``before``, ``measured`` (all readings together) and ``after``; their errors are factors
    (x/÷) where ``as_factor``, else in ``unit``. ``weight``: the share of the readings in
    ``after``, 0 to 1; readings that say nothing have ``measured`` as ``before``, x/÷ 148.
    """

    name: str
    unit: str
    as_factor: bool
    before: float
    before_error: float
    measured: float
    measured_error: float
    after: float
    after_error: float
    weight: float

    @property
    def surprise(self) -> float:
        """Distance between what was assumed and what was read, in standard errors."""
        values, errors = (self.before, self.measured), (self.before_error, self.measured_error)
        if self.as_factor:
            values = (math.log(values[0]), math.log(values[1]))
            errors = (math.log(errors[0]), math.log(errors[1]))
        return abs(values[1] - values[0]) / math.hypot(*errors)

    @property
    def text(self) -> str:
        """The change in words, in the maker's units."""
        before = self._shown(self.before, self.before_error)
        after = self._shown(self.after, self.after_error)
        return f"{self.name}: {before} before, {after} now; the bench counts {self.weight:.0%}"

    def _shown(self, value: float, error: float) -> str:
        scale, unit = SHOWN[self.unit]
        if self.as_factor:
            return f"{value * scale:.3g} {unit}".strip() + f" ×/÷ {error:.2f}"
        return f"{value * scale:.2f} ± {error * scale:.2f} {unit}"


def combined(median: float, error: float, found: list[Measured], most: float = math.inf) -> Update:
    """Take readings of one number into what was assumed of it; precisions add.

    Readings that lie further than SURPRISE combined standard errors away are as likely wrong as
    what was assumed: the spread then is that of both, ``most`` at the widest.
    """
    one = found[0]
    log = one.as_factor
    spread = [math.log(each.error) if log else each.error for each in found]
    values = [math.log(each.value) if log else each.value for each in found]
    precision = sum(1 / s**2 for s in spread)
    mean = sum(v / s**2 for v, s in zip(values, spread, strict=True)) / precision
    before = math.log(median) if log else median
    variance = (math.log(error) if log else error) ** 2
    weight = variance * precision / (1 + variance * precision)
    away, both = mean - before, variance + 1 / precision
    if abs(away) > SURPRISE * math.sqrt(both):
        widest = math.log(most) if log else most
        after = min(math.sqrt(away**2 / 4 + both / 2), max(widest, math.sqrt(variance)))
        middle = (before + away / 2, after)
        readings = (mean, 1 / math.sqrt(precision))
        return update_of(
            one.name, one.unit, log, ((before, math.sqrt(variance)), readings, middle), 0.5
        )
    numbers = (
        (before, math.sqrt(variance)),
        (mean, 1 / math.sqrt(precision)),
        (before + weight * (mean - before), math.sqrt(variance * (1 - weight))),
    )
    return update_of(one.name, one.unit, log, numbers, weight)


def update_of(
    name: str, unit: str, log: bool, numbers: tuple[tuple[float, float], ...], weight: float
) -> Update:
    """Return the update of (value, deviation) before, measured and after, given as logarithms
    where ``log``.
    """
    if log:
        numbers = tuple((math.exp(v), math.exp(min(s, LARGEST))) for v, s in numbers)
    (before, before_error), (measured, measured_error), (after, after_error) = numbers
    return Update(
        name=name,
        unit=unit,
        as_factor=log,
        before=before,
        before_error=before_error,
        measured=measured,
        measured_error=measured_error,
        after=after,
        after_error=after_error,
        weight=weight,
    )
