"""Rows of the log against what is predicted for them, by learned dyes or by estimates."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from data.rules import check_kind
from tinting.colour.colorimetry import delta_e, lab_from_xyz, weights
from tinting.colour.grid import BANDS
from tinting.forms.choices import Choices
from tinting.learn.learned import MARK
from tinting.log.record import SwatchRecord, Triple, checked_records, folded
from tinting.skin.dyed import dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye, base_from_lab
from tinting.skin.uptake import skin_absorption

LEARNED, ESTIMATED = "learned", "estimate"
DOUBTED = 2.0
"""A reading this many bands from what was expected is asked about."""


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """What a row should read: CIELAB as the row is read, ΔE00 from what was measured [dE], and
    whether its dyes are "learned" or an "estimate"."""

    lab: Triple
    difference: float
    source: str


def predictions(records: Iterable[SwatchRecord], choices: Choices) -> dict[str, Prediction]:
    """Return predictions by id, for the rows whose base and dyes are all known.

    A row that the fit used is predicted by the other swatches (leave one out, straight on from the
    fit), where there are others of its dyes; so every difference is a test of the fit.
    """
    check_kind("choices", choices, Choices, "Choices")
    rows = checked_records(records)
    bases: dict[tuple[object, ...], Base | None] = {}
    known: dict[str, dict[str, Dye]] = {}
    alike: dict[tuple[object, ...], _Alike] = {}
    for number, record in enumerate(rows):
        base = _base(record, choices, bases)
        mix = _mix(record, choices, known)
        if base is None or mix is None:
            continue
        key = (id(base), *(id(dye) for dye in mix), record.light, record.observer)
        alike.setdefault(key, _Alike(base=base, dyes=mix, numbers=[])).numbers.append(number)
    found: dict[int, Prediction] = {}
    for same in alike.values():
        found |= zip(same.numbers, same.predicted([rows[k] for k in same.numbers]), strict=True)
    for number in found:
        others = choices.learned.left_out.get(rows[number].id)
        if others is not None:
            away = float(delta_e(others, rows[number].lab))
            found[number] = replace(found[number], lab=others, difference=away)
    return {rows[number].id: found[number] for number in sorted(found)}


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What a row should read before it is added, beside what was measured.

    ``lab`` and ``difference`` [dE] as in `Prediction`, ``radius`` that of the band which holds 80 %
    of such readings, ``source`` "learned" or "estimate". ``doubtful`` says that the reading lies
    so far off that its dye, its mix or the reading itself is to be looked at; ``text`` is the
    sentence.
    """

    lab: Triple
    difference: float
    radius: float
    source: str
    doubtful: bool
    text: str


def expected(record: SwatchRecord, choices: Choices) -> Expected | None:
    """Return what a row that is not yet in the log should read, None where nobody knows.

    Its band holds the error of its reading, too; beyond twice the band it is doubtful.
    """
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    check_kind("choices", choices, Choices, "Choices")
    base = _base(record, choices, {})
    mix = _mix(record, choices, {})
    found = predictions([record], choices).get(record.id)
    if base is None or mix is None or found is None:
        return None
    radius = record.error
    if mix and record.coats:
        shown = tint(base, list(zip(mix, record.shares.values(), strict=True)), record.coats)
        radius = choices.band_of(shown, record.error)
    off = found.difference > DOUBTED * radius
    colour = " ".join(f"{value:.1f}" for value in found.lab)
    text = f"Expected {colour}; {found.difference:.0f} ΔE00 off"
    text += ": the right dye, mix and coats?" if off else f", 80 % band {radius:.0f} ΔE00."
    return Expected(
        lab=found.lab,
        difference=found.difference,
        radius=radius,
        source=found.source,
        doubtful=off,
        text=text,
    )


@dataclass(frozen=True, kw_only=True)
class _Alike:
    """Rows of one base, the same dyes, light and observer, by their ``numbers``."""

    base: Base
    dyes: tuple[Dye, ...]
    numbers: list[int]

    def predicted(self, rows: Sequence[SwatchRecord]) -> list[Prediction]:
        """Return what these rows should read."""
        light, observer = rows[0].light, rows[0].observer
        seen = np.broadcast_to(self.base.reflectance, (len(rows), BANDS))
        if self.dyes:
            shares = [list(record.shares.values()) for record in rows]
            coats = [record.coats for record in rows]
            seen = dyed_reflectance(skin_absorption(shares, coats, self.dyes), self.base)
        labs = lab_from_xyz(seen @ weights(light, observer), light, observer)
        away = delta_e(labs, [record.lab for record in rows])
        learned = all(dye.name.endswith(MARK) for dye in self.dyes)
        return [
            Prediction(
                lab=(lightness, a, b),
                difference=difference,
                source=LEARNED if learned else ESTIMATED,
            )
            for (lightness, a, b), difference in zip(labs.tolist(), away.tolist(), strict=True)
        ]


def _base(
    record: SwatchRecord, choices: Choices, bases: dict[tuple[object, ...], Base | None]
) -> Base | None:
    learned = _place(record, choices)
    if learned in choices.learned.bases:
        return choices.learned.bases[learned]
    key = (record.base_lab, record.base_kind, record.light, record.observer)
    if key not in bases:
        try:
            bases[key] = base_from_lab(
                record.base_lab, record.base_kind, record.light, record.observer
            )
        except ValueError:
            bases[key] = None
    return bases[key]


def _place(record: SwatchRecord, choices: Choices) -> str:
    """Name of the row's base in the fit; for a row left out, that of its like, if it is there."""
    if record.id in choices.learned.places:
        return f"{choices.learned.places[record.id]}{MARK}"
    name = f"{record.base_name}{MARK}"
    like = choices.learned.bases.get(name)
    alike = like is not None and like.kind == record.base_kind
    return name if alike and (record.light, record.observer) == ("D65", 10) else ""


def _mix(
    record: SwatchRecord, choices: Choices, known: dict[str, dict[str, Dye]]
) -> tuple[Dye, ...] | None:
    """Return the dyes of a row; ``known`` by the place they have in the fit is filled here."""
    place = _place(record, choices)
    if place not in known:
        known[place] = {folded(dye.name): dye for dye in choices.all_dyes(place)}
    dyes = known[place]
    mix = [dyes.get(folded(f"{name}{MARK}"), dyes.get(folded(name))) for name in record.shares]
    return None if None in mix else tuple(dye for dye in mix if dye is not None)
