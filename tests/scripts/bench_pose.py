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
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from flexcalc.joints.limbs import limb_width, one_limb
from flexcalc.joints.posed import FINE, coarse, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.pose.centre_line import tip_sags
from flexcalc.pose.pose import hold_pose
from flexcalc.rod import rest_shape_in_space
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
SWUNG = replace(NECK, bends=(replace(NECK.bends[0], swing=math.pi / 2),))
ARM = replace(HOOK, bends=(HOOK.bends[0], replace(HOOK.bends[1], swing=math.pi / 2)))
SETTINGS = (
    ("one bend, at once", NECK),
    ("two bends, after an hour", HOOK),
    ("one bend, to the left", SWUNG),
    ("two bends, two planes, an hour", ARM),
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


def rod_in_space() -> float:
    """Time of one solve_bvp of an elastic rod in space at 1e-4 of its length. [s]"""
    load, curl = 1.0, np.array([0.0, 1.5, 0.0])
    stiffness = np.array([1.0, 1.0, 0.3])

    def slopes(s: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        # frames by quaternions, moments in their axes; gravity along -z, clamped level
        w, x, v, z = y[:4]
        bent = y[4:7] / stiffness[:, None] + curl[:, None]
        a, b, c = bent
        turned = 0.5 * np.array(
            [-x * a - v * b - z * c, w * a + v * c - z * b, w * b + z * a - x * c,
             w * c + x * b - v * a]
        )  # fmt: skip
        down = -np.array([2 * (x * z - w * v), 2 * (v * z + w * x), 1 - 2 * (x * x + v * v)])
        # dM/ds = M x bent - (tangent x force beyond)
        moment = np.cross(y[4:7].T, bent.T).T
        moment -= load * np.array([-down[1], down[0], 0 * down[0]])
        way = np.array([2 * (x * z + w * v), 2 * (v * z - w * x), 1 - 2 * (x * x + v * v)])
        return np.concatenate([turned, moment, way])

    clamp = np.array([0.5, 0.5, 0.5, 0.5])

    def ends(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([a[:4] - clamp, b[4:7], a[7:]])

    shares = np.linspace(0.0, 1.0, 12)
    guess = np.zeros((10, 12))
    guess[:4] = clamp[:, None]
    guess[7] = shares
    found = solve_bvp(slopes, ends, shares, guess, tol=1e-4)
    if not found.success:
        raise RuntimeError(found.message)
    # the same rod by our chain, so that what is timed is what is meant
    rest = rest_shape_in_space(
        bending_stiffness=(1.0, 1.0), torsional_stiffness=0.3, length=1.0,
        clamp_frame=[[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], tip_load=load,
        weight_per_length=0.0, natural_curvature=curl,
    )  # fmt: skip
    print(f"its tip and ours differ by {np.abs(found.y[7:, -1] - rest.tip_position).max():.1e}")
    return best(lambda: solve_bvp(slopes, ends, shares, guess, tol=1e-4), 10)


def rates() -> None:
    unit = elastic_rod()
    print(f"one solve_bvp of an elastic limb {1e3 * unit:.2f} ms")
    print(f"one solve_bvp of an elastic limb in space {1e3 * rod_in_space():.2f} ms")
    for name, setting in SETTINGS:
        for by in ("former", "hands"):
            made = replace(setting, bent_by=by)
            for count in (1024, 4096):
                seconds = best(lambda s=made, n=count: sample_pose(LIMB, s, n), 3)  # type: ignore[misc]
                print(
                    f"{name:31s} {by:7s} {count:6d} limbs {seconds:7.3f} s "
                    f"{count / seconds:7.0f} limbs/s {unit * count / seconds:6.1f} per solve_bvp"
                )
            seconds = best(lambda s=made: hold_pose(LIMB, s))  # type: ignore[misc]
            print(f"{'one hold_pose':33s} {seconds / unit:6.1f} solve_bvp")


def accuracy() -> None:
    for name, setting in SETTINGS:
        for by in ("former", "hands"):
            made = replace(setting, bent_by=by)
            stretches = bent_stretches(made, LIMB.length, limb_width(LIMB))
            shares, sags = [], []
            for fineness in (coarse(made), FINE):
                posed = pose_limbs(
                    one_limb(LIMB, made), made, stretches, LIMB.length, fineness, (made.rest_time,)
                )
                look = posed.looks[0]
                shares.append(look.retained[0])
                sags.append(tip_sags(look, posed.arc_length)[0])
            off = float(np.abs(shares[0] - shares[1]).max())
            print(
                f"{name} by {by}: sampled against held, share {off:.1e}, "
                f"sag {abs(sags[0] / sags[1] - 1):.1e} of itself"
            )


if __name__ == "__main__":
    rates()
    accuracy()
