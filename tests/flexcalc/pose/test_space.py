"""Limbs that leave their plane: against the planar engine, a second rod, limits and symmetry."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from data.rules import Array, Refused
from flexcalc import (
    Along,
    Bend,
    Elastomer,
    Ellipse,
    Limb,
    Metal,
    Pose,
    Round,
    RoundedRectangle,
    Setting,
    Wire,
    assess,
    hold_pose,
    load_elastomer,
    load_metal,
    sample_pose,
)
from flexcalc.joints.falling import pose_or_fall
from flexcalc.joints.fibres import virgin_wire
from flexcalc.joints.limbs import in_space, limb_width, one_limb
from flexcalc.joints.loops import virgin_loops
from flexcalc.joints.posed import COARSE, FINE, pose_limbs
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import GRAVITY
from flexcalc.limb.printer import Printer
from flexcalc.pose.centre_line import positions_of
from flexcalc.rod import rest_shape_in_space
from flexcalc.section.section import limb_section
from flexcalc.section.torsion import torsional_rigidity
from flexcalc.spread.likely_limbs import drawn_inputs, unit_points
from flexcalc.wire.bending import wire_bundle
from flexcalc.wire.twisting import proof_stress, torsional_rigidity_of

ARM = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    wall=0.0012,
    length=0.2,
    wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.003),
)
SHOULDER = Bend(start=0.02, angle=math.radians(45), radius=0.04)
ELBOW = Bend(start=0.09, angle=math.radians(80), radius=0.04)
LEVEL = Setting(bends=(SHOULDER, ELBOW), clamp_angle=math.pi / 2, payload=0.03)


def swung(setting: Setting, *swings: float) -> Setting:
    pairs = zip(setting.bends, swings, strict=True)
    return replace(setting, bends=tuple(replace(bend, swing=swing) for bend, swing in pairs))


def test_a_swing_of_nothing_or_half_a_turn_is_the_plane() -> None:
    flat = hold_pose(ARM, LEVEL)
    assert hold_pose(ARM, swung(LEVEL, 0.0, 0.0)).tip_sag == flat.tip_sag
    down = replace(LEVEL, bends=(SHOULDER, replace(ELBOW, angle=-ELBOW.angle)))
    one, other = hold_pose(ARM, down), hold_pose(ARM, swung(LEVEL, 0.0, math.pi))
    assert other.shape_at_rest.positions == pytest.approx(one.shape_at_rest.positions, abs=0)
    assert other.retained_share == one.retained_share
    assert not np.any(one.shape_at_rest.points[:, 1])


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"bent_by": "hands", "rest_time": 3600.0},
        {"presses": 2, "rest_time": 60.0},
        {"last_bends": (Bend(start=0.06, angle=0.7, radius=0.05),), "last_time": 600.0},
    ],
    ids=["at once", "by hands, an hour", "twice", "after another pose"],
)
def test_bends_in_the_plane_rest_in_space_as_in_the_plane(changes: dict[str, object]) -> None:
    """Two engines: angles of a planar chain, and rotations of one in space."""
    setting = replace(LEVEL, **changes)  # type: ignore[arg-type]
    limbs = one_limb(ARM, setting)
    stretches = bent_stretches(setting, ARM.length, limb_width(ARM))
    times = (setting.rest_time,)
    flat = pose_limbs(limbs, setting, stretches, ARM.length, FINE, times)
    space = pose_limbs(in_space(limbs, ARM), setting, stretches, ARM.length, FINE, times)
    lines = space.looks[0].lines
    assert lines is not None
    for angles, line in zip((flat.looks[0].released, flat.looks[0].resting), lines, strict=True):
        points = positions_of(angles, flat.arc_length)[0]
        assert line.points[0][:, [0, 2]] == pytest.approx(points, abs=1e-12)
        assert line.points[0][:, 1] == pytest.approx(0.0, abs=1e-12)
    assert space.looks[0].loaded == pytest.approx(flat.looks[0].loaded, abs=1e-11)
    assert space.looks[0].stable.all()


def test_a_limb_swung_the_other_way_rests_in_the_mirrored_shape() -> None:
    left = hold_pose(ARM, swung(LEVEL, 0.3, 1.2)).shape_at_rest.points
    right = hold_pose(ARM, swung(LEVEL, -0.3, -1.2)).shape_at_rest.points
    assert right == pytest.approx(left * [1, -1, 1], abs=1e-10)
    assert left[-1, 1] > 0.02  # a positive swing goes to the left


def test_a_bend_down_is_a_bend_swung_by_half_a_turn_more() -> None:
    down = replace(LEVEL, bends=(SHOULDER, replace(ELBOW, angle=-ELBOW.angle, swing=0.8)))
    up = swung(LEVEL, 0.0, 0.8 - math.pi)
    one, other = hold_pose(ARM, down), hold_pose(ARM, up)
    assert other.shape_at_rest.points == pytest.approx(one.shape_at_rest.points, abs=1e-10)


def test_a_limb_that_hangs_down_does_not_care_which_way_all_is_swung() -> None:
    hanging = replace(LEVEL, clamp_angle=0.0)
    one = hold_pose(ARM, hanging).shape_at_rest
    other = hold_pose(ARM, swung(hanging, 0.7, 0.7)).shape_at_rest.points
    turn = np.array([[math.cos(0.7), 0.0], [math.sin(0.7), 0.0], [0.0, 1.0]])
    assert other == pytest.approx(one.positions @ turn.T, abs=1e-9)


def elastic(limb: Limb) -> Limb:
    """A limb without softening, relaxation or yield: then it is an elastic rod."""
    elastomer = Elastomer(
        name="linear", elastic_modulus=1.2e7, density=1200.0, poisson_ratio=0.45,
        saturation_stress=math.inf, relaxation_exponent=0.0,
    )  # fmt: skip
    metal = Metal(
        name="never yields", elastic_modulus=7e10, strength_coefficient=9e9,
        hardening_exponent=0.0, density=2700.0,
    )  # fmt: skip
    wire = None if limb.wire is None else replace(limb.wire, metal=metal)
    return replace(limb, elastomer=elastomer, wire=wire)


def rod(limb: Limb, setting: Setting, natural: Array, stations: Array, held: bool) -> Array:
    """The tip of the elastic rod; ``natural`` (n, 3) up, to the left and twist at stations."""
    section = limb_section(limb)
    own = section.flexural_rigidity_sliding[0] - section.flexural_rigidity_bare[0]
    first, second = (value + own for value in section.flexural_rigidity_bare[:2])
    twist = torsional_rigidity(limb)
    if limb.wire is not None and held:
        twist += torsional_rigidity_of(limb.wire)
    clamp = setting.clamp_angle
    along, upward = (math.sin(clamp), -math.cos(clamp)), (math.cos(clamp), math.sin(clamp))
    frame = [[0.0, upward[0], along[0]], [1.0, 0.0, 0.0], [0.0, upward[1], along[1]]]

    def curl(shares: Array) -> Array:
        up, left, turn = (np.interp(shares, stations, column) for column in natural.T)
        return np.stack([-up, left, turn], axis=1)

    rest = rest_shape_in_space(
        bending_stiffness=(first, second),
        torsional_stiffness=twist,
        length=limb.length,
        clamp_frame=frame,
        tip_load=GRAVITY * setting.payload,
        weight_per_length=GRAVITY * section.mass_per_length,
        natural_curvature=curl,
        breaks=tuple(float(share) for share in stations[1:-1]),
    )
    assert rest.stable
    return rest.tip_position


@pytest.mark.parametrize("outline", [Round(diameter=0.012), Ellipse(width=0.016, height=0.01)])
def test_a_limb_printed_curved_in_space_is_an_elastic_rod(outline: Round | Ellipse) -> None:
    stations = np.array([0.0, 0.4, 1.0])
    natural = np.array([[8.0, 0.0, 0.0], [3.0, 5.0, 4.0], [-4.0, 9.0, 6.0]])
    pairs = [tuple(zip(stations.tolist(), column.tolist(), strict=True)) for column in natural.T]
    limb = elastic(
        replace(
            ARM,
            wire=None,
            outline=Along(
                stations=((0.0, outline), (1.0, outline)),
                natural_curvature=pairs[0],
                sideways_curvature=pairs[1],
                natural_twist=pairs[2],
            ),
        )
    )
    setting = Setting(bends=(), clamp_angle=1.9, payload=0.012)
    pose = hold_pose(limb, setting)
    expected = rod(replace(limb, outline=outline), setting, natural, stations, held=False)
    # 48 joints over the limb: second order, some 1e-4 of its length
    assert pose.shape_at_rest.points[-1] == pytest.approx(expected, abs=2e-4 * limb.length)
    assert pose.stable
    assert pose.sag_wire_free == pose.sag_wire_anchored


@pytest.mark.parametrize("held", [True, False])
def test_a_straight_limb_with_two_corners_is_an_elastic_rod(held: bool) -> None:
    """Corner pieces hold two bends in planes apart; what lies between bends and twists."""
    limb = replace(elastic(ARM), wire_anchored=held)
    rigid = tuple(replace(bend, rigid=True) for bend in LEVEL.bends)
    setting = swung(replace(LEVEL, bends=rigid, payload=0.05), 0.0, math.pi / 2)
    pose = hold_pose(limb, setting)
    section = limb_section(limb)
    twist = torsional_rigidity(limb)
    twist += torsional_rigidity_of(limb.wire) if held and limb.wire else 0.0

    edges = [bend.start / limb.length for bend in rigid] + [
        bend.end / limb.length for bend in rigid
    ]
    breaks = tuple(sorted(edges))
    ways = np.array([[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]) / 0.04

    def piece(shares: Array) -> Array:
        return np.searchsorted(breaks, shares).astype(np.float64)

    def stiff(value: float) -> object:
        return lambda shares: np.where(piece(shares) % 2 == 1, 1e3, 1.0) * value

    def curl(shares: Array) -> Array:
        found = np.zeros((len(shares), 3))
        for number, way in enumerate(ways):
            found[piece(shares) == 2 * number + 1] = way
        return found

    rest = rest_shape_in_space(
        bending_stiffness=(stiff(section.flexural_rigidity_sliding[0]),) * 2,  # type: ignore[arg-type]
        torsional_stiffness=stiff(twist),  # type: ignore[arg-type]
        length=limb.length,
        clamp_frame=[[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]],
        tip_load=GRAVITY * setting.payload,
        weight_per_length=GRAVITY * section.mass_per_length,
        natural_curvature=curl,
        breaks=breaks,
    )
    assert pose.shape_at_rest.points[-1] == pytest.approx(rest.tip_position, abs=1e-3 * limb.length)


def test_twist_decides() -> None:
    """With a wire free to turn the tip falls some three times as far; anchoring buys the rest."""
    pose = hold_pose(ARM, swung(LEVEL, 0.0, math.pi / 2))
    held = hold_pose(replace(ARM, wire_anchored=True), swung(LEVEL, 0.0, math.pi / 2))
    assert pose.tip_sag == pose.sag_wire_free == held.sag_wire_free
    assert held.tip_sag == held.sag_wire_anchored == pose.sag_wire_anchored
    assert 2 < pose.tip_sag / held.tip_sag < 4
    assert "wire turns" in {caution.key for caution in pose.cautions}
    assert held.hand_turn < pose.hand_turn
    assert held.moments.wire_torque > 0


def test_a_twisted_wire_is_checked_against_its_shear_yield() -> None:
    """The least torque that yields: twisted until the surface bears the proof stress / root 3."""
    setting = swung(LEVEL, 0.0, math.pi / 2)
    checks = {check.key: check for check in assess(ARM, setting).checks}
    wire = ARM.wire
    assert wire is not None
    stress = proof_stress(wire.metal)
    strain = stress / wire.metal.elastic_modulus + 0.002
    law = wire.metal.strength_coefficient * strain**wire.metal.hardening_exponent
    assert stress == pytest.approx(law, rel=1e-12)
    shear = checks["torsion"].bound * (wire.diameter / 2) / (math.pi * wire.diameter**4 / 32)
    assert shear == pytest.approx(stress / math.sqrt(3), rel=1e-12)
    pose = hold_pose(ARM, setting)
    assert checks["torsion"].value == pytest.approx(pose.moments.wire_torque, rel=1e-9)
    # the load at the tip, at most as far aside as the tip, and its own weight
    weight = GRAVITY * (setting.payload + limb_section(ARM).mass_per_length * ARM.length)
    assert 0 < pose.moments.wire_torque < weight * 0.1
    assert "torsion" not in {check.key for check in assess(ARM, LEVEL).checks}


def test_torsional_rigidities() -> None:
    """Closed forms (from memory): tube, ellipse, square (0.1406 a^4), Bredt's thin square."""
    shear = 1e7 / (2 * 1.45)
    solid = elastic(replace(ARM, wire=None, wall=None))
    solid = replace(solid, elastomer=replace(solid.elastomer, elastic_modulus=1e7))
    tube = replace(solid, wall=0.001)
    assert torsional_rigidity(solid) == pytest.approx(shear * math.pi / 32 * 0.012**4)
    inner = math.pi / 32 * (0.012**4 - 0.01**4)
    assert torsional_rigidity(tube) == pytest.approx(shear * inner)
    half = replace(tube, infill=0.5)
    core = math.pi / 32 * 0.01**4 / 4
    assert torsional_rigidity(half) == pytest.approx(shear * (inner + core))
    flat = replace(solid, outline=Ellipse(width=0.016, height=0.01))
    a, b = 0.008, 0.005
    assert torsional_rigidity(flat) == pytest.approx(shear * math.pi * a**3 * b**3 / (a**2 + b**2))
    square = replace(solid, outline=RoundedRectangle(width=0.01, height=0.01, corner_radius=0.0))
    # Saint-Venant's rule of thumb is 8 % above the exact constant of a square
    assert torsional_rigidity(square) == pytest.approx(shear * 0.1406 * 0.01**4, rel=0.1)
    thin = replace(square, wall=0.0005)
    assert torsional_rigidity(thin) == pytest.approx(shear * 0.0095**3 * 0.0005, rel=0.02)


def test_across_its_bend_a_yielded_wire_is_softer() -> None:
    """Fibres against the closed form of a perfectly plastic wire with Masing's release.

    Closed form: own, of the half of the yielding fibres that a side load drives on.
    """
    metal = Metal(
        name="plastic", elastic_modulus=7e10, strength_coefficient=7e7, hardening_exponent=0.0,
        density=2700.0, back_stress=0.0, reversal="isotropic",
    )  # fmt: skip
    bundle = wire_bundle(Wire(metal=metal, diameter=0.003)).across(1)
    loops = wire_bundle(Wire(metal=replace(metal, reversal="masing"), diameter=0.003)).across(1)
    bent, left = np.array([[25.0]]), np.array([[24.9, 20.0, 10.0, 0.0]])
    fibres = virgin_wire(bundle, 400, 1).moved(bent).at_joints(np.zeros(4, dtype=np.intp))
    masing = virgin_loops(loops, 1).moved(bent).at_joints(np.zeros(4, dtype=np.intp))
    shares = fibres.sideways_share(left)[0]
    assert shares[0] == pytest.approx(1.0)
    assert np.all(np.diff(shares) < 0)
    assert masing.sideways_share(left)[0] == pytest.approx(shares, abs=3e-3)
    # let go all the way nearly every fibre has yielded again, and half of them stiffen
    assert 0.5 < shares[-1] < 0.6


def test_the_band_of_a_wire_that_may_turn_reaches_both_bounds() -> None:
    setting = swung(LEVEL, 0.0, math.pi / 2)
    either = sample_pose(ARM, setting, 256)
    held = sample_pose(replace(ARM, wire_anchored=True), setting, 256)
    pose: Pose = hold_pose(ARM, setting)
    assert either.tip_sag.low < pose.sag_wire_anchored < pose.sag_wire_free < either.tip_sag.high
    assert held.tip_sag.high < pose.sag_wire_free
    turning = either.inputs["wire turning"]
    assert set(turning.tolist()) == {0.0, 1.0}
    assert 0.4 < turning.mean() < 0.6
    # it has nothing to do with what else is drawn: four deviations of 4096 are 0.0625
    many = drawn_inputs(ARM, setting, Printer(), unit_points(4096, 0))
    for name, values in many.items():
        if name != "wire turning":
            assert abs(float(np.corrcoef(many["wire turning"], values)[0, 1])) < 0.0625, name
    assert np.array_equal(either.inputs["modulus"], held.inputs["modulus"])


def test_a_limb_that_falls_sideways_is_said_to_fall() -> None:
    """A flat rod on edge, level, carries less than lets it fall sideways, then more."""
    flat = Ellipse(width=0.006, height=0.024)
    limb = elastic(replace(ARM, wire=None, wall=None, outline=flat))
    section = limb_section(limb)
    bending = section.flexural_rigidity_bare
    twist = torsional_rigidity(limb)
    # Prandtl and Michell 1899 (from memory), and Timoshenko's factor for bending before the fall
    most = 4.0126 * math.sqrt(bending[1] * twist) / limb.length**2 / GRAVITY
    most /= math.sqrt((1 - bending[1] / bending[0]) * (1 - twist / bending[0]))
    light = replace(limb, elastomer=replace(limb.elastomer, density=500.0, modulus_factor=1.2))
    for share, stands in ((0.8, True), (1.15, False)):
        setting = Setting(bends=(), clamp_angle=math.pi / 2, payload=share * most)
        pose = hold_pose(light, setting)
        assert pose.stable == stands, share
        assert ("loses its pose" in {caution.key for caution in pose.cautions}) != stands
        assert (abs(pose.shape_at_rest.points[-1, 1]) > 0.01) != stands
    heavy = Setting(bends=(), clamp_angle=math.pi / 2, payload=1.3 * most)
    drawn = sample_pose(light, heavy, 64)
    assert drawn.probability_stable < 0.9
    assert "loses its pose" in {caution.key for caution in drawn.cautions}
    safe = sample_pose(light, Setting(bends=(), clamp_angle=math.pi / 2, payload=0.1 * most), 64)
    assert safe.probability_stable == 1.0


def plastic_moment_over_yield(curvature: Array, first: float) -> Array:
    """Elastic-perfectly-plastic round wire, any strength-of-materials text (from memory)."""
    share = np.minimum(first / np.maximum(np.abs(curvature), 1e-12), 1.0)
    value = np.arcsin(share) / share + (5 - 2 * share**2) * np.sqrt(1 - share**2) / 3
    return np.asarray(np.sign(curvature) * 2 / math.pi * value * np.where(share < 1, 1.0, 0.0)
                      + np.where(share < 1, 0.0, curvature / first))  # fmt: skip


def swung_rod_tip(
    rates: Callable[[Array, bool], Array], edges: tuple[float, float, float], left: float
) -> Array:
    """Where the tip of a level rod rests that is curved to the left between its first two edges:
    three pieces side by side, each of length 1, of quaternion, moments and place."""
    ends_of = np.array([0.0, *edges])
    lengths = np.diff(ends_of)

    def slopes(s: Array, y: Array) -> Array:
        pieces = [lengths[n] * rates(y[10 * n : 10 * n + 10], n == 1) for n in range(3)]
        return np.concatenate(pieces)

    def ends(a: Array, b: Array) -> Array:
        return np.concatenate([a[:4] - 0.5, a[7:10], b[:20] - a[10:], b[24:27]])

    share = np.linspace(0.0, 1.0, 30)
    guess = np.zeros((30, len(share)))
    for n in range(3):
        place = ends_of[n] + lengths[n] * share
        half = left * (np.clip(place, edges[0], edges[1]) - edges[0]) / 2
        cos, sin = np.cos(half), np.sin(half)
        guess[10 * n : 10 * n + 4] = 0.5 * np.array([cos - sin, cos - sin, cos + sin, cos + sin])
        guess[10 * n + 7] = place
    found = solve_bvp(slopes, ends, share, guess, tol=1e-7, max_nodes=20000)
    assert found.success
    return np.asarray(found.y[27:, -1])


@pytest.mark.parametrize("held", [True, False])
def test_a_bent_limb_in_space_by_a_boundary_value_solver(held: bool) -> None:
    """A swung bend let go and loaded: Kirchhoff's rod by solve_bvp, the section's laws in closed
    form (perfectly plastic wire, Masing's release, linear elastomer), against the whole chain."""
    stress, modulus, radius, former = 60e6, 69e9, 0.0015, 0.04
    metal = Metal(
        name="plastic", elastic_modulus=modulus, strength_coefficient=stress,
        hardening_exponent=0.0, density=100.0, back_stress=0.0, reversal="masing",
    )  # fmt: skip
    rubber = replace(elastic(ARM).elastomer, density=100.0)
    limb = Limb(
        elastomer=rubber, outline=Round(diameter=0.012), length=0.2, channel_diameter=0.003,
        wire=Wire(metal=metal, diameter=2 * radius), wire_anchored=held,
    )  # fmt: skip
    bend = Bend(start=0.05, angle=1.4, radius=former, swing=math.pi / 2)
    setting = Setting(bends=(bend,), clamp_angle=math.pi / 2, payload=0.08, hold_time=0.0)
    pose = hold_pose(limb, setting)

    section, first = limb_section(limb), stress / modulus / radius
    soft, wire = section.flexural_rigidity_bare[0], modulus * math.pi * radius**4 / 4
    yields = math.pi * stress * radius**3 / 4
    bent = 1 / former

    def released(curvature: Array) -> Array:
        down = 2 * plastic_moment_over_yield((bent - curvature) / 2, first)
        set_moment = plastic_moment_over_yield(np.array(bent), first)
        return np.asarray(yields * (set_moment - down) + soft * curvature)

    table = np.linspace(-5.0, bent, 4001)
    moments = released(table)
    left = float(np.interp(0.0, moments, table))
    assert pose.retained_share[0] == pytest.approx(left / bent, abs=1e-4)
    edge = min(2 * first / (bent - left), 1.0)
    x = (edge * (5 - 2 * edge**2) * math.sqrt(1 - edge**2) + 3 * math.asin(edge)) * 2 / 3 / math.pi
    across = soft + wire * (1 + x) / 2
    twist = torsional_rigidity(limb) + (wire / 1.33 if held else 0.0)
    force = GRAVITY * setting.payload

    def rates(y: Array, in_bend: bool) -> Array:
        w, i, j, k = y[:4]
        a = y[4] / (across if in_bend else soft + wire)
        b = np.interp(y[5], moments, table) if in_bend else y[5] / (soft + wire)
        c = y[6] / twist
        turned = 0.5 * np.array(
            [-i * a - j * b - k * c, w * a + j * c - k * b, w * b + k * a - i * c,
             w * c + i * b - j * a]
        )  # fmt: skip
        up = np.array([2 * (i * k - w * j), 2 * (j * k + w * i), 1 - 2 * (i * i + j * j)])
        moment = np.cross(y[4:7].T, np.stack([a, b, c], axis=1)).T
        moment -= force * np.array([up[1], -up[0], 0 * up[0]])
        way = np.array([2 * (i * k + w * j), 2 * (j * k - w * i), 1 - 2 * (i * i + j * j)])
        return np.concatenate([turned, moment, way])

    tip = swung_rod_tip(rates, (bend.start, bend.end, limb.length), left)
    free = pose.shape_released.points[-1]
    assert np.linalg.norm(tip - free) > 0.02 * limb.length
    # joints of the chain, and its own weight, some per cent of the load, which the rod leaves out
    own = section.mass_per_length * limb.length / setting.payload
    close = own * float(np.linalg.norm(tip - free)) + 2e-4 * limb.length
    assert pose.shape_at_rest.points[-1] == pytest.approx(tip, abs=close)


def test_a_ribbon_does_not_leave_its_plane() -> None:
    ribbon = replace(ARM, wire=None, wall=None, outline=Ellipse(width=0.0005, height=0.05))
    with pytest.raises(Refused) as refused:
        hold_pose(ribbon, swung(LEVEL, 0.0, 1.0))
    assert refused.value.name == "limb outline"
    assert hold_pose(ribbon, LEVEL).stable


def test_of_many_limbs_those_that_fall_are_the_ones_that_fall_in_space() -> None:
    """Beside limbs that stay in their plane, those that fall rest where all of them in space do."""
    flat = Ellipse(width=0.006, height=0.024)
    limb = elastic(replace(ARM, wire=None, wall=None, outline=flat))
    limb = replace(limb, elastomer=replace(limb.elastomer, density=500.0, modulus_factor=1.2))
    section = limb_section(limb)
    stiff = math.sqrt(section.flexural_rigidity_bare[1] * torsional_rigidity(limb))
    payloads = np.array([0.2, 3.0, 6.0, 2.5]) * stiff / limb.length**2 / GRAVITY
    setting = Setting(bends=(), clamp_angle=math.pi / 2, payload=float(payloads[1]))
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    limbs = replace(one_limb(limb, setting).take(np.zeros(4, dtype=int)), payload=payloads)
    rest = (setting.rest_time,)
    merged = pose_or_fall(limb, limbs, setting, stretches, COARSE, rest)
    in_plane = pose_or_fall(limb, limbs, setting, stretches, COARSE, rest, settles=False)
    space = pose_limbs(in_space(limbs, limb), setting, stretches, limb.length, COARSE, rest)
    stands = [True, True, False, True]
    assert merged.looks[0].stable.tolist() == space.looks[0].stable.tolist() == stands
    assert in_plane.looks[0].stable.tolist() == stands
    for one in (merged, space):
        assert one.looks[0].lines is not None
    for flat_line, free in zip(merged.looks[0].lines, space.looks[0].lines, strict=True):
        assert np.abs(flat_line.points - free.points).max() < 2e-3 * limb.length
    assert abs(merged.looks[0].lines[1].points[2, -1, 1]) > 0.1 * limb.length
    assert in_plane.looks[0].lines is None


def test_what_is_no_rod_is_refused_once_it_leaves_its_plane() -> None:
    gentle = Bend(start=0.0, angle=0.02, radius=0.2, swing=1.0)
    stub = replace(ARM, wire=None, length=0.02, outline=Round(diameter=0.025))
    level = replace(LEVEL, bends=(gentle,), bent_by="former", payload=0.0)
    with pytest.raises(Refused, match="limb length must be at least its width 25 mm to leave"):
        hold_pose(stub, level)
    hold_pose(stub, swung(level, 0.0))
    sharp = replace(gentle, angle=0.3, radius=0.001)
    thick = replace(ARM, wire=None, outline=Round(diameter=0.025))
    with pytest.raises(Refused, match=r"bend radius must be at least 1\.25 mm to leave its plane"):
        hold_pose(thick, replace(level, bends=(sharp,)))
