"""The wire alone: its moment when bent, let go and bent back, and how far it springs back.

A wire bends as odd in curvature. Left out: a wire that was straightened from a coil is not
virgin, and after several full re-poses the stabilised loop ("masing") is the better guess.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, check_choice, check_kind, check_number, check_numbers, refuse
from flexcalc.limb.inputs import Limb, Wire
from flexcalc.limb.substances import MOST_BACK_STRESS, REVERSALS
from flexcalc.wire.bundle import Bundle, loading_moment, release_moment_at
from flexcalc.wire.fibre import metal_flow


def wire_bundle(wire: Wire) -> Bundle:
    """Return a wire as plain numbers for the section integrals."""
    check_kind("wire", wire, Wire, "a Wire")
    return Bundle(
        flow=metal_flow(wire.metal),
        radius=np.asarray(wire.diameter / 2),
        strands=np.asarray(float(wire.strands)),
    )


def rebent_wire(wire: Wire, rule: str | None, back_stress: float | None) -> Wire:
    """Return a wire whose metal has another ``reversal`` or ``back_stress``, where given."""
    check_kind("wire", wire, Wire, "a Wire")
    if rule is not None:
        metal = replace(wire.metal, reversal=check_choice("rule", rule, REVERSALS))
        wire = replace(wire, metal=metal)
    if back_stress is not None:
        share = check_number("back stress", back_stress, least=0.0, most=MOST_BACK_STRESS)
        wire = replace(wire, metal=replace(wire.metal, back_stress=share))
    return wire


def rebent_limb(limb: Limb, rule: str | None, back_stress: float | None) -> Limb:
    """Return a limb whose wire yields backwards otherwise, see `rebent_wire`."""
    check_kind("limb", limb, Limb, "a Limb")
    if rule is None and back_stress is None:
        return limb
    if limb.wire is not None:
        return replace(limb, wire=rebent_wire(limb.wire, rule, back_stress))
    if rule is not None:
        check_choice("rule", rule, REVERSALS)
    if back_stress is not None:
        check_number("back stress", back_stress, least=0.0, most=MOST_BACK_STRESS)
    return limb


def elastic_rigidity(wire: Wire) -> float:
    """Return the flexural rigidity of a wire about its own axis, strands added. [N m2]"""
    return float(wire_bundle(wire).rigidity)


def yield_stress(wire: Wire) -> float:
    """Return the stress at which the virgin wire leaves its elastic line. [Pa]"""
    strain = float(wire_bundle(wire).flow.yield_strain)
    return wire.metal.elastic_modulus * strain


def yield_curvature(wire: Wire) -> float:
    """Return the curvature at which the outer fibre of a virgin wire yields. [1/m]"""
    return float(wire_bundle(wire).yield_curvature)


def yield_moment(wire: Wire) -> float:
    """Return the moment at which the outer fibre of a virgin wire yields. [N m]"""
    bundle = wire_bundle(wire)
    return float(bundle.rigidity * bundle.yield_curvature)


def plastic_moment(wire: Wire) -> float:
    """Return the fully plastic moment of a wire that does not harden past first yield.

    Parameters
    ----------
    wire : Wire
        Diameter, strands and metal.

    Returns
    -------
    float
        16/(3 pi) times the yield moment. [N m]

    Notes
    -----
    A lower bound: annealed wire hardens, see `bending_moment`.

    Source: stress block of a circle, any strength-of-materials text.
    """
    return 16 / (3 * np.pi) * yield_moment(wire)


def bending_moment(wire: Wire, curvature: ArrayLike) -> Array:
    """Return the moment of a wire bent once from straight.

    Parameters
    ----------
    wire : Wire
        Diameter, strands and metal.
    curvature : array_like (...)
        At most one over the wire's radius, either sign. [1/m]

    Returns
    -------
    ndarray (...)
        Moment, odd and rising in curvature. [N m]

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    Hollomon M = E k I_core + 2 K (k r)^n r^3 B(1 + n/2, 3/2) (1 - I_{a^2}(1 + n/2, 3/2)) with a
    the elastic core's share of the radius; n = 0 is elastic-perfectly-plastic.

    Source: own integration of the stress law over a circle; limits 16/(3 pi) and rigid core.
    """
    bundle = wire_bundle(wire)
    bent = _curvatures("curvature", curvature, wire)
    return np.asarray(np.sign(bent) * loading_moment(bundle, np.abs(bent))[0])


def release_moment(
    wire: Wire,
    set_curvature: ArrayLike,
    curvature: ArrayLike,
    rule: str | None = None,
    back_stress: float | None = None,
) -> Array:
    """Return the moment of a wire bent to one curvature and then moved to another.

    Parameters
    ----------
    wire : Wire
        Diameter, strands and metal.
    set_curvature, curvature : array_like
        Where the first bending ended and where the wire is now; they broadcast. Beyond the set
        curvature the wire goes on along its first curve. [1/m]
    rule, back_stress : str, float, optional
        In place of the ``reversal`` and ``back_stress`` of its metal.

    Returns
    -------
    ndarray
        Moment that holds the wire there, in the sense of positive curvature. [N m]

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    The back-stress is never more than lets the surface yield backwards before the inside; that
    cuts a share of 0.6 where n is above 0.33, of 0.4 above 0.49.

    Source: Masing 1926 at section level; Armstrong and Frederick 1966 for the back-stress; both
    from memory and checked against small-step integration.
    """
    bundle = wire_bundle(rebent_wire(wire, rule, back_stress))
    first = _curvatures("set curvature", set_curvature, wire)
    now = _curvatures("curvature", curvature, wire)
    try:
        first, now = np.broadcast_arrays(first, now)
    except ValueError:
        shapes = f"{first.shape} and {now.shape}"
        raise refuse("curvatures", "of shapes that broadcast", shapes) from None
    side = np.where(first < 0, -1.0, 1.0)
    first, now = side * first, side * now
    drop = np.maximum(first - now, 0.0)
    opened, _ = release_moment_at(bundle, first, drop)
    onward, _ = loading_moment(bundle, np.maximum(now, 0.0))
    return np.asarray(side * np.where(now > first, onward, opened))


def spring_back_share(wire: Wire, set_curvature: ArrayLike) -> Array:
    """Return the share of its curvature that a free wire keeps when let go.

    Parameters
    ----------
    wire : Wire
        Diameter, strands and metal.
    set_curvature : array_like (...)
        Where the bending ended, not 0. [1/m]

    Returns
    -------
    ndarray (...)
        1 - M/(EI k), 0 where the wire stayed elastic.

    Notes
    -----
    Source: elastic unloading; exact while no fibre yields backwards, which a free wire avoids.
    """
    bent = _curvatures("set curvature", set_curvature, wire)
    if not np.all(bent):
        raise refuse("set curvature", "other than 0 1/m", 0)
    moment = np.abs(bending_moment(wire, bent))
    return np.asarray(np.maximum(1 - moment / (elastic_rigidity(wire) * np.abs(bent)), 0.0))


def _curvatures(name: str, value: ArrayLike, wire: Wire) -> Array:
    check_kind("wire", wire, Wire, "a Wire")
    tightest = 2 / wire.diameter
    return check_numbers(name, value, least=-tightest, most=tightest, unit="1/m")
