"""The swatch log as a CSV table, out and back in, from this log or from a stranger's spreadsheet.

Written as UTF-8 with a mark, so that spreadsheets show it right. A text cell that a spreadsheet
would take for a formula gets an apostrophe in front, which reading takes off again: every row
comes back exactly. Read are comma, semicolon or tab, decimal comma, UTF-8, UTF-16 and cp1252.
"""

from __future__ import annotations

import csv
import io
import re
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from data.rules import Caution, check_kind, refuse
from tinting.cells import (
    COLUMNS,
    NEEDED,
    SUPPOSED,
    cells_of_record,
    has_zone,
    plain_cell,
    record_of_cells,
)
from tinting.swatches import SwatchRecord, checked_records

MOST_BYTES, MOST_ROWS = 10_000_000, 20_000
_ROW_NAMES = uuid.UUID("6f1d3c52-5c0e-4c1b-9f0a-2d1f6a5b7c31")
"""Namespace for the ids of rows that bring none, so that the same file gives the same ids."""


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
