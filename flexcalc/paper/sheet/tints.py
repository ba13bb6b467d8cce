"""The tints of a figure, each with the surface of the limbs that take it.

A tint's plain data are not read here: what is needed of them is handed in as a `TintSheet`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from data.rules import check_kind
from data.sheet import Part
from flexcalc.figure.figure import Figure
from flexcalc.verdict.plan import printed_surface

Kept = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class TintSheet:
    """What the sheet needs of a tint's plain data.

    ``for_area`` returns the tint for a surface [m2], ``volumes`` what it takes of each liquid by
    name [m3], ``parts`` its parts of the sheet.
    """

    for_area: Callable[[Kept, float], Kept]
    volumes: Callable[[Kept], Mapping[str, float]]
    parts: Callable[[Kept], Sequence[Part]]


@dataclass(frozen=True, kw_only=True)
class LimbTint:
    """A tint of a figure: which ``limbs`` take it, their ``area`` [m2], and its plain data."""

    limbs: tuple[str, ...]
    area: float
    kept: Kept


def figure_tints(figure: Figure, design: Kept, sheet: TintSheet) -> list[LimbTint]:
    """Return every tint of a figure, first that of all limbs without one of their own.

    A figure's tint that no limb takes stays as it was planned.

    Raises
    ------
    ValueError
        For a tint that is refused.
    """
    check_kind("figure", figure, Figure, "a Figure")
    own = design.get("tints") or [None] * len(figure.limbs)
    groups: list[tuple[Kept, list[int]]] = []
    if design["tint"]:
        groups.append((design["tint"], [i for i, tint in enumerate(own) if tint is None]))
    for index, tint in enumerate(own):
        if tint is None:
            continue
        same = [rows for kept, rows in groups[bool(design["tint"]) :] if kept == tint]
        if same:
            same[0].append(index)
        else:
            groups.append((tint, [index]))
    return [_limb_tint(figure, kept, rows, sheet) for kept, rows in groups]


def _limb_tint(figure: Figure, kept: Kept, rows: list[int], sheet: TintSheet) -> LimbTint:
    limbs = [figure.limbs[index] for index in rows]
    area = sum(one.place.count * printed_surface(one.plan) for one in limbs)
    return LimbTint(
        limbs=tuple(one.plan.name for one in limbs),
        area=area,
        kept=sheet.for_area(kept, area) if area else kept,
    )
