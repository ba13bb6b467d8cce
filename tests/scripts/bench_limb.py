"""Print how fast the limb engine is: `python -m tests.scripts.bench_limb [section ...]`.

Each section prints ratios measured in this one run, errors beside the times. Without a name all
of them run. Times are processor times of one core (set OMP_NUM_THREADS=1).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from flexcalc.rod.chain import ElasticLaw, solve_chain
from flexcalc.rod.rest import rest_shape

Array = NDArray[np.float64]
LEVEL = np.pi / 2


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Least processor time of some runs."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def chain_tips(tip: Array, weight: Array, count: int) -> Array:
    """Tips (B, 2) over the length of level limbs of rigidity 1, by chains of ``count``."""
    segments = np.full(count, 1 / count)
    joints = np.append(segments[0] / 2, segments[1:])
    middles = (np.arange(count) + 0.5) / count
    size = len(tip)
    law = ElasticLaw(flexural_rigidity=np.ones((size, 1)), natural_curvature=np.zeros((size, 1)))
    loads = tip[:, None] + weight[:, None] * (1 - middles)
    angles = solve_chain(
        law, joints, segments, np.full(size, LEVEL), loads, np.full((size, count), LEVEL)
    ).angles
    return np.stack([np.sin(angles).mean(axis=1), -np.cos(angles).mean(axis=1)], axis=1)


def bvp_tip(tip: float, weight: float, tolerance: float, nodes: int) -> Array:
    """Tip of the same limb by the boundary value solver, from the straight limb."""

    def slopes(s: Array, y: Array) -> Array:
        return np.array(
            [y[1], (tip + weight * (1 - s)) * np.sin(y[0]), np.sin(y[0]), -np.cos(y[0])]
        )

    def ends(a: Array, b: Array) -> Array:
        return np.array([a[0] - LEVEL, b[1], a[2], a[3]])

    s = np.linspace(0, 1, nodes)
    guess = np.array([np.full(nodes, LEVEL), 0 * s, s, 0 * s])
    result = solve_bvp(slopes, ends, s, guess, tol=tolerance, max_nodes=100_000)
    if not result.success:
        raise RuntimeError(f"solve_bvp failed at tip {tip} weight {weight}: {result.message}")
    return np.asarray(result.y[2:, -1])


def bench_rod() -> None:
    """Limbs per second against scipy's boundary value solver at 1e-4 of the length."""
    draw = np.random.default_rng(1)
    tip, weight = draw.uniform(0, 3, 10_000), draw.uniform(0, 3, 10_000)
    few = 60
    fine = np.array([bvp_tip(tip[k], weight[k], 1e-10, 20) for k in range(few)])

    def loose(tolerance: float, nodes: int) -> Array:
        return np.array([bvp_tip(tip[k], weight[k], tolerance, nodes) for k in range(few)])

    def error(tips: Array) -> float:
        return float(np.abs(tips[:few] - fine).max())

    # the quickest setting of the other solver that keeps the error
    settings = [(1e-1, 4), (1e-2, 4), (1e-2, 6), (1e-3, 5), (1e-3, 8), (1e-4, 8)]
    routes = [
        (few / seconds(lambda t=t, n=n: loose(t, n)), error(loose(t, n)), t, n) for t, n in settings
    ]
    rate, off, tolerance, nodes = max(route for route in routes if route[1] <= 1e-4)
    print(f"solve_bvp (tol {tolerance:g}, {nodes} nodes)  {rate:9.0f} limbs/s  error {off:.1e} L")
    for count in (32, 100):
        own = len(tip) / seconds(lambda count=count: chain_tips(tip, weight, count))
        off = error(chain_tips(tip, weight, count))
        print(
            f"chain of {count:4d}                  {own:9.0f} limbs/s  error {off:.1e} L"
            f"  {own / rate:5.0f} x"
        )
    for wanted, segments in ((1e-8, 32), (1e-4, 8)):

        def whole(wanted: float = wanted, segments: int = segments) -> Array:
            rest = rest_shape(1.0, 1.0, LEVEL, tip, weight, segments=segments, accuracy=wanted)
            return rest.tip_position

        own, off = len(tip) / seconds(whole), error(whole())
        print(
            f"rest_shape to {wanted:g}            {own:9.0f} limbs/s  error {off:.1e} L"
            f"  {own / rate:5.0f} x"
        )
    one = seconds(lambda: rest_shape(1.0, 1.0, LEVEL, 2.0, 1.0), repeats=20)
    print(f"one rest_shape                 {one * 1e3:9.2f} ms")


def bench_growth() -> None:
    """How the time grows with the segments and with the batch."""
    draw = np.random.default_rng(2)
    tip, weight = draw.uniform(0, 3, 20_000), draw.uniform(0, 3, 20_000)
    first = 0.0
    for count in (25, 50, 100, 200, 400, 800):
        took = seconds(lambda count=count: chain_tips(tip[:1000], weight[:1000], count))
        first = first or took / count
        share = took / count / first
        print(f"1000 limbs, {count:4d} segments  {took * 1e3:8.1f} ms  {share:5.2f} x per segment")
    first = 0.0
    for size in (1, 10, 100, 1000, 10_000, 20_000):
        took = seconds(lambda size=size: chain_tips(tip[:size], weight[:size], 100))
        first = took / size
        print(
            f"{size:5d} limbs, 100 segments  {took * 1e3:8.1f} ms  {first * 1e6:8.1f} us per limb"
        )


def bench_compare() -> None:
    """Wires compared with bands in the demo's limb: the same wires in one batch and one by one."""
    from flexcalc.compare.wires import compare_wires
    from flexcalc.forms.limb_form import plan_from_form
    from flexcalc.limb.inputs import Wire
    from flexcalc.limb.materials import load_metal, metal_names
    from flexcalc.spread.sample import sample_pose

    plan = plan_from_form({})
    sizes = np.linspace(1e-3, 4.3e-3, 15)
    wires = [Wire(metal=load_metal(name), diameter=d) for name in metal_names() for d in sizes]
    wires = wires[:100]
    compare_wires(plan.limb, plan.setting, wires)  # libraries loaded, tables read

    def one_by_one() -> None:
        for row in compare_wires(plan.limb, plan.setting, wires[::10]).rows:
            sample_pose(row.limb, plan.setting, samples=64)

    single = 10 * seconds(one_by_one)
    for samples in (32, 64, 128, 256):
        took = seconds(lambda n=samples: compare_wires(plan.limb, plan.setting, wires, samples=n))
        print(
            f"100 wires, {samples:3d} limbs each  {took:6.2f} s  "
            f"{100 * samples / took:7.0f} limbs/s"
            + (f"  {single / took:4.0f} x one by one" if samples == 64 else "")
        )
    usual = compare_wires(plan.limb, plan.setting)
    took = seconds(lambda: compare_wires(plan.limb, plan.setting))
    print(f"{usual.screened} screened, {len(usual.rows)} with bands {took:6.2f} s")


def bench_chain() -> None:
    """The whole chain, from what is uncertain to the resting limb: sampled limbs per second."""
    from tests.scripts.bench_pose import accuracy, rates

    rates()
    accuracy()


def bench_remedies() -> None:
    """What would make some limbs hold that do not, in multiples of one solve_bvp."""
    from flexcalc.forms.limb_form import plan_from_form
    from flexcalc.verdict import remedies, windows
    from tests.scripts.bench_pose import elastic_rod

    unit = elastic_rod()
    print(f"one solve_bvp of an elastic limb {1e3 * unit:.2f} ms")
    one_bend = {"start2": "", "angle2": "", "radius2": ""}
    for name, form in (
        ("one bend, former", {**one_bend, "elastomer": "TPU 85A", "bent": "round a former"}),
        ("one bend, hands", {**one_bend, "elastomer": "TPU 85A"}),
        ("two bends, hands", {"elastomer": "TPU 85A"}),
    ):
        plan = plan_from_form(form)
        rest = {"printer": plan.printer, "orientation": plan.orientation}
        found = remedies(plan.limb, plan.setting, plan.wish, **rest)  # type: ignore[arg-type]
        took = seconds(lambda p=plan, r=rest: remedies(p.limb, p.setting, p.wish, **r), 2)  # type: ignore[misc]
        print(f"{name:18s} {len(found)} remedies {took / unit:6.0f} solve_bvp")
        took = seconds(lambda p=plan, r=rest: windows(p.limb, p.setting, wish=p.wish, **r), 1)  # type: ignore[misc]
        print(f"{name:18s} windows    {took / unit:6.0f} solve_bvp")


SECTIONS = {
    "rod": bench_rod,
    "growth": bench_growth,
    "chain": bench_chain,
    "compare": bench_compare,
    "remedies": bench_remedies,
}


if __name__ == "__main__":
    for name in sys.argv[1:] or SECTIONS:
        print(f"== {name}: {SECTIONS[name].__doc__}")
        SECTIONS[name]()
