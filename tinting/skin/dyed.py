"""What a coat of dye does to a base: the dyed skin over its own body.

The part keeps its colour and a dyed skin takes some of the light. The skin is a Kubelka-Munk
layer with the base's own absorption plus the dye's, over the base, under the surface of the
plastic. Its scattering thickness τ is the one constant of the material: τ → 0 is a clear film
passed twice (r e^-2D), τ → ∞ the textile rule K/S = q0 + D/τ. Without dye the base comes back
to the last bit, and no reading ever rises above its base.

Always true of the model: the skin has one depth for all dyes, the dye does not fluoresce, and
coats go on wet over dry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from data.rules import Caution, check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import delta_e, lab_from_xyz, weights
from tinting.colour.grid import BANDS, Array, check_array
from tinting.colour.screen import hex_from_srgb, in_gamut, srgb_from_xyz
from tinting.colour.spectrum import srgb_from_lab
from tinting.skin.inputs import Base, Dye, Hand, check_hand
from tinting.skin.layer import EXTERNAL_REFLECTION, layer_loss, skin_layer
from tinting.skin.uptake import MOST_COATS, dye_uptake, skin_absorption

TRIED_COATS = 5
ESTIMATE_ERROR = 1.2
"""What two spectra for one colour do not know of, from measured paint. [dE]"""


def dyed_reflectance(absorption: object, base: Base) -> Array:
    """Return the reading (..., 36) of a base whose skin absorbs D (..., 36)."""
    check_kind("base", base, Base, "a Base")
    taken = check_array("absorption", absorption, BANDS, least=0.0, most=1e9)
    return skin_reflectance(taken, base.reflectance, base.scattering_thickness, base.specular)


def skin_reflectance(
    absorption: Array,
    measured: Array,
    scattering_thickness: float | Array,
    specular: float | Array,
) -> Array:
    """Return readings for absorptions D over readings of bare bases, arrays that broadcast.

    The unchecked core of `dyed_reflectance`, for callers that need it thousands of times; the
    formula is that of `tinting.skin.layer`.
    """
    layer = skin_layer(measured, specular, scattering_thickness)
    k = np.asarray(layer.own + absorption)
    lost = layer_loss(absorption, k, layer.level + layer.slope * absorption, layer.twice)
    # only rounding, 1e-17, can reach below the surface reflection
    return np.asarray(np.maximum(measured - layer.gain * lost, specular))


@dataclass(frozen=True, kw_only=True, eq=False)
class Tint:
    """A dyed base: ``reflectance`` (36,) as it would be measured, and what to keep in mind.

    ``mix`` holds (Dye, volume share) pairs, ``second_reflectance`` (36,) is the same tint by the
    second spectra of dyes that are known by one colour alone. ``hand`` is who laid it on, None
    where that was not measured.
    """

    base: Base
    mix: tuple[tuple[Dye, float], ...]
    coats: int
    reflectance: Array = field(repr=False)
    second_reflectance: Array = field(repr=False)
    cautions: tuple[Caution, ...]
    hand: Hand | None = None

    def lab(self, light: str = "D65", observer: int = 10) -> Array:
        """Return CIELAB (3,) under a light for the 2 or 10 degree observer."""
        return lab_from_xyz(self.reflectance @ weights(light, observer), light, observer)

    def spread(self, light: str = "D65", observer: int = 10) -> float:
        """Return the CIEDE2000 within which four of five such tints lie, 0 without an estimate.

        How far the second spectrum is from the first, and 1.2 that neither knows of: measured
        paints lay within it in 80 %, within the first alone in 32 to 44 %. [dE]
        """
        if not any(dye.covariance is None and share > 0 for dye, share in self.mix):
            return 0.0
        second = self.second_reflectance @ weights(light, observer)
        away = delta_e(self.lab(light, observer), lab_from_xyz(second, light, observer))
        return float(np.hypot(away, ESTIMATE_ERROR)) if self.coats else 0.0

    @property
    def srgb(self) -> tuple[float, float, float]:
        """The screen colour, three shares from 0 to 1, as `srgb_from_lab` shows its CIELAB."""
        red, green, blue = (float(value) for value in srgb_from_lab(self.lab()))
        return red, green, blue

    @property
    def hex(self) -> str:
        """The screen colour as "#rrggbb"."""
        return hex_from_srgb(self.srgb)


def tint(
    base: Base, mix: Sequence[tuple[Dye, float]], coats: int, *, hand: Hand | None = None
) -> Tint:
    """Return what a base looks like under some coats of a mix of dyes.

    Parameters
    ----------
    base : Base
        The bare part.
    mix : sequence of (Dye, float)
        Dyes with their volume share in the mix, together at most 1; the rest is alcohol. Empty
        for plain alcohol.
    coats : int
        0 to 50.
    hand : Hand, optional
        Who lays it on; left out, whoever painted the swatches that the dyes are known by.

    Raises
    ------
    ValueError
        For anything else, in the form *name must be rule; got value*.
    """
    check_kind("base", base, Base, "a Base")
    pairs = _checked_mix(mix)
    number = check_whole("coats", coats, least=0, most=MOST_COATS)
    factor = check_hand(hand)
    first = second = base.reflectance
    crowd = 0.0
    if pairs:
        dyes, shares = zip(*pairs, strict=True)
        taken = dye_uptake(shares, number, dyes, hand=factor)
        crowd = float((taken / np.array([dye.saturation for dye in dyes])).sum())
        absorption = skin_absorption(shares, number, dyes, hand=factor)
        other = skin_absorption(shares, number, dyes, second=True, hand=factor)
        first, second = dyed_reflectance(absorption, base), dyed_reflectance(other, base)
    return Tint(
        base=base,
        mix=pairs,
        coats=number,
        reflectance=_frozen(first),
        second_reflectance=_frozen(second),
        cautions=(*_base_cautions(base), *_mix_cautions(pairs, number, crowd), *_screen(first)),
        hand=hand,
    )


def _frozen(spectrum: Array) -> Array:
    own = spectrum.copy()
    own.flags.writeable = False
    return own


def _checked_mix(mix: object) -> tuple[tuple[Dye, float], ...]:
    if not isinstance(mix, Sequence):
        raise refuse("mix", "a sequence of (Dye, share) pairs", type(mix).__name__)
    pairs: list[tuple[Dye, float]] = []
    for pair in mix:
        if not isinstance(pair, Sequence) or len(pair) != 2:
            raise refuse("each part of the mix", "a (Dye, share) pair", pair)
        check_kind("each part of the mix", pair[0], Dye, "a (Dye, share) pair")
        share = check_number(f"share of {pair[0].name}", pair[1], least=0.0, most=1.0)
        pairs.append((pair[0], share))
    total = sum(share for _, share in pairs)
    if total > 1 + 1e-9:
        raise refuse("shares of the mix", "at most 1 together", f"{total:g}")
    return tuple(pairs)


def _base_cautions(base: Base) -> list[Caution]:
    found = []
    if base.kind == "unknown":
        text = (
            "It is not known whether the base is translucent or opaque. The wrong answer costs "
            "2.5 to 9.5 ΔE00 from one base to another: hold the bare part against a light and say."
        )
        found.append(Caution(key="base kind", text=text))
    if base.kind == "translucent":
        text = (
            "A translucent part shows what is behind it, about 8 ΔE00 between white and black "
            "behind 2 mm. Judge it at its own thickness and with its own backing."
        )
        found.append(Caution(key="backing", text=text))
    if float(base.reflectance.max()) > base.specular + 1 - EXTERNAL_REFLECTION:
        text = "The base reads lighter than an ideal white under its surface: check the reading."
        found.append(Caution(key="base too light", text=text))
    return found


def _mix_cautions(pairs: tuple[tuple[Dye, float], ...], coats: int, crowd: float) -> list[Caution]:
    found = []
    guessed = sorted({dye.name for dye, share in pairs if share > 0 and dye.covariance is None})
    if guessed and coats:
        text = (
            f"Estimate: {', '.join(guessed)} known by one colour alone. At other amounts expect "
            "about 3 ΔE00, at worst 8; at its own about 1 under other lights, at worst 4.5."
        )
        found.append(Caution(key="estimate", text=text))
    if coats > TRIED_COATS:
        text = f"More than {TRIED_COATS} coats were not tried: coats may lift the dye below."
        found.append(Caution(key="coats", text=text))
    if crowd > 0.5:
        text = "The skin is more than half full of dye: more of it will do little."
        found.append(Caution(key="saturation", text=text))
    return found


def _screen(reflectance: Array) -> list[Caution]:
    if in_gamut(srgb_from_xyz(reflectance @ weights("D65", 2))):
        return []
    text = "A screen cannot show this colour in full; the square shows the nearest it can."
    return [Caution(key="screen", text=text)]
