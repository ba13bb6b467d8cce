"""Print how often the bands hold limbs of a blind truth: `python -m tests.scripts.blind_limbs`.

200 limbs of ten plans, their inputs drawn 1.2 times as wide as the tables say and followed by
small steps that share nothing with the package (`tests.blind_limbs`).
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np

from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.spread.sample import PoseSample, sample_pose
from tests.blind_limbs import Kind, drawn, outcomes

WIDER = 1.2


def limb_of(metal: str, rubber: str, wire: float, wall: float | None) -> Limb:
    """Return a round limb of 12 mm, hollow or with a channel."""
    return Limb(
        elastomer=load_elastomer(rubber),
        outline=Round(diameter=0.012),
        length=0.18,
        wall=wall,
        channel_diameter=0.0 if wall else wire + 0.0005,
        wire=Wire(metal=load_metal(metal), diameter=wire),
    )


def setting_of(angle: float, radius: float, places: int, **changes: Any) -> Setting:
    """Return a setting with one bend in the middle of the limb, or with the bends given."""
    bend = Bend(start=0.09 - angle * radius / 2, angle=angle, radius=radius)
    hands = {"bent_by": "hands", "places": places} if places else {}
    plain = {"bends": (bend,), "payload": 0.015, "clamp_angle": 1.7, **hands, **changes}
    return Setting(**plain)


NEIGHBOURS = (
    Bend(start=0.03, angle=0.9, radius=0.045), Bend(start=0.095, angle=-0.8, radius=0.05)
)  # fmt: skip
"""So near to each other that a hand's arms are cut between them."""


PLANS: tuple[tuple[Limb, Setting], ...] = (
    (limb_of("annealed aluminium 1100", "TPU 85A", 0.003, 0.0012), setting_of(1.2, 0.045, 0)),
    (limb_of("annealed aluminium 1100", "TPU 80A", 0.003, 0.0016), setting_of(1.2, 0.045, 1)),
    (limb_of("annealed low-carbon steel", "TPU 85A", 0.0025, 0.0016), setting_of(1.0, 0.05, 2)),
    (limb_of("annealed low-carbon steel", "TPU 80A", 0.002, 0.002), setting_of(1.5, 0.04, 3)),
    (limb_of("annealed copper", "TPU 80A", 0.0026, 0.0016),
     setting_of(0.8, 0.06, 2, hold_time=60.0)),
    (limb_of("annealed copper", "TPU 85A", 0.003, 0.0012),
     setting_of(1.4, 0.04, 0, rest_time=3600.0)),
    (limb_of("half-hard aluminium 1100", "TPU 80A", 0.0026, None),
     setting_of(1.2, 0.05, 3, clamp_angle=0.5)),
    (limb_of("annealed brass", "TPU 85A", 0.002, 0.0016),
     setting_of(1.0, 0.045, 1, payload=0.005)),
    (limb_of("annealed low-carbon steel", "TPU 85A", 0.0025, 0.0016),
     setting_of(1.0, 0.05, 1, bends=NEIGHBOURS)),
    (limb_of("annealed aluminium 1100", "TPU 80A", 0.003, 0.0012),
     setting_of(1.0, 0.05, 3, bends=NEIGHBOURS)),
)  # fmt: skip


def kind_of(limb: Limb, setting: Setting) -> Kind:
    """Return a plan in the numbers of the blind truth."""
    assert limb.wire is not None
    metal, rubber = limb.wire.metal, limb.elastomer
    return Kind(
        wire=metal.elastic_modulus,
        coefficient=metal.strength_coefficient,
        exponent=metal.hardening_exponent,
        exponent_spread=metal.exponent_spread,
        strength_factor=metal.strength_factor,
        back=metal.back_stress,
        back_spread=metal.back_stress_spread,
        wire_density=metal.density,
        radius=limb.wire.diameter / 2,
        modulus=rubber.elastic_modulus,
        saturation=rubber.saturation_stress,
        relaxation=rubber.relaxation_exponent,
        density=rubber.density,
        outer=0.006,
        wall=limb.wall or 0.0,
        channel=limb.channel_diameter / 2,
        length=limb.length,
        bends=tuple((bend.start, bend.angle, bend.radius) for bend in setting.bends),
        places=setting.places if setting.bent_by == "hands" else 0,
        clamp=setting.clamp_angle,
        payload=setting.payload,
        hold=setting.hold_time,
        rest=setting.rest_time,
    )


def compared(number: int, count: int, seed: int) -> tuple[PoseSample, dict[str, Any]]:
    """Return the bands of one plan and so many of its limbs as they are."""
    limb, setting = PLANS[number]
    kind = kind_of(limb, setting)
    truth = outcomes(kind, drawn(kind, count, WIDER, np.random.default_rng(seed + number)))
    return sample_pose(limb, setting, samples=512), truth


def main(each: int = 20, seed: int = 7) -> None:
    inside: dict[str, list[float]] = {"share": [], "sag": []}
    widths: dict[str, list[float]] = {"share": [], "sag": []}
    for number in range(len(PLANS)):
        sample, truth = compared(number, each, seed)
        for name, band in (("share", sample.worst_share), ("sag", sample.tip_sag)):
            found = truth[name]
            held = (found >= band.low) & (found <= band.high)
            low, high = np.quantile(found, (0.1, 0.9))
            inside[name] += held.tolist()
            widths[name].append((band.high - band.low) / (high - low))
            print(
                f"plan {number} {name:5s} band {band.low:.4f} {band.median:.4f} {band.high:.4f}  "
                f"limbs {low:.4f} {np.median(found):.4f} {high:.4f}  inside {held.mean():.0%}  "
                f"width {widths[name][-1]:.2f} of theirs",
                flush=True,
            )
    for name, held_all in inside.items():
        print(
            f"{name}: {len(held_all)} limbs, {np.mean(held_all):.1%} inside the bands of 80 %, "
            f"median width {np.median(widths[name]):.2f} of what the true spreads give"
        )


if __name__ == "__main__":
    main(*(int(text) for text in sys.argv[1:]))
