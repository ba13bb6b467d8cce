"""Does a figure stand: is its centre of mass over its feet, and how far may it be tilted?

The legs that it stands on are taken as they were bent; whether they hold the figure is said by
`flexcalc.figure.legs`. The ground is level, at the lowest foot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from data import read_table
from data.rules import Array, Caution, check_kind, refuse
from flexcalc.figure.figure import Figure, FigureLimb, on_figure, twins
from flexcalc.limb.inputs import Along, limb_at
from flexcalc.section.section import limb_mass, limb_section

_TRIED = read_table("constants")["standing"]
STATIONS = 24


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Where a figure's centre of mass is, and whether it lies over its feet.

    ``mass`` [kg] with body and payloads; ``centre`` (forward, up, left) [m]; ``ground`` [m] up;
    ``base`` (n, 2), corners (forward, left) of what the feet span [m], empty without a foot;
    ``margin`` [m] from the centre's foot point to the nearest edge of it, negative outside;
    ``tilt`` [rad] by which the figure may be tilted before it falls, negative where it falls or
    its centre of mass is below its feet.
    ``state`` is "holds", "close" or "fails", "" without a foot; ``sentence`` says it.
    """

    mass: float
    centre: tuple[float, float, float]
    ground: float
    base: Array = field(repr=False)
    margin: float
    tilt: float
    state: str
    sentence: str
    cautions: tuple[Caution, ...]

    def __str__(self) -> str:
        return self.sentence


@dataclass(frozen=True, kw_only=True)
class Foot:
    """A foot on the ground: ``size`` (length, width) and ``tip`` (3,) [m], ``facing`` [rad]."""

    size: tuple[float, float]
    tip: Array
    facing: float


def standing(figure: Figure, lines: Sequence[ArrayLike]) -> Standing:
    """Return whether a figure stands.

    Parameters
    ----------
    figure : Figure
        Its limbs, where they are, and its body.
    lines : sequence of array_like (n, 2) or (n, 3)
        One per limb, its centre line from the clamp on, see `on_figure`. [m]

    Raises
    ------
    ValueError
        For another number of lines, or a figure without any mass.
    """
    check_kind("figure", figure, Figure, "a Figure")
    if not isinstance(lines, (list, tuple)) or len(lines) != len(figure.limbs):
        raise refuse("lines", f"{len(figure.limbs)}, one per limb", lines)
    placed = [
        (limb, on_figure(line, limb.place, twin))
        for limb, line in zip(figure.limbs, lines, strict=True)
        for twin in twins(limb.place)
    ]
    turned = [
        -limb.place.facing if twin else limb.place.facing
        for limb in figure.limbs
        for twin in twins(limb.place)
    ]
    mass, centre = _centre(figure, placed)
    feet = [
        Foot(size=limb.place.foot, tip=points[-1], facing=facing)
        for (limb, points), facing in zip(placed, turned, strict=True)
        if limb.place.stands
    ]
    ground = min((float(foot.tip[1]) for foot in feet), default=0.0)
    base = _span(feet)
    margin = _margin(base, centre)
    height = centre[1] - ground
    tilt = math.atan2(margin if height > 0 else -abs(margin), abs(height)) if feet else 0.0
    state = _state(tilt) if feet else ""
    return Standing(
        mass=mass,
        centre=centre,
        ground=ground,
        base=base,
        margin=margin,
        tilt=tilt,
        state=state,
        sentence=_sentence(state, margin, tilt, height),
        cautions=tuple(_cautions(figure, feet, ground)),
    )


def _centre(
    figure: Figure, placed: Sequence[tuple[FigureLimb, Array]]
) -> tuple[float, tuple[float, float, float]]:
    masses, places = [figure.body.mass], [np.array(figure.body.at)]
    for one, points in placed:
        masses += [limb_mass(one.plan.limb), one.plan.setting.payload]
        places += [_middle(one, points), points[-1]]
    whole = sum(masses)
    if whole <= 0:
        raise refuse("figure", "of a limb or a body with a mass", figure.name)
    middle = np.array(masses) @ np.array(places) / whole
    return whole, (float(middle[0]), float(middle[1]), float(middle[2]))


def _middle(one: FigureLimb, points: Array) -> Array:
    """Return the centre of mass of a limb along its line (n, 3). [m]"""
    limb = one.plan.limb
    lengths = np.hypot(*np.diff(points[:, :2], axis=0).T)
    lengths = np.sqrt(lengths**2 + np.diff(points[:, 2]) ** 2)
    if isinstance(limb.outline, Along) and not limb.outline.even:
        ends = np.cumsum(lengths) / lengths.sum()
        shares = np.linspace(0.0, 1.0, STATIONS)
        heavy = [limb_section(limb_at(limb, share)).mass_per_length for share in shares]
        lengths = lengths * np.interp(ends, shares, heavy)
    middles = (points[1:] + points[:-1]) / 2
    return np.asarray(lengths @ middles / lengths.sum(), float)


def _span(feet: Sequence[Foot]) -> Array:
    """Return the corners (n, 2) of the smallest convex shape that holds all feet. [m]"""
    if not feet:
        return np.zeros((0, 2))
    from shapely import MultiPoint

    corners = []
    for foot in feet:
        ahead, aside = foot.size[0] / 2, foot.size[1] / 2
        sine, cosine = math.sin(foot.facing), math.cos(foot.facing)
        for x, z in ((ahead, aside), (-ahead, aside), (-ahead, -aside), (ahead, -aside)):
            turned = (x * cosine - z * sine, x * sine + z * cosine)
            corners.append((foot.tip[0] + turned[0], foot.tip[2] + turned[1]))
    hull: Any = MultiPoint(corners).convex_hull
    return np.asarray(hull.exterior.coords[:-1], float)


def _margin(base: Array, centre: tuple[float, float, float]) -> float:
    if not len(base):
        return 0.0
    from shapely import Point, Polygon

    area, foot = Polygon(base), Point(centre[0], centre[2])
    away = float(area.exterior.distance(foot))
    return away if area.contains(foot) else -away


def _state(tilt: float) -> str:
    if tilt <= 0:
        return "fails"
    return "holds" if tilt >= _TRIED["least_tilt"].value else "close"


def _sentence(state: str, margin: float, tilt: float, height: float) -> str:
    if not state:
        return "No limb has a foot at its tip, so nothing is said of standing."
    if height <= 0:
        return (
            f"It does not stand: its centre of mass is {-height * 1e3:.0f} mm below its feet. The "
            "limbs that it stands on are to point down."
        )
    over = f"its centre of mass is {height * 1e3:.0f} mm up and {abs(margin) * 1e3:.0f} mm"
    if state == "fails":
        return f"It falls over: {over} outside of what its feet span."
    word = "It stands" if state == "holds" else "It barely stands"
    return (
        f"{word}: {over} inside the edge of what its feet span; it falls when tilted by "
        f"{math.degrees(tilt):.0f}°."
    )


def _cautions(figure: Figure, feet: Sequence[Foot], ground: float) -> list[Caution]:
    found = []
    if feet and figure.body.mass == 0:
        text = "The body has no mass yet: weigh it, or standing is reckoned of the limbs alone."
        found.append(Caution(key="no body", text=text))
    uneven = max((float(foot.tip[1]) - ground for foot in feet), default=0.0)
    if uneven > _TRIED["least_step"].value:
        text = f"The feet are not level: one ends {uneven * 1e3:.0f} mm above the lowest."
        found.append(Caution(key="feet not level", text=text))
    return found
