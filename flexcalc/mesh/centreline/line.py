"""The centreline of the limb in a body: from its root to its wrist, and straight on to the tip."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from data.rules import Array, Caution, check_kind, check_number, check_numbers, refuse
from flexcalc.mesh.beyond import Part, part_beyond
from flexcalc.mesh.centreline.ends import (
    TAPERS,
    UP,
    End,
    last_section,
    onset,
    skin_end,
    skin_turns,
)
from flexcalc.mesh.centreline.fitting import Fit, fitted, flowing
from flexcalc.mesh.centreline.limb import Stop, calm_stretch, limb_stops
from flexcalc.mesh.centreline.route import rough_route
from flexcalc.mesh.cuts import planes_across
from flexcalc.mesh.sections import Sections, sections_at
from flexcalc.mesh.solid import Solid, place, solid_of
from flexcalc.mesh.surface import Surface, body_labels, corner_volumes

STUBBY, SHORT = 3.0, 4.0
"""Widths below which a limb is refused, and below which it carries a caution."""
TUBE = (
    f"tube-like and at least {STUBBY:g} widths long from root to wrist: cut it out of a larger "
    "body, or choose another root"
)
STEP = 0.2
"""Distance of sections along the line, in radii."""
MOST_STATIONS = 240
ROUNDS = 8
FAR = 3.0
"""Radii between the root's end and the point given for it that are a doubt."""
SPECK = 0.02
"""Share of the volume below which a body apart is a speck."""
FLAT = 0.15
"""How far in, in radii, the skin of an end that is cut square may seem to turn inward."""
FARTHEST = 2.8
"""How far, in radii, a line may go on to its end beyond its last whole section without a doubt."""
POINTS = 801


@dataclass(frozen=True, kw_only=True, eq=False)
class Line:
    """The centreline of a limb, from its root's end to the far end of the body.

    ``arc_length`` (n,) [m], ``points`` (n, 3) [m] and unit ``tangents`` (n, 3); up to
    ``wrist_share`` of ``length`` [m] through the middles of the limb's sections, beyond it
    straight on as far as the hand reaches (1: there is none). ``radius`` [m] is the median one
    of the limb; ``left_off`` [m3] a ball or torso before the root's end; ``sha256`` is that of
    the mesh.
    """

    arc_length: Array = field(repr=False)
    points: Array = field(repr=False)
    tangents: Array = field(repr=False)
    length: float
    wrist_share: float
    radius: float
    left_off: float
    sha256: str = field(repr=False)
    cautions: tuple[Caution, ...] = field(repr=False)

    @property
    def limb_length(self) -> float:
        """Length from the root's end to the wrist. [m]"""
        return self.wrist_share * self.length

    def point_at(self, share: float | Array) -> Array:
        """Return the point (3,) at a share of the length, or (n, 3) at several. [m]"""
        return self._between(self.points, share)

    def tangent_at(self, share: float | Array) -> Array:
        """Return the unit tangent (3,) at a share of the length, or (n, 3) at several."""
        mixed = self._between(self.tangents, share)
        return np.asarray(mixed / np.linalg.norm(mixed, axis=-1, keepdims=True), float)

    def _between(self, table: Array, share: float | Array) -> Array:
        shares = check_numbers("share", share, least=0.0, most=1.0) * self.length
        columns = [np.interp(shares, self.arc_length, column) for column in table.T]
        return np.stack(columns, axis=-1)


@dataclass(frozen=True, kw_only=True, eq=False)
class Trace:
    """A curve through a limb, sections along it, and where the limb stops on it."""

    fit: Fit
    places: Array
    sections: Sections
    stops: tuple[Stop, Stop]
    radius: float
    settled: bool


def limb_centreline(surface: Surface, root: object, *, wrist: float | None = None) -> Line:
    """Return the centreline of the limb that starts near a point.

    Parameters
    ----------
    surface : Surface
        The body.
    root : (float, float, float)
        A point near the root's end. [m]
    wrist : float, optional
        Share of the proposed line's length at which the limb ends and the hand begins. Left
        out, it is where a section is much larger than the ones before, or in several pieces.

    Returns
    -------
    Line
        With a caution for all that is doubtful, and for a ball or torso that was left off.

    Raises
    ------
    ValueError
        For a point far from the body, a body that is no limb, and one too stubby for a line.
    """
    check_kind("surface", surface, Surface, "a Surface")
    spot = check_numbers("root", root, least=-1e3, most=1e3, unit="m")
    if spot.shape != (3,):
        raise refuse("root", "a point (x, y, z)", f"shape {spot.shape}")
    solid = solid_of(surface)
    away = float(cKDTree(solid.vertices).query(spot)[0])
    if away > 0.5 * max(surface.size):
        raise refuse("root", "a point on the body", f"one {away * 1e3:.0f} mm away from it")
    _check_one(solid)
    trace = traced(solid, spot)
    line = _line(surface, solid, trace, None)
    if wrist is not None:
        share = check_number("wrist", wrist, above=0.0, most=1.0)
        line = _line(surface, solid, trace, share * line.length) if share < 1 else line
    gap = float(np.linalg.norm(line.points[0] - spot))
    if line.left_off == 0.0 and gap > FAR * line.radius:
        text = (
            f"The root's end was found at {place(line.points[0])}, {gap * 1e3:.0f} mm from the "
            "point given: look whether it is the right end."
        )
        line = replace(line, cautions=(*line.cautions, Caution(key="root_far", text=text)))
    return line


def _check_one(solid: Solid) -> None:
    """Refuse bodies that lie apart, unless all but one are specks."""
    labels = body_labels(solid.triangles, len(solid.vertices))
    volumes = np.abs(np.bincount(labels, weights=corner_volumes(solid.vertices, solid.triangles)))
    second = np.argsort(volumes)[-2:-1]
    if len(second) and solid.closed and volumes[second[0]] > SPECK * volumes.max():
        spot = solid.vertices[solid.triangles[labels == second[0]].ravel()].mean(axis=0)
        rule = "one body: join the parts, or leave the others out of the file"
        raise refuse("mesh", rule, f"another one at {place(spot)}")


def traced(solid: Solid, root: Array) -> Trace:
    """Return a curve through the limb, moved until it runs through its sections' middles."""
    middles, _ = rough_route(solid, root)
    if len(middles) < 8:
        raise refuse("limb", TUBE, "a body as wide as it is long")
    rough = flowing(middles[1:-1], float(np.linalg.norm(np.ptp(middles, axis=0))) / 12)
    places = np.linspace(0.0, rough.high, min(MOST_STATIONS, 4 * len(middles)))
    sections = _cut(solid, rough, places)
    low, high = calm_stretch(sections, places)
    if high - low < 6:
        where = place(rough.at(places[[len(places) // 2]])[0][0])
        raise refuse("limb", TUBE, f"a body that is so nowhere, looked for near {where}")
    middle = (low + high) // 2
    settled = False
    fit, ends = rough, np.zeros((2, 3))
    for _ in range(ROUNDS):
        stops = limb_stops(sections, places, middle)
        kept = slice(stops[0].index, stops[1].index + 1)
        points = sections.middles[kept]
        radius = float(np.median(sections.radius[kept]))
        if len(points) < 6:
            where = place(fit.at(places[[middle]])[0][0])
            raise refuse("limb", TUBE, f"a body that is so at most near {where}")
        reached = all(stop.why != "edge" for stop in stops)
        moved = float(np.linalg.norm(points[[0, -1]] - ends, axis=1).max())
        if settled and reached and moved < 1.5 * STEP * radius:
            break
        ends = points[[0, -1]]
        fit = fitted(points, radius)
        places = _stations(fit, radius)
        sections = _cut(solid, fit, places, reach=radius)
        middle = int(np.argmin(np.abs(places - fit.high / 2)))
        inside = (places >= 0) & (places <= fit.high)
        off = np.linalg.norm(sections.centroid[inside], axis=1)
        settled = bool(np.quantile(off, 0.9) < 0.02 * radius)
    return Trace(
        fit=fit,
        places=places,
        sections=sections,
        stops=limb_stops(sections, places, middle),
        radius=radius,
        settled=settled,
    )


def _stations(fit: Fit, radius: float) -> Array:
    low, high = -2.0 * radius, fit.high + 2.0 * radius
    return np.linspace(low, high, min(MOST_STATIONS, int((high - low) / (STEP * radius)) + 2))


def _cut(solid: Solid, fit: Fit, places: Array, reach: float = np.inf) -> Sections:
    points, tangents = fit.at(places)
    return sections_at(solid, planes_across(points, tangents, UP), reach=reach, places=places)


def _line(surface: Surface, solid: Solid, trace: Trace, wrist: float | None) -> Line:
    """Find the ends of a traced curve, run the line between them and say what is doubtful."""
    ends = [_end(solid, trace, way) for way in (-1, 1)]
    inside = (trace.places >= ends[0].keep) & (trace.places <= ends[1].keep)
    if inside.sum() < 6:
        where = place(trace.fit.at(trace.places[[len(trace.places) // 2]])[0][0])
        raise refuse("limb", TUBE, f"a body that is so at most near {where}")
    fit, sections, places = _refitted(solid, trace, inside)
    final = Trace(
        fit=fit,
        places=places,
        sections=sections,
        stops=limb_stops(sections, places, int(np.argmin(np.abs(places - fit.high / 2)))),
        radius=trace.radius,
        settled=trace.settled,
    )
    start, stop = (
        _end(solid, final, way)
        if abs(end.keep - end.place) < FARTHEST * _radius_at(trace, end.keep)
        else replace(_end(solid, final, way), sure=False)
        for end, way in zip(ends, (-1, 1), strict=True)
    )
    given = wrist is not None
    if wrist is not None:
        place_of_wrist = _parameter(fit, start.place, wrist)
        if place_of_wrist < stop.place:
            stop = End(place=place_of_wrist, keep=place_of_wrist, joint=True, sure=True)
    return _built(surface, solid, final, start, stop, given)


def _radius_at(trace: Trace, spot: float) -> float:
    away = np.where(trace.sections.found, np.abs(trace.places - spot), np.inf)
    return float(trace.sections.radius[int(away.argmin())])


def _parameter(fit: Fit, start: float, length: float) -> float:
    """Return the parameter at an arc length [m] from ``start``."""
    u = np.linspace(start, fit.high + length, 2001)
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(fit.at(u)[0], axis=0), axis=1))])
    return float(np.interp(length, run, u))


def _refitted(solid: Solid, trace: Trace, inside: NDArray[np.bool_]) -> tuple[Fit, Sections, Array]:
    """Fit again through the sections that are the limb's alone, twice."""
    fit, sections, places = trace.fit, trace.sections, trace.places
    for _ in range(2):
        first = fit.at(places[inside][[0]])[0][0]
        last = fit.at(places[inside][[-1]])[0][0]
        fit = fitted(sections.middles[inside], trace.radius)
        places = _stations(fit, trace.radius)
        sections = _cut(solid, fit, places, reach=trace.radius)
        low, high = _nearest(fit, places, first), _nearest(fit, places, last)
        inside = np.asarray((places >= low - 1e-9) & (places <= high + 1e-9))
        inside &= sections.main >= 0
    return fit, sections, places


def _nearest(fit: Fit, places: Array, point: Array) -> float:
    away = np.linalg.norm(fit.at(places)[0] - point, axis=1)
    return float(places[int(away.argmin())])


def _end(solid: Solid, trace: Trace, way: int) -> End:
    """Return the end of a traced limb against (-1) or along (1) its curve."""
    fit, sections, places = trace.fit, trace.sections, trace.places
    stop = trace.stops[0 if way < 0 else 1]
    radius = float(sections.radius[stop.index])
    if stop.why in ("shrunk", "gone", "edge", "aside"):
        found = _skin(solid, trace, stop, way)
        if found is not None:
            return found
    if stop.why == "gone":
        more = last_section(solid, fit, places[stop.index], way, radius)
        spot = places[stop.index] + way * more
        return End(place=spot, keep=places[stop.index], joint=False, sure=False)
    spot, turned = onset(solid, fit, float(places[stop.index]), radius, way)
    # sections within a step of the other part may hold a little of it
    keep = spot - way * 0.3 * radius
    return End(place=spot, keep=keep, joint=True, sure=turned or stop.why in ("grown", "pieces"))


def _skin(solid: Solid, trace: Trace, stop: Stop, way: int) -> End | None:
    """Return an end at the skin, None if the body goes on too far for one."""
    fit, sections, places = trace.fit, trace.sections, trace.places
    # a few sections in, where an oblique end has not yet taken a part away
    last = stop.index - way * 9
    low, high = min(stop.index, last), max(stop.index, last)
    radius = float(sections.breadth[max(low, 0) : high + 1].max())
    inner = places[stop.index] - way * 0.5 * radius
    k = int(np.argmin(np.abs(places - inner)))
    hole = _hole_radius(sections, k)
    more = skin_end(solid, fit, inner, way, radius, hole)
    if not more < (TAPERS + 0.5) * radius:
        return None
    spot = inner + way * more
    size = float(sections.radius[k])
    ball, cut = skin_turns(solid, fit, spot, way, size)
    if ball is not None:
        spot, _ = onset(solid, fit, ball, size, way)
        return End(place=spot, keep=spot - way * 0.3 * size, joint=True, sure=True)
    full = cut + 0.3 if cut > FLAT else 0.05
    sure = hole == 0.0 or cut <= FLAT
    return End(place=spot, keep=spot - way * full * size, joint=False, sure=sure)


def _hole_radius(sections: Sections, k: int) -> float:
    """Return how far from the line a hole reaches that holds it, 0 if none does."""
    curves = sections.curves
    for hole in sections.holes[k]:
        if abs(curves.winding[hole]) > 0.5:
            rows = slice(int(curves.first[hole]), int(curves.first[hole + 1]))
            return float(np.linalg.norm(curves.segments[rows, :2], axis=1).max())
    return 0.0


def _built(
    surface: Surface, solid: Solid, trace: Trace, start: End, stop: End, given: bool
) -> Line:
    """Tabulate the line between its ends and gather what has to be said."""
    fit, radius = trace.fit, trace.radius
    u = np.linspace(start.place, stop.place, POINTS)
    points, tangents = fit.at(u)
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    before = _part(solid, fit, start.place, -1, radius) if start.joint else None
    hand = _part(solid, fit, stop.place, 1, radius) if stop.joint else None
    limb_length = length
    if hand is not None:
        tail = np.linspace(0.0, hand.reach, 51)[1:, None]
        points = np.vstack([points, points[-1] + tail * tangents[-1]])
        tangents = np.vstack([tangents, np.tile(tangents[-1], (50, 1))])
        length += hand.reach
    slenderness = limb_length / (2 * radius)
    if slenderness < STUBBY:
        raise refuse("limb", TUBE, f"{limb_length * 1e3:.1f} mm at {2e3 * radius:.1f} mm width")
    run = np.linalg.norm(np.diff(points, axis=0), axis=1)
    arc = np.concatenate([[0.0], np.cumsum(run)])
    return Line(
        arc_length=arc,
        points=points,
        tangents=tangents,
        length=float(arc[-1]),
        wrist_share=limb_length / length,
        radius=radius,
        left_off=before.volume if before is not None else 0.0,
        sha256=surface.sha256,
        cautions=(
            *surface.cautions,
            *solid.cautions,
            *_cautions(solid, trace, start, stop, before, hand, limb_length, given),
        ),
    )


def _part(solid: Solid, fit: Fit, spot: float, way: int, radius: float) -> Part | None:
    """Return the part of the body beyond a place on the curve, None if no section parts it."""
    inner = np.array([spot - way * 1e-3 * radius])
    sections = _cut(solid, fit, inner, reach=radius)
    if sections.main[0] < 0:
        return None
    return part_beyond(solid, sections, 0, way)


def _cautions(
    solid: Solid,
    trace: Trace,
    start: End,
    stop: End,
    before: Part | None,
    hand: Part | None,
    length: float,
    given: bool,
) -> tuple[Caution, ...]:
    fit, radius = trace.fit, trace.radius
    root_at, wrist_at = (place(fit.at(np.array([end.place]))[0][0]) for end in (start, stop))
    left_off = before.volume * 1e6 if before is not None else 0.0
    reach = hand.reach if hand is not None else 0.0
    found = {
        "root_cut": (
            before is not None,
            f"What lies before the root's end at {root_at}, {left_off:.1f} cm3, is left off.",
        ),
        "root_unsure": (
            not start.sure,
            f"Where the limb begins is not clear: look at it near {root_at}.",
        ),
        "wrist_unsure": (
            not given and (not stop.sure or reach > 0.8 * length),
            f"Where the hand begins is not clear: look at it near {wrist_at}, and move it.",
        ),
        "limb_stubby": (
            length < SHORT * 2 * radius,
            f"The limb is only {length / (2 * radius):.1f} widths long: a rod is a poor model.",
        ),
        "line_unsettled": (
            not trace.settled,
            "The line does not settle in the middle of the sections: look at its course.",
        ),
        "parts_joined": (
            any(part is not None and not part.apart for part in (before, hand)),
            "The section at the root or wrist does not part the body: something bridges it.",
        ),
    }
    return tuple(Caution(key=key, text=text) for key, (true, text) in found.items() if true)
