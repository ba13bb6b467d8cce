"""Triangles of limbs whose length, sections and volume have closed forms, built from recipes.

Lengths in mm. Rings of corners stand on frames along a line, joined by triangles.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from data.rules import Array
from flexcalc.mesh.surface import Whole

Frames = tuple[Array, Array, Array, Array]


def ring(corners: int, a: float, b: float) -> Array:
    """Return the corners (n, 2) of an ellipse."""
    turn = 2 * math.pi * np.arange(corners) / corners
    return np.stack([a * np.cos(turn), b * np.sin(turn)], 1)


def loft(centres: Array, xs: Array, ys: Array, rings: Array) -> tuple[Array, Whole]:
    """Join rings (m, n, 2), counter-clockwise seen against the direction of the line."""
    m, n = rings.shape[:2]
    v = centres[:, None] + rings[..., :1] * xs[:, None] + rings[..., 1:] * ys[:, None]
    i = np.arange(m - 1)[:, None] * n + np.arange(n)
    j = np.arange(m - 1)[:, None] * n + (np.arange(n) + 1) % n
    sides = [np.stack([i, j, j + n], -1), np.stack([i, j + n, i + n], -1)]
    return v.reshape(-1, 3), np.concatenate([side.reshape(-1, 3) for side in sides])


def capped(centres: Array, xs: Array, ys: Array, rings: Array) -> tuple[Array, Whole]:
    """Join rings and close both ends with flat lids."""
    v, f = loft(centres, xs, ys, rings)
    m, n = rings.shape[:2]
    b, k = len(v), np.arange(n)
    nxt, last = (k + 1) % n, (m - 1) * n
    lids = [
        np.stack([np.full(n, b), nxt, k], 1),
        np.stack([np.full(n, b + 1), last + k, last + nxt], 1),
    ]
    return np.vstack([v, centres[0], centres[-1]]), np.concatenate([f, *lids])


def tubed(centres: Array, xs: Array, ys: Array, outer: Array, inner: Array) -> tuple[Array, Whole]:
    """Join rings round a channel that is open at both ends."""
    v0, f0 = loft(centres, xs, ys, outer)
    v1, f1 = loft(centres, xs, ys, inner)
    m, n = outer.shape[:2]
    b, k = len(v0), np.arange(n)
    nxt, o = (k + 1) % n, (m - 1) * n
    lids = [
        np.stack([k, b + nxt, nxt], 1),
        np.stack([k, b + k, b + nxt], 1),
        np.stack([o + k, o + nxt, b + o + nxt], 1),
        np.stack([o + k, b + o + nxt, b + o + k], 1),
    ]
    return np.vstack([v0, v1]), np.concatenate([f0, f1[:, ::-1] + b, *lids])


def straight_frames(length: float, m: int) -> Frames:
    """Along z."""
    z = np.linspace(0, length, m)
    return (
        z,
        np.stack([0 * z, 0 * z, z], 1),
        np.tile([1.0, 0, 0], (m, 1)),
        np.tile([0.0, 1, 0], (m, 1)),
    )


def arc_frames(radius: float, angle: float, m: int) -> Frames:
    """Starts along z and bends towards +x."""
    a = np.linspace(0, angle, m)
    c = np.stack([radius * (1 - np.cos(a)), 0 * a, radius * np.sin(a)], 1)
    t = np.stack([np.sin(a), 0 * a, np.cos(a)], 1)
    y = np.tile([0.0, 1, 0], (m, 1))
    return radius * a, c, np.cross(y, t), y


def helix_frames(radius: float, pitch: float, turns: float, m: int) -> Frames:
    """Round the z axis."""
    a = np.linspace(0, 2 * math.pi * turns, m)
    h = pitch / (2 * math.pi)
    w = math.hypot(radius, h)
    c = np.stack([radius * np.cos(a), radius * np.sin(a), h * a], 1)
    x = np.stack([-np.cos(a), -np.sin(a), 0 * a], 1)
    t = np.stack([-radius * np.sin(a), radius * np.cos(a), h + 0 * a], 1) / w
    return w * a, c, x, np.cross(t, x)


def s_frames(radius: float, angle: float, m: int) -> Frames:
    """Two arcs of opposite sense."""
    s1, c1, x1, y1 = arc_frames(radius, angle, m // 2 + 1)
    th = np.linspace(angle, 0, m // 2 + 1)
    t1 = np.stack([np.sin(th), 0 * th, np.cos(th)], 1)
    sideways, ahead = np.cos(th) - math.cos(angle), math.sin(angle) - np.sin(th)
    c2 = c1[-1] + radius * np.stack([sideways, 0 * th, ahead], 1)
    y2 = np.tile([0.0, 1, 0], (len(th), 1))
    s = np.r_[s1, s1[-1] + radius * (angle - th[1:])]
    x2 = np.cross(y2, t1)
    return s, np.vstack([c1, c2[1:]]), np.vstack([x1, x2[1:]]), np.vstack([y1, y2[1:]])


def frames(r: dict[str, Any]) -> Frames:
    """Return arc lengths, centres, x and y axes of a recipe's line."""
    path, m = r.get("path", "straight"), r["rings"]
    if path == "straight":
        return straight_frames(r["length"], m)
    if path == "helix":
        return helix_frames(r["helix_radius"], r["pitch"], r["turns"], m)
    made = arc_frames if path == "arc" else s_frames
    return made(r["bend_radius"], r["angle"], m)


def turned(v: Array, seed: int) -> Array:
    """Return points turned and moved at random."""
    g = np.random.default_rng(seed)
    q, r = np.linalg.qr(g.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    if np.linalg.det(q) < 0:
        q[:, 0] *= -1
    return v @ q.T + g.uniform(-200, 200, 3)


def _sphere(r: dict[str, Any]) -> tuple[Array, Whole]:
    rho, zc = r["hand"]
    n, m = r["hand_facets"]
    z = zc - rho * np.cos(np.linspace(0, math.pi, m))[1:-1]
    centres = np.stack([0 * z, 0 * z, z], 1)
    radii = np.sqrt(rho**2 - (z - zc) ** 2)
    xs, ys = np.tile([1.0, 0, 0], (len(z), 1)), np.tile([0.0, 1, 0], (len(z), 1))
    v, f = capped(centres, xs, ys, np.stack([ring(n, q, q) for q in radii]))
    v[-2:] = [[0, 0, zc - rho], [0, 0, zc + rho]]
    return v, f


def _with_defects(v: Array, f: Whole, r: dict[str, Any]) -> tuple[Array, Whole]:
    n = r["corners"]
    for defect in r.get("defects", []):
        if defect == "flipped":
            f = f[:, ::-1]
        elif defect == "lid missing":
            f = f[:-n]
        elif defect == "three holes":
            f = np.delete(f, [n, 7 * n, 11 * n], 0)
        elif defect == "degenerate":
            f = np.vstack([f, [[0, 0, 1], [5, 7, 5]]])
        elif defect == "doubled":
            f = np.vstack([f, f[100:101]])
        elif defect == "second part":
            f = np.vstack([f, f + len(v)])
            v = np.vstack([v, v * 0.1 + 300.0])
    return v, f


def build(r: dict[str, Any]) -> tuple[Array, Whole, Array]:
    """Return vertices [file units], triangles and a point at the root of a recipe."""
    s, c, x, y = frames(r)
    share = s / s[-1]
    a = r["a0"] + (r["a1"] - r["a0"]) * share
    b0, b1 = r.get("b0", r["a0"]), r.get("b1", r["a1"])
    b = b0 + (b1 - b0) * share
    if r["kind"] == "rectangle":
        square = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1.0]]) / 2
        rings = square[None] * np.stack([a, b], 1)[:, None]
    else:
        rings = np.stack([ring(r["corners"], p, q) for p, q in zip(a, b, strict=True)])
    if "channel" in r:
        off = np.array(r.get("channel_offset", [0, 0]), float)
        hole = ring(r["corners"], r["channel"] / 2, r["channel"] / 2) + off
        v, f = tubed(c, x, y, rings, np.tile(hole, (len(s), 1, 1)))
    else:
        v, f = capped(c, x, y, rings)
    if "hand" in r:
        more, faces = _sphere(r)
        v, f = np.vstack([v, more]), np.vstack([f, faces + len(v)])
    v = np.vstack([v, c[:1]])
    if "seed" in r:
        v = turned(v, r["seed"])
    v = v / r.get("per_unit", 1.0)
    root, v = v[-1], v[:-1]
    v, f = _with_defects(v, f, r)
    return v, f, root


def stl_bytes(v: Array, f: Whole) -> bytes:
    """Return a binary STL."""
    record = np.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    records = np.zeros(len(f), record)
    records["v"] = v[f]
    return b"x" * 80 + np.uint32(len(f)).tobytes() + records.tobytes()


def stl_text(v: Array, f: Whole) -> bytes:
    """Return a text STL."""
    lines = ["solid limb"]
    for corners in np.asarray(v[f], np.float32).tolist():
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {x:.9g} {y:.9g} {z:.9g}" for x, y, z in corners]
        lines += [" endloop", "endfacet"]
    return "\n".join([*lines, "endsolid limb", ""]).encode()
