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

from data import read_table
from data.rules import Caution, check_kind, refuse
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array
from tinting.learn.doubts import (
    fit_cautions,
    kind_cautions,
    parameter_cautions,
    refuse_fluorescence,
)
from tinting.learn.leftover import (
    Leftover,
    absorptivity_change,
    alone_counts,
    carried_lab,
    carried_slope,
    left_out,
    left_over,
    likely_amplitude,
    open_covariance,
    patch_places,
    places_alone,
)
from tinting.learn.patches import COEFFICIENTS, Layout, Patches, colours, readings, spline_basis
from tinting.learn.posterior import (
    load_counts,
    most_likely,
    most_likely_at_one_load,
    posterior_covariance,
)
from tinting.learn.prior import prior_covariance, prior_rows, usual_parameters
from tinting.skin.dyed import dyed_reflectance
from tinting.skin.inputs import CHANGE_LOADS, Base, Dye, Swatch
from tinting.skin.uptake import skin_absorption

MOST_SWATCHES = 100
MOST_DYES = 12
MOST_BASES = 12
LOOSE = 4.0
"""Model error to begin the search with, so that no swatch leads it astray. [dE]"""
LEAST_ALONE = 2
"""So many swatches of a dye alone show how its absorptivity changes with load."""
_STRONG: Array = np.array([0.1, 0.3, 1.0, 3.0])
"""Absorptions of patches from faint to strong."""
MOST_SPREAD = read_table("dyes")["dye estimate"]["strength_spread"].value
"""A dye with swatches is known at least as well as one by one colour alone."""
LEAST_SHARE = 1e-9
"""Less of a dye than this is none: one small drop in the largest batch is fifty times as much."""


@dataclass(frozen=True, kw_only=True, eq=False)
class DyeFit:
    """What swatches taught about dyes and bases.

    ``dyes`` maps names to dyes as they act on the first base, ``bases`` names to bases with
    their scattering thickness refined, ``scales`` names to the uptake of a base against the
    first. ``parameters`` (P,) and ``covariance`` (P, P) are in the order of ``layout``.
    ``predicted`` (N, 3) is CIELAB of each swatch as the fit has it, ``differences`` (N,) CIEDE2000
    from what was measured. ``left_out`` (N, 3) is CIELAB of each as the others have it,
    ``surprise`` (N,) the square of how far it was measured from that, in spreads (3 on average).
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
    leftover: Leftover
    left_out: Array = field(repr=False)
    surprise: Array = field(repr=False)
    cautions: tuple[Caution, ...]

    @property
    def model_error(self) -> float:
        """How much the model misses swatches by, beside what their readings err. [dE]"""
        return self.leftover.amplitude

    @property
    def base(self) -> Base:
        """The first base, or the only one, with its scattering thickness refined."""
        return next(iter(self.bases.values()))

    def dyes_on(self, base: str) -> Mapping[str, Dye]:
        """Return the dyes with the strength they have on one of the bases, by name."""
        if not isinstance(base, str) or base not in self.scales:
            raise refuse("base", "one of " + ", ".join(self.scales), base)
        if self.base is self.bases[base]:
            return self.dyes
        found = _Found(
            layout=self.layout,
            parameters=self.parameters,
            covariance=self.covariance,
            leftover=self.leftover,
        )
        return _dyes(list(self.dyes), self.bases, found, list(self.bases).index(base))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Found:
    """What a search found, see `DyeFit`."""

    layout: Layout
    parameters: Array
    covariance: Array
    leftover: Leftover


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
    found, others = _settled(painted, patches, layout, list(bases.values()))
    refined = _refined_bases(bases, found.parameters, layout)
    scales = found.parameters[layout.scale] - found.parameters[layout.scale.start]
    predicted = _predicted(names, refined, found, patches)
    read = np.array([swatch.lab for swatch in painted])
    cautions = fit_cautions(
        painted, names, bases, patches.bare, found.leftover.amplitude, delta_e(read, others[0]),
        others[1],
    )  # fmt: skip
    kinds = kind_cautions(bases, refined)
    ran_off = parameter_cautions(names, refined, found.parameters, layout)
    return DyeFit(
        dyes=_dyes(names, refined, found, 0),
        bases=refined,
        scales=MappingProxyType(dict(zip(bases, np.exp(scales).tolist(), strict=True))),
        swatches=painted,
        predicted=predicted,
        differences=delta_e(predicted, read),
        layout=layout,
        parameters=found.parameters,
        covariance=found.covariance,
        leftover=found.leftover,
        left_out=others[0],
        surprise=others[1],
        cautions=(*cautions, *kinds, *ran_off),
    )


def with_base(fit: DyeFit, base: Base) -> tuple[DyeFit, str]:
    """Return the fit with one more base that no swatch lies on, and the name it goes by there.

    Its skin is as doubtful as before any swatch, less what a base of its kind in the fit says;
    dyes act on it as on the first base, give or take what bases differ by.
    """
    check_kind("fit", fit, DyeFit, "a DyeFit")
    check_kind("base", base, Base, "a Base")
    name = base.name if base.name not in fit.bases else f"{base.name[:70]} (another)"
    bases = [*fit.bases.values(), base]
    old, layout = fit.layout, Layout(dyes=fit.layout.dyes, bases=len(bases))
    kept = np.r_[
        range(old.thickness.stop),
        range(layout.scale.start, layout.scale.stop - 1),
        range(layout.specular.start, layout.specular.stop - 1),
    ]
    root, _ = prior_rows(layout, bases)
    prior, usual = prior_covariance(root), usual_parameters(layout, bases)
    # what the old parameters say of the new ones before any swatch, and what stays open
    new = np.setdiff1d(np.arange(layout.size), kept)
    pull = np.linalg.solve(prior[np.ix_(kept, kept)], prior[np.ix_(kept, new)]).T
    parameters = np.zeros(layout.size)
    parameters[kept] = fit.parameters
    parameters[new] = usual[new] + pull @ (fit.parameters - usual[kept])
    surface = parameters[layout.specular]
    surface[-1] = np.clip(surface[-1], 0.0, min(0.04, float(base.reflectance.min()) - 1e-3))
    covariance = np.zeros((layout.size, layout.size))
    covariance[np.ix_(kept, kept)] = fit.covariance
    covariance[np.ix_(new, kept)] = pull @ fit.covariance
    covariance[np.ix_(kept, new)] = covariance[np.ix_(new, kept)].T
    covariance[np.ix_(new, new)] = (
        prior[np.ix_(new, new)] - pull @ prior[np.ix_(kept, new)] + pull @ fit.covariance @ pull.T
    )
    slope = np.zeros((len(fit.leftover.slope), layout.size))
    slope[:, kept] = fit.leftover.slope
    refined = _refined_bases({**fit.bases, name: base}, parameters, layout)
    wider = dataclasses.replace(
        fit,
        bases=MappingProxyType({**fit.bases, name: refined[name]}),
        scales=MappingProxyType({**fit.scales, name: 1.0}),
        layout=layout,
        parameters=parameters,
        covariance=covariance,
        leftover=dataclasses.replace(fit.leftover, slope=slope),
    )
    return wider, name


def _settled(
    swatches: Sequence[Swatch], patches: Patches, layout: Layout, bases: Sequence[Base]
) -> tuple[_Found, tuple[Array, Array]]:
    """What swatches say, with the model's error learned; CIELAB of each by the others, and how
    much that surprises."""
    prior, usual = prior_covariance(prior_rows(layout, bases)[0]), usual_parameters(layout, bases)
    read = np.array([_read_lab(swatch) for swatch in swatches])
    error = np.array([swatch.error for swatch in swatches])
    amplitude, start = LOOSE, None
    spectral = any(swatch.reflectance is not None for swatch in swatches)
    one_load = spectral and max(load_counts(patches)) < LEAST_ALONE
    for _ in range(4):
        try:
            if one_load:
                best = most_likely_at_one_load(swatches, patches, layout, bases, amplitude)
            else:
                best = most_likely(swatches, patches, layout, bases, amplitude, start)
        except RuntimeError:
            rule = "such as one set of dyes can explain"
            raise refuse("swatches", rule, "some that contradict each other grossly") from None
        start, parameters = best.parameters, best.parameters[: layout.size]
        shown, slope, hand = readings(parameters, np.zeros(len(swatches)), patches, layout)
        middle, (by_row, by_hand) = colours(shown, [slope, hand])
        places = patch_places(patches, layout, parameters)
        usual[layout.strength] = parameters[layout.strength]
        before = read - middle + by_row @ (parameters - usual)
        used = amplitude
        amplitude = likely_amplitude(places, before, by_row, by_hand, error, prior)
        if abs(np.log(amplitude / used)) < 0.1:
            break
    found = _Found(
        layout=layout,
        parameters=parameters,
        covariance=posterior_covariance(best)[: layout.size, : layout.size],
        leftover=left_over(used, places, read - middle, by_row, by_hand, error),
    )
    away, surprise = left_out(used, places, before, by_row, by_hand, error, prior)
    return found, (read - away, surprise)


def _read_lab(swatch: Swatch) -> Array:
    """CIELAB as read, by the spectrum where there is one."""
    if swatch.reflectance is None:
        return np.asarray(swatch.lab)
    return np.asarray(colours(swatch.reflectance[None], [])[0][0])


def _predicted(
    names: Sequence[str], bases: Mapping[str, Base], found: _Found, patches: Patches
) -> Array:
    """CIELAB (N, 3) of patches as the learned dyes give it."""
    labs = np.empty((len(patches.coats), 3))
    for place, part in enumerate(bases.values()):
        here = np.flatnonzero(np.asarray(patches.base) == place)
        if here.size:
            dyes = _dyes(names, bases, found, place)
            taken = skin_absorption(patches.shares[here], patches.coats[here], list(dyes.values()))
            labs[here] = colours(dyed_reflectance(taken, part), [])[0]
    return labs


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
    names: Sequence[str], bases: Mapping[str, Base], found: _Found, place: int
) -> Mapping[str, Dye]:
    """The dyes as they act on the base at a place, each with its own part of the covariance."""
    dyes = {}
    layout = found.layout
    alone = alone_counts(found.leftover.places, len(names))
    scale = float(found.parameters[layout.scale][place])
    for j, name in enumerate(names):
        own = layout.of_dye(j)
        shape, (strength, room, loss) = np.split(found.parameters[own], [COEFFICIENTS])
        dye = Dye(
            name=name,
            absorptivity=np.exp(strength + scale) * (spline_basis() @ shape),
            saturation=float(np.exp(room)),
            coat_loss=float(loss),
            covariance=found.covariance[np.ix_(own, own)],
            strength_spread=_strength_spread(found, bases, j, place),
        )
        if alone[j] >= LEAST_ALONE:
            at = places_alone(j, len(names), np.log(CHANGE_LOADS) + scale, place)
            wanted = carried_lab(found.leftover, at)
            part = list(bases.values())[place]
            change = absorptivity_change(part, dye.absorptivity, dye.saturation, wanted)
            dye = dataclasses.replace(dye, absorptivity_change=change)
        dyes[name] = dye
    return MappingProxyType(dyes)


def _strength_spread(found: _Found, bases: Mapping[str, Base], dye: int, place: int) -> float:
    """Spread of ln strength that moves a dye alone as far as all that the fit leaves open of it.

    Over patches from faint to strong. So a dye for itself, without its fit, has its doubt too.
    """
    layout, part = found.layout, list(bases.values())[place]
    strength = float(found.parameters[layout.strength][dye])
    shares = np.zeros((len(_STRONG), layout.dyes))
    shares[:, dye] = np.clip(np.exp(-strength) * _STRONG, LEAST_SHARE, 1.0)
    patches = Patches(
        shares=shares,
        coats=np.ones(len(_STRONG)),
        base=[place] * len(_STRONG),
        bare=np.broadcast_to(part.reflectance, (len(_STRONG), part.reflectance.size)),
    )
    shown, slope, hand = readings(found.parameters, np.zeros(len(_STRONG)), patches, layout)
    _, (by_row, by_hand) = colours(shown, [slope, hand])
    places = patch_places(patches, layout, found.parameters)
    held = carried_slope(found.leftover, places, by_row)
    variance = np.einsum("mkp,pq,mkq->m", held, found.covariance, held, optimize=True)
    variance += np.einsum("mkmk->m", open_covariance(found.leftover, places))
    ratio = variance / np.maximum((by_hand**2).sum(axis=1), 1e-12)
    return float(min(np.sqrt(np.median(ratio)), MOST_SPREAD))


def _refined_bases(
    bases: Mapping[str, Base], parameters: Array, layout: Layout
) -> Mapping[str, Base]:
    thickness = np.exp(parameters[layout.thickness]).tolist()
    specular = parameters[layout.specular].tolist()
    return MappingProxyType(
        {
            name: dataclasses.replace(part, scattering_thickness=thick, specular=surface)
            for (name, part), thick, surface in zip(bases.items(), thickness, specular, strict=True)
        }
    )
