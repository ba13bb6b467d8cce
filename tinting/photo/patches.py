"""What is told of the patches that a maker marks: uneven inside, or marks that look swapped."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from data.rules import Caution
from tinting.colour.colorimetry import xyz_from_lab
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array
from tinting.photo.picture import Picture
from tinting.photo.regions import Patch

UNEVEN_PATCH = 2.0
"""Scatter inside a patch from which on it is told of. [dE]"""
_LIGHTER = 3.0
"""A patch of more coats that is so much lighter has its marks swapped. [dE]"""
_SIDE = 4


def scatter_inside(
    lab_of: Callable[[Sequence[Patch]], Array], picture: Picture, patches: Sequence[Patch]
) -> tuple[float, ...]:
    """Return the root-mean-square CIEDE2000 of sixteen places inside each patch from its mean."""
    parts = [lab_of(patch.parts(picture, _SIDE)) for patch in patches]
    return tuple(
        float(np.sqrt((delta_e(inside, inside.mean(axis=0)) ** 2).mean())) for inside in parts
    )


def uneven(names: Sequence[str], scatter: Sequence[float]) -> list[Caution]:
    """Name the patches that scatter inside."""
    told = [
        f"{name} ({size:.1f} ΔE00)"
        for name, size in zip(names, scatter, strict=True)
        if size > UNEVEN_PATCH
    ]
    if not told:
        return []
    text = f"Uneven inside: {', '.join(told)}. Brush it again, or mark an even place."
    return [Caution(key="uneven-patch", text=text)]


def swapped(names: Sequence[str], coats: Sequence[int], labs: Array) -> list[Caution]:
    """Name patches of more coats that read lighter than those of fewer."""
    # lightness in X, Y and Z each: of a yellow dye only the last one tells
    light = 116 * np.cbrt(np.maximum(xyz_from_lab(labs), 0.0) / xyz_from_lab((100.0, 0.0, 0.0)))
    told = light[:, int(np.ptp(light, axis=0).argmax())]
    wrong = [
        (told[j] - told[i], i, j)
        for i in range(len(coats))
        for j in range(len(coats))
        if coats[i] < coats[j] and told[j] > told[i] + _LIGHTER
    ]
    if not wrong:
        return []
    by, fewer, more = max(wrong)
    order = [names[i] for i in np.argsort(-told)]
    text = (
        f"The {names[more]} reads {by:.1f} ΔE00 lighter than the {names[fewer]}, though dye only "
        f"darkens: are marks swapped? From light to dark they are {', '.join(order)}."
    )
    return [Caution(key="swapped", text=text)]
