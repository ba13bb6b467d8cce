"""A limb and its setting as numbers: sections along it, wire and elastomer."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

import numpy as np

from data.rules import Array
from flexcalc.joints.aims import Sides, leaves_plane
from flexcalc.joints.pull import Softenings, softenings
from flexcalc.joints.rows import Limbs, curvature_between
from flexcalc.limb.inputs import Along, Limb, Setting, limb_at, outlines_of
from flexcalc.limb.materials import at_temperature
from flexcalc.limb.outline import Outline
from flexcalc.limb.shape import outline_ring
from flexcalc.section.elastomer import Softening, section_softening
from flexcalc.section.section import Section, limb_section, section_strips
from flexcalc.section.torsion import torsional_rigidity
from flexcalc.wire.bending import wire_bundle
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.twisting import wire_poisson_ratio

NODES, FEWEST, ENOUGH = 6, 2, 24
"""Sections between two stations of an outline that changes along the limb: at most, at least, and
how many are enough for a whole limb of many stations."""
FLATTEST = 1e3
"""How many times as stiff one way as the other a section may be where a limb leaves its plane."""
DENSE = 401
"""Places at which a curve out of the limb's plane is added up."""
T = TypeVar("T")


def stations_of(limb: Limb) -> Array:
    """Return the shares (S,) of the length at which a limb's sections are worked out.

    One for a limb of one section; else Chebyshev's points between every two stations.
    """
    if not isinstance(limb.outline, Along) or limb.outline.even:
        return np.array([0.0])
    gaps = list(itertools.pairwise(limb.outline.shares))
    count = min(max(math.ceil(ENOUGH / len(gaps)), FEWEST), NODES)
    nodes = (1 - np.cos(math.pi * np.arange(count) / (count - 1))) / 2
    return np.concatenate([start + (end - start) * nodes for start, end in gaps])


def at_stations(limb: Limb, found: Callable[[Limb], T]) -> list[T]:
    """Return what is found of a limb's section at each of its stations, once for equal shares."""
    shares = stations_of(limb).round(12).tolist()
    each = {share: found(limb_at(limb, share)) for share in dict.fromkeys(shares)}
    return [each[share] for share in shares]


@lru_cache(maxsize=128)
def sections_at_stations(limb: Limb) -> tuple[Section, ...]:
    """Return a limb's section at each of its stations."""
    return tuple(at_stations(limb, limb_section))


def corners_of(limb: Limb) -> tuple[float, ...]:
    """Return the shares of the length at which the section's change has a corner."""
    return limb.outline.shares if isinstance(limb.outline, Along) else (0.0, 1.0)


def natural_of(limb: Limb) -> tuple[tuple[float, float], ...]:
    """Return pairs of a share of the length and the natural curvature there. [1/m]"""
    return limb.outline.natural_curvature if isinstance(limb.outline, Along) else ()


@lru_cache(maxsize=64)
def flatness(limb: Limb) -> float:
    """Return how many times as stiff one way as the other a limb's section is, at the most."""
    sections = [one.flexural_rigidity_bare for one in sections_at_stations(limb)]
    return max(max(one[0] / one[1], one[1] / one[0]) for one in sections)


def printed_curved(limb: Limb) -> bool:
    """Tell whether a limb was printed curved, in its plane or out of it."""
    outline = limb.outline
    return isinstance(outline, Along) and bool(
        outline.natural_curvature or outline.sideways_curvature
    )


def mean_natural(limb: Limb) -> float:
    """Return the mean curvature with which a limb was printed [1/m]: with its sign in the limb's
    plane, its size for a limb that was printed curved out of it."""
    if isinstance(limb.outline, Along) and limb.outline.sideways_curvature:
        shares = np.linspace(0.0, 1.0, DENSE)
        both = (limb.outline.natural_curvature, limb.outline.sideways_curvature)
        up, left = (curvature_between(pairs, shares) for pairs in both)
        return float(np.trapezoid(np.hypot(up, left), shares))
    pairs = natural_of(limb)
    return sum((b - a) * (k + n) / 2 for (a, k), (b, n) in itertools.pairwise(pairs))


@lru_cache(maxsize=128)
def softenings_of(limb: Limb) -> Softenings | None:
    """Return the softening tables of a limb's stations, None for a linear elastomer."""
    tables = at_stations(limb, lambda one: section_softening(section_strips(one), one.elastomer))
    found: list[Softening] = [table for table in tables if table is not None]
    return softenings(found) if found else None


def in_the_room(limb: Limb, setting: Setting) -> Limb:
    """Return a limb whose elastomer has the modulus of the setting's temperature."""
    return replace(limb, elastomer=at_temperature(limb.elastomer, setting.temperature))


def one_limb(limb: Limb, setting: Setting) -> Limbs:
    """Return a limb in its setting as a batch of one, its elastomer as it is given."""
    stations = stations_of(limb)
    sections = sections_at_stations(limb)
    bundle = None
    if limb.wire is not None:
        bundle = gripping(wire_bundle(limb.wire), math.sqrt(pull_error(limb))).across(1)
    return Limbs(
        bundle=bundle,
        rigidity=np.array([[one.flexural_rigidity_bare[0] for one in sections]])
        / math.sqrt(pull_error(limb)),
        stiffening=np.ones(1),
        softening=softenings_of(limb),
        relaxation=np.array([limb.elastomer.relaxation_exponent]),
        mass_per_length=np.array([[one.mass_per_length for one in sections]]),
        payload=np.array([setting.payload]),
        stations=stations,
        corners=corners_of(limb),
        natural=natural_of(limb),
        inserted_before=limb.inserted_before,
        sides=sides_of(limb, setting, np.array([1.0 if limb.wire_anchored else 0.0])),
    )


def sides_of(limb: Limb, setting: Setting, held: Array) -> Sides | None:
    """Return what a limb adds where it leaves its plane in a setting, None where it does not.

    ``held`` (B,) is 1 for limbs whose wire cannot turn in its channel, else 0.
    """
    if not leaves_plane(limb, setting):
        return None
    return _sides(limb, tuple(held.tolist()))


def in_space(limbs: Limbs, limb: Limb, *, settles: bool = True) -> Limbs:
    """Return limbs that stay in their plane as ones that could leave it, followed to where they
    come to rest or only until they fall."""
    held = np.full(len(limbs.payload), 1.0 if limb.wire_anchored else 0.0)
    sides = _sides(limb, tuple(held.tolist()))
    return replace(limbs, sides=replace(sides, settles=settles))


@lru_cache(maxsize=64)
def _sides(limb: Limb, held: tuple[float, ...]) -> Sides:
    sections = [one.flexural_rigidity_bare for one in sections_at_stations(limb)]
    torsions = at_stations(limb, torsional_rigidity)
    rigidity = np.array(sections)
    outline = limb.outline
    return Sides(
        sideways=rigidity[:, 1] / rigidity[:, 0],
        mixed=rigidity[:, 2] / rigidity[:, 0],
        torsion=np.array(torsions) / rigidity[:, 0],
        curvature=outline.sideways_curvature if isinstance(outline, Along) else (),
        twist=outline.natural_twist if isinstance(outline, Along) else (),
        held=np.array(held),
        poisson=wire_poisson_ratio(),
    )


def pull_error(limb: Limb) -> float:
    """Return wire over elastomer in a limb, over what the model says, as bent limbs have shown it.

    Half of it is in the wire's moments, half in the elastomer's. Nothing is known, nor asked, of
    limbs without a wire.
    """
    return limb.elastomer.model_factor if limb.wire is not None else 1.0


def gripping(bundle: Bundle, factor: float | Array) -> Bundle:
    """Return wires all of whose moments are by a factor (...) what they would be."""
    return replace(bundle, strands=bundle.strands * factor)


def limb_width(limb: Limb) -> float:
    """Return how wide a limb is, across its bending plane, where it is widest. [m]"""
    return max(_outline_width(outline) for outline in outlines_of(limb))


@lru_cache(maxsize=2048)
def _outline_width(outline: Outline) -> float:
    return float(np.ptp(outline_ring(outline)[:, 0]))
