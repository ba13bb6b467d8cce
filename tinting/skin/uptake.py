"""How much dye a skin takes up: loads of the coats, and the room that all dyes share."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, check_numbers, refuse
from tinting.colour.grid import Array, check_array, check_shapes
from tinting.skin.inputs import CHANGE_LOADS, Dye

MOST_COATS = 50


def dye_load(share: object, coats: object, coat_loss: object) -> Array:
    """Return the load of dye that the coats lay down, before saturation; arguments broadcast.

    Parameters
    ----------
    share : array_like
        Volume share φ of the dye in the mix, 0 to 1.
    coats : array_like
        Number of coats n, 0 to 50.
    coat_loss : array_like
        Share ρ of effect that each further coat loses, 0 to below 1.

    Notes
    -----
    φ (1 - (1 - ρ)^n) / ρ, and φ n without loss.
    """
    volume = check_numbers("share", share, least=0.0, most=1.0)
    number = check_numbers("coats", coats, least=0.0, most=MOST_COATS)
    loss = check_numbers("coat loss", coat_loss, least=0.0, most=1 - 1e-12)
    check_shapes("share, coats and coat loss", volume, number, loss)
    return laid_load(volume, number, loss)


def laid_load(volume: Array, number: Array, loss: Array) -> Array:
    """Return what `dye_load` does, unchecked: shares above 1 stand for a hand that lays on more."""
    held = np.maximum(loss, 1e-300)
    summed = np.where(loss > 1e-300, -np.expm1(number * np.log1p(-held)) / held, number)
    load: Array = volume * summed
    return load[()]


def uptake(loads: object, saturations: object) -> Array:
    """Return what the skin takes up of several dyes together.

    Parameters
    ----------
    loads : array_like (..., J)
        Loads x of the dyes, see `dye_load`.
    saturations : array_like (J,)
        Load xs of each dye alone at which its uptake has halved; infinity for none.

    Returns
    -------
    ndarray (..., J)
        u_j = x_j / (1 + Σ x_k / xs_k): all share the room in the skin.
    """
    laid = check_numbers("loads", loads, least=0.0, most=1e6)
    rule = "numbers of at least 0.001, or infinity"
    try:
        full = np.asarray(saturations)
    except (TypeError, ValueError, OverflowError):
        raise refuse("saturations", rule, type(saturations).__name__) from None
    if full.dtype.kind not in "iuf" or not (full >= 1e-3).all():
        raise refuse("saturations", rule, saturations)
    if full.ndim != 1 or laid.shape[-1:] != full.shape:
        raise refuse("saturations", f"one for each of {laid.shape[-1:]} dyes", full.shape)
    crowd = (laid / full.astype(np.float64)).sum(axis=-1, keepdims=True)
    taken: Array = laid / (1 + crowd)
    return taken


def dye_uptake(shares: object, coats: object, dyes: Sequence[Dye], *, hand: float = 1.0) -> Array:
    """Return the uptake (..., J) of J dyes for many mixes of them.

    Parameters
    ----------
    shares : array_like (..., J)
        Volume shares of the dyes in each mix.
    coats : array_like (...) or int
        Coats of each mix.
    dyes : sequence of Dye, length J
        At least one.
    hand : float
        What the load of every coat is multiplied by, see `tinting.skin.inputs.Hand`.
    """
    check_kind("dyes", dyes, Sequence, "a sequence of Dye")
    for dye in dyes:
        check_kind("each dye", dye, Dye, "a Dye")
    if not dyes:
        raise refuse("dyes", "at least one Dye", "none")
    volumes = check_array("shares", shares, len(dyes), least=0.0, most=1.0)
    number = check_numbers("coats", coats, least=0.0, most=MOST_COATS)
    loads = dye_load(volumes, number[..., None], [dye.coat_loss for dye in dyes])
    return uptake(hand * loads, np.array([dye.saturation for dye in dyes], dtype=np.float64))


def skin_absorption(
    shares: object, coats: object, dyes: Sequence[Dye], *, second: bool = False, hand: float = 1.0
) -> Array:
    """Return the absorption D (..., 36) of the skin for many mixes, arguments as `dye_uptake`.

    ``second`` takes the second spectra of dyes known by one colour alone.
    """
    taken = dye_uptake(shares, coats, dyes, hand=hand)
    spectra = [dye.second_absorptivity if second else dye.absorptivity for dye in dyes]
    absorption = np.asarray(taken @ np.array(spectra))
    for j, dye in enumerate(dyes):
        if dye.absorptivity_change is not None:
            volume = np.asarray(shares, dtype=np.float64)[..., j]
            load = hand * dye_load(volume, coats, dye.coat_loss)
            absorption += taken[..., j, None] * change_at(dye.absorptivity_change, load)
    # only rounding can bring a change below what it is added to
    return np.asarray(np.maximum(absorption, 0.0))


def change_at(change: Array, loads: Array) -> Array:
    """Return changes of absorptivity (..., 36) at loads (...), see `tinting.inputs.Dye`."""
    place, part = change_places(loads)
    return np.asarray((1 - part)[..., None] * change[place] + part[..., None] * change[place + 1])


def change_places(loads: Array) -> tuple[NDArray[np.intp], Array]:
    """Return between which two of `CHANGE_LOADS` loads lie: the first, and how far from it."""
    first, last = np.log(CHANGE_LOADS[[0, -1]])
    steps = CHANGE_LOADS.size - 1
    at = (np.log(np.maximum(loads, CHANGE_LOADS[0])) - first) / (last - first) * steps
    at = np.clip(at, 0.0, steps)
    place = np.minimum(at.astype(np.intp), steps - 1)
    return place, at - place
