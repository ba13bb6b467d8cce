"""The 24-patch chart as the library knows it, and its fit from camera to XYZ.

The chart's spectra are the mean of many measured charts; colour-science ships them on our own
grid, and that is how they are found here.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np

from data.rules import check_whole, refuse
from tinting.colour.colorimetry import weights
from tinting.colour.grid import Array, check_array, wavelengths_nm

CHART_ROWS, CHART_COLUMNS = 4, 6
PATCHES = CHART_ROWS * CHART_COLUMNS
NEUTRALS = slice(18, 24)
"""The last row, white to black."""


def chart_names() -> tuple[str, ...]:
    """Return the names of the patches in reading order, dark skin first and black last."""
    return _chart()[0]


def chart_reflectance() -> Array:
    """Return the reflectance (24, 36) of the patches in reading order; read-only."""
    return _chart()[1]


def chart_xyz(light: str = "D65", observer: int = 10) -> Array:
    """Return XYZ (24, 3) of the patches under a light, Y = 100 for the perfect white."""
    return chart_reflectance() @ weights(light, observer)


def root_polynomial_matrix(rgb: object, xyz: object, degree: int) -> Array:
    """Return the matrix (3, terms) that takes the root terms of ``rgb`` nearest to ``xyz``.

    Parameters
    ----------
    rgb : array_like (n, 3)
        Linear camera values of the patches.
    xyz : array_like (n, 3)
        Their XYZ. Scaling one row of both alike weighs that patch, since every root term grows
        with the exposure.
    degree : int
        1 (three terms) or 2 (six).

    Notes
    -----
    Source: G. D. Finlayson, M. Mackiewicz and A. Hurlbert, IEEE Transactions on Image
    Processing 24 (2015) 1460-1470, through colour-science.
    """
    seen, wanted = _values("rgb", rgb), _values("xyz", xyz)
    order = check_whole("degree", degree, least=1, most=2)
    if seen.shape != wanted.shape or seen.ndim != 2:
        raise refuse("rgb and xyz", "the same number of patches", f"{seen.shape}, {wanted.shape}")
    from colour.characterisation import matrix_colour_correction_Finlayson2015

    matrix = matrix_colour_correction_Finlayson2015(seen, wanted, degree=order)
    return np.asarray(matrix, dtype=np.float64)


def root_polynomial_xyz(rgb: object, matrix: object, degree: int) -> Array:
    """Return XYZ (n, 3) of linear camera values (n, 3) by a matrix of `root_polynomial_matrix`."""
    seen = np.atleast_2d(_values("rgb", rgb))
    order = check_whole("degree", degree, least=1, most=2)
    terms = check_array("matrix", matrix, 3 * order, least=-1e6, most=1e6)
    if terms.shape != (3, 3 * order):
        raise refuse("matrix", f"of shape (3, {3 * order})", terms.shape)
    from colour.characterisation import polynomial_expansion_Finlayson2015

    return np.asarray(polynomial_expansion_Finlayson2015(seen, order) @ terms.T, dtype=np.float64)


def _values(name: str, value: object) -> Array:
    return check_array(name, value, 3, least=0.0, most=1e6)


@cache
def _chart() -> tuple[tuple[str, ...], Array]:
    from colour import characterisation

    shelves = [shelf for name, shelf in vars(characterisation).items() if name.startswith("SDS_")]
    for chart in (chart for shelf in shelves for chart in shelf.values()):
        if not isinstance(chart, Mapping) or len(chart) != PATCHES or "dark skin" not in chart:
            continue
        if all(np.array_equal(patch.wavelengths, wavelengths_nm) for patch in chart.values()):
            spectra = np.array([patch.values for patch in chart.values()], dtype=np.float64)
            spectra.flags.writeable = False
            return tuple(chart), spectra
    raise RuntimeError("the colour library ships no 24-patch chart on the grid 380-730 nm by 10")
