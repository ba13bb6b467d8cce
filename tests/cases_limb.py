"""What the property tests hand to single functions of flexcalc.

Here a function means something else by an argument than arguments_limb.py, or wants arguments
that fit each other.
"""

from __future__ import annotations

from hypothesis import strategies as st

from flexcalc import benchform, form, ownform
from flexcalc.life import wire_life
from flexcalc.materials import metal_names
from flexcalc.plan import plain
from flexcalc.readings import Droop, KinkTest, MandrelBend, PinGauge
from flexcalc.solids import droop_strip
from tests.arguments_limb import SHARES, pairs, rows, turned
from tests.fitting_limb import (
    READINGS,
    bend_and_more,
    corners,
    everyday_plans,
    limb_and_bend,
    magnet_partners,
    nested,
    own_texts,
    plans_and_verdicts,
    pose_tests,
    strengths,
    things_and_readings,
    typed,
)
from tests.hostile import Names, Strategy
from tests.strategies_limb import (
    NAMES,
    elastomers,
    everyday_limbs,
    everyday_settings,
    metals,
    or_zero,
    outlines,
    plans,
    printers,
    sizes,
    wires,
    wishes,
)

OFFSETS = pairs(1.0)
CURVED = turned(20.0).filter(bool)
COUNTED = sizes(1.0, 1e7)
FITTING = {("outer_radius", "channel_diameter", "wire_diameter"): nested(2e-3, (1.5, 1.05))}
SPECIAL: dict[str, dict[Names, Strategy]] = {
    "plan_answers.compared": {"plan": everyday_plans(), "metals": st.none(), "progress": st.none()},
    "plan_answers.likely_poses": {"plan": everyday_plans()},
    "plan_answers.side_view": {("plan", "verdict"): plans_and_verdicts()},
    "bench.updated": {("thing", "measurements"): things_and_readings()},
    "bench.learned": {("thing", "measurements"): things_and_readings()},
    "channel.size_channel": {"printer": st.one_of(st.none(), printers()), "facets": st.none()},
    "compare.compare_wires": {
        ("limb", "setting"): everyday_settings(),
        "wires": st.lists(wires(), min_size=1, max_size=3),
        "re_poses": COUNTED, "confidence": SHARES, "metals": st.none(), "progress": st.none(),
    },
    "corner.corner_piece": {("limb", "bend"): limb_and_bend(), "re_poses": COUNTED},
    "checks.life_check": {"life": st.builds(wire_life, wires(), sizes(1e-3, 100.0))},
    "cross_section.strand_centres": {"centre": pairs(1.0)},
    "drawing.limb_drawing": {"thickness": sizes(1e-5, 1.0)},
    "droop.droop_number": {"drop_share": rows(sizes(1e-5, 0.95))},
    "droop.printed_modulus": {"droop": READINGS[Droop]},
    "elastomer.release_shares": {"rest_time": rows(or_zero(sizes(1e-3, 1e9)))},
    "elastomer.set_after": {"time": rows(or_zero(sizes(1e-3, 2e9)))},
    "elastomer.effective_curvature": {"softening": st.none()},
    "evidence.kept_angles": {"test": pose_tests(), "chain_factors": rows(sizes(1e-8, 1e8))},
    "fatigue.amplitude_for": {"re_poses": rows(sizes(0.5, 1e7))},
    "fit.least_skin": {"offset": OFFSETS, "radius": sizes(1e-5, 0.05)},
    "form_texts.adopted": {"kept": plans().map(plain)},
    "form_texts.can_be_opened": {"kept": plans().map(plain)},
    "form_texts.form_from_kept": {"kept": plans().map(plain)},
    "form.plan_from_form": {"form": typed(form.DEFAULTS)},
    "gauge.parse_length": {"text": st.sampled_from(["1.6", "1,5", "1 1/2 in", "AWG 14", '3/32"'])},
    "gauge.show_length": {"length": turned(1e6), "first": st.sampled_from(["mm", "inch"])},
    "hole.arc_shrinkage": {"diameter": sizes(1e-6, 1.0), "bead_width": sizes(1e-9, 1.0)},
    "hole.roof_bridge": {"height": sizes(5e-4, 1.4)},
    "inputs.Bend": {"radius": sizes(5e-4, 10.0)},
    "inputs.Limb": {"wire": st.one_of(st.none(), wires()), "channel_offset": st.just((0.0, 0.0))},
    "insertion.contact_pressure": FITTING,
    "insertion.insertion_force": FITTING,
    "insertion.pull_out_force": {**FITTING, "rest_time": sizes(10.0, 1e9)},
    "insertion.straightened_curvature": {"flexural_rigidity": sizes(1e-9, 1e4)},
    "kinked.measured_kink": {"test": READINGS[KinkTest]},
    "kink.kink_cure": {
        "radius": sizes(5e-4, 100.0), ("outer_diameter", "wall"): nested(1e-3, (0.45,)),
    },
    "life.tightest_radius": {"re_poses": COUNTED},
    "magnet.magnet_hold": {"pull": or_zero(sizes(1e-9, 1e5)), "diameter": sizes(1e-4, 0.2)},
    "magnet.magnet_pull": {
        "diameter": sizes(1e-4, 0.2),
        ("partner", "other_diameter", "other_thickness", "other_remanence"): magnet_partners(),
    },
    "mandrel.stronger": {"factor": sizes(0.5, 2.0)},
    "mandrel.wire_strength": {"bend": READINGS[MandrelBend]},
    "materials.load_elastomer": {"name": st.sampled_from(["TPU 85A", "TPU 95A", "TPU 55D"])},
    "materials.load_metal": {"name": st.sampled_from(metal_names())},
    "outline.check_outline": {"value": outlines()},
    "outline.DShape": {("diameter", "flat_height"): nested(1e-3, (0.45,))},
    "outline.RoundedRectangle": {
        ("width", "height", "corner_radius"): nested(2e-3, (1.0, 0.45)),
    },
    "outline.Round": {"diameter": sizes(5e-4, 0.3)},
    "overbend.over_bend": {"wanted_curvature": CURVED, "limb": everyday_limbs()},
    "overbend.over_bent": {("bend", "over"): bend_and_more()},
    "own.find_elastomer": {"name": st.sampled_from(["TPU 85A", "mine"])},
    "own.find_metal": {"name": st.sampled_from([metal_names()[0], "mine"])},
    "own.find_printer": {"name": st.sampled_from(["untested printer", "mine"])},
    "own.own_names": {"kind": st.sampled_from(["elastomer", "metal", "printer"])},
    "own.own_things": {"kind": st.sampled_from(["elastomer", "metal", "printer"])},
    "own.remove_own": {"kind": st.sampled_from(["elastomer", "metal", "printer"])},
    "own.save_own": {"thing": st.one_of(elastomers(), metals(), printers())},
    "own.keep_all": {
        "things": st.lists(st.one_of(elastomers(), metals(), printers()), max_size=3),
        "words": NAMES,
    },
    "own.things_from": {"text": own_texts()},
    "ownform.typed_elastomer": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.typed_metal": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.typed_printer": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.read_stiffness": {
        "text": st.sampled_from(["85A", "55 d", "12,5 MPa", "0A", "1e9 MPa"]),
    },
    "ownform.texts_of_own": {"thing": st.one_of(elastomers(), metals(), printers())},
    "pins.hole_shrinkage": {"gauge": READINGS[PinGauge]},
    "plan.limb_plan_from": {"value": plans().map(plain)},
    "plan.plain": {"value": plans()},
    "readings.Droop": {"length": sizes(5e-3, 5.0), "time": sizes(0.1, 1e8)},
    "readings.KinkTest": {("held_diameter", "kinked_diameter"): nested(1e-3, (0.9,))},
    "readings.PinGauge": {"error": sizes(1e-6, 1e-3)},
    "readings.PoseTest": {
        ("limb", "radius", "angle_set", "angle_kept"): pose_tests().map(
            lambda test: (test.limb, test.radius, test.angle_set, test.angle_kept)
        ),
    },
    "recheck.with_corner": {("setting", "number", "piece"): corners().map(lambda c: c[1:])},
    "recheck.pose_with_corner": {("limb", "setting", "number", "piece"): corners()},
    "report.limb_parts": {"plan": everyday_plans()},
    "report.substitutes_for": {"plan": everyday_plans()},
    "report.limb_lines": {"value": everyday_plans().map(plain)},
    "retained.check_wire_fits": {"curvature": or_zero(sizes(1e-6, 1e3))},
    "retained.retained_bend": {"set_curvature": rows(CURVED)},
    "rod.rest_shape": {"length": sizes(1e-3, 10.0)},
    "sample.sample_pose": {"printer": st.one_of(st.none(), printers())},
    "seat.leg_seat": {("reach", "diameter"): nested(1e-3, (1.98,))},
    "seat.leg_strength": {"diameter": sizes(1e-4, 1.0)},
    "section.rigidity_over_wall": {"infill_exponent": rows(sizes(0.01, 10.0))},
    "section.section_strips": {"count": st.integers(4, 200).map(lambda half: 2 * half)},
    "shape.channel_ring": {"offset": OFFSETS, "radius": sizes(1e-5, 1.0)},
    "shape.core_polygon": {"wall": sizes(1e-6, 0.5)},
    "solids.droop_strip": {
        "length": sizes(0.02, 0.5), "width": sizes(3e-3, 0.1), "thickness": sizes(4e-4, 0.02),
    },
    "solids.channel_strip": {"printer": st.one_of(st.none(), printers())},
    "substances.Metal": {
        ("elastic_modulus", "strength_coefficient", "yield_stress"): strengths(),
    },
    "substances.Elastomer": {"elastic_modulus": sizes(1e4, 1e10), "density": sizes(100.0, 5000.0)},
    "solids.limb_sample": {"limb": everyday_limbs(), "length": sizes(5e-3, 1.0)},
    "solids.file_bytes": {"piece": st.just(droop_strip())},
    "wire.spring_back_share": {"set_curvature": rows(CURVED)},
    "trade.trade_wires": {
        "strands": st.lists(st.integers(1, 3), min_size=1, max_size=3),
        "metals": st.lists(metals(), min_size=1, max_size=2),
    },
    "verdict.assess": {
        "wish": st.one_of(st.none(), wishes()), "printer": st.one_of(st.none(), printers()),
    },
} | {
    f"benchform.{name}": {"form": typed(benchform.DEFAULTS)}
    for name in (
        "strip_sizes", "droop_readings", "mandrel_readings", "pin_readings", "pose_readings",
        "magnet_question",
    )
}  # fmt: skip
"""What single functions mean by their arguments, where it is not what the name says elsewhere."""
