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

from data.rules import check_kind
from flexcalc.joints.limbs import limb_width
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.paper.drawing import inserted_line, limb_outline, thickness_along
from flexcalc.paper.svg import escaped, number, path
from flexcalc.pose.centre_line import positions_of
from flexcalc.pose.pose import Pose
from flexcalc.section.section import limb_section

Points = NDArray[np.float64]
STEPS = 90
"""Stations of a line that is drawn."""
NARROWEST, WIDEST = 1.5, 2.4
"""Width over height of a board."""
AROUND = 0.16
"""Free space around the shapes, as a share of their extent."""
STILL_FITS = 0.55
"""A view is kept while the shapes fill at least so much of it."""
DASHES = {"as set": "6 4", "let go": "1.5 4", "over-bent": "10 4 2 4", "inserted": "12 3 2 3 2 3"}
STROKE = 'fill="none" stroke="currentColor" vector-effect="non-scaling-stroke"'


@dataclass(frozen=True, kw_only=True)
class View:
    """The part of the plane that a board shows, from ``left`` and ``top`` on. [m]"""

    left: float
    top: float
    width: float
    height: float

    def place(self, points: ArrayLike) -> Points:
        """Return points (..., 2) [m] as places on the board, y downward. [mm]"""
        shifted = np.asarray(points, float) - (self.left, self.top)
        return np.asarray(shifted * (1e3, -1e3), float)

    def holds(self, low: Points, high: Points) -> bool:
        """Tell whether the view shows all from ``low`` to ``high`` (2,) [m], and not too small."""
        inside = (
            self.left <= low[0]
            and high[0] <= self.left + self.width
            and high[1] <= self.top
            and self.top - self.height <= low[1]
        )
        wide, tall = high - low
        fills = max(wide / self.width, tall / self.height)
        return bool(inside and fills >= STILL_FITS)


@dataclass(frozen=True, kw_only=True)
class Board:
    """A picture of a limb ``width`` by ``height`` [mm] as SVG, its ``view``, the ``clamp`` on it
    and the ``places`` of words beside its shapes and signs, by what they name. [mm]
    """

    svg: str = field(repr=False)
    width: float
    height: float
    view: View
    clamp: tuple[float, float]
    places: tuple[tuple[str, tuple[float, float]], ...]


def board_drawing(
    limb: Limb,
    setting: Setting,
    pose: Pose | None,
    *,
    name: str,
    summary: str,
    kinked: Iterable[int] = (),
    before: View | None = None,
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
    before : View, optional
        The view of the board before, kept while the shapes fit well into it.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    thick = limb_thickness(limb)
    as_set = set_line(limb, setting) if pose is None else _thinned(pose.shape_set.positions)
    shapes = [as_set]
    if pose is not None:
        shapes += [_thinned(pose.shape_released.positions), _thinned(pose.shape_at_rest.positions)]
    bodies = [limb_outline(shape, thickness_along(limb)) for shape in shapes]
    curved = inserted_line(limb, setting)
    unbent = None if curved is None else curved[:, [0, 2]]
    view = _view(np.vstack(bodies if unbent is None else [*bodies, unbent]), before)
    placed = [view.place(body) for body in bodies]
    clamp = view.place((0.0, 0.0))
    parts = [_shape(body, kind) for body, kind in zip(placed, KINDS, strict=False)]
    if unbent is not None:
        parts.append(
            f'<path class="inserted" d="{path(view.place(_thinned(unbent)))}" {STROKE} '
            f'stroke-width="1.2" stroke-dasharray="{DASHES["inserted"]}"/>'
        )
    parts += [_clamp(setting.clamp_angle, clamp, 1e3 * thick), _scale_bar(view)]
    parts += _signs(limb, setting, as_set, view, frozenset(kinked))
    parts += _payload(setting, view.place(shapes[-1][-1]), view)
    return Board(
        svg=_page(view, name, summary, "".join(parts)),
        width=1e3 * view.width,
        height=1e3 * view.height,
        view=view,
        clamp=(float(clamp[0]), float(clamp[1])),
        places=tuple(_places(shapes, view)),
    )


KINDS = ("as set", "let go", "at rest")


def silhouette(limb: Limb, setting: Setting) -> str:
    """Return a limb as set, filled, as SVG that fits any frame; for those who see it alone."""
    body = limb_outline(set_line(limb, setting), limb_thickness(limb))
    view = _view(body, None)
    size = f"0 0 {number(1e3 * view.width)} {number(1e3 * view.height)}"
    clamp = _clamp(setting.clamp_angle, view.place((0.0, 0.0)), 1e3 * limb_thickness(limb))
    drawn = path(view.place(body), closed=True)
    return (
        f'<svg viewBox="{size}" aria-hidden="true" style="width:100%;height:100%">{clamp}'
        f'<path d="{drawn}" fill="currentColor" fill-opacity="0.3" stroke="currentColor" '
        f'vector-effect="non-scaling-stroke"/></svg>'
    )


def limb_thickness(limb: Limb) -> float:
    """Return how thick a limb is in the plane it bends in. [m]"""
    return 2 * limb_section(limb).extreme_fibre


def likely_drawing(view: View, fan: Iterable[ArrayLike], over_bent: ArrayLike | None) -> str:
    """Return other likely outcomes, and the line to bend to, as SVG to lie on a board's.

    ``fan`` are centre lines (n, 2) [m]; ``over_bent`` (n, 2) [m] is the limb as it is bent by hand
    so that the wanted pose is left, None where that is the same.
    """
    parts = [
        f'<path class="outcome" d="{path(view.place(_thinned(line, 40)))}" {STROKE} '
        f'stroke-width="1.5" stroke-opacity="0.35"/>'
        for line in fan
    ]
    if over_bent is not None:
        parts.append(
            f'<path class="over-bent" d="{path(view.place(_thinned(over_bent)))}" {STROKE} '
            f'stroke-width="1.5" stroke-dasharray="{DASHES["over-bent"]}"/>'
        )
    return _page(view, "", "", "".join(parts))


def set_line(limb: Limb, setting: Setting, bends: Sequence[Bend] | None = None) -> Points:
    """Return the centre line (n, 2) of a limb as set: straight stretches and arcs. [m]"""
    wanted = setting.bends if bends is None else bends
    ends = [end for bend in wanted for end in (bend.start, bend.end)]
    arcs = np.unique([*np.linspace(0.0, limb.length, STEPS), *ends])
    arcs = arcs[arcs <= limb.length]
    turned = [
        bend.curvature * np.clip(arcs - bend.start, 0.0, bend.end - bend.start) for bend in wanted
    ]
    angles = setting.clamp_angle + np.sum([np.zeros_like(arcs), *turned], axis=0)
    return np.asarray(positions_of(angles, arcs), float)


def _thinned(positions: ArrayLike, most: int = STEPS) -> Points:
    points = np.asarray(positions, float)
    keep = np.unique(np.linspace(0, len(points) - 1, most).round().astype(int))
    points = points[keep]
    apart = np.hypot(*np.diff(points, axis=0).T) > 1e-9
    return np.asarray(points[np.concatenate([[True], apart])], float)


def _view(drawn: Points, before: View | None) -> View:
    low, high = drawn.min(axis=0), drawn.max(axis=0)
    if before is not None and before.holds(low, high):
        return before
    margin = AROUND * float((high - low).max())
    wide, tall = (float(side) + 2 * margin for side in high - low)
    wide = max(wide, NARROWEST * tall)
    tall = max(tall, wide / WIDEST)
    middle = (low + high) / 2
    return View(
        left=float(middle[0]) - wide / 2, top=float(middle[1]) + tall / 2, width=wide, height=tall
    )


def _page(view: View, name: str, summary: str, body: str) -> str:
    size = f"0 0 {number(1e3 * view.width)} {number(1e3 * view.height)}"
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


def _clamp(angle: float, root: Points, thick: float) -> str:
    """Return the wall that holds the root, hatched behind it. [mm]"""
    ahead = np.array([math.sin(angle), math.cos(angle)])
    across = np.array([ahead[1], -ahead[0]])
    ends = [root + side * 1.1 * thick * across for side in (-1, 1)]
    hatch = [
        _stroke([foot, foot - 0.45 * thick * (ahead + 0.6 * across)], "hatch", 1)
        for foot in np.linspace(ends[0], ends[1], 7)[1:]
    ]
    return f'<g class="clamp">{_stroke(ends, "wall", 3)}{"".join(hatch)}</g>'


def _scale_bar(view: View) -> str:
    length = bar_length(view)
    left, low = 0.03 * 1e3 * view.width, 0.95 * 1e3 * view.height
    tick = 0.012 * 1e3 * view.height
    line = [(left, low - tick), (left, low), (left + length, low), (left + length, low - tick)]
    return _stroke(line, "scale-bar", 2)


def bar_length(view: View) -> float:
    """Return the length of the scale bar of a view, round and at most a quarter of it. [mm]"""
    most = 250 * view.width
    step = 10.0 ** math.floor(math.log10(most))
    return max(step * k for k in (1, 2, 5) if step * k <= most)


def _signs(
    limb: Limb, setting: Setting, as_set: Points, view: View, kinked: frozenset[int]
) -> list[str]:
    """Return the channel's mouths, the places to press, kinks and corner pieces. [mm]"""
    thick = 1e3 * limb_thickness(limb)
    signs = []
    if limb.wire is not None:
        for share in (0.0, 1.0):
            signs.append(_mouth(*_on(as_set, share, view), thick, 1 if share == 0 else -1))
    for number_, bend in enumerate(setting.bends):
        middle = (bend.start + bend.end) / 2 / limb.length
        if number_ in kinked:
            signs.append(_kink(*_on(as_set, middle, view), thick))
        if bend.rigid:
            signs.append(_corner(as_set, bend, limb.length, thick, view))
    for share, side in _presses(limb, setting):
        signs.append(_press(*_on(as_set, share, view), thick, side))
    return signs


def _on(line: Points, share: float, view: View) -> tuple[Points, Points, Points]:
    """Return place, direction and the direction to the left at a share of a line. [mm]"""
    steps = np.hypot(*np.diff(line, axis=0).T)
    arcs = np.concatenate([[0.0], np.cumsum(steps)])
    at = min(max(share, 0.0), 1.0) * arcs[-1]
    place = np.array([np.interp(at, arcs, line[:, axis]) for axis in (0, 1)])
    index = min(int(np.searchsorted(arcs, at, side="right")) - 1, len(steps) - 1)
    along = (line[index + 1] - line[index]) / steps[index]
    return view.place(place), np.array([along[0], -along[1]]), np.array([-along[1], -along[0]])


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


def _presses(limb: Limb, setting: Setting) -> list[tuple[float, int]]:
    """Return where thumbs press, as shares of the limb, and on which side (1 is the left)."""
    try:
        stretches = bent_stretches(setting, limb.length, limb_width(limb))
    except ValueError:
        return []
    return [
        (press.middle / limb.length, -1 if stretch.bend.angle > 0 else 1)
        for stretch in stretches
        for press in stretch.presses
    ]


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


def _places(shapes: Sequence[Points], view: View) -> Iterable[tuple[str, tuple[float, float]]]:
    gap = 0.03 * 1e3 * view.width
    tips = [_on(shape, 1.0, view) for shape in shapes]
    words = [at + gap * ahead for at, ahead, _ in tips]
    if len(words) == len(KINDS):
        # the resting limb hangs lower: words that would lie on each other part up and down
        close = max(2.0 * gap - math.dist(words[0], words[2]), 0.0)
        words[0], words[2] = words[0] - np.array([0.0, close]), words[2] + np.array([0.0, close])
        yield KINDS[2], (float(words[2][0]), float(words[2][1]))
    yield KINDS[0], (float(words[0][0]), float(words[0][1]))
    yield "scale", (0.03 * 1e3 * view.width + bar_length(view), 0.95 * 1e3 * view.height)
