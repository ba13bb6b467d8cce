"""Rotations in space, many at once: quaternions, rotation vectors, and how one moves the other.

Quaternions are arrays (4, ...), the real part first; vectors (3, ...) and matrices (3, 3, ...)
have their components in front too, so that each of them is one array over the whole batch.

Source: any text on rigid bodies; derivative of the exponential map from memory, tested against
differences.
"""

from __future__ import annotations

import numpy as np

from data.rules import Array

NOTHING = 1e-300
"""Added to a length before it divides: a turn of no size has no axis and needs none."""
SMALL = 1e-3  # rad, below which a series stands for the closed form


def quaternions(frames: Array) -> Array:
    """Return quaternions (4, ...) of matrices (3, 3, ...) whose columns are orthonormal."""
    from scipy.spatial.transform import Rotation

    shape = frames.shape[2:]
    flat = np.moveaxis(frames.reshape(3, 3, -1), -1, 0)
    last = Rotation.from_matrix(flat).as_quat().T
    return np.asarray(last[[3, 0, 1, 2]].reshape(4, *shape))


def matrices(turns: Array) -> Array:
    """Return matrices (3, 3, ...) of quaternions (4, ...) of length 1."""
    w, x, y, z = turns
    found = np.empty((3, 3, *turns.shape[1:]))
    xx, yy, zz = x * x, y * y, z * z
    xy, xz, yz = x * y, x * z, y * z
    wx, wy, wz = w * x, w * y, w * z
    found[0, 0], found[1, 1], found[2, 2] = yy + zz, xx + zz, xx + yy
    for row in range(3):
        found[row, row] *= -2
        found[row, row] += 1
    found[0, 1], found[1, 0] = 2 * (xy - wz), 2 * (xy + wz)
    found[0, 2], found[2, 0] = 2 * (xz + wy), 2 * (xz - wy)
    found[1, 2], found[2, 1] = 2 * (yz - wx), 2 * (yz + wx)
    return found


def product(first: Array, second: Array) -> Array:
    """Return the quaternions of the second turn followed by the first, (4, ...)."""
    a, b, c, d = first
    w, x, y, z = second
    return np.stack(
        [
            a * w - b * x - c * y - d * z,
            a * x + b * w + c * z - d * y,
            a * y - b * z + c * w + d * x,
            a * z + b * y - c * x + d * w,
        ]
    )


def relative(first: Array, second: Array) -> Array:
    """Return the quaternions that lead from the first frames to the second, in their own axes."""
    a, b, c, d = first
    w, x, y, z = second
    return np.stack(
        [
            a * w + b * x + c * y + d * z,
            a * x - b * w - c * z + d * y,
            a * y + b * z - c * w - d * x,
            a * z - b * y + c * x - d * w,
        ]
    )


def exponential(vectors: Array) -> Array:
    """Return quaternions (4, ...) of rotation vectors (3, ...). [rad]"""
    half = np.sqrt(np.sum(vectors**2, axis=0)) / 2 + NOTHING
    return np.concatenate([np.cos(half)[None], vectors * (np.sin(half) / (2 * half))])


def rotation_vectors(turns: Array) -> Array:
    """Return rotation vectors (3, ...) of at most half a turn of quaternions (4, ...). [rad]"""
    real, vector = turns[0], turns[1:]
    size = np.sqrt(np.sum(vector**2, axis=0)) + NOTHING
    half = np.arctan2(size, np.abs(real))
    return np.asarray(vector * np.copysign(2 * half / size, real))


def spun(turns: Array, spins: Array) -> Array:
    """Return quaternions (4, ...) turned by rotation vectors (3, ...) in axes of space."""
    moved = product(exponential(spins), turns)
    return np.asarray(moved / np.sqrt(np.sum(moved**2, axis=0)))


def vector_rates(vectors: Array) -> Array:
    """Return the matrices (3, 3, ...) that turn a small spin, in the axes of the turned frame,
    into the change of its rotation vector: the inverse of the right Jacobian."""
    squares = vectors**2
    square = np.sum(squares, axis=0)
    size = np.sqrt(square)
    safe = np.maximum(size, SMALL)
    closed = (1 - safe / 2 / np.tan(safe / 2)) / safe**2
    share = np.where(size > SMALL, closed, 1 / 12 + square / 720)
    found = share * (vectors[:, None] * vectors[None, :])
    straight = 1 - share * square
    for row in range(3):
        found[row, row] += straight
    x, y, z = vectors / 2
    found[0, 1] -= z
    found[1, 0] += z
    found[0, 2] += y
    found[2, 0] -= y
    found[1, 2] -= x
    found[2, 1] += x
    return np.asarray(found)
