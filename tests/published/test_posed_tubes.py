"""A 12 x 1.2 tube with an aluminium wire, posed: reference values computed outside.

Source: project reference cases, group "example" (EX-SENS, EX-POSE); computed by fibre return
mapping with a spectral elastica. Wire 69 GPa, K 180 MPa, n 0.2, 2.7 g/cm3; TPU 1.2 g/cm3 and
linear; clamp level, 120 mm, all of it bent to R 40 mm curling upward; back-stress share 0.2;
let go without weight and loaded only then.
Values as printed there, in N, mm and MPa.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flexcalc.joints.balance import JointLaw, Load, at_rest, loaded
from flexcalc.joints.cells import Piece, cut
from flexcalc.joints.fibres import virgin_wire
from flexcalc.joints.limbs import one_limb
from flexcalc.joints.pull import Elastomers, Pull
from flexcalc.limb.inputs import GRAVITY, Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.limb.outline import Round
from flexcalc.pose.centre_line import positions_of
from flexcalc.pose.pose import hold_pose
from flexcalc.pose.retained import retained_bend
from flexcalc.wire.bending import elastic_rigidity, rebent_limb, spring_back_share

ALUMINIUM = Metal(
    name="aluminium",
    elastic_modulus=69e9,
    strength_coefficient=180e6,
    hardening_exponent=0.2,
    density=2700,
)
TPU = Elastomer(
    name="linear",
    elastic_modulus=35e6,
    density=1200,
    poisson_ratio=0.48,
    saturation_stress=math.inf,
    relaxation_exponent=0.0,
)
TUBE = Limb(
    elastomer=TPU,
    outline=Round(diameter=0.012),
    wall=0.0012,
    length=0.12,
    wire=Wire(metal=ALUMINIUM, diameter=0.003),
)


def soft(modulus: float) -> dict[str, Any]:
    return {"elastomer": replace(TPU, elastic_modulus=modulus * 1e6)}


def metal(strength: float) -> dict[str, Any]:
    return {"wire": Wire(metal=replace(ALUMINIUM, strength_coefficient=strength * 1e6), **D3)}


def wire(diameter: float) -> dict[str, Any]:
    return {"wire": Wire(metal=ALUMINIUM, diameter=diameter / 1e3)}


D3 = {"diameter": 0.003}
SOLID = {"wall": None, "channel_diameter": 0.0032}
INFILL = {"infill": 0.2, "channel_diameter": 0.0032}
# change of the limb, radius, change of the call, share kept; tolerance 0.005 as printed
SENSITIVITY = {
    "baseline": ({}, 40, {}, 0.6560893986116019),
    "E 25": (soft(25), 40, {}, 0.7877954718233761),
    "E 50": (soft(50), 40, {}, 0.49905805148943694),
    # printed as 90, but the datasheet fit of 95A gives 86, and 86 gives this share to 2e-6
    "E of 95A": (soft(86), 40, {}, 0.30635089951199834),
    "relaxed": ({}, 40, {"elastomer_share": 0.6}, 0.8371880791204223),
    "softened": (soft(35 * 0.83), 40, {}, 0.7358331946447427),
    "K 140": (metal(140), 40, {}, 0.5503784216156345),
    "K 116": (metal(116), 40, {}, 0.4716740382870548),
    "Masing": ({}, 40, {"rule": "masing"}, 0.40257458754941977),
    "isotropic": ({}, 40, {"rule": "isotropic"}, 0.7149927854547661),
    "beta 0.3": ({}, 40, {"back_stress": 0.3}, 0.6352157382762302),
    "d 2.9": (wire(2.9), 40, {}, 0.6051902823303732),
    "d 3.1": (wire(3.1), 40, {}, 0.7044047113683622),
    "AWG 8": (wire(3.264), 40, {}, 0.774409062921709),
    "R 60": ({}, 60, {}, 0.7352544302697529),
    "R 25": ({}, 25, {}, 0.5080096929733923),
    "wall 0.8": ({"wall": 0.0008}, 40, {}, 0.776835979686702),
    "wall 1.6": ({"wall": 0.0016}, 40, {}, 0.5733951558365665),
    "solid": (SOLID, 40, {}, 0.4325838194545628),
    "infill 20 %": (INFILL, 40, {}, 0.6439056479613098),
}
# E, modulus left, wire; EI wire and tube, M wire and tube; share free, isotropic, mixed 0.2 and
# 0.3, parallel model (Masing); released tip; sag and root moment under 0, 10, 30 g
POSES = [
    (25, 1.0, 4,
     (867079.5723907829, 15023.850051703252, 932.910306141902, 375.5962512925813),
     (0.956963105309027, 0.9406232412098833, 0.9366176362794517, 0.9283088455859474,
      0.7597056329463205), (13.909142615919194, 83.08530022868366),
     (0.0007568491640768116, 0.006053723154764157, 0.016461186533561545),
     (2.872324280716968, 4.22673643555744, 6.931245092130171)),
    (35, 1.0, 3,
     (274349.3959517711, 21033.390072384555, 371.558256015454, 525.8347518096139),
     (0.9458269984919855, 0.7149916530931503, 0.6560864245929146, 0.635213690777884,
      0.4025740730205805), (56.21493647944642, 84.56696440731072),
     (0.11275804754072283, 0.3163140898655712, 0.751097957754908),
     (3.435423517458628, 9.020092090083962, 20.46512255886261)),
    (35, 1.0, 4,
     (867079.5723907829, 21033.390072384555, 932.910306141902, 525.8347518096139),
     (0.956963105309027, 0.9329840542025544, 0.921022716554711, 0.9037169394512519,
      0.6808326400249372), (16.04955643438749, 83.78566939605555),
     (0.0011839291358342052, 0.006328801885331359, 0.01617024195350325),
     (2.9461186280684144, 4.511456554408303, 7.639436094625244)),
    (50, 1.0, 2,
     (54192.47327442393, 30047.700103406503, 101.50961831970137, 751.1925025851626),
     (0.9250747477010918, 0.14950990757245602, 0.14450264604853977, 0.14213916252429826,
      0.09535916544313956), (116.2765796233859, 25.60567617256672),
     (0.4414054723978289, 2.134579380673369, 5.59564603814232),
     (3.982622490007987, 15.443103176529975, 38.60175551347484)),
    (35, 0.6, 2,
     (54192.47327442393, 21033.390072384555, 101.50961831970137, 315.5008510857683),
     (0.9250747477010918, 0.34644395983075754, 0.32761265206162266, 0.31926985038911065,
      0.2119861553588782), (101.59252609257973, 54.37356040229251),
     (0.7439106801563682, 3.447132586811044, 9.482919737455703),
     (3.737782481316202, 13.952685527738764, 35.430105912265574)),
    (35, 0.6, 3,
     (274349.3959517711, 21033.390072384555, 371.558256015454, 315.5008510857683),
     (0.9458269984919855, 0.8904749926977603, 0.8371891240133391, 0.8033447930182231,
      0.5601155415888781), (28.14970234016608, 86.3849699769265),
     (0.018848144261241373, 0.042978002552800376, 0.09120997048927393),
     (2.7465884218203067, 5.51699387290016, 11.097691064103927)),
    (35, 0.6, 4,
     (867079.5723907829, 21033.390072384555, 932.910306141902, 315.5008510857683),
     (0.956963105309027, 0.9432139788278624, 0.9410925563967615, 0.9354587776282131,
      0.7917981605175276), (13.302280415112666, 82.87244034990344),
     (0.0006909837195081536, 0.006020694410906913, 0.016577972032237653),
     (2.851196325901164, 4.145861919462253, 6.7305671877826505)),
]  # fmt: skip


@pytest.mark.parametrize("name", SENSITIVITY)
def test_one_at_a_time(name: str) -> None:
    changes, radius, call, share = SENSITIVITY[name]
    limb = replace(TUBE, **changes)
    kept = float(retained_bend(limb, 1e3 / radius, **{"back_stress": 0.2, **call}))
    assert kept == pytest.approx(share, abs=0.005)


def weighed_later(limb: Limb, setting: Setting) -> tuple[tuple[float, float], float]:
    """Where the tip rests (x, y) [m], and the loads' moment about the clamp [N m], if a limb that
    is all one bend is let go without weight and loaded only then.

    That is what these cases did; `hold_pose` has weight and payload on from letting go.
    """
    limb = rebent_limb(limb, None, 0.2)
    numbers = one_limb(limb, setting)
    cells = cut([Piece(start=0.0, end=limb.length, joints=96, bend=0)])
    count = len(cells.places)
    bent = np.full((1, count), setting.bends[0].curvature)
    elastomers = Elastomers(
        rigidity=numbers.rigidity,
        stiffening=np.ones((1, 1)),
        relaxation=np.zeros((1, 1)),
        natural=np.zeros(1),
        softening=None,
    )
    pull = Pull(elastomers=elastomers, share=np.ones((1, 1)), rest=np.zeros((1, count)))
    assert numbers.bundle is not None
    wire_there = virgin_wire(numbers.bundle, 64, count).moved(bent)
    rest = at_rest(wire_there, pull, bent, bent, 1e-10)
    law = JointLaw(
        wire=wire_there.moved(rest),
        pull=pull,
        rigid=np.zeros(count, dtype=bool),
        held=bent,
        stiffness=bent,
    )
    mass = float(numbers.mass_per_length[0, 0])
    load = Load(
        clamp=np.array([setting.clamp_angle]),
        joints=cells.lengths,
        segments=cells.segments,
        loads=GRAVITY * (setting.payload + mass * cells.beyond[None, :]),
    )
    angles, kept = loaded(law, load, load.angles(rest), 1e-9, fresh=True)
    assert kept[0]
    stations = np.append(setting.clamp_angle, angles[0])
    places = positions_of(stations, cells.arc_length)
    x = places[:, 0]
    weight = mass * np.sum(cells.lengths * (x[1:] + x[:-1]) / 2)
    return tuple(places[-1]), GRAVITY * (setting.payload * x[-1] + weight)


@pytest.mark.parametrize("case", POSES, ids=lambda case: f"E{case[0]}-{case[1]}-d{case[2]}")
def test_posed_tube(case: tuple[Any, ...]) -> None:
    E, left, d, numbers, shares, tip, sags, roots = case
    rigidity, tube, wire_moment, tube_moment = numbers
    limb = replace(TUBE, **wire(d), **soft(E * left))
    assert limb.wire is not None
    assert elastic_rigidity(limb.wire) * 1e6 == pytest.approx(rigidity, rel=1e-4)
    assert spring_back_share(limb.wire, 25.0) == pytest.approx(shares[0], abs=2e-4)
    rules = {"isotropic": shares[1], "masing": shares[4]}
    for rule, share in rules.items():
        assert retained_bend(limb, 25.0, rule) == pytest.approx(share, abs=2e-3)
    assert retained_bend(limb, 25.0, "mixed", 0.3) == pytest.approx(shares[3], abs=2e-3)
    bends = (Bend(start=0.0, angle=3.0, radius=0.04),)
    for payload, sag, root in zip((0.0, 0.01, 0.03), sags, roots, strict=True):
        setting = Setting(bends=bends, clamp_angle=math.pi / 2, payload=payload)
        pose = hold_pose(limb, setting, back_stress=0.2)
        assert pose.retained_share[0] == pytest.approx(shares[2], abs=2e-3)
        hung, moment = weighed_later(limb, setting)
        assert (pose.shape_released.tip[1] - hung[1]) * 1e3 == pytest.approx(sag, rel=0.03)
        # the printed root moments come from coarse quadrature: without payload a bent arc's own
        # moment is w (1 - cos kL)/k^2, 0.3 % above the printed one (see the test below)
        assert moment * 1e3 == pytest.approx(root, rel=0.006)
        assert pose.moments.wire[0] * 1e3 == pytest.approx(wire_moment, rel=3e-4)
        assert pose.moments.elastomer[0] * 1e3 == pytest.approx(tube_moment, rel=1e-4)
        assert tube * left * 0.025 == pytest.approx(tube_moment, rel=1e-4)
        # the printed shares carry up to 1.3e-4, which moves the tip by 0.02 mm
        assert pose.shape_released.tip == pytest.approx([x / 1e3 for x in tip], abs=3e-5)


def test_root_moment_of_a_stiff_arc_is_the_closed_form() -> None:
    limb = replace(TUBE, **wire(4), **soft(21))
    bends = (Bend(start=0.0, angle=3.0, radius=0.04),)
    setting = Setting(bends=bends, clamp_angle=math.pi / 2)
    pose = hold_pose(limb, setting, back_stress=0.2)
    k = pose.retained_share[0] * 25.0
    area = math.pi / 4 * (0.012**2 - 0.0096**2), math.pi / 4 * 0.004**2
    weight = 9.80665 * (1200 * area[0] + 2700 * area[1])
    assert pose.moments.root == pytest.approx(weight * (1 - math.cos(k * 0.12)) / k**2, rel=2e-4)
