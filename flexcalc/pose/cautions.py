"""Cautions of a pose: where it leaves what was tried, and what a maker would not expect."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from data import read_table
from data.rules import Array, Caution
from flexcalc.joints.aims import leaves_plane
from flexcalc.joints.stretches import stretch_cautions
from flexcalc.limb.inputs import Limb, Setting
from flexcalc.section.section import limb_section
from flexcalc.wire.bending import yield_curvature
from flexcalc.wire.fibre import back_stress_share

WORTH_SAYING = 0.02
"""Of the greater sag, above which it matters whether the wire turns."""


def bend_cautions(
    limb: Limb, setting: Setting, peaks: Sequence[float] | None = None
) -> tuple[Caution, ...]:
    """Return the cautions that follow from the limb and its bends alone, each kind once.

    ``peaks``: the greatest curvature of each bend in the hand [1/m], those of formers if left
    out.
    """
    if peaks is None:
        peaks = [abs(bend.hand_curvature) for bend in setting.bends]
    bends = [bend for bend in setting.bends if bend.angle]
    bent = [peak for peak, bend in zip(peaks, setting.bends, strict=True) if bend.angle]
    found = [
        *_wire_cautions(limb, bent),
        *_strain_cautions(limb, bent),
        *_time_cautions(setting),
        *stretch_cautions(setting, limb.length),
        *_hand_cautions(setting),
    ]
    if len(bends) < len(setting.bends):
        found.append(Caution(key="no angle", text="A bend of no angle has nothing to keep."))
    return tuple(found)


def rest_cautions(
    limb: Limb, set_curvature: Array, rest_curvature: Array, stable: bool
) -> tuple[Caution, ...]:
    """Return the cautions that follow from how a limb rests; curvatures (n,) along it [1/m]."""
    found = []
    if not stable:
        found.append(
            Caution(
                key="loses its pose",
                text="Under its weight and payload the limb cannot keep this pose: it buckles, "
                "snaps over or falls sideways, and the resting shape is the one it falls to.",
            )
        )
    if limb.wire is not None:
        loose = np.abs(rest_curvature[set_curvature == 0])
        if loose.size and loose.max() > yield_curvature(limb.wire):
            found.append(
                Caution(
                    key="bends under load",
                    text="Weight and payload bend the wire for good where it was left straight.",
                )
            )
    return tuple(found)


def space_cautions(
    limb: Limb, setting: Setting, free: float, anchored: float
) -> tuple[Caution, ...]:
    """Return what is to be said of a limb that leaves its plane; its sag with a wire that turns
    ``free`` in its channel and with one that is ``anchored`` [m]."""
    if not leaves_plane(limb, setting):
        return ()
    found = []
    if limb.wire is not None:
        sags = (
            f"{1e3 * free:.1f} mm if the wire can turn in its channel, {1e3 * anchored:.1f} mm if"
        )
        advice = "Bend or flatten its end and hold it in a slot at the root."
        if limb.wire_anchored:
            advice = "Its end must not turn in its slot."
        text = f"The tip sags {sags} not. {advice}"
        if abs(free - anchored) > WORTH_SAYING * max(abs(free), abs(anchored)):
            found.append(Caution(key="wire turns", text=text))
        if any(bend.angle and not bend.rigid for bend in setting.bends):
            found.append(
                Caution(
                    key="across a bend",
                    text="Across its own bend a wire that has yielded is softer, and a side load "
                    "opens the bend further; the first is known to about 0.1 of its rigidity, the "
                    "second is left out.",
                )
            )
    if any(bend.angle for pose, _ in setting.poses_before for bend in pose):
        found.append(
            Caution(
                key="bent another way",
                text="What an earlier pose left in the wire across the new bends is left out.",
            )
        )
    return tuple(found)


def _wire_cautions(limb: Limb, peaks: list[float]) -> Iterator[Caution]:
    if not peaks:
        return
    if limb.wire is None:
        yield Caution(
            key="no wire",
            text="Without a wire nothing but slow relaxation of the TPU holds a bend, and that "
            "fades after letting go.",
        )
        return
    metal = limb.wire.metal
    taken = back_stress_share(metal)
    if metal.reversal == "mixed" and taken < 0.999 * metal.back_stress:
        yield Caution(
            key="back stress cut",
            text=f"A back-stress of {metal.back_stress:.0%} of the flow stress is more than the "
            f"law of {metal.name} bears; {taken:.0%} is taken.",
        )
    first = yield_curvature(limb.wire)
    if any(peak <= first for peak in peaks):
        yield Caution(
            key="elastic bend",
            text=f"A bend wider than R {1e3 / first:.0f} mm leaves this wire elastic: it springs "
            "back straight.",
        )


def _strain_cautions(limb: Limb, peaks: list[float]) -> Iterator[Caution]:
    tried = read_table("constants")["tried range"]
    tightest = max(peaks, default=0.0)
    if limb.wire is not None:
        strain, limit = tightest * limb.wire.diameter / 2, tried["wire_strain"].value
        if strain > limit:
            yield Caution(
                key="wire strain",
                text=f"The tightest bend stretches the wire's surface by {strain:.0%}; nothing "
                f"beyond {limit:.0%} was tried, and the wire may crack.",
            )
    strain = tightest * limb_section(limb).extreme_fibre
    limit = tried["elastomer_strain"].value
    if strain > limit:
        yield Caution(
            key="elastomer strain",
            text=f"The tightest bend stretches the TPU by {strain:.0%}; the law of its softening "
            f"is known up to {limit:.0%}.",
        )


def _time_cautions(setting: Setting) -> Iterator[Caution]:
    limit = read_table("constants")["tried range"]["relaxation_time"].value
    before = sum(time for _, time in setting.poses_before)
    if max(setting.hold_time, setting.rest_time, before) > limit:
        yield Caution(
            key="long time",
            text=f"Beyond {limit / 86400:.0f} days the relaxation of the TPU is a guess.",
        )


def _hand_cautions(setting: Setting) -> Iterator[Caution]:
    if setting.bent_by == "hands" and setting.places > 1 and setting.bends:
        yield Caution(
            key="several places",
            text="What springs back while the hands move along is left out.",
        )
