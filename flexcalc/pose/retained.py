"""How much of a bend stays after letting go, without weight: wire against elastomer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, check_kind, check_number, check_numbers, refuse
from flexcalc.joints.limbs import pull_error
from flexcalc.limb.inputs import Limb, Wire
from flexcalc.section.elastomer import effective_curvature, section_softening
from flexcalc.section.section import limb_section, section_strips
from flexcalc.wire.bending import rebent_limb, wire_bundle
from flexcalc.wire.bundle import Bundle, release_moment_at
from flexcalc.wire.roots import increasing_root

TIGHTEST = 2000.0
"""Curvature of the tightest admitted bend, radius 0.5 mm. [1/m]"""
MOST_CURVATURES = 100_000
"""Each takes 9 kB while its root is sought."""


def retained_bend(
    limb: Limb,
    set_curvature: ArrayLike,
    rule: str | None = None,
    back_stress: float | None = None,
    elastomer_share: float = 1.0,
    recoil_share: float | None = None,
) -> Array:
    """Return the share of a bend's curvature that stays after letting go, without gravity.

    Parameters
    ----------
    limb : Limb
        Section, elastomer and wire; a limb without a wire keeps what its elastomer has relaxed.
    set_curvature : array_like (...)
        Curvature it was bent to, either sign, not 0; at most 100 000 of them. [1/m]
    rule, back_stress : str, float, optional
        In place of the ``reversal`` and ``back_stress`` of the wire's metal.
    elastomer_share : float
        Modulus that still pulls, as a share of the one at ten seconds, 0 to 10.
    recoil_share : float, optional
        Modulus against the change since letting go, ``elastomer_share`` to 10; the same as
        ``elastomer_share`` if left out.

    Returns
    -------
    ndarray (...)
        Share from 0 to 1.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    Root of M_wire(k) + G(k_set) held + recoil (G(k) - G(k_set)) with the wire on its release
    branch and G the elastomer's moment.

    Source: own balance; checked against small-step fibre integration.
    """
    check_kind("limb", limb, Limb, "a Limb")
    limb = rebent_limb(limb, rule, back_stress)
    bent = check_numbers(
        "set curvature",
        set_curvature,
        least=-TIGHTEST,
        most=TIGHTEST,
        unit="1/m",
        longest=MOST_CURVATURES,
    )
    if not np.all(bent):
        raise refuse("set curvature", "other than 0 1/m", 0)
    held = check_number("elastomer share", elastomer_share, least=0.0, most=10.0)
    recoil = _recoil(held, recoil_share, limb.wire)
    first = np.abs(bent).ravel()
    check_wire_fits(limb.wire, float(first.max()))
    bundle = None if limb.wire is None else wire_bundle(limb.wire)
    rigidity = limb_section(limb).flexural_rigidity_bare[0] / pull_error(limb)
    softening = section_softening(section_strips(limb), limb.elastomer)

    def pull(curvature: Array) -> tuple[Array, Array]:
        value, slope = effective_curvature(softening, curvature)
        set_value, _ = effective_curvature(softening, first)
        return rigidity * (recoil * value + (held - recoil) * set_value), rigidity * recoil * slope

    return (_balance(bundle, pull, first) / first).reshape(bent.shape)


def check_wire_fits(wire: Wire | None, curvature: float) -> None:
    """Raise the ValueError if a bend is tighter than the wire's own radius."""
    if wire is None:
        return
    check_kind("wire", wire, Wire, "a Wire or None")
    curvature = check_number("curvature", curvature, least=0.0, unit="1/m")
    if curvature * wire.diameter > 2 * (1 + 1e-12):
        rule = f"at least the wire's own radius {500 * wire.diameter:.3g} mm"
        raise refuse("bend radius", rule, float(f"{1 / curvature:.6g}"))


def _recoil(held: float, recoil_share: float | None, wire: Wire | None) -> float:
    if recoil_share is None:
        recoil = held
    else:
        recoil = check_number("recoil share", recoil_share, least=held, most=10.0)
    if wire is None and recoil == 0:
        raise refuse("elastomer share", "above 0 for a limb without a wire", held)
    return recoil


def _balance(
    bundle: Bundle | None,
    pull: Callable[[Array], tuple[Array, Array]],
    first: Array,
) -> Array:
    """Return where weightless bends (n,) rest, by the section integrals themselves."""

    def balance(curvature: Array) -> tuple[Array, Array]:
        value, slope = pull(curvature)
        if bundle is None:
            return value, slope
        moment, stiffness = release_moment_at(bundle, first, first - curvature)
        return value + moment, slope + stiffness

    return increasing_root(balance, 0.0 * first, first, first, tolerance=1e-11)
