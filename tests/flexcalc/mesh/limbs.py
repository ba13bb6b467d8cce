"""Limbs as people draw them, made at random, with what is true of them known.

A tapered tube about a curved line, its ends flat, oblique or round, at the root perhaps a ball or
a torso, at the wrist perhaps a ball, a palm with fingers, a mitten or a foot; joined sharply, left
as overlapping bodies, or blended as the zero level of a function; then coarse, noisy, turned,
mirrored, inside out, open or with a channel. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from data.rules import Array
from flexcalc.mesh.solid import body_triangles, manifold_of
from flexcalc.mesh.surface import Whole
from tests.flexcalc.mesh.levels import level_surface
from tests.flexcalc.mesh.lofts import capped, stl_bytes

FINE = 601


@dataclass
class Tube:
    """A tapered tube: line, frames and semi-axes at ``FINE`` places along it."""

    s: Array
    points: Array
    tangents: Array
    xs: Array
    ys: Array
    a: Array
    b: Array
    power: float

    @property
    def length(self) -> float:
        return float(self.s[-1])

    def at(self, table: Array, s: float) -> Array:
        if table.ndim == 1:
            return np.asarray(np.interp(s, self.s, table))
        return np.array([np.interp(s, self.s, column) for column in table.T])

    def ring(self, s: float, corners: int) -> Array:
        """Corners (n, 2) of the section, a superellipse."""
        turn = 2 * np.pi * np.arange(corners) / corners
        c, d = np.cos(turn), np.sin(turn)
        size = (np.abs(c) ** self.power + np.abs(d) ** self.power) ** (-1 / self.power)
        return np.stack([self.at(self.a, s) * c * size, self.at(self.b, s) * d * size], 1)

    def ring_in_space(self, s: float, corners: int) -> Array:
        flat = self.ring(s, corners)
        x, y = self.at(self.xs, s), self.at(self.ys, s)
        return self.at(self.points, s) + flat[:, :1] * x + flat[:, 1:] * y


@dataclass
class Blob:
    """A ball, box or finger: signed distance and triangles."""

    kind: str
    centre: Array
    axes: Array  # rows
    sizes: Array  # semi-axes, or for a finger radius, length, radius at the tip

    def distance(self, points: Array) -> Array:
        p = (points - self.centre) @ self.axes.T
        if self.kind == "ball":
            scaled = np.linalg.norm(p / self.sizes, axis=1)
            return np.asarray((scaled - 1) * self.sizes.min())
        if self.kind == "box":
            q = np.abs(p) - self.sizes
            outer = np.linalg.norm(np.maximum(q, 0), axis=1)
            return np.asarray(outer + np.minimum(q.max(axis=1), 0))
        radius, length, end = self.sizes
        z = np.clip(p[:, 2], 0, length)
        gap = np.linalg.norm(p - np.stack([0 * z, 0 * z, z], 1), axis=1)
        return np.asarray(gap - (radius + (end - radius) * z / length))

    def body(self) -> Any:
        import manifold3d

        solid = manifold3d.Manifold
        if self.kind == "ball":
            made = solid.sphere(1.0, 48).scale(self.sizes.tolist())
        elif self.kind == "box":
            made = solid.cube((2 * self.sizes).tolist(), True)
        else:
            radius, length, end = self.sizes
            top = solid.sphere(end, 20).translate([0, 0, length])
            made = solid.batch_hull([solid.sphere(radius, 20), top])
        matrix = np.hstack([self.axes.T, self.centre[:, None]])
        return made.transform(matrix)

    def reach(self, origin: Array, direction: Array) -> float:
        """How far it goes along a direction from a point."""
        vertices, _ = body_triangles(self.body())
        return float(((vertices - origin) @ direction).max())


@dataclass
class MadeLimb:
    """A file and what is true of it. [mm]"""

    data: bytes
    root: Array
    kinds: dict[str, Any]
    length: tuple[float, float]  # from, to: a blend leaves it open by a little
    limb_length: float
    sections: list[tuple[float, float, float]] = field(default_factory=list)
    places: Array = field(default_factory=lambda: np.zeros((5, 3)))  # their middles
    closed: bool = True


def random_tube(g: np.random.Generator) -> Tube:
    """A tube that does not come near itself."""
    while True:
        length = g.uniform(70, 260)
        slender = g.uniform(4.5, 14)
        radius = length / slender / 2
        bends = g.choice([0.0, 1.0, 2.0], p=[0.2, 0.4, 0.4])
        s = np.linspace(0, length, FINE)
        k = np.zeros((2, FINE))
        for wave in range(int(bends) + 1 if bends else 0):
            k += g.normal(size=(2, 1)) * np.cos(
                wave * np.pi * s / length + g.uniform(0, 6) * (wave > 0)
            )
        top = np.hypot(*k).max()
        if top > 0:
            k *= g.uniform(0.02, 0.35) / radius / top
        if g.random() < 0.5:
            k[1] = 0
        tube = _framed(s, k)
        ratio, wave = g.uniform(0.5, 1.05), g.uniform(-0.1, 0.1)
        a = radius * (1 + (ratio - 1) * s / length) * (1 + wave * np.sin(2 * np.pi * s / length))
        aspect = g.uniform(0.7, 1.0)
        tube.a, tube.b, tube.power = (
            a,
            a * aspect,
            float(g.choice([2.0, 2.5, 4.0], p=[0.7, 0.2, 0.1])),
        )
        gap = np.linalg.norm(tube.points[::10, None] - tube.points[None, ::10], axis=2)
        apart = np.abs(s[::10, None] - s[None, ::10])
        if (gap[apart > 5 * radius] > 4.5 * radius).all() if (apart > 5 * radius).any() else True:
            return tube


def _framed(s: Array, k: Array) -> Tube:
    """Integrate a line from its curvatures in a frame that does not twist."""
    step = s[1] - s[0]
    frame = np.eye(3)  # rows x, y, tangent
    point = np.zeros(3)
    points, frames = [], []
    for kx, ky in k.T:
        points.append(point.copy())
        frames.append(frame.copy())
        spin = kx * frame[1] - ky * frame[0]  # turns the tangent towards kx*x + ky*y
        angle = np.linalg.norm(spin) * step
        half = _turn(frame, spin, angle / 2)
        point = point + half[2] * step
        frame = _turn(frame, spin, angle)
    rows = np.array(frames)
    none = np.zeros(len(s))
    return Tube(s, np.array(points), rows[:, 2], rows[:, 0], rows[:, 1], none, none, 2.0)


def _turn(frame: Array, spin: Array, angle: float) -> Array:
    if angle == 0:
        return frame
    u = spin / np.linalg.norm(spin)
    c, d = np.cos(angle), np.sin(angle)
    return frame * c + np.cross(u, frame) * d + np.outer(frame @ u, u) * (1 - c)


def random_axes(g: np.random.Generator, towards: Array, tilt: float) -> Array:
    """Rows of axes, the third within ``tilt`` [rad] of a direction."""
    side = g.normal(size=3)
    side -= (side @ towards) * towards
    side /= np.linalg.norm(side)
    lean = g.uniform(0, tilt)
    z = towards * np.cos(lean) + side * np.sin(lean)
    x = np.cross(z, g.normal(size=3))
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(z, x), z])


def root_blobs(g: np.random.Generator, tube: Tube, kind: str) -> list[Blob]:
    r = float(max(tube.a[0], tube.b[0]))
    t, p = tube.tangents[0], tube.points[0]
    if kind == "ball":
        size = r * g.uniform(1.15, 1.9)
        return [Blob("ball", p + t * g.uniform(-0.3, 0.1) * size, np.eye(3), np.full(3, size))]
    if kind == "torso":
        axes = random_axes(g, t, np.radians(20))
        half = r * np.array([g.uniform(2.2, 4), g.uniform(2.2, 4), g.uniform(1.5, 3)])
        if g.random() < 0.5:
            return [Blob("box", p + t * (0.5 * r - half[2]), axes, half)]
        return [Blob("ball", p + t * (0.6 * r - half[2]), axes, half)]
    return []


def tip_blobs(g: np.random.Generator, tube: Tube, kind: str) -> list[Blob]:
    r = float(max(tube.a[-1], tube.b[-1]))
    t, p, x, y = (table[-1] for table in (tube.tangents, tube.points, tube.xs, tube.ys))
    axes = np.stack([y, -x, t]) if g.random() < 0.5 else np.stack([x, y, t])
    if kind == "ball":
        size = r * g.uniform(1.3, 2.2)
        return [Blob("ball", p + t * size * 0.5, np.eye(3), np.full(3, size))]
    if kind == "foot":
        toe = axes[0]
        sole = np.stack([axes[1], t, toe])
        sizes = r * np.array([g.uniform(1.3, 1.6), g.uniform(0.9, 1.1), g.uniform(2.2, 3.2)])
        return [Blob("ball", p + t * 0.2 * r + toe * 0.9 * r, sole, sizes)]
    wide, deep, long = r * np.array(
        [g.uniform(1.5, 2.2), g.uniform(0.7, 0.95), g.uniform(1.4, 2.2)]
    )
    palm = Blob(
        "ball" if g.random() < 0.6 else "box",
        p + t * 0.8 * long,
        axes,
        np.array([wide, deep, long]),
    )
    if palm.kind == "box":
        palm.sizes = palm.sizes * 0.85
    blobs = [palm]
    if kind == "mitten":
        thumb = t * 0.6 + axes[0] * 0.8
        return [palm, _finger(p + t * long * 0.6 + axes[0] * wide * 0.6, thumb, 0.45 * r, 1.6 * r)]
    count = int(g.integers(3, 6))
    for i in range(count):
        spread = (i - (count - 1) / 2) / ((count - 1) / 2)
        start = p + t * 1.35 * long + axes[0] * spread * wide * 0.62
        size = min(0.42 * r, 1.05 * wide / count)
        blobs.append(_finger(start, t + axes[0] * 0.35 * spread, size, g.uniform(1.8, 3.2) * r))
    if kind == "webbed":
        blobs.append(Blob("ball", p + t * 2.0 * long, axes, np.array([wide, 0.25 * r, 0.8 * long])))
    return blobs


def _finger(start: Array, towards: Array, radius: float, length: float) -> Blob:
    z = towards / np.linalg.norm(towards)
    x = np.cross(z, [0.3, 0.5, 0.8])
    x /= np.linalg.norm(x)
    return Blob(
        "finger", start, np.stack([x, np.cross(z, x), z]), np.array([radius, length, 0.8 * radius])
    )


def free_from(tube: Tube, blobs: list[Blob], way: int, slack: float) -> float:
    """Where along the tube its skin is free of all blobs by ``slack``, looking from its middle."""
    places = np.linspace(0, tube.length, 2401)
    rings = np.concatenate([tube.ring_in_space(s, 48) for s in places])
    near = np.min([blob.distance(rings) for blob in blobs], axis=0).reshape(-1, 48).min(axis=1)
    touched = near < slack
    half = len(places) // 2
    if way < 0:
        inner = np.flatnonzero(touched[:half])
        return float(places[inner[-1]]) if len(inner) else 0.0
    outer = np.flatnonzero(touched[half:])
    return float(places[half + outer[0]]) if len(outer) else tube.length


def polygon_numbers(ring: Array) -> tuple[float, float, float]:
    """Area and principal second moments of a polygon."""
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    c = x0 * y1 - x1 * y0
    area = c.sum() / 2
    cx, cy = (c @ (x0 + x1)) / 6 / area, (c @ (y0 + y1)) / 6 / area
    xx = c @ (y0 * y0 + y0 * y1 + y1 * y1) / 12 - area * cy**2
    yy = c @ (x0 * x0 + x0 * x1 + x1 * x1) / 12 - area * cx**2
    xy = c @ (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) / 24 - area * cx * cy
    half = np.hypot((xx - yy) / 2, xy)
    return float(area), float((xx + yy) / 2 + half), float((xx + yy) / 2 - half)


def dome_scale(tube: Tube, s: float, root: str, tip: str) -> float:
    """Factor on the ring near a round end, a quarter of an ellipse as long as the radius."""
    scale = 1.0
    for round_end, gap, r in (
        (root == "round", s, tube.b[0]),
        (tip == "round", tube.length - s, tube.b[-1]),
    ):
        if round_end and gap < r:
            scale *= float(np.sqrt(max(1 - (1 - gap / r) ** 2, 1e-8)))
    return scale


def lofted(tube: Tube, root: str, tip: str, rings: int, corners: int) -> tuple[Array, Whole]:
    """The tube alone, ends flat or round."""
    s = np.linspace(0, tube.length, rings)
    for round_end, start, way, r in (
        (root == "round", 0.0, 1, tube.b[0]),
        (tip == "round", tube.length, -1, tube.b[-1]),
    ):
        if round_end:
            arc = start + way * r * (1 - np.cos(np.linspace(0.03, np.pi / 2, 14)))
            s = np.sort(np.concatenate([s[(way * (s - start)) > 1.02 * r], [start], arc]))
    flat = np.stack([tube.ring(q, corners) * dome_scale(tube, q, root, tip) for q in s])
    table = [
        np.stack([tube.at(column, q) for q in s]) for column in (tube.points, tube.xs, tube.ys)
    ]
    return capped(*table, flat)


def made_limb(seed: int) -> MadeLimb:
    """Return one limb made at random."""
    g = np.random.default_rng(seed)
    tube = random_tube(g)
    root = str(g.choice(["flat", "oblique", "round", "ball", "torso"]))
    tip = str(
        g.choice(
            ["flat", "oblique", "round", "ball", "fingers", "webbed", "mitten", "foot"],
            p=[0.14, 0.12, 0.14, 0.12, 0.18, 0.1, 0.1, 0.1],
        )
    )
    way = str(g.choice(["joined", "overlapping", "blended"], p=[0.4, 0.2, 0.4]))
    blobs = (
        root_blobs(g, tube, root),
        tip_blobs(g, tube, tip) if tip not in ("flat", "oblique", "round") else [],
    )
    corners, rings = int(g.choice([12, 24, 48])), int(g.choice([40, 90, 160]))
    blend = float(tube.b.min() * g.uniform(0.1, 0.5)) if way == "blended" else 0.0
    if way == "blended":
        corners = 90
        v, f = _blended(g, tube, root, tip, blobs, blend)
    else:
        v, f = _put_together(g, tube, root, tip, blobs, way, rings, corners)
    kinds: dict[str, Any] = dict(root=root, tip=tip, way=way, corners=corners, rings=rings)
    made = _truth(tube, root, tip, blobs, blend, corners)
    made.kinds = kinds
    spot = tube.at(tube.points, made.root[0])
    aside = g.uniform(-0.6, 0.6, 2) * tube.b[0]
    spot = spot + aside[0] * tube.xs[0] + aside[1] * tube.ys[0]
    if blobs[0] and g.random() < 0.5:
        spot = spot - tube.tangents[0] * blobs[0][0].sizes.min()
    spots = np.vstack([spot, made.places])
    v, f, spots, made.closed = _mishaps(g, v, f, spots, kinds, float(tube.b.min()))
    made.root, made.places = spots[0], spots[1:]
    made.data = stl_bytes(v, f)
    return made


def _truth(
    tube: Tube,
    root: str,
    tip: str,
    blobs: tuple[list[Blob], list[Blob]],
    blend: float,
    corners: int,
) -> MadeLimb:
    lengths = []
    for slack in (0.0, 1.2 * blend):
        start = free_from(tube, blobs[0], -1, slack) if blobs[0] else 0.0
        stop = free_from(tube, blobs[1], 1, slack) if blobs[1] else tube.length
        reach = 0.0
        if blobs[1]:
            p, t = tube.at(tube.points, stop), tube.at(tube.tangents, stop)
            reach = max(blob.reach(p, t) for blob in blobs[1])
        lengths.append((start, stop, stop - start + reach))
    (start, stop, whole), (inner, outer, other) = lengths
    made = MadeLimb(
        data=b"",
        root=np.array([start, 0.0, 0.0]),
        kinds={},
        length=(min(whole, other), max(whole, other)),
        limb_length=stop - start,
    )
    spots = []
    if blend > 0:  # a blended dome is one about a straight axis, however the limb bends there
        inner = max(inner, float(tube.b[0])) if root == "round" else inner
        outer = min(outer, tube.length - float(tube.b[-1])) if tip == "round" else outer
    for share in (0.1, 0.3, 0.5, 0.7, 0.9):
        s = inner + share * (outer - inner)  # free of the blends
        spots.append(tube.at(tube.points, s))
        ring = tube.ring(s, corners) * dome_scale(tube, s, root, tip)
        made.sections.append(polygon_numbers(ring))
    made.places = np.array(spots)
    return made


def _oblique(g: np.random.Generator, tube: Tube, end: int) -> tuple[Array, Array]:
    """A plane through an end of the line, its normal outward."""
    sign = 1.0 if end else -1.0
    axes = random_axes(g, tube.tangents[-end] * sign, np.radians(35))
    return tube.points[-end], axes[2]


def _block(point: Array, normal: Array, size: float) -> Any:
    """A cube on the outer side of a plane, so that only what is near is cut."""
    import manifold3d

    axes = random_axes(np.random.default_rng(0), normal, 0.0)
    cube = manifold3d.Manifold.cube([size, size, size], True).translate([0, 0, size / 2])
    return cube.transform(np.hstack([axes.T, point[:, None]]))


def _extended(tube: Tube, root: str, tip: str) -> Tube:
    """The tube, longer at oblique ends, to be cut there."""
    more = 1.2 * float(max(tube.a.max(), tube.b.max()))
    low, high = more * (root == "oblique"), more * (tip == "oblique")
    if not low and not high:
        return tube
    parts: dict[str, list[Array]] = {}
    for name in ("points", "tangents", "xs", "ys", "a", "b"):
        table = getattr(tube, name)
        first, last = table[:1].copy(), table[-1:].copy()
        if name == "points":
            first, last = first - low * tube.tangents[:1], last + high * tube.tangents[-1:]
        parts[name] = [first] * bool(low) + [table] + [last] * bool(high)
    s = [np.array([-low])] * bool(low) + [tube.s] + [np.array([tube.length + high])] * bool(high)
    return Tube(
        np.concatenate(s) + low,
        *(np.concatenate(parts[n]) for n in ("points", "tangents", "xs", "ys", "a", "b")),
        tube.power,
    )


def _put_together(
    g: np.random.Generator,
    tube: Tube,
    root: str,
    tip: str,
    blobs: tuple[list[Blob], list[Blob]],
    way: str,
    rings: int,
    corners: int,
) -> tuple[Array, Whole]:
    import manifold3d

    v, f = lofted(_extended(tube, root, tip), root, tip, rings, corners)
    body = manifold_of(v, f)
    for end, kind in ((0, root), (1, tip)):
        if kind == "oblique":
            point, normal = _oblique(g, tube, end)
            body = body - _block(point, normal, 4 * float(tube.a.max()))
    parts = [body, *(blob.body() for blob in [*blobs[0], *blobs[1]])]
    if way == "joined":
        parts = [manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)]
    meshes = [body_triangles(part) for part in parts]
    offsets = np.cumsum([0, *(len(mesh[0]) for mesh in meshes)])
    return (
        np.vstack([mesh[0] for mesh in meshes]),
        np.vstack([mesh[1] + offset for mesh, offset in zip(meshes, offsets, strict=False)]),
    )


def _blended(
    g: np.random.Generator,
    tube: Tube,
    root: str,
    tip: str,
    blobs: tuple[list[Blob], list[Blob]],
    blend: float,
) -> tuple[Array, Whole]:
    planes = [_oblique(g, tube, end) for end, kind in ((0, root), (1, tip)) if kind == "oblique"]
    planes += [
        (tube.points[-end], tube.tangents[-end] * (1 if end else -1))
        for end, kind in ((0, root), (1, tip))
        if kind not in ("oblique", "round")
    ]
    longer = _extended(tube, root, tip)
    tree: Any = cKDTree(longer.points)
    big = float(max(tube.a.max(), tube.b.max()))

    def function(points: Array) -> Array:
        far, k = tree.query(points, distance_upper_bound=2.5 * big)
        value = np.full(len(points), 1.5 * big)
        near = np.isfinite(far)
        away, k = points[near] - longer.points[k[near]], k[near]
        x = np.einsum("ij,ij->i", away, longer.xs[k]) / longer.a[k]
        y = np.einsum("ij,ij->i", away, longer.ys[k]) / longer.b[k]
        round_part = (np.abs(x) ** tube.power + np.abs(y) ** tube.power) ** (1 / tube.power)
        tube_value = (round_part - 1) * longer.b[k]
        for end, kind in ((0, root), (-1, tip)):
            if kind == "round":
                p, t, r = tube.points[end], tube.tangents[end] * (1 if end else -1), tube.b[end]
                z = ((points[near] - p) @ t) / r + 1
                dome = z > 0
                dome &= np.linalg.norm(points[near] - p, axis=1) < 2.5 * big
                ball = (np.sqrt(round_part**2 + z**2) - 1) * r
                tube_value = np.where(dome, ball, tube_value)
        for p, n in planes:
            close = np.linalg.norm(points[near] - p, axis=1) < 4.2 * big
            tube_value = np.where(close, np.maximum(tube_value, (points[near] - p) @ n), tube_value)
        value[near] = tube_value
        for blob in [*blobs[0], *blobs[1]]:
            other = blob.distance(points)
            mix = np.maximum(blend - np.abs(value - other), 0) / blend
            value = np.minimum(value, other) - mix**2 * blend / 4
        return value

    corners = [
        tube.points - 1.3 * big,
        tube.points + 1.3 * big,
        longer.points - 1.3 * big,
        longer.points + 1.3 * big,
    ]
    for blob in [*blobs[0], *blobs[1]]:
        corners.append(body_triangles(blob.body())[0])
    everything = np.vstack(corners)
    step = float(tube.b.min()) / 6
    low, high = everything.min(axis=0) - 2 * step, everything.max(axis=0) + 2 * step
    step = max(step, float(np.prod(high - low) / 1.5e6) ** (1 / 3))
    return level_surface(function, low, high, step)


def _mishaps(
    g: np.random.Generator, v: Array, f: Whole, spot: Array, kinds: dict[str, Any], r: float
) -> tuple[Array, Whole, Array, bool]:
    """Noise, holes, turning, mirroring, inside out."""
    kinds["noise"] = noise = float(g.choice([0.0, 0.0, 0.004, 0.01])) * r
    v = v + g.normal(size=v.shape) * noise
    closed = True
    if g.random() < 0.05:
        f = np.delete(f, g.integers(0, len(f), 3), 0)
        kinds["holes"] = 3
        closed = False
    q, _ = np.linalg.qr(g.normal(size=(3, 3)))  # a mirror as often as a turn
    v, spot = v @ q.T, spot @ q.T
    if np.linalg.det(q) < 0:
        f = f[:, ::-1]
        kinds["mirrored"] = True
    if g.random() < 0.15:
        f = f[:, ::-1]
        kinds["inside out"] = True
    move = g.uniform(-150, 150, 3)
    return v + move, f, spot + move, closed
