"""Several readings of one mix become one: what a fit takes from the log.

Readings after half an hour, a day and a week are no repeats but a series: a tint goes on drying,
and the colour it settled at counts.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from data.rules import Caution, check_number
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array
from tinting.log.record import (
    LONGEST_DRYING,
    SwatchRecord,
    Triple,
    checked_records,
    folded,
    gloss_of,
    swatch_of_record,
)
from tinting.skin.inputs import Swatch

WIDEST_ERROR = 20.0
"""What a `Swatch` can carry at most. [dE]"""
ODD_RATIO = 2.0
"""Duplicates further apart than this many times what their methods explain are told of."""
LATER, SOON = 2.0, 600.0
"""Dried so many times as long is another point of a series, counted from ten minutes on. [s]"""
SHOWN_DRIFT = 1.0
"""A drift from here on is told of. [dE]"""


@dataclass(frozen=True, kw_only=True)
class MeanSwatch:
    """One mix on one base: the mean of its duplicates.

    ``base_lab`` is the mean of the bases, ``specular`` the surface reflection in its readings by
    their geometry, ``swatch`` what a fit takes, ``ids`` the rows behind it, ``scatter`` their
    root-mean-square distance from the mean [dE*ab], 0 for a single one. ``series`` holds the
    drying times [s] and the mean CIELAB at each, shortest first: ``swatch`` is the last of them.
    """

    base_name: str
    base_kind: str
    base_lab: Triple
    thickness: float
    backing: str
    specular: float
    swatch: Swatch
    ids: tuple[str, ...]
    scatter: float
    series: tuple[tuple[float, Triple], ...]

    @property
    def drift(self) -> float:
        """CIEDE2000 from the first reading of a series to the settled one, 0 for one reading."""
        return float(delta_e(self.series[0][1], self.series[-1][1]))


@dataclass(frozen=True, kw_only=True)
class MeanSwatches:
    """Mean swatches in the order of their first row, and cautions about rows left out."""

    swatches: tuple[MeanSwatch, ...] = field(repr=False)
    cautions: tuple[Caution, ...]


def one_spelling(records: Iterable[SwatchRecord]) -> list[SwatchRecord]:
    """Return rows in which each dye and base is spelled as in the first row that names it."""
    first: dict[str, str] = {}
    bases: dict[str, str] = {}
    rows = []
    for record in checked_records(records):
        shares: dict[str, float] = {}
        for name, share in record.shares.items():
            known = first.setdefault(folded(name), name)
            shares[known] = shares.get(known, 0.0) + share
        base = bases.setdefault(folded(record.base_name), record.base_name)
        same = shares == dict(record.shares) and base == record.base_name
        spelled = dataclasses.replace(record, shares=shares, base_name=base)
        rows.append(record if same else spelled)
    return rows


def mean_swatches(records: Iterable[SwatchRecord]) -> MeanSwatches:
    """Return the rows that fits may use, duplicates of a mix made one.

    Duplicates agree in base (name, kind, thickness, backing, gloss in the reading), shares, coats
    and alcohol. Read again after twice the drying time and more they are a series: the last of
    them counts, and how far the colour drifted is told. Rows that are not ``used`` are passed
    over; rows read under another light or for 2 degree are left out with a caution.

    Notes
    -----
    Mean weighted by 1/error². Its error is that of the weighted mean, widened by the Birge ratio
    where the duplicates scatter more than their methods explain (R. T. Birge, Phys. Rev. 40, 207
    (1932), from memory), and at least half of the best method's own error: readings with one
    device share its bias, which no mean takes away (the half is an estimate).
    """
    groups: dict[tuple[object, ...], list[SwatchRecord]] = {}
    left_out = 0
    for record in checked_records(records):
        if not record.used:
            continue
        if (record.light, record.observer) != ("D65", 10):
            left_out += 1
            continue
        groups.setdefault(_mix(record), []).append(record)
    cautions = []
    if left_out:
        text = f"Rows not read under D65 for 10 degree, left out of the fit: {left_out}."
        cautions.append(Caution(key="other light", text=text))
    found = []
    for rows in groups.values():
        swatch, ratio = _mean(rows)
        found.append(swatch)
        if ratio > ODD_RATIO:
            cautions.append(_odd(swatch))
    cautions += _drifts(found)
    return MeanSwatches(swatches=tuple(found), cautions=tuple(cautions))


def _mix(record: SwatchRecord) -> tuple[object, ...]:
    shares = tuple(sorted((name, f"{share:.9g}") for name, share in record.shares.items()))
    base = record.base_name, record.base_kind, record.thickness, record.backing
    return (*base, gloss_of(record.geometry), shares, record.coats, record.alcohol_grade)


def _series(rows: list[SwatchRecord]) -> list[list[SwatchRecord]]:
    """The rows by how long they dried: those of one time together, shortest first."""
    parts: list[list[SwatchRecord]] = []
    for row in sorted(rows, key=lambda row: row.drying_time):
        begun = max(parts[-1][0].drying_time, SOON) if parts else 0.0
        if not parts or row.drying_time >= LATER * begun:
            parts.append([])
        parts[-1].append(row)
    return parts


def _pooled(rows: list[SwatchRecord]) -> tuple[Array, float, float, float]:
    """Weighted mean CIELAB (3,), its error, root-mean-square distance and Birge ratio."""
    labs = np.array([row.lab for row in rows])
    errors = np.array([row.error for row in rows])
    weights = 1 / errors**2
    mean = weights @ labs / weights.sum()
    squares = ((labs - mean) ** 2).sum(axis=1)
    # each reading has three coordinates, and its error is that of the whole distance
    freedom = max(len(rows) - 1, 1)
    ratio = math.sqrt(float(weights @ squares) / freedom) if len(rows) > 1 else 1.0
    error = max(1.0, ratio) / math.sqrt(float(weights.sum()))
    error = min(max(error, float(errors.min()) / 2), WIDEST_ERROR)
    return mean, error, math.sqrt(float(squares.mean())), ratio


def _mean(rows: list[SwatchRecord]) -> tuple[MeanSwatch, float]:
    """The mean swatch, and its Birge ratio (1 for a single row)."""
    parts = _series(rows)
    mean, error, scatter, ratio = _pooled(parts[-1])
    first = rows[0]
    series = []
    for part in parts:
        lightness, a, b = (float(value) for value in _pooled(part)[0])
        series.append((part[0].drying_time, (lightness, a, b)))
    base = np.mean([row.base_lab for row in rows], axis=0)
    one = swatch_of_record(first)
    swatch = Swatch(shares=one.shares, coats=one.coats, lab=mean, error=error)
    found = MeanSwatch(
        base_name=first.base_name,
        base_kind=first.base_kind,
        base_lab=(float(base[0]), float(base[1]), float(base[2])),
        thickness=first.thickness,
        backing=first.backing,
        swatch=swatch,
        specular=gloss_of(first.geometry),
        ids=tuple(row.id for row in rows),
        scatter=scatter,
        series=tuple(series),
    )
    return found, ratio


def drying_words(seconds: float) -> str:
    """Return a drying time in words, "30 min", "1 day"."""
    time = check_number("drying time", seconds, least=0.0, most=LONGEST_DRYING, unit="s")
    for word, size in (("week", 604800.0), ("day", 86400.0), ("h", 3600.0)):
        if time >= 0.99 * size:
            number = f"{time / size:.2g}"
            return f"{number} {word}{'s' if word != 'h' and number != '1' else ''}"
    return f"{time / 60:.3g} min"


def _drifts(found: list[MeanSwatch]) -> list[Caution]:
    """What is told of colours that went on changing, and of those read too early to know."""
    moved = [each for each in found if each.drift >= SHOWN_DRIFT]
    if not moved:
        return []
    told = [
        f"{_mix_words(each)} by {each.drift:.1f} ΔE00 from {drying_words(each.series[0][0])} to "
        f"{drying_words(each.series[-1][0])}"
        for each in moved
    ]
    text = "Went on changing while drying: " + "; ".join(told) + ". The last reading counts."
    cautions = [Caution(key="drift", text=text)]
    settled = min(each.series[-1][0] for each in moved)
    early = sum(each.series[-1][0] * LATER <= settled for each in found)
    if early:
        text = (
            f"Read only before {drying_words(settled)}, while others went on changing: {early}. "
            "Read them again, or expect them to move by as much."
        )
        cautions.append(Caution(key="read early", text=text))
    return cautions


def _mix_words(found: MeanSwatch) -> str:
    mix = ", ".join(f"{name} {share:.3g}" for name, share in found.swatch.shares.items())
    return f"{mix or 'no dye'} in {found.swatch.coats} coats on {found.base_name}"


def _odd(found: MeanSwatch) -> Caution:
    mix = ", ".join(f"{name} {share:.3g}" for name, share in found.swatch.shares.items())
    text = (
        f"Readings of one mix ({mix or 'no dye'}, coats: {found.swatch.coats}) on "
        f"{found.base_name} lie {found.scatter:.1f} in CIELAB around their mean, more than their "
        "way of measuring explains: look whether one was mistyped."
    )
    return Caution(key="odd duplicates", text=text)
