"""Measure a whole strip in one photo: the bare part and patches of more and more coats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from data.rules import Caution, check_kind, check_whole, refuse
from tinting.colour.grid import Array
from tinting.photo.patches import scatter_inside, swapped, uneven
from tinting.photo.picture import Picture, as_picture
from tinting.photo.reading import READING_ERROR, frame_of, measured
from tinting.photo.regions import Patch, region_patch
from tinting.skin.inputs import Swatch

COATS = (0, 1, 2, 3, 5)
"""The strip that teaches most of one dye: bare, and one to five coats."""
MOST_PATCHES = 24


@dataclass(frozen=True, kw_only=True, eq=False)
class StripReading:
    """A strip as read from a photo.

    ``coats`` (K,) of each patch that could be read, ``labs`` (K, 3) their CIELAB under D65 for 10
    degree, ``scatter`` (K,) the root-mean-square CIEDE2000 of sixteen places inside each patch from
    its mean. ``error`` [dE] is what each colour may be off by; the rest as in `PhotoReading`.
    """

    coats: tuple[int, ...]
    labs: Array
    scatter: tuple[float, ...]
    error: float
    method: str
    degree: int
    residuals: Mapping[str, float] = field(repr=False)
    light_unevenness: float
    flat_field: bool
    cautions: tuple[Caution, ...]

    @property
    def base_lab(self) -> Array:
        """The mean CIELAB (3,) of the bare patches."""
        bare = [lab for lab, coats in zip(self.labs, self.coats, strict=True) if coats == 0]
        return np.asarray(np.mean(bare, axis=0))

    def swatches(self, shares: Mapping[str, float], base: str = "") -> tuple[Swatch, ...]:
        """Return the dyed patches as swatches of a mix, for a fit or a hand.

        Their error is that of a reading by chart or card, and the scatter inside each patch.
        """
        usual = READING_ERROR[self.method]
        return tuple(
            Swatch(
                shares=shares,
                coats=coats,
                lab=lab,
                error=min(float(np.hypot(usual, scatter)), 20.0),
                base=base,
            )
            for lab, coats, scatter in zip(self.labs, self.coats, self.scatter, strict=True)
            if coats
        )


def read_strip(
    photo: object,
    regions: Sequence[object],
    coats: Sequence[int] = COATS,
    card_region: object = None,
    chart_corners: object = None,
    flat_field: bool = True,
    *,
    card_reflectance: float | None = None,
) -> StripReading:
    """Return the colours of all patches of a strip in one photo.

    Parameters
    ----------
    photo : Picture, ndarray (height, width, 3) of uint8, str, Path, bytes or binary file
        The picture; files as in `tinting.photo.picture.read_picture`.
    regions : sequence of rectangles
        (left, top, right, bottom) of 2 to 24 patches, in pixels of the picture as it is seen.
    coats : sequence of int
        Coats of each patch, 0 for a bare one, of which there is at least one. Left out, bare and
        1, 2, 3, 5 coats.
    card_region, chart_corners, flat_field, card_reflectance
        As for `tinting.photo.reading.measure_swatch`.

    Raises
    ------
    ValueError
        As `tinting.photo.reading.measure_swatch`, naming the patch by its coats. Dyed patches
        that are blown out or too dark are left out with a caution as long as others are left.

    Notes
    -----
    One dye darkens with every coat. Where a patch of more coats reads lighter than one of fewer,
    a caution says which marks look swapped; nothing is put in order by itself.
    """
    picture = as_picture(photo)
    number = _checked_coats(coats)
    check_kind("regions", regions, Sequence, "a sequence of rectangles")
    if isinstance(regions, (str, bytes)) or len(regions) != len(number):
        got = f"{len(regions)} and {len(number)}"
        raise refuse("regions and coats", "as many rectangles as numbers of coats", got)
    marks = dict(zip(_names(number), regions, strict=True))
    clipped = _clipped(picture, marks, number)
    kept = [i for i, name in enumerate(marks) if name not in clipped]
    number, names = tuple(number[i] for i in kept), [[*marks][i] for i in kept]
    first = number.index(0)
    order = [first, *(i for i in range(len(number)) if i != first)]
    marks = {names[i]: marks[names[i]] for i in order}
    frame = frame_of(picture, marks, card_region, chart_corners, flat_field)
    found = measured(frame, card_reflectance)
    patches: list[Patch] = [frame.patches[order.index(i)] for i in range(len(number))]
    labs = found.lab_of(patches)
    labs.flags.writeable = False
    scatter = scatter_inside(found.lab_of, picture, patches)
    told = (*_lost(clipped), *uneven(names, scatter), *swapped(names, number, labs))
    return StripReading(
        coats=number,
        labs=labs,
        scatter=scatter,
        error=found.error,
        method=found.method,
        degree=found.degree,
        residuals=found.residuals,
        light_unevenness=found.light_unevenness,
        flat_field=frame.flat_field,
        cautions=(*found.cautions, *told),
    )


def _checked_coats(coats: object) -> tuple[int, ...]:
    check_kind("coats", coats, Sequence, "a sequence of whole numbers")
    number = tuple(check_whole("coats", each, least=0, most=50) for each in coats)  # type: ignore[attr-defined]
    if not 2 <= len(number) <= MOST_PATCHES:
        raise refuse("coats", f"those of 2 to {MOST_PATCHES} patches", len(number))
    if 0 not in number or not any(number):
        raise refuse("coats", "0 for a bare patch and more for others", list(number))
    return number


def _names(coats: Sequence[int]) -> list[str]:
    """What each patch is called: by its coats, and by its place where several have as many."""
    plain = ["bare patch" if n == 0 else f"patch of {n} coat{'s' * (n > 1)}" for n in coats]
    return [
        name if plain.count(name) == 1 else f"{name} (number {place})"
        for place, name in enumerate(plain, start=1)
    ]


def _clipped(picture: Picture, marks: Mapping[str, object], coats: Sequence[int]) -> dict[str, str]:
    """Dyed patches that cannot be read, and why; ValueError where none is left."""
    dyed = [name for name, n in zip(marks, coats, strict=True) if n]
    found = {name: region_patch(picture, name, marks[name]).clipped for name in dyed}
    clipped = {name: why for name, why in found.items() if why}
    if len(clipped) == len(dyed):
        name, why = next(iter(clipped.items()))
        raise refuse(name, "neither blown out nor too dark", why)
    return clipped


def _lost(clipped: Mapping[str, str]) -> list[Caution]:
    if not clipped:
        return []
    lost = ", ".join(f"{name} ({why})" for name, why in clipped.items())
    text = f"Left out of the strip: {lost}. Light it otherwise, or take fewer coats."
    return [Caution(key="strip-left-out", text=text)]
