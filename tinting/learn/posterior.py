"""The parameters that swatches and priors make most likely, and what stays uncertain."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import lab
from tinting.colour.grid import Array, wavelengths_nm
from tinting.learn.least_squares import Optimum, least_squares_within
from tinting.learn.leftover import miss_covariance, patch_places
from tinting.learn.patches import COEFFICIENTS, Layout, Patches, colours, readings
from tinting.learn.prior import BRUSH_SCATTER, prior_rows, strength_rows, usual_parameters
from tinting.skin.inputs import Base, Swatch

_SHAPE = (0.0, 2.0 * COEFFICIENTS)
_STRENGTH = (math.log(1e-4), math.log(1e4))
_ROOM = (math.log(0.02), math.log(200.0))
_LOSS = (0.0, 0.9)
THICKNESS = (math.log(1e-4), math.log(1e3))
_SCALE = (-3.0, 3.0)
_SPECULAR = (0.0, 0.04)
_ABOVE_SURFACE = 1e-3
"""A base reads at least so much more than its surface."""
_BANDS_PER_READING = 3.0
"""Readings 10 nm apart see much the same light; three count as one."""
_MODEL_LENGTH = 60.0
"""Over so many nanometres half of what a model misses is much the same; the other half, at steep
edges that shift, is each band's own."""
_DARK = 6 / 29
_HELD = 1e-6
"""So close what is held stays to where it was."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Colours:
    """Swatches known by CIELAB (N, 3): ``sure`` (N, N) @ misses have spread 1."""

    places: NDArray[np.intp]
    lab: Array
    sure: Array

    def __call__(self, shown: Array, slope: Array) -> tuple[Array, Array]:
        found, (by_row,) = colours(shown[self.places], [slope[self.places]])
        misses = self.sure @ (found - self.lab)
        slopes = np.tensordot(self.sure, by_row, 1)
        return misses.ravel(), slopes.reshape(misses.size, -1)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Spectra:
    """Swatches known by L* of each band (N, 36).

    Turned by ``axes`` (36, 36) misses are independent, and ``sure`` (36, N, N) @ them of spread 1.
    """

    places: NDArray[np.intp]
    lightness: Array
    axes: Array
    sure: Array

    def __call__(self, shown: Array, slope: Array) -> tuple[Array, Array]:
        light, steep = _lightness(shown[self.places])
        turned = (light - self.lightness) @ self.axes
        by_row = np.einsum(
            "nbp,bk->nkp", slope[self.places] * steep[:, :, None], self.axes, optimize=True
        )
        misses = np.einsum("kmn,nk->mk", self.sure, turned, optimize=True)
        slopes = np.einsum("kmn,nkp->mkp", self.sure, by_row, optimize=True)
        return misses.ravel(), slopes.reshape(misses.size, -1)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Residuals:
    """Residuals of spread 1: readings, then priors, then hands."""

    patches: Patches
    layout: Layout
    readings: Sequence[_Colours | _Spectra]
    root: Array
    target: Array

    def __call__(self, row: Array) -> tuple[Array, Array]:
        parameters, hands = row[: self.layout.size], row[self.layout.size :]
        shown, slope, hand_slope = readings(parameters, hands, self.patches, self.layout)
        whole = np.concatenate([slope, hand_slope[:, :, None] * np.eye(hands.size)[:, None]], 2)
        both = [each(shown, whole) for each in self.readings]
        misses, slopes = [miss for miss, _ in both], [by_row for _, by_row in both]
        misses += [self.root @ parameters - self.target, hands / BRUSH_SCATTER]
        slopes += [np.pad(self.root, ((0, 0), (0, hands.size)))]
        slopes += [np.pad(np.eye(hands.size) / BRUSH_SCATTER, ((0, 0), (parameters.size, 0)))]
        return np.concatenate(misses), np.vstack(slopes)


def most_likely(
    swatches: Sequence[Swatch],
    patches: Patches,
    layout: Layout,
    bases: Sequence[Base],
    amplitude: float,
    start: Array | None = None,
) -> Optimum:
    """Return the most likely parameters (P,) followed by the hands (N,) of the swatches.

    ``amplitude`` [dE] is how much the model misses, ``start`` (P + N,) where to look first.

    Raises
    ------
    RuntimeError
        If the search does not settle.
    """
    if start is None:
        row = usual_parameters(layout, bases)
        row[layout.strength] = _first_strength(swatches, patches)
        start = np.concatenate([row, np.zeros(len(swatches))])
    lower, upper = _bounds(layout, bases, start.size)
    places = patch_places(patches, layout, start[: layout.size])
    missed = miss_covariance(places, amplitude)
    prior = _prior(swatches, patches, layout, bases)
    return least_squares_within(
        _residuals(swatches, patches, layout, prior, missed), start, lower, upper
    )


def load_counts(patches: Patches) -> list[int]:
    """Return in how many recipes each dye was laid on."""
    recipes = [zip(dye.tolist(), patches.coats.tolist(), strict=True) for dye in patches.shares.T]
    return [len({(share, n) for share, n in each if share > 0}) for each in recipes]


def _prior(
    swatches: Sequence[Swatch], patches: Patches, layout: Layout, bases: Sequence[Base]
) -> tuple[Array, Array]:
    """The rows of the prior, and those on the strength of dyes painted in several loads.

    Without these a model that misses may find best that a dye lets nothing through at all.
    """
    root, target = prior_rows(layout, bases)
    several = [dye for dye, count in enumerate(load_counts(patches)) if count > 1]
    more, wanted = strength_rows(layout, several, _first_strength(swatches, patches))
    return np.vstack([root, more]), np.concatenate([target, wanted])


def most_likely_at_one_load(
    swatches: Sequence[Swatch],
    patches: Patches,
    layout: Layout,
    bases: Sequence[Base],
    amplitude: float,
) -> Optimum:
    """Return the same for spectra of dyes that show one load each.

    A spectrum tells how a dye absorbs, and nothing of how it builds up; a model that is a little
    wrong would still read that out of it. So skin, saturation and coat loss are those that the
    colours alone make likely, the absorption that of the spectra, and the doubt that of colours.
    """
    colour = [dataclasses.replace(swatch, reflectance=None) for swatch in swatches]
    first = most_likely(colour, patches, layout, bases, amplitude)
    lower, upper = _bounds(layout, bases, first.parameters.size)
    for place in (layout.saturation, layout.coat_loss, layout.thickness, layout.specular):
        lower[place] = first.parameters[place] - _HELD
        upper[place] = first.parameters[place] + _HELD
    prior = _prior(swatches, patches, layout, bases)
    missed = miss_covariance(
        patch_places(patches, layout, first.parameters[: layout.size]), amplitude
    )
    best = least_squares_within(
        _residuals(swatches, patches, layout, prior, missed), first.parameters, lower, upper
    )
    known, slope = _residuals(colour, patches, layout, prior, missed)(best.parameters)
    return Optimum(
        parameters=best.parameters, residuals=known, slope=slope, pressure=first.pressure
    )


def _bounds(layout: Layout, bases: Sequence[Base], size: int) -> tuple[Array, Array]:
    """Least and most (P + N,) of parameters and hands."""
    lower, upper = np.full(size, -np.inf), np.full(size, np.inf)
    for place, bounds in (
        (layout.shape, _SHAPE),
        (layout.strength, _STRENGTH),
        (layout.saturation, _ROOM),
        (layout.coat_loss, _LOSS),
        (layout.thickness, THICKNESS),
        (layout.scale, _SCALE),
        (layout.specular, _SPECULAR),
    ):
        lower[place], upper[place] = bounds
    darkest = np.array([float(base.reflectance.min()) for base in bases]) - _ABOVE_SURFACE
    upper[layout.specular] = np.clip(darkest, 0.0, _SPECULAR[1])
    return lower, upper


def posterior_covariance(best: Optimum) -> Array:
    """Return the covariance of parameters and hands from the curvature at the optimum.

    A parameter pressed against its bound by a slope g lies within about 1/g of it.
    """
    curvature = best.slope.T @ best.slope + np.diag(best.pressure**2)
    # in units of each parameter's own spread, so that strong and faint dyes invert alike
    size = np.sqrt(np.diag(curvature))
    inverse = np.linalg.inv(curvature / np.outer(size, size)) / np.outer(size, size)
    return np.asarray((inverse + inverse.T) / 2)


def _first_strength(swatches: Sequence[Swatch], patches: Patches) -> Array:
    """ln of the flat absorptivity of each dye by the lightness that its swatches lost."""
    readings_lab = np.array([swatch.lab for swatch in swatches])
    light = np.maximum((readings_lab[:, 0] + 16) / 116, 0.2)
    bare = (lab(patches.bare)[:, 0] + 16) / 116
    absorption = np.maximum(2 * np.log(bare / light), 0.01)
    taken = patches.shares * patches.coats[:, None] / (1 + 0.2 * patches.coats[:, None])
    weight = taken * taken.sum(axis=1, keepdims=True)
    flat = (taken * absorption[:, None]).sum(axis=0) / weight.sum(axis=0)
    return np.asarray(np.clip(np.log(flat), *_STRENGTH))


def _residuals(
    swatches: Sequence[Swatch],
    patches: Patches,
    layout: Layout,
    prior: tuple[Array, Array],
    missed: Array,
) -> _Residuals:
    spectra = [swatch.reflectance for swatch in swatches]
    by_colour = [i for i, spectrum in enumerate(spectra) if spectrum is None]
    by_spectrum = [i for i, spectrum in enumerate(spectra) if spectrum is not None]
    error = np.array([swatch.error for swatch in swatches]) ** 2 / 3
    found: list[_Colours | _Spectra] = []
    if by_colour:
        here = np.array(by_colour)
        whole = missed[np.ix_(here, here)] + np.diag(error[here])
        wanted = np.array([swatches[i].lab for i in by_colour])
        found.append(_Colours(places=here, lab=wanted, sure=_whitening(whole)))
    if by_spectrum:
        here = np.array(by_spectrum)
        sizes, axes = _model_axes()
        own = np.diag(error[here]) * 3 * _BANDS_PER_READING
        whole = sizes[:, None, None] * 3 * missed[np.ix_(here, here)] + own
        known = np.array([spectrum for spectrum in spectra if spectrum is not None])
        found.append(
            _Spectra(
                places=here,
                lightness=_lightness(known)[0],
                axes=axes,
                sure=_whitening(whole),
            )
        )
    return _Residuals(
        patches=patches, layout=layout, readings=found, root=prior[0], target=prior[1]
    )


def _whitening(covariance: Array) -> Array:
    """Return roots W of the inverse of covariances (..., N, N), W @ misses being of spread 1."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance)))


@cache
def _model_axes() -> tuple[Array, Array]:
    """Variances (36,) and axes (36, 36) of what a model misses in L* of each band.

    So large that CIELAB of a grey is missed by 1 dE in all.
    """
    apart = (wavelengths_nm[:, None] - wavelengths_nm[None, :]) / _MODEL_LENGTH
    alike = (np.exp(-0.5 * apart**2) + np.eye(wavelengths_nm.size)) / 2
    grey = np.full((1, wavelengths_nm.size), 0.2)
    _, steep = _lightness(grey)
    _, (turn,) = colours(grey, [np.diag(1 / steep[0])[None]])
    sizes, axes = np.linalg.eigh(alike / np.trace(turn[0] @ alike @ turn[0].T))
    return np.maximum(sizes, 0.0), axes


def _lightness(reflectance: Array) -> tuple[Array, Array]:
    """L* of each band taken as a grey, and its slope against reflectance."""
    f = np.cbrt(np.maximum(reflectance, _DARK**3))
    dark = np.minimum(reflectance - _DARK**3, 0.0) / (3 * _DARK**2)
    return 116 * (f + dark) - 16, 116 / (3 * f**2)
