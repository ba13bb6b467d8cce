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

from flexcalc.joints.limbs import limb_width, one_limb
from flexcalc.joints.posed import COARSE, FINE, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.pose.centre_line import positions_of
from flexcalc.pose.pose import hold_pose
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


def elastic_rod() -> float:
    """Time of one solve_bvp of an elastic limb at 1e-4 of its length. [s]"""
    from tests.scripts.bench_limb import bvp_tip

    return best(lambda: bvp_tip(2.0, 1.0, 1e-2, 6), 20)


def rates() -> None:
    unit = elastic_rod()
    print(f"one solve_bvp of an elastic limb {1e3 * unit:.2f} ms")
    for name, setting in (("one bend, at once", NECK), ("two bends, after an hour", HOOK)):
        for by in ("former", "hands"):
            made = replace(setting, bent_by=by)
            for count in (1024, 4096):
                seconds = best(lambda s=made, n=count: sample_pose(LIMB, s, n), 3)  # type: ignore[misc]
                print(
                    f"{name:25s} {by:7s} {count:6d} limbs {seconds:7.3f} s "
                    f"{count / seconds:7.0f} limbs/s {unit * count / seconds:6.1f} per solve_bvp"
                )
            seconds = best(lambda s=made: hold_pose(LIMB, s))  # type: ignore[misc]
            print(f"{'one hold_pose':33s} {seconds / unit:6.1f} solve_bvp")


def accuracy() -> None:
    for name, setting in (("one bend", NECK), ("two bends", HOOK)):
        for by in ("former", "hands"):
            made = replace(setting, bent_by=by)
            stretches = bent_stretches(made, LIMB.length, limb_width(LIMB))
            shares, sags = [], []
            for fineness in (COARSE, FINE):
                posed = pose_limbs(
                    one_limb(LIMB, made), made, stretches, LIMB.length, fineness, (made.rest_time,)
                )
                look = posed.looks[0]
                tips = [
                    positions_of(angles[0], posed.arc_length)[-1, 1]
                    for angles in (look.released, look.resting)
                ]
                shares.append(look.retained[0])
                sags.append(tips[0] - tips[1])
            off = float(np.abs(shares[0] - shares[1]).max())
            print(
                f"{name} by {by}: sampled against held, share {off:.1e}, "
                f"sag {abs(sags[0] / sags[1] - 1):.1e} of itself"
            )


if __name__ == "__main__":
    rates()
    accuracy()
