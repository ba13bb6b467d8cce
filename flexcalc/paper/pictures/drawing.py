"""The limb to scale, as set by hand, after letting go, at rest: from the side, and from above where
it leaves its plane."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.rules import check_kind, check_number, check_numbers, refuse
from flexcalc.joints.limbs import natural_of
from flexcalc.limb.inputs import Along, Limb, Setting, limb_at
from flexcalc.limb.shape import outline_ring
from flexcalc.paper.pictures.sketch import (
    LEGEND_ROW,
    Sheet,
    clamp_mark,
    inserted_mark,
    legend_mark,
    number_mark,
    outcome_mark,
    payload_mark,
    shape_mark,
)
from flexcalc.paper.pictures.svg import (
    LETTER_SHARE,
    NARROWEST,
    checked_text,
    fitting_scale,
    page,
    words,
)
from flexcalc.pose.pose import inserted_shape
from flexcalc.section.section import limb_section

Points = NDArray[np.float64]
LABELS = ("as set", "let go", "at rest")
SIDE, ABOVE = (0, 2), (0, 1)
VIEWS = ("from the side", "from above")
GAP = 3.0
"""Between two views, in thicknesses of the limb."""
SHORTEST = 0.2
"""How long a limb is drawn that is seen end on, in its thicknesses."""
PAPER = 165.0
"""Longest side of the shapes on paper, for A4 and letter. [mm]"""
SMALL = 0.025
"""Shapes shorter than this are drawn larger than they are. [m]"""
MOST_STATIONS = 120
FAN_STATIONS = 40
MOST_FAN = 300
INSERTED = "with its straight wire, unbent"
SECTIONS = 21
"""Places along a limb at which its thickness is drawn."""
FARTHEST_NUMBER = 12
"""Steps that the number of a shape may move from its tip to find a free place."""


def limb_drawing(
    as_set: ArrayLike,
    let_go: ArrayLike,
    at_rest: ArrayLike,
    thickness: ArrayLike,
    *,
    labels: Sequence[str] = LABELS,
    fan: Iterable[ArrayLike] = (),
    from_above: bool = False,
    inserted: ArrayLike | None = None,
    fan_label: str = "other likely outcomes",
    payload: float = 0.0,
    name: str = "Limb",
    summary: str = "",
    space: float = PAPER,
) -> str:
    """Return a limb as inline SVG, to scale.

    Parameters
    ----------
    as_set, let_go, at_rest : array_like (n, 2) or (n, 3)
        Centre lines from the clamp to the tip, x to the right and y up; or x forward, y to the
        left and z up. [m]
    thickness : float or array_like (k,)
        Height of the limb in the bending plane, or heights evenly along it. [m]
    labels : sequence of 3 str
        What the three shapes are called.
    fan : iterable of array_like (n, 2) or (n, 3)
        Other outcomes, at most 300, drawn thin and translucent. [m]
    from_above : bool
        Draws lines in space from above too, below the side view and to the same scale.
    inserted : array_like (n, 2) or (n, 3), optional
        Centre line of a limb printed curved with a straight wire pushed in. [m]
    fan_label : str
        What the fan is called.
    payload : float
        Mass that hangs at the tip, marked where the limb rests. [kg]
    name, summary : str
        Title and description, for a screen reader.
    space : float
        Longest side of the shapes on paper, 20 to 165. [mm]

    Returns
    -------
    str
        An svg element with its size in mm; its scale is written on it.

    Raises
    ------
    ValueError
        For anything but finite lines of 2 to 5000 points, or texts that are too long.
    """
    texts = _checked_labels(labels)
    given = list(zip(LABELS, (as_set, let_go, at_rest), strict=True))
    thick = check_numbers(
        "limb thickness", thickness, least=1e-5, most=1.0, unit="m", longest=MOST_STATIONS
    )
    if thick.ndim > 1 or thick.size == 0:
        raise refuse("limb thickness", "one number or a row of them", f"shape {thick.shape}")
    unbent = [] if inserted is None else [inserted]
    load = check_number("payload", payload, least=0.0, most=100.0, unit="kg")
    title, about = checked_text("name", name), checked_text("summary", summary, 2000)
    check_kind("from above", from_above, bool, "True or False")
    paper = check_number("space on paper", space, least=20.0, most=PAPER, unit="mm")
    others = _listed_fan(fan)
    views = [_View.of(given, others, unbent, SIDE, thick)]
    if from_above:
        above = _View.of(given, others, unbent, ABOVE, thick)
        views.append(above.below(views[0], GAP * float(thick.max())))
    fan_text = checked_text("fan label", fan_label, 36) if others else ""
    sheet, tags = _laid_out(views, load, paper)
    drawn = [_drawn_view(view, sheet, tags[3 * k : 3 * k + 3]) for k, view in enumerate(views)]
    parts = [
        *drawn,
        *(
            _named(view, sheet, word)
            for view, word in zip(views, VIEWS, strict=False)
            if from_above
        ),
        payload_mark(sheet.place(views[0].lines[2][-1]), sheet.letter) if load else "",
        legend_mark(
            texts,
            fan_text,
            INSERTED if unbent else "",
            f"{load * 1e3:.3g} g at the tip" if load else "",
            sheet,
        ),
    ]
    seen = "from the side and from above" if from_above else "side view"
    described = about or f"{title}: {seen}, {', '.join(texts)}."
    return page(sheet.width, sheet.height, title, described, "".join(parts))


@dataclass(frozen=True, kw_only=True)
class _View:
    """The limb from one side: three ``lines``, their ``bodies``, other ``outcomes``, and the
    ``unbent`` limb where it is to be drawn. [m]"""

    lines: list[Points]
    bodies: list[Points]
    outcomes: list[Points]
    unbent: list[Points]

    @staticmethod
    def of(
        given: Sequence[tuple[str, ArrayLike]],
        others: Sequence[ArrayLike],
        unbent: Sequence[ArrayLike],
        axes: tuple[int, int],
        thickness: Points,
    ) -> _View:
        least = SHORTEST * float(thickness.max()) if axes == ABOVE else 0.0
        lines = [
            _checked_line(f"positions {label}", line, MOST_STATIONS, axes, least)
            for label, line in given
        ]
        return _View(
            lines=lines,
            bodies=[limb_outline(each, thickness) for each in lines],
            outcomes=[
                _checked_line("fan positions", line, FAN_STATIONS, axes, least) for line in others
            ],
            unbent=[
                _checked_line("inserted positions", line, MOST_STATIONS, axes, least)
                for line in unbent
            ],
        )

    @property
    def all(self) -> Points:
        return np.vstack([*self.bodies, *self.outcomes, *self.unbent])

    def below(self, other: _View, gap: float) -> _View:
        """Return the view moved below another one."""
        down = np.array([0.0, float(other.all[:, 1].min() - self.all[:, 1].max()) - gap])
        moved = ([part + down for part in parts] for parts in vars(self).values())
        return _View(**dict(zip(vars(self), moved, strict=True)))


def _drawn_view(view: _View, sheet: Sheet, tags: Sequence[Points]) -> str:
    root = sheet.place(view.bodies[2])
    return "".join(
        [
            *(outcome_mark(sheet.place(each)) for each in view.outcomes),
            *(inserted_mark(sheet.place(each)) for each in view.unbent),
            *(shape_mark(sheet.place(body), i) for i, body in enumerate(view.bodies)),
            clamp_mark(root[0], root[-1], root[1] + root[-2] - root[0] - root[-1], sheet.letter),
            *(number_mark(sheet.place(tag), i, sheet.letter) for i, tag in enumerate(tags)),
        ]
    )


def _named(view: _View, sheet: Sheet, word: str) -> str:
    """Return the name of a view, above it and to the left."""
    low, high = view.all.min(axis=0), view.all.max(axis=0)
    x, y = sheet.place(np.array([low[0], high[1]]))
    return words(
        max(float(x), 0.5 * sheet.letter), float(y) - 0.6 * sheet.letter, word, sheet.letter
    )


def thickness_along(limb: Limb, axes: tuple[int, int] = SIDE) -> Points:
    """Return how thick a limb is in the plane it bends in, or how wide seen from above: once, or
    evenly along it. [m]"""
    across = 1 if axes == SIDE else 0
    middle = 2 * limb_section(limb).extreme_fibre if axes == SIDE else _extent(limb, 0.5, across)
    outline = limb.outline
    if not isinstance(outline, Along) or outline.even:
        return np.array(middle)
    heights = [_extent(limb, float(share), across) for share in np.linspace(0.0, 1.0, SECTIONS)]
    return np.array(heights) * (middle / heights[SECTIONS // 2])


def _extent(limb: Limb, share: float, across: int) -> float:
    return float(np.ptp(outline_ring(limb_at(limb, share).middle_outline)[:, across]))


def inserted_line(limb: Limb, setting: Setting) -> Points | None:
    """Return the centre line (n, 3) of a limb that was printed curved, with a straight wire pushed
    in, standing at the setting's clamp; None of one printed straight or without a wire. [m]"""
    if limb.wire is None or not natural_of(limb):
        return None
    x, y, z = inserted_shape(limb).points.T
    sin, cos = np.sin(setting.clamp_angle), np.cos(setting.clamp_angle)
    return np.column_stack([cos * x - sin * z, y, sin * x + cos * z])


def limb_outline(centre: Points, thickness: ArrayLike) -> Points:
    """Return the outline (2 n, 2) of a limb about its centre line, out on its left side and back.

    ``centre`` (n, 2) has no two points in one place; ``thickness`` is one, or some evenly along
    the line; all in m.
    """
    wide = np.asarray(thickness, float)
    if wide.ndim:
        arcs = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(centre, axis=0).T))])
        wide = np.interp(arcs / arcs[-1], np.linspace(0.0, 1.0, len(wide)), wide)[:, None]
    steps = np.diff(centre, axis=0)
    ahead = np.vstack([steps[:1], steps])
    tangent = np.gradient(centre, axis=0)
    size = np.hypot(*tangent.T)
    # where a line doubles straight back it has no direction: the piece before it lends its own
    tangent = np.where(size[:, None] > 1e-9 * size.max(), tangent, ahead)
    tangent = tangent / np.hypot(*tangent.T)[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]]) * wide / 2
    return np.vstack([centre + normal, (centre - normal)[::-1]])


def _laid_out(views: Sequence[_View], load: float, space: float) -> tuple[Sheet, list[Points]]:
    """Return the sheet, and where the numbers of the shapes stand. [m]"""
    drawn = np.vstack([view.all for view in views])
    extent = float(np.ptp(drawn, axis=0).max())
    scale = min(fitting_scale(extent, space), 1.0)
    if extent < SMALL:
        scale = fitting_scale(extent, 2 * SMALL * 1e3)
    letter = LETTER_SHARE * max(NARROWEST, 1.2 * float(np.ptp(drawn[:, 0])) * 1e3 * scale)
    unit = letter / (1e3 * scale)
    tags: list[Points] = []
    for number, view in enumerate(views):
        tags += number_places(
            view.lines, np.vstack([*view.bodies, *view.unbent]), unit, 0.0 if number else load
        )
    hanging = views[0].lines[2][-1] - (0.0, 2.5 * unit if load else 0.0)
    drawn = np.vstack([drawn, *tags, hanging])
    low, high = drawn.min(axis=0), drawn.max(axis=0)
    wide, tall = (float(side) * 1e3 * scale + 3 * letter for side in high - low)
    more = any(view.outcomes for view in views) + any(view.unbent for view in views)
    sheet = Sheet(
        corner=(float(low[0]), float(high[1])),
        scale=scale,
        margin=1.5 * letter,
        letter=letter,
        width=max(NARROWEST, wide),
        height=tall + (LEGEND_ROW * (3 + more + bool(load)) + 4) * letter,
    )
    return sheet, tags


def number_places(lines: list[Points], drawn: Points, unit: float, load: float) -> list[Points]:
    """Return a place beyond each tip, moved on where it would lie on something ``drawn``. [m]"""
    places: list[Points] = []
    for index, each in enumerate(lines):
        along = (each[-1] - each[-2]) / np.hypot(*(each[-1] - each[-2]))
        start = each[-1] + 1.2 * unit * along
        if load and index == 2 and along[1] < -0.7:
            start = each[-1] + (1.2 * unit, -0.8 * unit)  # clear of the payload's arrow
        taken = np.vstack([drawn, *places])
        steps = start + np.arange(FARTHEST_NUMBER)[:, None] * 0.4 * unit * along
        gaps = np.array([np.hypot(*(taken - step).T).min() for step in steps])
        free = np.flatnonzero(gaps > 0.9 * unit)
        places.append(steps[free[0] if len(free) else index])
    return places


def _checked_line(
    name: str, given: ArrayLike, most: int, axes: tuple[int, int], least: float
) -> Points:
    """Return a line seen along the third of its axes; one that is seen end on is ``least`` long."""
    points = check_numbers(name, given, least=-100.0, most=100.0, unit="m")
    if points.ndim != 2 or points.shape[1] not in (2, 3) or not 2 <= len(points) <= 5000:
        raise refuse(name, "of shape (n, 2) or (n, 3) with 2 to 5000 points", points.shape)
    if points.shape[1] == 3:
        points = points[:, axes]
    elif axes == ABOVE:
        raise refuse(name, "in space, to be seen from above", points.shape)
    keep = np.unique(np.linspace(0, len(points) - 1, most).round().astype(int))
    points = points[keep]
    apart = np.hypot(*np.diff(points, axis=0).T) > max(1e-9, least / len(points))
    if not apart.any():
        if least == 0:
            raise refuse(name, "more than one point", "the same point everywhere")
        return np.array([points[0], points[0] + (least, 0.0)])
    return np.asarray(points[np.concatenate([[True], apart])], float)


def _listed_fan(fan: Iterable[ArrayLike]) -> list[ArrayLike]:
    try:
        lines = list(fan)
    except TypeError:
        raise refuse("fan", "a sequence of lines", type(fan).__name__) from None
    if len(lines) > MOST_FAN:
        raise refuse("fan", f"at most {MOST_FAN} lines", len(lines))
    return lines


def _checked_labels(labels: Sequence[str]) -> tuple[str, ...]:
    if isinstance(labels, str) or not isinstance(labels, Sequence) or len(labels) != 3:
        raise refuse("labels", "three texts", labels)
    return tuple(checked_text("labels", label, 36) for label in labels)
