"""Several readings of one mix become one: what a fit takes from the log."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from data.rules import Caution
from tinting.log.record import SwatchRecord, Triple, checked_records, swatch_of_record
from tinting.skin.inputs import Swatch

WIDEST_ERROR = 20.0
"""What a `Swatch` can carry at most. [dE]"""
ODD_RATIO = 2.0
"""Duplicates further apart than this many times what their methods explain are told of."""


@dataclass(frozen=True, kw_only=True)
class MeanSwatch:
    """One mix on one base: the mean of its duplicates.

    ``base_lab`` is the mean of the bases, ``swatch`` what a fit takes, ``ids`` the rows behind
    it, ``scatter`` their root-mean-square distance from the mean [dE*ab], 0 for a single one.
    """

    base_name: str
    base_kind: str
    base_lab: Triple
    thickness: float
    backing: str
    swatch: Swatch
    ids: tuple[str, ...]
    scatter: float


@dataclass(frozen=True, kw_only=True)
class MeanSwatches:
    """Mean swatches in the order of their first row, and cautions about rows left out."""

    swatches: tuple[MeanSwatch, ...] = field(repr=False)
    cautions: tuple[Caution, ...]


def folded(name: str) -> str:
    """Return a name as it is compared: "Pond  Blue" and "pond blue" are one."""
    return " ".join(name.split()).casefold()


def one_spelling(records: Iterable[SwatchRecord]) -> list[SwatchRecord]:
    """Return rows in which each dye is spelled as in the first row that names it."""
    first: dict[str, str] = {}
    rows = []
    for record in checked_records(records):
        shares: dict[str, float] = {}
        for name, share in record.shares.items():
            known = first.setdefault(folded(name), name)
            shares[known] = shares.get(known, 0.0) + share
        same = shares == dict(record.shares)
        rows.append(record if same else dataclasses.replace(record, shares=shares))
    return rows


def mean_swatches(records: Iterable[SwatchRecord]) -> MeanSwatches:
    """Return the rows that fits may use, duplicates of a mix made one.

    Duplicates agree in base (name, kind, thickness, backing), shares, coats and alcohol. Rows
    that are not ``used`` are passed over; rows read under another light or for 2 degree are left
    out with a caution.

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
    return MeanSwatches(swatches=tuple(found), cautions=tuple(cautions))


def _mix(record: SwatchRecord) -> tuple[object, ...]:
    shares = tuple(sorted((name, f"{share:.9g}") for name, share in record.shares.items()))
    base = record.base_name, record.base_kind, record.thickness, record.backing
    return (*base, shares, record.coats, record.alcohol_grade)


def _mean(rows: list[SwatchRecord]) -> tuple[MeanSwatch, float]:
    """The mean swatch, and its Birge ratio (1 for a single row)."""
    first = rows[0]
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
        ids=tuple(row.id for row in rows),
        scatter=math.sqrt(float(squares.mean())),
    )
    return found, ratio


def _odd(found: MeanSwatch) -> Caution:
    mix = ", ".join(f"{name} {share:.3g}" for name, share in found.swatch.shares.items())
    text = (
        f"Readings of one mix ({mix or 'no dye'}, coats: {found.swatch.coats}) on "
        f"{found.base_name} lie ΔE {found.scatter:.1f} around their mean, more than their way "
        "of measuring explains: look whether one was mistyped."
    )
    return Caution(key="odd duplicates", text=text)
