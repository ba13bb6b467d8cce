"""What swatches and a fit give cause to doubt: fluorescence, outliers, a wrong kind of base."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from data.rules import Caution, Refused
from tinting.colour.colorimetry import white, xyz, xyz_from_lab
from tinting.colour.grid import Array
from tinting.learn.patches import Layout
from tinting.learn.posterior import THICKNESS
from tinting.learn.prior import thickness_spread
from tinting.skin.inputs import Base, Swatch

_SURE = np.array([3.0, 3.0, 4.5])
"""Spreads above the base in X, Y, Z that are no reading error. Z needs more: readings scatter most
in b*, many dyes leave Z as it is, and fluorescent dyes mostly shine in X and Y."""
_ODD, _ODD_DIFFERENCE = 25.0, 3.0
"""Surprise that comes by chance once in 60 000 swatches, and how far off it must be. [dE]"""
_MISSED = 1.0
_AT_BOUND = 0.05
SPIKES = 2.5
"""Second differences of spline coefficients of mean 1 beyond which a spectrum is of spikes."""
_DARK = (6 / 29) ** 3
_SUSPECTED = 2.0
_TRIED_COATS = 5


class Fluorescent(Refused):
    """A swatch lighter than its base, which a dye that only takes light away cannot make it.

    ``swatch`` is its place among those that were fitted, the first one 0.
    """

    def __init__(self, swatch: int, axis: str, limit: float, found: float) -> None:
        rule = (
            f"at most that of its base, {limit:.1f}, within the error of the reading, because "
            "a dye that only takes light away cannot lighten it: a fluorescent dye breaks "
            "this model"
        )
        super().__init__(f"{axis} of swatch {swatch + 1}", rule, f"{found:.1f}")
        self.swatch = swatch


def refuse_fluorescence(swatches: Sequence[Swatch], bare: Array) -> None:
    """Raise `Fluorescent` if a swatch is lighter than its base in X, Y or Z.

    Parameters
    ----------
    swatches : sequence of Swatch
        N of them.
    bare : ndarray (N, 36)
        Reflectance of the base of each.

    Notes
    -----
    A dye that only takes light away lowers X, Y and Z. What is counted is spreads of the
    difference of two readings.
    """
    for place, (swatch, excess) in enumerate(zip(swatches, _excess(swatches, bare), strict=True)):
        axis = int((excess / _SURE).argmax())
        if excess[axis] > _SURE[axis]:
            limit = float(xyz(bare[place])[axis])
            raise Fluorescent(place, "XYZ"[axis], limit, float(xyz_from_lab(swatch.lab)[axis]))


def fit_cautions(
    swatches: Sequence[Swatch],
    names: Sequence[str],
    bases: Mapping[str, Base],
    bare: Array,
    model_error: float,
    away: Array,
    surprise: Array,
) -> tuple[Caution, ...]:
    """Return what to keep in mind about a fit of ``names`` to swatches, see `DyeFit`.

    ``away`` (N,) [dE] is how far each swatch lies from what the others say, ``surprise`` (N,) the
    square of that in spreads.
    """
    found = [_few(name, swatches) for name in names]
    found += [_outliers(away, surprise), _suspects(swatches, bare), _coats(swatches)]
    found += [_dark(swatches, bases), _missed(model_error)]
    return tuple(Caution(key=key, text=text) for key, text in found if text)


def kind_cautions(bases: Mapping[str, Base], refined: Mapping[str, Base]) -> tuple[Caution, ...]:
    """Return which bases the swatches found to be of another kind than they are called."""
    found = [_kind(name, bases[name], refined[name]) for name in bases]
    return tuple(Caution(key=key, text=text) for key, text in found if text)


def parameter_cautions(
    names: Sequence[str], bases: Mapping[str, Base], parameters: Array, layout: Layout
) -> tuple[Caution, ...]:
    """Return where a search ran off: a skin as thin or thick as can be, a spectrum of spikes."""
    found = []
    for name, thickness in zip(bases, parameters[layout.thickness], strict=True):
        if min(thickness - THICKNESS[0], THICKNESS[1] - thickness) < _AT_BOUND:
            text = (
                f"The scattering thickness of the dyed skin of {name} ran to "
                f"{math.exp(thickness):.2g}, as far as it is let: these swatches do not tell it. "
                "Paint one much stronger."
            )
            found.append(Caution(key="thickness bound", text=text))
    shapes = parameters[layout.shape].reshape(layout.dyes, -1)
    for name, shape in zip(names, shapes, strict=True):
        rough = float(np.sqrt((np.diff(shape, 2) ** 2).mean()))
        if rough > SPIKES:
            text = (
                f"The absorption of {name} was fitted as spikes ({rough:.1f} where dyes have 0.5 "
                "to 1.5): it meets its swatches and little else. Check them, or paint it alone."
            )
            found.append(Caution(key="spikes", text=text))
    return tuple(found)


def odd_swatches(away: Array, surprise: Array) -> list[int]:
    """Return the places of swatches that are far from what all the others say, first one 0."""
    return [int(i) for i in np.flatnonzero((surprise > _ODD) & (away > _ODD_DIFFERENCE))]


def _excess(swatches: Sequence[Swatch], bare: Array) -> Array:
    """How far X, Y, Z (N, 3) of swatches lie above those of their bases, in spreads."""
    by_colour = np.array([xyz_from_lab(swatch.lab) for swatch in swatches])
    found = np.array(
        [
            colour if swatch.reflectance is None else xyz(swatch.reflectance)
            for swatch, colour in zip(swatches, by_colour, strict=True)
        ]
    )
    base = xyz(bare)
    # both readings err by the error of this one, on each axis of CIELAB by its third part
    axis = np.array([[swatch.error for swatch in swatches]]).T * math.sqrt(2 / 3)
    spread = axis * np.hypot(1 / 116, [1 / 500, 0.0, 1 / 200])
    lightness = np.cbrt(base / white())
    above: Array = (found - base) / (3 * lightness**2 * spread * white())
    return above


def _few(name: str, swatches: Sequence[Swatch]) -> tuple[str, str]:
    holding = [swatch for swatch in swatches if swatch.shares.get(name, 0) > 0 and swatch.coats]
    recipes = {(swatch.shares[name], swatch.coats) for swatch in holding}
    if len(recipes) == 1:
        text = (
            f"{name} is known by one recipe alone: how it builds up with share and coats is a "
            "guess. Paint one more, much stronger or weaker."
        )
        return "one recipe", text
    alone = any(sum(share > 0 for share in swatch.shares.values()) == 1 for swatch in holding)
    return "only mixed", "" if alone else (
        f"{name} was never painted alone: what is its own and what its partners' is a guess."
    )


def _outliers(away: Array, surprise: Array) -> tuple[str, str]:
    odd = [f"{i + 1} ({away[i]:.1f} ΔE00)" for i in odd_swatches(away, surprise)]
    text = (
        f"Far from what the others say: swatch {', '.join(odd)}. Check its recipe and reading, "
        "or leave it out."
    )
    return "swatch off", text if odd else ""


def _missed(model_error: float) -> tuple[str, str]:
    return "model error", "" if model_error < _MISSED else (
        f"The model misses these swatches by {model_error:.1f} in CIELAB beside what their "
        "readings err; weights and bands go by that."
    )


def _dark(swatches: Sequence[Swatch], bases: Mapping[str, Base]) -> tuple[str, str]:
    """Swatches darker than the surface that their bases are said to have, beyond any error."""
    first = next(iter(bases))
    dark = []
    for number, swatch in enumerate(swatches, start=1):
        floor = float(bases[swatch.base or first].specular)
        lightness = float(116 * np.cbrt(floor) - 16) if floor > _DARK else 903.3 * floor
        if swatch.coats and float(swatch.lab[0]) < lightness - 2 * swatch.error:
            dark.append(f"{number} (L* {swatch.lab[0]:.1f} below {lightness:.1f})")
    return "darker than surface", "" if not dark else (
        f"Darker than the light that its surface throws back: swatch {', '.join(dark)}. Another "
        "gloss than the base is said to have, or a reading that is off; the fit lowered the gloss."
    )


def _suspects(swatches: Sequence[Swatch], bare: Array) -> tuple[str, str]:
    light = np.nonzero(_excess(swatches, bare).max(axis=1) > _SUSPECTED)[0] + 1
    text = (
        f"Slightly lighter than the base: swatch {', '.join(map(str, light))}. Perhaps only the "
        "reading; a fluorescent dye would not follow this model."
    )
    return "lighter than base", text if light.size else ""


def _coats(swatches: Sequence[Swatch]) -> tuple[str, str]:
    most = max(swatch.coats for swatch in swatches)
    return "coats", "" if most <= _TRIED_COATS else (
        f"More than {_TRIED_COATS} coats were not tried: coats may lift the dye below."
    )


def _kind(name: str, base: Base, refined: Base) -> tuple[str, str]:
    moved = math.log(refined.scattering_thickness / base.scattering_thickness)
    return "base kind", "" if abs(moved) <= thickness_spread() else (
        f"The swatches contradict the kind of {name}: its dyed skin scatters "
        f"{math.exp(moved):.2g} times as much as is usual for one called {base.kind}."
    )
