"""The limb as a rod in space that rests under its own weight and a load at its tip.

Inextensible, without shear; it bends about both axes of its section and twists. Gravity pulls
along -z. Always true of the model: the limb may pass through itself and through the table.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from data.rules import Array, Caution, check_number, check_numbers, check_whole, refuse
from flexcalc.rod.chain import SLACK
from flexcalc.rod.rotations import exponential, matrices, product, quaternions
from flexcalc.rod.scaling import (
    CURVATURE,
    FORCE,
    LENGTH,
    MOST_TURN,
    RIGIDITY,
    ROUNDING,
    TIGHTEST,
    check_breaks,
)
from flexcalc.rod.space_chain import (
    ElasticSpaceLaw,
    SpaceChain,
    SpaceShape,
    solve_space_chain,
    tangents,
)
from flexcalc.rod.spacing import Mesh, cut_rod

AlongOrNumber: TypeAlias = float | Callable[[Array], Array]
LAST_STEP = 1e-10  # rad, of Newton
UNSURE = 0.02
"""Share of the length; a shape whose two chains differ by more is not reported."""
COARSE = 1e-3
"""Share of the length; a shape whose two chains differ by more carries a caution."""
SQUARE = 1e-6  # how far columns of a clamp frame may be from orthonormal
SOFTEST = 1e-6  # least of the stiffnesses over the greatest


@dataclass(frozen=True, kw_only=True)
class RestShapeInSpace:
    """Where a limb comes to rest in space.

    ``arc_length`` (n,) [m], ``positions`` (n, 3) [m] from the clamp and ``frames`` (n, 3, 3),
    columns section axis 1, axis 2 and tangent, at stations from the clamp to the tip;
    ``tip_position`` (3,) [m] and ``tip_frame`` (3, 3); ``root_moment`` (3,) of the loads about
    the clamp [N m]. ``stable``: False where the limb lost the equilibrium that grows from zero
    load (it buckled, snapped over or fell sideways); the shape is then the one it fell to.
    ``error`` [m]: the difference that the extrapolation made, far above the error that is left.
    """

    arc_length: Array = field(repr=False)
    positions: Array = field(repr=False)
    frames: Array = field(repr=False)
    tip_position: Array
    tip_frame: Array
    root_moment: Array
    stable: bool
    error: float
    cautions: tuple[Caution, ...]


def rest_shape_in_space(
    *,
    bending_stiffness: Sequence[AlongOrNumber],
    torsional_stiffness: AlongOrNumber,
    length: float,
    clamp_frame: ArrayLike,
    tip_load: float,
    weight_per_length: AlongOrNumber,
    natural_curvature: ArrayLike | Callable[[Array], Array] = (0.0, 0.0, 0.0),
    breaks: tuple[float, ...] = (),
    joints: int = 160,
) -> RestShapeInSpace:
    """Return where a limb that may turn out of a plane comes to rest under weight and tip load.

    Parameters
    ----------
    bending_stiffness : pair of number or function
        EI about section axis 1 and axis 2; functions take shares of the arc length (n,) from 0
        to 1 and return (n,). [N m2]
    torsional_stiffness : number or function
        GJ. [N m2]
    length : float
        From the clamp to the tip. [m]
    clamp_frame : array (3, 3)
        Columns: section axis 1, axis 2 and tangent at the clamp, orthonormal and right-handed,
        in axes of which z points up.
    tip_load : float
        Weight hung at the tip. [N]
    weight_per_length : number or function
        Weight of the limb. [N/m]
    natural_curvature : array (3,) or function
        Curvature without load about axis 1, about axis 2, and twist, in section axes; a function
        takes shares (n,) and returns (n, 3). [1/m]
    breaks : tuple of float
        Shares of the length where a function jumps.
    joints : int
        Least number of joints of the coarser chain, 16 to 512; one of twice as many is
        extrapolated from.

    Returns
    -------
    RestShapeInSpace

    Raises
    ------
    ValueError
        For impossible input, for loads above 50 EI/L^2 where the limb does not hang straight
        down, and for bends without load above 4 pi.
    RuntimeError
        With the inputs, if the chain finds no rest.

    Notes
    -----
    Chains of ``joints`` and twice as many joints with trapezoidal lines; the error of the first
    goes with the square of the joint's length, that of the answer with the fourth power.

    Source: Kirchhoff's rod under dead load, any text on elastic rods; own discretisation.
    """
    given = _read(
        bending_stiffness, torsional_stiffness, length, clamp_frame, tip_load, weight_per_length,
        natural_curvature, breaks, joints,
    )  # fmt: skip
    coarse, stable = _solved(given, 0, None)
    fine, _ = _solved(given, 1, coarse.frames)
    error = float(np.abs(fine.lines - coarse.lines).max()) / 3
    if error > UNSURE:
        raise RuntimeError(
            f"the shape of a limb in space differs by {error:.2g} of its length between chains; "
            f"{given}"
        )
    lines = fine.lines + (fine.lines - coarse.lines) / 3
    alike = np.where(np.sum(fine.frames * coarse.frames, axis=0) < 0, -1.0, 1.0)
    turns = fine.frames + (fine.frames - alike * coarse.frames) / 3
    frames = np.moveaxis(matrices(turns / np.sqrt(np.sum(turns**2, axis=0))), -1, 0)
    moment = fine.moment + (fine.moment - coarse.moment) / 3
    positions = given.length * lines.T
    return RestShapeInSpace(
        arc_length=given.length * cut_rod(given.breaks, given.joints, 0).nodes,
        positions=positions,
        frames=frames,
        tip_position=positions[-1],
        tip_frame=frames[-1],
        root_moment=given.stiffness / given.length * moment,
        stable=stable,
        error=error * given.length,
        cautions=_cautions(stable, error),
    )


@dataclass(frozen=True, kw_only=True)
class _Given:
    """A rod scaled to length 1 and stiffness about 1; functions of the share (n,): ``stiff`` and
    ``curl`` return (3, n), ``weight`` (n,). ``length`` [m] and ``stiffness`` [N m2] scaled it."""

    stiff: Callable[[Array], Array] = field(repr=False)
    curl: Callable[[Array], Array] = field(repr=False)
    weight: Callable[[Array], Array] = field(repr=False)
    tip: float
    clamp: Array
    length: float
    stiffness: float
    breaks: tuple[float, ...]
    joints: int


@dataclass(frozen=True, kw_only=True)
class _Level:
    """One chain at the nodes of the coarser: ``lines`` (3, n), ``frames`` (4, n) and the
    ``moment`` (3,) of the loads about the clamp."""

    lines: Array
    frames: Array
    moment: Array


def _solved(given: _Given, halvings: int, coarse: Array | None) -> tuple[_Level, bool]:
    """Solve one chain: frames at nodes, each joint the piece between two of them."""
    mesh = cut_rod(given.breaks, given.joints, halvings)
    lengths = mesh.segments
    natural = given.curl(mesh.middles)
    law = ElasticSpaceLaw(stiffness=given.stiff(mesh.middles)[:, None], natural=natural[:, None])
    loads = given.tip + _beyond(given, mesh)
    shares = (mesh.before + mesh.after)[1:]
    chain = SpaceChain(
        law=law, lengths=lengths, clamp=given.clamp[:, None], pull=(loads[1:] * shares)[None]
    )
    if coarse is None:
        shape = solve_space_chain(chain, _unloaded(given, natural * lengths), 0.0, LAST_STEP)
    else:
        shape = solve_space_chain(chain, _between(coarse)[:, None, 1:], 1.0, LAST_STEP)
    return _level(given, mesh, shape, loads), bool(shape.stable[0])


def _unloaded(given: _Given, turns: Array) -> Array:
    """Return the frames (4, 1, N) of the rod without load."""
    frames = [given.clamp]
    for turn in exponential(turns).T:
        frames.append(product(frames[-1], turn))
    return np.stack(frames[1:], axis=1)[:, None]


def _between(frames: Array) -> Array:
    """Return the frames (4, 2n - 1) of nodes (4, n) and of the middles between them."""
    signs = np.where(np.sum(frames[:, 1:] * frames[:, :-1], axis=0) < 0, -1.0, 1.0)
    signs = np.append(1.0, np.cumprod(signs))
    frames = frames * signs
    found = np.empty((4, 2 * frames.shape[1] - 1))
    found[:, ::2] = frames
    found[:, 1::2] = (frames[:, 1:] + frames[:, :-1]) / 2
    return np.asarray(found / np.sqrt(np.sum(found**2, axis=0)))


def _level(given: _Given, mesh: Mesh, shape: SpaceShape, loads: Array) -> _Level:
    frames = np.concatenate([given.clamp[:, None], shape.frames[:, 0]], axis=1)
    ways = tangents(frames)
    line = np.cumsum((ways[:, 1:] + ways[:, :-1]) / 2 * mesh.segments, axis=1)
    line = np.concatenate([np.zeros((3, 1)), line], axis=1)
    # the half segment at the clamp does not turn, but its load has its arm
    x, y, _ = ways[:, 0] * loads[0] * mesh.segments[0] / 2
    moment = shape.moments[:, 0, 0] + np.array([-y, x, 0.0])
    every = (len(mesh.segments)) // len(cut_rod(given.breaks, given.joints, 0).segments)
    return _Level(lines=line[:, ::every], frames=frames[:, ::every], moment=moment)


def _beyond(given: _Given, mesh: Mesh) -> Array:
    """Return the weight beyond each node (N + 1,)."""
    points, shares = np.polynomial.legendre.leggauss(4)
    halves = mesh.segments[:, None] / 2
    places = mesh.middles[:, None] + halves * points
    pieces = np.sum(given.weight(places.ravel()).reshape(places.shape) * shares * halves, axis=1)
    return np.append(np.cumsum(pieces[::-1])[::-1], 0.0)


def _read(
    bending_stiffness: object,
    torsional_stiffness: object,
    length: object,
    clamp_frame: object,
    tip_load: object,
    weight_per_length: object,
    natural_curvature: object,
    breaks: object,
    joints: object,
) -> _Given:
    """Check and scale the arguments of `rest_shape_in_space`."""
    least = check_whole("joints", joints, least=16, most=512)
    pieces = check_breaks(breaks)
    scale = check_number("length", length, least=LENGTH[0], most=LENGTH[1], unit="m")
    first, second = _pair(bending_stiffness)
    twist = _along("torsional stiffness", torsional_stiffness, *RIGIDITY)
    weight = _along("weight per length", weight_per_length, 0.0, FORCE)
    curl = _curl(natural_curvature)
    tip = check_number("tip load", tip_load, least=0.0, most=FORCE, unit="N")
    middles = cut_rod(pieces, least, 1).middles
    values = np.stack([first(middles), second(middles), twist(middles)])
    for name, part in (("bending stiffness", values[:2]), ("torsional stiffness", values[2])):
        if part.min() < SOFTEST * values.max():
            rule = f"at least {SOFTEST:g} of the greatest stiffness of the limb"
            raise refuse(name, rule, f"{part.min() / values.max():.3g} of it")
    rigidity = float(values[:2].mean())
    factor = scale**2 / rigidity
    given = _Given(
        stiff=lambda shares: np.stack([one(shares) for one in (first, second, twist)]) / rigidity,
        curl=lambda shares: scale * curl(shares),
        weight=lambda shares: scale * factor * weight(shares),
        tip=tip * factor,
        clamp=_clamp(clamp_frame),
        length=scale,
        stiffness=rigidity,
        breaks=pieces,
        joints=least,
    )
    _check_solvable(given)
    return given


def _pair(bending_stiffness: Any) -> tuple[Callable[[Array], Array], Callable[[Array], Array]]:
    """Return checked functions of the share for both axes of the section."""
    try:
        first, second = bending_stiffness
    except (TypeError, ValueError):
        raise refuse("bending stiffness", "a pair (EI1, EI2)", bending_stiffness) from None
    name = "bending stiffness"
    return _along(name, first, *RIGIDITY), _along(name, second, *RIGIDITY)


def _clamp(clamp_frame: object) -> Array:
    """Return the clamp's frame as a quaternion (4,)."""
    frame = check_numbers("clamp frame", clamp_frame, least=-1.01, most=1.01)
    rule = "three orthonormal columns, right-handed: section axis 1, axis 2 and tangent"
    if frame.shape != (3, 3):
        raise refuse("clamp frame", rule, f"shape {frame.shape}")
    off = float(np.abs(frame.T @ frame - np.eye(3)).max())
    if off > SQUARE or np.linalg.det(frame) < 0:
        raise refuse("clamp frame", rule, f"columns {off:.2g} from orthonormal")
    left, _, right = np.linalg.svd(frame)
    return quaternions(left @ right)


def _along(name: str, value: object, least: float, most: float) -> Callable[[Array], Array]:
    """Return a checked function of the share (n,) from a number or a function."""
    if not callable(value):
        number = check_number(name, value, least=least, most=most)
        return lambda shares: np.full(len(shares), number)

    def along(shares: Array) -> Array:
        values = check_numbers(name, value(shares), least=least, most=most)
        if values.shape != shares.shape:
            raise refuse(name, f"a function that returns {len(shares)} values", values.shape)
        return values

    return along


def _curl(value: object) -> Callable[[Array], Array]:
    """Return natural curvature as a function of the share (n,) that returns (3, n)."""
    name = "natural curvature"
    if not callable(value):
        vector = check_numbers(name, value, least=-CURVATURE, most=CURVATURE)
        if vector.shape != (3,):
            rule = "three numbers (about axis 1, about axis 2, twist) or a function of the share"
            raise refuse(name, rule, f"shape {vector.shape}")
        return lambda shares: np.repeat(vector[:, None], len(shares), axis=1)

    def along(shares: Array) -> Array:
        values = check_numbers(name, value(shares), least=-CURVATURE, most=CURVATURE)
        if values.shape != (len(shares), 3):
            raise refuse(name, f"a function that returns ({len(shares)}, 3) values", values.shape)
        return np.ascontiguousarray(values.T)

    return along


def _check_solvable(given: _Given) -> None:
    """Refuse loads and bends beyond what `rest_shape` admits in the plane."""
    middles = cut_rod(given.breaks, given.joints, 1).middles
    curl = np.sqrt(np.sum(given.curl(middles) ** 2, axis=0))
    tangent = tangents(given.clamp)
    hangs = tangent[2] < -1 + 1e-12 and not curl.any()
    weight = float(_beyond(given, cut_rod(given.breaks, given.joints, 1))[0])
    load = 0.0 if hangs else (given.tip + weight) / float(given.stiff(middles)[:2].min())
    heavy, bent = "tip load" if given.tip > weight else "weight per length", "natural curvature"
    slack = f"{SLACK:g} EI/L^2 with the other load, over which a limb hangs slack"
    for name, value, most, rule in (
        (heavy, load, SLACK, slack),
        (bent, float(curl.mean()), MOST_TURN, f"{MOST_TURN:.6g} / length on average"),
        (bent, float(curl.max()), TIGHTEST, f"{TIGHTEST:g} / length anywhere"),
    ):
        if value > most * ROUNDING or not math.isfinite(value):
            raise refuse(name, f"at most {rule}", f"{value:.6g}")


def _cautions(stable: bool, error: float) -> tuple[Caution, ...]:
    found = []
    if not stable:
        found.append(
            Caution(
                key="falls",
                text="The limb cannot stand as drawn: under its load it buckles or falls "
                "sideways. The shape shown is the fallen one.",
            )
        )
    if error > COARSE:
        found.append(
            Caution(
                key="coarse",
                text=f"The shape is only sure to {error:.1g} of the length: either a stiffness, "
                "weight or natural curvature jumps at a place that breaks does not name, or the "
                "limb stands just at the load that buckles it.",
            )
        )
    return tuple(found)
