"""Rows of the log against what is predicted for them, by learned dyes or by estimates."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from data.rules import check_kind
from tinting.choices import Choices
from tinting.colorimetry import delta_e
from tinting.inputs import Base, Dye
from tinting.learned import MARK
from tinting.skin import tint
from tinting.spectrum import base_from_lab
from tinting.swatches import SwatchRecord, Triple, checked_records

LEARNED, ESTIMATED = "learned", "estimate"


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """What a row should read: CIELAB as the row is read, ΔE00 from what was measured [dE], and
    whether its dyes are "learned" or an "estimate"."""

    lab: Triple
    difference: float
    source: str


def predictions(records: Iterable[SwatchRecord], choices: Choices) -> dict[str, Prediction]:
    """Return predictions by id, for the rows whose base and dyes are all known.

    A row that the fit used is predicted by that fit, so its difference is what the fit leaves;
    for a row left out it is a test of the fit.
    """
    check_kind("choices", choices, Choices, "Choices")
    bases: dict[tuple[object, ...], Base | None] = {}
    found = {}
    for record in checked_records(records):
        base = _base(record, choices, bases)
        mix = _mix(record, choices)
        if base is None or mix is None:
            continue
        lab = tint(base, mix, record.coats).lab(record.light, record.observer)
        learned = all(dye.name.endswith(MARK) for dye, _ in mix)
        found[record.id] = Prediction(
            lab=(float(lab[0]), float(lab[1]), float(lab[2])),
            difference=float(delta_e(lab, record.lab)),
            source=LEARNED if learned else ESTIMATED,
        )
    return found


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


def _mix(record: SwatchRecord, choices: Choices) -> list[tuple[Dye, float]] | None:
    known = {dye.name: dye for dye in choices.all_dyes(_place(record, choices))}
    mix = []
    for name, share in record.shares.items():
        dye = known.get(f"{name}{MARK}", known.get(name))
        if dye is None:
            return None
        mix.append((dye, share))
    return mix
