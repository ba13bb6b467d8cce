"""The photo with its marks, and what is to be said of it before any colour is believed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from data.rules import Caution, refuse
from tinting.flatfield import Blocks, LightSurface, light_surface
from tinting.inputs import Array
from tinting.marks import Patch
from tinting.picture import Picture

UNEVEN, TOO_UNEVEN, TOO_UNEVEN_TO_MEND = 0.05, 0.20, 1.0
"""Peak-to-peak of the light: from where it is said, refused as it is, and refused altogether."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """A picture with its marks.

    ``blocks`` show the ground around the marks, ``pair`` is base and swatch, ``references`` the
    24 patches of a chart or one card. ``flat_field`` tells whether the light is evened out.
    """

    picture: Picture
    blocks: Blocks
    pair: tuple[Patch, ...]
    references: tuple[Patch, ...] = field(repr=False)
    flat_field: bool

    def surface(self, curve: Array) -> LightSurface:
        """Return the light over the picture, judged through a tone curve (256, 3)."""
        # the swatch may be streaky by itself, the others are of one colour
        boxes = [patch.box for patch in (self.pair[0], *self.references)]
        return light_surface(self.picture, self.blocks, boxes, curve)

    def light(self, patches: Sequence[Patch], surface: LightSurface) -> Array:
        """Return the relative light (n, 1) to divide by: 1 if it is not to be evened out."""
        if not self.flat_field:
            return np.ones((len(patches), 1))
        return np.array([[patch.light(surface)] for patch in patches])

    def rgb(self, patches: Sequence[Patch], curve: Array, surface: LightSurface) -> Array:
        """Return the linear values (n, 3) of patches under even light."""
        linear = np.array([patch.linear(curve) for patch in patches])
        return linear / self.light(patches, surface)


def light_cautions(scene: Scene, surface: LightSurface) -> list[Caution]:
    """Return what is to be said of the light; ValueError where it cannot be trusted."""
    uneven = surface.unevenness
    most = TOO_UNEVEN_TO_MEND if scene.flat_field else TOO_UNEVEN
    if uneven > most:
        rule = f"at most {most:.0%} uneven over the picture"
        cure = "" if scene.flat_field else " (or let it be evened out)"
        raise refuse("light", rule + cure, f"{uneven:.0%}")
    cautions = []
    if uneven > UNEVEN:
        how = "was evened out" if scene.flat_field else "was left as it is"
        text = f"The light differs by {uneven:.0%} over the picture and {how}: softer is better."
        cautions.append(Caution(key="light-uneven", text=text))
    if not surface.ground:
        text = (
            "No even ground shows around the patches, so the light is judged from inside them: "
            "lay everything on one sheet of grey or white paper."
        )
        cautions.append(Caution(key="no-ground", text=text))
    return cautions


def mark_cautions(scene: Scene) -> list[Caution]:
    """Return a caution for every marked rectangle that holds more than one colour."""
    single = scene.references if len(scene.references) == 1 else ()
    return [
        Caution(
            key="mixed-region",
            text=f"The {patch.name} holds more than one colour: mark it further inside.",
        )
        for patch in (*scene.pair, *single)
        if patch.mixed
    ]
