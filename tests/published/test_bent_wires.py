"""Round wires bent, let go, and let go inside a tube: reference values computed outside.

Source: project reference cases, group "plastic"; computed (scipy.integrate.quad at 1e-12, small
steps with return mapping fibre by fibre, an 800-element parallel model for Masing's rule). The
shape factor 16/(3 pi) is textbook. Values as printed there, in N, mm and MPa.
"""

from __future__ import annotations

import math

import pytest
from scipy.special import beta

from flexcalc.limb.inputs import Elastomer, Limb, Metal, Wire
from flexcalc.limb.outline import Round
from flexcalc.pose.retained import retained_bend
from flexcalc.wire.bending import (
    bending_moment,
    elastic_rigidity,
    plastic_moment,
    spring_back_share,
    yield_curvature,
    yield_moment,
)

Law = tuple[str, float, float, float, float]
"""Law, E, yield stress, K, n."""
PERFECT: Law = ("perfect", 69000.0, 35.0, 0.0, 0.0)
ALUMINIUM: Law = ("Hollomon", 69000.0, 0.0, 180.0, 0.2)
STEEL: Law = ("Ludwik", 200000.0, 180.0, 530.0, 0.26)
COPPER: Law = ("Ludwik", 117000.0, 40.0, 530.0, 0.44)
TUBE = math.pi / 64 * (12**4 - 9.6**4)
"""Second moment of area of a 12 x 1.2 tube. [mm4]"""

# a = kappa_y/kappa inverted, M/My, curvature left over curvature
PERFECT_SECTIONS = [
    (1, 1.0, 0.0),
    (2, 1.4936600097993546, 0.2531699951003227),
    (10, 1.6891772102794351, 0.8310822789720564),
    (50, 1.6973132161410902, 0.9660537356771782),
]
# law, diameter, radius, moment, curvature after, share after
FREE = [
    (PERFECT, 2, 40, 46.65706143476532, 0.02413904904840752, 0.9655619619363007),
    (PERFECT, 3, 40, 157.4855916577993, 0.024425967055216394, 0.9770386822086558),
    (ALUMINIUM, 3, 40, 371.558256015454, 0.023645674962299638, 0.9458269984919855),
    (PERFECT, 1.5, 15, 19.686486901273856, 0.06551855482436557, 0.9827783223654836),
    (STEEL, 2, 30, 481.68254776127645, 0.030266846994241127, 0.9080054098272338),
]
# law, diameter, radius, EI of the tube, modulus left, M of the wire, share kept: elastic
# unloading, isotropic, Masing
IN_A_TUBE = [
    (ALUMINIUM, 2, 40, 21033.390072384555, 1.0, 101.50961831970137,
     0.6664209131175465, 0.21187273856567865, 0.1333912897474635),
    (ALUMINIUM, 3, 40, 21033.390072384555, 1.0, 371.558256015454,
     0.8784772775822243, 0.7149969134810483, 0.40257596255234207),
    (ALUMINIUM, 3, 40, 21033.390072384555, 0.6, 371.558256015454,
     0.9042324324074922, 0.8905389447794504, 0.5601182344962019),
    (ALUMINIUM, 4, 40, 21033.390072384555, 1.0, 932.910306141902,
     0.9342991209629142, 0.9331186660589355, 0.6808352177877116),
    (ALUMINIUM, 4, 40, 21033.390072384555, 0.6, 932.910306141902,
     0.943234661100373, 0.9432346611172854, 0.7918104473979843),
    (PERFECT, 2, 40, 21033.390072384555, 1.0, 46.65706143476532,
     0.6955877737926061, 0.08859016038990045, 0.0885901653144788),
    (PERFECT, 3, 40, 21033.390072384555, 1.0, 157.4855916577993,
     0.9074664637482928, 0.29910509013779474, 0.2991050247931411),
    (PERFECT, 4, 40, 21033.390072384555, 1.0, 373.3141219797116,
     0.9595029501069077, 0.7066247313747964, 0.7066252700657194),
    (COPPER, 3, 25, 21033.390072384555, 0.6, 705.026454548407,
     0.9367008068313665, 0.934714035381252, 0.4560465394785445),
    (ALUMINIUM, 1, 15, 500.0, 1.0, 13.440856952505268,
     0.8194989670362929, 0.43161857816268684, 0.25788051315662336),
]  # fmt: skip
# diameter, closed form, exact, how far apart they may be
RIGID_CORE = [
    (2, 101.5205862570712, 101.50961831970137, 0.0001296589088923444),
    (3, 371.5747087204172, 371.558256015454, 5.31373403618812e-05),
    (4, 932.9322434546582, 932.910306141902, 2.8218905981176016e-05),
]


def wire_of(law: Law, diameter_mm: float) -> Wire:
    name, E, virgin, K, n = law
    ludwik = name == "Ludwik"
    metal = Metal(
        name=name,
        elastic_modulus=E * 1e6,
        strength_coefficient=(K or virgin) * 1e6,
        hardening_exponent=n,
        yield_stress=virgin * 1e6 if ludwik else None,
        density=2700,
    )
    return Wire(metal=metal, diameter=diameter_mm / 1e3)


def tube_of(wire: Wire, rigidity: float) -> Limb:
    elastomer = Elastomer(
        name="linear",
        elastic_modulus=rigidity / TUBE * 1e6,
        density=1200,
        poisson_ratio=0.48,
        saturation_stress=math.inf,
        relaxation_exponent=0.0,
    )
    return Limb(
        elastomer=elastomer, outline=Round(diameter=0.012), wall=0.0012, length=0.12, wire=wire
    )


@pytest.mark.parametrize(("ratio", "moment", "left"), PERFECT_SECTIONS)
def test_perfectly_plastic_circle(ratio: float, moment: float, left: float) -> None:
    wire = wire_of(PERFECT, 2)
    bent = ratio * yield_curvature(wire)
    assert bending_moment(wire, bent) / yield_moment(wire) == pytest.approx(moment, rel=1e-7)
    assert spring_back_share(wire, bent) == pytest.approx(left, rel=1e-7, abs=1e-12)


def test_shape_factor_of_a_circle() -> None:
    wire = wire_of(PERFECT, 2.3)
    assert plastic_moment(wire) / yield_moment(wire) == pytest.approx(1.6976527263135504, rel=1e-12)


@pytest.mark.parametrize(("law", "d", "radius", "moment", "curvature", "share"), FREE)
def test_free_wire(
    law: Law, d: float, radius: float, moment: float, curvature: float, share: float
) -> None:
    wire, bent = wire_of(law, d), 1e3 / radius
    assert bending_moment(wire, bent) * 1e3 == pytest.approx(moment, rel=1e-6)
    assert spring_back_share(wire, bent) == pytest.approx(share, rel=1e-6)
    assert spring_back_share(wire, bent) * bent / 1e3 == pytest.approx(curvature, rel=1e-6)


@pytest.mark.parametrize(
    ("law", "d", "radius", "rigidity", "left", "moment", "elastic", "isotropic", "masing"),
    IN_A_TUBE,
)
def test_wire_in_a_tube(
    law: Law,
    d: float,
    radius: float,
    rigidity: float,
    left: float,
    moment: float,
    elastic: float,
    isotropic: float,
    masing: float,
) -> None:
    wire, bent = wire_of(law, d), 1e3 / radius
    limb = tube_of(wire, rigidity)
    assert bending_moment(wire, bent) * 1e3 == pytest.approx(moment, rel=1e-6)
    kept = retained_bend(limb, bent, "isotropic", elastomer_share=left)
    assert kept == pytest.approx(isotropic, abs=2e-4)
    kept = retained_bend(limb, bent, "masing", elastomer_share=left)
    assert kept == pytest.approx(masing, abs=2e-4)
    stiff = elastic_rigidity(wire)
    unloaded = 1 - (moment / 1e3 / bent + left * rigidity / 1e6) / (stiff + left * rigidity / 1e6)
    assert unloaded == pytest.approx(elastic, abs=2e-4)
    assert unloaded > isotropic - 1e-6  # reverse yield can only cost bend


@pytest.mark.parametrize(("d", "closed", "exact", "apart"), RIGID_CORE)
def test_rigid_core_closed_form(d: float, closed: float, exact: float, apart: float) -> None:
    wire, n, r = wire_of(ALUMINIUM, d), 0.2, d / 2
    formula = 2 * beta(1 + n / 2, 1.5) * 180 * (r / 40) ** n * r**3
    assert formula == pytest.approx(closed, rel=1e-6)
    moment = float(bending_moment(wire, 25.0)) * 1e3
    assert moment == pytest.approx(exact, rel=1e-6)
    assert 0 < formula / moment - 1 < apart
