"""What is said in millimetres, grams and newtons, said in inches, ounces and pounds-force.

Everything below the pages writes mm, g and N. A page that is to speak inches turns its finished
words with `in_inches`, the one place that decides how a length reads then: in decimal inches, no
finer than it was said in mm. A size by which a thing is sold keeps its unit, see `sold_as`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

INCH = 25.4
"""Millimetres in an inch, exact."""
OUNCE = 28.349523125
"""Grams in an ounce (avoirdupois), exact by the agreement of 1959."""
POUND_FORCE = 4.4482216152605
"""Newtons in a pound-force, exact: the pound at the standard fall of 9.80665 m/s2."""
UNBROKEN = "\u00a0"
OTHERS = {
    "N mm²": (1 / POUND_FORCE / INCH**2, "lbf in²"),
    "N mm": (1 / POUND_FORCE / INCH, "lbf in"),
    "N": (1 / POUND_FORCE, "lbf"),
    "mm²": (1 / INCH**2, "in²"),
    "cm²": (100 / INCH**2, "in²"),
    "cm2": (100 / INCH**2, "in²"),
    "m": (1000 / INCH / 12, "ft"),
    "mm³": (1 / INCH**3, "in³"),
    "cm³": (1000 / INCH**3, "in³"),
    "/mm": (INCH, "/in"),
    "g/mm": (INCH / OUNCE, "oz/in"),
    "kg": (1000 / OUNCE / 16, "lb"),
    "g": (1 / OUNCE, "oz"),
}
"""By unit: what one of it is in the unit that takes its place, and that unit."""
LENGTHS = {"mm": 1.0, "cm": 10.0}

_NUMBER = r"[-−]?[0-9]+(?:\.[0-9]+)?(?:e[+-]?[0-9]+)?"
_UNIT = "|".join(re.escape(unit) for unit in sorted([*OTHERS, *LENGTHS], key=len, reverse=True))
_MEASURE = re.compile(
    rf"(?<![\w.,\\/#])(?P<numbers>(?:{_NUMBER}(?: to | × | ± |–))*{_NUMBER})[ \n]"
    rf"(?P<unit>{_UNIT})(?![\w²³/])"
)
_BOTH = re.compile(rf"(?P<metric>{_NUMBER}[ \n]mm)(?:\s=\s{_NUMBER}\sin|\s\({_NUMBER}\sin\))")
SMALL = {"m": (1e3, "mm"), "kg": (1e3, "g"), "rad": (180 / math.pi, "°"), "m2": (1e4, "cm²"),
         "m3": (1e6, "mL"), "Pa": (1e-6, "MPa")}  # fmt: skip
_SI = re.compile(rf"(?<![\w.,])(?P<number>{_NUMBER}) (?P<unit>{'|'.join(SMALL)})(?![\w²³/])")
_LINES = re.compile(r"(<(?:path|poly)[^>]*>)")
_IN_HEAD = re.compile(rf"(?P<before>, |\(|^| )(?P<unit>{_UNIT})(?![\w²³/])")


def in_inches(text: str) -> str:
    """Return a text, or a drawing's source, with every measure in it said in inches and ounces.

    A measure is a number, or several such as "2 to 3" and "12 × 2", a space or the end of a
    line, and mm, cm, m, mm², cm², mm³, cm³, /mm, g, g/mm, kg, N, N mm or N mm². Lengths are
    rounded to 0.01 in, thin ones and those said to 0.01 mm to 0.001 in; the rest to the digits
    they have, at most three.
    """
    return _in_words(text, lambda each: _MEASURE.sub(_turned, _BOTH.sub(_metric, each)))


def in_mm(text: str) -> str:
    """Return a text without the inches that stand beside millimetres, "3 mm = 0.118 in"."""
    return _in_words(text, lambda each: _BOTH.sub(_metric, each))


def in_small_units(text: str) -> str:
    """Return a sentence in SI, "at least 0.0005 m", in the units of fields: mm, g, °, cm², mL."""
    return _SI.sub(_small, text)


def column_in_inches(head: str, cells: list[str]) -> tuple[str, list[str]]:
    """Return a column of a table in inches: its unit may stand in its head, "Sags, mm"."""
    found = _IN_HEAD.search(head)
    if found is None:
        return head, [in_inches(cell) for cell in cells]
    unit = found["unit"]
    turned = f"{head[: found.start('unit')]}{_unit_after(unit)}{head[found.end('unit') :]}"
    return turned, [
        re.sub(rf"(?<![\w.]){_NUMBER}(?![\w%])", lambda each: _said(each[0], unit), cell)
        for cell in cells
    ]


def sold_as(size: str) -> str:
    """Return the name of a size, "2.5 mm", so that it is left as it is: asked for in a shop."""
    return size.replace(" ", UNBROKEN)


def _in_words(text: str, turn: Callable[[str], str]) -> str:
    """Return a text turned piece by piece, without the many numbers of drawn lines."""
    pieces = _LINES.split(text)
    return "".join(each if number % 2 else turn(each) for number, each in enumerate(pieces))


def _metric(found: re.Match[str]) -> str:
    return found["metric"]


def _turned(found: re.Match[str]) -> str:
    unit = found["unit"]
    return f"{re.sub(_NUMBER, lambda each: _said(each[0], unit), found['numbers'])} " + _unit_after(
        unit
    )


def _small(found: re.Match[str]) -> str:
    times, unit = SMALL[found["unit"]]
    value = float(found["number"].replace("−", "-")) * times
    if abs(value) >= 1e4:
        return found[0]
    return f"{value:.4g}" + (unit if unit == "°" else f" {unit}")


def _unit_after(unit: str) -> str:
    return "in" if unit in LENGTHS else OTHERS[unit][1]


def _said(number: str, unit: str) -> str:
    """Return a number of one unit as it is said in the unit that takes its place."""
    value = float(number.replace("−", "-"))
    decimals = len(number.partition("e")[0].partition(".")[2])
    if unit not in LENGTHS:
        digits = min(max(len(re.sub(r"[^0-9]|^[0.]+", "", number)), 2), 3)
        return _plain(value * OTHERS[unit][0], digits=digits)
    length = value * LENGTHS[unit] / INCH
    if decimals >= 2 or abs(length) < 0.1:
        return _plain(length, decimals=3)
    return _plain(length, decimals=2 if abs(length) < 10 else 1)


def _plain(value: float, *, digits: int = 3, decimals: int | None = None) -> str:
    """Return a number without an exponent and without zeros at its end."""
    if decimals is None:
        large = math.floor(math.log10(abs(value))) + 1 if value else 0
        decimals = max(digits - large, 0)
    said = f"{value:.{decimals}f}"
    return said.rstrip("0").rstrip(".").replace("-0", "0", said == "-0") if "." in said else said
