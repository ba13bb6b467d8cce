"""One row of the swatch log as cells of a table: text out, text in, nothing lost on the way.

Lengths stand in millimetres, drying in minutes, the alcohol in per cent; they are turned with
decimal arithmetic so that the same number comes back. Dyes stand as ``green=0.125; brown=0.05``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Context, Decimal, DecimalException
from typing import Any

from data.rules import check_choice, check_kind, check_whole, refuse
from tinting.swatches import SwatchRecord, record_from_fields

COLUMNS = (
    "id", "made_at", "base_name", "base_kind", "base_L", "base_a", "base_b", "thickness_mm",
    "backing", "dyes", "coats", "alcohol_percent", "minutes_dry", "L", "a", "b", "light",
    "observer", "geometry", "method", "note", "photo", "used",
)  # fmt: skip
NEEDED = ("base_name", "base_L", "base_a", "base_b", "dyes", "coats", "L", "a", "b")
SUPPOSED = {
    "made_at": "1970-01-02T00:00:00+00:00",
    "base_kind": "unknown",
    "thickness_mm": "2",
    "backing": "as in use",
    "alcohol_percent": "99",
    "minutes_dry": "30",
    "light": "D65",
    "observer": "10",
    "geometry": "unknown",
    "method": "eye",
    "note": "",
    "photo": "",
    "used": "yes",
}
"""What is taken for a column that a stranger's table does not have; reading says so. The time is
fixed, so that the same file always gives the same rows; the method is the least trusted one."""
_TEXTS = ("id", "base_name", "base_kind", "backing", "dyes", "light", "geometry", "method")
_SCALES = {"thickness_mm": (1000, 1), "alcohol_percent": (100, 1), "minutes_dry": (1, 60)}
_FIELDS = {
    "thickness_mm": "thickness",
    "alcohol_percent": "alcohol_grade",
    "minutes_dry": "drying_time",
}
_EXACT = Context(prec=40)
_FORMULA = "=+-@\t\r\n＝＋－＠"
_YES = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def plain_cell(text: str) -> str:
    """Return what a person reads for a cell: "empty" for nothing."""
    return text or "empty"


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: an apostrophe goes in front."""
    return f"'{text}" if text[:1] and text[0] in _FORMULA + "'" else text


def unguarded(text: str) -> str:
    """Return the text as it was before `guarded`."""
    guard = text[:1] == "'" and text[1:2] and text[1] in _FORMULA + "'"
    return text[1:] if guard else text


def cells_of_record(record: SwatchRecord) -> dict[str, str]:
    """Return the row as column -> cell."""
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    cells = {name: guarded(getattr(record, name)) for name in _TEXTS if name != "dyes"}
    cells |= {name: guarded(getattr(record, name)) for name in ("note", "photo")}
    cells["made_at"] = record.made_at.isoformat()
    for name, values in (("base_", record.base_lab), ("", record.lab)):
        for letter, value in zip("Lab", values, strict=True):
            cells[name + letter] = repr(value)
    for column, (times, over) in _SCALES.items():
        cells[column] = _scaled_text(getattr(record, _FIELDS[column]), times, over)
    dyes = (f"{_escaped(name)}={share!r}" for name, share in record.shares.items())
    cells["dyes"] = guarded("; ".join(dyes))
    cells["coats"], cells["observer"] = str(record.coats), str(record.observer)
    cells["used"] = "yes" if record.used else "no"
    return cells


def record_of_cells(cells: Mapping[str, str], separator: str) -> SwatchRecord:
    """Return the row of cells; ValueError with the reason for one that cannot be.

    ``separator`` of the table: between commas a cell like "1,440" could mean two numbers.
    """
    check_kind("cells", cells, Mapping, "a mapping of column to cell")
    check_choice("separator", separator, (",", ";", "\t"))
    whole = {**SUPPOSED, **cells}
    for name in COLUMNS:
        check_kind(name, whole.get(name), str, "a text")
    plain: dict[str, Any] = {name: unguarded(whole[name]) for name in _TEXTS if name != "dyes"}
    for name in ("id", "base_kind", "backing", "light", "geometry", "method"):
        plain[name] = plain[name].strip()
    plain["note"], plain["photo"] = unguarded(whole["note"]), unguarded(whole["photo"].strip())
    plain["made_at"] = _time(whole["made_at"])
    for key, name in (("base_lab", "base_"), ("lab", "")):
        plain[key] = [float(_number(name + c, whole[name + c], separator)) for c in "Lab"]
    for column, (times, over) in _SCALES.items():
        shown = _number(column, whole[column], separator)
        plain[_FIELDS[column]] = float(_scaled(shown, over, times))
    plain["shares"] = _shares(unguarded(whole["dyes"]), separator)
    for name, most in (("coats", 50), ("observer", 10)):
        number = float(_number(name, whole[name], separator))
        plain[name] = check_whole(name, number, least=0, most=most)
    used = whole["used"].strip().casefold()
    if used not in _YES:
        raise refuse("used", "yes or no", whole["used"])
    plain["used"] = _YES[used]
    return record_from_fields(plain)


def has_zone(cell: str) -> bool:
    """Say whether a time is written with its zone; one without is taken as UTC."""
    check_kind("cell", cell, str, "a text")
    return re.search(r"(Z|[+-]\d\d:?\d\d)\s*$", cell) is not None


def _time(cell: str) -> str:
    try:
        time = datetime.fromisoformat(cell.strip())
    except ValueError:
        raise refuse("made_at", "a time like 2025-05-31T14:05:00+00:00", cell) from None
    # a spreadsheet drops the zone
    return (time if time.tzinfo else time.replace(tzinfo=UTC)).isoformat()


def _number(name: str, cell: str, separator: str) -> Decimal:
    text = cell.strip().removeprefix("'").replace("\N{MINUS SIGN}", "-")
    if len(text) > 60:
        raise refuse(name, "a number", cell)
    if "," in text and separator != ";" and re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", text):
        raise refuse(name, "written without a separator of thousands", cell)
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    if not re.fullmatch(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?", text):
        raise refuse(name, "a number", cell)
    try:
        return Decimal(text)
    except DecimalException:
        raise refuse(name, "a number", cell) from None


def _scaled(number: Decimal, times: int, over: int) -> Decimal:
    return _EXACT.divide(_EXACT.multiply(number, Decimal(times)), Decimal(over))


def _scaled_text(value: float, times: int, over: int) -> str:
    """The shortest of two texts that bring the same float back."""
    exact = _scaled(Decimal(repr(value)), times, over)
    short = Decimal(repr(float(exact)))
    kept = short if float(_scaled(short, over, times)) == value else exact
    plain = kept.normalize(_EXACT)
    return f"{plain:f}" if -7 < plain.adjusted() < 17 else str(plain)


def _escaped(name: str) -> str:
    """A dye name without the signs that part the list, and without spaces at its ends."""
    ends = (0, len(name) - 1)
    return "".join(
        f"\\u{ord(sign):06x}" if sign in "\\=;" or (i in ends and sign.isspace()) else sign
        for i, sign in enumerate(name)
    )


def _unescaped(text: str) -> str:
    def sign(found: re.Match[str]) -> str:
        code = int(found[1], 16)
        return chr(code) if code <= 0x10FFFF else found[0]

    return re.sub(r"\\u([0-9a-f]{6})", sign, text)


def _shares(cell: str, separator: str) -> dict[str, float]:
    shares: dict[str, float] = {}
    for part in cell.split(";"):
        if not part.strip():
            continue
        name, equals, amount = (piece.strip() for piece in part.partition("="))
        name = _unescaped(name)
        if not equals:
            raise refuse("dyes", "written like green=0.125; brown=0.05", cell)
        if name in shares:
            raise refuse("dyes", "named once each", name)
        share = _number(f"share of {name}", amount.removesuffix("%"), separator)
        shares[name] = float(share / 100 if amount.endswith("%") else share)
    return shares
