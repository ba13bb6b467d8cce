"""What a fit predicts for a patch, and the band in which it will lie.

Three doubts add up: what the fit leaves open, the hand that lays on some 10 % more or less, and
what the model itself misses. The error of a reading comes on top for who compares with one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from data.rules import check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array, check_lab
from tinting.learn.fit import DyeFit, with_base
from tinting.learn.leftover import Places, carried_slope, open_covariance, patch_places
from tinting.learn.patches import Patches, colours, readings
from tinting.learn.prior import BRUSH_SCATTER
from tinting.skin.dyed import ESTIMATE_ERROR, Tint, dyed_reflectance, tint
from tinting.skin.inputs import HAND_SPREAD, Base, Hand, check_hand, strengthened
from tinting.skin.uptake import MOST_COATS, skin_absorption

_DRAWS, _GROUP = 400, 100
_SURFACES = np.array([[0.0, -128.0, -128.0], [100.0, 128.0, 128.0]])


@dataclass(frozen=True, kw_only=True, eq=False)
class Band:
    """A predicted colour: ``lab`` (3,), its ``covariance`` (3, 3) and the ``radius`` of its band.

    ``share`` of the patches painted so lie within ``radius`` of ``lab``, CIEDE2000. [dE]
    """

    lab: Array
    covariance: Array = field(repr=False)
    radius: float
    share: float

    def within(self, limit: float = 2.0, target: object = None) -> float:
        """Return the probability that a patch lies within ``limit`` of a target, CIEDE2000. [dE]

        ``target`` (3,) is CIELAB; left out, the prediction itself.
        """
        most = check_number("limit", limit, least=0.0, most=200.0, unit="dE")
        goal = self.lab if target is None else check_lab("target", target)
        return float((delta_e(goal, self.around()) <= most).mean())

    def around(self) -> Array:
        """Return patches as they may come out (400, 3), CIELAB, always the same ones."""
        return np.asarray(scattered(self.lab[None], self.covariance[None], _DRAWS)[0])


@dataclass(frozen=True, kw_only=True, eq=False)
class Predictions:
    """CIELAB (M, 3) of many recipes, slopes (M, 3, P) against the parameters, (M, 3) the hand.

    Slopes are less what the swatches of a dye alone hold fixed; ``places`` say where the recipes
    stand in what the model may miss.
    """

    lab: Array = field(repr=False)
    slope: Array = field(repr=False)
    hand_slope: Array = field(repr=False)
    places: Places


def predict_band(
    fit: DyeFit,
    shares: Mapping[str, float],
    coats: int,
    *,
    base: str | Base = "",
    error: float = 0.0,
    share: float = 0.8,
    hand: Hand | None = None,
) -> Band:
    """Return the colour that a fit predicts for a recipe, and the band around it.

    Parameters
    ----------
    fit : DyeFit
        From `tinting.learn.fit.fit_dyes`.
    shares : mapping of dye name to volume share
        Dyes of the fit, together at most 1.
    coats : int
        0 to 50.
    base : str or Base
        Name of one of the bases of the fit; left out, the first. A Base that no swatch of the fit
        lies on is taken as `with_base` takes it: the band is wider.
    error : float
        Error of the reading that the band is to be compared with, 0 for the patch itself. [dE]
    share : float
        How many of the patches the band is to hold, 0.05 to 0.99.
    hand : Hand, optional
        Who lays it on; left out, whoever painted the swatches of the fit.

    Raises
    ------
    ValueError
        For wrong arguments.
    """
    check_kind("fit", fit, DyeFit, "a DyeFit")
    row = _checked_shares(shares, fit)
    number = check_whole("coats", coats, least=0, most=MOST_COATS)
    if isinstance(base, Base):
        fit, base = with_base(fit, base)
    place = base_place(fit, base)
    reading = check_number("error", error, least=0.0, most=20.0, unit="dE")
    held = check_number("share", share, least=0.05, most=0.99)
    factor, scatter = check_hand(hand), hand_scatter(hand)
    found = predictions(fit, row[None, :], np.array([float(number)]), place, factor)
    covariance = prediction_covariance(fit, found, reading, scatter)
    return Band(
        lab=found.lab[0],
        covariance=covariance[0],
        radius=float(band_radius(found.lab, covariance, held)[0]),
        share=held,
    )


def estimate_band(dyed: Tint, *, error: float = 0.0, share: float = 0.8) -> Band:
    """Return the band around a tint whose dyes no fit knows together.

    Parameters
    ----------
    dyed : Tint
        From `tinting.skin.dyed.tint`; of dyes known by one colour alone, or learned elsewhere.
    error, share : float
        As in `predict_band`.

    Notes
    -----
    Added up are the second opinion on each dye, how strong each of them is (its
    ``strength_spread``), the hand that lays it on (a stranger's where it was not measured and a
    dye is an estimate), and what neither knows of.
    """
    check_kind("dyed", dyed, Tint, "a Tint")
    reading = check_number("error", error, least=0.0, most=20.0, unit="dE")
    held = check_number("share", share, least=0.05, most=0.99)
    middle = dyed.lab()
    known = ESTIMATE_ERROR**2 if dyed.coats and dyed.mix else 0.0
    known += sum(dye.missed**2 for dye, part in dyed.mix if part > 0 and dyed.coats)
    covariance = np.eye(3) * (known + reading**2) / 3
    second = lab_of(dyed.second_reflectance) - middle
    strange = any(dye.covariance is None for dye, part in dyed.mix if part > 0)
    scatter = hand_scatter(dyed.hand, strange)
    moves = [second, scatter * _strengthened(dyed, range(len(dyed.mix)), 1.0)]
    moves += [_strengthened(dyed, [j], dye.strength_spread) for j, (dye, _) in enumerate(dyed.mix)]
    for move in moves:
        covariance += np.outer(move, move)
    radius = float(band_radius(middle[None], covariance[None], held)[0])
    return Band(lab=middle, covariance=covariance, radius=radius, share=held)


def _strengthened(dyed: Tint, places: Sequence[int], spread: float) -> Array:
    """Half of what CIELAB moves by when some dyes go from weak to strong by twice a spread."""
    labs = []
    for sign in (1, -1):
        factor = float(np.exp(sign * spread / 2))
        mix = [
            (strengthened(dye, factor) if j in places else dye, part)
            for j, (dye, part) in enumerate(dyed.mix)
        ]
        labs.append(tint(dyed.base, mix, dyed.coats, hand=dyed.hand).lab())
    return np.asarray(labs[0] - labs[1])


def hand_scatter(hand: Hand | None, strange: bool = False) -> float:
    """Return the spread of ln load from patch to patch: brushing, and what is open of the hand.

    ``strange`` says that dyes are known by a stranger's swatches.
    """
    usual = HAND_SPREAD if strange else 0.0
    return math.hypot(BRUSH_SCATTER, usual if hand is None else hand.spread)


def predictions(
    fit: DyeFit, shares: Array, coats: Array, base: int = 0, hand: float = 1.0
) -> Predictions:
    """Return what a fit predicts for shares (M, J) and coats (M,) on the base at a place.

    ``hand`` multiplies every load.
    """
    part = list(fit.bases.values())[base]
    patches = Patches(
        shares=hand * shares,
        coats=coats,
        base=[base] * coats.size,
        bare=np.broadcast_to(part.reflectance, (coats.size, part.reflectance.size)),
    )
    shown, slope, by_hand = readings(fit.parameters, np.zeros(coats.size), patches, fit.layout)
    _, (lab_slope, lab_hand) = colours(shown, [slope, by_hand])
    places = patch_places(patches, fit.layout, fit.parameters)
    dyes = fit.dyes_on(list(fit.bases)[base])
    taken = skin_absorption(shares, coats, list(dyes.values()), hand=hand)
    lab, _ = colours(dyed_reflectance(taken, part), [])
    return Predictions(
        lab=lab,
        slope=carried_slope(fit.leftover, places, lab_slope),
        hand_slope=lab_hand,
        places=places,
    )


def prediction_covariance(
    fit: DyeFit, found: Predictions, error: float, scatter: float = BRUSH_SCATTER
) -> Array:
    """Return the covariance (M, 3, 3) of readings around predictions.

    ``error`` [dE] is that of the reading, ``scatter`` that of the hand, see `hand_scatter`.
    """
    each = np.arange(len(found.lab))
    whole = joint_covariance(fit, found)[each, :, each, :]
    hand = found.hand_slope[:, :, None] * found.hand_slope[:, None, :] * scatter**2
    return np.asarray(whole + hand + error**2 / 3 * np.eye(3))


def joint_covariance(fit: DyeFit, found: Predictions) -> Array:
    """Return the covariance (M, 3, M, 3) of what a fit leaves open between recipes."""
    known = np.einsum("mkp,pq,nlq->mknl", found.slope, fit.covariance, found.slope, optimize=True)
    return np.asarray(known + open_covariance(fit.leftover, found.places))


def band_radius(lab: Array, covariance: Array, share: float, draws: int = _DRAWS) -> Array:
    """Return the CIEDE2000 (M,) within which ``share`` of the colours around (M, 3) lie.

    By ``draws`` (at most 400) from a normal distribution, always the same.
    """
    around = scattered(lab, covariance, draws)
    return np.asarray(np.quantile(delta_e(lab[:, None, :], around), share, axis=1))


def scattered(lab: Array, covariance: Array, draws: int) -> Array:
    """Return colours (M, draws, 3) around (M, 3) as a covariance (M, 3, 3) scatters them.

    ``draws`` is at most 400; always the same ones.
    """
    size, axes = np.linalg.eigh(covariance)
    # rounding can leave a direction without spread slightly below zero
    # the symmetric root: one and the same for axes that come the other way round
    root = (axes * np.sqrt(np.maximum(size, 0.0))[:, None, :]) @ axes.transpose(0, 2, 1)
    around = lab[:, None, :] + np.einsum("mkl,dl->mdk", root, _draws()[:draws])
    # far out the straight lines of a slope leave what any surface can look like
    return np.asarray(np.clip(around, *_SURFACES))


def base_place(fit: DyeFit, base: object) -> int:
    """Return the place of a base in a fit by its name, 0 for no name; ValueError otherwise."""
    if isinstance(base, str) and base == "":
        return 0
    if not isinstance(base, str) or base not in fit.bases:
        raise refuse("base", "one of " + ", ".join(fit.bases), base)
    return list(fit.bases).index(base)


def _checked_shares(shares: Any, fit: DyeFit) -> Array:
    check_kind("shares", shares, Mapping, "a mapping of dye name to share")
    for name, value in shares.items():
        if name not in fit.dyes:
            raise refuse("dye", "one of " + ", ".join(fit.dyes), name)
        check_number(f"share of {name}", value, least=0.0, most=1.0)
    row = np.array([float(shares.get(name, 0.0)) for name in fit.dyes])
    if row.sum() > 1 + 1e-9:
        raise refuse("shares", "at most 1 together", f"{row.sum():g}")
    return row


@cache
def _draws() -> Array:
    """Standard normal triples, always the same, so that a band does not flicker.

    Turned and stretched so that any even part of them is of mean 0 and covariance 1 to the last
    bit: pairs of opposites, in groups of a hundred.
    """
    drawn = np.random.default_rng(2000).standard_normal((_DRAWS // _GROUP, _GROUP // 2, 3))
    root = np.linalg.cholesky(np.linalg.inv(drawn.transpose(0, 2, 1) @ drawn / (_GROUP // 2)))
    even = drawn @ root
    return np.concatenate([even, -even], axis=1).reshape(_DRAWS, 3)
