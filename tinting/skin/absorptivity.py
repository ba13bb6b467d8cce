"""The strength of a dye from one dyed swatch.

One colour leaves the spectrum open. Taken is the absorption of the skin whose logarithm runs
smoothest: it is never negative, and dyes have bands that look smooth on that scale. A second
spectrum comes from the Otsu basis; what both predict differs by about what is not known.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from data import read_table
from data.rules import check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import delta_e, lab_from_xyz, weights, xyz_from_lab
from tinting.colour.grid import BANDS, Array, check_array, check_lab
from tinting.colour.spectrum import (
    REPRODUCED,
    nearest_in_slope,
    second_reflectance,
    smoothest_within,
)
from tinting.skin.dyed import skin_reflectance
from tinting.skin.inputs import SCATTERING_THICKNESS, Base, Dye
from tinting.skin.uptake import MOST_COATS, dye_load, uptake

_STEPS = np.diff(np.eye(BANDS), axis=0)
_BENDS = np.diff(np.eye(BANDS), 2, axis=0)
STIFFNESS = _STEPS.T @ _STEPS + 9 * _BENDS.T @ _BENDS
"""Weighs bends three times as much as steps: least errors in trials on invented dyes."""
_GAP = 1e-4
"""How far above the surface reflection a spectrum must stay for its absorption to be finite."""
MOST_SPECTRA = 10_000
NEAREST = 5.0
"""Farther than this from its swatch an estimate says nothing. [dE]"""
_PAPER_GLOSS = 0.0175
_ESTIMATE = read_table("dyes")["dye estimate"]


def dye_from_swatch(
    base: Base,
    share: float,
    coats: int,
    lab: object,
    name: str = "dye",
    light: str = "D65",
    observer: int = 10,
    saturation: float = 2.0,
    coat_loss: float = 0.13,
    reading_error: float = 0.0,
) -> Dye:
    """Return a dye from the colour of one swatch; it gives that swatch back within 0.01 dE.

    A colour that no dye reaches on this base, such as a strong yellow on off-white, but that is
    not lighter than the base, is taken for the nearest that one does; ``missed`` says how far off.

    Parameters
    ----------
    base : Base
        The bare part that was dyed.
    share : float
        Volume share of the dye in the mix, 1e-6 to 1.
    coats : int
        Coats on the swatch, 1 to 50.
    lab : array_like (3,)
        CIELAB of the dry swatch under the light for the observer.
    name : str
        Name of the dye.
    light, observer : str, int
        What the swatch was measured under.
    saturation, coat_loss : float
        See `tinting.skin.inputs.Dye`; one swatch cannot tell them.
    reading_error : float
        When no dye reaches the colour on this base, take the nearest that one does if it is at
        most this far away, or 5 if that is more. [dE]

    Returns
    -------
    Dye
        Without covariance, which marks it as an estimate, and with ``second_absorptivity``.

    Raises
    ------
    ValueError
        For a swatch that is lighter than its base in X, Y or Z, which a dye that does not
        fluoresce cannot be, for one as dark as the surface alone, and for any other colour that
        no absorption comes near to on this base.
    """
    check_kind("base", base, Base, "a Base")
    volume = check_number("swatch share", share, least=1e-6, most=1.0)
    number = check_whole("swatch coats", coats, least=1, most=MOST_COATS)
    wanted = check_lab("swatch lab", lab)
    spare = check_number("reading error", reading_error, least=0.0, most=20.0, unit="dE")
    matrix = weights(light, observer)
    if spare == 0:
        _refuse_impossible(base, wanted, light, observer)
    loss = check_number("dye coat loss", coat_loss, least=0.0, below=1.0)
    taken = float(uptake([dye_load(volume, number, loss)], [saturation])[0])
    first, met = _smoothest_absorption(base, wanted, light, observer)
    if not met:
        spectrum = nearest_in_slope(
            base.reflectance,
            xyz_from_lab(wanted, light, observer),
            matrix,
            base.specular + _GAP / 100,
            base.reflectance,
        )
        first = absorption_of(spectrum, base)
    off = _miss(first, base, wanted, light, observer)
    if off > max(spare, NEAREST):
        rule = (
            f"a colour that a dye can come near to on this base, within {max(spare, NEAREST):g} "
            f"ΔE00 (nearest is {off:.2g} ΔE00 away)"
        )
        raise refuse("swatch lab", rule, wanted.tolist())
    second = _second_absorption(base, wanted, light, observer, first)
    return Dye(
        name=name,
        absorptivity=first / taken,
        second_absorptivity=second / taken,
        saturation=saturation,
        coat_loss=loss,
        strength_spread=_ESTIMATE["strength_spread"].value,
        missed=off if off > REPRODUCED else 0.0,
    )


def dye_from_blot(
    lab: object,
    paper: object,
    name: str = "dye",
    share: float = 1.0,
    coats: int = 1,
    light: str = "D65",
    observer: int = 10,
) -> Dye:
    """Return a dye from the colour of a blot on paper.

    Paper tells the hue; how strong the dye is on a part it tells within a factor of two, which
    ``strength_spread`` holds and every band goes by.

    Parameters
    ----------
    lab, paper : array_like (3,)
        CIELAB of the dry blot and of the bare paper, under the light for the observer.
    name : str
        Name of the dye.
    share, coats : float, int
        Volume share of the dye in what was blotted, and how often.
    light, observer : str, int
        What they were measured under.

    Raises
    ------
    ValueError
        As `dye_from_swatch` does, and for paper that is no colour of a surface.
    """
    bare = check_lab("paper", paper)
    base = Base(
        reflectance=smoothest_within("paper", bare, light, observer, _PAPER_GLOSS + _GAP, 1.0),
        scattering_thickness=SCATTERING_THICKNESS["opaque"],
        specular=_PAPER_GLOSS,
        kind="opaque",
        name="paper",
    )
    dye = dye_from_swatch(base, share, coats, lab, name, light, observer)
    factor = _ESTIMATE["blot_factor"]
    wide = float(np.log(factor.high / factor.low) / 2)
    return dataclasses.replace(dye, strength_spread=float(np.hypot(dye.strength_spread, wide)))


def absorption_of(reflectance: object, base: Base) -> Array:
    """Return the absorption D (..., 36) of the skin behind readings (..., 36) of a dyed base.

    Inverse of `tinting.skin.dyed.dyed_reflectance`: 0 where the reading is its base's or more, at
    most 1e6 where it is down at the surface reflection. By bisection, of at most 10 000 spectra.
    """
    check_kind("base", base, Base, "a Base")
    read = check_array("reflectance", reflectance, BANDS, least=0.0, most=10.0)
    if read.size > MOST_SPECTRA * BANDS:
        raise refuse("reflectance", f"at most {MOST_SPECTRA} spectra", read.size // BANDS)
    low, high = np.full(read.shape, np.log(1e-9)), np.full(read.shape, np.log(1e6))
    for _ in range(60):
        middle = (low + high) / 2
        darker = _dyed(np.exp(middle), base) < read
        low, high = np.where(darker, low, middle), np.where(darker, middle, high)
    return np.asarray(np.where(read >= base.reflectance, 0.0, np.exp((low + high) / 2)))


def _refuse_impossible(base: Base, wanted: Array, light: str, observer: int) -> None:
    matrix = weights(light, observer)
    swatch, bare = xyz_from_lab(wanted, light, observer), base.reflectance @ matrix
    for axis, got, limit in zip("XYZ", swatch, bare, strict=True):
        # a miss of this size is below 0.01 dE
        if got > limit * (1 + 1e-4):
            rule = (
                f"no lighter than its base in X, Y and Z, here {axis} at most {limit:.4g} "
                "(a fluorescent dye, another base, or a reading that is off)"
            )
            raise refuse("swatch lab", rule, f"{axis} {got:.4g}")
    if float(delta_e(lab_from_xyz(bare, light, observer), wanted)) <= REPRODUCED:
        rule = f"darker than its base, {np.round(lab_from_xyz(bare, light, observer), 1).tolist()}"
        raise refuse("swatch lab", rule, np.round(wanted, 1).tolist())
    least = matrix.sum(axis=0) * (base.specular + _GAP)
    for axis, got, limit in zip("XYZ", swatch, least, strict=True):
        if got <= limit:
            rule = (
                f"lighter in X, Y and Z than the surface reflection {base.specular:g} alone, here "
                f"{axis} above {limit:.4g}"
            )
            raise refuse("swatch lab", rule, f"{axis} {got:.4g}")


def _smoothest_absorption(
    base: Base, wanted: Array, light: str, observer: int
) -> tuple[Array, bool]:
    """Absorption whose logarithm runs smoothest, and whether it was found.

    Sequential quadratic programming on the logarithm, with the colour linearised in CIELAB.
    """
    z = np.full(BANDS, np.log(0.3))
    equations = np.zeros((BANDS + 3, BANDS + 3))
    equations[:BANDS, :BANDS] = STIFFNESS + 1e-9 * np.eye(BANDS)
    for _ in range(40):
        missed, rise = _colour_and_slope(np.exp(z), base, wanted, light, observer)
        equations[BANDS:, :BANDS] = rise * np.exp(z)
        equations[:BANDS, BANDS:] = equations[BANDS:, :BANDS].T
        try:
            step = np.linalg.solve(equations, -np.concatenate([STIFFNESS @ z, missed]))[:BANDS]
        except np.linalg.LinAlgError:
            break
        size = float(np.abs(step).max())
        if np.abs(missed).max() < 1e-6 and size < 1e-4:
            return np.exp(z), True
        z = z + min(1.0, 1.5 / (size + 1e-12)) * step
        if not (np.isfinite(z).all() and z.max() < 12 and z.min() > -40):
            break
    return np.zeros(BANDS), False


def _colour_and_slope(
    absorption: Array, base: Base, wanted: Array, light: str, observer: int
) -> tuple[Array, Array]:
    """CIELAB minus the wanted one (3,), and its slope over the absorption (3, 36)."""
    matrix = weights(light, observer)
    nudge = 1e-6 * (1 + absorption)
    shown = _dyed(absorption, base)
    slope = (_dyed(absorption + nudge, base) - shown) / nudge
    values = shown @ matrix
    ratio = values / matrix.sum(axis=0)
    knee = 6 / 29
    root = np.where(ratio > knee**3, np.cbrt(np.maximum(ratio, knee**3)), knee)
    cube = matrix.T * slope / (3 * root**2 * matrix.sum(axis=0))[:, None]
    rise = np.stack([116 * cube[1], 500 * (cube[0] - cube[1]), 200 * (cube[1] - cube[2])])
    return lab_from_xyz(values, light, observer) - wanted, rise


def _second_absorption(base: Base, wanted: Array, light: str, observer: int, first: Array) -> Array:
    """Absorption after the Otsu basis, or the first where that reaches no such colour."""
    floor = base.specular + _GAP
    top = np.maximum(base.reflectance, floor)
    try:
        second = second_reflectance(wanted, light, observer, lowest=floor, highest=top)
    except ValueError:
        return first
    return absorption_of(second, base)


def _miss(absorption: Array, base: Base, wanted: Array, light: str, observer: int) -> float:
    shown = _dyed(absorption, base) @ weights(light, observer)
    return float(delta_e(lab_from_xyz(shown, light, observer), wanted))


def _dyed(absorption: Array, base: Base) -> Array:
    return skin_reflectance(absorption, base.reflectance, base.scattering_thickness, base.specular)
