"""The swatch log as a CSV table, out and back in, from this log or from a stranger's spreadsheet.

Written as UTF-8 with a mark, so that spreadsheets show it right. A text cell that a spreadsheet
would take for a formula gets an apostrophe in front, which reading takes off again: every row
comes back exactly. Read are comma, semicolon or tab, decimal comma, UTF-8, UTF-16 and cp1252.

In a row lengths stand in millimetres, drying in minutes, the alcohol in per cent; they are turned
with decimal arithmetic so that the same number comes back. Dyes stand as
``green=0.125; brown=0.05``.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Context, Decimal, DecimalException
from typing import Any

from data.rules import Caution, check_choice, check_kind, check_whole, refuse
from tinting.log.record import SwatchRecord, checked_records, record_from_fields

MOST_BYTES, MOST_ROWS = 10_000_000, 20_000
_ROW_NAMES = uuid.UUID("6f1d3c52-5c0e-4c1b-9f0a-2d1f6a5b7c31")
"""Namespace for the ids of rows that bring none, so that the same file gives the same ids."""
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
_FORMULA = "=+-@＝＋－＠"
_BLANKS = "\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"
"""Signs of other classes that leave a place empty, such as fillers of Hangul and of Braille."""
_YES = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


@dataclass(frozen=True, kw_only=True)
class BadRow:
    """A row that cannot be taken over: its ``line`` in the file and the ``reason``."""

    line: int
    reason: str


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What a CSV holds: ``records`` that can be taken over, ``bad`` rows, ``cautions``.

    ``lines`` tells on which line of the file each record begins.
    """

    records: tuple[SwatchRecord, ...] = field(repr=False)
    lines: tuple[int, ...] = field(repr=False)
    bad: tuple[BadRow, ...]
    cautions: tuple[Caution, ...]


def write_csv(records: Iterable[SwatchRecord]) -> bytes:
    """Return the rows as a CSV file (UTF-8 with mark, commas), one line of column names first.

    ``read_csv(write_csv(records)).records == tuple(records)``, whatever stands in their texts.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    for record in checked_records(records):
        cells = cells_of_record(record)
        writer.writerow([cells[column] for column in COLUMNS])
    return stream.getvalue().encode("utf-8-sig")


def read_csv(content: bytes) -> Sheet:
    """Return the rows of a CSV file; every row that cannot be taken over is named.

    Parameters
    ----------
    content : bytes
        At most 10 MB and 20 000 rows. The columns may stand in any order; base_name, base_L,
        base_a, base_b, dyes, coats, L, a, b are needed, others have a stated default.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*, when the file as a whole cannot be read.
    """
    check_kind("CSV file", content, bytes, "the content of a file")
    if len(content) > MOST_BYTES:
        raise refuse("CSV file", f"at most {MOST_BYTES // 10**6} MB", f"{len(content)} bytes")
    text = _text(content)
    separator, lines = _split(text)
    header, *rows = lines
    columns = _columns(header[1])
    records: dict[int, SwatchRecord] = {}
    bad: list[BadRow] = []
    seen: dict[str, int] = {}
    for line, row in rows:
        try:
            records[line] = _record(columns, row, separator, seen, line)
        except ValueError as error:
            bad.append(BadRow(line=line, reason=str(error)))
    cautions = [*_cautions(columns), *_zone_cautions(columns, rows)]
    return Sheet(
        records=tuple(records.values()),
        lines=tuple(records),
        bad=tuple(bad),
        cautions=tuple(cautions),
    )


def _text(content: bytes) -> str:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings = ["utf-16"]
    elif content[:400].count(0) > len(content[:400]) / 4:
        encodings = ["utf-16-le" if content[1:2] == b"\0" else "utf-16-be"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise refuse("CSV file", "text in UTF-8, UTF-16 or cp1252", "another encoding or no text")


def _split(text: str) -> tuple[str, list[tuple[int, list[str]]]]:
    """The separator and the rows that are not blank, with the line each begins on."""
    # some spreadsheets write the separator on a line of its own first
    told = re.match(r'"?sep=(.)"?\r?\n?', text)
    first = text[told.end() :] if told else text
    head = first[: first.find("\n") if "\n" in first else len(first)]
    separator = told[1] if told and told[1] in ",;\t" else max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(first, newline=""), delimiter=separator)
    rows: list[tuple[int, list[str]]] = []
    begins = 2 if told else 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((begins, row))
            begins = reader.line_num + (2 if told else 1)
            if len(rows) > MOST_ROWS + 1:
                raise refuse("CSV file", f"at most {MOST_ROWS} rows", "more")
    except csv.Error as error:
        raise refuse(f"CSV file line {begins}", "a row of cells", str(error)) from None
    if not rows:
        raise refuse("CSV file", "a line of column names and rows", "nothing")
    return separator, rows


def _columns(header: Sequence[str]) -> list[str]:
    """Our name of each column of the file, empty for a strange one."""
    ours = {name.casefold(): name for name in COLUMNS}
    columns = [ours.get(cell.strip().casefold(), "") for cell in header]
    for name in COLUMNS:
        if columns.count(name) > 1:
            raise refuse("CSV columns", "named once each", f"{name} twice")
    if missing := [name for name in NEEDED if name not in columns]:
        raise refuse("CSV columns", "named " + ", ".join(NEEDED), f"none named {missing[0]}")
    return columns


def _record(
    columns: Sequence[str], row: Sequence[str], separator: str, seen: dict[str, int], line: int
) -> SwatchRecord:
    if len(row) < len(columns) or any(cell.strip() for cell in row[len(columns) :]):
        raise refuse("row", f"{len(columns)} cells", f"{len(row)}")
    cells = {name: cell for name, cell in zip(columns, row, strict=False) if name}
    if not cells.get("id", "").strip():
        # rows without an id get one from what they hold, the second of two equal rows another
        whole = "\x1f".join(row)
        turn = seen[whole] = seen.get(whole, 0) + 1
        cells["id"] = str(uuid.uuid5(_ROW_NAMES, f"{whole}\x1f{turn}"))
    record = record_of_cells(cells, separator)
    if record.id in seen:
        raise refuse("id", "given once", f"that of line {seen[record.id]} again")
    seen[record.id] = line
    return record


def _zone_cautions(
    columns: Sequence[str], rows: Sequence[tuple[int, list[str]]]
) -> tuple[Caution, ...]:
    if "made_at" not in columns:
        return ()
    place = columns.index("made_at")
    count = sum(len(row) > place and not has_zone(row[place]) for _, row in rows)
    text = f"{count} times have no zone and were read as UTC."
    return (Caution(key="zone", text=text),) if count else ()


def _cautions(columns: Sequence[str]) -> tuple[Caution, ...]:
    cautions = []
    supposed = [
        f"{name} = {plain_cell(SUPPOSED[name])}" for name in SUPPOSED if name not in columns
    ]
    if supposed:
        text = "The file has no such columns, so this was taken: " + ", ".join(supposed) + "."
        cautions.append(Caution(key="supposed", text=text))
    if "" in columns:
        text = f"{columns.count('')} columns with other names were left out."
        cautions.append(Caution(key="left out", text=text))
    return tuple(cautions)


def plain_cell(text: str) -> str:
    """Return what a person reads for a cell: "empty" for nothing."""
    return text or "empty"


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: an apostrophe goes in front."""
    return f"'{text}" if _wants_guard(text) else text


def unguarded(text: str) -> str:
    """Return the text as it was before `guarded`."""
    return text[1:] if text[:1] == "'" and _wants_guard(text[1:]) else text


def _wants_guard(text: str) -> bool:
    """Say whether a text begins with a formula's sign, or with an apostrophe of its own.

    Blanks and signs that nobody sees do not count: a spreadsheet passes over some of them.
    """
    if text[:1] and text[0] in "'\t\r\n":
        return True
    first = next((sign for sign in text if not _is_blank(sign)), "")
    return bool(first) and first in _FORMULA


def _is_blank(sign: str) -> bool:
    return sign.isspace() or sign in _BLANKS or unicodedata.category(sign) in ("Cc", "Cf", "Cn")


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
