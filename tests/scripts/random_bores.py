"""Cut channels into limbs made at random and print how many came out proven.

    python -m tests.scripts.random_bores 100 [first seed] [processes]

A limb is refused by `bore` with a place, or comes out closed, in one piece, blind or through, the
volume of its channel gone; a RuntimeError counts as broken.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np

from data.rules import Refused
from flexcalc.build.channel import size_channel
from flexcalc.build.solids import file_bytes
from flexcalc.mesh import bore, limb_centreline, read_surface, surface_health
from tests.flexcalc.mesh.limbs import made_limb


def one(seed: int) -> tuple[int, dict[str, Any], str, str, float]:
    """Return seed, kinds, what came of it, details and seconds."""
    g = np.random.default_rng(seed + 10**6)
    made = made_limb(seed)
    start = time.process_time()
    try:
        surface = read_surface(made.data, "mm")
        line = limb_centreline(surface, made.root / 1e3)
        start = time.process_time()
        wire = float(np.clip(line.radius * g.uniform(0.12, 0.5), 6e-4, 6e-3))
        channel = size_channel(wire, str(g.choice(["upright", "lying"])))
        share = float(g.choice([line.wrist_share, 0.6, 0.9, 1.0]))
        entry = str(g.choice(["root", "tip"]))
        made.kinds |= dict(wire=wire, share=share, entry=entry)
        result = bore(surface, line, channel, entry=entry, depth_share=share)
        health = surface_health(read_surface(file_bytes(result.piece, "stl"), "mm"))
        if not (health.closed and health.bodies == 1):
            return seed, made.kinds, "file open", str(health), time.process_time() - start
    except Refused as refusal:
        return seed, made.kinds, "refused", str(refusal), time.process_time() - start
    except Exception:
        return seed, made.kinds, "broke", traceback.format_exc(), time.process_time() - start
    off = f"{result.removed / result.expected - 1:+.1e}"
    return seed, made.kinds, "bored", off, time.process_time() - start


def main(count: int, first: int, processes: int) -> None:
    """Print how many of how many."""
    with ProcessPoolExecutor(processes) as pool:
        rows = list(pool.map(one, range(first, first + count), chunksize=4))
    print(count, "limbs:", dict(Counter(row[2] for row in rows)))
    offs = np.abs([float(row[3]) for row in rows if row[2] == "bored"])
    print(f"volume removed off by: median {np.median(offs):.1e}, most {offs.max():.1e}")
    print(f"seconds each: median {np.median([row[4] for row in rows]):.2f}")
    for row in rows:
        if row[2] != "bored":
            print(row[2], row[0], row[1], row[3][-600:])


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [100, 0, 2][len(given) :]))
