"""Trace hundreds of limbs made at random and print how many came out right.

    python -m tests.scripts.random_limbs 400 [first seed] [processes]

Right: length within 1 %, area within 2 % and both principal second moments within 4 % at five
places. A caution counts as a warning only if at most 1 in 20 right limbs carries it.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from data.rules import Refused
from flexcalc.mesh import limb_centreline, read_surface
from flexcalc.mesh.slices import check_up, sections_along
from tests.flexcalc.mesh.limbs import MadeLimb, made_limb


def errors(made: MadeLimb) -> tuple[dict[str, float], set[str]]:
    """Return the relative errors of a traced limb, and its cautions."""
    surface = read_surface(made.data, "mm")
    line = limb_centreline(surface, made.root / 1e3)
    low, high = made.length
    length = line.length * 1e3
    off = max(low - length, length - high, 0.0) / ((low + high) / 2)
    # at the same places in space, whatever the length
    nearest = cKDTree(line.points).query(made.places / 1e3)[1]
    ahead = np.einsum("ij,ij->i", made.places / 1e3 - line.points[nearest], line.tangents[nearest])
    shares = np.clip((line.arc_length[nearest] + ahead) / line.length, 0.0, 1.0)
    found = sections_along(surface, line, shares, check_up((0, 0, 1)))
    area, _, moments = found.net()
    xx, yy, xy = moments.T
    half = np.hypot((xx - yy) / 2, xy)
    truth = np.array(made.sections)
    result = {
        "length": off,
        "area": float(np.abs(area * 1e6 / truth[:, 0] - 1).max()),
        "I": float(
            max(
                np.abs(((xx + yy) / 2 + half) * 1e12 / truth[:, 1] - 1).max(),
                np.abs(((xx + yy) / 2 - half) * 1e12 / truth[:, 2] - 1).max(),
            )
        ),
        "wrist": float((line.limb_length * 1e3 - made.limb_length) / (line.radius * 1e3)),
    }
    return result, {caution.key for caution in line.cautions}


def right(found: dict[str, float]) -> bool:
    """Whether all is within what counts as right."""
    return found["length"] < 0.01 and found["area"] < 0.02 and found["I"] < 0.04


def one(seed: int) -> tuple[int, dict[str, Any], str, dict[str, float], set[str], float]:
    """Return seed, kinds, outcome, errors, cautions and seconds of one limb."""
    made = made_limb(seed)
    start = time.process_time()
    try:
        found, cautions = errors(made)
    except Refused as refusal:
        return seed, made.kinds, "refused", {}, {str(refusal)}, time.process_time() - start
    except Exception:
        return seed, made.kinds, "broke", {}, {traceback.format_exc()}, time.process_time() - start
    outcome = "right" if right(found) else "wrong"
    return seed, made.kinds, outcome, found, cautions, time.process_time() - start


def main(count: int, first: int, processes: int) -> None:
    """Print how many of how many."""
    with ProcessPoolExecutor(processes) as pool:
        rows = list(pool.map(one, range(first, first + count), chunksize=4))
    outcomes = Counter(row[2] for row in rows)
    good = [row for row in rows if row[2] == "right"]
    carried = Counter(key for row in good for key in row[4])
    rare = {key for row in rows for key in row[4] if carried[key] <= len(good) / 20}
    print(count, "limbs:", dict(outcomes))
    print("cautions on right limbs:", dict(carried), "of", len(good))
    for seed, kinds, outcome, found, cautions, _ in rows:
        doubts = cautions - {"root_cut", "mesh_open"}
        if outcome == "right" and doubts:
            print("right", seed, kinds, sorted(cautions))
        if outcome != "right":
            silent = outcome == "wrong" and not cautions & rare
            shown = {key: round(value, 4) for key, value in found.items()}
            print("SILENT" if silent else outcome, seed, kinds, shown, sorted(cautions))
    for key in ("root", "tip", "way"):
        table = Counter((row[1][key], row[2]) for row in rows)
        print(key, {"/".join(pair): number for pair, number in sorted(table.items())})
    print(
        "largest errors of right ones",
        {
            key: round(max((abs(row[3][key]) for row in good), default=0.0), 4)
            for key in ("length", "area", "I", "wrist")
        },
    )
    print(f"seconds each: median {np.median([row[5] for row in rows]):.2f}")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [400, 0, 2][len(given) :]))
