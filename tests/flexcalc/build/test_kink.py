"""Kinks: solid limbs, cures as inverses, cores by a second route, bands, the bench, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flexcalc.bench.kinked import measured_kink
from flexcalc.bench.learning import learned, updated
from flexcalc.bench.readings import KinkTest
from flexcalc.build.kink import kink_cure_of, kink_radius_of
from flexcalc.build.tube import (
    kink_cure,
    kink_moment,
    kink_radius,
    ovalising_radius,
    wall_buckling_radius,
)
from flexcalc.limb.inputs import Elastomer, Limb
from flexcalc.limb.outline import Ellipse, Outline, Polygon, Round
from flexcalc.limb.printer import Printer

TPU = Elastomer(
    name="TPU", elastic_modulus=35e6, density=1200.0, poisson_ratio=0.48,
    saturation_stress=5.5e6, relaxation_exponent=0.06,
)  # fmt: skip


def limb(outline: Outline, **given: object) -> Limb:
    return Limb(elastomer=TPU, outline=outline, length=0.12, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(("wall", "infill"), [(None, 0.0), (0.006, 0.0), (0.0012, 1.0), (None, 1)])
def test_a_solid_limb_never_folds(wall: float | None, infill: float) -> None:
    assert kink_radius(0.012, wall, infill) == 0.0
    assert kink_moment(0.012, wall, 35e6, infill) == 0.0
    assert ovalising_radius(0.012, wall, infill) == wall_buckling_radius(0.012, wall, infill) == 0
    assert kink_radius_of(limb(Round(diameter=0.012), wall=None)).cautions == ()


def test_scaling_and_order() -> None:
    base = kink_radius(0.012, 0.0012, 0.1)
    assert kink_radius(0.024, 0.0024, 0.1) == pytest.approx(2 * base)
    moments = [kink_moment(0.012 * k, 0.0012 * k, 35e6, 0.1) for k in (1, 2)]
    assert moments[1] == pytest.approx(8 * moments[0])
    assert kink_moment(0.012, 0.0012, 70e6, 0.1) == pytest.approx(2 * moments[0])
    radii = [kink_radius(0.012, 0.0012, infill) for infill in (0, 0.05, 0.1, 0.2, 0.4)]
    assert radii == sorted(radii, reverse=True)


def test_core_resists_by_the_energy_of_a_bonded_disc() -> None:
    """Ritz in plane strain: u_r = f cos 2t, u_t = g sin 2t, f(a) = a, g(a) = -a/2 (no stretch)."""
    nu, shear = 0.3, 1.0
    lame = 2 * shear * nu / (1 - 2 * nu)
    points, weights = np.polynomial.legendre.leggauss(12)
    r, w = (points + 1) / 2, weights / 2
    powers = range(1, 5)  # f = sum p_i r^i, g = sum q_i r^i
    unit = np.eye(8)

    def strains(p: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        f = sum(c * r**n for c, n in zip(p[:4], powers, strict=True))
        g = sum(c * r**n for c, n in zip(p[4:], powers, strict=True))
        df = sum(c * n * r ** (n - 1) for c, n in zip(p[:4], powers, strict=True))
        dg = sum(c * n * r ** (n - 1) for c, n in zip(p[4:], powers, strict=True))
        return df, (f + 2 * g) / r, (dg - (g + 2 * f) / r) / 2

    form = np.empty((8, 8))
    for i in range(8):
        for j in range(8):
            (a, b, c), (d, e, h) = strains(unit[i]), strains(unit[j])
            density = shear * (a * d + b * e + 2 * c * h) + lame / 2 * (a + b) * (d + e)
            form[i, j] = math.pi * np.sum(w * r * density)
    ends = np.zeros((2, 8))
    ends[0, :4] = ends[1, 4:] = 1
    system = np.block([[2 * form, ends.T], [ends, np.zeros((2, 2))]])
    p = np.linalg.solve(system, np.r_[np.zeros(8), 1.0, -0.5])[:8]
    energy = float(p @ form @ p)
    # the same out of the radius: q = (R0/R)^2 - 1 = core energy over ring energy
    propped = ovalising_radius(0.012, 0.0012, 0.5, infill_exponent=1)
    q = (ovalising_radius(0.012, 0.0012) / propped) ** 2 - 1
    core = energy * 0.0048**2 * 0.5 / (2 * 1.3)
    ring = 3 * math.pi / 8 * 0.0012**3 / (0.0054 * (1 - 0.48**2))
    assert q == pytest.approx(core / ring, rel=1e-9)


@pytest.mark.parametrize("bead", [None, 0.00045])
@pytest.mark.parametrize("radius", [0.044, 0.03, 0.0221])
def test_cures_are_inverses(radius: float, bead: float | None) -> None:
    cure = kink_cure(0.012, 0.0012, radius, bead_width=bead)
    assert cure.needed and 0 < cure.infill < 0.8 and 0.0012 < cure.wall < 0.006
    got = kink_radius(0.012, 0.0012, cure.infill, bead_width=bead)
    assert got == pytest.approx(radius, rel=1e-12)
    assert kink_radius(0.012, cure.wall) == pytest.approx(radius, rel=1e-12)
    thicker = kink_cure(0.012, 0.001, radius, 0.05, bead_width=bead).wall
    got = kink_radius(0.012, thicker, 0.05, bead_width=bead)
    assert got == pytest.approx(radius, rel=1e-12)


def test_no_cure_where_none_is_needed_and_solid_where_nothing_less_helps() -> None:
    cure = kink_cure(0.012, 0.0012, 0.05, infill=0.1)
    assert (cure.needed, cure.infill, cure.wall) == (False, 0.1, 0.0012)
    hard = kink_cure(0.012, 0.0012, 0.001)
    assert (hard.infill, hard.wall) == (1.0, 0.006)
    assert [caution.key for caution in hard.cautions] == ["kink_dense_core"]


@given(
    diameter=st.floats(3e-3, 0.06),
    shares=st.tuples(st.floats(0.01, 0.499), st.floats(0.01, 0.499)),
    infill=st.one_of(st.just(0.0), st.floats(0.001, 0.999)),
    ratio=st.floats(0.0, 0.499),
    exponent=st.floats(0.5, 4.0),
    bead=st.one_of(st.none(), st.floats(1e-4, 1e-3)),
)
def test_a_thicker_wall_never_kinks_earlier(
    diameter: float,
    shares: tuple[float, float],
    infill: float,
    ratio: float,
    exponent: float,
    bead: float | None,
) -> None:
    thin, thick = (
        kink_radius(
            diameter, share * diameter, infill, ratio, infill_exponent=exponent, bead_width=bead
        )
        for share in sorted(shares)
    )
    assert thick <= thin * (1 + 1e-9)


def test_the_wall_buckles_without_a_core_by_the_classical_strain() -> None:
    """Strain t/(a sqrt(3 (1 - nu^2))) of a pressed cylinder: any text on shells (memory)."""
    for nu in (0.0, 0.3, 0.48):
        strain = 0.0012 / (0.0054 * math.sqrt(3 * (1 - nu**2)))
        assert wall_buckling_radius(0.012, 0.0012, 0.0, nu) == pytest.approx(0.0054 / strain)


def test_the_moment_is_on_the_flattening_curve() -> None:
    """M = E I k (1 - (k/k_o)^2/3): two thirds of E I k at the fold, less where the wall buckles."""
    rigidity = math.pi * 35e6 * 0.0054**3 * 0.0012
    flat = 1 / ovalising_radius(0.012, 0.0012, 0.2)
    k = 1 / wall_buckling_radius(0.012, 0.0012, 0.2)
    assert k < flat
    got = kink_moment(0.012, 0.0012, 35e6, 0.2)
    assert got == pytest.approx(rigidity * k * (1 - (k / flat) ** 2 / 3))
    k = 1 / ovalising_radius(0.012, 0.0012)
    assert kink_moment(0.012, 0.0012, 35e6) == pytest.approx(2 / 3 * rigidity * k)


def test_the_band_is_wider_for_cores_and_widest_for_lines() -> None:
    tube = limb(Round(diameter=0.012), wall=0.0012)
    lines = replace(tube, infill=0.2)
    even = replace(lines, infill_pattern="isotropic")
    expected = ((tube, "hollow", 0.1), (even, "isotropic", 0.15), (lines, "lines", 0.22))
    for made, core, deviation in expected:
        got = kink_radius_of(made)
        assert (got.core, got.deviation) == (core, deviation)
        assert math.log(got.high / got.radius) == pytest.approx(deviation)
        assert math.log(got.radius / got.low) == pytest.approx(deviation)
    assert kink_radius_of(even).radius < kink_radius_of(lines).radius < kink_radius_of(tube).radius
    wide = kink_radius_of(lines, printer=Printer(bead_width=0.0009)).radius
    assert wide > kink_radius_of(lines).radius  # wider beads stand farther apart


def test_solid_limbs_and_thick_walls_crease_inside() -> None:
    """Perhaps below 1.3, surely below 1.0 of the thickness."""
    for made in (limb(Round(diameter=0.012), wall=None), limb(Round(diameter=0.012), wall=0.003)):
        got = kink_radius_of(made)
        assert got.mode == "crease" and got.moment == 0
        assert (got.low, got.high) == (pytest.approx(0.012), pytest.approx(0.0156))
    high = kink_radius_of(limb(Ellipse(width=0.006, height=0.02), wall=None))
    assert high.low == pytest.approx(0.02, rel=1e-4)  # its thickness in the bending plane
    dense = limb(Round(diameter=0.012), wall=0.0025, infill=0.5, infill_pattern="isotropic")
    assert kink_radius_of(dense).mode == "crease"  # the core holds it round for so long
    thinner = kink_radius_of(limb(Round(diameter=0.012), wall=0.00275))
    assert thinner.mode == "ovalising" and thinner.high > 0.0156


def test_the_cure_of_a_limb_passes_the_band() -> None:
    tube = limb(Round(diameter=0.012), wall=0.0012, infill=0.15)
    cure = kink_cure_of(tube, 0.03)
    assert cure is not None and cure.needed
    assert kink_radius_of(replace(tube, wall=cure.wall)).high == pytest.approx(0.03, rel=1e-9)
    assert kink_radius_of(replace(tube, infill=cure.infill)).high == pytest.approx(0.03, rel=1e-9)
    assert kink_cure_of(tube, 0.015) is None  # a solid limb would crease
    assert kink_cure_of(limb(Round(diameter=0.012), wall=None), 0.014) is None


def test_other_outlines_are_taken_as_the_tube_of_their_perimeter() -> None:
    ellipse, turned = Ellipse(width=0.016, height=0.010), Ellipse(width=0.010, height=0.016)
    got = kink_radius_of(limb(ellipse, wall=0.0012))
    assert got.radius == pytest.approx(kink_radius(0.013174, 0.0012), rel=1e-4)
    assert kink_radius_of(limb(turned, wall=0.0012)).radius == pytest.approx(got.radius)
    assert [caution.key for caution in got.cautions] == ["kink_outline"]
    box = Polygon(points=((0, 0), (0.01, 0), (0.01, 0.02), (0, 0.02)))
    thin = kink_radius_of(limb(box, wall=0.002, infill=0.5))
    assert [c.key for c in thin.cautions] == ["kink_outline", "kink_dense_core"]
    thick = kink_radius_of(limb(Round(diameter=0.012), wall=0.0035))
    assert [c.key for c in thick.cautions] == ["kink_thick_wall"]
    tube = kink_radius_of(limb(Round(diameter=0.012), wall=0.0012, infill=0.1))
    assert tube.radius == kink_radius(0.012, 0.0012, 0.1, bead_width=0.00045)
    assert tube.cautions == ()
    assert tube.moment == kink_moment(0.012, 0.0012, 35e6, 0.1, bead_width=0.00045)


def test_a_limb_bent_round_mandrels_tells_a_factor_on_the_radius() -> None:
    tube = limb(Round(diameter=0.012), wall=0.0012, infill=0.15)
    reckoned = kink_radius_of(tube)
    test = KinkTest(limb=tube, held_diameter=0.1, kinked_diameter=0.09)
    seen = measured_kink(test, Printer())
    assert seen.value * reckoned.radius == pytest.approx(math.sqrt(0.056 * 0.051))
    known = updated(Printer(), test)
    got = kink_radius_of(tube, printer=known)
    assert reckoned.radius < got.radius < seen.value * reckoned.radius
    assert 0.05 < got.deviation < reckoned.deviation  # no limb is quite like the last
    hollow = replace(tube, infill=0.0)
    assert kink_radius_of(hollow, printer=known) == kink_radius_of(hollow)
    (update,) = learned(Printer(), test).updates
    assert update.after == known.kink_factor and 0.9 < update.weight < 1
    assert measured_kink(test, known).value == pytest.approx(seen.value)
    with pytest.raises(ValueError, match="kink tests of limbs of one kind of core"):
        updated(Printer(), [test, replace(test, limb=hollow)])
    with pytest.raises(ValueError, match="kinked diameter must be"):
        replace(test, kinked_diameter=0.1)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.012, 0.0061), "wall must be .* at most 0.006 m"),
        ((0.012, -0.001), "wall must be"),
        ((-1, 0.001), "outer diameter must be"),
        ((0.012, 0.001, 1.1), "infill must be"),
        ((0.012, 0.001, 0.1, 0.5), "poisson ratio must be"),
        ((0.012, math.nan), "wall must be"),
        (("12", 0.001), "outer diameter must be"),
    ],
)
def test_refusals(arguments: tuple[float, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        kink_radius(*arguments)
    with pytest.raises(ValueError, match="bend radius must be"):
        kink_cure(0.012, 0.001, 0.0)
    with pytest.raises(ValueError, match="limb must be a Limb"):
        kink_radius_of("tube")  # type: ignore[arg-type]
