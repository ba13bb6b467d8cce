"""Print how fast sampled poses are: limbs per second through the whole chain, on one core.

Run as `python -m tests.scripts.bench_pose`; nothing here is a test. Times are the least processor
time of a few runs on one core (set OMP_NUM_THREADS=1).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.pose.batch import COARSE, FINE, Fineness, posed_batch, taken
from flexcalc.pose.pose import batch_of_one, hold_pose
from flexcalc.pose.stretches import positions_of
from flexcalc.spread.likely_limbs import drawn_batch, drawn_inputs, unit_points
from flexcalc.spread.sample import sample_pose

LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    wall=0.0012,
    length=0.2,
    wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.003),
)
NECK = Setting(
    bends=(Bend(start=0.03, angle=1.2, radius=0.04),), clamp_angle=math.pi / 2, payload=0.02
)
HOOK = replace(
    NECK, bends=(*NECK.bends, Bend(start=0.1, angle=-1.2, radius=0.05)), rest_time=3600.0
)


def best(call: Callable[[], object], times: int = 4) -> float:
    """Least processor time of a few calls. [s]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        call()
        found.append(time.process_time() - start)
    return min(found)


def rates() -> None:
    for name, setting in (("one bend, at once", NECK), ("two bends, after an hour", HOOK)):
        for count in (256, 1024, 4096, 16384):
            seconds = best(lambda s=setting, n=count: sample_pose(LIMB, s, n), 3)  # type: ignore[misc]
            print(f"{name:26s} {count:6d} limbs {seconds:7.3f} s {count / seconds:8.0f} limbs/s")
    seconds = best(lambda: hold_pose(LIMB, NECK))
    whole = best(lambda: sample_pose(LIMB, NECK, 4096)) / 4096
    print(f"one hold_pose {1e3 * seconds:.1f} ms, {seconds / whole:.0f} times a sampled limb")


def growth() -> None:
    points = unit_points(1024, 0)
    trials = drawn_batch(LIMB, NECK, drawn_inputs(LIMB, NECK, Printer(), points))
    some = taken(trials, slice(0, 512))
    for joints in (16, 32, 64, 128):
        size = Fineness(joints=joints, nodes=COARSE.nodes, fibres=COARSE.fibres)
        seconds = best(lambda s=size: posed_batch(some, NECK, LIMB.length, s))  # type: ignore[misc]
        print(f"joints {joints:4d}: {1e6 * seconds / 512:7.1f} us a limb")


def accuracy() -> None:
    trials = batch_of_one(LIMB, NECK)
    found = {}
    for name, size in (("coarse", COARSE), ("fine", FINE)):
        settled = posed_batch(trials, NECK, LIMB.length, size)
        ends = [
            positions_of(angles[0], settled.arc_length)[-1, 1]
            for angles in (settled.angles_released, settled.angles_at_rest)
        ]
        found[name] = float(settled.retained[0, 0]), float(np.subtract(*ends))
    (share, sag), (fine_share, fine_sag) = found["coarse"], found["fine"]
    print(f"sampled chain against hold_pose: share {abs(share - fine_share):.1e}, ", end="")
    print(f"sag {abs(sag / fine_sag - 1):.1e} of itself")


if __name__ == "__main__":
    rates()
    growth()
    accuracy()
