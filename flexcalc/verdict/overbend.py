"""Over-bending: how far to bend so that the wanted bend is left after letting go.

The exact inverse of the chain, without weight. What a limb keeps saturates as it is bent
further, near its wire's moment over the elastomer's rigidity; beyond that nothing helps but a
stronger wire. Nothing is proposed that would kink the limb, wear its wire out before the wanted
number of re-poses, or stretch wire or elastomer further than was tried.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from data import read_table
from data.rules import Array, Caution, check_kind, check_number, refuse
from flexcalc.build.kink import kink_radius_of
from flexcalc.build.life import tightest_radius
from flexcalc.joints.limbs import in_the_room, limb_width, one_limb
from flexcalc.joints.posed import WEIGHTLESS, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import check_bends
from flexcalc.pose.retained import TIGHTEST, retained_bend
from flexcalc.section.section import limb_section
from flexcalc.verdict.plan import WANTED_RE_POSES, LimbPlan
from flexcalc.wire.bending import rebent_limb

PRESSED = replace(
    WEIGHTLESS,
    fibres=24,
    arm=6,
    closely=replace(WEIGHTLESS.closely, looks=4, late_looks=2),
)
"""Hands make many sorts of joints; what is left of their bends then hangs less on each."""
GRID, ZOOM_GRID = 24, 8
HANDS = 8.0
FURTHER, WORTH = 1.1, 0.05
"""A limit binds where a tenth more would keep a twentieth of itself; else the limb is saturated."""
Kept: TypeAlias = tuple[Array, Array]
"""Curvature left, and the peak of curvature in the hand. [1/m]"""
LIMITS = {
    "kink": "or the limb may kink",
    "life": "or the wire cracks too soon",
    "wire strain": "the wire would be stretched further than was tried",
    "elastomer strain": "the elastomer would be stretched further than was tried",
}


@dataclass(frozen=True, kw_only=True)
class OverBend:
    """How far to bend.

    ``set_curvature`` [1/m]: what to bend to, or, where the wanted bend cannot be held, what
    keeps the tightest bend; ``kept_curvature`` [1/m]: what is left of it; ``tightest_kept``
    [1/m]: the tightest bend this limb keeps within its limits, all with the sign of the wanted
    curvature. ``held`` says whether the wanted bend can be had, ``text`` the same in words.
    ``limit`` is what forbids to bend further where it cannot be held: "kink", "life", "wire
    strain" or "elastomer strain", or "" where bending further would not help. ``cautions`` are
    those of the kink radius.
    """

    wanted_curvature: float
    set_curvature: float
    kept_curvature: float
    tightest_kept: float
    held: bool
    limit: str
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
    *,
    printer: Printer | None = None,
    re_poses: float = WANTED_RE_POSES,
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
    printer : Printer, optional
        For the radius at which the limb kinks, see `kink_radius_of`.
    re_poses : float
        How often the wire is to bear this bend, 1 to 10 million.

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

    def kept(bent: Array) -> Kept:
        share = retained_bend(
            limb, bent, elastomer_share=elastomer_share, recoil_share=recoil_share
        )
        return bent * share, bent

    limits = bend_limits(limb, printer=printer, re_poses=re_poses)
    return _inverse(kept, wanted, limits, kink_radius_of(limb, printer=printer).cautions)


def over_bend_setting(
    limb: Limb,
    setting: Setting,
    rule: str | None = None,
    back_stress: float | None = None,
    *,
    printer: Printer | None = None,
    re_poses: float = WANTED_RE_POSES,
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
    printer, re_poses
        As in `over_bend`.

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
    limits = bend_limits(limb, printer=printer, re_poses=re_poses)
    doubts = kink_radius_of(limb, printer=printer).cautions
    limb = in_the_room(limb, setting)
    limbs = one_limb(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))

    def kept_at(number: int) -> Callable[[Array], Kept]:
        def kept(bent: Array) -> Kept:
            # without weight the other bends do not matter, but for where their hands end
            bend = setting.bends[number]
            posed = pose_limbs(
                limbs.take(np.zeros(len(bent), dtype=np.intp)),
                replace(setting, bends=(bend,)),
                stretches[number : number + 1],
                limb.length,
                WEIGHTLESS if setting.bent_by == "former" else PRESSED,
                (setting.rest_time,),
                over_bent=bent[:, None] / abs(bend.curvature),
                weightless=True,
            )
            return posed.looks[0].retained[:, 0] * abs(bend.curvature), posed.peak[:, 0]

        return kept

    return tuple(
        _inverse(kept_at(number), bend.curvature, limits, doubts)
        if bend.angle and not bend.rigid
        else None
        for number, bend in enumerate(setting.bends)
    )


def over_bends_of(plan: LimbPlan) -> tuple[OverBend | None, ...]:
    """Return `over_bend_setting` for a plan's limb, printer and wanted re-poses."""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return over_bend_setting(
        plan.limb, plan.setting, printer=plan.printer, re_poses=plan.wish.re_poses
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
    return replace(bend, angle=bend.angle * bend.radius / radius, radius=radius, over_bend=1.0)


def over_bent_setting(
    limb: Limb,
    setting: Setting,
    *,
    printer: Printer | None = None,
    re_poses: float = WANTED_RE_POSES,
) -> Setting:
    """Return the setting whose bends are made as `over_bend_setting` says, as bent by hand.

    Bends that need no wire to stay (rigid ones) and limbs without a wire are as they were.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    if limb.wire is None:
        return setting
    overs = over_bend_setting(limb, setting, printer=printer, re_poses=re_poses)
    pairs = zip(setting.bends, overs, strict=True)
    return replace(setting, bends=tuple(over_bent(b, o) if o else b for b, o in pairs))


def bend_limits(
    limb: Limb, *, printer: Printer | None = None, re_poses: float = WANTED_RE_POSES
) -> dict[str, float]:
    """Return the greatest curvatures that a limb may be bent to, by what limits them. [1/m]

    "kink": where the whole band of `kink_radius_of` is passed; "life": what every strain-life law
    bears ``re_poses`` times, straight to bent and back; "wire strain" and "elastomer strain": the
    strains that were tried (rows "tried range").
    """
    check_kind("limb", limb, Limb, "a Limb")
    tried = read_table("constants")["tried range"]
    found = {
        "kink": 1 / kink_radius_of(limb, printer=printer).high,
        "elastomer strain": tried["elastomer_strain"].value / limb_section(limb).extreme_fibre,
    }
    if limb.wire is not None:
        found["life"] = 1 / tightest_radius(limb.wire, re_poses).high
        found["wire strain"] = tried["wire_strain"].value / (limb.wire.diameter / 2)
    return found


def _wanted(value: object) -> float:
    wanted = check_number("wanted curvature", value, least=-TIGHTEST, most=TIGHTEST, unit="1/m")
    if abs(wanted) < 1e-6:
        raise refuse("wanted curvature", "other than 0 1/m", value)
    return wanted


def _inverse(
    kept: Callable[[Array], Kept],
    wanted: float,
    limits: Mapping[str, float],
    cautions: tuple[Caution, ...],
) -> OverBend:
    side, goal = float(np.sign(wanted)), abs(wanted)
    limit = min(limits, key=lambda name: limits[name])
    tightest = min(limits[limit], TIGHTEST)

    def within(bent: Array) -> Array:
        left, peak = kept(bent)
        return np.where(peak > tightest * (1 + 1e-9), 0.0, left)

    low = min(goal, tightest / 1.05)
    grid = np.geomspace(low, tightest, GRID)
    left = within(grid)
    if not left.any():  # pressed by hand, it is bent tighter at its peak than in the middle
        grid = np.geomspace(low / HANDS, low, GRID)
        left = within(grid)
    held = bool(left.max() >= goal)
    best = int(np.argmax(left))
    bent, remains = float(grid[best]), float(left[best])
    if held:
        bent, remains = _crossing(within, grid, left, goal)
    binds = "" if held else _binding(kept, bent, remains, limit, tightest)
    return OverBend(
        wanted_curvature=wanted,
        set_curvature=side * bent,
        kept_curvature=side * remains,
        tightest_kept=side * float(left.max()),
        held=held,
        limit=binds,
        text=_sentence(held, binds, goal, bent, remains),
        cautions=cautions,
    )


def _binding(
    kept: Callable[[Array], Kept], bent: float, remains: float, limit: str, tightest: float
) -> str:
    """Return the limit that stands in the way of keeping more, "" where the limb is saturated."""
    further = min(bent * FURTHER, TIGHTEST)
    left, peak = kept(np.array([further]))
    gain = float(left[0]) - remains
    return limit if float(peak[0]) > tightest and gain > WORTH * (further - bent) else ""


def _crossing(
    within: Callable[[Array], Array], grid: Array, left: Array, goal: float
) -> tuple[float, float]:
    above = max(int(np.argmax(left >= goal)), 1)
    grid = np.linspace(grid[above - 1], grid[above], ZOOM_GRID)
    left = within(grid)
    above = max(int(np.argmax(left >= goal)), 1)
    rise = float(left[above] - left[above - 1])
    share = (goal - float(left[above - 1])) / rise if rise > 0 else 1.0
    bent = grid[above - 1] + share * (grid[above] - grid[above - 1])
    return float(bent), goal if 0 <= share <= 1 else float(within(np.array([bent]))[0])


def _sentence(held: bool, limit: str, goal: float, bent: float, remains: float) -> str:
    if held:
        return f"Bend to R {1e3 / bent:.3g} mm, and R {1e3 / goal:.3g} mm is left."
    if remains * 1e3 < 1:
        return "This bend cannot be held: the limb springs back straight."
    if limit:
        return (
            f"Bend to R {1e3 / bent:.3g} mm and no further, {LIMITS[limit]}: R "
            f"{1e3 / remains:.3g} mm is left, not R {1e3 / goal:.3g} mm."
        )
    return (
        f"This bend cannot be held: the tightest this limb keeps is R {1e3 / remains:.3g} mm, "
        f"bent to R {1e3 / bent:.3g} mm."
    )
