"""Over-bending: how far to bend so that the wanted bend is left after letting go.

The exact inverse of the chain, without weight. What a limb keeps saturates as it is bent
further, near its wire's moment over the elastomer's rigidity; beyond that nothing helps but a
stronger wire. By hand a limb is bent no tighter than to a radius of its own thickness, where
its outer side is stretched by half.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from data import read_table
from data.rules import Array, Caution, check_kind, check_number, refuse
from flexcalc.joints.limbs import in_the_room, limb_width, one_limb
from flexcalc.joints.posed import WEIGHTLESS, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.pose.pose import check_bends
from flexcalc.pose.retained import TIGHTEST, retained_bend
from flexcalc.section.section import limb_section
from flexcalc.wire.bending import rebent_limb

GRID, ZOOM_GRID, ZOOMS = 24, 8, 4


@dataclass(frozen=True, kw_only=True)
class OverBend:
    """How far to bend.

    ``set_curvature`` [1/m]: what to bend to, or, where the wanted bend cannot be held, what
    keeps the tightest bend; ``kept_curvature`` [1/m]: what is left of it; ``tightest_kept``
    [1/m]: the tightest bend this limb keeps, all with the sign of the wanted curvature.
    ``held`` says whether the wanted bend can be had, ``text`` the same in words.
    """

    wanted_curvature: float
    set_curvature: float
    kept_curvature: float
    tightest_kept: float
    held: bool
    text: str
    cautions: tuple[Caution, ...]

    @property
    def factor(self) -> float:
        """Set over wanted curvature: also the factor on the angle of a bend of given length."""
        return self.set_curvature / self.wanted_curvature


def over_bend(
    limb: Limb,
    wanted_curvature: float,
    rule: str | None = None,
    back_stress: float | None = None,
    elastomer_share: float = 1.0,
    recoil_share: float | None = None,
) -> OverBend:
    """Return how far to bend a limb so that a curvature is left, by `retained_bend`.

    Parameters
    ----------
    limb : Limb
        Section, elastomer and wire.
    wanted_curvature : float
        Curvature to be left, either sign, not 0. [1/m]
    rule, back_stress, elastomer_share, recoil_share
        As in `retained_bend`.

    Returns
    -------
    OverBend

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    limb = rebent_limb(limb, rule, back_stress)
    wanted = _wanted(wanted_curvature)

    def kept(bent: Array) -> Array:
        return bent * retained_bend(
            limb, bent, elastomer_share=elastomer_share, recoil_share=recoil_share
        )

    return _inverse(limb, kept, wanted)


def over_bend_setting(
    limb: Limb, setting: Setting, rule: str | None = None, back_stress: float | None = None
) -> tuple[OverBend | None, ...]:
    """Return how far to bend each bend so that the setting's own bends are left.

    Parameters
    ----------
    limb : Limb
        Section, elastomer and wire.
    setting : Setting
        The pose that is wanted at its rest time, after its hold time, without weight.
    rule, back_stress
        As in `hold_pose`.

    Returns
    -------
    tuple of OverBend
        One per bend, each over the bend's own length of limb; None for a bend of no angle or
        one that a corner piece holds.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    limb = rebent_limb(limb, rule, back_stress)
    check_kind("setting", setting, Setting, "a Setting")
    check_bends(limb, setting)
    limb = in_the_room(limb, setting)
    limbs = one_limb(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    wire = math.inf if limb.wire is None else 2 / limb.wire.diameter

    def kept_at(number: int) -> Callable[[Array], Array]:
        def kept(bent: Array) -> Array:
            factors = np.ones((len(bent), len(stretches)))
            factors[:, number] = bent / abs(setting.bends[number].curvature)
            posed = pose_limbs(
                limbs.take(np.zeros(len(bent), dtype=np.intp)), setting, stretches, limb.length,
                WEIGHTLESS, (setting.rest_time,), over_bent=factors, weightless=True,
            )  # fmt: skip
            share = posed.looks[0].retained[:, number] * abs(setting.bends[number].curvature)
            # what no hand can do keeps nothing
            return np.where(posed.peak[:, number] > min(wire, _tightest(limb)), 0.0, share)

        return kept

    return tuple(
        _inverse(limb, kept_at(number), bend.curvature) if bend.angle and not bend.rigid else None
        for number, bend in enumerate(setting.bends)
    )


def over_bent(bend: Bend, over: OverBend) -> Bend:
    """Return the bend to make by hand: the same length of limb, bent further.

    Raises
    ------
    ValueError
        If that is more than two turns.
    """
    check_kind("bend", bend, Bend, "a Bend")
    check_kind("over-bend", over, OverBend, "an OverBend")
    radius = 1 / abs(over.set_curvature)
    return Bend(start=bend.start, angle=bend.angle * bend.radius / radius, radius=radius)


def _wanted(value: object) -> float:
    wanted = check_number("wanted curvature", value, least=-TIGHTEST, most=TIGHTEST, unit="1/m")
    if abs(wanted) < 1e-6:
        raise refuse("wanted curvature", "other than 0 1/m", value)
    return wanted


def _tightest(limb: Limb) -> float:
    """Return the tightest curvature to which a limb is bent by hand. [1/m]"""
    return min(0.5 / limb_section(limb).extreme_fibre, TIGHTEST)


def _inverse(limb: Limb, kept: Callable[[Array], Array], wanted: float) -> OverBend:
    side, goal = float(np.sign(wanted)), abs(wanted)
    tightest = _tightest(limb) * (1 - 1e-9)
    low = min(goal, tightest / 1.05)
    grid = np.geomspace(low, tightest, GRID)
    left = kept(grid)
    held = bool(left.max() >= goal)
    best = int(np.argmax(left))
    bent, remains = float(grid[best]), float(left[best])
    if held:
        bent, remains = _crossing(kept, grid, left, goal)
    return OverBend(
        wanted_curvature=wanted,
        set_curvature=side * bent,
        kept_curvature=side * remains,
        tightest_kept=side * float(left.max()),
        held=held,
        text=_sentence(held, goal, bent, float(left.max())),
        cautions=_cautions(limb, bent),
    )


def _crossing(
    kept: Callable[[Array], Array], grid: Array, left: Array, goal: float
) -> tuple[float, float]:
    for _ in range(ZOOMS):
        above = max(int(np.argmax(left >= goal)), 1)
        grid = np.linspace(grid[above - 1], grid[above], ZOOM_GRID)
        left = kept(grid)
    above = max(int(np.argmax(left >= goal)), 1)
    share = (goal - left[above - 1]) / (left[above] - left[above - 1])
    bent = grid[above - 1] + share * (grid[above] - grid[above - 1])
    return float(bent), float(kept(np.array([bent]))[0])


def _sentence(held: bool, goal: float, bent: float, tightest: float) -> str:
    if held:
        return f"Bend to R {1e3 / bent:.3g} mm, and R {1e3 / goal:.3g} mm is left."
    if tightest * 1e3 < 1:
        return "This bend cannot be held: the limb springs back straight."
    return f"This bend cannot be held: the tightest this limb keeps is R {1e3 / tightest:.3g} mm."


def _cautions(limb: Limb, bent: float) -> tuple[Caution, ...]:
    if limb.wire is None:
        return ()
    limit = read_table("constants")["tried range"]["wire_strain"].value
    strain = bent * limb.wire.diameter / 2
    if strain <= limit:
        return ()
    text = (
        f"Bending this far stretches the wire's surface by {strain:.0%}; nothing beyond "
        f"{limit:.0%} was tried, and the wire may crack."
    )
    return (Caution(key="wire strain", text=text),)
