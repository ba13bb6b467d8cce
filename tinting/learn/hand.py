"""A maker's hand from a strip: how much of a mix it lays on with each coat."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from data.rules import check_kind, refuse
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.grid import Array
from tinting.learn.band import base_place, joint_covariance, predictions
from tinting.learn.fit import LEAST_SHARE, DyeFit, with_base
from tinting.learn.prior import BRUSH_SCATTER
from tinting.skin.dyed import ESTIMATE_ERROR, dyed_reflectance
from tinting.skin.inputs import HAND_SPREAD, Base, Dye, Hand, Swatch
from tinting.skin.uptake import skin_absorption

_FACTORS = np.linspace(math.log(0.25), math.log(4.0), 161)
"""ln of the factors that are weighed."""
_NUDGE = 1e-3
MOST_FIELDS = 50


def hand_factor(
    strip: Sequence[Swatch],
    base: Base,
    dyes: Sequence[Dye],
    *,
    fit: DyeFit | None = None,
) -> Hand:
    """Return how much a hand lays on with each coat, against whose swatches the dyes are known by.

    Parameters
    ----------
    strip : sequence of Swatch
        Fields that this hand painted on the base, three or so of several coats: 1 to 50, with
        some dye and some coats each. Bare fields say nothing and are passed over.
    base : Base
        What the strip was painted on.
    dyes : sequence of Dye
        Those in the strip, as they are known.
    fit : DyeFit, optional
        What swatches taught of all dyes of the strip; what it leaves open widens the spread.
        Without it the dyes are taken as they stand, so that the factor also makes up for how
        strong these dyes are thought to be.

    Raises
    ------
    ValueError
        For a strip without dye, a dye that is not among ``dyes``, and wrong arguments.

    Notes
    -----
    Posterior mean and spread of the logarithm of the factor, from the prior of a stranger's hand
    (1, times or divided by 1.3). Each field is brushed 10 % more or less by itself; fields that
    no factor brings together widen the spread by their Birge ratio.
    """
    painted = _painted(strip)
    check_kind("base", base, Base, "a Base")
    known = _known(dyes, painted)
    shares = np.array([[swatch.shares.get(name, 0.0) for name in known] for swatch in painted])
    coats = np.array([float(swatch.coats) for swatch in painted])
    read = np.array([swatch.lab for swatch in painted])
    error = np.array([swatch.error for swatch in painted])
    open_doubt = _fit_doubt(fit, base, list(known), shares, coats)
    worth, squares = [], []
    for ln_factor in _FACTORS:
        shown = [
            _labs(known, base, shares, coats, float(np.exp(ln_factor + nudge)))
            for nudge in (0.0, _NUDGE)
        ]
        steep = (shown[1] - shown[0]) / _NUDGE
        doubt = open_doubt + _field_doubt(steep, error)
        miss = (read - shown[0]).ravel()
        root = np.linalg.cholesky(doubt)
        rest = np.linalg.solve(root, miss)
        squares.append(float(rest @ rest))
        likely = -0.5 * rest @ rest - np.log(np.diag(root)).sum()
        worth.append(float(likely) - 0.5 * (ln_factor / HAND_SPREAD) ** 2)
    weight = np.exp(np.array(worth) - max(worth))
    weight /= weight.sum()
    middle = float(weight @ _FACTORS)
    spread = math.sqrt(float(weight @ (_FACTORS - middle) ** 2))
    # three coordinates a field, one factor fitted
    freedom = 3 * len(painted) - 1
    birge = max(1.0, math.sqrt(min(squares) / freedom))
    return Hand(factor=math.exp(middle), spread=min(spread * birge, HAND_SPREAD))


def _painted(strip: object) -> list[Swatch]:
    check_kind("strip", strip, Sequence, "a sequence of Swatch")
    fields = list(strip)  # type: ignore[call-overload]
    for swatch in fields:
        check_kind("each field of the strip", swatch, Swatch, "a Swatch")
    painted = [
        swatch
        for swatch in fields
        if swatch.coats and any(share >= LEAST_SHARE for share in swatch.shares.values())
    ]
    if not 1 <= len(painted) <= MOST_FIELDS:
        raise refuse("strip", f"of 1 to {MOST_FIELDS} dyed fields", len(painted))
    return painted


def _known(dyes: object, painted: Sequence[Swatch]) -> dict[str, Dye]:
    """The dyes of the strip by name."""
    check_kind("dyes", dyes, Sequence, "a sequence of Dye")
    named: dict[str, Dye] = {}
    for dye in dyes:  # type: ignore[attr-defined]
        check_kind("each of the dyes", dye, Dye, "a Dye")
        named[dye.name] = dye
    wanted = dict.fromkeys(name for swatch in painted for name in swatch.shares)
    for name in wanted:
        if name not in named:
            raise refuse("dyes", "all that are in the strip", f"none named {name}")
    return {name: named[name] for name in wanted}


def _labs(known: dict[str, Dye], base: Base, shares: Array, coats: Array, factor: float) -> Array:
    """CIELAB (K, 3) of the fields for a hand."""
    taken = skin_absorption(shares, coats, list(known.values()), hand=factor)
    return lab_of(dyed_reflectance(taken, base))


def _field_doubt(steep: Array, error: Array) -> Array:
    """Covariance (3 K, 3 K) of readings: their errors, the brush, and what each field is off by."""
    count = len(steep)
    each, doubt = np.arange(count), np.zeros((count, 3, count, 3))
    doubt[each, :, each, :] = BRUSH_SCATTER**2 * steep[:, :, None] * steep[:, None, :]
    doubt[each, :, each, :] += (error**2 / 3)[:, None, None] * np.eye(3)
    return doubt.reshape(3 * count, 3 * count)


def _fit_doubt(
    fit: DyeFit | None, base: Base, names: Sequence[str], shares: Array, coats: Array
) -> Array:
    """Covariance (3 K, 3 K) of what is open of the dyes themselves."""
    size = 3 * len(coats)
    if fit is None:
        return np.asarray(ESTIMATE_ERROR**2 / 3 * np.eye(size))
    check_kind("fit", fit, DyeFit, "a DyeFit")
    for name in names:
        if name not in fit.dyes:
            raise refuse("fit", "one that holds all dyes of the strip", f"none named {name}")
    same = any(part is base for part in fit.bases.values())
    wider, name = (fit, "") if same else with_base(fit, base)
    place = next(i for i, part in enumerate(fit.bases.values()) if part is base) if same else (
        base_place(wider, name)
    )  # fmt: skip
    columns = [list(fit.dyes).index(each) for each in names]
    whole = np.zeros((len(coats), len(fit.dyes)))
    whole[:, columns] = shares
    found = predictions(wider, whole, coats, place)
    return joint_covariance(wider, found).reshape(size, size)
