"""What the maker has: the base (the printed part as it is), the dyes, swatches, and a hand."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np

from data import read_table
from data.rules import (
    check_choice,
    check_kind,
    check_name,
    check_number,
    check_whole,
    plain_numbers,
    refuse,
)
from tinting.colour.grid import BANDS, Array, check_lab, check_spectrum, real_numbers
from tinting.colour.spectrum import smoothest_within, white_pigment_within

SCATTERING_THICKNESS = {"translucent": 0.1, "opaque": 1.5, "unknown": 0.5}
"""Scattering thickness of the dyed skin by kind of base; sd of its logarithm 0.7."""
CHANGE_LOADS: Array = np.exp(np.arange(-7.0, 2.9, 0.4))
"""Loads at which a learned dye says how its absorptivity changes."""
_WHITE = 85.0
"""An opaque base of a larger L* is taken to be pigmented white."""
BACKINGS = ("none", "white", "black", "as in use")
_HANDS = read_table("dyes")["dye uptake"]["hand_factor"]
HAND_SPREAD = math.log(_HANDS.high / _HANDS.low) / 2
"""Spread of ln of how much more a stranger lays on with each coat."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Base:
    """The undyed part: ``reflectance`` (36,) as measured, and its one material constant.

    ``scattering_thickness`` is that of the skin the dye reaches (0.1 translucent natural, 1.5
    pigmented or white, 0.5 unknown). ``specular`` is the share of the surface reflection that the
    reading holds: 0.04 gloss included, 0 gloss excluded, between for a photo or an unknown device.
    ``thickness`` [m] and ``backing`` are logged, since natural TPU shows what is behind it.
    """

    reflectance: Array = field(repr=False)
    scattering_thickness: float
    name: str = "base"
    specular: float = 0.0175
    kind: str = "unknown"
    thickness: float = 0.002
    backing: str = "as in use"

    def __post_init__(self) -> None:
        check_name("base name", self.name)
        check_number("base scattering thickness", self.scattering_thickness, least=1e-6, most=1e4)
        check_number("base specular", self.specular, least=0.0, most=0.04)
        check_choice("base kind", self.kind, tuple(SCATTERING_THICKNESS))
        check_number("base thickness", self.thickness, least=1e-5, most=1.0, unit="m")
        check_choice("base backing", self.backing, BACKINGS)
        spectrum = check_spectrum("base reflectance", self.reflectance)
        lowest, highest = float(spectrum.min()), float(spectrum.max())
        if lowest <= self.specular:
            raise refuse(
                "base reflectance", f"above the surface reflection {self.specular:g}", lowest
            )
        if highest > 1.0:
            raise refuse("base reflectance", "at most 1 (no fluorescence)", highest)
        object.__setattr__(self, "reflectance", spectrum)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True, eq=False)
class Dye:
    """One dye: ``absorptivity`` (36,) >= 0 per unit volume share, saturation and coat loss.

    ``saturation`` is the load at which the uptake has halved (inf for none); ``coat_loss`` the
    share of effect that each further coat loses. ``covariance`` holds what a fit left uncertain,
    None for a dye known by one colour alone ("estimate"). ``second_absorptivity`` (36,) is another
    spectrum that explains the same colour: the distance between what the two predict is the
    spread of an estimate. Left out, it equals ``absorptivity``. ``absorptivity_change`` (25, 36) is
    added to either at the loads `CHANGE_LOADS`, straight in ln load between them and held beyond:
    what swatches of several loads showed beside one spectrum. Left out, there is none.
    ``strength_spread`` is the spread of ln of how strong it is, where it is an estimate,
    ``missed`` how far the nearest that a dye can do lies from the colour it is known by. [dE]
    """

    name: str
    absorptivity: Array = field(repr=False)
    saturation: float = 2.0
    coat_loss: float = 0.13
    covariance: Any = field(default=None, repr=False)
    second_absorptivity: Any = field(default=(), repr=False)
    absorptivity_change: Any = field(default=None, repr=False)
    strength_spread: float = 0.0
    missed: float = 0.0

    def __post_init__(self) -> None:
        check_name("dye name", self.name)
        spectrum = check_spectrum("dye absorptivity", self.absorptivity)
        if float(spectrum.min()) < 0 or float(spectrum.max()) > 1e6:
            raise refuse("dye absorptivity", "from 0 to 1e6 in every band", float(spectrum.min()))
        object.__setattr__(self, "absorptivity", spectrum)
        if isinstance(self.second_absorptivity, tuple) and not self.second_absorptivity:
            object.__setattr__(self, "second_absorptivity", spectrum)
        second = check_spectrum("dye second absorptivity", self.second_absorptivity)
        if float(second.min()) < 0 or float(second.max()) > 1e6:
            raise refuse("dye second absorptivity", "from 0 to 1e6 in every band", second.min())
        object.__setattr__(self, "second_absorptivity", second)
        if not (isinstance(self.saturation, float) and self.saturation == np.inf):
            check_number("dye saturation", self.saturation, least=1e-3)
        check_number("dye coat loss", self.coat_loss, least=0.0, below=1.0)
        check_number("dye strength spread", self.strength_spread, least=0.0, most=3.0)
        check_number("dye missed", self.missed, least=0.0, most=200.0, unit="dE")
        if self.covariance is not None:
            object.__setattr__(self, "covariance", _check_covariance(self.covariance))
        if self.absorptivity_change is not None:
            change = _check_change(self.absorptivity_change, np.minimum(spectrum, second))
            object.__setattr__(self, "absorptivity_change", change)
        plain_numbers(self)


def strengthened(dye: Dye, factor: float) -> Dye:
    """Return a dye that absorbs ``factor`` times as much at every load."""
    change = dye.absorptivity_change
    return dataclasses.replace(
        dye,
        absorptivity=factor * dye.absorptivity,
        second_absorptivity=factor * dye.second_absorptivity,
        absorptivity_change=None if change is None else factor * change,
    )


@dataclass(frozen=True, kw_only=True)
class Hand:
    """How much of a mix a hand lays on with each coat.

    ``factor`` (0.2 to 5) is that against the hand whose swatches the dyes are known by, and
    multiplies the load of every coat; ``spread`` is the spread of its logarithm. Left out, a
    stranger's: 1, times or divided by 1.3.
    """

    factor: float = 1.0
    spread: float = HAND_SPREAD

    def __post_init__(self) -> None:
        check_number("hand factor", self.factor, least=0.2, most=5.0)
        check_number("hand spread", self.spread, least=0.0, most=3.0)
        plain_numbers(self)


def check_hand(hand: object) -> float:
    """Return the factor of a hand, 1 for none; ValueError for anything else."""
    if hand is None:
        return 1.0
    check_kind("hand", hand, Hand, "a Hand, or None where it was not measured")
    return float(hand.factor)  # type: ignore[attr-defined]


@dataclass(frozen=True, kw_only=True, eq=False)
class Swatch:
    """One dyed and measured patch.

    ``shares`` maps dye name to volume share, ``coats`` is whole, ``lab`` (3,) is CIELAB under D65
    for the 10 degree observer, ``error`` [dE] what the way of measuring is worth (instrument 0.4,
    photo 2, eye 4). ``base`` names the base where there are several. ``reflectance`` (36,) is its
    spectrum where one was measured; a fit then goes by it and not by ``lab``.
    """

    shares: Mapping[str, float]
    coats: int
    lab: Array
    error: float = 2.0
    base: str = ""
    reflectance: Array | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        if not isinstance(self.shares, Mapping):
            raise refuse("swatch shares", "a mapping dye name to share", type(self.shares).__name__)
        shares = {}
        for name, share in self.shares.items():
            check_name("swatch dye", name)
            shares[name] = check_number(f"swatch share of {name}", share, least=0.0, most=1.0)
        total = sum(shares.values())
        if total > 1 + 1e-9:
            raise refuse("swatch shares", "at most 1 together", total)
        coats = check_whole("swatch coats", self.coats, least=0, most=50)
        object.__setattr__(self, "coats", coats)
        check_number("swatch error", self.error, least=0.01, most=20.0, unit="dE")
        object.__setattr__(self, "shares", MappingProxyType(shares))
        object.__setattr__(self, "lab", check_lab("swatch lab", self.lab))
        if not (isinstance(self.base, str) and self.base == ""):
            check_name("swatch base", self.base)
        if self.reflectance is not None:
            spectrum = check_spectrum("swatch reflectance", self.reflectance)
            if float(spectrum.min()) < 0 or float(spectrum.max()) > 2:
                raise refuse("swatch reflectance", "from 0 to 2 in every band", spectrum.max())
            object.__setattr__(self, "reflectance", spectrum)
        plain_numbers(self)


def base_from_lab(
    lab: object,
    kind: str,
    light: str = "D65",
    observer: int = 10,
    name: str = "base",
    specular: float = 0.0175,
    thickness: float = 0.002,
    backing: str = "as in use",
) -> Base:
    """Return a base known by its colour, with the smoothest spectrum that has it.

    An opaque one lighter than L* 85 is white by a pigment, which takes the light below 420 nm.

    Parameters
    ----------
    lab : array_like (3,)
        CIELAB of the bare part under the light for the observer.
    kind : str
        "translucent", "opaque" or "unknown"; sets the scattering thickness of the skin.
    light, observer : str, int
        What the Lab was measured under.
    name, specular, thickness, backing
        See `tinting.skin.inputs.Base`.

    Raises
    ------
    ValueError
        For a colour darker than the surface reflection alone, or one that no real surface has.
    """
    wanted = check_lab("base lab", lab)
    check_choice("base kind", kind, tuple(SCATTERING_THICKNESS))
    gloss = check_number("base specular", specular, least=0.0, most=0.04)
    floor = gloss + 1e-4
    white = kind == "opaque" and float(wanted[0]) > _WHITE
    spectrum_within = white_pigment_within if white else smoothest_within
    return Base(
        reflectance=spectrum_within("base lab", wanted, light, observer, floor, 1.0),
        scattering_thickness=SCATTERING_THICKNESS[kind],
        name=name,
        specular=gloss,
        kind=kind,
        thickness=thickness,
        backing=backing,
    )


def retouch(base: Base, lab: object, *, reflectance: object = None, name: str = "") -> Base:
    """Return a tinted, faded or worn part as a base of its own, by its own measurement.

    Parameters
    ----------
    base : Base
        What the part was before: its kind, skin, surface, thickness and backing stay.
    lab : array_like (3,)
        CIELAB of the part as it is now, under D65 for 10 degree.
    reflectance : array_like (36,), optional
        Its spectrum, where one was measured; the colour then goes by it.
    name : str
        Left out, that of the base with "as it is now".

    Raises
    ------
    ValueError
        For a colour darker than the surface reflection alone, or one that no real surface has.

    Notes
    -----
    The skin holds dye already, so that more of it may do a little less than on a bare part.
    """
    check_kind("base", base, Base, "a Base")
    blank = isinstance(name, str) and name == ""
    called = f"{base.name[:60]}, as it is now" if blank else check_name("name", name)
    wanted = check_lab("lab", lab)
    if reflectance is not None:
        spectrum = check_spectrum("reflectance", reflectance)
    else:
        spectrum = smoothest_within("lab", wanted, "D65", 10, base.specular + 1e-4, 1.0)
    return dataclasses.replace(base, reflectance=spectrum, name=called)


def _check_covariance(value: object) -> Array:
    """Read-only float copy of a square of finite numbers."""
    rule = "None or a square array of finite numbers"
    spread = real_numbers("dye covariance", value, rule)
    square = spread.ndim == 2 and spread.shape[0] == spread.shape[1] > 0
    if not square or not np.isfinite(spread).all():
        raise refuse("dye covariance", rule, f"shape {spread.shape}")
    spread.flags.writeable = False
    return spread


def _check_change(value: object, least: Array) -> Array:
    """Read-only float copy of changes that leave no absorptivity below zero."""
    name, rule = "dye absorptivity change", f"None or {CHANGE_LOADS.size} spectra"
    change = real_numbers(name, value, rule)
    if change.shape != (CHANGE_LOADS.size, BANDS):
        raise refuse(name, rule, f"shape {change.shape}")
    whole = change + least
    if not (float(whole.min()) >= -1e-9 * float(least.max()) and float(whole.max()) <= 1e6):
        raise refuse(name, "such that absorptivity is from 0 to 1e6", float(whole.min()))
    change.flags.writeable = False
    return change
