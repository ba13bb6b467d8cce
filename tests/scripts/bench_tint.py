"""Print how fast the tint engine is: `python -m tests.scripts.bench_tint [section ...]`.

Each section prints ratios measured in this one run, errors beside the times. Without a name all
of them run. Times are processor times of one core (set OMP_NUM_THREADS=1).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import delta_e, lab, weights
from tinting.colour.grid import wavelengths_nm
from tinting.learn.advice import next_swatch
from tinting.learn.band import predict_band
from tinting.learn.fit import fit_dyes
from tinting.recipe.search import find_recipes
from tinting.skin.dyed import dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye, Swatch

Array = NDArray[np.float64]
BATCH, DROP = 1e-5, 3.2e-8
DESIGN = ((1 / 8, 3), (1 / 2, 5), (1 / 8, 1), (1 / 32, 2), (1.0, 3), (1 / 4, 2))
RECIPES = 8_933_200


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Least processor time of some runs."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def library_labs(spectra: Array) -> Array:
    """CIELAB of spectra, one library call after the other, as one would write it."""
    import colour

    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    white = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["D65"]
    labs = []
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        for spectrum in spectra:
            sd = colour.SpectralDistribution(spectrum, wavelengths_nm)
            found = colour.sd_to_XYZ(sd, cmfs, light) / 100
            labs.append(colour.XYZ_to_Lab(found, white))
    return np.array(labs)


def twelve_dyes() -> list[Dye]:
    """Invented dyes of one or two bands."""
    rng = np.random.default_rng(3)
    dyes = []
    for number in range(12):
        absorptivity = np.full(wavelengths_nm.size, 0.3)
        for _ in range(rng.integers(1, 3)):
            place, width = rng.uniform(410, 690), rng.uniform(30, 60)
            band = np.exp(-(((wavelengths_nm - place) / width) ** 2) / 2)
            absorptivity += rng.uniform(8, 50) * band
        dyes.append(Dye(name=f"dye {number}", absorptivity=absorptivity))
    return dyes


def off_white() -> Base:
    """A pale translucent base."""
    spectrum = 0.8 - 0.15 / (1 + np.exp((wavelengths_nm - 430) / 25))
    return Base(reflectance=spectrum, scattering_thickness=0.1, kind="translucent")


def targets(count: int, off: float) -> list[tuple[Array, float]]:
    """Colours ``off`` [dE] or so beside a recipe, and how far that recipe is from them."""
    rng, base, dyes = np.random.default_rng(12), off_white(), twelve_dyes()
    found = []
    for _ in range(count):
        chosen = rng.choice(12, size=rng.integers(1, 4), replace=False)
        mix = [(dyes[i], DROP / BATCH * rng.integers(1, 21)) for i in chosen]
        colour = tint(base, mix, int(rng.integers(1, 6))).lab()
        target = colour + rng.normal(size=3) * off
        found.append((target, float(delta_e(colour, target))))
    return found


def bench_spectra() -> None:
    """Spectra per second to XYZ and CIELAB, by one matrix and by library calls."""
    rng = np.random.default_rng(0)
    spectra = rng.uniform(0.05, 0.9, size=(2000, wavelengths_nm.size))
    single, matrix = spectra.astype(np.float32), weights().astype(np.float32)
    room = np.empty((2000, 3), dtype=np.float32)
    few = spectra[:200]
    library_labs(few[:2])
    theirs = seconds(lambda: library_labs(few)) / len(few)
    ours = seconds(lambda: [lab(spectra) for _ in range(50)]) / 100_000
    bare = seconds(lambda: [np.matmul(single, matrix, out=room) for _ in range(500)]) / 1e6
    apart = float(np.abs(lab(few) - library_labs(few)).max())
    print(f"spectra: library calls {1 / theirs:,.0f}/s")
    print(
        f"  CIELAB, checked {1 / ours:,.0f}/s, {theirs / ours:,.0f}x; apart by {apart:.1e} at most"
    )
    print(f"  XYZ in a cached block {1 / bare:,.0f}/s, {theirs / bare:,.0f}x")


def bench_exact() -> None:
    """The exact search of nine million recipes against a loop of library calls per recipe."""
    import colour

    base, dyes = off_white(), twelve_dyes()
    times = []
    for target, _ in targets(8, 0.5):
        start = time.process_time()
        find_recipes(base, dyes, target, exact=True)
        times.append(time.process_time() - start)
    absorptivities = np.array([dye.absorptivity for dye in dyes])
    shares = np.random.default_rng(1).uniform(0.001, 0.06, size=(300, 3))
    wanted = np.array([50.0, 10.0, 10.0])
    library_labs(np.full((2, wavelengths_nm.size), 0.5))

    def loop() -> None:
        for mix in shares:
            spectrum = dyed_reflectance(mix @ absorptivities[:3], base)
            colour.difference.delta_E_CIE2000(library_labs(spectrum[None])[0], wanted)

    theirs = seconds(loop) / len(shares)
    median, slowest = float(np.median(times)), max(times)
    gain = theirs * RECIPES / median
    print(f"exact: {RECIPES:,} recipes in {median:.2f} s (slowest of 8 {slowest:.2f} s; goal 2)")
    print(f"  by library calls {theirs * 1e3:.2f} ms a recipe: {gain:,.0f}x as fast (goal 3000)")
    far = seconds(lambda: find_recipes(base, dyes, (10, 60, 40), exact=True), 1)
    print(f"  a target far out of reach, with its reason: {far:.2f} s")


def bench_live() -> None:
    """Time and quality of the live answer."""
    base, dyes = off_white(), twelve_dyes()
    times, gaps, known = [], [], []
    for target, beside in targets(100, 0.1):
        start = time.process_time()
        found = find_recipes(base, dyes, target)
        times.append(time.process_time() - start)
        gaps.append(found.gap)
        known.append(beside)
    median, late = np.quantile(times, [0.5, 0.95]) * 1e3
    print(f"live: {median:.0f} ms, 95 % within {late:.0f} ms (goal 50) for 12 dyes;")
    print(
        f"  gap {np.median(gaps):.2f} median, {np.quantile(gaps, 0.95):.2f} at 95 %, where recipes "
        f"known are {np.median(known):.2f} off; {np.mean(np.array(gaps) <= 1):.0%} within 1 dE"
    )
    both = [
        seconds(lambda t=t: find_recipes(base, dyes, t, ("D65", "A", "FL11")), 1)
        for t, _ in targets(20, 0.3)
    ]
    print(f"  under three lights {np.median(both) * 1e3:.0f} ms")
    apart = []
    for target, _ in targets(12, 0.5):
        exact = find_recipes(base, dyes, target, exact=True).gap
        apart.append(find_recipes(base, dyes, target).gap - exact)
    print(
        f"  behind the exact search: same in {np.mean(np.array(apart) < 1e-6):.0%}, "
        f"{np.quantile(apart, 0.95):.3f} dE at 95 % of 12"
    )


def painted(count: int, dyes: list[Dye]) -> list[Swatch]:
    """Read patches of some dyes, each painted alone by one design."""
    rng, base = np.random.default_rng(count), off_white()
    swatches = []
    for number in range(count):
        dye = dyes[number % len(dyes)]
        share, coats = DESIGN[number // len(dyes) % len(DESIGN)]
        # these dyes are some four times as strong as what the design was made for
        colour = tint(base, [(dye, share / 4)], coats).lab() + 0.6 * rng.normal(size=3)
        swatches.append(Swatch(shares={dye.name: share / 4}, coats=coats, lab=colour, error=1.0))
    return swatches


def bench_fit() -> None:
    """Times of a fit by swatches and dyes, against calls of tint, and of what follows it."""
    base, dyes = off_white(), twelve_dyes()
    one = seconds(lambda: [tint(base, [(dyes[0], 0.02)], 3) for _ in range(200)]) / 200
    for count, several in ((1, 1), (3, 1), (6, 1), (9, 3), (72, 12)):
        sets = [painted(count, (dyes[i:] + dyes[:i])[:several]) for i in range(12 // several)]
        times = [seconds(lambda s=swatches: fit_dyes(base, s)) for swatches in sets]
        print(
            f"fit: {count} swatches of {several} dyes {np.median(times) * 1e3:.0f} ms, slowest "
            f"{max(times) * 1e3:.0f} ms, as {np.median(times) / one:,.0f} calls of tint"
            + (" (goal 150 ms)" if count == 6 else "")
        )
    fit = fit_dyes(base, painted(6, dyes[:1]))
    name = dyes[0].name
    band = seconds(lambda: predict_band(fit, {name: 0.1}, 2))
    after = seconds(lambda: next_swatch(fit, name))
    print(f"  band of a recipe {band * 1e3:.1f} ms, next swatch {after * 1e3:.0f} ms")


SECTIONS = {"spectra": bench_spectra, "fit": bench_fit, "exact": bench_exact, "live": bench_live}

if __name__ == "__main__":
    for name in sys.argv[1:] or SECTIONS:
        SECTIONS[name]()
