"""Read lengths as makers type them: millimetres, inches and their fractions, wire gauges.

A gauge number means nothing without its system (number 12 is 2.053 mm in AWG and 2.642 mm in
SWG), a fraction nothing without its unit, and "1,500" may be one and a half or fifteen hundred.
None of these is guessed.
"""

from __future__ import annotations

import re
import unicodedata

from data import read_table
from data.rules import check_choice, check_number, check_whole, refuse

SYSTEMS = ("AWG", "SWG")
FEWEST, MOST = -3, 40
LARGEST = 1000.0
LONGEST_TEXT = 60
UNITS = {
    "": 1e-3,
    "mm": 1e-3,
    "cm": 1e-2,
    "m": 1.0,
    "μm": 1e-6,
    "um": 1e-6,
    "in": 0.0254,
    "in.": 0.0254,
    "inch": 0.0254,
    "inches": 0.0254,
    '"': 0.0254,
}
RULE = 'a length such as 1.6, 1.6 mm, 1/16 in, 1 1/2 in, 3/32", AWG 14 or SWG 16'

_UNIT = r"\s*(?P<unit>[a-zμ\".]*)"
_DECIMAL = re.compile(r"(?P<number>(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)(?:e[+-]?[0-9]+)?)" + _UNIT)
_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9]+)[\s-]+)?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)" + _UNIT
)
_NUMBER = r"[0-9]+(?:/0)?"
_GAUGE = re.compile(
    rf"(?P<system>[a-z]*wg)(?:-|[\s#]*)(?P<number>{_NUMBER})|(?P<after>{_NUMBER})[\s-]*(?P<last>[a-z]*wg)"
)
_BARE_GAUGE = re.compile(r"#|\bgauge|\bga\b|[0-9]ga\b|[0-9]gauge|[0-9]\s*g\b")
_THOUSANDS = re.compile(
    r"[1-9][0-9]{0,2},[0-9]{3}\b|[0-9],[0-9]+,|,[0-9]+\.|\.[0-9]+,|[0-9]'[0-9]{3}"
)


def gauge_diameter(system: str, number: int) -> float:
    """Return the diameter of a bare wire of a gauge.

    Parameters
    ----------
    system : str
        "AWG" (American) or "SWG" (Imperial Standard), in any case.
    number : int
        Gauge number, -3 to 40; 0, -1, -2, -3 stand for 1/0, 2/0, 3/0, 4/0.

    Returns
    -------
    float
        Nominal diameter. [m]

    Raises
    ------
    ValueError
        For another system or a number outside the range.

    Notes
    -----
    Source: AWG closed form of ASTM B258 (from memory), SWG table in data/gauges.csv.
    """
    if not isinstance(system, str) or system.strip().upper() not in SYSTEMS:
        raise refuse("gauge system", "one of AWG, SWG", system)
    number = check_whole("gauge number", number, least=FEWEST, most=MOST)
    if system.strip().upper() == "AWG":
        return float(0.127e-3 * 92 ** ((36 - number) / 39))
    return read_table("gauges")[f"SWG {number}"]["diameter"].value


def parse_length(text: str, name: str = "length") -> float:
    """Return the length that a maker typed.

    Parameters
    ----------
    text : str
        A number with a decimal point or comma, or a fraction, and a unit (mm, cm, m, µm, in);
        without a unit it is millimetres. Or a gauge with its system, "AWG 14".
    name : str
        What the length is called in the refusal.

    Returns
    -------
    float
        Length, above 0 and at most 1000 m. [m]

    Raises
    ------
    ValueError
        For anything else: also a gauge without its system, a fraction without a unit and a
        comma or point that may divide thousands.
    """
    if not isinstance(text, str):
        raise refuse(name, RULE, type(text).__name__)
    if len(text) > LONGEST_TEXT:
        raise refuse(name, f"a text of at most {LONGEST_TEXT} characters", f"{len(text)}")
    plain = _plain(text)
    if plain.startswith(("-", "+", "−")):
        raise refuse(name, "above 0, without a sign", text)
    gauge = _GAUGE.fullmatch(plain)
    if gauge:
        system = (gauge["system"] or gauge["last"]).upper()
        return _gauge(system, gauge["number"] or gauge["after"], text, name)
    if _BARE_GAUGE.search(plain):
        raise refuse(name, "given with its gauge system, AWG or SWG (AWG 14, SWG 14)", text)
    if _THOUSANDS.search(plain):
        raise refuse(name, "written with one decimal point and nothing between thousands", text)
    return _measured(plain, text, name)


def show_length(length: float, first: str = "mm") -> str:
    """Return a length in both systems, "1.628 mm = 0.0641 in".

    Parameters
    ----------
    length : float
        Any length of either sign up to 1000 km. [m]
    first : str
        Which stands first, "mm" or "inch".
    """
    second = "inch" if check_choice("first", first, ("mm", "inch")) == "mm" else "mm"
    return f"{length_in(length, first)} = {length_in(length, second)}"


def length_in(length: float, unit: str) -> str:
    """Return a length [m] of either sign in "mm" or "inch", "1.628 mm" or "0.0641 in"."""
    length = check_number("length", length, least=-1e6, most=1e6, unit="m")
    if check_choice("unit", unit, ("mm", "inch")) == "mm":
        return f"{_trimmed(length * 1e3, 3)} mm"
    return f"{_trimmed(length / 0.0254, 4)} in"


def _plain(text: str) -> str:
    """Return the text in lower case, with one kind of quote, fraction and micro sign."""
    # A whole NFKC would turn 1² into 12, so only the fractions are taken apart.
    plain = re.sub(
        "[¼-¾⅐-⅞]", lambda sign: " " + unicodedata.normalize("NFKC", sign[0]), text.lower()
    )
    plain = plain.strip().replace("\u2044", "/").replace("µ", "μ").replace("’", "'")
    for sign in ("''", "″", "”", "“", "′′"):
        plain = plain.replace(sign, '"')
    return plain


def _gauge(system: str, number: str, text: str, name: str) -> float:
    if system not in SYSTEMS:
        raise refuse(name, "given in a known gauge system, AWG or SWG", text)
    if number.endswith("/0"):
        index = 1 - int(number[:-2])
        known = FEWEST <= index <= 0
    elif set(number) == {"0"}:
        index = 1 - len(number)
        known = index >= FEWEST
    else:
        index = int(number)
        known = index <= MOST
    if not known:
        raise refuse(name, f"a gauge from 4/0 to {MOST}", text)
    return gauge_diameter(system, index)


def _measured(plain: str, text: str, name: str) -> float:
    fraction = _FRACTION.fullmatch(plain)
    match = fraction or _DECIMAL.fullmatch(plain)
    if match is None or match["unit"] not in UNITS:
        raise refuse(name, RULE, text)
    if fraction:
        if not fraction["unit"]:
            raise refuse(name, "a fraction with its unit, such as 1/16 in", text)
        if int(fraction["bottom"]) == 0:
            raise refuse(name, "a fraction with a divisor above 0", text)
        value = int(fraction["whole"] or 0) + int(fraction["top"]) / int(fraction["bottom"])
    else:
        value = float(match["number"].replace(",", "."))
    metres = value * UNITS[match["unit"]]
    if not 0 < metres <= LARGEST:
        raise refuse(name, f"above 0 and at most {LARGEST:g} m", text)
    return metres


def _trimmed(value: float, decimals: int) -> str:
    if value and abs(value) < 10 ** (1 - decimals):
        return f"{value:.3g}"
    shown = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "") else shown
