"""Break mesh files in thousands of ways: each must come out a surface or a refusal.

    python -m tests.scripts.broken_meshes 10000 [first seed] [processes]

Every tenth that is read is traced too. A file that takes a core longer than ten seconds counts as
hung.
"""

from __future__ import annotations

import io
import re
import sys
import time
import traceback
import zipfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache

import numpy as np

from data.rules import Refused
from flexcalc.mesh import limb_centreline, limb_slices, read_surface, surface_health
from tests.flexcalc.mesh.lofts import build, stl_bytes, stl_text

HUNG = 10.0
WORDS = [b"nan", b"inf", b"-1e308", b"1e39", b"0", b"-1", b"4294967295", b"", b"vertex", b"\xff\0"]


@lru_cache(maxsize=1)
def whole_files() -> tuple[bytes, bytes, bytes]:
    """Return a limb as binary STL, text STL and the XML of a 3MF."""
    v, f, _ = build(dict(kind="round", corners=14, rings=24, length=120, a0=8, a1=5))
    corners = "".join(f'<vertex x="{x:.6g}" y="{y:.6g}" z="{z:.6g}"/>' for x, y, z in v.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in f.tolist())
    xml = (
        '<?xml version="1.0"?><model unit="millimeter"><resources><object id="1"><mesh><vertices>'
        f"{corners}</vertices><triangles>{faces}</triangles></mesh></object>"
        '<object id="2"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 6 7"/>'
        '</components></object></resources><build><item objectid="2"/></build></model>'
    )
    return stl_bytes(v, f), stl_text(v, f), xml.encode()


def zipped(xml: bytes) -> bytes:
    """Return a 3MF of a model file."""
    store = io.BytesIO()
    with zipfile.ZipFile(store, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", xml)
    return store.getvalue()


def mutated(seed: int) -> bytes:
    """Return a broken file."""
    g = np.random.default_rng(seed)
    kind = seed % 7
    binary, text, xml = whole_files()
    if kind == 6:  # the archive itself
        return broken(zipped(xml), g)
    break_it = broken if kind < 3 else bent
    data = break_it((binary, text, xml)[kind % 3], g)
    return zipped(data) if kind % 3 == 2 else data


def bent(data: bytes, g: np.random.Generator) -> bytes:
    """Break a file a little: a few numbers, or a few triangles left out or told twice."""
    made = bytearray(data)
    if data[:1] == b"x":
        count = (len(made) - 84) // 50
        for _ in range(int(g.integers(1, 6))):
            row = 84 + 50 * int(g.integers(0, count))
            way = int(g.integers(0, 4))
            if way == 0:
                made[row + 14 : row + 16] = g.integers(0, 256, 2, np.uint8).tobytes()
            elif way == 1:
                made[row + 12 : row + 24] = made[row + 24 : row + 36]
            elif way == 2:
                made[row + 12 : row + 24] = g.normal(0, 90, 3).astype("<f4").tobytes()
            else:
                other = 84 + 50 * int(g.integers(0, count))
                made[row : row + 50] = made[other : other + 50]
        return bytes(made)
    for _ in range(int(g.integers(1, 6))):
        number = rb"(?<=[ \"])-?\d+\.?\d*(?=[ \"\n])"
        spots = list(re.finditer(number, bytes(made)))
        spot = spots[int(g.integers(20, len(spots)))]
        word = [b"0", b"3", b"17", b"-4.5", b"1e2", b"9999"][int(g.integers(0, 6))]
        made[spot.start() : spot.end()] = word
    return bytes(made)


def broken(data: bytes, g: np.random.Generator) -> bytes:
    """Break bytes in one to four ways."""
    for _ in range(int(g.integers(1, 5))):
        made = bytearray(data)
        low = int(g.integers(0, max(len(made), 1)))
        high = min(low + int(g.integers(1, 1 + max(len(made) // 8, 1))), len(made))
        way = int(g.integers(0, 8))
        if way == 0 and made:
            for spot in g.integers(0, len(made), int(g.integers(1, 40))):
                made[spot] = int(g.integers(0, 256))
        elif way == 1:
            del made[low:]
        elif way == 2:
            del made[low:high]
        elif way == 3:
            made[low:low] = made[low:high]
        elif way == 4:
            made[low:low] = g.integers(0, 256, int(g.integers(1, 200)), np.uint8).tobytes()
        elif way == 5 and len(made) > 84:
            made[80:84] = g.integers(0, 256, 4, np.uint8).tobytes()
        else:
            made = bytearray(_words(bytes(made), g))
        data = bytes(made)
    return data


def _words(data: bytes, g: np.random.Generator) -> bytes:
    """Put other words in the place of some numbers, or some names."""
    spots = list(re.finditer(rb"[-+.0-9e]{1,12}|[a-z]{5,}", data[:60000]))
    for spot in (
        sorted(g.choice(len(spots), min(3, len(spots)), replace=False))[::-1] if spots else []
    ):
        word = WORDS[int(g.integers(0, len(WORDS)))]
        data = data[: spots[spot].start()] + word + data[spots[spot].end() :]
    return data


def outcome(seed: int) -> tuple[int, str, str, float]:
    """Return seed, what came of a file, the details of a break, and seconds."""
    data = mutated(seed)
    start = time.process_time()
    what, told = "surface", ""
    try:
        surface = read_surface(data)
        surface_health(surface)
        if seed % 10 == 0:
            what = "line"
            root = surface.vertices[int(surface.vertices[:, 2].argmin())]
            limb_slices(surface, limb_centreline(surface, root), 5)
    except Refused:
        what += " refused" if what == "line" else ""
        what = "refused" if what == "surface" else what
    except Exception:
        what, told = "broke", traceback.format_exc()
    seconds = time.process_time() - start
    return seed, "hung" if seconds > HUNG else what, told, seconds


def main(count: int, first: int, processes: int) -> None:
    """Print how many came out how."""
    with ProcessPoolExecutor(processes) as pool:
        rows = list(pool.map(outcome, range(first, first + count), chunksize=50))
    print(count, "files:", dict(Counter(row[1] for row in rows)))
    print(f"slowest {max(row[3] for row in rows):.1f} s")
    for seed, what, told, _ in rows:
        if what in ("broke", "hung"):
            print(seed, what, told)


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [10000, 0, 2][len(given) :]))
