"""What is known of a dye, a skin and a hand before the first swatch.

The numbers stand in ``data/dyes.csv``. A prior is handed on as rows that are linear in the
parameters: `root` @ parameters - `target` are numbers of spread 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from data import Quantity, read_table
from tinting.colour.grid import Array
from tinting.learn.patches import COEFFICIENTS, Layout
from tinting.skin.inputs import Base

_DYES = read_table("dyes")
_UPTAKE, _SKIN, _SPECTRUM = _DYES["dye uptake"], _DYES["dyed skin"], _DYES["dye spectrum"]
BRUSH_SCATTER = _UPTAKE["brush_scatter"].value
SPECULAR_SPREAD = _DYES["fit"]["specular_spread"].value
_STRENGTH = _DYES["fit"]["strength_factor"]
_MEAN_SPREAD = 0.1
"""So small a spread holds the mean of a shape at 1, or the uptake of the first base."""


def usual_parameters(layout: Layout, bases: Sequence[Base]) -> Array:
    """Return the middle of the prior (P,): flat spectra of strength 1."""
    row = np.zeros(layout.size)
    row[layout.shape] = 1.0
    row[layout.saturation] = math.log(_UPTAKE["saturation"].value)
    row[layout.coat_loss] = _UPTAKE["coat_loss"].value
    row[layout.thickness] = [math.log(base.scattering_thickness) for base in bases]
    row[layout.specular] = [base.specular for base in bases]
    return row


def thickness_spread() -> float:
    """Return the spread of the logarithm of a scattering thickness."""
    return _log_spread(_SKIN["thickness_factor"])


def prior_rows(layout: Layout, bases: Sequence[Base]) -> tuple[Array, Array]:
    """Return ``root`` (M, P) and ``target`` (M,) of the prior.

    Parameters
    ----------
    layout : Layout
        Order of the parameters.
    bases : sequence of Base
        Their kinds say which of them are alike.

    Notes
    -----
    Smoothness is on second differences of the spline coefficients, whose mean is 1: a band of
    standard deviation 46 nm has second differences of about 0.8. Nothing is said of strength.
    """
    rough = np.diff(np.eye(COEFFICIENTS), 2, axis=0) / _SPECTRUM["roughness"].value
    level = np.eye(COEFFICIENTS) / _SPECTRUM["level"].value
    mean = np.full((1, COEFFICIENTS), 1 / (COEFFICIENTS * _MEAN_SPREAD))
    shape = np.vstack([rough, level, mean])
    coat_loss = _UPTAKE["coat_loss"]
    alone = [
        (layout.saturation, _log_spread(_UPTAKE["saturation"])),
        (layout.coat_loss, (coat_loss.high - coat_loss.low) / 2),
    ]
    usual = usual_parameters(layout, bases)
    blocks = [(np.kron(np.eye(layout.dyes), shape), layout.shape)]
    blocks += [(np.eye(place.stop - place.start) / spread, place) for place, spread in alone]
    blocks += [(_thickness_root(bases), layout.thickness), (_scale_root(bases), layout.scale)]
    blocks += [(np.eye(layout.bases) / SPECULAR_SPREAD, layout.specular)]
    root = np.zeros((sum(len(block) for block, _ in blocks), layout.size))
    start = 0
    for block, place in blocks:
        root[start : start + len(block), place] = block
        start += len(block)
    return root, root @ usual


def strength_rows(layout: Layout, dyes: Sequence[int], usual: Array) -> tuple[Array, Array]:
    """Return ``root`` (M, P) and ``target`` (M,) on ln strength of some dyes, by their place.

    ``usual`` (J,) is ln of what the lightness says that their swatches lost.
    """
    root = np.zeros((len(dyes), layout.size))
    root[np.arange(len(dyes)), [layout.strength.start + dye for dye in dyes]] = 1.0
    spread = _log_spread(_STRENGTH)
    return root / spread, usual[list(dyes)] / spread


def _thickness_root(bases: Sequence[Base]) -> Array:
    """Bases of one kind are alike in what is not known of their skin."""
    alike = np.array([[one.kind == other.kind for one in bases] for other in bases])
    likeness = np.where(alike, _SKIN["thickness_likeness"].value, 0.0)
    np.fill_diagonal(likeness, 1.0)
    return np.asarray(np.linalg.inv(np.linalg.cholesky(likeness * thickness_spread() ** 2)))


def _scale_root(bases: Sequence[Base]) -> Array:
    first = bases[0].kind
    same, other = _log_spread(_SKIN["scale_same_kind"]), _log_spread(_SKIN["scale_other_kind"])
    known = [same if base.kind == first != "unknown" else other for base in bases[1:]]
    return np.diag(1 / np.array([1e-3, *known]))


def _log_spread(factor: Quantity) -> float:
    return math.log(factor.high / factor.low) / 2


def prior_covariance(root: Array) -> Array:
    """Return the covariance (P, P) of the parameters before any swatch, from `prior_rows`.

    Of strength nothing is known; it is given a spread of e³.
    """
    free = np.eye(root.shape[1]) / 9.0
    return np.asarray(np.linalg.inv(root.T @ root + free))
