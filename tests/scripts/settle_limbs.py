"""Pose 400 plausible limbs 256 times each, in and out of their plane; say which find no rest.

Run as `python tests/scripts/settle_limbs.py`. The limbs are drawn from what is printed at home:
the tabled metals and elastomers, wires of 1 to 5 mm, limbs of 5 cm to 0.6 m and payloads up to
half a kilogram.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from flexcalc import (
    Bend,
    Limb,
    Round,
    Setting,
    Wire,
    elastomer_names,
    load_elastomer,
    load_metal,
    metal_names,
    sample_pose,
)

LIMBS, SAMPLES = 400, 256


def plausible(rng: np.random.Generator) -> tuple[Limb, Setting]:
    """A limb that a maker could print, with a wire or without, and a pose of up to 3 bends."""
    wire = Wire(
        metal=load_metal(str(rng.choice(metal_names()))),
        diameter=float(rng.uniform(1e-3, 5e-3)),
        strands=int(rng.choice([1, 1, 1, 2, 3])),
    )
    channel = wire.bundle_diameter + 5e-4
    outer = channel + 2 * float(rng.uniform(1.5e-3, 8e-3))
    hollow = rng.random() < 0.5
    limb = Limb(
        elastomer=load_elastomer(str(rng.choice(elastomer_names()))),
        outline=Round(diameter=outer),
        length=float(np.exp(rng.uniform(math.log(0.05), math.log(0.6)))),
        wall=float(rng.uniform(0.8e-3, (outer - channel) / 2)) if hollow else None,
        infill=float(rng.uniform(0.1, 0.4)) if hollow else 0.0,
        channel_diameter=channel,
        sleeve=1e-3 if hollow else 0.0,
        wire=wire if rng.random() < 0.9 else None,
    )
    start, bends = 0.02 * limb.length, []
    for _ in range(int(rng.integers(1, 4))):
        radius = float(rng.uniform(outer, 6 * outer))
        angle = min(float(rng.uniform(0.2, 2.5)), (0.98 * limb.length - start) / radius)
        if angle < 0.1:
            break
        bends.append(Bend(start=start, angle=angle * float(rng.choice([-1, 1])), radius=radius))
        start = bends[-1].end + float(rng.uniform(0, 0.2)) * limb.length
    return limb, Setting(
        bends=tuple(bends),
        clamp_angle=float(rng.uniform(-math.pi, math.pi)),
        payload=float(rng.choice([0.0, np.exp(rng.uniform(math.log(1e-3), math.log(0.5)))])),
        rest_time=float(rng.choice([0.0, 3600.0, 86400.0])),
    )


def swung(setting: Setting, rng: np.random.Generator) -> Setting:
    """Return a setting whose bends swing any way."""
    swings = rng.uniform(-math.pi, math.pi, len(setting.bends))
    pairs = zip(setting.bends, swings.tolist(), strict=True)
    return replace(setting, bends=tuple(replace(bend, swing=swing) for bend, swing in pairs))


def main() -> None:
    started, stuck = time.process_time(), 0
    for number in range(LIMBS):
        limb, setting = plausible(np.random.default_rng([12, number]))
        for made in (setting, swung(setting, np.random.default_rng([16, number]))):
            try:
                sample_pose(limb, made, samples=SAMPLES)
            except RuntimeError as error:
                stuck += 1
                print(f"number {number}: {error}")
    took = time.process_time() - started
    print(
        f"2 x {LIMBS} limbs x {SAMPLES} samples, {stuck} found no rest, {took:.0f} s of processor"
    )


if __name__ == "__main__":
    main()
