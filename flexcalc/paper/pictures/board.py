"""The limb from the side as a board to pose it on: a picture in millimetres of the limb itself.

Strokes keep their width at any size, so that the picture can be a strip on a phone and half a
screen elsewhere. Words are not in it: `Board.places` says where they go.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.rules import check_kind, check_number
from flexcalc.joints.aims import own_axes
from flexcalc.joints.limbs import limb_width
from flexcalc.joints.space_line import clamp_frames, frames_of, line_of
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.paper.pictures.drawing import (
    ABOVE,
    SIDE,
    inserted_line,
    limb_outline,
    thickness_along,
)
from flexcalc.paper.pictures.svg import escaped, number, path
from flexcalc.pose.pose import Pose, shape_in_hand
from flexcalc.section.section import limb_section

Points = NDArray[np.float64]
STEPS = 90
"""Stations of a line that is drawn."""
NARROWEST, WIDEST, TWO_NARROWEST = 1.5, 2.4, 0.9
"""Width over height of a board, and at least of one with two views."""
SAME_PLACE = 1e-9
"""Points nearer to each other are one. [m]"""
LEAST_SEEN = 1e-6
"""Of a direction's length, below which it is seen end on."""
AROUND = 0.16
"""Free space around the shapes, as a share of their extent."""
STILL_FITS = 0.55
"""A view is kept while the shapes fill at least so much of it."""
DASHES = {"as set": "6 4", "let go": "1.5 4", "over-bent": "10 4 2 4", "inserted": "12 3 2 3 2 3"}
STROKE = 'fill="none" stroke="currentColor" vector-effect="non-scaling-stroke"'


@dataclass(frozen=True, kw_only=True)
class View:
    """A part of space that a board shows from one side, from ``left`` and ``top`` on, ``down``
    from its upper edge; ``axes`` are those of a point that go right and up on it. [m]"""

    left: float
    top: float
    width: float
    height: float
    down: float = 0.0
    axes: tuple[int, int] = SIDE

    def place(self, points: ArrayLike) -> Points:
        """Return points (..., 3) [m], or (..., 2) as this view shows them, as places on the board,
        y downward. [mm]"""
        given = np.asarray(points, float)
        flat = given[..., self.axes] if given.shape[-1] == 3 else given
        shifted = flat - (self.left, self.top + self.down)
        return np.asarray(shifted * (1e3, -1e3), float)

    def holds(self, low: Points, high: Points) -> bool:
        """Tell whether the view shows all from ``low`` to ``high`` (2,) [m]."""
        return bool(
            self.left <= low[0]
            and high[0] <= self.left + self.width
            and high[1] <= self.top
            and self.top - self.height <= low[1]
        )


@dataclass(frozen=True, kw_only=True)
class Board:
    """A picture of a limb ``width`` by ``height`` [mm] as SVG, its ``views`` from the side and,
    where it has one, from above, and the ``places`` of words beside its shapes and signs, by what
    they name. [mm]
    """

    svg: str = field(repr=False)
    width: float
    height: float
    views: tuple[View, ...]
    places: tuple[tuple[str, tuple[float, float]], ...]

    @property
    def clamps(self) -> tuple[tuple[float, float], ...]:
        """Where the clamp is in each view. [mm]"""
        found = [view.place((0.0, 0.0, 0.0)) for view in self.views]
        return tuple((float(x), float(y)) for x, y in found)


def board_drawing(
    limb: Limb,
    setting: Setting,
    pose: Pose | None,
    *,
    name: str,
    summary: str,
    kinked: Iterable[int] = (),
    before: Sequence[View] = (),
    from_above: bool = False,
    per: float = 1.0,
) -> Board:
    """Return the board of a limb as set, let go and at rest, with what was hung on it.

    Parameters
    ----------
    limb, setting : Limb, Setting
        The limb and how it is posed.
    pose : Pose or None
        Its shapes; None where it hangs slack, then it is drawn as set alone.
    name, summary : str
        Title and description, for a screen reader.
    kinked : iterable of int
        Numbers of the bends, from 0, that kink.
    before : sequence of View, optional
        The views of the board before, kept while the shapes fit well into them.
    from_above : bool
        Shows the limb from above too, below and to the same scale.
    per : float
        Of the unit in which the scale bar is round, 25.4 for inches. [mm]
    """
    per = check_number("per", per, least=1e-3, most=1e3, unit="mm")
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    if pose is None:
        shapes = [shape_in_hand(limb, setting).points]
    else:
        known = (pose.shape_set, pose.shape_released, pose.shape_at_rest)
        shapes = [shape.points for shape in known]
    unbent = inserted_line(limb, setting)
    sides = [SIDE, ABOVE] if from_above else [SIDE]
    drawn = [_drawn(limb, shapes, unbent, axes) for axes in sides]
    views = _views([np.vstack(each) for each in drawn], before)
    parts = []
    for view, lines in zip(views, drawn, strict=True):
        parts += [_shape(view.place(line), kind) for line, kind in zip(lines, KINDS, strict=False)]
        if unbent is not None:
            parts.append(_inserted(view.place(lines[-1])))
        parts.append(_clamp(setting.clamp_angle, view, _wide(limb, view.axes)))
    bar = bar_length(views[0], per)
    parts.append(_scale_bar(views[0], bar))
    parts += _signs(limb, setting, shapes[0], views, frozenset(kinked))
    parts += _payload(setting, views[0].place(shapes[-1][-1]), views[0])
    return Board(
        svg=_page(views, name, summary, "".join(parts)),
        width=1e3 * views[0].width,
        height=_height(views),
        views=views,
        places=tuple(_places(shapes, views, bar)),
    )


KINDS = ("as set", "let go", "at rest")


def _drawn(
    limb: Limb, shapes: Sequence[Points], unbent: Points | None, axes: tuple[int, int]
) -> list[Points]:
    """Return the outlines of shapes, and the line as its straight wire leaves it, seen from one
    side. [m]"""
    thick = thickness_along(limb, axes)
    bodies = [limb_outline(_thinned(shape, axes), thick) for shape in shapes]
    return bodies if unbent is None else [*bodies, _thinned(unbent, axes)]


def _inserted(line: Points) -> str:
    return (
        f'<path class="inserted" d="{path(line)}" {STROKE} stroke-width="1.2" '
        f'stroke-dasharray="{DASHES["inserted"]}"/>'
    )


def _wide(limb: Limb, axes: tuple[int, int]) -> float:
    return limb_thickness(limb) if axes == SIDE else limb_width(limb)


def silhouette(limb: Limb, setting: Setting) -> str:
    """Return a limb as set, filled, as SVG that fits any frame; for those who see it alone."""
    body = set_outline(limb, setting)
    view = _views([body], ())[0]
    size = f"0 0 {number(1e3 * view.width)} {number(1e3 * view.height)}"
    clamp = _clamp(setting.clamp_angle, view, limb_thickness(limb))
    drawn = path(view.place(body), closed=True)
    return (
        f'<svg viewBox="{size}" aria-hidden="true" style="width:100%;height:100%">{clamp}'
        f'<path d="{drawn}" fill="currentColor" fill-opacity="0.3" stroke="currentColor" '
        f'vector-effect="non-scaling-stroke"/></svg>'
    )


def limb_thickness(limb: Limb) -> float:
    """Return how thick a limb is in the plane it bends in. [m]"""
    return 2 * limb_section(limb).extreme_fibre


def likely_drawing(
    views: Sequence[View], fan: Iterable[ArrayLike], over_bent: ArrayLike | None
) -> str:
    """Return other likely outcomes, and the line to bend to, as SVG to lie on a board's ``views``.

    ``fan`` are centre lines (n, 3) [m]; ``over_bent`` (n, 3) [m] is the limb as it is bent by hand
    so that the wanted pose is left, None where that is the same.
    """
    outcomes, parts = list(fan), []
    for view in views:
        parts += [
            f'<path class="outcome" d="{path(view.place(_thinned(line, view.axes, 40)))}" {STROKE} '
            f'stroke-width="1.5" stroke-opacity="0.35"/>'
            for line in outcomes
        ]
        if over_bent is not None:
            parts.append(
                f'<path class="over-bent" d="{path(view.place(_thinned(over_bent, view.axes)))}" '
                f'{STROKE} stroke-width="1.5" stroke-dasharray="{DASHES["over-bent"]}"/>'
            )
    return _page(views, "", "", "".join(parts))


def set_outline(limb: Limb, setting: Setting) -> Points:
    """Return the outline (n, 2) of a limb as set, of straight stretches and arcs, from the side.

    [m]
    """
    return limb_outline(_thinned(_arcs(limb, setting), SIDE), thickness_along(limb))


def _arcs(limb: Limb, setting: Setting) -> Points:
    ends = [end for bend in setting.bends for end in (bend.start, bend.end)]
    arcs = np.unique([*np.linspace(0.0, limb.length, STEPS), *ends])
    arcs = arcs[arcs <= limb.length]
    lengths, middles = np.diff(arcs), (arcs[1:] + arcs[:-1]) / 2
    turns = np.zeros((3, 1, len(lengths)))
    for bend in setting.bends:
        own = (middles > bend.start) & (middles < bend.end)
        bent = np.zeros((3, 1, int(own.sum())))
        bent[0] = bend.curvature
        turns[:, :, own] = own_axes(np.full(bent.shape[2], bend.swing), bent) * lengths[own]
    clamp = clamp_frames(setting.clamp_angle, 1)
    return np.asarray(line_of(clamp, frames_of(clamp, turns), turns, lengths).points[0])


def _thinned(positions: ArrayLike, axes: tuple[int, int], most: int = STEPS) -> Points:
    """Return a line (n, 3) as it is seen from one side (m, 2); seen end on it is a dot."""
    points = np.asarray(positions, float)[:, axes]
    keep = np.unique(np.linspace(0, len(points) - 1, most).round().astype(int))
    points = points[keep]
    apart = np.hypot(*np.diff(points, axis=0).T) > SAME_PLACE
    if not apart.any():
        return np.array([points[0], points[0] + (10 * SAME_PLACE, 0.0)])
    return np.asarray(points[np.concatenate([[True], apart])], float)


def _views(drawn: Sequence[Points], before: Sequence[View]) -> tuple[View, ...]:
    """Return views that show what is drawn (n, 2) from the side and perhaps from above [m]: those
    before where they still fit."""
    ends = [(each.min(axis=0), each.max(axis=0)) for each in drawn]
    extent = max(float((high - low).max()) for low, high in ends)
    if len(before) == len(drawn):
        fill = extent / max(max(view.width, view.height) for view in before)
        if fill >= STILL_FITS and all(
            view.holds(*each) for view, each in zip(before, ends, strict=True)
        ):
            return tuple(before)
    margin = AROUND * extent
    heights = [float(high[1] - low[1]) + 2 * margin for low, high in ends]
    left = min(float(low[0]) for low, _ in ends) - margin
    right = max(float(high[0]) for _, high in ends) + margin
    wide = max(right - left, (NARROWEST if len(ends) == 1 else TWO_NARROWEST) * sum(heights))
    if len(ends) == 1:
        heights = [max(heights[0], wide / WIDEST)]
    found, down = [], 0.0
    for (low, high), height, axes in zip(ends, heights, (SIDE, ABOVE), strict=False):
        found.append(
            View(
                left=(left + right - wide) / 2,
                top=float(low[1] + high[1]) / 2 + height / 2,
                width=wide,
                height=height,
                down=down,
                axes=axes,
            )
        )
        down += height
    return tuple(found)


def _height(views: Sequence[View]) -> float:
    return 1e3 * sum(view.height for view in views)


def _page(views: Sequence[View], name: str, summary: str, body: str) -> str:
    size = f"0 0 {number(1e3 * views[0].width)} {number(_height(views))}"
    said = f"<title>{escaped(name)}</title><desc>{escaped(summary)}</desc>" if name else ""
    role = 'role="img"' if name else 'aria-hidden="true"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{size}" {role}>{said}{body}</svg>'


def _shape(body: Points, kind: str) -> str:
    fill = 'fill="currentColor" fill-opacity="0.14"' if kind == "at rest" else 'fill="none"'
    width, dash = (2.2, "none") if kind == "at rest" else (1.5, DASHES[kind])
    name = kind.replace(" ", "-")
    return (
        f'<path class="{name}" d="{path(body, closed=True)}" {fill} stroke="currentColor" '
        f'vector-effect="non-scaling-stroke" stroke-width="{width}" stroke-dasharray="{dash}"/>'
    )


def _stroke(points: ArrayLike, name: str, width: float = 1.8) -> str:
    return (
        f'<path class="{name}" d="{path(np.asarray(points, float))}" {STROKE} '
        f'stroke-width="{width}"/>'
    )


def _clamp(angle: float, view: View, wide: float) -> str:
    """Return the wall that holds the root, hatched behind it."""
    root, thick = view.place((0.0, 0.0, 0.0)), 1e3 * wide
    ahead = np.array([math.sin(angle), math.cos(angle)])
    if view.axes == ABOVE:
        ahead = np.array([-1.0 if ahead[0] < -1e-9 else 1.0, 0.0])
    across = np.array([ahead[1], -ahead[0]])
    ends = [root + side * 1.1 * thick * across for side in (-1, 1)]
    hatch = [
        _stroke([foot, foot - 0.45 * thick * (ahead + 0.6 * across)], "hatch", 1)
        for foot in np.linspace(ends[0], ends[1], 7)[1:]
    ]
    return f'<g class="clamp">{_stroke(ends, "wall", 3)}{"".join(hatch)}</g>'


def _scale_bar(view: View, length: float) -> str:
    left, low = _foot(view)
    tick = 0.012 * 1e3 * view.height
    line = [(left, low - tick), (left, low), (left + length, low), (left + length, low - tick)]
    return _stroke(line, "scale-bar", 2)


def _foot(view: View) -> tuple[float, float]:
    """Return the lower left corner of a view, a little inside it. [mm]"""
    return 30 * view.width, 950 * view.height


def bar_length(view: View, per: float = 1.0) -> float:
    """Return the length of the scale bar of a view, at most a quarter of it and round in units
    of ``per`` mm. [mm]"""
    most = 250 * view.width / per
    step = 10.0 ** math.floor(math.log10(most))
    return per * max(step * k for k in (1, 2, 5) if step * k <= most)


def _signs(
    limb: Limb,
    setting: Setting,
    as_set: Points,
    views: Sequence[View],
    kinked: frozenset[int],
) -> list[str]:
    """Return the channel's mouths, the places to press, kinks and corner pieces, each in the view
    that its bend is seen broadside in. [mm]"""
    signs = []
    if limb.wire is not None:
        thick = 1e3 * limb_thickness(limb)
        for share in (0.0, 1.0):
            signs.append(_mouth(*_on(as_set, share, views[0]), thick, 1 if share == 0 else -1))
    presses = _presses(limb, setting)
    for index, bend in enumerate(setting.bends):
        view, side = _broadside(as_set, bend, limb.length, views)
        thick = 1e3 * _wide(limb, view.axes)
        middle = (bend.start + bend.end) / 2 / limb.length
        if index in kinked:
            signs.append(_kink(*_on(as_set, middle, view), thick))
        if bend.rigid:
            signs.append(_corner(as_set, bend, limb.length, thick, view))
        for share in presses[index]:
            signs.append(_press(*_on(as_set, share, view), thick, side))
    return signs


def _broadside(line: Points, bend: Bend, length: float, views: Sequence[View]) -> tuple[View, int]:
    """Return the view in which a bend of a line is seen rather broadside, and the side that is
    outside there (1 is the left)."""
    shares = np.array([bend.start, (bend.start + bend.end) / 2]) / length
    first, second = (_along(line, float(share))[1] for share in shares)
    axis = np.cross(first, second)
    view = views[-1] if abs(axis[2]) > abs(axis[1]) else views[0]
    inwards = -axis[1] if view.axes == SIDE else axis[2]
    return view, -1 if inwards > 0 else 1


def _along(line: Points, share: float) -> tuple[Points, Points]:
    """Return place and direction (3,) at a share of a line (n, 3). [m]"""
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    arcs = np.concatenate([[0.0], np.cumsum(steps)])
    at = min(max(share, 0.0), 1.0) * arcs[-1]
    place = np.array([np.interp(at, arcs, line[:, axis]) for axis in range(3)])
    index = min(int(np.searchsorted(arcs, at, side="right")) - 1, len(steps) - 1)
    return place, (line[index + 1] - line[index]) / steps[index]


def _on(line: Points, share: float, view: View) -> tuple[Points, Points, Points]:
    """Return place, direction and the direction to the left at a share of a line, on the board.

    [mm]
    """
    place, way = _along(line, share)
    right, up = way[list(view.axes)]
    size = math.hypot(right, up)
    right, up = (right / size, up / size) if size > LEAST_SEEN else (1.0, 0.0)
    return view.place(place), np.array([right, -up]), np.array([-up, -right])


def _mouth(at: Points, ahead: Points, left: Points, thick: float, way: int) -> str:
    """Return the two lips of the channel's mouth, open outwards."""
    lips = [
        [
            at + side * 0.34 * thick * left,
            at + side * 0.14 * thick * left + way * 0.3 * thick * ahead,
        ]
        for side in (-1, 1)
    ]
    return "".join(_stroke(lip, "mouth", 1.5) for lip in lips)


def _kink(at: Points, ahead: Points, left: Points, thick: float) -> str:
    zigzag = [
        at + (0.9 - 0.3 * step) * thick * left + (0.22 if step % 2 else -0.22) * thick * ahead
        for step in range(7)
    ]
    return _stroke(zigzag, "kink", 2.5)


def _corner(line: Points, bend: Bend, length: float, thick: float, view: View) -> str:
    """Return a corner piece, hatched across the limb."""
    shares = np.linspace(bend.start, bend.end, 9) / length
    found = [_on(line, float(share), view) for share in shares]
    return "".join(
        _stroke(
            [at + 0.5 * thick * (left + ahead / 2), at - 0.5 * thick * (left + ahead / 2)],
            "corner",
            1,
        )
        for at, ahead, left in found
    )


def _presses(limb: Limb, setting: Setting) -> list[list[float]]:
    """Return where thumbs press each bend, as shares of the limb."""
    try:
        stretches = bent_stretches(setting, limb.length, limb_width(limb))
    except ValueError:
        return [[] for _ in setting.bends]
    return [[press.middle / limb.length for press in one.presses] for one in stretches]


def _press(at: Points, ahead: Points, left: Points, thick: float, side: int) -> str:
    """Return a thumb's triangle that points at the limb from its outer side."""
    out = side * left
    tip = at + 0.55 * thick * out
    base = [tip + 0.5 * thick * out + way * 0.25 * thick * ahead for way in (-1, 1)]
    return (
        f'<path class="press" d="{path(np.array([tip, *base]), closed=True)}" '
        f'fill="currentColor" fill-opacity="0.6"/>'
    )


def _payload(setting: Setting, tip: Points, view: View) -> list[str]:
    if not setting.payload:
        return []
    drop = 0.05 * 1e3 * view.height
    return [_stroke([tip, tip + np.array([0.0, drop])], "payload", 1.5)]


def _places(
    shapes: Sequence[Points], views: Sequence[View], bar: float
) -> Iterable[tuple[str, tuple[float, float]]]:
    view = views[0]
    gap = 0.03 * 1e3 * view.width
    tips = [_on(shape, 1.0, view) for shape in shapes]
    words = [at + gap * ahead for at, ahead, _ in tips]
    if len(words) == len(KINDS):
        # the resting limb hangs lower: words that would lie on each other part up and down
        close = max(2.0 * gap - math.dist(words[0], words[2]), 0.0)
        words[0], words[2] = words[0] - np.array([0.0, close]), words[2] + np.array([0.0, close])
        yield KINDS[2], (float(words[2][0]), float(words[2][1]))
    yield KINDS[0], (float(words[0][0]), float(words[0][1]))
    left, low = _foot(view)
    yield "scale", (left + bar, low)
    for name, each in zip(("side", "above"), views if len(views) > 1 else (), strict=False):
        yield name, (0.01 * 1e3 * view.width, 1e3 * (0.04 * view.width + each.down))
