"""A maker's own mesh on paper: from the side with its line, and in its pose with its channel."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, check_number
from flexcalc.limb.inputs import Limb
from flexcalc.mesh import Line, MeshLimb, View
from flexcalc.paper.pictures.drawing import LABELS, number_places
from flexcalc.paper.pictures.sketch import (
    LEGEND_ROW,
    Sheet,
    clamp_mark,
    legend_mark,
    number_mark,
    outcome_mark,
    payload_mark,
    shape_mark,
)
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
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

Points = NDArray[np.float64]
PAPER = 165.0
"""Longest side of what is drawn. [mm]"""
SIDE, ABOVE = (0, 2), (0, 1)
"""Axes of a shape that are seen from the side and from above."""
TURNED = 120.0
"""Longest side of a body that is turned. [mm]"""
LIGHT = np.array([-0.4, 0.6, 0.69])
"""Where the light comes from: left, above and before the picture."""
DARKEST, BRIGHTEST = 60.0, 215.0
"""Grey of skin in the shade and in full light, of 255: seen on white paper and on a dark page."""
FAN = 24
"""Likely outcomes that are drawn."""


@dataclass(frozen=True, kw_only=True)
class BodyPicture:
    """A body from the side: ``svg``, its ``width`` and ``height`` [mm on paper], its ``sheet``."""

    svg: str = field(repr=False)
    width: float
    height: float
    sheet: Sheet = field(repr=False)

    def place(self, seen: Points) -> Points:
        """Return where what is seen at places (n, 2) [m] lies on the picture (n, 2). [mm]"""
        return self.sheet.place(np.asarray(seen, float))

    def seen(self, x: float, y: float) -> Points:
        """Return the place (2,) seen at a point of the picture. [m]"""
        unit = 1e3 * self.sheet.scale
        flat = (np.array([x, y]) - self.sheet.margin) / (unit, -unit)
        return np.asarray(flat + self.sheet.corner, float)


def body_drawing(view: View, line_of_limb: Line | None = None, name: str = "Mesh") -> BodyPicture:
    """Return a body from the side with the line of its limb, root and wrist marked.

    Parameters
    ----------
    view : View
        Of `flexcalc.mesh.side_view`.
    line_of_limb : Line, optional
        Its centreline, once it is known.
    name : str
        What the picture is called.
    """
    check_kind("view", view, View, "a View")
    drawn = np.vstack(view.rings)
    low, high = drawn.min(axis=0), drawn.max(axis=0)
    scale = fitting_scale(float((high - low).max()), PAPER)
    scale = min(scale, PAPER / (1e3 * float((high - low).max())) * 1.01)
    letter = LETTER_SHARE * max(NARROWEST, 1e3 * scale * float(high[0] - low[0]))
    wide, tall = (float(side) * 1e3 * scale + 4 * letter for side in high - low)
    sheet = Sheet(
        corner=(float(low[0]), float(high[1])),
        scale=scale,
        margin=2 * letter,
        letter=letter,
        width=max(NARROWEST, wide),
        height=tall + 3 * letter,
    )
    rings = " ".join(path(sheet.place(ring), closed=True) for ring in view.rings)
    parts = [
        f'<path class="body" d="{rings}" fill="currentColor" fill-opacity="0.12" '
        f'fill-rule="evenodd" stroke="currentColor" stroke-width="0.4"/>'
    ]
    told = "The body without its line."
    if line_of_limb is not None:
        parts += _line_marks(view, line_of_limb, sheet)
        told = (
            f"The limb runs {line_of_limb.limb_length * 1e3:.0f} mm from its root to its wrist, "
            f"{2e3 * line_of_limb.radius:.0f} mm wide."
        )
    space = sheet.width / 3
    parts.append(scale_bar(sheet.margin, sheet.height - 2 * letter, space, scale, letter))
    svg = page(sheet.width, sheet.height, f"{name} from the side", told, "".join(parts))
    return BodyPicture(svg=svg, width=sheet.width, height=sheet.height, sheet=sheet)


def turned_drawing(corners: Points, view: View, turn: float, tilt: float, name: str) -> str:
    """Return a body shaded, turned away from how it is seen from the side.

    Parameters
    ----------
    corners : array (m, 3, 3)
        Of its triangles, see `flexcalc.mesh.few_triangles`. [m]
    view : View
        Of `flexcalc.mesh.side_view`.
    turn, tilt : float
        About the upright of the view, its right side coming nearer, then towards the reader who
        looks from above. [rad]
    name : str
        What the picture is called.
    """
    axes = np.vstack([view.axes, np.cross(*view.axes)])
    a, b = check_number("turn", turn, least=-7.0, most=7.0, unit="rad"), tilt
    b = check_number("tilt", b, least=-7.0, most=7.0, unit="rad")
    about_up = np.array([[math.cos(a), 0, -math.sin(a)], [0, 1, 0], [math.sin(a), 0, math.cos(a)]])
    about_right = np.array(
        [[1, 0, 0], [0, math.cos(b), math.sin(b)], [0, -math.sin(b), math.cos(b)]]
    )
    seen = (np.asarray(corners, float) - view.origin) @ (about_right @ about_up @ axes).T
    across = np.cross(seen[:, 1] - seen[:, 0], seen[:, 2] - seen[:, 0])
    size = np.linalg.norm(across, axis=1)
    ahead = across[:, 2] > 1e-12 * size
    seen, across = seen[ahead], across[ahead] / size[ahead, None]
    order = np.argsort(seen[:, :, 2].mean(axis=1))
    bright = DARKEST + (BRIGHTEST - DARKEST) * np.clip(across @ LIGHT, 0.0, 1.0)
    half = float(np.linalg.norm(np.asarray(corners).reshape(-1, 3) - view.origin, axis=1).max())
    unit = TURNED / (2 * half)
    flat = (seen[:, :, :2] * (unit, -unit) + TURNED / 2)[order]
    low, high = float(flat[:, :, 1].min()) - 2.0, float(flat[:, :, 1].max()) + 2.0
    parts = [
        f'<path d="{path(ring - (0.0, low), closed=True)}" fill="{shade}" stroke="{shade}"/>'
        for ring, shade in zip(
            flat, [f"#{3 * f'{round(g):02x}'}" for g in bright[order]], strict=True
        )
    ]
    told = f"Turned by {math.degrees(turn):.0f}° and seen from {math.degrees(tilt):.0f}° above."
    drawn = f'<g stroke-width="0.15" stroke-linejoin="round">{"".join(parts)}</g>'
    return page(TURNED, high - low, f"{name}, turned", told, drawn)


def _line_marks(view: View, found: Line, sheet: Sheet) -> list[str]:
    """Return the limb's line, dashed beyond the wrist, with a bar across at root and wrist."""
    letter = sheet.letter
    points = sheet.place(view.flat(found.points))
    limb = found.arc_length <= found.limb_length * (1 + 1e-9)
    marks = [
        f'<path d="{path(points[limb])}" fill="none" stroke="currentColor" stroke-width="0.8"/>'
    ]
    if not limb.all():
        marks.append(
            f'<path d="{path(points[~limb])}" fill="none" stroke="currentColor" '
            f'stroke-width="0.8" stroke-dasharray="2 1.5"/>'
        )
    unit = 1e3 * sheet.scale
    places = [(0, "root")] + ([(int(limb.sum()) - 1, "wrist")] if not limb.all() else [])
    for k, text in places:
        ahead = view.axes @ found.tangents[k] * (1, -1)
        size = float(np.hypot(*ahead))
        across = np.array([-ahead[1], ahead[0]]) / size if size > 1e-6 else np.array([0.0, 1.0])
        reach = 1.3 * found.radius * unit * across
        marks.append(line(points[k] - reach, points[k] + reach, 0.7))
        x, y = points[k] + reach * 1.1 + across * 0.8 * letter
        x = float(np.clip(x, 2.5 * letter, sheet.width - 2.5 * letter))
        y = float(np.clip(y + 0.35 * letter, letter, sheet.height - 4 * letter))
        marks.append(words(x, y, text, letter, "middle"))
    return marks


def mesh_pose_drawing(
    plan: LimbPlan, verdict: Verdict, limb: MeshLimb, *, above: bool = False
) -> str:
    """Return a limb from a mesh in its pose to scale: as set, let go, at rest with its channel.

    Parameters
    ----------
    plan : LimbPlan
        Its question.
    verdict : Verdict
        On it.
    limb : MeshLimb
        As it was measured; the channel is drawn to its wrist.
    above : bool
        Seen from above, for a limb that leaves its plane, instead of from the side.

    Returns
    -------
    str
        An svg element; empty where the limb hangs slack and has no shape.
    """
    pose, depth = verdict.pose, limb.wrist
    if pose is None:
        return ""
    axes = ABOVE if above else SIDE
    arc, extents = _profile(limb, limb.slices.width if above else limb.slices.height)
    shapes = (pose.shape_set, pose.shape_released, pose.shape_at_rest)
    lines = [_Seen(shape.arc_length, shape.points[:, axes]) for shape in shapes]
    bodies = [each.body(arc, extents) for each in lines]
    at, cover = thinnest(limb, channel_reach(plan, verdict), depth)
    outcomes = [each.points[:, axes] for each in verdict.likely.fan[:FAN]]
    load = 0.0 if above else plan.setting.payload
    tips = [each.tip(arc[-1]) for each in lines]
    sheet, tags = _sheet(np.vstack([*bodies, *outcomes]), tips, bool(outcomes), load)
    root, rest = sheet.place(bodies[2]), lines[2]
    parts = [
        *(outcome_mark(sheet.place(each)) for each in outcomes),
        *(shape_mark(sheet.place(body), k) for k, body in enumerate(bodies)),
        _channel(plan.limb, rest, depth, sheet),
        "" if above else _cover(rest, limb, at, cover, sheet),
        clamp_mark(root[0], root[-1], _ahead(root), sheet.letter),
        *(number_mark(sheet.place(tag), k, sheet.letter) for k, tag in enumerate(tags)),
        payload_mark(sheet.place(rest.points[-1]), sheet.letter) if load > 0 else "",
    ]
    held = "with the hand" if plan.mesh and plan.mesh.hand_mass else "at the tip"
    words_of_load = f"{load * 1e3:.3g} g {held}" if load > 0 else ""
    fan = "other likely outcomes" if outcomes else ""
    parts.append(legend_mark(LABELS, fan, "", words_of_load, sheet))
    told = f"{verdict.sentence} Thinnest cover over the channel {cover * 1e3:.1f} mm."
    name = f"{plan.name}, from above" if above else plan.name
    return page(sheet.width, sheet.height, name, told, "".join(parts))


def _ahead(root: Points) -> Points:
    """Return the direction on paper in which a body (2 n, 2) leaves its clamp."""
    ahead = root[1] + root[-2] - root[0] - root[-1]
    if np.hypot(*ahead) > 1e-6:
        return np.asarray(ahead, float)
    x, y = root[-1] - root[0]  # it leaves towards the eye
    return np.array([-y, x])


def channel_reach(plan: LimbPlan, verdict: Verdict) -> float:
    """Return how far a drawn channel reaches from its middle, its roof as well. [m]"""
    for size in verdict.channel:
        return size.draw_diameter / 2 * (math.sqrt(2) if size.roofed else 1.0)
    return plan.limb.channel_diameter / 2


def thinnest(measured: MeshLimb, reach: float, depth: float) -> tuple[float, float]:
    """Return where the cover over a channel is thinnest, and how thick it is there. [m]

    ``reach`` [m] of the channel from its middle, ``depth`` [m] of it from the root.
    """
    slices = measured.slices
    start, end = measured.full
    there = (slices.arc_length >= start) & (slices.arc_length <= min(depth, end))
    k = int(np.argmin(np.where(there, slices.cover, np.inf)))
    return float(slices.arc_length[k]), float(slices.cover[k]) - reach


def _profile(limb: MeshLimb, extents: Points) -> tuple[Points, Points]:
    """Return places along the path from its root to the tip, and the skin's extents there. [m]"""
    good = np.ptp(extents, axis=1) > 0
    arc, extents = limb.slices.arc_length[good], extents[good]
    arc = np.concatenate([[0.0], arc, [limb.path.length]])
    return arc, np.vstack([extents[:1], extents, extents[-1:] * 0.5])


@dataclass(frozen=True)
class _Seen:
    """A shape as it is seen: lengths along it (n,) and places (n, 2). [m]"""

    arc: Points
    points: Points

    def at(self, arc: Points) -> tuple[Points, Points]:
        """Return points (n, 2) at lengths along it, straight on beyond, and normals."""
        run = np.gradient(self.points, self.arc, axis=0)
        ahead = np.stack([np.interp(arc, self.arc, column) for column in run.T], 1)
        spots = np.stack([np.interp(arc, self.arc, column) for column in self.points.T], 1)
        spots = spots + np.maximum(arc - self.arc[-1], 0.0)[:, None] * ahead
        size = np.hypot(*ahead.T)[:, None]
        # where it is seen end on it has no direction: any will do
        ahead = np.where(size > 1e-6, ahead, (1.0, 0.0))
        return spots, np.stack([-ahead[:, 1], ahead[:, 0]], 1) / np.where(size > 1e-6, size, 1.0)

    def tip(self, arc: float) -> Points:
        """Return two points (2, 2) towards a length along it, never one: it may be end on."""
        ends = self.at(arc * np.array([1 - 1e-3, 1.0]))[0]
        apart = float(np.hypot(*(ends[1] - ends[0])))
        return ends if apart > 1e-9 else ends + np.array([[0.0, 0.0], [1e-6, 0.0]])

    def body(self, arc: Points, extents: Points) -> Points:
        """Return the outline (2 n, 2) of a limb about it, out on its left side and back."""
        spots, normals = self.at(arc)
        left, right = spots + extents[:, 1:] * normals, spots + extents[:, :1] * normals
        return np.asarray(np.vstack([left, right[::-1]]), float)


def _channel(limb: Limb, seen: _Seen, depth: float, sheet: Sheet) -> str:
    radius = limb.channel_diameter / 2
    if radius == 0:
        return ""
    arc = np.linspace(0.0, depth, 80)
    corners = seen.body(arc, np.tile([[-radius, radius]], (len(arc), 1)))
    return (
        f'<path class="channel" d="{path(sheet.place(corners), closed=True)}" '
        f'fill="currentColor" fill-opacity="0.3" stroke="currentColor" stroke-width="0.3"/>'
    )


def _cover(seen: _Seen, limb: MeshLimb, at: float, cover: float, sheet: Sheet) -> str:
    """Return the mark of the thinnest cover, with its size on the side where there is space."""
    spots, normals = seen.at(np.array([at]))
    k = int(np.argmin(np.abs(limb.slices.arc_length - at)))
    start = sheet.place(spots[0] + limb.slices.height[k, 1] * normals[0])
    ahead = normals[0] * (1, -1)
    stop = start + 2.2 * sheet.letter * ahead
    x, y = stop + sheet.letter * (0.9 * ahead + (0.0, 0.35))
    x = float(np.clip(x + 3.5 * sheet.letter * ahead[0], 4 * sheet.letter, sheet.width))
    mark = line(start.tolist(), stop.tolist(), 0.4)
    return mark + words(x, float(y), f"cover {cover * 1e3:.1f} mm", sheet.letter, "middle")


def _sheet(drawn: Points, tips: list[Points], fan: bool, load: float) -> tuple[Sheet, list[Points]]:
    """Return the sheet, and where the numbers of the shapes stand. [m]"""
    low, high = drawn.min(axis=0), drawn.max(axis=0)
    scale = min(fitting_scale(float((high - low).max()), PAPER), 1.0)
    letter = LETTER_SHARE * max(NARROWEST, 1.2 * float(high[0] - low[0]) * 1e3 * scale)
    tags = number_places(tips, drawn, letter / (1e3 * scale), load)
    low, high = np.minimum(low, np.min(tags, axis=0)), np.maximum(high, np.max(tags, axis=0))
    wide, tall = (float(side) * 1e3 * scale + 8 * letter for side in high - low)
    sheet = Sheet(
        corner=(float(low[0]), float(high[1])),
        scale=scale,
        margin=4 * letter,
        letter=letter,
        width=max(NARROWEST, wide),
        height=tall + (LEGEND_ROW * (3 + fan + (load > 0)) + 4) * letter,
    )
    return sheet, tags
