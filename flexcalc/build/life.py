"""How often a wire can be posed again before it cracks, and the bend that buys a wanted life.

Every law is for smooth bending; the mouth of the channel, where a wire is nicked and bent
tightest, breaks first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from data import read_table
from data.rules import Caution, check_kind, check_number, check_numbers, refuse
from flexcalc.build.fatigue import (
    ALUMINIUM_BELOW,
    ENDLESS,
    STEEL_FROM,
    amplitude_for,
    life_laws,
    re_poses,
)
from flexcalc.limb.inputs import Metal, Wire
from flexcalc.limb.materials import tensile_strength

MOUTH = (
    "Wires break at the mouth of the channel: round its edge, end the wire in a loop or a soft"
    " collar there, and look at that place first."
)


@dataclass(frozen=True, kw_only=True)
class WireLife:
    """Re-poses until a wire cracks: ``low`` and ``high`` over the sets, and each ``by_law``."""

    strain_amplitude: float
    low: float
    high: float
    by_law: tuple[tuple[str, float], ...]
    place: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class RadiusRange:
    """Radius of the wire's centreline that buys a wanted life. [m]

    ``low`` is enough by the most hopeful set of constants, ``high`` by every one.
    """

    low: float
    high: float
    by_law: tuple[tuple[str, float], ...]
    cautions: tuple[Caution, ...]


def wire_life(wire: Wire, curvature_range: float) -> WireLife:
    """Return how often a wire can be posed again.

    Parameters
    ----------
    wire : Wire
        The strands of a twisted wire each bend about their own axis.
    curvature_range : float
        Between the two ends of a re-pose, 0 to 10000: 1/R for straight to bent and back, 2/R for
        both ways. [1/m]

    Returns
    -------
    WireLife
    """
    check_kind("wire", wire, Wire, "a Wire")
    curvature = check_number("curvature range", curvature_range, least=0.0, most=1e4, unit="1/m")
    amplitude = wire.diameter * curvature / 4
    by_law = tuple((law.name, float(re_poses(amplitude, law))) for law in life_laws(wire.metal))
    low, high = min(life for _, life in by_law), max(life for _, life in by_law)
    return WireLife(
        strain_amplitude=amplitude,
        low=low,
        high=high,
        by_law=by_law,
        place=MOUTH,
        cautions=(*_life_cautions(low, high), *_metal_cautions(wire.metal)),
    )


def sequence_life(wire: Wire, curvatures: ArrayLike) -> WireLife:
    """Return how often a wire can go through a sequence of poses, over and over.

    Parameters
    ----------
    wire : Wire
        The strands of a twisted wire each bend about their own axis.
    curvatures : array_like (poses, places)
        Curvature of every place of the wire in every pose as it is bent, with sign; one pose is
        taken to and from straight. -10000 to 10000. [1/m]

    Returns
    -------
    WireLife
        Its numbers count times through the sequence, at the place that breaks first.

    Notes
    -----
    From one pose to the next is half a cycle of the range between them; the damage of the halves
    adds up (Miner's sum).

    Source: Palmgren and Miner's rule, any text on fatigue.
    """
    check_kind("wire", wire, Wire, "a Wire")
    bent = check_numbers("curvatures", curvatures, least=-1e4, most=1e4, unit="1/m")
    if bent.ndim != 2:
        raise refuse("curvatures", "a table of poses and places", f"{bent.ndim} dimensions")
    if len(bent) == 1:
        bent = np.concatenate([bent, 0 * bent])
    amplitude = wire.diameter / 4 * np.abs(bent - np.roll(bent, 1, axis=0))
    by_law = []
    for law in life_laws(wire.metal):
        damage = np.sum(0.5 / re_poses(amplitude, law), axis=0)
        by_law.append((law.name, float(min(1 / damage.max(), ENDLESS))))
    low, high = min(life for _, life in by_law), max(life for _, life in by_law)
    return WireLife(
        strain_amplitude=float(amplitude.max()),
        low=low,
        high=high,
        by_law=tuple(by_law),
        place=MOUTH,
        cautions=(*_life_cautions(low, high), *_metal_cautions(wire.metal)),
    )


def tightest_radius(wire: Wire, re_poses: float, both_ways: bool = False) -> RadiusRange:
    """Return the tightest bend that a wire survives a wanted number of times.

    Parameters
    ----------
    wire : Wire
    re_poses : float
        Wanted life, 1 to 10 million.
    both_ways : bool
        False for straight to bent and back, True for bent one way, then the other.

    Returns
    -------
    RadiusRange
        Of the wire's centreline; the inside of the bend is half a diameter tighter.
    """
    check_kind("wire", wire, Wire, "a Wire")
    wanted = check_number("re-poses", re_poses, least=1.0, most=ENDLESS)
    check_kind("both ways", both_ways, bool, "True or False")
    swing = 2.0 if both_ways else 1.0
    by_law = tuple(
        (law.name, swing * wire.diameter / (4 * float(amplitude_for(wanted, law))))
        for law in life_laws(wire.metal)
    )
    low, high = min(radius for _, radius in by_law), max(radius for _, radius in by_law)
    text = "A bend as tight as the wire is thick is a fold: no law was tried there."
    fold = (Caution(key="wire folded", text=text),) if low < wire.diameter else ()
    cautions = (*fold, *_metal_cautions(wire.metal))
    return RadiusRange(low=low, high=high, by_law=by_law, cautions=cautions)


def _life_cautions(low: float, high: float) -> tuple[Caution, ...]:
    texts = {}
    if low < 1:
        texts["wire first bend"] = "By the most careful law the first bend may crack the wire."
    if high >= ENDLESS:
        texts["wire life endless"] = "Lives beyond ten million re-poses were never tried."
    return tuple(Caution(key=key, text=text) for key, text in texts.items())


def _metal_cautions(metal: Metal) -> tuple[Caution, ...]:
    texts = {}
    if ALUMINIUM_BELOW <= metal.elastic_modulus < STEEL_FROM:
        texts["wire life borrowed"] = "No law for copper alloys is tabled: aluminium's stands in."
    if len(life_laws(metal)) < 3:
        texts["wire life few laws"] = (
            "Only two laws know this metal: the true range is wider, count on half of the low end."
        )
    if "fracture_ductility" not in read_table("fatigue").get(metal.name, {}):
        texts["wire ductility assumed"] = (
            f"How much the area of {metal.name} shrinks before it breaks is not tabled: 63 % taken."
        )
    if tensile_strength(metal) > 0.01 * metal.elastic_modulus:
        texts["wire life strong metal"] = "The laws were drawn from weaker metals than this one."
    return tuple(Caution(key=key, text=text) for key, text in texts.items())
