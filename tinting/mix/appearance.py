"""How a part looks under a light: as numbers, and as a square that a screen can show.

A screen is adapted to daylight. So a colour seen under a lamp is shown as an eye used to that
lamp would see it, by white adaptation; the numbers keep the light's own white.
"""

from __future__ import annotations

from dataclasses import dataclass

from data.rules import check_kind, check_name, refuse
from tinting.colour.colorimetry import delta_e, lab_from_xyz, light_names, weights
from tinting.colour.grid import BANDS, Array, check_array, check_lab
from tinting.colour.spectrum import hex_from_lab, smoothest_reflectance
from tinting.mix.plan import TintPlan


@dataclass(frozen=True, kw_only=True)
class Look:
    """A colour under one light: CIELAB for 10 degree, and "#rrggbb" for a screen."""

    name: str
    light: str
    lab: tuple[float, float, float]
    hex: str


@dataclass(frozen=True, kw_only=True)
class UnderLight:
    """Base, tint and target under one light, ΔE00 from tint to target, and the estimate's doubt.

    ``spread`` is how far the second opinion on the dyes lies from the first, 0 for learned dyes.
    """

    light: str
    base: Look
    tint: Look
    target: Look
    difference: float
    spread: float


def look(name: str, reflectance: object, light: str = "D65") -> Look:
    """Return how a spectrum (36,) looks under a light.

    Parameters
    ----------
    name : str
        What is looked at.
    reflectance : array_like (36,)
        As measured, from 0 to 1.
    light : str
        One of `tinting.colour.colorimetry.light_names`.

    Notes
    -----
    The square is that of its CIELAB, see `tinting.colour.spectrum.srgb_from_lab`.
    """
    check_name("name", name)
    spectrum = check_array("reflectance", reflectance, BANDS, least=0.0, most=10.0)
    if spectrum.shape != (BANDS,):
        raise refuse("reflectance", f"one spectrum of {BANDS}", f"shape {spectrum.shape}")
    seen = lab_from_xyz(spectrum @ weights(light, 10), light, 10)
    lightness, a, b = (float(value) for value in seen)
    return Look(name=name, light=light, lab=(lightness, a, b), hex=hex_from_lab(seen, light))


def target_reflectance(target: object) -> Array:
    """Return the spectrum (36,) that stands for a target known by CIELAB alone.

    The smoothest one that has the colour under D65 for 10 degree, so that under another light
    the target is an estimate. ValueError for a colour that no real surface has.
    """
    return smoothest_reflectance(check_lab("target lab", target))


def under_lights(plan: TintPlan, lights: tuple[str, ...] = ()) -> tuple[UnderLight, ...]:
    """Return base, tint and target of a plan under lights (left out: all of them, D65 first).

    Raises
    ------
    ValueError
        For a target that no real surface has.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    check_kind("lights", lights, tuple, "a tuple of names of lights")
    result, target = plan.result(), target_reflectance(plan.target)
    found = []
    for light in lights or light_names():
        base, dyed, wanted = (
            look(name, spectrum, light)
            for name, spectrum in (
                ("base", plan.base.reflectance),
                ("tint", result.reflectance),
                ("target", target),
            )
        )
        found.append(
            UnderLight(
                light=light,
                base=base,
                tint=dyed,
                target=wanted,
                difference=float(delta_e(dyed.lab, wanted.lab)),
                spread=result.spread(light),
            )
        )
    return tuple(found)
