"""The elastomer in bending: softening with strain, relaxation with time, and the set it keeps.

Strain softens the section at once, time lowers its moment as a whole (moment = share(t) times
the moment at ten seconds). A pose held and then let go is the sum of two such steps. The
neutral axis stays at the bare centroid also where a lopsided section softens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from data import read_table
from data.rules import Array, check_kind, check_numbers, refuse
from flexcalc.limb.inputs import Elastomer

SOFTENING = 1.7
"""Exponent of the softening law."""
REFERENCE_TIME = 10.0
"""When the modulus of an Elastomer is read. [s]"""
FIRST_LOOK = 1.0
"""How long after letting go "at once" is: the power law has no value at zero. [s]"""
TIGHTEST = 1e4
LONGEST = 2e9
PROFILE_NODES, PROFILE_REACH = 400, 9.0


def softened_stress(elastomer: Elastomer, strain: ArrayLike) -> Array:
    """Return the stress of an elastomer at ten seconds, odd in strain. [Pa]"""
    strains = np.asarray(strain, dtype=np.float64)
    linear = elastomer.elastic_modulus * strains
    return np.asarray(linear / _denominator(elastomer, strains) ** (1 / SOFTENING))


def elastomer_moment(
    strips: tuple[ArrayLike, ArrayLike], elastomer: Elastomer, curvature: ArrayLike
) -> Array:
    """Return the bending moment of a printed section at ten seconds.

    Parameters
    ----------
    strips : (heights, areas)
        Strips through the section from `section_strips`. [m, m2]
    elastomer : Elastomer
        Modulus and saturation stress.
    curvature : array_like (...)
        Either sign. [1/m]

    Returns
    -------
    ndarray (...)
        Moment, odd in curvature. [N m]

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    sigma = E eps / (1 + (E |eps| / sigma_s)^1.7)^(1/1.7). Source: own fit to a saturating law.
    """
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    heights, areas = _strips(strips)
    bent = check_numbers("curvature", curvature, least=-TIGHTEST, most=TIGHTEST, unit="1/m")
    return np.asarray(softened_stress(elastomer, bent[..., None] * heights) @ (areas * heights))


def relaxed_share(elastomer: Elastomer, time: ArrayLike) -> Array:
    """Return the modulus a time after loading, as a share of the one at ten seconds.

    Parameters
    ----------
    elastomer : Elastomer
        Relaxation exponent m.
    time : array_like (...)
        1e-3 to 2e9. [s]

    Returns
    -------
    ndarray (...)
        (t / 10 s)^-m.

    Notes
    -----
    Source: power-law (Scott Blair) creep of TPU, Polymers 2023, 15, 3770, abstract read.
    """
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    times = check_numbers("time", time, least=1e-3, most=LONGEST, unit="s")
    return np.asarray((times / REFERENCE_TIME) ** -elastomer.relaxation_exponent)


def set_after(elastomer: Elastomer, time: ArrayLike) -> Array:
    """Return the share of a pose's curvature that the elastomer keeps as its new rest shape.

    Parameters
    ----------
    elastomer : Elastomer
        Relaxation exponent m.
    time : array_like (...)
        How long it was posed, 0 or more. [s]

    Returns
    -------
    ndarray (...)
        Share from 0 to below 1; a day leaves about 0.18 at m = 0.07.

    Notes
    -----
    1 - (1 + t/t_r)^-m: what two-step superposition leaves t_r after a free bend is let go, and
    t_r (about 90 minutes) is taken from the tabled share after a day.
    """
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    times = check_numbers("time", time, least=0.0, most=LONGEST, unit="s")
    return np.asarray(1 - (1 + times / _recovery_time()) ** -elastomer.relaxation_exponent)


@dataclass(frozen=True, kw_only=True)
class Softening:
    """Moment of one section over curvature, as a table that serves many moduli.

    The stress depends on modulus times strain alone, so a section of another modulus is read at
    a scaled curvature. ``scale`` [1/m] spreads the nodes; ``values`` [1/m] are moments over the
    flexural rigidity, ``slopes`` their slopes over the node coordinate ln(1 + k/scale).
    """

    scale: float
    step: float
    values: Array
    slopes: Array


def section_softening(strips: tuple[Array, Array], elastomer: Elastomer) -> Softening | None:
    """Return the softening table of a section, None for a linear elastomer."""
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    if elastomer.saturation_stress == math.inf:
        return None
    heights, areas = strips
    E = elastomer.elastic_modulus
    scale = elastomer.saturation_stress / (E * float(np.abs(heights).max())) / 4
    nodes = np.linspace(0.0, PROFILE_REACH, PROFILE_NODES)
    strain = scale * np.expm1(nodes)[:, None] * heights
    rigidity = E * float(np.sum(areas * heights**2))
    tangent = E * _denominator(elastomer, strain) ** (-1 - 1 / SOFTENING)
    slopes = (tangent @ (areas * heights**2)) * scale * np.exp(nodes) / rigidity
    values = softened_stress(elastomer, strain) @ (areas * heights) / rigidity
    return Softening(scale=scale, step=float(nodes[1]), values=values, slopes=slopes)


def effective_curvature(softening: Softening | None, curvature: Array) -> tuple[Array, Array]:
    """Return moment over flexural rigidity [1/m], odd in curvature, and its slope."""
    if softening is None:
        return curvature, np.ones_like(curvature)
    bent = np.abs(curvature) / softening.scale
    place = np.log1p(bent) / softening.step
    index = np.minimum(place.astype(np.intp), PROFILE_NODES - 2)
    share = np.minimum(place - index, 1.0)
    low, rise = softening.values[index], softening.slopes[index] * softening.step
    high, onward = softening.values[index + 1], softening.slopes[index + 1] * softening.step
    gap = high - low
    bow, twist = 3 * gap - 2 * rise - onward, rise + onward - 2 * gap
    value = low + share * (rise + share * (bow + share * twist))
    slope = (rise + share * (2 * bow + 3 * share * twist)) / softening.step
    # past the last node a straight line, or moment and slope would contradict each other
    value += np.maximum(place - (PROFILE_NODES - 1), 0.0) * onward
    return np.copysign(value, curvature), slope / (softening.scale * (1 + bent))


def _denominator(elastomer: Elastomer, strain: Array) -> Array:
    stretched = elastomer.elastic_modulus * np.abs(strain) / elastomer.saturation_stress
    return np.asarray(1 + stretched**SOFTENING)


def _strips(strips: tuple[ArrayLike, ArrayLike]) -> tuple[Array, Array]:
    try:
        heights, areas = strips
    except (TypeError, ValueError):
        raise refuse("strips", "a pair (heights, areas)", type(strips).__name__) from None
    heights = check_numbers("strip heights", heights, least=-1.0, most=1.0, unit="m")
    areas = check_numbers("strip areas", areas, least=0.0, most=1.0, unit="m2")
    if heights.ndim != 1 or heights.shape != areas.shape:
        raise refuse("strips", "two equally long rows", f"{heights.shape} and {areas.shape}")
    return heights, areas


def _recovery_time() -> float:
    row = read_table("constants")["tpu set"]
    usual = read_table("elastomers")["TPU 85A"]["relaxation_exponent"].value
    return float(86400.0 / ((1 - row["day_share"].value) ** (-1 / usual) - 1))
