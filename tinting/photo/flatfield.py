"""How evenly the light falls on a photo: a smooth surface through what should look alike.

The logarithm of luminance is taken as quadratic over the picture, fitted to the ground that
shows around the marked patches. Where no even ground shows, a plane is fitted inside the marked
patches, each with its own level.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from tinting.colour.grid import Array
from tinting.colour.screen import linear_rgb
from tinting.photo.picture import Picture, Pixels

Box: TypeAlias = tuple[float, float, float, float]
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
BRIGHTEST, DARKEST = 252, 3
"""Encoded values from which on a pixel counts as blown out or as black."""
COLUMNS = 48
SAMPLED_PIXELS = 300_000
MOST_GRAIN = 0.12
LEAST_BLOCKS, LEAST_GROUND = 40, 0.25
SAME_GROUND = 0.06
"""Blocks, and share of the blocks outside of the marks, that must be one ground, and how near in
ln luminance and ln hue that is."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LightSurface:
    """The light over a picture of ``width`` by ``height`` pixels, 1 in its middle.

    ``log_terms`` (5,) of x, y, x^2, xy, y^2 with x, y from -1 to 1; ``ground`` tells whether it
    comes from the ground around the patches.
    """

    log_terms: Array
    width: int
    height: int
    ground: bool

    def at(self, x: Array | float, y: Array | float) -> Array:
        """Return the relative light at pixel positions."""
        across = 2 * np.asarray(x, dtype=np.float64) / self.width - 1
        down = 2 * np.asarray(y, dtype=np.float64) / self.height - 1
        return np.asarray(np.exp(_terms(across, down) @ self.log_terms))

    @property
    def unevenness(self) -> float:
        """Peak-to-peak of the light over the whole picture, as a share of its mean."""
        x, y = np.meshgrid(np.linspace(0, self.width, 21), np.linspace(0, self.height, 21))
        light = self.at(x, y)
        return float(np.ptp(light) / light.mean())


@dataclass(frozen=True, kw_only=True, eq=False)
class Blocks:
    """The picture in coarse blocks, as far as they can show the ground.

    ``pixels`` (n, k, 3) of the n blocks of one even colour outside of the marks, their middles
    ``x`` and ``y`` (n,) [pixel], and the number of all blocks outside of the marks.
    """

    pixels: Pixels = field(repr=False)
    x: Array = field(repr=False)
    y: Array = field(repr=False)
    unmarked: int


def picture_blocks(picture: Picture, marked: Sequence[Box]) -> Blocks:
    """Return the blocks, about 1/48 of the picture's width, that may show the ground.

    ``marked`` are boxes (left, top, right, bottom) in pixels; blocks under them, blown out,
    black or holding an edge are left away.
    """
    step = max(1, int(np.sqrt(picture.width * picture.height / SAMPLED_PIXELS)))
    sparse = picture.pixels[::step, ::step]
    side = max(2, sparse.shape[1] // COLUMNS)
    rows, columns = sparse.shape[0] // side, sparse.shape[1] // side
    pixels = sparse[: rows * side, : columns * side].reshape(rows, side, columns, side, 3)
    pixels = pixels.transpose(0, 2, 1, 3, 4).reshape(rows * columns, side * side, 3)
    size = side * step
    y, x = ((np.indices((rows, columns)) + 0.5) * size).reshape(2, -1)
    outside = np.ones(rows * columns, dtype=bool)
    for left, top, right, bottom in marked:
        apart = (x + size < left) | (x - size > right) | (y + size < top) | (y - size > bottom)
        outside &= apart
    clipped = ((pixels >= BRIGHTEST) | (pixels <= DARKEST)).any(axis=2).mean(axis=1) > 0.01
    green = pixels[..., 1]
    free = outside & ~clipped & (green.std(axis=1) < MOST_GRAIN * green.mean(axis=1))
    return Blocks(pixels=pixels[free], x=x[free], y=y[free], unmarked=int(outside.sum()))


def light_surface(
    picture: Picture, blocks: Blocks, patches: Sequence[Box], curve: Array
) -> LightSurface:
    """Return the light over the picture from the ground, or else from inside the patches.

    Parameters
    ----------
    picture : Picture
        As read.
    blocks : Blocks
        From `picture_blocks`.
    patches : sequence of boxes
        Places of one colour each, for when no ground shows. [pixel]
    curve : ndarray (256, 3)
        Linear value of each encoded value, per channel.
    """
    size = {"width": picture.width, "height": picture.height}
    terms = _terms(2 * blocks.x / picture.width - 1, 2 * blocks.y / picture.height - 1)
    log_terms = _ground_fit(terms, _linear(blocks.pixels, curve), blocks.unmarked)
    if log_terms is not None:
        return LightSurface(log_terms=log_terms, ground=True, **size)
    return LightSurface(log_terms=_patch_fit(picture, patches, curve), ground=False, **size)


def even_curve() -> Array:
    """Return the tone curve (256, 3) that sRGB states: linear value of each encoded value."""
    return np.repeat(linear_rgb(np.arange(256) / 255)[:, None], 3, axis=1)


def _ground_fit(terms: Array, linear: Array, unmarked: int) -> Array | None:
    """Quadratic through the largest even ground; None where there is none.

    Weights fall off with the distance from the surface and the scale shrinks, so the fit settles
    on what most blocks share; a stain or a tool on the table drops out.
    """
    enough = max(LEAST_BLOCKS, LEAST_GROUND * unmarked)
    if len(linear) < enough:
        return None
    log = np.log(np.maximum(linear, 1e-4))
    hue = log - (log @ LUMINANCE)[:, None]
    level = np.log(np.maximum(linear @ LUMINANCE, 1e-4))
    design = np.column_stack([np.ones(len(terms)), terms])
    fit = np.zeros(design.shape[1])
    fit[0], tint = np.median(level), np.median(hue, axis=0)
    for scale in (0.4, 0.3, 0.2, 0.15, 0.1, 0.07, 0.05, 0.04, 0.03, 0.03, 0.03):
        off = np.hypot(level - design @ fit, np.abs(hue - tint).max(axis=1))
        weight = 1 / (1 + (off / scale) ** 2)
        pull = 1e-3 * weight.sum() * np.eye(design.shape[1])
        pull[0, 0] = 0  # the level itself is free; the others need the ground to speak
        fit = np.linalg.solve(
            design.T @ (weight[:, None] * design) + pull, design.T @ (weight * level)
        )
        tint = (weight[:, None] * hue).sum(axis=0) / weight.sum()
    same = np.hypot(level - design @ fit, np.abs(hue - tint).max(axis=1)) < SAME_GROUND
    return fit[1:] if same.sum() >= enough else None


def _patch_fit(picture: Picture, patches: Sequence[Box], curve: Array) -> Array:
    """Plane and round fall-off that fit inside all patches at once, each with its own level."""
    across = np.array([picture.width, picture.height]) / np.hypot(picture.width, picture.height)
    rows, values = [], []
    for left, top, right, bottom in patches:
        rim_x, rim_y = 0.1 * (right - left), 0.1 * (bottom - top)
        edges_x = np.linspace(left + rim_x, right - rim_x, 5)
        edges_y = np.linspace(top + rim_y, bottom - rim_y, 5)
        cells = [
            _linear(picture.pixels[int(a) : int(b), int(c) : int(d)].reshape(1, -1, 3), curve)[0]
            for a, b in pairwise(edges_y)
            for c, d in pairwise(edges_x)
        ]
        level = np.log(np.maximum(np.array(cells) @ LUMINANCE, 1e-4))
        x, y = np.meshgrid((edges_x[1:] + edges_x[:-1]) / 2, (edges_y[1:] + edges_y[:-1]) / 2)
        place = 2 * np.stack([x.ravel() / picture.width, y.ravel() / picture.height], axis=1) - 1
        place = np.column_stack([place, ((place * across) ** 2).sum(axis=1)])
        rows.append(place - place.mean(axis=0))
        values.append(level - level.mean())
    x1, y1, r2 = np.linalg.lstsq(np.concatenate(rows), np.concatenate(values), rcond=None)[0]
    return np.array([x1, y1, r2 * across[0] ** 2, 0.0, r2 * across[1] ** 2])


def _linear(pixels: Pixels, curve: Array) -> Array:
    """Mean linear value (n, 3) of blocks (n, k, 3) of pixels."""
    channels = [curve[pixels[..., channel], channel].mean(axis=1) for channel in range(3)]
    return np.stack(channels, axis=1)


def _terms(x: Array, y: Array) -> Array:
    return np.stack([x, y, x**2, x * y, y**2], axis=-1)
