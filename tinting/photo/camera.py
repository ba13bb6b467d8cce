"""Learn from a chart or a card in a photo what the camera made of the light.

First the tone curve: the neutral row says what linear value each encoded value stands for.
Then the colours: a root polynomial from the linear camera values to XYZ under D65 for 10 degree.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from data.rules import refuse
from tinting.colour.chart24 import (
    NEUTRALS,
    PATCHES,
    chart_xyz,
    root_polynomial_matrix,
    root_polynomial_xyz,
)
from tinting.colour.colorimetry import delta_e, lab_from_xyz, white
from tinting.colour.grid import Array
from tinting.colour.screen import xyz_from_srgb
from tinting.photo.flatfield import even_curve
from tinting.photo.picture import Picture
from tinting.photo.regions import chart_patches

LEAST_LIKENESS = 0.8


@dataclass(frozen=True, kw_only=True, eq=False)
class CameraFit:
    """Root polynomial from linear camera values to XYZ, with what it leaves.

    ``matrix`` (3, 3 or 6) of the ``degree`` 1 or 2; ``residuals`` (n,) CIEDE2000 of each patch
    used; ``left_out`` the mean CIEDE2000 of patches predicted without themselves.
    """

    degree: int
    matrix: Array = field(repr=False)
    residuals: Array = field(repr=False)
    left_out: float

    def lab(self, rgb: Array) -> Array:
        """Return CIELAB (n, 3) under D65 for 10 degree of linear camera values (n, 3)."""
        return lab_from_xyz(root_polynomial_xyz(rgb, self.matrix, self.degree))


def chart_order(picture: Picture, corners: Array) -> Array:
    """Return the corners (4, 2) in the order that makes the patches look most like the chart.

    The maker may begin at any corner and go round either way.

    Raises
    ------
    ValueError
        When no order looks like the chart.
    """
    orders = [np.roll(way, first, axis=0) for way in (corners, corners[::-1]) for first in range(4)]
    found = [chart_likeness(picture, order) for order in orders]
    best = int(np.argmax(found))
    if found[best] < LEAST_LIKENESS:
        rule = "on the outer corners of a 24-patch chart in the photo"
        raise refuse("chart corners", rule, f"a likeness of {100 * max(found[best], 0):.0f} %")
    return np.asarray(orders[best])


def chart_likeness(picture: Picture, order: Array, *, even: bool = False) -> float:
    """Return how much of a chart's colours the patches with corners (4, 2) in this order show.

    1 for all, 0 and less for none. With ``even`` patches of more than one colour count less, so
    that corners which lie closer are told from those which lie farther off.
    """
    wanted = np.cbrt(chart_xyz() / 100)
    spread = float(((wanted - wanted.mean(axis=0)) ** 2).sum())
    pixels = [patch.pixels / 255 for patch in chart_patches(picture, order, samples=8)]
    means = np.array([each.mean(axis=0) for each in pixels])
    design = np.column_stack([means, np.ones(PATCHES)])
    left = wanted - design @ np.linalg.lstsq(design, wanted, rcond=None)[0]
    share = 1 - float((left**2).sum()) / spread
    if even:
        inside = sum(float(each.var(axis=0).sum()) for each in pixels)
        share -= inside / max(float(means.var(axis=0).sum()) * PATCHES, 1e-9)
    return share


def grey_curve(neutral_rgb: Array, targets: Array) -> Array:
    """Return the tone curve (256, 3) that gives neutral patches their known linear values.

    Parameters
    ----------
    neutral_rgb : ndarray (n, 3)
        Mean values of the neutral patches after the sRGB curve.
    targets : ndarray (n, 3)
        What they should be, light included.

    Raises
    ------
    ValueError
        When the curve that fits does not rise everywhere: these are not the greys of a chart.

    Notes
    -----
    A cubic between the logarithms, one for all channels, times the white balance of each; beyond
    the patches it goes on straight. An encoded value is known to about one step, so a dark patch
    weighs less.
    """
    seen = np.log(np.maximum(neutral_rgb, 1e-5))
    weight = neutral_rgb.ravel() ** (1 / 2.4)
    powers = seen.reshape(-1, 1) ** np.arange(1, 4)
    design = np.column_stack([np.tile(np.eye(3), (len(seen), 1)), powers])
    terms = np.linalg.lstsq(design * weight[:, None], np.log(targets).ravel() * weight, rcond=None)[
        0
    ]
    bend = np.polynomial.Polynomial([0.0, *terms[3:]])
    start = np.log(np.maximum(even_curve()[:, 0], 1e-5))
    inside = np.clip(start, seen.min(), seen.max())
    shape = bend(inside) + (start - inside) * bend.deriv()(inside)
    if not (np.diff(shape[1:]) > 0).all():
        raise refuse("chart greys", "brighter from patch to patch", "a curve that turns back")
    curve: Array = np.exp(shape[:, None] + terms[:3])
    return curve


def neutral_targets() -> Array:
    """Return the linear values (6, 3) of the neutral row as red, green and blue see them."""
    # the white patch is a little yellow: X, Y and Z stand for the three channels
    return (chart_xyz() / white())[NEUTRALS]


def camera_fit(rgb: Array, used: Array) -> CameraFit:
    """Return the root polynomial from linear patch values (24, 3), using only patches ``used``.

    Degree 1 is taken unless degree 2 predicts left-out patches better.
    """
    fits = [_fit(rgb[used], chart_xyz()[used], degree) for degree in (1, 2)]
    return fits[0] if fits[0].left_out <= fits[1].left_out else fits[1]


def card_lab(rgb: Array) -> Array:
    """Return CIELAB (n, 3) under D65 for 10 degree of linear sRGB (n, 3), white-balanced.

    From 2 to 10 degree by the matrix that serves the 24 chart colours best, white kept.
    """
    small, large = chart_xyz("D65", 2) / white("D65", 2), chart_xyz() / white()
    turn = np.linalg.lstsq(small, large, rcond=None)[0]
    primaries = xyz_from_srgb(np.eye(3)) / white("D65", 2)
    matrix = primaries @ turn
    return lab_from_xyz(rgb @ (matrix / matrix.sum(axis=0)) * white())


def _fit(rgb: Array, xyz: Array, degree: int) -> CameraFit:
    guesses = []
    for patch in range(len(rgb)):
        rest = np.arange(len(rgb)) != patch
        trial = root_polynomial_matrix(rgb[rest], xyz[rest], degree)
        guesses.append(root_polynomial_xyz(rgb[patch], trial, degree)[0])
    known, matrix = lab_from_xyz(xyz), root_polynomial_matrix(rgb, xyz, degree)
    return CameraFit(
        degree=degree,
        matrix=matrix,
        residuals=delta_e(lab_from_xyz(root_polynomial_xyz(rgb, matrix, degree)), known),
        left_out=float(delta_e(lab_from_xyz(np.array(guesses)), known).mean()),
    )
