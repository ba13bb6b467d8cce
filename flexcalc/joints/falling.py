"""Limbs that stay in their plane unless they fall out of it: sideways, under what they carry.

A limb that carries little cannot fall sideways and is not asked; the others are followed in space
too, and whoever falls there has fallen.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flexcalc.joints.balance import Mask
from flexcalc.joints.limbs import FLATTEST, at_stations, flatness, in_space
from flexcalc.joints.points import Fineness
from flexcalc.joints.posed import Posed, pose_limbs
from flexcalc.joints.rows import Limbs
from flexcalc.joints.stretches import Stretch
from flexcalc.limb.inputs import GRAVITY, Limb, Setting
from flexcalc.section.section import limb_section
from flexcalc.section.torsion import torsional_rigidity
from flexcalc.wire.twisting import wire_poisson_ratio

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
    bare = np.array([one.flexural_rigidity_bare[0] for one in at_stations(limb, limb_section)])
    twisting = bending * float(np.mean(at_stations(limb, torsional_rigidity) / bare))
    if limbs.bundle is not None:
        own = np.reshape(limbs.bundle.rigidity, -1)
        bending = bending + own
        if limb.wire_anchored:
            twisting = twisting + own / (1 + wire_poisson_ratio())
    weight = GRAVITY * (limbs.payload + limbs.mean_mass * limb.length)
    return np.asarray(weight * limb.length**2 > WORTH_ASKING * np.sqrt(bending * twisting))


def pose_or_fall(
    limb: Limb,
    limbs: Limbs,
    setting: Setting,
    stretches: Sequence[Stretch],
    fineness: Fineness,
    rest_times: Sequence[float],
) -> Posed:
    """Return `pose_limbs` of limbs of one plan, in space where one of them falls sideways.

    Errors as there.
    """
    posed = pose_limbs(limbs, setting, stretches, limb.length, fineness, rest_times)
    if limbs.sides is not None:
        return posed
    rows = np.flatnonzero(may_fall_sideways(limb, limbs) & ~posed.slack)
    if rows.size == 0:
        return posed
    aside = pose_limbs(
        in_space(limbs.take(rows), limb), setting, stretches, limb.length, fineness, rest_times
    )
    pairs = zip(posed.looks, aside.looks, strict=True)
    if not any(np.any(flat.stable[rows] & ~free.stable) for flat, free in pairs):
        return posed
    return pose_limbs(in_space(limbs, limb), setting, stretches, limb.length, fineness, rest_times)
