"""Read the tables: one number, one row, with unit, spread, kind and source.

``low`` and ``high`` are one standard deviation each side of ``value`` (of its logarithm where
the spread is a factor): about two thirds of the real things lie between them. Numbers leave
this door in SI. An unknown number has no row, so looking it up is a KeyError.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from data.rules import refuse

FOLDER = Path(__file__).parent
COLUMNS = ["item", "quantity", "value", "unit", "low", "high", "kind", "source", "where", "note"]
KINDS = ("measured", "datasheet", "handbook", "estimate", "memory")
UNITS = {
    "1": 1.0,
    "m": 1.0,
    "mm": 1e-3,
    "inch": 0.0254,
    "N": 1.0,
    "Pa": 1.0,
    "MPa": 1e6,
    "GPa": 1e9,
    "g/cm3": 1e3,
    "kg/m3": 1.0,
    "kg/m2/h": 1 / 3600,
    "s": 1.0,
    "min": 60.0,
    "mL": 1e-6,
    "mL/100cm2": 1e-4,
    "ppm": 1e-6,
    "%": 0.01,
    "mg/m3/ppm": 1.0,
    "deg": math.pi / 180,
    "degC": 1.0,
    "dE": 1.0,
    "T": 1.0,
    "m/s2": 1.0,
}


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One row of a table, in SI, with its spread and where it comes from."""

    value: float
    unit: str
    low: float
    high: float
    kind: str
    source: str
    where: str
    note: str


Table = Mapping[str, Mapping[str, Quantity]]


@cache
def read_sources(folder: Path = FOLDER) -> Mapping[str, Mapping[str, str]]:
    """Return the sources by key, each with ``citation`` and ``seen`` (read, memory, computed)."""
    with (folder / "sources.csv").open(encoding="utf-8", newline="") as file:
        return {row["source"]: row for row in csv.DictReader(file)}


@cache
def read_table(name: str, folder: Path = FOLDER) -> Table:
    """Return a table as item -> quantity -> Quantity, in SI.

    Parameters
    ----------
    name : str
        File name without ``.csv``.
    folder : Path
        Where the table and its ``sources.csv`` are.

    Raises
    ------
    ValueError
        With file and line, for an unknown unit, kind or source, a missing or disordered
        spread, or a row that stands twice.
    """
    path = folder / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        if reader.fieldnames != COLUMNS:
            raise refuse(f"{path.name} columns", str(COLUMNS), reader.fieldnames)
        return _table(path.name, reader, set(read_sources(folder)))


def read_demo(name: str) -> Any:
    """Return a piece of the invented demo, ``demo/name.json``, which says that it is invented."""
    return json.loads((FOLDER / "demo" / f"{name}.json").read_text(encoding="utf-8"))


def _table(name: str, rows: Iterable[dict[str, str]], sources: set[str]) -> Table:
    table: dict[str, dict[str, Quantity]] = {}
    for line, row in enumerate(rows, start=2):
        items = table.setdefault(row["item"], {})
        if row["quantity"] in items:
            raise refuse(f"{name} line {line}: quantity", "given once", row["quantity"])
        items[row["quantity"]] = _quantity(f"{name} line {line}", row, sources)
    return table


def _quantity(place: str, row: dict[str, str], sources: set[str]) -> Quantity:
    for column, known in (("unit", UNITS), ("kind", KINDS), ("source", sources)):
        if row[column] not in known:
            raise refuse(f"{place}: {column}", "a known one", row[column])
    for column in ("item", "quantity", "where"):
        if not row[column].strip():
            raise refuse(f"{place}: {column}", "given", row[column])
    value, low, high = (_number(place, column, row) for column in ("value", "low", "high"))
    if not low <= value <= high:
        raise refuse(f"{place}: low, value, high", "in order", f"{low}, {value}, {high}")
    return Quantity(
        value=value,
        unit=row["unit"],
        low=low,
        high=high,
        kind=row["kind"],
        source=row["source"],
        where=row["where"],
        note=row["note"] or "",
    )


def _number(place: str, column: str, row: dict[str, str]) -> float:
    try:
        number = float(row[column]) * UNITS[row["unit"]]
    except (TypeError, ValueError):
        number = math.nan
    if not math.isfinite(number):
        raise refuse(f"{place}: {column}", "a finite number", row[column])
    return number
