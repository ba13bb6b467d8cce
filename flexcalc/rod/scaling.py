"""Read a batch of rods and scale them to length 1 and rigidity about 1."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from data.rules import check_numbers, check_whole, refuse
from flexcalc.rod.chain import SLACK, Array, Mask
from flexcalc.rod.spacing import Field, Mesh, Rods, cut_rod

MOST_TURN = 4 * math.pi
"""Greatest bend without load. [rad]"""
RIGIDITY = (1e-12, 1e9)  # N m2
LENGTH = (1e-4, 1e3)  # m
TIGHTEST = 250.0
"""Greatest natural curvature anywhere, times the length."""
FORCE = 1e9  # N, N/m
CURVATURE = 1e7  # 1/m
ROUNDING = 1 + 1e-9  # of a number that stands at its limit


@dataclass(frozen=True, kw_only=True)
class GivenRods:
    """``rods`` scaled; ``clamp`` [rad], ``length`` [m] and ``rigidity`` [N m2] by which they were
    scaled, each (B,); ``batch`` is the shape of the batch.
    """

    rods: Rods
    clamp: Array
    length: Array
    rigidity: Array
    batch: tuple[int, ...]
    breaks: tuple[float, ...]
    segments: int

    def straight(self, mesh: Mesh) -> Mask:
        """Tell which rods hang straight down whatever their load is (B,)."""
        curl = self.rods.curl.at(mesh.middles, np.arange(len(self.clamp)))
        return np.asarray((self.clamp == 0) & ~curl.any(axis=1))

    def described(self, member: int) -> str:
        """Name one rod of the batch by its scaled inputs, for an error."""
        return (
            f"clamp angle {self.clamp[member]:.9g} rad, length {self.length[member]:.9g} m, mean "
            f"flexural rigidity {self.rigidity[member]:.9g} N m2, tip load "
            f"{self.rods.tip[member]:.9g} times rigidity / length^2"
        )


def read_rods(
    flexural_rigidity: object,
    length: object,
    clamp_angle: object,
    tip_load: object,
    weight_per_length: object,
    natural_curvature: object,
    breaks: object,
    segments: object,
) -> GivenRods:
    """Check and scale the arguments of `rest_shape`; ValueError for what cannot be solved."""
    least = check_whole("segments", segments, least=8, most=512)
    pieces = check_breaks(breaks)
    mesh = cut_rod(pieces, least, 1)
    bounds = {
        "flexural rigidity": (flexural_rigidity, *RIGIDITY, "N m2"),
        "length": (length, *LENGTH, "m"),
        "clamp angle": (clamp_angle, -math.pi, math.pi, "rad"),
        "tip load": (tip_load, 0.0, FORCE, "N"),
        "weight per length": (weight_per_length, 0.0, FORCE, "N/m"),
        "natural curvature": (natural_curvature, -CURVATURE, CURVATURE, "1/m"),
    }
    values = {name: _values(name, mesh, *bound) for name, bound in bounds.items()}
    batch = _batch({name: value.shape[:-1] for name, value in values.items()})
    flat = {
        name: np.broadcast_to(value, (*batch, value.shape[-1])).reshape(-1, value.shape[-1])
        for name, value in values.items()
    }
    functions = {name: bound[0] for name, bound in bounds.items() if callable(bound[0])}
    scale, rigidity = flat["length"][:, 0], flat["flexural rigidity"].mean(axis=1)
    factor = scale**2 / rigidity

    def field(name: str, by: Array) -> Field:
        _, low, high, _ = bounds[name]
        along = functions.get(name)
        value = by if along is not None else by * flat[name][:, 0]
        return Field(name=name, value=value, along=along, shape=batch, least=low, most=high)

    given = GivenRods(
        rods=Rods(
            rigidity=field("flexural rigidity", 1 / rigidity),
            curl=field("natural curvature", scale),
            tip=flat["tip load"][:, 0] * factor,
            weight=field("weight per length", scale * factor),
        ),
        clamp=flat["clamp angle"][:, 0],
        length=scale,
        rigidity=rigidity,
        batch=batch,
        breaks=pieces,
        segments=least,
    )
    _check_solvable(given, mesh)
    return given


def _values(name: str, mesh: Mesh, value: object, low: float, high: float, unit: str) -> Array:
    """Values (..., 1) of a number or an array, (..., n) of a function at the middles."""
    if not callable(value):
        return check_numbers(name, value, least=low, most=high, unit=unit)[..., None]
    along = check_numbers(name, value(mesh.middles), least=low, most=high, unit=unit)
    if along.ndim == 0 or along.shape[-1] != len(mesh.middles):
        raise refuse(name, f"a function that returns {len(mesh.middles)} values", along.shape)
    return along


def _batch(shapes: dict[str, tuple[int, ...]]) -> tuple[int, ...]:
    shape: tuple[int, ...] = ()
    for name, one in shapes.items():
        try:
            shape = np.broadcast_shapes(shape, one)
        except ValueError:
            raise refuse(name, f"of a shape that fits {shape}", one) from None
    return shape


def check_breaks(breaks: object) -> tuple[float, ...]:
    if isinstance(breaks, tuple | list) and not breaks:
        return ()
    numbers = check_numbers("breaks", breaks, least=1e-3, most=1 - 1e-3)
    pieces = tuple(float(number) for number in numbers.ravel())
    if len(pieces) > 64 or any(b - a < 1e-3 for a, b in itertools.pairwise(pieces)):
        raise refuse("breaks", "rising by at least 0.001, at most 64 of them", breaks)
    return pieces


def _check_solvable(given: GivenRods, mesh: Mesh) -> None:
    """Refuse loads and bends beyond what `rest_shape` was tried for."""
    rods, every = given.rods, np.arange(len(given.clamp))
    rigid = rods.rigidity.at(mesh.middles, every)
    curl = np.abs(rods.curl.at(mesh.middles, every))
    if rods.weight.along is None and rods.rigidity.along is None:
        load = rods.tip + rods.weight.value
    else:
        load = (rods.loads(mesh, every) / rigid).max(axis=1)
    load = np.where(given.straight(mesh), 0.0, load)
    heavy = "tip load" if rods.tip[load.argmax()] > load.max() / 2 else "weight per length"
    for name, value, most, rule in (
        (
            heavy,
            load,
            SLACK,
            f"{SLACK:g} EI/L^2 with the other load, over which a limb hangs slack",
        ),
        ("natural curvature", curl.mean(axis=1), MOST_TURN, f"{MOST_TURN:.6g} / length on average"),
        ("natural curvature", curl, TIGHTEST, f"{TIGHTEST:g} / length anywhere"),
    ):
        if value.max() > most * ROUNDING:
            raise refuse(name, f"at most {rule}", f"{value.max():.6g}")
