"""The limb as a rod that rests under its own weight and a load at its tip.

Planar, inextensible, without shear. With phi the direction of the limb from straight down,
(EI (phi' - kappa0))' = (P + W(s)) sin phi, where W is the weight beyond s. Always true of the
model: the limb may pass through itself and through the table.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Caution, check_number
from flexcalc.rod.chain import Array as Array
from flexcalc.rod.chain import ChainShape as ChainShape
from flexcalc.rod.chain import ElasticLaw as ElasticLaw
from flexcalc.rod.chain import Mask as Mask
from flexcalc.rod.chain import solve_chain as solve_chain
from flexcalc.rod.column import share_of_buckling_load
from flexcalc.rod.extrapolation import unit_shapes
from flexcalc.rod.scaling import read_rods
from flexcalc.rod.spacing import cut_rod

UNSURE = 0.02
"""Share of the length; a shape whose two chains differ by more is not reported."""
COARSE = 0.3
"""Share of the root of the accuracy; a shape whose two chains differ by more carries a caution."""
UPRIGHT = math.radians(10)
"""A limb that starts within this of upright is judged as a column."""

AlongOrNumber: TypeAlias = ArrayLike | Callable[[Array], Array]


@dataclass(frozen=True, kw_only=True)
class RestShape:
    """Where a limb comes to rest; a batch of limbs has its axes in front of those named here.

    ``arc_length`` (n,) [m], ``positions`` (n, 2) [m] (x to the right, y up, from the clamp) and
    ``angles`` (n,) [rad] from straight down, at stations from the clamp to the tip;
    ``tip_position`` (2,) [m]; ``root_moment`` [N m] of the loads about the clamp, positive where
    they push the limb down from x > 0. ``stable``: False where the limb lost the equilibrium
    that grows from zero load (buckled or snapped over); the shape is then the one it fell to.
    ``buckling_ratio``: load over the load under which the straight limb, clamped upright, would
    buckle. ``buckles``: it cannot stand as drawn, and a caution says so. ``error`` [m]: the
    difference that the extrapolation made, far above the error of a smooth limb.
    """

    arc_length: Array = field(repr=False)
    positions: Array = field(repr=False)
    angles: Array = field(repr=False)
    tip_position: Array
    root_moment: Array
    stable: Mask
    buckling_ratio: Array
    buckles: Mask
    error: Array
    cautions: tuple[Caution, ...]


def rest_shape(
    flexural_rigidity: AlongOrNumber,
    length: ArrayLike,
    clamp_angle: ArrayLike,
    tip_load: ArrayLike,
    weight_per_length: AlongOrNumber,
    natural_curvature: AlongOrNumber = 0.0,
    *,
    breaks: tuple[float, ...] = (),
    segments: int = 32,
    accuracy: float = 1e-8,
) -> RestShape:
    """Return where a limb clamped at its root comes to rest under its weight and a tip load.

    Every argument may be an array; they broadcast to a batch that is solved at once. Rigidity,
    weight and natural curvature may also be functions of the share of the arc length (n,) from
    0 to 1 that return (n,) values, for tapers and steps.

    Parameters
    ----------
    flexural_rigidity : number, array or function
        EI. [N m2]
    length : number or array
        From the clamp to the tip. [m]
    clamp_angle : number or array
        Direction at the clamp from straight down: 0 hangs, pi/2 is level, pi upright; negative
        angles start to the left. [rad]
    tip_load : number or array
        Weight hung at the tip. [N]
    weight_per_length : number, array or function
        Weight of the limb. [N/m]
    natural_curvature : number, array or function
        Curvature without load, positive upwards on a limb that points right. A couple m at the
        tip of a limb is the natural curvature m/EI added to its own. [1/m]
    breaks : tuple of float
        Shares of the length where a function jumps, such as where the wire ends.
    segments : int
        Least number of stations less one, 8 to 512.
    accuracy : float
        Greatest error that is wanted, as a share of the length; 1e-9 to 1e-3.

    Returns
    -------
    RestShape
        Errors of the positions are below ``accuracy``. A limb exactly upright that cannot
        stand falls to the side x > 0 for a clamp angle of pi, to x < 0 for -pi.

    Raises
    ------
    ValueError
        For impossible input, for loads above 50 EI/L^2 where the limb does not hang straight
        down, and for bends without load above 4 pi.
    RuntimeError
        With the inputs, if the chain finds no rest.

    Notes
    -----
    Source: elastica under dead load, any text on large deflections; critical loads by Euler and
    Greenhill.
    """
    wanted = check_number("accuracy", accuracy, least=1e-9, most=1e-3)
    given = read_rods(
        flexural_rigidity, length, clamp_angle, tip_load, weight_per_length, natural_curvature,
        breaks, segments,
    )  # fmt: skip
    unit = unit_shapes(given, wanted)
    if unit.error.max() > UNSURE:
        raise RuntimeError(
            f"the shape of a limb differs by {unit.error.max():.2g} of its length between chains; "
            f"breaks {given.breaks}, {given.described(int(unit.error.argmax()))}"
        )
    ratio = share_of_buckling_load(given.rods, given.breaks)
    nodes = cut_rod(given.breaks, given.segments, 0).nodes
    leaning = np.abs(given.clamp) > math.pi - UPRIGHT
    buckles = ~unit.stable | (leaning & (ratio > 1))
    scale, batch = given.length, given.batch
    positions = np.stack([unit.x, unit.y], axis=-1) * scale[:, None, None]
    return RestShape(
        arc_length=(nodes * scale[:, None]).reshape(*batch, -1),
        positions=positions.reshape(*batch, -1, 2),
        angles=unit.angles.reshape(*batch, -1),
        tip_position=positions[:, -1].reshape(*batch, 2),
        root_moment=(unit.moment * given.rigidity / scale).reshape(batch)[()],
        stable=unit.stable.reshape(batch)[()],
        buckling_ratio=ratio.reshape(batch)[()],
        buckles=buckles.reshape(batch)[()],
        error=(unit.error * scale).reshape(batch)[()],
        cautions=(*_buckling(buckles, ratio), *_coarseness(unit.error, wanted)),
    )


def _buckling(buckles: Mask, ratio: Array) -> tuple[Caution, ...]:
    if not buckles.any():
        return ()
    whom = "The limb" if len(buckles) == 1 else f"{buckles.sum()} of {len(buckles)} limbs"
    text = (
        f"{whom} cannot stand as drawn: under a load of {ratio[buckles].max():.2g} times the one "
        "that buckles it upright it falls over. The shape shown is the fallen one."
    )
    return (Caution(key="buckles", text=text),)


def _coarseness(error: Array, wanted: float) -> tuple[Caution, ...]:
    if error.max() <= COARSE * math.sqrt(wanted):
        return ()
    text = (
        f"The shape is only sure to {error.max():.1g} of the length: either rigidity, weight or "
        "natural curvature jumps at a place that breaks does not name, or the limb stands just "
        "at the load that buckles it."
    )
    return (Caution(key="coarse", text=text),)
