"""What the swatch log teaches: dyes and bases that take the place of estimates.

One fit over every row that may be used. A row that shows a fluorescent dye would spoil the
whole, so that dye is left out and named, and the others are learned without it.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from data.rules import Caution, check_kind, check_number, check_whole
from tinting.colour.difference import delta_e
from tinting.learn.doubts import Fluorescent, odd_swatches
from tinting.learn.fit import LEAST_SHARE, MOST_BASES, MOST_DYES, MOST_SWATCHES, DyeFit, fit_dyes
from tinting.learn.repeats import MeanSwatch, mean_swatches, one_spelling
from tinting.log.record import SwatchRecord, Triple
from tinting.skin.inputs import Base, Dye, Swatch, base_from_lab

MARK = " (learned)"
"""What the name of a learned dye or base ends with, so that none is taken for an estimate."""
ENOUGH = 3
"""So many other swatches of a dye outvote one."""
_LONGEST = 65
"""Letters of a name that leave room for the mark."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Learned:
    """Dyes and bases as the log knows them.

    ``fits`` is empty or holds the one fit. ``bases`` maps the name of each base of the log, with
    `MARK`, to the base with its skin refined; ``dye_names`` are the names of the dyes without the
    mark, ``places`` maps the id of a row to the name of its base in the fit, ``left_out`` to the
    CIELAB that all the other swatches give it, where there are others of its dyes. ``series`` are
    the mixes that were read again while they dried.
    """

    fits: tuple[DyeFit, ...]
    bases: Mapping[str, Base]
    dye_names: tuple[str, ...]
    places: Mapping[str, str] = field(repr=False)
    left_out: Mapping[str, Triple] = field(repr=False)
    cautions: tuple[Caution, ...]
    series: tuple[MeanSwatch, ...] = ()

    def dyes(self, base: str = "") -> tuple[Dye, ...]:
        """Return the learned dyes, marked, with the strength they have on a base of the log.

        ``base`` is a name of ``bases``; any other takes the strength on the first base.
        """
        check_kind("base", base, str, "the name of a base")
        if not self.fits:
            return ()
        fit = self.fits[0]
        on = fit.dyes_on(base.removesuffix(MARK)) if base in self.bases else fit.dyes
        return tuple(
            dataclasses.replace(
                dye, name=f"{name[:_LONGEST]}{MARK}", second_absorptivity=dye.absorptivity
            )
            for name, dye in on.items()
        )  # fmt: skip


NOTHING = Learned(
    fits=(),
    bases=MappingProxyType({}),
    dye_names=(),
    places=MappingProxyType({}),
    left_out=MappingProxyType({}),
    cautions=(),
)


def learn(records: Iterable[SwatchRecord]) -> Learned:
    """Return what the rows of a log teach.

    Parameters
    ----------
    records : iterable of SwatchRecord
        Rows of the log; those left out of fits, without dye or without a coat teach nothing.

    Raises
    ------
    ValueError
        For anything but rows.
    """
    means = mean_swatches(one_spelling(records))
    cautions, refused = list(means.cautions), set[str]()
    series = tuple(row for row in means.swatches if len(row.series) > 1)
    laid = [row for row in means.swatches if row.swatch.coats and _laid(row)]
    kept = _within_limits(laid, cautions)
    while kept:
        names = _base_names(kept)
        bases, unreal = _bases(kept, names)
        if unreal is not None:
            kept = _without_base(kept, unreal, cautions)
            continue
        try:
            fit = fit_dyes(bases, _swatches(kept, names))
        except Fluorescent as error:
            kept = _without_fluorescent(kept, error, cautions, refused)
            continue
        except ValueError as error:
            cautions.append(Caution(key="not learned", text=f"Nothing was learned: {error}."))
            break
        fewer = _without_odd(kept, fit, cautions)
        if len(fewer) == len(kept):
            return dataclasses.replace(_learned(fit, kept, names, cautions), series=series)
        kept = fewer
    return dataclasses.replace(NOTHING, cautions=tuple(cautions), series=series)


def row_words(row: MeanSwatch) -> str:
    """Return a swatch in words, to be found in the log by."""
    check_kind("row", row, MeanSwatch, "a MeanSwatch")
    return swatch_words(row.swatch.shares, row.swatch.coats) + f" on {row.base_name}"


def swatch_words(shares: Mapping[str, float], coats: int) -> str:
    """Return a mix and its coats in words, "reed green 12.5 %, 3 coats"."""
    check_kind("shares", shares, Mapping, "a mapping dye name to share")
    number = check_whole("coats", coats, least=0, most=50)
    parts = [
        f"{name} {100 * check_number(f'share of {name}', share, least=0.0, most=1.0):.3g} %"
        for name, share in shares.items()
    ]
    return f"{' + '.join(parts) or 'no dye'}, {number} coat{'' if number == 1 else 's'}"


def _learned(
    fit: DyeFit, kept: Sequence[MeanSwatch], names: Sequence[str], cautions: list[Caution]
) -> Learned:
    return Learned(
        fits=(fit,),
        bases=MappingProxyType(
            {
                f"{name}{MARK}": dataclasses.replace(base, name=f"{name}{MARK}")
                for name, base in fit.bases.items()
            }
        ),
        dye_names=tuple(fit.dyes),
        places=MappingProxyType(
            {id: name for row, name in zip(kept, names, strict=True) for id in row.ids}
        ),
        left_out=MappingProxyType(
            {
                id: (lightness, a, b)
                for row, (lightness, a, b) in zip(kept, fit.left_out.tolist(), strict=True)
                for id in row.ids
                if _others_of(kept, row)
            }
        ),
        cautions=(*cautions, *fit.cautions),
    )


@dataclass(frozen=True, kw_only=True)
class _Unreal:
    """The place of a swatch whose base no surface can be, and why."""

    place: int
    reason: ValueError


def _bases(
    kept: Sequence[MeanSwatch], names: Sequence[str]
) -> tuple[dict[str, Base], _Unreal | None]:
    """The bases of the swatches by name, and the first that cannot be one."""
    bases: dict[str, Base] = {}
    for place, (row, name) in enumerate(zip(kept, names, strict=True)):
        if name in bases:
            continue
        labs = [each.base_lab for each, other in zip(kept, names, strict=True) if other == name]
        try:
            bases[name] = base_from_lab(
                np.mean(labs, axis=0),
                row.base_kind,
                name=name,
                specular=row.specular,
                thickness=row.thickness,
                backing=row.backing,
            )
        except ValueError as error:
            return bases, _Unreal(place=place, reason=error)
    return bases, None


def _base_names(kept: Sequence[MeanSwatch]) -> list[str]:
    """A name for the base of each swatch, with its kind where one name has several."""
    keys = [
        (row.base_name, row.base_kind, row.thickness, row.backing, row.specular) for row in kept
    ]
    several = Counter(name for name, *_ in set(keys))
    names: dict[tuple[str, str, float, str, float], str] = {}
    for key in keys:
        name, kind, thickness, backing, gloss = key
        if key in names:
            continue
        told = f" ({kind}, {thickness * 1e3:.3g} mm, backing {backing}, gloss {gloss:.3g})"
        shown = name[:_LONGEST] if several[name] == 1 else f"{name[:30]}{told}"[:_LONGEST]
        # names cut short must not run into one
        taken = sum(other.startswith(shown) for other in names.values())
        names[key] = f"{shown} {taken + 1}" if shown in names.values() else shown
    return [names[key] for key in keys]


def _swatches(kept: Sequence[MeanSwatch], names: Sequence[str]) -> list[Swatch]:
    return [
        dataclasses.replace(
            row.swatch,
            base=name,
            # a dye named with no share is not laid on, which a fit refuses
            shares=_laid(row),
        )
        for row, name in zip(kept, names, strict=True)
    ]


def _laid(row: MeanSwatch) -> dict[str, float]:
    """The shares that count."""
    return {dye: share for dye, share in row.swatch.shares.items() if share >= LEAST_SHARE}


def _within_limits(laid: Sequence[MeanSwatch], cautions: list[Caution]) -> list[MeanSwatch]:
    """The latest swatches, of as many dyes and bases as one fit takes."""
    dyes = _most(MOST_DYES, [name for row in laid for name in row.swatch.shares])
    bases = _most(MOST_BASES, [row.base_name for row in laid])
    kept = [
        row for row in laid if dyes.issuperset(row.swatch.shares) and row.base_name in bases
    ][-MOST_SWATCHES:]  # fmt: skip
    if len(kept) < len(laid):
        text = (
            f"Of {len(laid)} swatches in the log {len(kept)} are used: at most {MOST_SWATCHES} "
            f"of {MOST_DYES} dyes on {MOST_BASES} bases, the latest and most frequent first."
        )
        cautions.append(Caution(key="too many", text=text))
    return kept


def _most(most: int, names: Sequence[str]) -> set[str]:
    return {name for name, _ in Counter(names).most_common(most)}


def _without_base(
    kept: Sequence[MeanSwatch], unreal: _Unreal, cautions: list[Caution]
) -> list[MeanSwatch]:
    bad = kept[unreal.place]
    text = f"Left out of the fit: {row_words(bad)}, because its base is refused: {unreal.reason}."
    cautions.append(Caution(key="refused swatch", text=text))
    return [row for row in kept if row is not bad]


def _others_of(kept: Sequence[MeanSwatch], row: MeanSwatch) -> int:
    """How many other swatches there are of the dye that has fewest of those in a row."""
    return min(
        sum(name in _laid(other) for other in kept if other is not row) for name in _laid(row)
    )


def _without_odd(
    kept: Sequence[MeanSwatch], fit: DyeFit, cautions: list[Caution]
) -> list[MeanSwatch]:
    """The swatches without the one that is farthest from what all the others say, if one is.

    It is set aside only where enough others of its dyes are left to know better.
    """
    away = delta_e(fit.left_out, [swatch.lab for swatch in fit.swatches])
    odd = [i for i in odd_swatches(away, fit.surprise) if _others_of(kept, kept[i]) >= ENOUGH]
    if not odd:
        return list(kept)
    worst = max(odd, key=lambda i: float(fit.surprise[i]))
    text = (
        f"Set aside: {row_words(kept[worst])}, because it reads {away[worst]:.1f} ΔE00 from what "
        "the others say. Check its mix, coats and reading."
    )
    cautions.append(Caution(key="set aside", text=text))
    return [row for row in kept if row is not kept[worst]]


def _without_fluorescent(
    kept: Sequence[MeanSwatch], error: Fluorescent, cautions: list[Caution], refused: set[str]
) -> list[MeanSwatch]:
    """The swatches without the one that is too light; without its dye if it has one alone, unless
    it is the first such of a dye of which enough others are left. ``refused`` is filled here."""
    bad = kept[error.swatch]
    alone = _laid(bad).keys()
    bears = not alone & refused and _others_of(kept, bad) >= ENOUGH
    refused |= alone
    if len(alone) > 1 or bears:
        text = f"Left out of the fit: {row_words(bad)}, because {error}."
        cautions.append(Caution(key="refused swatch", text=text))
        return [row for row in kept if row is not bad]
    text = (
        f"{', '.join(alone)} is not learned: {row_words(bad)} reads lighter than its base. Either "
        "the reading is wrong (correct it, or leave the row out), or the dye fluoresces, which "
        "this model cannot follow."
    )
    cautions.append(Caution(key="refused swatch", text=text))
    return [row for row in kept if not alone & row.swatch.shares.keys()]
