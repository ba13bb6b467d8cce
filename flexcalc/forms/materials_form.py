"""Own filaments, metals and printers as a maker types them, and back into texts to edit."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from data.page.form import (
    Field,
    FormReader,
    default_form,
    fields_by_key,
    measured,
    number,
    reads,
    typed_number,
)
from data.page.measures import DENSITIES, MEGAPASCALS
from data.rules import check_kind, refuse
from flexcalc.bench.readings import bench_constant
from flexcalc.forms.limb_form import found_by, length, signed_length
from flexcalc.limb.inputs import Elastomer, Metal
from flexcalc.limb.materials import (
    elastomer_names,
    load_elastomer,
    modulus_from_shore,
    strength_coefficient,
    tensile_strength,
)
from flexcalc.limb.own_materials import Own, find_metal
from flexcalc.limb.printer import ORIENTATIONS, Printer

Form = Mapping[str, str]
STIFFNESS = "a Shore hardness such as 85A or 55D, or a modulus such as 35 MPa"
_STIFFNESS = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>a|d|mpa)", re.IGNORECASE)


@reads(example="85A, 55D or 35 MPa", rule=STIFFNESS)
def read_stiffness(text: str, name: str) -> float:
    """Return the modulus that a Shore hardness or a modulus typed stands for. [Pa]"""
    check_kind(name, text, str, STIFFNESS)
    found = _STIFFNESS.fullmatch(text.strip())
    if found is None:
        raise refuse(name, STIFFNESS, text)
    value, unit = typed_number(found["number"], name), found["unit"].upper()
    return value * 1e6 if unit == "MPA" else modulus_from_shore(value, unit)


def _name(text: str, name: str) -> str:
    return text.strip()


@reads(times=1e3, unit="mm", example="0.15 or 0.006 in")
def _shrinkage(text: str, name: str) -> float | None:
    """Return how much smaller holes come out [m], None where it is not measured."""
    return signed_length(text, name) if text.strip() else None


_any = number(least=-1e12, most=1e12)
_NOT_MEASURED = "mm on the diameter; empty: not measured"
ELASTOMER = (
    Field(key="elastomer_name", label="Name of the filament", read=_name,
          becomes=("elastomer name",)),
    Field(key="elastomer_stiffness", label="Hardness or modulus", unit="85A, 55D or 35 MPa",
          default="85A", read=read_stiffness,
          becomes=("elastomer stiffness", "elastomer elastic modulus")),
    Field(key="elastomer_factor", label="Known within a factor of",
          unit="×/÷; 1.9 from hardness alone", default="1.9", read=_any,
          becomes=("elastomer modulus factor",)),
    Field(key="elastomer_density", label="Density", unit="g/cm³", default="1.2",
          read=measured(DENSITIES, least=-1e15, most=1e15, unit="g/cm³", example="1.2"),
          becomes=("elastomer density",)),
)  # fmt: skip
METAL = (
    Field(key="metal_name", label="Name of the wire metal", read=_name, becomes=("metal name",)),
    Field(key="metal_base", label="Like", default="annealed aluminium 1100",
          read=found_by(find_metal)),
    Field(key="metal_strength", label="Tensile strength", unit="MPa", default="90",
          read=measured(MEGAPASCALS, least=-1e18, most=1e18, unit="MPa", example="90 or 13 ksi"),
          becomes=("tensile strength", "metal strength", "metal strength coefficient")),
    Field(key="metal_exponent", label="Hardening exponent n", default="0.2", read=_any,
          becomes=("hardening exponent", "metal hardening exponent")),
    Field(key="metal_factor", label="Strength known within a factor of", unit="×/÷",
          default="1.12", read=_any, becomes=("metal strength factor",)),
)  # fmt: skip
PRINTER = (
    Field(key="printer_name", label="Name of the printer", read=_name, becomes=("printer name",)),
    Field(key="printer_bead", label="Bead width", unit="mm", default="0.45", read=length,
          becomes=("bead width", "reference hole")),
    Field(key="printer_lying", label="Lying holes shrink by", unit=_NOT_MEASURED,
          read=_shrinkage, becomes=("hole shrinkage lying",)),
    Field(key="printer_upright", label="Upright holes shrink by", unit=_NOT_MEASURED,
          read=_shrinkage, becomes=("hole shrinkage upright",)),
)  # fmt: skip
FIELDS = fields_by_key([*ELASTOMER, *METAL, *PRINTER])
DEFAULTS = default_form(FIELDS)


def typed_elastomer(form: Form, own: Mapping[str, Own]) -> Elastomer:
    """Return the filament typed.

    What is not typed is taken from the own entry of that name, else from the tabled filament of
    the nearest modulus. RefusedFieldsError with every field that cannot be used.
    """
    known = _known(own)
    reader, value = _read(form, ELASTOMER)
    modulus, name = value["elastomer_stiffness"], value["elastomer_name"]
    base = known.get(name)
    if not isinstance(base, Elastomer):
        tabled = [load_elastomer(each) for each in elastomer_names()]
        base = min(tabled, key=lambda one: abs(math.log(one.elastic_modulus / modulus)))
    return reader.built(
        "elastomer_name",
        lambda: replace(
            base,
            name=name,
            elastic_modulus=modulus,
            density=value["elastomer_density"],
            modulus_factor=value["elastomer_factor"],
        ),
    )


def typed_metal(form: Form, own: Mapping[str, Own]) -> Metal:
    """Return the wire metal typed, what is not typed from its base; as `typed_elastomer`."""
    entries = _known(own)
    reader, value = _read(form, METAL)
    strength, exponent, name = (value[f"metal_{key}"] for key in ("strength", "exponent", "name"))
    coefficient = reader.built("metal_strength", lambda: strength_coefficient(strength, exponent))
    known = entries.get(name)
    base = known if isinstance(known, Metal) else value["metal_base"]
    made: Metal = reader.built(
        "metal_name",
        lambda: replace(
            base,
            name=name,
            strength_coefficient=coefficient,
            hardening_exponent=exponent,
            yield_stress=None,
            strength_factor=value["metal_factor"],
        ),
    )
    return made


def typed_printer(form: Form, own: Mapping[str, Own]) -> Printer:
    """Return the printer typed; a shrinkage that is typed counts as measured, an empty one not."""
    entries = _known(own)
    reader, value = _read(form, PRINTER)
    known = entries.get(value["printer_name"])
    base = known if isinstance(known, Printer) else Printer()
    changes: dict[str, Any] = {"name": value["printer_name"], "bead_width": value["printer_bead"]}
    measured = []
    for side in ORIENTATIONS:
        shrinkage = value[f"printer_{side}"]
        if shrinkage is None:
            shrinkage, spread = Printer().hole_shrinkage(side), Printer().hole_spread(side)
        else:
            measured.append(side)
            same = reader.form[f"printer_{side}"].strip() == _mm(base.hole_shrinkage(side))
            spread = base.hole_spread(side) if same else bench_constant("hole_error")
        changes |= {f"hole_shrinkage_{side}": shrinkage, f"hole_spread_{side}": spread}
    changes["measured"] = tuple(measured)
    return reader.built("printer_name", lambda: replace(base, **changes))


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


def _read(form: Form, fields: tuple[Field, ...]) -> tuple[FormReader, dict[str, Any]]:
    reader = FormReader(form, fields_by_key(fields))
    return reader, reader.values(field.key for field in fields)


def _known(own: object) -> Mapping[str, Own]:
    check_kind("own things", own, Mapping, "a mapping of them by name")
    return own  # type: ignore[return-value]


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g}"
