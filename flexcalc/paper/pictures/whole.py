"""The whole figure to scale, from its side and from the front, with its centre of mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.rules import check_kind
from flexcalc.figure.figure import Figure, FigureLimb, on_figure, twins
from flexcalc.figure.legs import Legs, legs
from flexcalc.figure.standing import Standing, standing
from flexcalc.paper.answers import verdict_on
from flexcalc.paper.pictures.svg import (
    LETTER_SHARE,
    NARROWEST,
    fitting_scale,
    line,
    page,
    path,
    scale_bar,
    words,
)
from flexcalc.section.section import limb_section

Points = NDArray[np.float64]
PAPER = 55.0
"""Longest side of one view on the sheet. [mm]"""
VIEWS = (("from its left side", (0, 1)), ("from the front", (2, 1)))


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One limb as it is drawn: its number, its points (n, 3) and its thickness, in m."""

    number: int
    points: Points
    thickness: float


def limb_line(one: FigureLimb) -> ArrayLike:
    """Return the line of a limb on its figure, (n, 3) ahead, up and to the left: at rest, or where
    it stands as bent, or as it is left where it was bent further. [m]

    One that hangs slack hangs straight down.
    """
    check_kind("figure limb", one, FigureLimb, "a FigureLimb")
    pose = verdict_on(one.plan).pose
    if pose is None:
        return np.array([[0.0, 0.0, 0.0], [0.0, -one.plan.limb.length, 0.0]])
    further = any(bend.over_bend > 1 for bend in one.plan.setting.bends)
    left = pose.shape_released if further else pose.shape_set
    shape = left if one.place.stands else pose.shape_at_rest
    return shape.points[:, [0, 2, 1]]


def legs_of(figure: Figure) -> Legs:
    """Return whether the legs of a figure hold it, see `flexcalc.figure.legs.legs`; kept for the
    next time."""
    check_kind("figure", figure, Figure, "a Figure")
    return _legs(replace(figure, name="figure"))


@lru_cache(maxsize=50)
def _legs(figure: Figure) -> Legs:
    lines = [limb_line(one) for one in figure.limbs]
    return legs(figure, lines, standing(figure, lines))


def figure_view(
    figure: Figure, lines: Sequence[ArrayLike], stands: Standing, *, space: float = PAPER
) -> str:
    """Return a figure as SVG, to scale, from its side and from the front.

    ``lines`` as `flexcalc.figure.standing` takes them, ``stands`` what it returned; ``space`` [mm]
    is the longest side of a view.
    """
    check_kind("figure", figure, Figure, "a Figure")
    check_kind("standing", stands, Standing, "a Standing")
    drawn = [
        Drawn(
            number=number,
            points=on_figure(each, one.place, twin),
            thickness=2 * limb_section(one.plan.limb).extreme_fibre,
        )
        for number, (one, each) in enumerate(zip(figure.limbs, lines, strict=True), 1)
        for twin in twins(one.place)
    ]
    corners = np.vstack([*(each.points for each in drawn), stands.centre, figure.body.at])
    thick = max(each.thickness for each in drawn)
    extent = float(np.ptp(corners, axis=0).max()) + thick
    scale = min(fitting_scale(extent, space), 1.0)
    letter = LETTER_SHARE * NARROWEST
    left, height, parts = 1.5 * letter, 0.0, []
    for title, axes in VIEWS:
        view = _view(title, axes, drawn, stands, scale, letter, left)
        parts.append(view[0])
        left, height = view[1] + 2 * letter, max(height, view[2])
    text = "○ centre of mass and its plumb line"
    parts.append(scale_bar(1.5 * letter, height + letter, NARROWEST / 2, scale, letter))
    parts.append(words(1.5 * letter, height + 4.5 * letter, text, letter))
    names = ", ".join(f"{n} {one.plan.name}" for n, one in enumerate(figure.limbs, 1))
    return page(
        max(left, NARROWEST),
        height + 5.5 * letter,
        f"{figure.name}, the whole figure",
        f"From the side and from the front: {names}. {stands.sentence}"[:2000],
        "".join(parts),
    )


def _view(
    title: str,
    axes: tuple[int, int],
    drawn: Sequence[Drawn],
    stands: Standing,
    scale: float,
    letter: float,
    left: float,
) -> tuple[str, float, float]:
    """Return one view, and how far it reaches to the right and down. [mm]"""
    flat = [each.points[:, axes] for each in drawn]
    base = stands.base[:, [0 if axes[0] == 0 else 1]].ravel()
    ends = np.column_stack([base, np.full(len(base), stands.ground)])
    thick = max(each.thickness for each in drawn) / 2
    seen = np.vstack([*flat, ends, np.array(stands.centre)[list(axes)]])
    low, high = seen.min(axis=0) - thick, seen.max(axis=0) + thick
    unit = 1e3 * scale
    top = 2.5 * letter

    def place(points: ArrayLike) -> Points:
        return np.asarray(
            (np.asarray(points, float) - (low[0], high[1])) * (unit, -unit) + (left, top), float
        )

    parts = [words(left, 1.8 * letter, title, letter)]
    for each, points in zip(drawn, flat, strict=True):
        parts.append(
            f'<path class="limb" d="{path(place(points))}" fill="none" stroke="currentColor" '
            f'stroke-width="{each.thickness * unit:.2f}" stroke-opacity="0.3" '
            f'stroke-linejoin="round"/>'
        )
        tip = place(points[-1:])[0]
        parts.append(words(tip[0], tip[1] + letter / 3, str(each.number), letter, "middle"))
    if len(base):
        ground = place([(base.min(), stands.ground), (base.max(), stands.ground)])
        parts.append(line(ground[0], ground[1], 0.9))
    centre = np.array(stands.centre)[list(axes)]
    middle, foot = place(np.array([centre, [centre[0], stands.ground]]))
    parts.append(
        f'<g class="centre-of-mass"><circle cx="{middle[0]:.2f}" cy="{middle[1]:.2f}" '
        f'r="{letter / 2:.2f}" fill="none" stroke="currentColor" stroke-width="0.5"/>'
    )
    if len(base):
        parts.append(
            f'<path d="{path(np.array([middle, foot]))}" fill="none" stroke="currentColor" '
            f'stroke-width="0.4" stroke-dasharray="1.5 1"/>'
        )
    parts.append("</g>")
    right, down = place([(high[0], low[1])])[0]
    return "".join(parts), max(float(right), left + 10.5 * letter), float(down) + letter
