"""Small disc magnets in a hand: how hard they pull through a skin, and what drops the object.

Ideal pull of uniformly magnetised discs on one axis; real ones reach 0.6 to 0.8 of it (coating,
tilt, thin steel). Left out: magnets side by side and magnets off their axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from data import read_table
from data.rules import Array, Caution, check_choice, check_number, refuse
from flexcalc.limb.inputs import GRAVITY

MAGNETIC_CONSTANT = 1.25663706212e-6
"""Vacuum permeability, CODATA 2018. [N/A2]"""
PARTNERS = ("disc", "steel")
CHILDREN = (
    "Small strong magnets are dangerous when swallowed: glue or cap them in so that they cannot"
    " come loose, and keep them from children under 14."
)
HEAT = "Heat kills magnets (80 °C for the common grades): fit them after printing."


@dataclass(frozen=True, kw_only=True)
class MagnetHold:
    """Whether a magnet holds an object that sticks out from it.

    ``pull_low`` to ``pull_high`` [N] is the real pull. ``payload_pull``, ``payload_slide`` and
    ``payload_peel`` [kg] are the heaviest objects by the low pull: hung straight from the magnet,
    sliding down a vertical face, tipping over the magnet's lower edge. ``holds`` is "yes" if the
    low pull is enough for all three, "perhaps" if only the high pull is, else "no"; ``weakest``
    says which gives way first.
    """

    pull_low: float
    pull_high: float
    payload_pull: float
    payload_slide: float
    payload_peel: float
    weakest: str
    holds: str
    cautions: tuple[Caution, ...]


def magnet_pull(
    diameter: float,
    thickness: float,
    remanence: float,
    gap: float,
    partner: str = "disc",
    *,
    other_diameter: float | None = None,
    other_thickness: float | None = None,
    other_remanence: float | None = None,
) -> float:
    """Return the ideal pull of a disc magnet on another on its axis or on thick steel.

    Parameters
    ----------
    diameter, thickness : float
        Of the disc, 0.1 mm to 0.2 m. [m]
    remanence : float
        0.01 to 2. [T]
    gap : float
        Between the faces, all skins and coatings together, 0 to 0.5 m. [m]
    partner : str
        "disc", or "steel" thicker than half the magnet's diameter, which is its own image at
        twice the gap.
    other_diameter, other_thickness, other_remanence : float, optional
        Of the second disc where it differs from the first. [m, m, T]

    Returns
    -------
    float
        Attraction, unlike poles facing. [N]

    Notes
    -----
    F = pi mu0 M1 M2 R1 R2 int J1(k R1) J1(k R2) e^(-k g) (1 - e^(-k t1)) (1 - e^(-k t2)) dk/k.
    Graf's addition theorem turns int J1 J1 e^(-k z) dk/k into (R1 R2/pi) int_0^pi
    sin^2 a/(s (s + z)) da with s^2 = z^2 + R1^2 + R2^2 - 2 R1 R2 cos a, smooth enough for Gauss's
    rule on panels that shrink towards 0.

    Source: charge model, as Vokoun, Beleggia, Heller and Sittner, J. Magn. Magn. Mater. 321
    (2009) 3758 (abstract read, formula derived here); steel by the method of images.
    """
    check_choice("magnet partner", partner, PARTNERS)
    first = _checked_disc("magnet", diameter, thickness, remanence)
    distance = check_number("magnet gap", gap, least=0.0, most=0.5, unit="m")
    if partner == "steel":
        for given in (other_diameter, other_thickness, other_remanence):
            if given is not None:
                raise refuse("other magnet", "left out where it is steel", given)
        second, distance = first, 2 * distance
    else:
        second = _checked_disc(
            "other magnet",
            diameter if other_diameter is None else other_diameter,
            thickness if other_thickness is None else other_thickness,
            remanence if other_remanence is None else other_remanence,
        )
    radii = first[0] / 2, second[0] / 2
    thick, thin = first[1], second[1]
    reach = distance + np.array([0.0, thick, thin, thick + thin])
    near, one, two, far = _coupling(*radii, reach)
    strength = math.pi * first[2] * second[2] / MAGNETIC_CONSTANT * radii[0] * radii[1]
    return float(strength * ((near - one) - (two - far)))


def magnet_hold(
    pull: float, diameter: float, payload: float, arm: float, *, friction: float = 0.2
) -> MagnetHold:
    """Return whether a magnet holds an object whose weight stands off from its face.

    Parameters
    ----------
    pull : float
        Ideal pull of `magnet_pull`, 0 to 1e5. [N]
    diameter : float
        Of the smaller magnet, over whose edge the object tips. [m]
    payload : float
        Mass of the object, 0 to 100. [kg]
    arm : float
        From the magnet's face to the object's centre of mass, 0 to 2. [m]
    friction : float
        Between the faces, for sliding down: 0.2 for bare plating, more through TPU.

    Returns
    -------
    MagnetHold

    Notes
    -----
    Straight: F. Sliding: friction F. Peel: F D/2 against weight x arm. Band of F: data/constants.
    """
    ideal = check_number("magnet pull", pull, least=0.0, most=1e5, unit="N")
    across = check_number("magnet diameter", diameter, least=1e-4, most=0.2, unit="m")
    mass = check_number("payload", payload, least=0.0, most=5.0, unit="kg")
    lever = check_number("payload arm", arm, least=0.0, most=1.0, unit="m")
    grip = check_number("magnet friction", friction, least=0.0, most=3.0)
    derating = read_table("constants")["magnet"]["derating"]
    low, high = ideal * derating.low, ideal * derating.high
    # An object closer than D/2 does not tip before it lets go straight.
    factors = {
        "it lets go straight": 1.0,
        "it slides down": grip,
        "it peels off": min(1.0, across / (2 * lever)) if lever else 1.0,
    }
    weakest = min(factors, key=lambda way: factors[way])
    least = factors[weakest]
    weight = mass * GRAVITY
    holds = "yes" if low * least >= weight else "perhaps" if high * least >= weight else "no"
    straight, slide, peel = (low * factor / GRAVITY for factor in factors.values())
    return MagnetHold(
        pull_low=low,
        pull_high=high,
        payload_pull=straight,
        payload_slide=slide,
        payload_peel=peel,
        weakest=weakest,
        holds=holds,
        cautions=(
            Caution(key="magnet children", text=CHILDREN),
            Caution(key="magnet heat", text=HEAT),
        ),
    )


def _checked_disc(
    name: str, diameter: float, thickness: float, remanence: float
) -> tuple[float, float, float]:
    return (
        check_number(f"{name} diameter", diameter, least=1e-4, most=0.2, unit="m"),
        check_number(f"{name} thickness", thickness, least=1e-4, most=0.2, unit="m"),
        check_number(f"{name} remanence", remanence, least=0.01, most=2.0, unit="T"),
    )


def _coupling(first: float, second: float, reach: Array) -> Array:
    """Return int J1(k a) J1(k b) e^(-k z) dk/k for each z in ``reach``, radii a and b."""
    angle, weight = _panels()
    # 2 sin^2(a/2) instead of 1 - cos a keeps the digits where the discs nearly touch.
    apart = (first - second) ** 2 + 4 * first * second * np.sin(angle / 2) ** 2
    z = reach[:, None]
    slant = np.sqrt(z**2 + apart)
    share = np.sin(angle) ** 2 / (slant * (slant + z))
    return np.asarray(first * second / math.pi * (share @ weight))


@cache
def _panels() -> tuple[Array, Array]:
    """Return Gauss nodes and weights on [0, pi], in panels that shrink towards 0."""
    edges = np.concatenate([[0.0], math.pi * 0.3 ** np.arange(16, -1, -1.0)])
    node, weight = np.polynomial.legendre.leggauss(20)
    low, width = edges[:-1, None], np.diff(edges)[:, None]
    return (low + width * (node + 1) / 2).ravel(), (width * weight / 2).ravel()
