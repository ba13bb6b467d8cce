"""Wires as they are sold: usual sizes in millimetres and gauges, and the name to ask for.

Near sizes of different systems (AWG 8 is 3.26 mm, SWG 10 is 3.25 mm) all stay in the list: who
can buy the one cannot always buy the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from data import read_table
from data.inches import sold_as
from data.rules import check_kind, check_number, check_whole, refuse
from flexcalc.limb.gauge import FEWEST, MOST, SYSTEMS, gauge_diameter, show_length
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import load_metal, metal_names

METRIC = "metric"
NAMED_WITHIN = 1e-3
"""A wire is called by a gauge if its diameter differs by less than this share from it."""
MOST_STRANDS, MOST_METALS = 3, 40


@dataclass(frozen=True, kw_only=True)
class TradeSize:
    """A diameter [m] as it is sold: ``system`` "metric", "AWG" or "SWG", ``name`` "AWG 10".

    A name in mm keeps them on a page in inches: it is asked for in a shop.
    """

    system: str
    name: str
    diameter: float


@cache
def trade_sizes() -> tuple[TradeSize, ...]:
    """Return the usual sizes, thin to thick within each system.

    Source: rows "metric …", "AWG usual" and "SWG usual" of data/gauges.csv, from memory.
    """
    table = read_table("gauges")
    sizes = [
        TradeSize(
            system=METRIC,
            name=sold_as(f"{row['diameter'].value * 1e3:g} mm"),
            diameter=row["diameter"].value,
        )
        for item, row in table.items()
        if item.startswith(f"{METRIC} ")
    ]
    for system in SYSTEMS:
        usual = table[f"{system} usual"]
        first, last = int(usual["thinnest"].value), int(usual["thickest"].value)
        for number in range(first, last - 1, -1):
            diameter = gauge_diameter(system, number)
            sizes.append(TradeSize(system=system, name=f"{system} {number}", diameter=diameter))
    return tuple(sizes)


def trade_wires(
    strands: Sequence[int] = (1, 2, 3), metals: Sequence[Metal] | None = None
) -> tuple[Wire, ...]:
    """Return every metal in every usual size.

    Parameters
    ----------
    strands : sequence of int
        How many are twisted together, each 1 to 3: more will not twist evenly by hand.
    metals : sequence of Metal, optional
        1 to 40; the tabled ones if left out.

    Returns
    -------
    tuple of Wire
        By metal, strands and system, thin to thick.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    if not isinstance(strands, list | tuple) or not strands:
        raise refuse("strands", "a list of whole numbers", strands)
    counts = [check_whole("strands", count, least=1, most=MOST_STRANDS) for count in strands]
    if metals is None:
        metals = [load_metal(name) for name in metal_names()]
    if not isinstance(metals, list | tuple) or not 1 <= len(metals) <= MOST_METALS:
        raise refuse("metals", f"a list of 1 to {MOST_METALS} metals", metals)
    for metal in metals:
        check_kind("metals", metal, Metal, "a list of Metal")
    return tuple(
        Wire(metal=metal, diameter=size.diameter, strands=count)
        for metal in dict.fromkeys(metals)
        for count in dict.fromkeys(counts)
        for size in trade_sizes()
    )


@cache
def _gauges() -> tuple[TradeSize, ...]:
    """Return every gauge there is, the usual and the rare."""
    names = {number: f"{1 - number}/0" if number < 1 else str(number)
             for number in range(FEWEST, MOST + 1)}  # fmt: skip
    return tuple(
        TradeSize(system=system, name=f"{system} {name}", diameter=gauge_diameter(system, number))
        for system in SYSTEMS
        for number, name in names.items()
    )


def gauge_of(diameter: float) -> TradeSize | None:
    """Return the gauge that a diameter [m] is to the last digit, None where it is none."""
    diameter = check_number("diameter", diameter)
    same = (one for one in _gauges() if math.isclose(one.diameter, diameter, rel_tol=1e-12))
    return next(same, None)


def size_words(diameter: float) -> str:
    """Return a wire's size [m] as it is asked for, a gauge with its diameter in both units."""
    gauge = gauge_of(diameter)
    known = show_length(diameter)
    return known if gauge is None else f"{gauge.name} ({known})"


def trade_size(wire: Wire) -> TradeSize:
    """Return the size a wire is sold by; one that is not usual is called by its millimetres."""
    check_kind("wire", wire, Wire, "a Wire")
    gauge = gauge_of(wire.diameter)
    if gauge is not None:
        return gauge
    nearest = min(trade_sizes(), key=lambda size: abs(size.diameter - wire.diameter))
    if abs(nearest.diameter - wire.diameter) < NAMED_WITHIN * wire.diameter:
        return nearest
    name = f"{wire.diameter * 1e3:.3g} mm"
    return TradeSize(system=METRIC, name=name, diameter=wire.diameter)


def wire_name(wire: Wire) -> str:
    """Return what to ask for, "annealed aluminium 1100, AWG 10 (2.59 mm)"."""
    size = trade_size(wire)
    metal = wire.metal.name
    if wire.strands > 1:
        metal = f"{wire.strands} strands of {metal}"
    if size.system == METRIC:
        return f"{metal}, {size.name}"
    return f"{metal}, {size.name} ({wire.diameter * 1e3:.2f} mm)"
