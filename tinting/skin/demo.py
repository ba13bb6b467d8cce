"""The invented bases and dyes of the demo, read from ``data/demo``; no real part or dye."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache

import numpy as np

from data import FOLDER
from data.rules import Caution, check_choice, check_kind
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


def is_demo(dye: Dye) -> bool:
    """Say whether a dye is one of the demo, which are invented."""
    check_kind("dye", dye, Dye, "a Dye")
    return any(
        dye.name == each.name and np.allclose(dye.absorptivity, each.absorptivity, rtol=1e-9)
        for each in demo_dyes()
    )


def demo_cautions(dyes: Sequence[Dye]) -> tuple[Caution, ...]:
    """Return the caution that some dyes are the demo's, nothing where none is."""
    names = dict.fromkeys(dye.name for dye in dyes if is_demo(dye))
    if not names:
        return ()
    are = "is a demo dye, invented" if len(names) == 1 else "are demo dyes, invented"
    text = f"{', '.join(names)} {are}. Put your own on the page Bottles."
    return (Caution(key="demo dye", text=text),)


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
