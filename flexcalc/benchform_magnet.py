"""The magnet in a hand as a maker types it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from data import read_table
from data.page.form import FormReader, whole_form
from data.rules import check_choice
from flexcalc.benchform import Form, number, typed_length
from flexcalc.gauge import parse_length
from flexcalc.magnet import PARTNERS

DEFAULTS: dict[str, str] = {
    "magnet_diameter": "6",
    "magnet_thickness": "2",
    "magnet_grade": "N42",
    "magnet_gap": "1",
    "magnet_partner": "disc",
    "magnet_payload": "12",
    "magnet_arm": "20",
}
GRADES = ("N35", "N42", "N52")


@dataclass(frozen=True, kw_only=True)
class MagnetQuestion:
    """A disc magnet in a hand: sizes [m], ``remanence`` [T], what it faces, and what it bears."""

    diameter: float
    thickness: float
    remanence: float
    gap: float
    partner: str
    payload: float
    arm: float


def magnet_question(form: Form) -> MagnetQuestion:
    """Return the magnet typed; RefusedFieldsError with every field that cannot be read."""
    reader = FormReader(whole_form(form, DEFAULTS), {})
    sizes = {
        key: reader.get(f"magnet_{key}", typed_length(f"magnet {key}"))
        for key in ("diameter", "thickness")
    }
    gap, arm = (
        reader.get(f"magnet_{key}", _length_or_zero(f"magnet {key}")) for key in ("gap", "arm")
    )
    payload = reader.get(
        "magnet_payload", lambda text: number("payload", text, least=0.0, most=1e5) / 1000
    )
    grade = reader.get("magnet_grade", lambda text: check_choice("magnet grade", text, GRADES))
    partner = reader.get(
        "magnet_partner", lambda text: check_choice("magnet partner", text, PARTNERS)
    )
    reader.stop_at_errors()
    remanence = read_table("constants")["magnet"][f"remanence_{grade.lower()}"].value
    return MagnetQuestion(
        remanence=remanence, gap=gap, partner=partner, payload=payload, arm=arm, **sizes
    )


def _length_or_zero(name: str) -> Callable[[str], float]:
    return lambda text: 0.0 if text.strip() in ("", "0") else parse_length(text, name)
