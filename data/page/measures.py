"""The units that typed measures are read in: what each is in SI, that of a bare number under ""."""

from __future__ import annotations

import math

from data.inches import INCH, OUNCE, POUND_FORCE

_INCH = INCH * 1e-3
_OUNCE = OUNCE * 1e-3
METRES = {
    "": 1e-3, "mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": _INCH, "in.": _INCH, "inch": _INCH,
    "inches": _INCH, '"': _INCH,
}  # fmt: skip
RADIANS = {
    "": math.pi / 180, "°": math.pi / 180, "deg": math.pi / 180, "degree": math.pi / 180,
    "degrees": math.pi / 180, "rad": 1.0, "turn": 2 * math.pi, "turns": 2 * math.pi,
}  # fmt: skip
KILOGRAMS = {
    "": 1e-3, "g": 1e-3, "gram": 1e-3, "grams": 1e-3, "mg": 1e-6, "kg": 1.0, "oz": _OUNCE,
    "ounce": _OUNCE, "ounces": _OUNCE, "lb": 16 * _OUNCE, "lbs": 16 * _OUNCE,
}  # fmt: skip
SECONDS = {
    "": 1.0, "s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0, "hour": 3600.0, "hours": 3600.0,
    "d": 86400.0, "day": 86400.0, "days": 86400.0,
}  # fmt: skip
MINUTES = {**SECONDS, "": 60.0}
HOURS = {**SECONDS, "": 3600.0}
LITRE = 1e-3
FLUID_OUNCE = 231 * _INCH**3 / 128
"""The American one, 1/128 of a gallon of 231 cubic inches."""
CUBIC_FOOT = (12 * _INCH) ** 3
MILLILITRES = {
    "": 1e-3 * LITRE, "ml": 1e-3 * LITRE, "cc": 1e-3 * LITRE, "cm³": 1e-6, "cm3": 1e-6,
    "cl": 1e-2 * LITRE, "l": LITRE, "µl": 1e-6 * LITRE, "ul": 1e-6 * LITRE,
    "fl oz": FLUID_OUNCE,
}  # fmt: skip
SQUARE_CENTIMETRES = {
    "": 1e-4, "cm²": 1e-4, "cm2": 1e-4, "mm²": 1e-6, "mm2": 1e-6, "m²": 1.0, "m2": 1.0,
    "in²": _INCH**2, "in2": _INCH**2, "sq in": _INCH**2,
}  # fmt: skip
CUBIC_METRES = {
    "": 1.0, "m³": 1.0, "m3": 1.0, "l": LITRE, "ft³": CUBIC_FOOT, "ft3": CUBIC_FOOT,
    "cu ft": CUBIC_FOOT,
}  # fmt: skip
MEGAPASCALS = {
    "": 1e6, "mpa": 1e6, "gpa": 1e9, "n/mm²": 1e6, "n/mm2": 1e6,
    "ksi": 1e3 * POUND_FORCE / _INCH**2, "psi": POUND_FORCE / _INCH**2,
}  # fmt: skip
DENSITIES = {"": 1e3, "g/cm³": 1e3, "g/cm3": 1e3, "g/cc": 1e3, "kg/m³": 1.0, "kg/m3": 1.0}
CELSIUS = {"": 1.0, "°c": 1.0, "c": 1.0, "°": 1.0}
