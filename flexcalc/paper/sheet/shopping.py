"""What to buy for a whole figure and what to print, with totals."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from data.sheet import Grid
from flexcalc.figure.figure import Figure
from flexcalc.figure.totals import WirePieces, totals
from flexcalc.limb.gauge import show_length
from flexcalc.limb.trade import size_words
from flexcalc.paper.sheet.tints import TintSheet, figure_tints


def paper_length(length: float) -> str:
    """Return a length to the millimetre, and in inches. [m]"""
    return f"{length * 1e3:.0f} mm ({length / 0.0254:.2f} in)"


def shopping(figure: Figure, design: Mapping[str, Any], sheet: TintSheet) -> Grid:
    """Return what to get for a whole figure, twins counted.

    Raises
    ------
    ValueError
        For a tint that is refused.
    """
    needed = totals(figure)
    rows = [
        ("filament", name, f"{mass * 1e3:.0f} g with a tenth of waste")
        for name, mass in needed.filaments
    ]
    rows += [
        ("wire", f"{wire.name}, {size_words(wire.diameter)}", _pieces(wire))
        for wire in needed.wires
    ]
    rows += [
        ("magnets", f"{show_length(across)} across, {show_length(thick)} thick", str(count))
        for across, thick, count in needed.magnets
    ]
    volumes: dict[str, float] = defaultdict(float)
    for tint in figure_tints(figure, design, sheet):
        for name, volume in sheet.volumes(tint.kept).items():
            volumes[name] += volume
    rows += [("for the tint", name, _volume(volume)) for name, volume in volumes.items()]
    return Grid(
        caption=f"What to get: finished limbs {needed.mass * 1e3:.0f} g, "
        f"surface {needed.area * 1e4:.0f} cm2",
        head=("what", "which", "how much"),
        rows=tuple(rows),
    )


def _pieces(wire: WirePieces) -> str:
    counts: dict[str, int] = defaultdict(int)
    for piece in wire.pieces:
        counts[paper_length(piece)] += 1
    cuts = ", ".join(f"{count} of {text}" for text, count in counts.items())
    return f"{wire.length:.2f} m: cut {cuts}"


def _volume(volume: float) -> str:
    return f"{volume * 1e6:.1f} mL"
