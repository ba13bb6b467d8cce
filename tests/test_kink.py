"""Kinks: solid limbs, cures as exact inverses, cores by a second route, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flexcalc.inputs import Elastomer, Limb
from flexcalc.kink import kink_cure, kink_moment, kink_radius, kink_radius_of
from flexcalc.outline import Ellipse, Outline, Polygon, Round

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
    assert kink_radius_of(limb(Round(diameter=0.012), wall=None)).cautions == ()


def test_scaling_and_order() -> None:
    base = kink_radius(0.012, 0.0012, 0.1)
    assert kink_radius(0.024, 0.0024, 0.1) == pytest.approx(2 * base)
    moments = [kink_moment(0.012 * k, 0.0012 * k, 35e6, 0.1) for k in (1, 2)]
    assert moments[1] == pytest.approx(8 * moments[0])
    assert kink_moment(0.012, 0.0012, 70e6, 0.1) == pytest.approx(2 * moments[0])
    radii = [kink_radius(0.012, 0.0012, infill) for infill in (0, 0.05, 0.1, 0.2, 0.4)]
    assert radii == sorted(radii, reverse=True)
    assert radii[0] == pytest.approx(0.045, abs=5e-4)  # the 12 x 1.2 tube kinks at R 45 mm


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
    # the same out of kink_radius: q = (R0/R)^2 - 1 = core energy over ring energy
    q = (kink_radius(0.012, 0.0012) / kink_radius(0.012, 0.0012, 0.5, infill_exponent=1)) ** 2 - 1
    core = energy * 0.0048**2 * 0.5 / (2 * 1.3)
    ring = 3 * math.pi / 8 * 0.0012**3 / (0.0054 * (1 - 0.48**2))
    assert q == pytest.approx(core / ring, rel=1e-9)


@pytest.mark.parametrize("radius", [0.044, 0.03, 0.0221])
def test_cures_are_exact_inverses(radius: float) -> None:
    cure = kink_cure(0.012, 0.0012, radius)
    assert cure.needed and 0 < cure.infill < 0.3 and 0.0012 < cure.wall < 0.006
    assert kink_radius(0.012, 0.0012, cure.infill) == pytest.approx(radius, rel=1e-12)
    assert kink_radius(0.012, cure.wall) == pytest.approx(radius, rel=1e-12)
    assert not cure.cautions


def test_ten_to_fifteen_percent_infill_cures_the_usual_tube() -> None:
    assert 0.10 < kink_cure(0.012, 0.0012, 0.030).infill < 0.15


def test_no_cure_where_none_is_needed_and_solid_where_nothing_less_helps() -> None:
    cure = kink_cure(0.012, 0.0012, 0.05, infill=0.1)
    assert (cure.needed, cure.infill, cure.wall) == (False, 0.1, 0.0012)
    hard = kink_cure(0.012, 0.0012, 0.001)
    assert (hard.infill, hard.wall) == (1.0, 0.006)
    assert [caution.key for caution in hard.cautions] == ["kink_dense_core"]


def test_limbs_that_are_not_round_are_taken_as_wide_as_their_longer_side() -> None:
    ellipse = Ellipse(width=0.016, height=0.010)
    turned = Ellipse(width=0.010, height=0.016)
    got = kink_radius_of(limb(ellipse, wall=0.0012))
    assert got.radius == pytest.approx(kink_radius(0.016, 0.0012), rel=2e-5)
    assert kink_radius_of(limb(turned, wall=0.0012)).radius == pytest.approx(got.radius)
    assert [caution.key for caution in got.cautions] == ["kink_outline"]
    box = Polygon(points=((0, 0), (0.01, 0), (0.01, 0.02), (0, 0.02)))
    keys = [c.key for c in kink_radius_of(limb(box, wall=0.003, infill=0.5)).cautions]
    assert keys == ["kink_outline", "kink_thick_wall", "kink_dense_core"]
    largest = Polygon(points=((-1, -1), (1, -1), (1, 1), (-1, 1)))
    assert kink_radius_of(limb(largest, wall=0.01)).radius == kink_radius(2.0, 0.01)
    tube = kink_radius_of(limb(Round(diameter=0.012), wall=0.0012, infill=0.1))
    assert tube.radius == kink_radius(0.012, 0.0012, 0.1) and tube.cautions == ()
    assert tube.moment == kink_moment(0.012, 0.0012, 35e6, 0.1)


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
