"""The card to bend a limb on: its shape in the hand at 1:1, where to press, the former's outline.

The card lies under the limb while it is bent. A square of 50 mm on it betrays a printout that was
scaled. Where the limb is longer than the paper its straight pieces are drawn shorter and say so;
its bends never are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind
from flexcalc.build.wire_cut import cut_length, end_bend, end_length
from flexcalc.joints.aims import in_plane_setting
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Setting
from flexcalc.paper.pictures.drawing import limb_outline
from flexcalc.paper.pictures.svg import fitting_scale, line, number, page, path, words
from flexcalc.section.section import limb_section
from flexcalc.verdict.plan import LimbPlan

Points = NDArray[np.float64]
WIDE, TALL, LOW = 176.0, 90.0, 66.0
"""What a shape may take on paper, A4 and letter with their margins, and how tall it is at most
where its straights can be shortened for it. [mm]"""
SQUARE = 50.0
LETTER = 3.2
LONGEST = 40
"""Letters of a limb's name that there is space for beside the square."""
DIAL = 8.0
"""Across a section that shows how the limb is turned. [mm]"""
SEEN = math.radians(0.5)
"""Least swing that is told. [rad]"""
SHORTEST = 0.012
"""Least drawn length of a straight piece that is shortened. [m]"""
STEP = 0.5e-3
TURNS = np.deg2rad(np.arange(0.0, 180.0, 5.0))


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A straight or bent piece of the shape: ``length`` [m] along the limb and, of what is
    ``drawn`` [m] of it, the ``angle`` [rad] it turns by; ``start`` [m] where it begins, and the
    ``swing`` [rad] by which its bend is turned out of the limb's plane."""

    start: float
    length: float
    drawn: float
    angle: float
    swing: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Card:
    """A bending card: ``svg``, its ``scale`` (1 but for a bend larger than the paper), and whether
    straight pieces are drawn shorter."""

    svg: str
    scale: float
    shortened: bool


def bending_card(plan: LimbPlan, made: Setting, *, mirrored: bool = False) -> Card:
    """Return the card to bend a limb on.

    Bends in several planes are drawn in one, each with how the limb is turned for it.

    Parameters
    ----------
    plan : LimbPlan
        The limb.
    made : Setting
        Its bends as the hand makes them, further than they are wanted (`Verdict.made`).
    mirrored : bool
        True for the twin on the other side of the figure.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    check_kind("setting", made, Setting, "a Setting")
    made = in_plane_setting(made)
    pieces = _pieces(plan.limb.length, made.bends)
    half = limb_section(plan.limb).extreme_fibre
    drawn = _drawn(plan, made, _fitted(pieces, half, LOW), half, mirrored)
    if not (_fits(drawn.pieces, half, LOW) and _shows_every_press(drawn)):
        drawn = _drawn(plan, made, _fitted(pieces, half, TALL), half, mirrored)
    scale = 1.0
    if not _fits(drawn.pieces, half, TALL):
        shape = _turned(drawn.line.points, drawn.turn, False)
        scale = min(fitting_scale(float(np.ptp(shape, axis=0).max()) + 2 * half, TALL), 0.5)
    shortened = any(piece.drawn != piece.length for piece in drawn.pieces)
    return Card(svg=_svg(drawn, scale), scale=scale, shortened=shortened)


@dataclass(frozen=True, kw_only=True)
class _Line:
    """The middle of a shape: ``points`` (n, 2) [m], and for each piece the index at which it
    begins and its ``heading`` there [rad]."""

    points: Points
    starts: tuple[int, ...]
    headings: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    plan: LimbPlan
    made: Setting
    pieces: tuple[Piece, ...]
    line: _Line
    turn: float
    mirrored: bool
    half: float


def _drawn(
    plan: LimbPlan, made: Setting, pieces: tuple[Piece, ...], half: float, mirrored: bool
) -> _Drawn:
    found = _line(pieces)
    return _Drawn(
        plan=plan,
        made=made,
        pieces=pieces,
        line=found,
        turn=_best_turn(found.points, half),
        mirrored=mirrored,
        half=half,
    )


def _shows_every_press(drawn: _Drawn) -> bool:
    """Tell whether no thumb and no finger falls where a straight is drawn shorter."""
    if drawn.made.bent_by != "hands":
        return True
    presses = [
        press
        for stretch in bent_stretches(drawn.made, drawn.plan.limb.length, 2 * drawn.half)
        for press in stretch.presses
    ]
    places = [(one.middle, one.middle - one.left, one.middle + one.right) for one in presses]
    return all(_point_at(drawn, at) is not None for each in places for at in each)


def _pieces(length: float, bends: Sequence[Bend]) -> tuple[Piece, ...]:
    found, at = [], 0.0
    for bend in bends:
        if not bend.angle:
            continue
        if bend.start > at + 1e-9:
            gap = bend.start - at
            found.append(Piece(start=at, length=gap, drawn=gap, angle=0.0))
        arc = abs(bend.angle) * bend.radius
        swing = math.remainder(bend.swing, 2 * math.pi)
        piece = Piece(start=bend.start, length=arc, drawn=arc, angle=bend.angle, swing=swing)
        found.append(piece)
        at = bend.start + arc
    if length > at + 1e-9:
        found.append(Piece(start=at, length=length - at, drawn=length - at, angle=0.0))
    return tuple(found)


def _line(pieces: Sequence[Piece]) -> _Line:
    points, heading, starts, headings = [np.zeros(2)], 0.0, [], []
    for piece in pieces:
        starts.append(len(points) - 1)
        headings.append(heading)
        count = max(2, math.ceil(piece.drawn / STEP)) if piece.angle else 2
        step, turn = piece.drawn / count, piece.angle / count
        chord = step if not turn else 2 * step / turn * math.sin(turn / 2)
        for _ in range(count):
            middle = heading + turn / 2
            points.append(points[-1] + chord * np.array([math.cos(middle), math.sin(middle)]))
            heading += turn
    return _Line(points=np.array(points), starts=tuple(starts), headings=tuple(headings))


def _turned(points: Points, turn: float, mirrored: bool) -> Points:
    sine, cosine = math.sin(turn), math.cos(turn)
    made = points @ np.array([[cosine, sine], [-sine, cosine]])
    return made * (-1.0, 1.0) if mirrored else np.asarray(made, float)


def _best_turn(points: Points, half: float) -> float:
    """Return the turn at which the shape is least tall among those at which it is not too wide."""
    sizes = [np.ptp(_turned(points, turn, False), axis=0) + 2 * half for turn in TURNS]
    fits = [size for size in sizes if size[0] * 1e3 <= WIDE]
    best = min(fits or sizes, key=lambda size: float(size[1]))
    return float(next(turn for turn, size in zip(TURNS, sizes, strict=True) if size is best))


def _fits(pieces: Sequence[Piece], half: float, most: float) -> bool:
    points = _line(pieces).points
    wide, tall = np.ptp(_turned(points, _best_turn(points, half), False), axis=0) + 2 * half
    return bool(wide * 1e3 <= WIDE and tall * 1e3 <= most)


def _fitted(pieces: tuple[Piece, ...], half: float, tall: float) -> tuple[Piece, ...]:
    """Return the pieces with as little as needed taken out of their straights."""
    longest = max((piece.length for piece in pieces if not piece.angle), default=0.0)
    for most in np.linspace(longest, SHORTEST, 12):
        cut = tuple(
            piece if piece.angle else replace(piece, drawn=min(piece.length, max(most, SHORTEST)))
            for piece in pieces
        )
        if most == longest:
            cut = pieces
        if _fits(cut, half, tall):
            return cut
    return pieces


def _svg(drawn: _Drawn, scale: float) -> str:
    points, starts = drawn.line.points, drawn.line.starts
    body = _turned(limb_outline(points, 2 * drawn.half), drawn.turn, drawn.mirrored)
    middle = _turned(points, drawn.turn, drawn.mirrored)
    low, high = body.min(axis=0), body.max(axis=0)
    top = SQUARE + 4 * LETTER
    left = LETTER + max(WIDE - float(high[0] - low[0]) * 1e3 * scale, 0.0) / 2
    unit = 1e3 * scale

    def place(real: Points) -> Points:
        return np.asarray((real - (low[0], high[1])) * (unit, -unit) + (left, top), float)

    parts = [
        f'<path class="limb" d="{path(place(body), closed=True)}" fill="currentColor" '
        f'fill-opacity="0.08" stroke="currentColor" stroke-width="0.3"/>',
        f'<path class="wire" d="{path(place(middle))}" fill="none" stroke="currentColor" '
        f'stroke-width="0.5"/>',
    ]
    for index, piece in enumerate(drawn.pieces):
        end = [*starts, len(points) - 1][index + 1]
        placed = place(middle[starts[index] : end + 1])
        if piece.angle:
            centre = place(_turned(_centre(drawn, index)[None], drawn.turn, drawn.mirrored))[0]
            parts.append(_arc_marks(drawn, piece, placed, centre, unit))
        elif piece.drawn != piece.length:
            parts.append(_break_marks(drawn, piece, placed, unit))
    parts.append(_clamp(place(body), len(middle)))
    if drawn.made.bent_by == "hands":
        parts += _press_marks(drawn, place)
    height = top + float(high[1] - low[1]) * unit + 5 * LETTER
    if _swung(drawn):
        parts.append(_turns(drawn, height))
        height += 2.5 * DIAL
    name = f"Bending card of {drawn.plan.name}{', mirror image' if drawn.mirrored else ''}"
    return page(
        WIDE + 2 * LETTER,
        height,
        name,
        f"{name}: the limb as it is bent in the hand, {_scale_words(scale)}.",
        _square(drawn, scale) + "".join(parts),
    )


def _swung(drawn: _Drawn) -> bool:
    return any(abs(piece.swing) > SEEN for piece in drawn.pieces)


def _swing_words(piece: Piece, mirrored: bool) -> str:
    """Say how the limb is turned for a bend; empty for one that is not swung."""
    if not piece.angle or abs(piece.swing) <= SEEN:
        return ""
    side = "left" if (piece.swing > 0) != mirrored else "right"
    return f"swung {abs(math.degrees(piece.swing)):.0f}° to the {side}"


def _turns(drawn: _Drawn, top: float) -> str:
    """Return the limb's section at every bend, with the side on which the thumb is."""
    bends = [piece for piece in drawn.pieces if piece.angle]
    step = WIDE / max(len(bends), 4)
    parts = [words(LETTER, top, "how the limb is turned, seen from the clamp along it; "
                   "▲ inside of the bend, | its top", LETTER)]  # fmt: skip
    for place, piece in enumerate(bends, start=1):
        x, y = step * (place - 0.5), top + 1.3 * DIAL
        swing = -piece.swing if drawn.mirrored else piece.swing
        toward = math.copysign(1.0, piece.angle) * np.array([-math.sin(swing), -math.cos(swing)])
        middle = np.array([x, y])
        reach = np.array([DIAL / 2 + 0.4, DIAL / 2 + 3.6])
        parts += [
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(DIAL / 2)}" fill="none" '
            f'stroke="currentColor" stroke-width="0.4"/>',
            line((x, y - DIAL / 2), (x, y - DIAL / 4), 0.6),
            _thumb(middle + reach[:, None] * toward, "turn"),
            words(x, y + LETTER / 3, str(place), LETTER, "middle"),
        ]
    return f'<g class="turns">{"".join(parts)}</g>'


def _scale_words(scale: float) -> str:
    return "at 1:1" if scale == 1 else f"at {scale:g} of its size: too large for the paper"


def _square(drawn: _Drawn, scale: float) -> str:
    """Return the square that betrays a scaled printout, with what to cut beside it."""
    plan = drawn.plan
    limb, wire = plan.limb, plan.limb.wire
    side = SQUARE
    corners = np.array([[0.3, 0.3], [side + 0.3, 0.3], [side + 0.3, side + 0.3], [0.3, side + 0.3]])
    parts = [
        f'<path class="square" d="{path(corners, closed=True)}" fill="none" '
        f'stroke="currentColor" stroke-width="0.3"/>',
        words(side / 2, side / 2, "50 mm square", LETTER, "middle"),
        words(side / 2, side / 2 + 1.4 * LETTER, "measure it", LETTER, "middle"),
    ]
    name = plan.name if len(plan.name) <= LONGEST else f"{plan.name[:LONGEST].rstrip()}…"
    said = [f"{name}{', mirror image for the twin' if drawn.mirrored else ''}"]
    if scale == 1:
        said.append("Drawn at 1:1. Print at 100 %, not fitted to the page.")
    else:
        said.append(f"Not at 1:1 ({scale:g}): a bend is larger than the paper, use the former.")
    said.append("as bent in the hand, before it is let go; the clamp is hatched")
    if wire is not None:
        strands = f", {wire.strands} strands" if wire.strands > 1 else ""
        radius, leg = end_bend(wire)
        said += [
            f"Cut the wire {cut_length(limb) * 1e3:.0f} mm long{strands}: "
            f"{limb.length * 1e3:.0f} mm in the limb,",
            f"{end_length(wire) * 1e3:.0f} mm at each end, bent over by 90° round "
            f"{2 * radius * 1e3:.1f} mm, leg {leg * 1e3:.0f} mm.",
        ]
    if _swung(drawn):
        said.append("Bends in several planes, drawn in one: for each turn the limb as shown below.")
    if any(piece.drawn != piece.length for piece in drawn.pieces):
        said.append(
            "Straight pieces with a break are longer than drawn: their length stands there."
        )
    if drawn.made.bent_by == "hands":
        said.append("▲ thumb, on the inside of the bend; ○ fingers, on its outside")
    else:
        said.append("dashed: the former's outline")
    for row, text in enumerate(said):
        parts.append(words(side + 2 * LETTER, 1.2 * LETTER + row * 1.9 * LETTER, text, LETTER))
    return f'<g class="check">{"".join(parts)}</g>'


def _centre(drawn: _Drawn, index: int) -> Points:
    """Return the centre of a bent piece, before the shape is turned. [m]"""
    piece, heading = drawn.pieces[index], drawn.line.headings[index]
    radius = piece.length / piece.angle
    start = drawn.line.points[drawn.line.starts[index]]
    return np.asarray(start + radius * np.array([-math.sin(heading), math.cos(heading)]), float)


def _break_marks(drawn: _Drawn, piece: Piece, placed: Points, unit: float) -> str:
    """Return two strokes across a straight piece that is drawn shorter, and its true length."""
    at, ahead = (placed[0] + placed[-1]) / 2, placed[-1] - placed[0]
    ahead = ahead / np.hypot(*ahead)
    across = np.array([-ahead[1], ahead[0]]) * (drawn.half * unit + LETTER)
    strokes = [line(at + side * ahead - across, at + side * ahead + across, 0.4)
               for side in (-0.8, 0.8)]  # fmt: skip
    x, y = at + 1.8 * across
    text = f"{piece.length * 1e3:.0f} mm"
    return "".join(strokes) + words(x, y + LETTER / 3, text, LETTER, "middle")


def _arc_marks(drawn: _Drawn, piece: Piece, placed: Points, centre: Points, unit: float) -> str:
    """Return where a bend begins and ends, its radius and angle, and the former's outline."""
    radius = piece.length / abs(piece.angle)
    marks = [_cross(placed, index, drawn.half * unit) for index in (0, len(placed) - 1)]
    top = placed[len(placed) // 2]
    out = (top - centre) / np.hypot(*(top - centre))
    x, y = top + out * (drawn.half * unit + 3.0 * LETTER)
    text = f"R {radius * 1e3:.0f} mm, {math.degrees(abs(piece.angle)):.0f}°"
    marks.append(words(x, y + LETTER / 3, text, LETTER, "middle"))
    swung = _swing_words(piece, drawn.mirrored)
    if swung:
        marks.append(words(x, y + 1.6 * LETTER, swung, LETTER, "middle"))
    former = radius - drawn.half
    if drawn.made.bent_by == "former" and former > 1e-3:
        marks.append(
            f'<path class="former" d="{path(_rim(placed, centre, former * unit))}" fill="none" '
            f'stroke="currentColor" stroke-width="0.4" stroke-dasharray="2 1.5"/>'
        )
        x, y = top - out * (2 * drawn.half * unit + LETTER)
        text = f"former {2e3 * former:.0f} mm across"
        marks.append(words(x, y + LETTER / 3, text, LETTER, "middle"))
    return "".join(marks)


def _rim(placed: Points, centre: Points, radius: float) -> Points:
    """Return the former's outline (n, 2) along a bend and 20 degrees beyond it on both sides."""
    away = placed - centre
    angles = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
    beyond = math.copysign(math.radians(20), float(angles[-1] - angles[0]))
    low, high = float(angles[0]) - beyond, float(angles[-1]) + beyond
    span = min(abs(high - low), 2 * math.pi) * math.copysign(1.0, high - low)
    turns = low + np.linspace(0.0, span, 60)
    return np.asarray(centre + radius * np.column_stack([np.cos(turns), np.sin(turns)]), float)


def _cross(placed: Points, index: int, half: float) -> str:
    """Return a short line across the limb at a point of its middle."""
    ahead = placed[min(index + 1, len(placed) - 1)] - placed[max(index - 1, 0)]
    across = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead) * (half + 1.0)
    return line(placed[index] - across, placed[index] + across, 0.4)


def _clamp(body: Points, count: int) -> str:
    """Return the hatched line at the limb's root; ``body`` goes out on one side and back."""
    left, right = body[0], body[-1]
    ahead = (body[1] + body[-2] - left - right) / 2
    back = -ahead / np.hypot(*ahead)
    parts = [line(left, right, 0.9)]
    for share in np.linspace(0, 1, 5):
        foot = left + share * (right - left)
        parts.append(line(foot, foot + 2.0 * back, 0.3))
    return f'<g class="clamp">{"".join(parts)}</g>'


def _press_marks(drawn: _Drawn, place: Callable[[Points], Points]) -> list[str]:
    """Return the marks of thumb and fingers at every place that is drawn."""
    marks = []
    for stretch in bent_stretches(drawn.made, drawn.plan.limb.length, 2 * drawn.half):
        inside = math.copysign(1.0, stretch.bend.angle)
        for press in stretch.presses:
            ends = (press.middle - press.left, press.middle + press.right)
            for at, side in ((press.middle, inside), *((end, -inside) for end in ends)):
                found = _point_at(drawn, at)
                if found is None:
                    continue
                spot, normal = found
                reach = (drawn.half + 0.4e-3, drawn.half + 3.6e-3)
                marked = np.array([spot + side * normal * far for far in reach])
                both = place(_turned(marked, drawn.turn, drawn.mirrored))
                marks.append(_thumb(both) if side == inside else _finger(both))
    return marks


def _point_at(drawn: _Drawn, at: float) -> tuple[Points, Points] | None:
    """Return where a place along the limb is drawn and its normal to the left, None in a break."""
    points, starts = drawn.line.points, drawn.line.starts
    ends = (*starts[1:], len(points) - 1)
    for piece, start, end in zip(drawn.pieces, starts, ends, strict=True):
        if not piece.start - 1e-9 <= at <= piece.start + piece.length + 1e-9:
            continue
        along = at - piece.start
        if piece.drawn != piece.length:
            gap = piece.length - piece.drawn
            if piece.drawn / 2 < along < piece.drawn / 2 + gap:
                return None
            along = along if along <= piece.drawn / 2 else along - gap
        share = along / piece.drawn * (end - start)
        index = min(int(share), end - start - 1) + start
        step = points[index + 1] - points[index]
        spot = points[index] + (share - (index - start)) * step
        return spot, np.array([-step[1], step[0]]) / np.hypot(*step)
    return None


def _thumb(ends: Points, name: str = "thumb") -> str:
    tip, back = ends
    away = (back - tip) / np.hypot(*(back - tip))
    across = np.array([-away[1], away[0]])
    corners = np.array([tip, tip + 3 * away + 1.3 * across, tip + 3 * away - 1.3 * across])
    return f'<path class="{name}" d="{path(corners, closed=True)}" fill="currentColor"/>'


def _finger(ends: Points) -> str:
    x, y = ends.mean(axis=0)
    return (
        f'<circle class="finger" cx="{number(x)}" cy="{number(y)}" r="1.2" fill="none" '
        f'stroke="currentColor" stroke-width="0.4"/>'
    )
