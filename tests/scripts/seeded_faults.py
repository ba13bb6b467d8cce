"""Put twenty faults into the engines, one at a time, and print which test catches each.

Run `python -m tests.scripts.seeded_faults [TREE [NUMBER ...]]`: of another tree than this one, and
only some of the faults. Each is put into a copy of the tree, by its text, wherever that stands; the
tests that name what is broken run first, then all but those of browser and server. Ends with code 1
if a fault passes or its text is no longer found.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
OUTSIDE = ("browser", "page", "server", "no_network", "tree", "seeded")
"""Parts of the names of test files that ask for a browser, a server or the sources themselves."""
SLOW = ("properties", "doors", "physics", "convergence", "blind", "compare")
"""Parts of the names of test files that run last."""

Change = tuple[str, str]
FAULTS: list[tuple[str, str, list[Change]]] = [
    # title, what is broken, the text with its fault and older forms of it
    ("modulus from Shore A 10 % high", "gent_modulus",
     [('return 1e6 * row["stress_unit"]', 'return 1.1e6 * row["stress_unit"]')]),
    ("roof of a lying channel cut out, not added", "roof_area",
     [("(0.75 * math.pi + 1)", "(0.75 * math.pi - 1)")]),
    ("elastomer softens with exponent 1.3", "softened_stress",
     [("SOFTENING = 1.7", "SOFTENING = 1.3")]),
    ("path of a printed hole without the bead's arc", "path_radius",
     [("(bead + math.hypot(bead, hole)) / 2", "(bead + hole) / 2")]),
    ("weight of 1/2 for the finer chain, not 1/3", "rest_shape",
     [("(fine - coarse) / 3", "(fine - coarse) / 2"), ("(4**order - 1)", "(2**order + 1)")]),
    ("limb without its own weight", "hold_pose",
     [("mass_per_length[:, None] * beyond)", "mass_per_length[:, None] * 0.0 * beyond)")]),
    ("over-bend 2 % off", "over_bend",
     [("return bent * retained_bend(", "return 0.98 * bent * retained_bend(")]),
    ("far poles of a magnet pull the wrong way", "magnet_pull",
     [("((near - one) - (two - far))", "((near - one) + (two - far))")]),
    ("time of rest left out after a hold", "release_shares|hold_time",
     [("held=(rest + hold_time / REFERENCE_TIME)", "held=((1 + hold_time) / REFERENCE_TIME)"),
      ("return relaxed_share(elastomer, hold + rest),", "return relaxed_share(elastomer, hold),")]),
    ("likely band from the quartiles", "sample_pose",
     [("BAND = (0.1, 0.9)", "BAND = (0.25, 0.75)")]),
    ("reading without what the surface throws back inside", "dyed_reflectance",
     [("read / (_THROUGH + INTERNAL_REFLECTION * read)", "read / _THROUGH")]),
    ("always the 2 degree observer", "xyz",
     [("return spectra @ weights(light, observer)", "return spectra @ weights(light, 2)")]),
    ("rotation of blue hues the wrong way", "delta_e",
     [("+ rotation * d_chroma * d_hue", "- rotation * d_chroma * d_hue")]),
    ("variance of a reading three times as large", "predict_band",
     [("+ MODEL_ERROR**2) / 3", "+ MODEL_ERROR**2)")]),
    ("drop in litres", "drops_for",
     [('["drop"]["volume"].value', '["drop"]["volume"].value * 1e3')]),
    ("vapour in parts per thousand", "vapour_ppm",
     [("DENSITY * 1e6 / room", "DENSITY * 1e3 / room")]),
    ("too little dye to make a mix stronger", "top_up",
     [("(wanted - now) / (1 - wanted)", "(wanted - now) / (1 - now)")]),
    ("one coat too few", "dye_load",
     [("np.expm1(number * np.log1p(-held))", "np.expm1((number - 1) * np.log1p(-held))")]),
    ("dyes crowd each other half as much", "uptake",
     [("laid / (1 + crowd)", "laid / (1 + crowd / 2)")]),
    ("band of half the share", "predict_band",
     [("around), share, axis=1)", "around), share / 2, axis=1)")]),
]  # fmt: skip


def put_in(tree: Path, changes: list[Change]) -> Path | None:
    """Change the first text that is found once in the engines of a tree; return its file."""
    for right, wrong in changes:
        sources = [*(tree / "flexcalc").rglob("*.py"), *(tree / "tinting").rglob("*.py")]
        found = [path for path in sources if right in path.read_text(encoding="utf-8")]
        if len(found) == 1:
            text = found[0].read_text(encoding="utf-8")
            assert text.count(right) == 1, f"{right!r} stands {text.count(right)} times"
            found[0].write_text(text.replace(right, wrong), encoding="utf-8")
            return found[0]
    return None


def test_files(tree: Path, word: str) -> tuple[list[str], list[str]]:
    """Return the test files that name what is broken, and the others of the engines."""
    files = [path.relative_to(tree) for path in sorted((tree / "tests").rglob("test_*.py"))]
    files = [path for path in files if not any(part in str(path) for part in OUTSIDE)]
    called = re.compile(rf"\b({word})\b")
    files.sort(key=lambda path: any(part in path.name for part in SLOW))
    near = [str(f) for f in files if called.search((tree / f).read_text(encoding="utf-8"))]
    return near, [str(f) for f in files if str(f) not in near]


def catcher(copy: Path, tree: Path, files: list[str]) -> str:
    """Return the first test of the files that fails in the copy alone, empty if none does."""
    passed_over: list[str] = []
    while named := first_failure(copy, files, passed_over):
        if not first_failure(tree, [named], []):
            return named
        passed_over.append(named)  # it fails without the fault too
    return ""


def first_failure(tree: Path, files: list[str], passed_over: list[str]) -> str:
    """Return the first test of the files that fails, empty if none does."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", *files]
    command += [word for name in passed_over for word in ("--deselect", name)]
    where = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    ended = subprocess.run(command, cwd=tree, env=where, capture_output=True, text=True)
    named = re.findall(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", ended.stdout, re.M)
    if ended.returncode not in (0, 1, 5) and not named:
        raise RuntimeError(ended.stdout[-2000:] + ended.stderr[-2000:])
    return named[0] if named else ""


def main(arguments: list[str]) -> int:
    tree = Path(arguments[0]) if arguments else ROOT
    wanted = [int(number) for number in arguments[1:]] or range(1, len(FAULTS) + 1)
    missed = 0
    for number in wanted:
        title, word, changes = FAULTS[number - 1]
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "tree"
            kept = shutil.ignore_patterns(".git", ".venv", "__pycache__", "*.egg-info")
            shutil.copytree(tree, copy, ignore=kept)
            place = put_in(copy, changes)
            if place is None:
                caught = "its text is not found"
            else:
                near, far = test_files(copy, word)
                caught = catcher(copy, tree, near) or catcher(copy, tree, far)
        missed += place is None or not caught
        print(f"{number:2} {title}: {caught or 'PASSES'}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
