"""Limbs that stay in their plane unless they fall out of it: sideways, under what they carry.

A limb that carries little cannot fall sideways and is not asked; the others are followed in space
too, and whoever falls there has fallen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import Array
from flexcalc.joints.balance import Mask
from flexcalc.joints.limbs import FLATTEST, at_stations, flatness, in_space, sections_at_stations
from flexcalc.joints.points import Fineness
from flexcalc.joints.posed import Looked, Posed, pose_limbs
from flexcalc.joints.rows import Limbs
from flexcalc.joints.space_line import line_in_plane
from flexcalc.joints.stretches import Stretch
from flexcalc.limb.inputs import GRAVITY, Limb, Setting
from flexcalc.section.torsion import torsional_rigidity
from flexcalc.wire.twisting import wire_poisson_ratio

Rows = NDArray[np.intp]
KEPT = ("retained", "loaded", "least", "greatest", "straightened", "stable")
"""What a look says of each limb beside its lines."""
WORTH_ASKING = 1.0
"""Load over the root of both rigidities times the length squared, from which a limb in its plane
is followed in space too: a quarter of what a straight one bears."""


def may_fall_sideways(limb: Limb, limbs: Limbs) -> Mask:
    """Return which limbs (B,) of one plan carry so much that it is worth asking.

    A straight level limb falls sideways at 4 sqrt(EI GJ) / L^2 at its tip; a bent one sooner.
    Ribbons flatter than FLATTEST are beyond what is followed in space.
    """
    if flatness(limb) > FLATTEST:
        return np.zeros(len(limbs.payload), dtype=bool)
    bending = limbs.rigidity.mean(axis=1)
    twisting = bending * _twisting_over_bending(limb)
    if limbs.bundle is not None:
        own = np.reshape(limbs.bundle.rigidity, -1)
        bending = bending + own
        if limb.wire_anchored:
            twisting = twisting + own / (1 + wire_poisson_ratio())
    weight = GRAVITY * (limbs.payload + limbs.mean_mass * limb.length)
    return np.asarray(weight * limb.length**2 > WORTH_ASKING * np.sqrt(bending * twisting))


@lru_cache(maxsize=64)
def _twisting_over_bending(limb: Limb) -> float:
    """Return the mean over a limb's stations of its bare torsional over its bending rigidity."""
    bare = np.array([one.flexural_rigidity_bare[0] for one in sections_at_stations(limb)])
    return float(np.mean(at_stations(limb, torsional_rigidity) / bare))


def pose_or_fall(
    limb: Limb,
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    fineness: Fineness,
    rest_times: Sequence[float],
    *,
    settles: bool = True,
) -> Posed:
    """Return `pose_limbs` of limbs of one plan, those that fall sideways where they fall to.

    With ``settles`` False these are told as not stable and left in the plane. Errors as there.
    """
    posed = pose_limbs(limbs, setting, stretches, limb.length, fineness, rest_times)
    if limbs.sides is not None:
        return posed
    stood = np.stack([look.stable for look in posed.looks]).any(axis=0)
    rows = np.flatnonzero(may_fall_sideways(limb, limbs) & stood)
    if rows.size == 0:
        return posed
    free = in_space(limbs.take(rows), limb, settles=settles)
    aside = pose_limbs(free, setting, stretches, limb.length, fineness, rest_times)
    pairs = list(zip(posed.looks, aside.looks, strict=True))
    fallen = np.array([flat.stable[rows] & ~look.stable for flat, look in pairs])
    if not fallen.any():
        return posed
    if not settles:
        looks = [
            replace(flat, stable=_with(flat.stable, rows, flat.stable[rows] & ~fell))
            for (flat, _), fell in zip(pairs, fallen, strict=True)
        ]
        return replace(posed, looks=tuple(looks))
    own, arcs = np.flatnonzero(fallen.any(axis=0)), posed.arc_length
    line = line_in_plane(posed.as_set, arcs)
    looks = [_merged(flat, rows[own], look, own, arcs) for flat, look in pairs]
    return replace(posed, as_set=line.angles, line=line, looks=tuple(looks))


def _merged(flat: Looked, rows: Rows, aside: Looked, own: Rows, arc_length: Array) -> Looked:
    """Return one look at limbs in space: in their plane but for ``rows``, the ``own`` of aside."""
    if aside.lines is None:
        raise RuntimeError("limbs followed in space without their lines")
    lines = []
    for angles, free in zip((flat.released, flat.resting), aside.lines, strict=True):
        line = line_in_plane(angles, arc_length)
        line.points[rows], line.frames[:, rows] = free.points[own], free.frames[:, own]
        lines.append(line)
    torque = np.zeros(len(flat.stable))
    torque[rows] = np.broadcast_to(aside.torque, aside.stable.shape)[own]
    return Looked(
        released=lines[0].angles,
        resting=lines[1].angles,
        **{name: _with(getattr(flat, name), rows, getattr(aside, name)[own]) for name in KEPT},
        lines=(lines[0], lines[1]),
        torque=torque,
    )


def _with(values: Any, rows: Rows, others: Any) -> Any:
    found = values.copy()
    found[rows] = others
    return found
