"""Moment tables of many wires at once, made from few.

The moment of a wire over the cube of its radius depends on its surface strain alone. So the wires
of one metal share one loading curve, and their release curves form one family over the strain
they were bent to, which is tabled at a few strains and interpolated. Strands add up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from data.rules import Array
from flexcalc.pose.batch import Fineness
from flexcalc.pose.release import WireTables
from flexcalc.wire.bundle import Bundle
from flexcalc.wire.moment_table import Branch, loading_branch, release_branch

UNIT = 1e-3
"""Radius of the wire that stands for all of its metal. [m]"""
FEWEST_NODES, NODES_PER_FOLD = 3, 3.0
"""Strains at which a family of release curves is tabled: so many, and so many more for each
factor e between the least and the most; within 3e-4 of the share kept."""
ELASTIC = 1.5
"""Strains below this many times the yield strain are tabled one by one: there the family has a
corner."""


@dataclass(frozen=True, kw_only=True)
class MetalWires:
    """Wires of one metal: its ``law`` drawn (samples,), a Bundle whose radius does not matter;
    ``radius`` (W, samples) [m] and ``strands`` (W,) of each wire.
    """

    law: Bundle
    radius: Array
    strands: Array


def wire_tables(
    groups: Sequence[MetalWires], curvatures: Sequence[float], fineness: Fineness
) -> WireTables:
    """Return the tables of all wires, rows group by group, wire by wire, sample by sample.

    ``curvatures`` [1/m] are those of the bends, above 0.
    """
    loading = _joined([_loading(group, fineness.nodes) for group in groups])
    different = tuple(dict.fromkeys(curvatures))
    if not different:
        return WireTables(loading=loading, release={})
    released = [_release(group, np.array(different), fineness) for group in groups]
    release = {
        curvature: _joined([branches[index] for branches in released])
        for index, curvature in enumerate(different)
    }
    return WireTables(loading=loading, release=release)


def taken_tables(tables: WireTables, rows: slice) -> WireTables:
    """Return the tables of some rows."""
    release: Mapping[float, Branch] = {
        curvature: _rows(branch, rows) for curvature, branch in tables.release.items()
    }
    return WireTables(loading=_rows(tables.loading, rows), release=release)


def _rows(branch: Branch, rows: slice) -> Branch:
    return Branch(**{name: array[rows] for name, array in vars(branch).items()})


def _joined(branches: Sequence[Branch]) -> Branch:
    names = vars(branches[0])
    return Branch(**{n: np.concatenate([getattr(one, n) for one in branches]) for n in names})


def _loading(group: MetalWires, nodes: int) -> Branch:
    branch = loading_branch(_unit_bundle(group.law), nodes)
    count = len(group.strands)
    repeated = {
        name: np.broadcast_to(array, (count, *array.shape)) for name, array in vars(branch).items()
    }
    return _sized(repeated, group)


def _release(group: MetalWires, curvatures: Array, fineness: Fineness) -> list[Branch]:
    """Return the release curves of a group from each bend."""
    bundle = _unit_bundle(group.law)
    strain = curvatures[:, None, None] * group.radius
    low, high = np.log(strain.min()), np.log(strain.max())
    count = FEWEST_NODES + int(np.ceil(NODES_PER_FOLD * (high - low)))
    sizes, first, back = np.unique(
        np.round(group.radius[:, 0], 15), return_index=True, return_inverse=True
    )
    elastic = float(strain.min()) < ELASTIC * float(bundle.flow.yield_strain.max())
    if elastic or len(sizes) * len(curvatures) <= count:
        return [
            _sized({n: a[back] for n, a in _tabled(bundle, one, fineness).items()}, group)
            for one in strain[:, first]
        ]
    spots = np.polynomial.chebyshev.chebpts2(count)
    nodes = np.exp(low + (high - low) * (spots + 1) / 2)
    family = _tabled(bundle, np.broadcast_to(nodes[:, None], (count, strain.shape[2])), fineness)
    weights = _lagrange(spots, 2 * (np.log(strain) - low) / (high - low) - 1)
    return [
        _sized({name: _mixed(one, array) for name, array in family.items()}, group)
        for one in weights
    ]


def _unit_bundle(law: Bundle) -> Bundle:
    one = np.ones_like(law.radius)
    return Bundle(flow=law.flow, radius=UNIT * one, strands=one)


def _tabled(bundle: Bundle, strain: Array, fineness: Fineness) -> dict[str, Array]:
    """Return release curves of wires of radius UNIT, arrays (k, samples, ...)."""
    many = bundle.take(np.tile(np.arange(strain.shape[1]), len(strain)))
    curvature = (strain / UNIT).ravel()
    branch = release_branch(many, curvature, fineness.nodes, fineness.fibres)
    return {
        name: array.reshape(*strain.shape, *array.shape[1:]) for name, array in vars(branch).items()
    }


def _lagrange(spots: Array, place: Array) -> Array:
    """Return weights (..., nodes) that interpolate between ``spots`` at ``place`` (...)."""
    apart = spots[:, None] - spots[None, :]
    np.fill_diagonal(apart, 1.0)
    away = place[..., None] - spots
    weights = np.empty_like(away)
    for node in range(len(spots)):
        others = np.delete(away, node, axis=-1)
        weights[..., node] = others.prod(axis=-1) / apart[node].prod()
    return weights


def _mixed(weights: Array, family: Array) -> Array:
    """Return (W, samples, ...) from weights (W, samples, nodes) and (nodes, samples, ...)."""
    return np.asarray(np.einsum("wsn,ns...->ws...", weights, family))


def _sized(unit: Mapping[str, Array], group: MetalWires) -> Branch:
    """Return the curves of wires of their own radius from those of radius UNIT, rows flat."""
    ratio = group.radius / UNIT
    moment = ratio**3 * group.strands[:, None]
    factors = {
        "start": moment,
        "rigidity": moment * ratio,
        "first": 1 / ratio,
        "span": np.ones_like(ratio),
        "moments": moment[..., None],
        "slopes": moment[..., None],
    }
    rows = ratio.size
    return Branch(
        **{name: (factors[name] * unit[name]).reshape(rows, *unit[name].shape[2:]) for name in unit}
    )
