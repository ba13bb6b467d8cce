"""Read a mesh file into a Surface in metres."""

from __future__ import annotations

import hashlib

import numpy as np
from scipy.spatial import cKDTree

from data.rules import Array, Caution, check_choice, refuse
from flexcalc.mesh.files.stl import read_stl
from flexcalc.mesh.files.threemf import UNITS as OWN_UNITS
from flexcalc.mesh.files.threemf import read_threemf
from flexcalc.mesh.surface import UNITS, Surface, Whole, edges_of, likely_units

MOST_BYTES = 64 * 2**20
MOST_READ = 1_200_000
"""Triangles that are read at most."""
LONGEST = 1e5
"""Longest coordinate in units of the file. Beyond it single precision has no tenths left."""
TOGETHER = 1e-6
"""Corners nearer than this share of the longest side are one, where edges are open."""


def read_surface(data: bytes, unit: str | None = None) -> Surface:
    """Return the surface in an STL (binary or text) or 3MF file.

    Parameters
    ----------
    data : bytes
        The file, at most 64 MB and 1.2 million triangles.
    unit : str, optional
        "mm", "cm", "m" or "inch". Left out, it is a 3MF's own, and millimetres for an STL, which
        records none: then a caution lists the likely ones with the size each gives.

    Returns
    -------
    Surface
        In metres, corners that fall together made one, triangles without area left out.

    Raises
    ------
    ValueError
        For a file that is neither, broken, too large, or holds nothing.
    """
    if not isinstance(data, bytes | bytearray | memoryview):
        raise refuse("mesh file", "bytes", type(data).__name__)
    if unit is not None:
        check_choice("unit", unit, tuple(UNITS))
    raw = bytes(data)
    if len(raw) > MOST_BYTES:
        raise refuse("mesh file", f"at most {MOST_BYTES // 2**20} MB", f"{len(raw) / 2**20:.0f} MB")
    own = None
    if raw[:2] == b"PK":
        corners, faces, own = read_threemf(raw, MOST_READ)
    else:
        soup = read_stl(raw, MOST_READ)
        corners, faces = soup.reshape(-1, 3), np.arange(3 * len(soup)).reshape(-1, 3)
    if not np.isfinite(corners).all() or np.abs(corners).max(initial=0.0) > LONGEST:
        raise refuse("coordinates", f"finite and at most {LONGEST:g} units", "others")
    return _surface(corners, faces, unit, own, hashlib.sha256(raw).hexdigest())


def _surface(
    corners: Array, faces: Whole, unit: str | None, own: str | None, digest: str
) -> Surface:
    used = unit or own or "mm"
    per_unit = UNITS[unit] if unit else OWN_UNITS[own] if own else UNITS["mm"]
    read = len(faces)
    corners, faces = welded(corners, faces)
    if len(faces) < 4:
        raise refuse("mesh", "a body of at least four triangles", f"{len(faces)} triangles")
    longest = float(np.ptp(corners, axis=0).max())
    if longest * per_unit < 1e-4 or longest * per_unit > 100.0:
        rule = "between 0.1 mm and 100 m long"
        raise refuse("mesh", rule, f"{longest * per_unit:.3g} m, read in {used}")
    told = _unit_caution(longest) if unit is None and own is None else ()
    return Surface(
        vertices=corners * per_unit,
        triangles=faces,
        unit=used,
        per_unit=per_unit,
        dropped=read - len(faces),
        sha256=digest,
        cautions=told,
    )


def _unit_caution(longest: float) -> tuple[Caution, ...]:
    likely = likely_units(longest)
    sizes = ", ".join(f"{longest * UNITS[unit] * 1e3:.0f} mm if in {unit}" for unit in likely)
    listed = f"The longest side is {sizes}." if sizes else "In no unit is it the size of a limb."
    text = f"An STL does not record its unit; it was read in mm. {listed}"
    return (Caution(key="unit_guessed", text=text),)


def welded(corners: Array, faces: Whole) -> tuple[Array, Whole]:
    """Make equal corners of triangles one; where edges are open, near ones too."""
    corners, numbers = distinct(corners)
    faces = _with_area(numbers[faces])
    if not len(faces):
        return corners, faces
    edges = edges_of(faces)
    loose = np.unique(edges.ends[edges.uses == 1])
    if len(loose):
        near = cKDTree(corners[loose]).query_pairs(
            TOGETHER * float(np.ptp(corners, axis=0).max()), output_type="ndarray"
        )
        if 0 < len(near) < 4 * len(loose):
            same = np.arange(len(corners))
            low, high = np.sort(loose[near], axis=1).T
            np.minimum.at(same, high, low)
            faces = _with_area(same[faces])
    used, numbers = np.unique(faces, return_inverse=True)
    return corners[used], numbers.reshape(faces.shape)


def _with_area(faces: Whole) -> Whole:
    """Return the triangles whose three corners differ."""
    a, b, c = faces.T
    return np.asarray(faces[(a != b) & (b != c) & (c != a)], np.int64)


def distinct(corners: Array) -> tuple[Array, Whole]:
    """Return the different corners and the number of each, sorting one key a corner.

    They come in the order of the file, where neighbours stand together: in the order of their keys
    all that follows would take twice as long.
    """
    bits = np.ascontiguousarray(corners + 0.0).view(np.uint64)
    factors = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], np.uint64)
    mixed = (bits ^ (bits >> np.uint64(29))) * factors
    key = mixed[:, 0] ^ (mixed[:, 1] << np.uint64(1)) ^ (mixed[:, 2] >> np.uint64(1))
    key = key * factors[0]
    _, first, numbers = np.unique(key, return_index=True, return_inverse=True)
    if not np.array_equal(corners[first][numbers], corners):  # two corners met in one key
        _, first, numbers = np.unique(corners, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")
    place = np.empty(len(order), np.int64)
    place[order] = np.arange(len(order))
    return corners[first[order]], place[numbers.reshape(-1)]
