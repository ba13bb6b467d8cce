"""The four corners of a chart from two that lie opposite each other."""

from __future__ import annotations

import numpy as np

from data.rules import check_kind, check_number, refuse
from tinting.colour.chart24 import CHART_COLUMNS, CHART_ROWS
from tinting.colour.grid import Array
from tinting.photo.camera import chart_likeness, chart_order
from tinting.photo.picture import Picture
from tinting.photo.regions import check_corners

_STEPS = (0.4, 0.2, 0.1)
"""How far the two corners that were not told are moved in a look for better places. [patch]"""
_WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1))


def corners_from_two(picture: Picture, one: object, other: object) -> Array:
    """Return the corners (4, 2) of a 24-patch chart of which two opposite ones are told. [pixel]

    Parameters
    ----------
    picture : Picture
        The photo.
    one, other : sequence of 2
        x and y of two outer corners that lie opposite each other.

    Raises
    ------
    ValueError
        Where no chart lies between them: turned far out of the plane of the picture, say.

    Notes
    -----
    Tried are a box with upright sides and the two rectangles of the chart's own proportions; the
    one that looks most like the chart is taken, and its two other corners are moved as long as
    the patches look more like it.
    """
    check_kind("picture", picture, Picture, "a Picture")
    ends = np.array([_place("corner", each) for each in (one, other)])
    orders = []
    for corners in _rectangles(*ends):
        try:
            orders.append(chart_order(picture, check_corners(picture, corners)))
        except ValueError:
            continue
    if not orders:
        rule = "opposite outer corners of a 24-patch chart in the photo"
        raise refuse("chart corners", rule, ends.tolist())
    return _moved(picture, max(orders, key=lambda each: _worth(picture, each)), ends)


def _rectangles(one: Array, other: Array) -> list[Array]:
    """Rectangles (4, 2) with a diagonal: upright, and of the chart's proportions both ways."""
    upright = np.array([one, (other[0], one[1]), other, (one[0], other[1])])
    start, end = complex(*one), complex(*other)
    found = [upright]
    for first, last in ((0, CHART_COLUMNS + CHART_ROWS * 1j), (CHART_COLUMNS, CHART_ROWS * 1j)):
        turn = (end - start) / (last - first)
        units = (0, CHART_COLUMNS, CHART_COLUMNS + CHART_ROWS * 1j, CHART_ROWS * 1j)
        places = [start + turn * (unit - first) for unit in units]
        found.append(np.array([(place.real, place.imag) for place in places]))
    return found


def _moved(picture: Picture, order: Array, told: Array) -> Array:
    """The corners with those that were not told moved to where the patches look best."""
    free = [k for k in range(4) if np.abs(order[k] - told).sum(axis=1).min() > 1.0]
    patch = float(np.linalg.norm(order[0] - order[2])) / np.hypot(CHART_COLUMNS, CHART_ROWS)
    best, worth = order, _worth(picture, order)
    for step in _STEPS:
        improved = True
        while improved:
            improved = False
            for k in free:
                for way in _WAYS:
                    tried = best.copy()
                    tried[k] += np.array(way) * step * patch
                    found = _worth(picture, tried)
                    if found > worth + 1e-4:
                        best, worth, improved = tried, found, True
    return best


def _worth(picture: Picture, order: Array) -> float:
    try:
        return chart_likeness(picture, check_corners(picture, order), even=True)
    except ValueError:
        return -np.inf


def _place(name: str, place: object) -> tuple[float, float]:
    if not isinstance(place, tuple | list | np.ndarray) or len(place) != 2:
        raise refuse(name, "a pair x, y", place)
    return check_number(name, place[0]), check_number(name, place[1])
