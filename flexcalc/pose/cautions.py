"""Cautions of a pose: where it leaves what was tried, and what a maker would not expect."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from data import read_table
from data.rules import Array, Caution
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.section.section import limb_section
from flexcalc.wire.bending import yield_curvature


def bend_cautions(limb: Limb, setting: Setting) -> tuple[Caution, ...]:
    """Return the cautions that follow from the limb and its bends alone, each kind once."""
    bends = [bend for bend in setting.bends if bend.angle]
    found = [
        *_wire_cautions(limb, bends),
        *_strain_cautions(limb, bends),
        *_time_cautions(setting),
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
                text="Under its weight and payload the limb cannot keep this pose: it buckles or "
                "snaps over, and the resting shape is the one it falls to.",
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


def _wire_cautions(limb: Limb, bends: list[Bend]) -> Iterator[Caution]:
    if not bends:
        return
    if limb.wire is None:
        yield Caution(
            key="no wire",
            text="Without a wire nothing but slow relaxation of the TPU holds a bend, and that "
            "fades after letting go.",
        )
        return
    first = yield_curvature(limb.wire)
    if any(abs(bend.curvature) <= first for bend in bends):
        yield Caution(
            key="elastic bend",
            text=f"A bend wider than R {1e3 / first:.0f} mm leaves this wire elastic: it springs "
            "back straight.",
        )


def _strain_cautions(limb: Limb, bends: list[Bend]) -> Iterator[Caution]:
    tried = read_table("constants")["tried range"]
    tightest = max((abs(bend.curvature) for bend in bends), default=0.0)
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
    if max(setting.hold_time, setting.rest_time) > limit:
        yield Caution(
            key="long time",
            text=f"Beyond {limit / 86400:.0f} days the relaxation of the TPU is a guess.",
        )
