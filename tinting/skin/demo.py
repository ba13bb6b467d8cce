"""The invented bases and dyes of the demo, read from ``data/demo``; no real part or dye."""

from __future__ import annotations

import csv
from functools import cache

from data import FOLDER
from data.rules import check_choice
from tinting.skin.absorptivity import dye_from_swatch
from tinting.skin.inputs import Base, Dye, base_from_lab


def demo_base_names() -> tuple[str, ...]:
    """Return the names of the demo's bases, the one the demo opens with first."""
    return tuple(_demo_bases())


def demo_base(name: str = "off-white TPU") -> Base:
    """Return a base of the demo by its name."""
    return _demo_bases()[check_choice("demo base", name, demo_base_names())]


@cache
def demo_dyes() -> tuple[Dye, ...]:
    """Return the dyes of the demo, each known by one swatch and so an estimate."""
    return tuple(
        dye_from_swatch(
            demo_base(row["base"]),
            float(row["parts_dye"]) / (float(row["parts_dye"]) + float(row["parts_alcohol"])),
            int(row["coats"]),
            _lab(row),
            name=row["name"],
        )
        for row in _rows("dyes")
    )


@cache
def _demo_bases() -> dict[str, Base]:
    return {
        row["name"]: base_from_lab(
            _lab(row),
            row["kind"],
            name=row["name"],
            thickness=float(row["thickness_mm"]) / 1000,
            backing=row["backing"],
        )
        for row in _rows("base")
    }


def _rows(name: str) -> list[dict[str, str]]:
    """Rows of a table of the demo below its line that says that it is invented."""
    with (FOLDER / "demo" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def _lab(row: dict[str, str]) -> tuple[float, float, float]:
    return float(row["L"]), float(row["a"]), float(row["b"])
