"""Measure dyed patches and their base in one photo, with a chart or a card beside them.

Base and swatch are in one frame, so that both carry the same light and the same error. The way
is: even out the light, undo the tone curve, take the camera's colours to XYZ. What the phone did
to the picture beyond that stays in the claimed error.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from data.rules import Caution, check_number, refuse
from tinting.colour.chart24 import NEUTRALS, chart_names
from tinting.colour.grid import Array
from tinting.photo.camera import (
    CameraFit,
    camera_fit,
    card_lab,
    chart_order,
    grey_curve,
    neutral_targets,
)
from tinting.photo.flatfield import Blocks, LightSurface, even_curve, light_surface, picture_blocks
from tinting.photo.patches import scatter_inside, swapped, uneven
from tinting.photo.picture import Picture, as_picture
from tinting.photo.regions import Patch, around, chart_patches, check_corners, region_patch

CLAIMED_ERROR = {"chart": 3.0, "card": 8.0}
"""Twice what each way leaves on rendered photos. [dE]"""
CARDS = {"grey": 0.18, "white": 0.90}
READING_ERROR = {"chart": 2.0, "card": 5.0}
"""What a colour read so is usually off by, for the weight it has in a fit. [dE]"""
_BETWEEN_CARDS = 0.40
LEAST_PATCHES, LEAST_NEUTRALS = 18, 4
_ROUNDS = 3
UNEVEN, TOO_UNEVEN, TOO_UNEVEN_TO_MEND = 0.05, 0.20, 1.0
"""Peak-to-peak of the light: from where it is said, refused as it is, and refused altogether."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoReading:
    """Base and swatch as read from a photo.

    ``base_lab`` and ``swatch_lab`` (3,) are CIELAB under D65 for 10 degree; ``error`` [dE] is
    what each may be off by; ``method`` "chart" or "card". ``residuals`` gives CIEDE2000 of every
    chart patch used (empty for a card), ``degree`` that of the root polynomial (0 for a card).
    ``light_unevenness`` is the peak-to-peak of the light over the picture as a share, evened out
    if ``flat_field``. ``scatter`` [dE] is the root-mean-square CIEDE2000 of sixteen places inside
    each patch, base first, from its mean.
    """

    base_lab: Array
    swatch_lab: Array
    scatter: tuple[float, ...]
    error: float
    method: str
    degree: int
    residuals: Mapping[str, float] = field(repr=False)
    light_unevenness: float
    flat_field: bool
    cautions: tuple[Caution, ...]

    @property
    def lab(self) -> Array:
        """The swatch's CIELAB (3,) under D65 for 10 degree."""
        return self.swatch_lab


@dataclass(frozen=True, kw_only=True, eq=False)
class Frame:
    """A picture with the places that are read.

    ``blocks`` show the ground around them, ``patches`` are the bare one and those that are dyed,
    ``references`` the 24 patches of a chart or one card. ``flat_field`` tells whether the light is
    evened out.
    """

    picture: Picture
    blocks: Blocks
    patches: tuple[Patch, ...]
    references: tuple[Patch, ...] = field(repr=False)
    flat_field: bool

    def surface(self, curve: Array) -> LightSurface:
        """Return the light over the picture, judged through a tone curve (256, 3)."""
        # a dyed patch may be streaky by itself, the others are of one colour
        boxes = [patch.box for patch in (self.patches[0], *self.references)]
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


@dataclass(frozen=True, kw_only=True, eq=False)
class Measured:
    """How a frame is read: ``lab_of`` gives CIELAB (n, 3) of patches; else as `PhotoReading`."""

    lab_of: Callable[[Sequence[Patch]], Array] = field(repr=False)
    error: float
    method: str
    degree: int
    residuals: Mapping[str, float] = field(repr=False)
    light_unevenness: float
    cautions: tuple[Caution, ...]


def measure_swatch(
    photo: object,
    base_region: object,
    swatch_region: object,
    card_region: object = None,
    chart_corners: object = None,
    flat_field: bool = True,
    *,
    card_reflectance: float | None = None,
) -> PhotoReading:
    """Return the colours of base and swatch in a photo, with a claimed error.

    Parameters
    ----------
    photo : Picture, ndarray (height, width, 3) of uint8, str, Path, bytes or binary file
        The picture; files as in `tinting.photo.picture.read_picture`.
    base_region, swatch_region : sequence of 4
        Rectangles (left, top, right, bottom) on the bare and on the dyed part, in pixels of the
        picture as it is seen (after the turn that the camera wrote down).
    card_region : sequence of 4, optional
        Rectangle on a white or grey card. Needed without a chart; not used with one.
    chart_corners : sequence of 4 pairs, optional
        (x, y) of the outer corners of a 24-patch chart, going round from any of them.
    flat_field : bool
        Even out the light by the ground that shows around the patches.
    card_reflectance : float, optional
        Of the card, 0.02 to 1. Left out, a bright card is taken as white (0.90), a darker one
        as grey (0.18), and a caution says so.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*: a bad file or region, a patch blown out or
        black (more than 1 % of its pixels at 252 and above or 3 and below), corners that hold no
        chart, light more than 20 % uneven without ``flat_field``.

    Notes
    -----
    Source: G. D. Finlayson, M. Mackiewicz and A. Hurlbert (2015) for the root polynomial, degree
    1 unless degree 2 predicts left-out patches better. With a card alone the picture's own sRGB
    is taken at its word and only the white is set, which is why it claims so much more error.
    """
    picture = as_picture(photo)
    regions = {"base region": base_region, "swatch region": swatch_region}
    frame = frame_of(picture, regions, card_region, chart_corners, flat_field)
    found = measured(frame, card_reflectance)
    lab = found.lab_of(frame.patches)
    lab.flags.writeable = False
    scatter = scatter_inside(found.lab_of, picture, frame.patches)
    names = ("bare part", "dyed part")
    told = (*uneven(names, scatter), *swapped(names, (0, 1), lab))
    return PhotoReading(
        base_lab=lab[0],
        swatch_lab=lab[1],
        scatter=scatter,
        error=found.error,
        method=found.method,
        degree=found.degree,
        residuals=found.residuals,
        light_unevenness=found.light_unevenness,
        flat_field=frame.flat_field,
        cautions=(*found.cautions, *told),
    )


def frame_of(
    picture: Picture,
    regions: Mapping[str, object],
    card_region: object,
    chart_corners: object,
    flat_field: object,
) -> Frame:
    """Return a picture with its marks, checked; the bare patch is the first of ``regions``.

    Arguments and errors as for `measure_swatch`.
    """
    if not isinstance(flat_field, (bool, np.bool_)):
        raise refuse("flat field", "true or false", flat_field)
    patches: list[Patch] = []
    for name, region in regions.items():
        patch = region_patch(picture, name, region)
        for other in patches:
            if patch.overlaps(other):
                raise refuse(name, f"apart from the {other.name}", region)
        patches.append(patch)
    marked = [*patches]
    if chart_corners is not None:
        order = chart_order(picture, check_corners(picture, chart_corners))
        references = chart_patches(picture, order)
    elif card_region is not None:
        references = [region_patch(picture, "card region", card_region)]
        marked += references
    else:
        raise refuse("card region or chart corners", "given", "neither of them")
    for patch in marked:
        if patch.clipped:
            raise refuse(patch.name, "neither blown out nor too dark", patch.clipped)
    boxes = [patch.box for patch in patches]
    return Frame(
        picture=picture,
        blocks=picture_blocks(picture, [*boxes, around(references)]),
        patches=tuple(patches),
        references=tuple(references),
        flat_field=bool(flat_field),
    )


def measured(frame: Frame, card_reflectance: object = None) -> Measured:
    """Return how a frame is read, by its chart or its card."""
    if card_reflectance is not None:
        card_reflectance = check_number("card reflectance", card_reflectance, least=0.02, most=1.0)
    if len(frame.references) > 1:
        return _by_chart(frame)
    return _by_card(frame, card_reflectance)


def _by_chart(frame: Frame) -> Measured:
    clipped = np.array([patch.clipped for patch in frame.references])
    used = clipped == ""
    grey = used[NEUTRALS]
    if used.sum() < LEAST_PATCHES or grey.sum() < LEAST_NEUTRALS:
        rule = f"lit so that {LEAST_PATCHES} patches and {LEAST_NEUTRALS} greys can be read"
        raise refuse("chart", rule, f"{used.sum()} and {grey.sum()} (others: {clipped[~used][0]})")
    neutrals = [patch for patch, fit in zip(frame.references[NEUTRALS], grey, strict=True) if fit]
    seen = np.array([patch.linear(even_curve()) for patch in neutrals])
    surface = frame.surface(even_curve())
    for _ in range(_ROUNDS):  # the light bends the curve and the curve the light: both settle
        curve = grey_curve(seen, neutral_targets()[grey] * frame.light(neutrals, surface))
        surface = frame.surface(curve)
    fit = camera_fit(frame.rgb(frame.references, curve, surface), used)
    names = [name for name, fits in zip(chart_names(), used, strict=True) if fits]
    return Measured(
        lab_of=lambda patches: fit.lab(frame.rgb(patches, curve, surface)),
        error=max(CLAIMED_ERROR["chart"], fit.left_out),
        method="chart",
        degree=fit.degree,
        residuals=MappingProxyType(dict(zip(names, fit.residuals.tolist(), strict=True))),
        light_unevenness=surface.unevenness,
        cautions=_all_cautions(frame, surface, _chart_cautions(frame.references, fit)),
    )


def _by_card(frame: Frame, reflectance: float | None) -> Measured:
    curve = even_curve()
    surface = frame.surface(curve)
    card = frame.rgb(frame.references, curve, surface)[0]
    cautions = []
    if reflectance is None:
        kind = "white" if float(card.mean()) > _BETWEEN_CARDS else "grey"
        level = CARDS[kind]
        text = f"The card is taken as {kind}, reflecting {level:.0%}: say so if it is another."
        cautions.append(Caution(key="card-guessed", text=text))
    else:
        level = float(reflectance)
    return Measured(
        lab_of=lambda patches: card_lab(frame.rgb(patches, curve, surface) * level / card),
        error=CLAIMED_ERROR["card"],
        method="card",
        degree=0,
        residuals=MappingProxyType({}),
        light_unevenness=surface.unevenness,
        cautions=_all_cautions(frame, surface, cautions),
    )


def _all_cautions(
    frame: Frame, surface: LightSurface, cautions: list[Caution]
) -> tuple[Caution, ...]:
    return (
        *frame.picture.cautions,
        *_light_cautions(frame, surface),
        *_region_cautions(frame),
        *cautions,
    )


def _chart_cautions(references: Sequence[Patch], fit: CameraFit) -> list[Caution]:
    cautions = []
    lost = [f"{patch.name} ({patch.clipped})" for patch in references if patch.clipped]
    if lost:
        text = "Left out of the chart: " + ", ".join(lost) + "."
        cautions.append(Caution(key="patches-left-out", text=text))
    if fit.left_out > CLAIMED_ERROR["chart"]:
        text = (
            f"The chart itself is met only to {fit.left_out:.1f} ΔE00: check the corners, glare on "
            "it, and that no filter or second light of another colour is at work."
        )
        cautions.append(Caution(key="chart-fit", text=text))
    return cautions


def _light_cautions(frame: Frame, surface: LightSurface) -> list[Caution]:
    """Return what is to be said of the light; ValueError where it cannot be trusted."""
    uneven = surface.unevenness
    most = TOO_UNEVEN_TO_MEND if frame.flat_field else TOO_UNEVEN
    if uneven > most:
        rule = f"at most {most:.0%} uneven over the picture"
        cure = "" if frame.flat_field else " (or let it be evened out)"
        raise refuse("light", rule + cure, f"{uneven:.0%}")
    cautions = []
    if uneven > UNEVEN:
        how = "was evened out" if frame.flat_field else "was left as it is"
        text = f"The light differs by {uneven:.0%} over the picture and {how}: softer is better."
        cautions.append(Caution(key="light-uneven", text=text))
    if not surface.ground:
        text = (
            "No even ground shows around the patches, so the light is judged from inside them: "
            "lay everything on one sheet of grey or white paper."
        )
        cautions.append(Caution(key="no-ground", text=text))
    return cautions


def _region_cautions(frame: Frame) -> list[Caution]:
    """Return a caution for every marked rectangle that holds more than one colour."""
    single = frame.references if len(frame.references) == 1 else ()
    return [
        Caution(
            key="mixed-region",
            text=f"The {patch.name} holds more than one colour: mark it further inside.",
        )
        for patch in (*frame.patches, *single)
        if patch.mixed
    ]
