"""The modulus of a print, from how far a strip of it droops under its own weight."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, Caution, check_kind, check_numbers
from flexcalc.bench.readings import DULL, MOST_DROP, Droop, Measured, bench_constant
from flexcalc.limb.inputs import GRAVITY, Elastomer, Limb
from flexcalc.rod.rest import rest_shape
from flexcalc.section.elastomer import REFERENCE_TIME
from flexcalc.section.section import limb_section

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

STRAINED = 0.02
"""Outer strain above which the strip's softening would lower its modulus by a percent or more."""


def droop_number(drop_share: ArrayLike) -> Array:
    """Return w L^3/EI of a level strip whose tip hangs a share of its length below the clamp.

    Parameters
    ----------
    drop_share : array_like (...)
        Drop over length, 1e-5 to 0.9.

    Returns
    -------
    ndarray (...)
        Weight per length times length cubed over flexural rigidity, relative error below 1e-7.

    Notes
    -----
    8 times the drop's share where that is small. Source: own weight elastica, `rest_shape`.
    """
    drop = check_numbers("drop share", drop_share, least=1e-5, most=MOST_DROP)
    curve = _droop_curve()
    flat = np.log(drop / (1 - drop)).ravel()
    guess = curve(flat)
    there = drop_shares(np.exp(guess))
    # one Newton step takes away what the interpolation leaves
    polished = guess + (flat - np.log(there / (1 - there))) * curve(flat, 1)
    return np.asarray(np.exp(polished).reshape(drop.shape))


@cache
def _droop_curve() -> CubicSpline:
    from scipy.interpolate import CubicSpline

    logs = np.linspace(math.log(5e-5), math.log(49.9), 80)
    drops = drop_shares(np.exp(logs))
    return CubicSpline(np.log(drops / (1 - drops)), logs)


def drop_shares(numbers: Array) -> Array:
    """Return the drop over the length of level strips for w L^3/EI (n,), see `droop_number`."""
    rest = rest_shape(1.0, 1.0, math.pi / 2, 0.0, numbers, accuracy=1e-9)
    return -rest.tip_position[..., 1]


def printed_modulus(droop: Droop, elastomer: Elastomer) -> Measured:
    """Return the modulus of a print, ten seconds after loading, from its droop.

    Parameters
    ----------
    droop : Droop
        Strip or bare limb and its reading.
    elastomer : Elastomer
        Its density and relaxation exponent are used; its modulus only for the core's share.

    Returns
    -------
    Measured
        Modulus [Pa] with the factor of the errors of drop and thickness alone; another print of
        the same filament may differ by more.

    Raises
    ------
    ValueError
        For anything else, or a wall and outline that do not fit each other.

    Notes
    -----
    E = w L^3 / (I q), q of the droop; read at time t, times (t / 10 s)^m. Weight over second
    moment goes as one over the square of a strip's thickness, and so does its error.
    """
    check_kind("droop", droop, Droop, "a Droop")
    check_kind("elastomer", elastomer, Elastomer, "an Elastomer")
    limb = Limb(
        elastomer=elastomer,
        outline=droop.outline,
        length=droop.length,
        wall=droop.wall,
        infill=droop.infill,
    )
    section = limb_section(limb)
    share = droop.drop / droop.length
    ends = np.minimum(np.array([1 - droop.error, 1.0, 1 + droop.error]) * share, MOST_DROP)
    low, number, high = droop_number(np.maximum(ends, 1e-5))
    weight = GRAVITY * section.mass_per_length
    rigidity = weight * droop.length**3 / number
    aged = (droop.time / REFERENCE_TIME) ** elastomer.relaxation_exponent
    spread = math.log(high / low) / math.log(ends[2] / ends[0]) * droop.error
    return Measured(
        name="elastic modulus",
        unit="Pa",
        value=float(
            elastomer.elastic_modulus * rigidity / section.flexural_rigidity_bare[0] * aged
        ),
        error=math.exp(math.hypot(spread, 2 * droop.thickness_error)),
        as_factor=True,
        cautions=_droop_cautions(
            droop, spread, weight * droop.length**2 / 2 / rigidity * section.extreme_fibre
        ),
    )


def _droop_cautions(droop: Droop, spread: float, strain: float) -> tuple[Caution, ...]:
    found = []
    ruler = bench_constant("ruler_error") / droop.drop
    if ruler > droop.error:
        text = (
            f"The drop is small: half a millimetre on the ruler is {ruler:.0%} of it, more than "
            f"the {droop.error:.0%} assumed. Let a longer piece hang out."
        )
        found.append(Caution(key="droop too small", text=text))
    if spread > DULL * droop.error:
        text = (
            f"The strip hangs so far that {droop.error:.0%} of the drop is {spread:.0%} of the "
            "modulus. Let a shorter piece hang out."
        )
        found.append(Caution(key="droop too large", text=text))
    if strain > STRAINED:
        text = (
            f"The strip is strained by up to {strain:.1%} at the clamp, where the filament "
            "already softens: the modulus reads low. Use a thinner strip."
        )
        found.append(Caution(key="droop strained", text=text))
    return tuple(found)
