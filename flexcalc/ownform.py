"""Own filaments, metals and printers as a maker types them, and back into texts to edit."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace

from data.page.form import FormReader, whole_form
from data.rules import check_kind, refuse
from flexcalc.benchform import number
from flexcalc.gauge import parse_length
from flexcalc.inputs import Elastomer, Metal
from flexcalc.materials import (
    elastomer_names,
    load_elastomer,
    modulus_from_shore,
    strength_coefficient,
    tensile_strength,
)
from flexcalc.own import Own, find_metal
from flexcalc.printer import ORIENTATIONS, Printer
from flexcalc.readings import bench_constant

Form = Mapping[str, str]
DEFAULTS: dict[str, str] = {
    "elastomer_name": "",
    "elastomer_stiffness": "85A",
    "elastomer_factor": "1.7",
    "elastomer_density": "1.2",
    "metal_name": "",
    "metal_base": "annealed aluminium 1100",
    "metal_strength": "90",
    "metal_exponent": "0.2",
    "metal_factor": "1.12",
    "printer_name": "",
    "printer_bead": "0.45",
    "printer_lying": "",
    "printer_upright": "",
}
BLAME = {
    "elastomer name": "elastomer_name",
    "elastomer elastic modulus": "elastomer_stiffness",
    "elastomer density": "elastomer_density",
    "elastomer modulus factor": "elastomer_factor",
    "metal name": "metal_name",
    "metal strength": "metal_strength",
    "tensile strength": "metal_strength",
    "metal strength coefficient": "metal_strength",
    "hardening exponent": "metal_exponent",
    "metal hardening exponent": "metal_exponent",
    "metal strength factor": "metal_factor",
    "printer name": "printer_name",
    "bead width": "printer_bead",
    "reference hole": "printer_bead",
    "hole shrinkage lying": "printer_lying",
    "hole shrinkage upright": "printer_upright",
}
STIFFNESS = "a Shore hardness such as 85A or 55D, or a modulus such as 35 MPa"
_STIFFNESS = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>a|d|mpa)", re.IGNORECASE)


def typed_elastomer(form: Form, own: Mapping[str, Own]) -> Elastomer:
    """Return the filament typed.

    What is not typed is taken from the own entry of that name, else from the tabled filament of
    the nearest modulus. RefusedFieldsError with every field that cannot be used.
    """
    reader = _reader(form)
    known = _known(own)
    modulus = reader.get("elastomer_stiffness", read_stiffness)
    density = reader.get("elastomer_density", lambda text: 1e3 * number("elastomer density", text))
    factor = reader.get("elastomer_factor", lambda text: number("elastomer modulus factor", text))
    reader.stop_at_errors()
    name = reader.form["elastomer_name"].strip()
    base = known.get(name)
    if not isinstance(base, Elastomer):
        tabled = [load_elastomer(each) for each in elastomer_names()]
        base = min(tabled, key=lambda one: abs(math.log(one.elastic_modulus / modulus)))
    made = reader.build(
        "elastomer_name",
        lambda: replace(
            base, name=name, elastic_modulus=modulus, density=density, modulus_factor=factor
        ),
    )
    reader.stop_at_errors()
    return made


def typed_metal(form: Form, own: Mapping[str, Own]) -> Metal:
    """Return the wire metal typed, what is not typed from its base; as `typed_elastomer`."""
    reader = _reader(form)
    entries = _known(own)
    base = reader.get("metal_base", find_metal)
    strength = reader.get("metal_strength", lambda text: 1e6 * number("tensile strength", text))
    exponent = reader.get("metal_exponent", lambda text: number("hardening exponent", text))
    factor = reader.get("metal_factor", lambda text: number("metal strength factor", text))
    reader.stop_at_errors()
    coefficient = reader.build("metal_strength", lambda: strength_coefficient(strength, exponent))
    reader.stop_at_errors()
    name = reader.form["metal_name"].strip()
    known = entries.get(name)
    if isinstance(known, Metal):
        base = known
    made = reader.build(
        "metal_name",
        lambda: replace(
            base,
            name=name,
            strength_coefficient=coefficient,
            hardening_exponent=exponent,
            yield_stress=None,
            strength_factor=factor,
        ),
    )
    reader.stop_at_errors()
    return made


def typed_printer(form: Form, own: Mapping[str, Own]) -> Printer:
    """Return the printer typed; a shrinkage that is typed counts as measured, an empty one not."""
    reader = _reader(form)
    name = reader.form["printer_name"].strip()
    known = _known(own).get(name)
    base = known if isinstance(known, Printer) else Printer()
    bead = reader.get("printer_bead", lambda text: parse_length(text, "bead width"))
    changes: dict[str, object] = {"name": name}
    measured = []
    for side in ORIENTATIONS:
        key = f"printer_{side}"
        if not reader.form[key].strip():
            for part in ("shrinkage", "spread"):
                changes[f"hole_{part}_{side}"] = getattr(Printer(), f"hole_{part}_{side}")
            continue
        shrinkage = reader.get(
            key,
            lambda text, side=side: _signed(f"hole shrinkage {side}", text),  # type: ignore[misc]
        )
        same = reader.form[key].strip() == _mm(base.hole_shrinkage(side))
        spread = base.hole_spread(side) if same else bench_constant("hole_error")
        changes |= {f"hole_shrinkage_{side}": shrinkage, f"hole_spread_{side}": spread}
        measured.append(side)
    reader.stop_at_errors()
    changes |= {"bead_width": bead, "measured": tuple(measured)}
    made = reader.build("printer_name", lambda: replace(base, **changes))  # type: ignore[arg-type]
    reader.stop_at_errors()
    return made


def read_stiffness(text: str) -> float:
    """Return the modulus that a Shore hardness or a modulus typed stands for. [Pa]"""
    check_kind("elastomer stiffness", text, str, STIFFNESS)
    found = _STIFFNESS.fullmatch(text.strip())
    if found is None:
        raise refuse("elastomer stiffness", STIFFNESS, text)
    value, unit = number("elastomer stiffness", found["number"]), found["unit"].upper()
    return value * 1e6 if unit == "MPA" else modulus_from_shore(value, unit)


def texts_of_own(thing: Own) -> dict[str, str]:
    """Return the texts that would make an own entry, to edit it."""
    if isinstance(thing, Elastomer):
        return {
            "elastomer_name": thing.name,
            "elastomer_stiffness": f"{thing.elastic_modulus / 1e6:.6g} MPa",
            "elastomer_factor": f"{thing.modulus_factor:.6g}",
            "elastomer_density": f"{thing.density / 1e3:.6g}",
        }
    if isinstance(thing, Metal):
        return {
            "metal_name": thing.name,
            "metal_strength": f"{tensile_strength(thing) / 1e6:.6g}",
            "metal_exponent": f"{thing.hardening_exponent:.6g}",
            "metal_factor": f"{thing.strength_factor:.6g}",
        }
    check_kind("own thing", thing, Printer, "an Elastomer, a Metal or a Printer")
    shrinkages = {
        f"printer_{side}": _mm(thing.hole_shrinkage(side)) if side in thing.measured else ""
        for side in ORIENTATIONS
    }
    return {"printer_name": thing.name, "printer_bead": _mm(thing.bead_width), **shrinkages}


def _reader(form: Form) -> FormReader:
    return FormReader(whole_form(form, DEFAULTS), BLAME)


def _known(own: object) -> Mapping[str, Own]:
    check_kind("own things", own, Mapping, "a mapping of them by name")
    return own  # type: ignore[return-value]


def _signed(name: str, text: str) -> float:
    stripped = text.strip()
    sign = -1.0 if stripped.startswith(("-", "−")) else 1.0
    bare = stripped.lstrip("-−")
    return 0.0 if bare == "0" else sign * parse_length(bare, name)


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g}"
