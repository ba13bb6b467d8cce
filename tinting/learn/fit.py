"""Learn dyes from swatches: least squares with priors, over all swatches at once.

For each dye 14 non-negative spline coefficients of its absorptivity, its saturation and its
coat loss; for each base the scattering thickness of its skin and, from the second base on, a
scale of uptake. Every swatch has a hand of its own that laid on some 10 % more or less than
meant, so repeats count for what they are worth.

Always true of the model: priors and accuracy come from synthetic worlds, real parts are worse.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np

from data.rules import Caution, check_kind, refuse
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array
from tinting.learn.doubts import fit_cautions, refuse_fluorescence
from tinting.learn.patches import COEFFICIENTS, Layout, Patches, colours, readings, spline_basis
from tinting.learn.posterior import most_likely, posterior_covariance
from tinting.skin.inputs import Base, Dye, Swatch

MOST_SWATCHES = 100
MOST_DYES = 12
MOST_BASES = 12
LEAST_SHARE = 1e-9
"""Less of a dye than this is none: one small drop in the largest batch is fifty times as much."""


@dataclass(frozen=True, kw_only=True, eq=False)
class DyeFit:
    """What swatches taught about dyes and bases.

    ``dyes`` maps names to dyes as they act on the first base, ``bases`` names to bases with
    their scattering thickness refined, ``scales`` names to the uptake of a base against the
    first. ``parameters`` (P,) and ``covariance`` (P, P) are in the order of ``layout``.
    ``predicted`` (N, 3) is CIELAB of each swatch as the fit has it, ``differences`` (N,) CIEDE2000
    from what was measured.
    """

    dyes: Mapping[str, Dye]
    bases: Mapping[str, Base]
    scales: Mapping[str, float]
    swatches: tuple[Swatch, ...] = field(repr=False)
    predicted: Array = field(repr=False)
    differences: Array = field(repr=False)
    layout: Layout
    parameters: Array = field(repr=False)
    covariance: Array = field(repr=False)
    cautions: tuple[Caution, ...]

    @property
    def base(self) -> Base:
        """The first base, or the only one, with its scattering thickness refined."""
        return next(iter(self.bases.values()))

    def dyes_on(self, base: str) -> Mapping[str, Dye]:
        """Return the dyes with the strength they have on one of the bases, by name."""
        if not isinstance(base, str) or base not in self.scales:
            raise refuse("base", "one of " + ", ".join(self.scales), base)
        scale = self.scales[base]
        return MappingProxyType(
            {
                name: dataclasses.replace(
                    dye,
                    absorptivity=scale * dye.absorptivity,
                    second_absorptivity=scale * dye.absorptivity,
                )
                for name, dye in self.dyes.items()
            }
        )


def fit_dyes(base: Base | Mapping[str, Base], swatches: Sequence[Swatch]) -> DyeFit:
    """Return the dyes that explain the swatches best.

    Parameters
    ----------
    base : Base or mapping of name to Base
        What was painted on. With several, each swatch names its base.
    swatches : sequence of Swatch
        1 to 100, of 1 to 12 dyes, alone or mixed. A swatch with a spectrum is fitted to it.

    Returns
    -------
    DyeFit
        ``tint(fit.base, [(fit.dyes[name], share)], coats)`` gives the fit's own prediction.

    Raises
    ------
    ValueError
        For a swatch that is lighter than its base beyond the error of its reading (the dye
        fluoresces), a dye that is never laid on, swatches so contradictory that the search does
        not settle, and wrong arguments.

    Notes
    -----
    Maximum of the posterior, by damped Gauss-Newton steps within bounds; covariance from the
    curvature there. Priors as in ``data/dyes.csv``.
    """
    bases = _checked_bases(base)
    painted = _checked_swatches(swatches, bases)
    names = _dye_names(painted)
    patches = gather_patches(painted, names, bases)
    refuse_fluorescence(painted, patches.bare)
    layout = Layout(dyes=len(names), bases=len(bases))
    try:
        best = most_likely(painted, patches, layout, list(bases.values()))
    except RuntimeError:
        rule = "such as one set of dyes can explain"
        raise refuse("swatches", rule, "some that contradict each other grossly") from None
    parameters = best.parameters[: layout.size]
    covariance = posterior_covariance(best)[: layout.size, : layout.size]
    shown, _, _ = readings(parameters, np.zeros(len(painted)), patches, layout)
    predicted, _ = colours(shown, [])
    differences = delta_e(predicted, np.array([swatch.lab for swatch in painted]))
    refined = _refined_bases(bases, parameters, layout)
    scales = np.exp(parameters[layout.scale] - parameters[layout.scale.start])
    return DyeFit(
        dyes=_dyes(names, parameters, covariance, layout),
        bases=refined,
        scales=MappingProxyType(dict(zip(bases, scales.tolist(), strict=True))),
        swatches=painted,
        predicted=predicted,
        differences=differences,
        layout=layout,
        parameters=parameters,
        covariance=covariance,
        cautions=fit_cautions(painted, names, differences, bases, refined, patches.bare),
    )


def gather_patches(
    swatches: Sequence[Swatch], names: Sequence[str], bases: Mapping[str, Base]
) -> Patches:
    """Return swatches as arrays, shares in the order of the dye names."""
    order = list(bases)
    places = [order.index(swatch.base) if swatch.base else 0 for swatch in swatches]
    under = [bases[order[place]] for place in places]
    return Patches(
        shares=np.array([[swatch.shares.get(name, 0.0) for name in names] for swatch in swatches]),
        coats=np.array([float(swatch.coats) for swatch in swatches]),
        base=places,
        bare=np.array([part.reflectance for part in under]),
        specular=np.array([[part.specular] for part in under]),
    )


def _checked_bases(base: Any) -> Mapping[str, Base]:
    if isinstance(base, Base):
        return {base.name: base}
    check_kind("base", base, Mapping, "a Base or a mapping of name to Base")
    if not 1 <= len(base) <= MOST_BASES:
        raise refuse("base", f"1 to {MOST_BASES} bases", len(base))
    for name, part in base.items():
        if not isinstance(name, str) or not name.strip():
            raise refuse("base name", "a text", name)
        check_kind(f"base {name}", part, Base, "a Base")
    return dict(base)


def _checked_swatches(swatches: Any, bases: Mapping[str, Base]) -> tuple[Swatch, ...]:
    check_kind("swatches", swatches, Sequence, "a sequence of Swatch")
    if not 1 <= len(swatches) <= MOST_SWATCHES:
        raise refuse("swatches", f"1 to {MOST_SWATCHES} swatches", len(swatches))
    for number, swatch in enumerate(swatches, start=1):
        check_kind(f"swatch {number}", swatch, Swatch, "a Swatch")
        if swatch.base not in bases and (swatch.base or len(bases) > 1):
            raise refuse(f"base of swatch {number}", "one of " + ", ".join(bases), swatch.base)
    return tuple(swatches)


def _dye_names(swatches: Sequence[Swatch]) -> list[str]:
    named = list(dict.fromkeys(name for swatch in swatches for name in swatch.shares))
    laid = {
        name
        for swatch in swatches
        if swatch.coats > 0
        for name, share in swatch.shares.items()
        if share >= LEAST_SHARE
    }
    for name in named:
        if name not in laid:
            raise refuse(f"dye {name}", "laid on in at least one swatch", "no share or no coat")
    if not 1 <= len(named) <= MOST_DYES:
        raise refuse("dyes in the swatches", f"1 to {MOST_DYES}", len(named))
    return named


def _dyes(
    names: Sequence[str], parameters: Array, covariance: Array, layout: Layout
) -> Mapping[str, Dye]:
    """The dyes as they act on the first base, each with its own part of the covariance."""
    found = {}
    for j, name in enumerate(names):
        own = layout.of_dye(j)
        shape, (strength, room, loss) = np.split(parameters[own], [COEFFICIENTS])
        amount = np.exp(strength + parameters[layout.scale.start])
        found[name] = Dye(
            name=name,
            absorptivity=amount * (spline_basis() @ shape),
            saturation=float(np.exp(room)),
            coat_loss=float(loss),
            covariance=covariance[np.ix_(own, own)],
        )
    return MappingProxyType(found)


def _refined_bases(
    bases: Mapping[str, Base], parameters: Array, layout: Layout
) -> Mapping[str, Base]:
    thickness = np.exp(parameters[layout.thickness]).tolist()
    return MappingProxyType(
        {
            name: dataclasses.replace(part, scattering_thickness=thick)
            for (name, part), thick in zip(bases.items(), thickness, strict=True)
        }
    )
