"""Torsional rigidity of a limb's cross-section.

Saint-Venant's torsion of what is printed: closed forms for a circle and an ellipse, his rule of
thumb A^4 / (4 pi^2 I_p) for other full sections, Bredt's tube for a wall round a softer core.

Source: any strength-of-materials text (from memory); against each other and a square in the tests.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from data.rules import check_kind
from flexcalc.limb.inputs import Limb
from flexcalc.limb.outline import Ellipse, Outline, Round
from flexcalc.limb.shape import core_polygon, half_thickness, outline_polygon
from flexcalc.section.moments import BENDING_EXPONENT, polygon_moments


@lru_cache(maxsize=512)
def torsional_rigidity(limb: Limb) -> float:
    """Return GJ of what is printed, without the wire, at the elastomer's modulus at small strain.

    Parameters
    ----------
    limb : Limb
        A limb that changes along its length is taken half way.

    Returns
    -------
    float
        Shear modulus E / (2 (1 + nu)) times the torsion constant. [N m2]

    Notes
    -----
    The core inside a wall has its modulus E infill^2; sleeve and channel turn about their own
    axis. A slit or an open section is not among the outlines.
    """
    check_kind("limb", limb, Limb, "a Limb")
    outline, elastomer = limb.middle_outline, limb.elastomer
    shear = elastomer.elastic_modulus / (2 * (1 + elastomer.poisson_ratio))
    channel, sleeve = limb.channel_diameter / 2, limb.channel_diameter / 2 + limb.sleeve
    hole, ring = math.pi / 2 * channel**4, math.pi / 2 * (sleeve**4 - channel**4)
    full = _full(outline, 0.0)
    if limb.wall is None or limb.wall >= half_thickness(outline):
        return float(shear * max(full - hole, 0.1 * full))
    core = _full(outline, limb.wall)
    share = limb.infill**BENDING_EXPONENT
    inner = share * max(core - hole, 0.0) + (1 - share) * min(ring, core)
    return float(shear * (_wall(outline, limb.wall, full - core) + inner))


def _full(outline: Outline, inset: float) -> float:
    """Return the torsion constant of what lies an ``inset`` inside an outline. [m4]"""
    if isinstance(outline, Round):
        return float(math.pi / 2 * (outline.diameter / 2 - inset) ** 4)
    if isinstance(outline, Ellipse):
        a, b = outline.width / 2 - inset, outline.height / 2 - inset
        return float(math.pi * a**3 * b**3 / (a**2 + b**2))
    area: Any = outline_polygon(outline) if inset == 0 else core_polygon(outline, inset)
    if area.is_empty:
        return 0.0
    whole, x, y, xx, yy, _ = (float(value) for value in polygon_moments(area, _middle(area)))
    polar = xx + yy - (x**2 + y**2) / whole
    return float(whole**4 / (4 * math.pi**2 * polar))


def _middle(area: Any) -> tuple[float, float]:
    return float(area.centroid.x), float(area.centroid.y)


def _wall(outline: Outline, wall: float, between: float) -> float:
    """Return the torsion constant of a closed wall: exact for a round tube, else Bredt's. [m4]"""
    if isinstance(outline, Round):
        return between
    middle: Any = core_polygon(outline, wall / 2)
    if middle.is_empty or middle.length == 0:
        return between
    return float(4 * middle.area**2 * wall / middle.length)
