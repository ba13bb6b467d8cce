"""Measure a dyed swatch and its base from one photo, with a chart or a card beside them.

Base and swatch are in one frame, so that both carry the same light and the same error. The way
is: even out the light, undo the tone curve, take the camera's colours to XYZ. What the phone did
to the picture beyond that stays in the claimed error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from data.rules import Caution, check_number, refuse
from tinting.chart import (
    CameraFit,
    camera_fit,
    card_lab,
    chart_order,
    grey_curve,
    neutral_targets,
)
from tinting.colorimetry_chart import NEUTRALS, chart_names
from tinting.flatfield import LightSurface, even_curve, picture_blocks
from tinting.inputs import Array
from tinting.marks import Patch, around, chart_patches, check_corners, region_patch
from tinting.picture import as_picture
from tinting.scene import Scene, light_cautions, mark_cautions

CLAIMED_ERROR = {"chart": 3.0, "card": 8.0}
"""Twice what each way leaves on rendered photos. [dE]"""
CARDS = {"grey": 0.18, "white": 0.90}
_BETWEEN_CARDS = 0.40
LEAST_PATCHES, LEAST_NEUTRALS = 18, 4
_ROUNDS = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoReading:
    """Base and swatch as read from a photo.

    ``base_lab`` and ``swatch_lab`` (3,) are CIELAB under D65 for 10 degree; ``error`` [dE] is
    what each may be off by; ``method`` "chart" or "card". ``residuals`` gives CIEDE2000 of every
    chart patch used (empty for a card), ``degree`` that of the root polynomial (0 for a card).
    ``light_unevenness`` is the peak-to-peak of the light over the picture as a share, evened out
    if ``flat_field``.
    """

    base_lab: Array
    swatch_lab: Array
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
        The picture; files as in `tinting.picture.read_picture`.
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
    if card_reflectance is not None:
        check_number("card reflectance", card_reflectance, least=0.02, most=1.0)
    if not isinstance(flat_field, (bool, np.bool_)):
        raise refuse("flat field", "true or false", flat_field)
    base = region_patch(picture, "base region", base_region)
    swatch = region_patch(picture, "swatch region", swatch_region)
    if base.overlaps(swatch):
        raise refuse("swatch region", "apart from the base region", swatch_region)
    marked = [base, swatch]
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
    scene = Scene(
        picture=picture,
        blocks=picture_blocks(picture, [base.box, swatch.box, around(references)]),
        pair=(base, swatch),
        references=tuple(references),
        flat_field=bool(flat_field),
    )
    return _by_chart(scene) if chart_corners is not None else _by_card(scene, card_reflectance)


def _by_chart(scene: Scene) -> PhotoReading:
    clipped = np.array([patch.clipped for patch in scene.references])
    used = clipped == ""
    grey = used[NEUTRALS]
    if used.sum() < LEAST_PATCHES or grey.sum() < LEAST_NEUTRALS:
        rule = f"lit so that {LEAST_PATCHES} patches and {LEAST_NEUTRALS} greys can be read"
        raise refuse("chart", rule, f"{used.sum()} and {grey.sum()} (others: {clipped[~used][0]})")
    neutrals = [patch for patch, fit in zip(scene.references[NEUTRALS], grey, strict=True) if fit]
    seen = np.array([patch.linear(even_curve()) for patch in neutrals])
    surface = scene.surface(even_curve())
    for _ in range(_ROUNDS):  # the light bends the curve and the curve the light: both settle
        curve = grey_curve(seen, neutral_targets()[grey] * scene.light(neutrals, surface))
        surface = scene.surface(curve)
    fit = camera_fit(scene.rgb(scene.references, curve, surface), used)
    names = [name for name, fits in zip(chart_names(), used, strict=True) if fits]
    return _reading(
        scene,
        surface,
        lab=fit.lab(scene.rgb(scene.pair, curve, surface)),
        error=max(CLAIMED_ERROR["chart"], fit.left_out),
        method="chart",
        degree=fit.degree,
        residuals=dict(zip(names, fit.residuals.tolist(), strict=True)),
        cautions=_chart_cautions(scene.references, fit),
    )


def _by_card(scene: Scene, reflectance: float | None) -> PhotoReading:
    curve = even_curve()
    surface = scene.surface(curve)
    card = scene.rgb(scene.references, curve, surface)[0]
    cautions = []
    if reflectance is None:
        kind = "white" if float(card.mean()) > _BETWEEN_CARDS else "grey"
        level = CARDS[kind]
        text = f"The card is taken as {kind}, reflecting {level:.0%}: say so if it is another."
        cautions.append(Caution(key="card-guessed", text=text))
    else:
        level = float(reflectance)
    return _reading(
        scene,
        surface,
        lab=card_lab(scene.rgb(scene.pair, curve, surface) * level / card),
        error=CLAIMED_ERROR["card"],
        method="card",
        degree=0,
        residuals={},
        cautions=cautions,
    )


def _reading(
    scene: Scene,
    surface: LightSurface,
    *,
    lab: Array,
    error: float,
    method: str,
    degree: int,
    residuals: dict[str, float],
    cautions: list[Caution],
) -> PhotoReading:
    lab.flags.writeable = False
    return PhotoReading(
        base_lab=lab[0],
        swatch_lab=lab[1],
        error=error,
        method=method,
        degree=degree,
        residuals=MappingProxyType(residuals),
        light_unevenness=surface.unevenness,
        flat_field=scene.flat_field,
        cautions=(
            *scene.picture.cautions,
            *light_cautions(scene, surface),
            *mark_cautions(scene),
            *cautions,
        ),
    )


def _chart_cautions(references: Sequence[Patch], fit: CameraFit) -> list[Caution]:
    cautions = []
    lost = [f"{patch.name} ({patch.clipped})" for patch in references if patch.clipped]
    if lost:
        text = "Left out of the chart: " + ", ".join(lost) + "."
        cautions.append(Caution(key="patches-left-out", text=text))
    if fit.left_out > CLAIMED_ERROR["chart"]:
        text = (
            f"The chart itself is met only to {fit.left_out:.1f} dE: check the corners, glare on "
            "it, and that no filter or second light of another colour is at work."
        )
        cautions.append(Caution(key="chart-fit", text=text))
    return cautions
