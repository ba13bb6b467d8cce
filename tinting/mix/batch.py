"""Mixing at the bench: how much to mix, in drops, millilitres and grams, and keeping it right.

Volumes are in m3 and shares are by volume, dye as it comes in its bottle against the whole mix.
A ratio like "1:10" can be read in two ways and is never printed: parts are named.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import read_table
from data.rules import Caution, check_number, check_whole, refuse

_TABLE = read_table("constants")
DENSITY = _TABLE["isopropyl alcohol"]["density"].value
DROP_VOLUME = _TABLE["drop"]["volume"].value
FEWEST_DROPS = round(_TABLE["drop"]["fewest"].value)
COVERAGE = _TABLE["coat"]["coverage"].value
LOSS_FACTOR = _TABLE["coat"]["loss_factor"].value
_MOST_VOLUME = 0.1
_LEAST_DROP, _MOST_DROP = 5e-9, 2e-7


@dataclass(frozen=True, kw_only=True)
class Drops:
    """One dye in whole drops: ``drops``, volumes of dye and the rest [m3], the ``share`` they
    really give, and what to keep in mind."""

    drops: int
    stock_volume: float
    alcohol_volume: float
    share: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, kw_only=True)
class PreDilution:
    """A first dilution that makes a small share countable.

    ``parts_alcohol`` to one part of dye (0: none is needed), the whole ``drops`` of it that the
    batch takes, and the ``share`` of undiluted dye that these give.
    """

    parts_alcohol: int
    drops: int
    share: float
    text: str


@dataclass(frozen=True, kw_only=True)
class MixLine:
    """One liquid of a mix: whole ``drops``, ``volume`` [m3] and ``mass`` [kg]."""

    name: str
    drops: int
    volume: float
    mass: float


def volume_share(parts_dye: float, parts_alcohol: float) -> float:
    """Return the volume share of the dye in so many parts of dye and parts of alcohol."""
    dye = check_number("parts of dye", parts_dye, least=0.0, most=1e6)
    alcohol = check_number("parts of alcohol", parts_alcohol, least=0.0, most=1e6)
    if dye + alcohol < 1e-6:
        raise refuse("parts of dye and alcohol", "above 0 together", dye + alcohol)
    return dye / (dye + alcohol)


def parts_text(share: float) -> str:
    """Return a volume share in words, "1 part dye + 9 parts alcohol"."""
    volume = check_number("share", share, least=0.0, most=1.0)
    if volume < 1e-6:
        return "alcohol alone"
    if volume > 1 - 1e-6:
        return "dye as it comes"
    if volume <= 0.5:
        return f"1 part dye + {_parts((1 - volume) / volume)} alcohol"
    return f"{_parts(volume / (1 - volume))} dye + 1 part alcohol"


def volume_for_area(
    area: float,
    coats: int,
    coverage: float = COVERAGE,
    loss_factor: float = LOSS_FACTOR,
) -> float:
    """Return the volume to mix for a surface. [m3]

    Parameters
    ----------
    area : float
        Surface to dye. [m2]
    coats : int
        1 to 50.
    coverage : float
        Wet film of one coat: 5e-5 m is 0.5 mL on 100 cm2. [m]
    loss_factor : float
        What brush, cloth and jar keep, 1 to 10.

    Notes
    -----
    Source of the defaults: common practice, see the table of constants.
    """
    surface = check_number("area", area, above=0.0, most=100.0, unit="m2")
    number = check_whole("coats", coats, least=1, most=50)
    film = check_number("coverage", coverage, above=0.0, most=1e-3, unit="m")
    loss = check_number("loss factor", loss_factor, least=1.0, most=10.0)
    return surface * film * number * loss


def drop_volume_by_weight(drops: int, mass: float) -> float:
    """Return the volume of one drop from the mass of many, as on a 0.01 g scale. [m3]

    ``drops`` counted (10 or more), ``mass`` [kg]; the density is that of isopropyl alcohol.
    """
    count = check_whole("counted drops", drops, least=10, most=10_000)
    weight = check_number("mass of the drops", mass, above=0.0, most=1.0, unit="kg")
    return check_number(
        "volume of one drop",
        weight / DENSITY / count,
        least=_LEAST_DROP,
        most=_MOST_DROP,
        unit="m3",
    )


def drops_for(total_volume: float, share: float, drop_volume: float = DROP_VOLUME) -> Drops:
    """Return the whole drops of a dye that come nearest to its share in a batch.

    Parameters
    ----------
    total_volume : float
        Dye and alcohol together. [m3]
    share : float
        Volume share of the dye, 0 to 1.
    drop_volume : float
        One drop, best calibrated; 5e-9 to 2e-7. [m3]
    """
    total, drop = _batch(total_volume, drop_volume)
    volume = check_number("share", share, least=0.0, most=1.0)
    drops = min(math.floor(volume * total / drop + 0.5), math.floor(total / drop + 1e-9))
    cautions = []
    if volume > 0 and drops < FEWEST_DROPS:
        text = (
            f"Fewer than {FEWEST_DROPS} drops: one drop more shifts the colour by 2.5 to 3.3 ΔE00 "
            "in 10 mL. Mix a bigger batch, or dilute the dye first."
        )
        cautions.append(Caution(key="few drops", text=text))
    stock = drops * drop
    return Drops(
        drops=drops,
        stock_volume=stock,
        alcohol_volume=max(total - stock, 0.0),
        share=stock / total,
        cautions=tuple(cautions),
    )


def pre_dilution(
    total_volume: float,
    share: float,
    drop_volume: float = DROP_VOLUME,
    fewest: int = FEWEST_DROPS,
) -> PreDilution:
    """Return the weakest need of a first dilution (none, 1 + 9, 1 + 99, ...) that makes a share
    of a batch at least ``fewest`` drops; arguments as in `drops_for`.
    """
    total, drop = _batch(total_volume, drop_volume)
    volume = check_number("share", share, least=1e-9, most=1.0)
    least = check_whole("fewest drops", fewest, least=1, most=100)
    factor = 1
    while math.floor(volume * factor * total / drop + 0.5) < least:
        factor *= 10
        if volume * factor > 1:
            raise refuse("batch", f"big enough for {least} drops", f"{total * 1e6:g} mL")
    drops = math.floor(volume * factor * total / drop + 0.5)
    text = f"{drops} drops of the dye as it comes"
    if factor > 1:
        text = f"dilute first: {parts_text(1 / factor)}; then {drops} drops of that"
    return PreDilution(
        parts_alcohol=factor - 1, drops=drops, share=drops * drop / factor / total, text=text
    )


def top_up(volume: float, share_now: float, share_wanted: float) -> float:
    """Return how much undiluted dye makes what is left in the jar stronger. [m3]

    V (φ2 - φ1) / (1 - φ2), for ``volume`` [m3] of share φ1 and a wanted share φ2 below 1.
    """
    left = check_number("volume", volume, above=0.0, most=_MOST_VOLUME, unit="m3")
    wanted = check_number("share wanted", share_wanted, least=0.0, most=0.999)
    now = check_number("share now", share_now, least=0.0, most=wanted)
    return left * (wanted - now) / (1 - wanted)


def thin_down(volume: float, share_now: float, share_wanted: float) -> float:
    """Return how much alcohol makes what is left in the jar weaker. [m3]

    V (φ1/φ2 - 1), for ``volume`` [m3] of share φ1 and a wanted share φ2 above 0.
    """
    left = check_number("volume", volume, above=0.0, most=_MOST_VOLUME, unit="m3")
    now = check_number("share now", share_now, least=0.0, most=1.0)
    wanted = check_number("share wanted", share_wanted, least=1e-6, most=now)
    return left * (now / wanted - 1)


def _batch(total_volume: float, drop_volume: float) -> tuple[float, float]:
    drop = check_number("drop volume", drop_volume, least=_LEAST_DROP, most=_MOST_DROP, unit="m3")
    total = check_number("batch", total_volume, least=drop, most=_MOST_VOLUME, unit="m3")
    return total, drop


def _parts(number: float) -> str:
    shown = f"{number:.3g}" if number < 1000 else f"{number:.0f}"
    return "1 part" if shown == "1" else f"{shown} parts"
