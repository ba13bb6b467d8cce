"""The questions put to a limb, each answered with its figure, its limit and the reason.

``state`` is "holds", "close" (within a tenth of the limit, or only by the hopeful end of a band)
or "fails".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from data import read_table
from flexcalc.build.channel import ChannelSize
from flexcalc.build.insertion import insertion_force, pull_out_force, push_stroke, wire_slip
from flexcalc.build.kink import Kink, kink_cure_of
from flexcalc.build.life import WireLife
from flexcalc.joints.limbs import mean_natural
from flexcalc.joints.posed import straightened_bends
from flexcalc.limb.channel_fit import least_skin
from flexcalc.limb.inputs import Limb, Setting, outlines_of
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import Pose, inserted_shape, worst_kept
from flexcalc.verdict.plan import Wish
from flexcalc.wire.twisting import yield_torque

LEAST_CURVE = 0.9
"""Share of its printed curve that a limb should keep with its wire."""
WIDEST = 100.0
"""Widest bend radius that is admitted: what a limb without bends has. [m]"""
STATES = ("holds", "close", "fails")


@dataclass(frozen=True, kw_only=True)
class Check:
    """One question with its answer.

    ``key`` is stable; ``question``, ``answer``, ``limit`` and ``reason`` are texts to read;
    ``value`` and ``bound`` are the same numbers in SI; ``state`` is one of STATES.
    """

    key: str
    question: str
    answer: str
    limit: str
    reason: str
    value: float
    bound: float
    state: str


def share_check(pose: Pose | None, setting: Setting, wish: Wish) -> Check:
    """Does the worst bend keep the wanted share? None of it where the limb hangs slack."""
    kept, answer = 0.0, "hangs slack"
    if pose is not None:
        shares = np.array([pose.retained_share])
        kept = float(worst_kept(shares, setting.bends, pose.straightened)[0])
        answer = f"keeps {kept:.0%} of the bend"
        if straightened_bends(setting) and kept == pose.straightened:
            answer = f"goes back by {kept:.0%} of the bend before"
    return Check(
        key="share",
        question="Does it keep its bend?",
        answer=answer,
        limit=f"at least {wish.share:.0%}",
        reason="The elastomer pulls straight, the wire resists with its plastic moment.",
        value=kept,
        bound=wish.share,
        state="fails" if pose is None else _state(kept, wish.share, more_is_better=True),
    )


def sag_check(pose: Pose | None, wish: Wish) -> Check:
    """Does the tip stay within the wanted distance under weight and payload?"""
    stable = pose is not None and pose.stable
    sag, answer, away = math.inf, "hangs slack", ""
    if pose is not None:
        sag, way = abs(pose.tip_sag), "sags" if pose.tip_sag >= 0 else "rises"
        answer = f"{way} {_millimetres(sag)}" if stable else "falls over"
        away = f" The tip rests {tip_words(pose)}."
        if np.any(pose.shape_at_rest.points[:, 1]):
            away += f" The hand turns by {math.degrees(pose.hand_turn):.0f}°."
    return Check(
        key="sag",
        question="How far does the weight pull the tip down?",
        answer=answer,
        limit=f"at most {_millimetres(wish.sag)}",
        reason="Weight and payload against limb and wire, from the released shape." + away,
        value=sag,
        bound=wish.sag,
        state=_state(sag, wish.sag, more_is_better=False) if stable else "fails",
    )


def torsion_check(limb: Limb, pose: Pose) -> Check | None:
    """Does the wire bear the torque of a limb that leaves its plane; nothing for one that stays.

    A wire that turns in its channel bears none: the question is put to an anchored one.
    """
    torque = pose.moments.wire_torque
    if limb.wire is None or torque == 0:
        return None
    most = yield_torque(limb.wire)
    held = "anchored" if limb.wire_anchored else "if it cannot turn"
    return Check(
        key="torsion",
        question="Does the load twist the wire for good?",
        answer=f"twisted with {1e3 * torque:.1f} N mm, {held}",
        limit=f"at most {1e3 * most:.1f} N mm",
        reason="In torsion a wire yields at its proof stress over the root of 3.",
        value=torque,
        bound=most,
        state=_state(torque, most, more_is_better=False),
    )


def curve_check(limb: Limb) -> Check:
    """How much of the curve that it was printed with does a limb keep with its wire?"""
    printed = mean_natural(limb) * limb.length
    shape = inserted_shape(limb)
    turned = float(np.sum(shape.curvature * np.diff(shape.arc_length)))
    left = turned / printed if printed else 1.0
    return Check(
        key="curve",
        question="Does it keep the curve it was printed with?",
        answer=f"{math.degrees(turned):.0f}° with a straight wire pushed in",
        limit=f"printed with {math.degrees(printed):.0f}°",
        reason="A straight wire straightens it: bend the wire before, or print it tighter.",
        value=left,
        bound=LEAST_CURVE,
        state=_state(left, LEAST_CURVE, more_is_better=True),
    )


def tip_distance(pose: Pose) -> tuple[float, float, float]:
    """Return how far the tip rests from where the hand put it, and its two parts. [m]

    The parts are distances too: from there to where it springs back to, and from there to where
    the weight brings it; together they are at least the whole.
    """
    put, sprung, rests = (
        shape.points[-1] for shape in (pose.shape_set, pose.shape_released, pose.shape_at_rest)
    )
    return math.dist(put, rests), math.dist(put, sprung), math.dist(sprung, rests)


def tip_words(pose: Pose) -> str:
    """Say `tip_distance`."""
    whole, sprung, weight = (_millimetres(part) for part in tip_distance(pose))
    return f"{whole} from where the hand put it: {sprung} by springing back, {weight} by weight"


def tip_checks(pose: Pose | None, wish: Wish) -> tuple[Check, ...]:
    """Does the tip stay as near to where the hand put it as wanted; nothing where not asked."""
    if wish.tip_within is None or pose is None:
        return ()
    whole = tip_distance(pose)[0]
    return (
        Check(
            key="tip",
            question="Does the tip stay where the hand put it?",
            answer=f"rests {tip_words(pose)}",
            limit=f"at most {_millimetres(wish.tip_within)}",
            reason="A bend springs back, and the weight beyond it does the rest.",
            value=whole,
            bound=wish.tip_within,
            state=_state(whole, wish.tip_within, more_is_better=False),
        ),
    )


KINK_REASONS = {
    "ovalising": "A bent tube flattens until it folds.",
    "wall": "The pressed wall buckles into short waves on its core.",
    "crease": "So thick a limb does not fold: its pressed inner side creases.",
}


def kink_check(
    limb: Limb,
    setting: Setting,
    kink: Kink,
    printer: Printer | None = None,
    peaks: Sequence[float] | None = None,
) -> Check:
    """Is every bend wider than the radius at which the limb folds or creases, its band passed?

    ``peaks``: the greatest curvature of each bend in the hand [1/m], those of formers if left
    out.
    """
    if peaks is None:
        peaks = [abs(bend.hand_curvature) for bend in setting.bends]
    bends = zip(setting.bends, peaks, strict=True)
    radii = [1 / peak for bend, peak in bends if peak > 0 and not bend.rigid]
    tightest = min(radii, default=WIDEST)
    state = "holds" if tightest >= kink.high else "close" if tightest >= kink.low else "fails"
    cure = "" if state == "holds" else _cure(limb, tightest, printer)
    verb = "creases inside" if kink.mode == "crease" else "kinks"
    band = f"({_millimetres(kink.low)} to {_millimetres(kink.high)})"
    return Check(
        key="kink",
        question="Does the limb kink?",
        answer=f"{verb} below R {_millimetres(kink.radius)} {band}",
        limit=f"tightest bend R {_millimetres(tightest)}" if radii else "no bend",
        reason=KINK_REASONS[kink.mode] + cure,
        value=kink.radius,
        bound=tightest,
        state=state,
    )


def hand_check(setting: Setting, forces: Sequence[float]) -> tuple[Check, ...]:
    """Are hands strong enough to bend it; nothing where no hand presses.

    ``forces`` of the thumb, one per bend. [N]
    """
    force = max(forces, default=0.0)
    if setting.bent_by != "hands" or force == 0:
        return ()
    most = read_table("constants")["hand"]["bend"].high
    return (
        Check(
            key="hand",
            question="Can hands bend it?",
            answer=f"takes {force:.0f} N of the thumbs",
            limit=f"at most {most:.0f} N",
            reason="Thumbs press in the middle against the fingers of both hands, "
            f"{_millimetres(setting.lever)} away. Fingers farther out, or a former, ask for less.",
            value=force,
            bound=most,
            state=_state(force, most, more_is_better=False),
        ),
    )


def life_check(life: WireLife, wish: Wish) -> Check:
    """How often can the wire be re-posed before it cracks?"""
    state = "holds" if life.low >= wish.re_poses else "close"
    return Check(
        key="life",
        question="How often can it be re-posed?",
        answer=f"{_count(life.low)} to {_count(life.high)} times",
        limit=f"at least {_count(wish.re_poses)} times",
        reason=f"Strain-life laws differ by a factor of ten. {life.place}",
        value=life.low,
        bound=wish.re_poses,
        state=state if life.high >= wish.re_poses else "fails",
    )


def build_checks(
    limb: Limb, setting: Setting, channel: ChannelSize, printer: Printer
) -> tuple[Check, ...]:
    """Return the three rules of an open build: prints, goes together, comes apart, by hand."""
    return (
        print_check(limb, channel, printer),
        together_check(limb, channel, printer),
        apart_check(limb, setting),
    )


def print_check(limb: Limb, channel: ChannelSize, printer: Printer) -> Check:
    """Does it print without support: walls of whole beads, a roof over a lying channel?"""
    skin = _skin(limb)
    roof_missing = channel.orientation == "lying" and not limb.channel_roofed
    in_bore = limb.wire_runs_in_bore
    troubles = []
    if skin < channel.least_wall:
        troubles.append(f"wall {_millimetres(skin)} is under two beads")
    if roof_missing and not in_bore:
        troubles.append("a lying channel wants its 45° roof")
    if channel.orientation == "lying" and isinstance(limb.middle_outline, Round):
        troubles.append("a lying round wants a flat side down (D) or a raft")
    beads = skin / printer.bead_width
    return Check(
        key="prints",
        question="Does it print without support?",
        answer="; ".join(troubles) if troubles else f"yes, thinnest wall {beads:.1f} beads",
        limit=f"walls from {_millimetres(channel.least_wall)}",
        reason="Walls of whole beads close up, and a 45° roof carries itself (common practice).",
        value=skin,
        bound=channel.least_wall,
        state="fails" if skin < channel.least_wall else ("close" if troubles else "holds"),
    )


def together_check(limb: Limb, channel: ChannelSize, printer: Printer) -> Check:
    """Can the wire be pushed in by hand, even if the channel came out tight?"""
    hand = read_table("constants")["hand"]["push"].value
    tight = limb.channel_diameter - printer.hole_spread(channel.orientation)
    force = 0.0 if limb.wire_runs_in_bore else _push(limb, tight)
    stroke = push_stroke(limb.wire, max(force, 1.0)) if limb.wire else math.inf
    tools = "fingers" if force < hand / 2 else "flat pliers and talc"
    text = f"needs {force:.0f} N if the channel comes out tight; {tools}"
    if limb.wire and stroke < limb.length:
        text += f"; push in strokes of {_millimetres(min(stroke, 0.05))}"
    return Check(
        key="together",
        question="Does it go together by hand?",
        answer=text if limb.wire else "no wire to push in",
        limit=f"at most {hand:.0f} N",
        reason="Interference stops a wire long before friction does; clearance everywhere.",
        value=force,
        bound=hand,
        state=_state(force, hand, more_is_better=False),
    )


def apart_check(limb: Limb, setting: Setting) -> Check:
    """Does the wire come out again: a cap, fold or collar holds it, never glue?"""
    hand = read_table("constants")["hand"]["push"].value
    force = 0.0
    if limb.wire and not limb.wire_runs_in_bore:
        force = pull_out_force(
            limb.wire.bundle_diameter,
            limb.channel_diameter,
            _sleeve_radius(limb),
            limb.length,
            limb.elastomer,
            rest_time=86400.0,
            wire_density=limb.wire.metal.density,
        )
    turn = sum(abs(bend.angle) for bend in setting.bends)
    slip = abs(wire_slip(limb.channel_offset[1], min(turn, 8 * math.pi)))
    pocket = f"; leave a pocket of {_millimetres(slip)} at the free end" if slip > 1e-4 else ""
    return Check(
        key="apart",
        question="Does it come apart again?",
        answer=f"straightened, the wire pulls out with {force:.1f} N{pocket}",
        limit=f"at most {hand:.0f} N",
        reason="Hold the wire by an end cap, a folded end or a short collar, never by glue.",
        value=force,
        bound=hand,
        state=_state(force, hand, more_is_better=False),
    )


def _push(limb: Limb, channel: float) -> float:
    if limb.wire is None:
        return 0.0
    return insertion_force(
        limb.wire.bundle_diameter,
        max(channel, 0.5 * limb.wire.bundle_diameter),
        _sleeve_radius(limb),
        limb.length,
        limb.elastomer,
        wire_density=limb.wire.metal.density,
    )


def _sleeve_radius(limb: Limb) -> float:
    """Radius of the TPU that the channel would have to widen."""
    around = limb.sleeve if limb.wall is not None and limb.sleeve > 0 else _skin(limb)
    return limb.channel_diameter / 2 + max(around, 1e-4)


def _skin(limb: Limb) -> float:
    """Least thickness of solid TPU between the channel or core and the outside."""
    to_channel = min(
        least_skin(outline, limb.channel_diameter / 2, limb.channel_offset)
        for outline in outlines_of(limb)
    )
    if limb.wall is None:
        return to_channel
    return min(limb.wall, to_channel) if limb.channel_diameter else limb.wall


def _cure(limb: Limb, radius: float, printer: Printer | None) -> str:
    cure = kink_cure_of(limb, radius, printer=printer)
    if cure is None:
        return " Only a wider bend or a thinner limb helps."
    pattern = "of lines " if limb.infill_pattern == "lines" else ""
    infill = f"{cure.infill:.0%} infill {pattern}" if cure.infill < 1 else "a solid limb "
    return f" A wall of {_millimetres(cure.wall)} or {infill}cures it."


def _state(value: float, bound: float, *, more_is_better: bool) -> str:
    if (value >= bound) if more_is_better else (value <= bound):
        return "holds"
    near = value >= 0.9 * bound if more_is_better else value <= 1.1 * bound
    return "close" if near else "fails"


def _millimetres(length: float) -> str:
    shown = length * 1e3
    return f"{shown:.0f} mm" if shown >= 20 else f"{shown:.1f} mm"


def _count(number: float) -> str:
    if number < 100:
        return f"{number:.0f}"
    digits = 2 - math.ceil(math.log10(min(number, 1e6)))
    return f"{round(min(number, 1e6), digits):.0f}" + (" or more" if number > 1e6 else "")
