"""What the maker marks on a photo: rectangles, and the corners of a 24-patch chart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from data.rules import check_kind, check_number, refuse
from tinting.colour.chart24 import CHART_COLUMNS, CHART_ROWS, PATCHES, chart_names
from tinting.colour.grid import Array
from tinting.photo.flatfield import BRIGHTEST, DARKEST, Box, LightSurface
from tinting.photo.picture import Picture, Pixels

Points = tuple[tuple[float, float], ...]
LEAST_REGION = 8
LEAST_PATCH = 6.0
MOST_CLIPPED = 0.01
SAMPLED_SIDE = 150
OTHER_COLOUR, MOST_OTHER = 30, 0.1
_TRIMMED = 0.05
_MIDDLE = 0.44
"""Middle share of a chart patch that is read, so that corners may be off by a quarter patch."""


def region_from_text(text: str, name: str = "region") -> tuple[float, float, float, float]:
    """Return (left, top, right, bottom) of four numbers in a text. [pixel]"""
    left, top, right, bottom = _typed_numbers(text, name, 4, "four numbers left top right bottom")
    return left, top, right, bottom


def corners_from_text(text: str, name: str = "chart corners") -> Points:
    """Return four (x, y) of eight numbers in a text, "x y, x y, x y, x y". [pixel]"""
    found = _typed_numbers(text, name, 8, "eight numbers: x y of each of the four corners")
    return tuple(zip(found[::2], found[1::2], strict=True))


@dataclass(frozen=True, kw_only=True, eq=False)
class Patch:
    """A place of one colour: its ``pixels`` (n, 3) and the ``box`` around them."""

    name: str
    pixels: Pixels = field(repr=False)
    box: Box

    @property
    def clipped(self) -> str:
        """Why the patch cannot be read ("blown out", "too dark"), or nothing."""
        if (self.pixels >= BRIGHTEST).any(axis=1).mean() > MOST_CLIPPED:
            return "blown out"
        return "too dark" if (self.pixels <= DARKEST).any(axis=1).mean() > MOST_CLIPPED else ""

    @property
    def mixed(self) -> bool:
        """Whether more than a tenth of the pixels are of another colour than the rest."""
        away = np.abs(self.pixels - np.median(self.pixels, axis=0)).max(axis=1)
        return bool((away > OTHER_COLOUR).mean() > MOST_OTHER)

    def linear(self, curve: Array) -> Array:
        """Return the mean linear value (3,) by a tone curve (256, 3), without the outer 5 %."""
        ordered = np.sort(self.pixels, axis=0)
        cut = int(_TRIMMED * len(ordered))
        kept = ordered[cut : len(ordered) - cut]
        return np.array([curve[kept[:, channel], channel].mean() for channel in range(3)])

    def light(self, surface: LightSurface) -> float:
        """Return the relative light on the patch."""
        left, top, right, bottom = self.box
        place = (np.arange(5) + 0.5) / 5
        x, y = np.meshgrid(left + (right - left) * place, top + (bottom - top) * place)
        return float(surface.at(x, y).mean())

    def parts(self, picture: Picture, side: int) -> list[Patch]:
        """Return the patch cut into ``side`` times ``side`` smaller ones, row by row."""
        left, top, right, bottom = self.box
        x, y = np.linspace(left, right, side + 1), np.linspace(top, bottom, side + 1)
        found = []
        for a, b in pairwise(y.tolist()):
            for c, d in pairwise(x.tolist()):
                inside = picture.pixels[round(a) : max(round(b), round(a) + 1)]
                inside = inside[:, round(c) : max(round(d), round(c) + 1)].reshape(-1, 3)
                found.append(Patch(name=self.name, pixels=inside, box=(c, a, d, b)))
        return found

    def overlaps(self, other: Patch) -> bool:
        """Say whether two boxes share a pixel."""
        a, b = self.box, other.box
        return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def region_patch(picture: Picture, name: str, region: object) -> Patch:
    """Return the patch in a rectangle (left, top, right, bottom) of pixels.

    Raises
    ------
    ValueError
        For anything but four finite numbers inside the picture, 8 pixels or more a side.
    """
    check_kind("picture", picture, Picture, "a Picture")
    left, top, right, bottom = _numbers(name, region, 4, "four numbers left, top, right, bottom")
    if not (0 <= left < right <= picture.width and 0 <= top < bottom <= picture.height):
        rule = f"inside the picture of {picture.width} x {picture.height} pixels, left before right"
        raise refuse(name, rule + " and top before bottom", region)
    if min(round(right) - round(left), round(bottom) - round(top)) < LEAST_REGION:
        raise refuse(name, f"at least {LEAST_REGION} pixels wide and high", region)
    inside = picture.pixels[round(top) : round(bottom), round(left) : round(right)]
    step = max(1, min(inside.shape[:2]) // SAMPLED_SIDE)
    pixels = inside[::step, ::step].reshape(-1, 3)
    return Patch(name=name, pixels=pixels, box=(left, top, right, bottom))


def check_corners(picture: Picture, corners: object) -> Array:
    """Return the corners (4, 2) of a chart, going round; ValueError for anything else."""
    check_kind("picture", picture, Picture, "a Picture")
    rule = "four pairs x, y inside the picture, going round a chart"
    try:
        pairs = [tuple(pair) for pair in corners]  # type: ignore[attr-defined]
    except TypeError:
        raise refuse("chart corners", rule, corners) from None
    if len(pairs) != 4:
        raise refuse("chart corners", rule, f"{len(pairs)} of them")
    place = np.array([_numbers("chart corners", pair, 2, rule) for pair in pairs])
    if place.min() < 0 or (place.max(axis=0) > (picture.width, picture.height)).any():
        raise refuse("chart corners", rule, place.tolist())
    before, after = np.roll(place, 1, axis=0) - place, np.roll(place, -1, axis=0) - place
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    least = (LEAST_PATCH * CHART_COLUMNS) * (LEAST_PATCH * CHART_ROWS)
    if not ((turn > 0).all() or (turn < 0).all()) or np.abs(turn).min() < least:
        raise refuse("chart corners", f"{rule} of patches {LEAST_PATCH:g} pixels wide", corners)
    return place


def chart_patches(picture: Picture, corners: Array, samples: int = 24) -> list[Patch]:
    """Return the 24 patches in reading order of a chart with these corners (4, 2). [pixel]

    The corners are the outer ones of the corner patches, beginning at the dark brown one and
    along the first row; the mapping is the perspective of a flat chart.
    """
    grid = (np.arange(samples) + 0.5) / samples - 0.5
    dv, du = np.meshgrid(grid * _MIDDLE, grid * _MIDDLE, indexing="ij")
    found = []
    for patch, name in zip(range(PATCHES), chart_names(), strict=True):
        row, column = divmod(patch, CHART_COLUMNS)
        u, v = (column + 0.5 + du) / CHART_COLUMNS, (row + 0.5 + dv) / CHART_ROWS
        x, y = _projected(corners, u.ravel(), v.ravel())
        pixels = picture.pixels[y.astype(int), x.astype(int)]
        box = (float(x.min()), float(y.min()), float(x.max()), float(y.max()))
        found.append(Patch(name=name, pixels=pixels, box=box))
    return found


def around(patches: Sequence[Patch]) -> Box:
    """Return the box around all the patches."""
    left, top, right, bottom = np.array([patch.box for patch in patches]).T
    return float(left.min()), float(top.min()), float(right.max()), float(bottom.max())


def _numbers(name: str, values: object, count: int, rule: str) -> tuple[float, ...]:
    try:
        items: tuple[object, ...] = tuple(values)  # type: ignore[arg-type]
    except TypeError:
        raise refuse(name, rule, values) from None
    if len(items) != count:
        raise refuse(name, rule, f"{len(items)} of them")
    return tuple(check_number(name, item) for item in items)


def _projected(corners: Array, u: Array, v: Array) -> tuple[Array, Array]:
    """Pixel positions x, y of chart positions from 0 to 1, by the perspective of 4 corners."""
    units = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    rows, target = [], []
    for (a, b), (x, y) in zip(units, corners, strict=True):
        rows += [[a, b, 1, 0, 0, 0, -a * x, -b * x], [0, 0, 0, a, b, 1, -a * y, -b * y]]
        target += [x, y]
    h = np.append(np.linalg.solve(np.array(rows), np.array(target)), 1.0).reshape(3, 3)
    x, y, below = h @ np.stack([u, v, np.ones_like(u)])
    return x / below, y / below


def _typed_numbers(text: str, name: str, count: int, rule: str) -> list[float]:
    check_kind(name, text, str, "a text")
    parts = [part for part in re.split(r"[\s,;()]+", text[:400]) if part]
    if len(parts) != count:
        raise refuse(name, rule, text)
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        raise refuse(name, rule, text) from None
    return [check_number(name, number, least=0.0, most=1e6, unit="pixel") for number in numbers]
