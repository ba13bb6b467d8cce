"""Time what is done with a mesh of so many triangles, and the memory that it takes.

    python -m tests.scripts.bench_mesh 100000 300000 1000000

Each size runs in a process of its own; seconds of one core while nothing else runs.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any

import numpy as np

from flexcalc.build.channel import size_channel
from flexcalc.mesh import bore, ends_of, limb_centreline, mesh_limb, read_surface, side_view
from flexcalc.mesh.solid import body_of, solid_of
from tests.flexcalc.mesh.lofts import build, stl_bytes

SMALL = dict(kind="round", corners=24, rings=30, length=90, a0=7, a1=5)


def timed(count: int) -> dict[str, float]:
    """Return seconds of each step with a bent, tapered limb of so many triangles, and MB."""
    side = round((count / 2) ** 0.5)
    v, f, root = build(
        dict(kind="round", corners=side, rings=side, path="arc", bend_radius=55, angle=1.4,
             a0=7, a1=5)
    )  # fmt: skip
    raw = stl_bytes(v, f)
    rows: dict[str, float] = {"triangles": float(len(f))}
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    def step(name: str, work: Callable[[], Any]) -> Any:
        start = time.process_time()
        found = work()
        rows[name] = time.process_time() - start
        return found

    # what is loaded once is not counted
    small = read_surface(stl_bytes(*build(SMALL)[:2]), "mm")
    bore(small, limb_centreline(small, np.zeros(3)), size_channel(2e-3, "upright"))
    surface = step("read", lambda: read_surface(raw, "mm"))
    step("solid", lambda: solid_of(surface))
    step("seen", lambda: (side_view(surface), ends_of(surface)))
    line = step("line", lambda: limb_centreline(surface, root / 1e3))
    step("sections", lambda: mesh_limb(surface, line))
    rows["read to verdict"] = sum(rows[name] for name in ("read", "solid", "line", "sections"))
    channel = size_channel(2e-3, "upright")
    step("ready to bore", lambda: body_of(surface))
    step("bore", lambda: bore(surface, line, channel))
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return {**rows, "MB": after / 1024, "MB before": before / 1024}


def main(counts: list[int]) -> None:
    """Print one line a size."""
    for count in counts:
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
            found = pool.submit(timed, count).result()
        print(", ".join(f"{name} {value:.2f}" for name, value in found.items()), flush=True)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [100_000, 300_000, 1_000_000])
