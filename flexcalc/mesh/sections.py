"""The one section of a limb in each plane: its outer curve, holes in it, other pieces beside it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from data.rules import Array
from flexcalc.mesh.cuts import Curves, Planes, cut
from flexcalc.mesh.solid import Solid
from flexcalc.mesh.surface import Whole

SPECK = 0.02
"""Curves below this share of the section's area are specks of noise, no pieces."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Sections:
    """Sections of a limb by planes (k,).

    ``main`` is the number of the outer curve, -1 where the plane meets none nearby; ``area``
    [m2], ``centroid`` (k, 2) [m] from the plane's origin and ``moments`` (k, 3) [m4] are those
    within the outer curve, as if it had no holes; ``holes`` lists the curves of the holes in it;
    ``pieces`` counts outer curves near enough to belong to the same stretch of the body.
    """

    planes: Planes = field(repr=False)
    curves: Curves = field(repr=False)
    main: Whole = field(repr=False)
    area: Array = field(repr=False)
    centroid: Array = field(repr=False)
    moments: Array = field(repr=False)
    pieces: Whole = field(repr=False)
    holes: tuple[tuple[int, ...], ...] = field(repr=False)

    @property
    def found(self) -> Array:
        """Which planes have a section."""
        return np.asarray(self.main >= 0)

    @property
    def radius(self) -> Array:
        """Radius (k,) of the circle of the same area. [m]"""
        return np.asarray(np.sqrt(self.area / np.pi))

    @property
    def breadth(self) -> Array:
        """Longer semi-axis (k,) of the ellipse of the same second moments. [m]"""
        xx, yy, xy = self.moments.T
        most = (xx + yy) / 2 + np.hypot((xx - yy) / 2, xy)
        most = np.maximum(most, 0.0)  # an open curve may enclose less than nothing
        return np.asarray(2 * np.sqrt(most / np.where(self.area > 0, self.area, np.inf)))

    @property
    def middles(self) -> Array:
        """Centroids (k, 3) in space. [m]"""
        return self.planes.lifted(slice(None), self.centroid)

    def net(self) -> tuple[Array, Array, Array]:
        """Return area, centroid and moments as above, less the holes."""
        area, first = self.area.copy(), self.area[:, None] * self.centroid
        x, y = self.centroid.T
        second = self.moments + self.area[:, None] * np.stack([y * y, x * x, x * y], 1)
        for k, holes in enumerate(self.holes):
            for hole in holes:
                part, (cx, cy) = self.curves.area[hole], self.curves.centroid[hole]
                area[k] += part
                first[k] += part * self.curves.centroid[hole]
                second[k] += self.curves.moments[hole] + part * np.array(
                    [cy * cy, cx * cx, cx * cy]
                )
        centroid = first / np.where(area > 0, area, np.inf)[:, None]
        x, y = centroid.T
        second = second - area[:, None] * np.stack([y * y, x * x, x * y], 1)
        return area, centroid, second


def sections_at(
    solid: Solid, planes: Planes, *, reach: float = np.inf, places: Array | None = None
) -> Sections:
    """Return the sections of a solid nearest to the planes' origins.

    ``reach`` [m]: how far from its plane's origin the nearest edge of a section may be.
    ``places`` (k,) [m] of the planes along their line tell a piece beside a section from another
    stretch of a line that comes back to the same plane.
    """
    route = cKDTree(planes.origins)
    curves = cut(solid, planes)
    count = len(planes)
    main = np.full(count, -1)
    pieces = np.zeros(count, np.int64)
    holes: list[tuple[int, ...]] = [()] * count
    away = np.linalg.norm(curves.centroid, axis=1)
    radius = np.sqrt(np.abs(curves.area) / np.pi)
    outside = np.where(np.abs(curves.winding) > 0.5, 0.0, np.maximum(away - radius, 1e-9))
    bounds = np.searchsorted(curves.plane, np.arange(count + 1))
    for k in range(count):
        rows = np.arange(bounds[k], bounds[k + 1])
        solid_rows = rows[curves.area[rows] > 0]
        solid_rows = solid_rows[outside[solid_rows] <= reach]
        if not len(solid_rows):
            continue
        # of curves round the origin the largest, else the nearest one that is no speck
        big = solid_rows[curves.area[solid_rows] > SPECK * curves.area[solid_rows].max()]
        best = int(big[np.lexsort((-curves.area[big], outside[big]))[0]])
        main[k] = best
        gaps = np.linalg.norm(curves.centroid[big] - curves.centroid[best], axis=1)
        near = (gaps < 3 * (radius[big] + radius[best])) & (
            curves.area[big] > SPECK * curves.area[best]
        )
        if places is not None and near.sum() > 1:
            spots = planes.lifted(np.full(len(big), k), curves.centroid[big])
            along = np.abs(places[route.query(spots)[1]] - places[k])
            near &= (along < 4 * radius[best]) | (big == best)
        pieces[k] = int(near.sum())
        holes[k] = _holes_in(curves, best, rows[curves.area[rows] < 0])
    some = np.maximum(main, 0)
    there = (main >= 0)[:, None]
    if not len(curves.area):
        empty = np.zeros(count)
        area, centroid, moments = empty, np.zeros((count, 2)), np.zeros((count, 3))
    else:
        area = np.where(main >= 0, curves.area[some], 0.0)
        centroid = np.where(there, curves.centroid[some], 0.0)
        moments = np.where(there, curves.moments[some], 0.0)
    return Sections(
        planes=planes,
        curves=curves,
        main=main,
        area=area,
        centroid=centroid,
        moments=moments,
        pieces=pieces,
        holes=tuple(holes),
    )


def _holes_in(curves: Curves, outer: int, inner: Whole) -> tuple[int, ...]:
    """Return those of the hole curves that lie within the outer one, specks left out."""
    rows = slice(int(curves.first[outer]), int(curves.first[outer + 1]))
    x0, y0, x1, y1 = curves.segments[rows].T
    held = []
    for hole in inner:
        if abs(curves.area[hole]) < 1e-4 * curves.area[outer]:
            continue
        x, y = curves.segments[curves.first[hole], :2]
        u0, v0, u1, v1 = x0 - x, y0 - y, x1 - x, y1 - y
        turn = np.arctan2(u0 * v1 - u1 * v0, u0 * u1 + v0 * v1).sum()
        if abs(turn) > np.pi:
            held.append(int(hole))
    return tuple(held)
