"""What the maker has: the base (the printed part as it is) and the dyes.

Spectra stand on one grid, 380 to 730 nm in steps of 10 nm (36 bands). A Lab is CIELAB under
D65 for the 10 degree observer unless a light is named beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import check_choice, check_name, check_number, check_whole, plain_numbers, refuse

Array: TypeAlias = NDArray[np.float64]
wavelengths_nm: Array = np.arange(380.0, 731.0, 10.0)
BANDS = wavelengths_nm.size
SCATTERING_THICKNESS = {"translucent": 0.1, "opaque": 1.5, "unknown": 0.5}
"""Scattering thickness of the dyed skin by kind of base; sd of its logarithm 0.7."""
BACKINGS = ("none", "white", "black", "as in use")


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
    spread of an estimate. Left out, it equals ``absorptivity``.
    """

    name: str
    absorptivity: Array = field(repr=False)
    saturation: float = 2.0
    coat_loss: float = 0.13
    covariance: Any = field(default=None, repr=False)
    second_absorptivity: Any = field(default=(), repr=False)

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
        if self.covariance is not None:
            object.__setattr__(self, "covariance", _check_covariance(self.covariance))
        plain_numbers(self)


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


def check_spectrum(name: str, value: object) -> Array:
    """Return a read-only float copy of a spectrum of 36 finite values; ValueError otherwise."""
    spectrum = _numbers(name, value, f"{BANDS} numbers")
    if spectrum.shape != (BANDS,):
        raise refuse(name, f"{BANDS} values, 380 to 730 nm by 10", f"shape {spectrum.shape}")
    if not np.isfinite(spectrum).all():
        raise refuse(name, "finite in every band", "NaN or infinity")
    spectrum.flags.writeable = False
    return spectrum


def check_lab(name: str, value: object) -> Array:
    """Return a read-only CIELAB triple: L* from 0 to 100, a* and b* from -200 to 200."""
    lab = _numbers(name, value, "three numbers L*, a*, b*")
    if lab.shape != (3,) or not np.isfinite(lab).all():
        raise refuse(name, "three finite numbers L*, a*, b*", value)
    if not (0 <= lab[0] <= 100.5 and np.abs(lab[1:]).max() <= 200):
        raise refuse(name, "L* from 0 to 100 and a*, b* from -200 to 200", lab.tolist())
    lab.flags.writeable = False
    return lab


def check_array(name: str, value: object, width: int, *, least: float, most: float) -> Array:
    """Return a float copy of an array (..., width) with every value between the bounds.

    Parameters
    ----------
    name : str
        What the array is called in the refusal.
    value : object
        Numbers; text, bool, complex, ragged lists, NaN and infinity are refused.
    width : int
        Length of the last axis.
    least, most : float
        Inclusive bounds.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    array = _numbers(name, value, f"an array of numbers, {width} in the last axis")
    if array.ndim == 0 or array.shape[-1] != width:
        raise refuse(name, f"an array with {width} in its last axis", f"shape {array.shape}")
    if array.size == 0:
        raise refuse(name, "an array that holds something", f"shape {array.shape}")
    lowest, highest = float(array.min()), float(array.max())
    if not (lowest >= least and highest <= most):
        raise refuse(name, f"finite and from {least:g} to {most:g}", f"{lowest:g} to {highest:g}")
    return array


def check_shapes(name: str, *arrays: Array) -> None:
    """Raise the ValueError if arrays do not broadcast."""
    try:
        np.broadcast_shapes(*(array.shape for array in arrays))
    except ValueError:
        shapes = " and ".join(str(array.shape) for array in arrays)
        raise refuse(name, "of shapes that fit each other", shapes) from None


def _check_covariance(value: object) -> Array:
    """Read-only float copy of a square of finite numbers."""
    rule = "None or a square array of finite numbers"
    spread = _numbers("dye covariance", value, rule)
    square = spread.ndim == 2 and spread.shape[0] == spread.shape[1] > 0
    if not square or not np.isfinite(spread).all():
        raise refuse("dye covariance", rule, f"shape {spread.shape}")
    spread.flags.writeable = False
    return spread


def _numbers(name: str, value: object, rule: str) -> Array:
    """Float copy of whatever holds plain real numbers; text, bool and objects are refused."""
    try:
        raw = np.asarray(value)
    except (TypeError, ValueError, OverflowError):
        raise refuse(name, rule, type(value).__name__) from None
    if raw.dtype.kind not in "iuf":
        raise refuse(name, rule, type(value).__name__)
    with np.errstate(over="ignore"):
        return np.array(raw, dtype=np.float64)
