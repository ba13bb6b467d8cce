"""What a figure takes: filament, wire by kind with its pieces, magnets, and the surface to tint."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from data import read_table
from data.rules import check_kind
from flexcalc.build.wire_cut import cut_length
from flexcalc.figure.figure import Figure, FigureLimb
from flexcalc.limb.inputs import Wire
from flexcalc.section.section import limb_mass
from flexcalc.verdict.plan import printed_surface

_WASTE = read_table("constants")["filament"]["waste"]


@dataclass(frozen=True, kw_only=True)
class WirePieces:
    """All pieces of one wire: ``name`` of its metal, ``diameter`` [m], and ``pieces`` [m], each
    the length to cut with both end bends, the longest first.
    """

    name: str
    diameter: float
    pieces: tuple[float, ...]

    @property
    def length(self) -> float:
        """All of it. [m]"""
        return sum(self.pieces)


@dataclass(frozen=True, kw_only=True)
class Totals:
    """What a figure takes, twins counted.

    ``filaments`` (name, mass [kg]) with waste; ``wires``; ``magnets`` (diameter [m], thickness
    [m], how many); ``mass`` [kg] of the finished limbs without payload; ``area`` [m2] of their
    outer surface.
    """

    filaments: tuple[tuple[str, float], ...]
    wires: tuple[WirePieces, ...]
    magnets: tuple[tuple[float, float, int], ...]
    mass: float
    area: float


def totals(figure: Figure) -> Totals:
    """Return what the limbs of a figure take together."""
    check_kind("figure", figure, Figure, "a Figure")
    filaments: dict[str, float] = defaultdict(float)
    pieces: dict[tuple[str, float], list[float]] = defaultdict(list)
    magnets: dict[tuple[float, float], int] = defaultdict(int)
    for one in figure.limbs:
        limb, count = one.plan.limb, one.place.count
        filaments[limb.elastomer.name] += count * filament_mass(one) * _WASTE.value
        if limb.wire is not None:
            wire = limb.wire
            cut = [cut_length(limb)] * (count * wire.strands)
            pieces[wire.metal.name, wire.diameter] += cut
        if one.place.magnets:
            magnets[one.place.magnet] += count * one.place.magnets
    return Totals(
        filaments=tuple(sorted(filaments.items())),
        wires=tuple(
            WirePieces(name=name, diameter=across, pieces=tuple(sorted(cuts, reverse=True)))
            for (name, across), cuts in sorted(pieces.items())
        ),
        magnets=tuple((*size, number) for size, number in sorted(magnets.items())),
        mass=sum(one.place.count * limb_mass(one.plan.limb) for one in figure.limbs),
        area=sum(one.place.count * printed_surface(one.plan) for one in figure.limbs),
    )


def filament_mass(one: FigureLimb) -> float:
    """Return the mass of a limb's print, without wire and waste. [kg]"""
    limb = one.plan.limb
    return limb_mass(limb) - wire_mass(limb.wire) * limb.length


def wire_mass(wire: Wire | None) -> float:
    """Return the mass of a wire per length, 0 where there is none. [kg/m]"""
    return 0.0 if wire is None else wire.mass_per_length
