"""The parameters that swatches and priors make most likely, and what stays uncertain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tinting.colour.colorimetry import lab
from tinting.colour.grid import Array
from tinting.learn.least_squares import Optimum, least_squares_within
from tinting.learn.patches import COEFFICIENTS, Layout, Patches, colours, readings
from tinting.learn.prior import BRUSH_SCATTER, MODEL_ERROR, prior_rows, usual_parameters
from tinting.skin.inputs import Base, Swatch

_SHAPE = (0.0, 2.0 * COEFFICIENTS)
_STRENGTH = (math.log(1e-4), math.log(1e4))
_ROOM = (math.log(0.02), math.log(200.0))
_LOSS = (0.0, 0.9)
_THICKNESS = (math.log(1e-4), math.log(1e3))
_SCALE = (-3.0, 3.0)
_BANDS_PER_READING = 3.0
"""Readings 10 nm apart see much the same light; three count as one."""
_DARK = 6 / 29


@dataclass(frozen=True, kw_only=True, eq=False)
class _Residuals:
    """Residuals of spread 1: readings, then priors, then hands."""

    patches: Patches
    layout: Layout
    by_colour: Array
    lab: Array
    colour_spread: Array
    by_spectrum: Array
    lightness: Array
    spectrum_spread: Array
    root: Array
    target: Array

    def __call__(self, row: Array) -> tuple[Array, Array]:
        parameters, hands = row[: self.layout.size], row[self.layout.size :]
        shown, slope, hand_slope = readings(parameters, hands, self.patches, self.layout)
        whole = np.concatenate([slope, hand_slope[:, :, None] * np.eye(hands.size)[:, None]], 2)
        misses, slopes = [], []
        if self.by_colour.size:
            found, (by_row,) = colours(shown[self.by_colour], [whole[self.by_colour]])
            misses += [((found - self.lab) / self.colour_spread).ravel()]
            slopes += [(by_row / self.colour_spread[:, :, None]).reshape(-1, row.size)]
        light, steep = _lightness(shown[self.by_spectrum])
        misses += [((light - self.lightness) / self.spectrum_spread).ravel()]
        by_row = whole[self.by_spectrum] * (steep / self.spectrum_spread)[:, :, None]
        slopes += [by_row.reshape(-1, row.size)]
        misses += [self.root @ parameters - self.target, hands / BRUSH_SCATTER]
        slopes += [np.pad(self.root, ((0, 0), (0, hands.size)))]
        slopes += [np.pad(np.eye(hands.size) / BRUSH_SCATTER, ((0, 0), (parameters.size, 0)))]
        return np.concatenate(misses), np.vstack(slopes)


def reading_variance(error: Array | float) -> Array:
    """Return the variance of each of L*, a*, b* of readings whose error is given in dE.

    The reading's own error and what the model misses, spread evenly over three axes.
    """
    return np.asarray((np.asarray(error) ** 2 + MODEL_ERROR**2) / 3)


def most_likely(
    swatches: Sequence[Swatch], patches: Patches, layout: Layout, bases: Sequence[Base]
) -> Optimum:
    """Return the most likely parameters (P,) followed by the hands (N,) of the swatches.

    Raises
    ------
    RuntimeError
        If the search does not settle.
    """
    row = usual_parameters(layout, bases)
    row[layout.strength] = _first_strength(swatches, patches)
    start = np.concatenate([row, np.zeros(len(swatches))])
    lower, upper = np.full(start.size, -np.inf), np.full(start.size, np.inf)
    for place, bounds in (
        (layout.shape, _SHAPE),
        (layout.strength, _STRENGTH),
        (layout.saturation, _ROOM),
        (layout.coat_loss, _LOSS),
        (layout.thickness, _THICKNESS),
        (layout.scale, _SCALE),
    ):
        lower[place], upper[place] = bounds
    residuals = _residuals(swatches, patches, layout, prior_rows(layout, bases))
    return least_squares_within(residuals, start, lower, upper)


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
    swatches: Sequence[Swatch], patches: Patches, layout: Layout, prior: tuple[Array, Array]
) -> _Residuals:
    spectra = [swatch.reflectance for swatch in swatches]
    by_spectrum = [i for i, spectrum in enumerate(spectra) if spectrum is not None]
    by_colour = [i for i, spectrum in enumerate(spectra) if spectrum is None]
    known = np.array([spectrum for spectrum in spectra if spectrum is not None])
    spread = np.sqrt(reading_variance(np.array([swatch.error for swatch in swatches])))[:, None]
    return _Residuals(
        patches=patches,
        layout=layout,
        by_colour=np.array(by_colour, dtype=np.intp),
        lab=np.array([swatches[i].lab for i in by_colour]).reshape(-1, 3),
        colour_spread=spread[by_colour],
        by_spectrum=np.array(by_spectrum, dtype=np.intp),
        lightness=_lightness(known.reshape(-1, patches.bare.shape[1]))[0],
        spectrum_spread=spread[by_spectrum] * math.sqrt(3 * _BANDS_PER_READING),
        root=prior[0],
        target=prior[1],
    )


def _lightness(reflectance: Array) -> tuple[Array, Array]:
    """L* of each band taken as a grey, and its slope against reflectance."""
    f = np.cbrt(np.maximum(reflectance, _DARK**3))
    dark = np.minimum(reflectance - _DARK**3, 0.0) / (3 * _DARK**2)
    return 116 * (f + dark) - 16, 116 / (3 * f**2)
