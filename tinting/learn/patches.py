"""What painted patches look like for given strengths of the dyes, and how that changes.

The parameters of a fit stand in one row: for each dye the shape of its absorptivity (spline
coefficients of mean 1), then ln strength, ln saturation and coat loss of each dye, then for each
base ln scattering thickness, ln of its own scale of uptake and the surface reflection in its
readings. Strength stands apart from shape because it moves together with thickness and
saturation, and in logarithms that way is straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from tinting.colour.colorimetry import lab_from_xyz, weights
from tinting.colour.grid import Array, wavelengths_nm
from tinting.skin.dyed import skin_reflectance
from tinting.skin.uptake import MOST_COATS

COEFFICIENTS = 14
_NUDGE = 1e-5


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where the parameters of ``dyes`` dyes on ``bases`` bases stand in their row."""

    dyes: int
    bases: int

    @property
    def shape(self) -> slice:
        """Spline coefficients of all dyes, one dye after the other."""
        return slice(0, COEFFICIENTS * self.dyes)

    @property
    def strength(self) -> slice:
        """ln of what the coefficients of each dye are multiplied by."""
        return slice(self.shape.stop, self.shape.stop + self.dyes)

    @property
    def saturation(self) -> slice:
        """ln saturation of each dye."""
        return slice(self.strength.stop, self.strength.stop + self.dyes)

    @property
    def coat_loss(self) -> slice:
        """Coat loss of each dye."""
        return slice(self.saturation.stop, self.saturation.stop + self.dyes)

    @property
    def thickness(self) -> slice:
        """ln scattering thickness of each base."""
        return slice(self.coat_loss.stop, self.coat_loss.stop + self.bases)

    @property
    def scale(self) -> slice:
        """ln scale of uptake of each base."""
        return slice(self.thickness.stop, self.thickness.stop + self.bases)

    @property
    def specular(self) -> slice:
        """Surface reflection in the readings of each base."""
        return slice(self.scale.stop, self.scale.stop + self.bases)

    def of_dye(self, dye: int) -> list[int]:
        """Places of one dye: its shape, ln strength, ln saturation, coat loss."""
        first = COEFFICIENTS * dye
        ends = [place.start + dye for place in (self.strength, self.saturation, self.coat_loss)]
        return [*range(first, first + COEFFICIENTS), *ends]

    @property
    def size(self) -> int:
        """How many parameters there are."""
        return int(self.specular.stop)


@dataclass(frozen=True, kw_only=True, eq=False)
class Patches:
    """N painted patches: ``shares`` (N, J), ``coats`` (N,), ``base`` (N,) the base's place.

    ``bare`` (N, 36) belongs to the base of each patch.
    """

    shares: Array = field(repr=False)
    coats: Array = field(repr=False)
    base: Sequence[int]
    bare: Array = field(repr=False)


@cache
def spline_basis() -> Array:
    """Return the cubic B-splines (36, 14), evenly spaced over the grid; they add up to 1."""
    from scipy.interpolate import BSpline

    first, last = float(wavelengths_nm[0]), float(wavelengths_nm[-1])
    inner = np.linspace(first, last, COEFFICIENTS - 2)
    knots = np.concatenate([[first] * 3, inner, [last] * 3])
    basis = np.asarray(BSpline.design_matrix(wavelengths_nm, knots, 3).toarray(), dtype=np.float64)
    basis.flags.writeable = False
    return basis


def readings(
    parameters: Array, hands: Array, patches: Patches, layout: Layout
) -> tuple[Array, Array, Array]:
    """Return what the patches read, with the slopes.

    Parameters
    ----------
    parameters : ndarray (P,)
        In the order of the layout.
    hands : ndarray (N,)
        ln of how much more dye than meant each patch got.
    patches, layout
        What was painted on what.

    Returns
    -------
    reflectance : ndarray (N, 36)
    slope : ndarray (N, 36, P)
        Against the parameters.
    hand_slope : ndarray (N, 36)
        Of each patch against its own hand.
    """
    taken, by_saturation, by_loss = _uptake(parameters, patches, layout)
    base = np.asarray(patches.base, dtype=np.intp)
    amount = np.exp(hands + parameters[layout.scale][base])[:, None]
    strength = np.exp(parameters[layout.strength])
    shapes = parameters[layout.shape].reshape(layout.dyes, COEFFICIENTS)
    spectra = strength[:, None] * (shapes @ spline_basis().T)
    absorption = amount * (taken @ spectra)
    thickness = np.exp(parameters[layout.thickness][base])[:, None]
    specular = parameters[layout.specular][base][:, None]
    shown, by_absorption, by_thickness, by_specular = _skin(
        absorption, thickness, patches.bare, specular
    )
    slope = np.zeros((*shown.shape, layout.size))
    steep = by_absorption * amount
    each = steep[:, :, None] * taken[:, None, :]
    blocks = (each * strength)[..., None] * spline_basis()[:, None, :]
    slope[:, :, layout.shape] = blocks.reshape(*shown.shape, -1)
    slope[:, :, layout.strength] = each * spectra.T
    # "nkj,jb": uptake of dye j against the property of dye k, times the spectrum of dye j
    slope[:, :, layout.saturation] = np.swapaxes(by_saturation @ spectra * steep[:, None], 1, 2)
    slope[:, :, layout.coat_loss] = np.swapaxes(by_loss @ spectra * steep[:, None], 1, 2)
    hand_slope = by_absorption * absorption
    rows = np.arange(base.size)
    slope[rows, :, layout.thickness.start + base] = by_thickness
    slope[rows, :, layout.scale.start + base] = hand_slope
    slope[rows, :, layout.specular.start + base] = by_specular
    return shown, slope, hand_slope


def colours(reflectance: Array, slopes: Sequence[Array]) -> tuple[Array, list[Array]]:
    """Return CIELAB (N, 3) under D65 for 10 degree, and slopes of spectra as slopes of CIELAB.

    Slopes (N, 36, ...) come back as (N, 3, ...).
    """
    matrix = weights()
    lab = lab_from_xyz(reflectance @ matrix)
    fy = (lab[:, 0] + 16) / 116
    f = np.stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200], axis=1)
    # f is the cube root above 6/29 and its tangent below
    steep = 1 / (3 * np.maximum(f, 6 / 29) ** 2)
    mixing = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
    turn = (mixing * steep[:, None, :]) @ (matrix / matrix.sum(axis=0)).T
    return lab, [np.einsum("nkb,nb...->nk...", turn, slope, optimize=True) for slope in slopes]


def _uptake(parameters: Array, patches: Patches, layout: Layout) -> tuple[Array, Array, Array]:
    """Uptake u (N, J), and du_j by ln saturation and by coat loss of dye k, both (N, k, j)."""
    room = np.exp(parameters[layout.saturation])
    kept = 1 - parameters[layout.coat_loss]
    coat = np.arange(MOST_COATS)
    on = coat < patches.coats[:, None]
    powers = kept[:, None] ** coat
    summed = on @ powers.T
    # d/dρ of Σ (1 - ρ)^i over the coats
    bend = -(on[:, 1:] @ (coat[1:] * powers[:, :-1]).T)
    load = patches.shares * summed
    crowd = 1 + (load / room).sum(axis=1, keepdims=True)
    taken = load / crowd
    by_saturation = (taken / crowd)[:, None, :] * (load / room)[:, :, None]
    # one more load of dye k: its own uptake grows, that of all is crowded
    by_load = np.eye(layout.dyes) / crowd[:, :, None] - (taken / crowd)[:, None, :] / room[:, None]
    return taken, by_saturation, by_load * (patches.shares * bend)[:, :, None]


def _skin(
    absorption: Array, thickness: Array, bare: Array, specular: Array
) -> tuple[Array, Array, Array, Array]:
    """Reading, and its slopes against absorption, ln thickness and surface reflection."""
    more, less = absorption * (1 + _NUDGE) + _NUDGE, absorption * (1 - _NUDGE)
    by_absorption = (
        skin_reflectance(more, bare, thickness, specular)
        - skin_reflectance(less, bare, thickness, specular)
    ) / (more - less)
    thicker, thinner = thickness * np.exp(_NUDGE), thickness * np.exp(-_NUDGE)
    by_thickness = (
        skin_reflectance(absorption, bare, thicker, specular)
        - skin_reflectance(absorption, bare, thinner, specular)
    ) / (2 * _NUDGE)
    shown = skin_reflectance(absorption, bare, thickness, specular)
    by_specular = (
        skin_reflectance(absorption, bare, thickness, specular + _NUDGE) - shown
    ) / _NUDGE
    return shown, by_absorption, by_thickness, by_specular
