"""What the property tests hand to single functions of flexcalc.

Here a function means something else by an argument than arguments_limb.py, or wants arguments
that fit each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from flexcalc import benchform, benchform_magnet, form, ownform
from flexcalc.asked import verdict_on
from flexcalc.corner import corner_piece
from flexcalc.inputs import Bend, Limb, Setting
from flexcalc.life import wire_life
from flexcalc.materials import metal_names
from flexcalc.overbend import over_bend
from flexcalc.own import own_text
from flexcalc.plan import LimbPlan, plain
from flexcalc.readings import Droop, MandrelBend, PinGauge, PoseTest
from flexcalc.solids import droop_strip
from tests.arguments_limb import SHARES, SIDES, pairs, rows, turned
from tests.hostile import Names, Strategy
from tests.strategies_limb import (
    NAMES,
    elastomers,
    everyday_limbs,
    everyday_settings,
    limbs,
    metals,
    or_zero,
    outlines,
    plans,
    printers,
    sizes,
    wires,
    wishes,
)


def everyday_plans() -> Strategy:
    """Plans of the everyday limbs, for answers that pose hundreds of wires."""
    return everyday_settings().map(lambda both: LimbPlan(name="n", limb=both[0], setting=both[1]))


def plans_and_verdicts() -> Strategy:
    return everyday_plans().map(lambda plan: (plan, verdict_on(plan)))


def typed(defaults: Mapping[str, str]) -> Strategy:
    """Forms: some fields of the defaults with other texts, most of them nonsense."""
    texts = st.one_of(
        st.sampled_from(["", "0", "-1", "1e400", "nan", "12", "1,5", "2 mm", "1/16 in", "AWG 14",
                         "14 gauge", "1 1/2 in", "50 %", "90°", "upright", "round", "85A", "\0"]),
        st.text(max_size=12),
        st.floats().map(str),
    )  # fmt: skip
    return st.dictionaries(st.sampled_from(sorted(defaults)), texts, max_size=5)


def readings() -> dict[type, Strategy]:
    droop = st.builds(
        Droop, length=sizes(0.02, 0.3), drop=sizes(1e-4, 0.018), outline=outlines(1e-3, 0.02)
    )
    mandrel = st.builds(
        MandrelBend, wire_diameter=sizes(5e-4, 4e-3), mandrel_diameter=sizes(0.01, 0.1),
        angle_before=sizes(1.0, 20.0), angle_after=sizes(0.1, 0.99),
    )  # fmt: skip
    gauge = st.builds(
        PinGauge, drawn_diameters=st.just((2e-3, 3e-3, 5e-3)), orientation=SIDES,
        pins=st.tuples(st.floats(1e-3, 2.4e-3), st.floats(2e-3, 3.4e-3), st.floats(4e-3, 5e-3)),
    )  # fmt: skip
    return {Droop: droop, MandrelBend: mandrel, PinGauge: gauge, PoseTest: pose_tests()}


@st.composite
def pose_tests(draw: Any) -> PoseTest:
    limb = draw(everyday_limbs())
    angle = draw(sizes(0.1, 3.0))
    radius = max(limb.length / angle, 2 * limb.wire.diameter)
    angle = min(angle, limb.length / radius)
    kept = angle * draw(st.floats(0.0, 1.0))
    return PoseTest(limb=limb, radius=radius, angle_set=angle, angle_kept=kept)


@st.composite
def corners(draw: Any) -> tuple[Limb, Setting, int, Any]:
    """A limb with one bend that a corner piece holds, and where it could stand."""
    limb = draw(everyday_limbs())
    radius = min(max(limb.wire.diameter, 5e-3), limb.length / 4)
    bend = Bend(start=limb.length / 3, angle=draw(st.floats(0.3, 1.2)), radius=radius)
    try:
        piece = corner_piece(limb, bend)
    except ValueError:
        return draw(corners())
    return limb, Setting(bends=(bend,), clamp_angle=1.0), 0, piece


def bend_and_more() -> Strategy:
    limb = form.plan_from_form({}).limb
    return st.floats(5.0, 40.0).map(
        lambda k: (Bend(start=0.0, angle=0.5, radius=1 / k), over_bend(limb, k))
    )


def things_and_readings() -> Strategy:
    """Something to learn about and what was read of it."""
    found = readings()
    return st.one_of(
        st.tuples(elastomers(), st.lists(found[Droop], max_size=3)),
        st.tuples(metals(), st.lists(found[MandrelBend], max_size=3)),
        st.tuples(printers(), st.lists(found[PinGauge], max_size=3)),
        st.tuples(everyday_limbs(), st.lists(found[Droop], max_size=2)),
    )


READINGS = readings()
SPECIAL: dict[str, dict[Names, Strategy]] = {
    "asked.compared": {"plan": everyday_plans(), "metals": st.none(), "progress": st.none()},
    "asked.side_view": {("plan", "verdict"): plans_and_verdicts()},
    "bench.updated": {("thing", "measurements"): things_and_readings()},
    "bench.learned": {("thing", "measurements"): things_and_readings()},
    "benchform_magnet.magnet_question": {"form": typed(benchform_magnet.DEFAULTS)},
    "channel.size_channel": {"printer": st.one_of(st.none(), printers()), "facets": st.none()},
    "compare.compare_wires": {
        ("limb", "setting"): everyday_settings(),
        "wires": st.lists(wires(), min_size=1, max_size=3),
        "confidence": SHARES, "metals": st.none(), "progress": st.none(),
    },
    "corner.corner_piece": {"limb": everyday_limbs()},
    "checks.life_check": {"life": st.builds(wire_life, wires(), sizes(1e-3, 100.0))},
    "cross_section.strand_centres": {"centre": pairs(1.0)},
    "drawing.limb_drawing": {"thickness": sizes(1e-5, 1.0)},
    "droop.droop_number": {"drop_share": rows(sizes(1e-5, 0.95))},
    "droop.printed_modulus": {"droop": READINGS[Droop]},
    "elastomer.release_shares": {"rest_time": rows(or_zero(sizes(1e-3, 1e9)))},
    "elastomer.set_after": {"time": rows(or_zero(sizes(1e-3, 2e9)))},
    "elastomer.effective_curvature": {"softening": st.none()},
    "evidence.kept_angles": {"test": pose_tests(), "chain_factors": rows(sizes(1e-8, 1e8))},
    "fatigue.amplitude_for": {"re_poses": rows(sizes(0.5, 1e9))},
    "form.plan_from_form": {"form": typed(form.DEFAULTS)},
    "gauge.parse_length": {"text": st.sampled_from(["1.6", "1,5", "1 1/2 in", "AWG 14", '3/32"'])},
    "gauge.show_length": {"length": turned(1e6), "first": st.sampled_from(["mm", "in"])},
    "hole.arc_shrinkage": {"diameter": sizes(1e-6, 1.0), "bead_width": sizes(1e-9, 1.0)},
    "hole.roof_bridge": {"height": sizes(5e-4, 1.4)},
    "inputs.Bend": {"radius": sizes(5e-4, 100.0)},
    "inputs.Limb": {"wire": st.one_of(st.none(), wires()), "channel_offset": st.just((0.0, 0.0))},
    "insertion.pull_out_force": {"rest_time": sizes(10.0, 1e9)},
    "insertion.straightened_curvature": {"flexural_rigidity": sizes(1e-9, 1e4)},
    "kink.kink_cure": {"radius": sizes(5e-4, 100.0), "wall": sizes(5e-5, 0.5)},
    "magnet.magnet_hold": {"pull": or_zero(sizes(1e-9, 1e5)), "diameter": sizes(1e-4, 0.2)},
    "mandrel.stronger": {"factor": sizes(1e-3, 1e3)},
    "mandrel.wire_strength": {"bend": READINGS[MandrelBend]},
    "materials.load_elastomer": {"name": st.sampled_from(["TPU 85A", "TPU 95A", "TPU 55D"])},
    "materials.load_metal": {"name": st.sampled_from(metal_names())},
    "outline.check_outline": {"value": outlines()},
    "overbend.over_bent": {("bend", "over"): bend_and_more()},
    "own.find_elastomer": {"name": st.sampled_from(["TPU 85A", "mine"])},
    "own.find_metal": {"name": st.sampled_from([metal_names()[0], "mine"])},
    "own.find_printer": {"name": st.sampled_from(["untested printer", "mine"])},
    "own.own_things": {"kind": st.sampled_from(["elastomer", "metal", "printer"])},
    "own.remove_own": {"kind": st.sampled_from(["elastomer", "metal", "printer"])},
    "own.save_own": {"thing": st.one_of(elastomers(), metals(), printers())},
    "own.keep_all": {
        "things": st.lists(st.one_of(elastomers(), metals(), printers()), max_size=3),
        "words": NAMES,
    },
    "own.things_from": {"text": st.deferred(lambda: st.just(own_text(path="own.sqlite3")))},
    "ownform.typed_elastomer": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.typed_metal": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.typed_printer": {"form": typed(ownform.DEFAULTS), "own": st.just({})},
    "ownform.texts_of_own": {"thing": st.one_of(elastomers(), metals(), printers())},
    "pins.hole_shrinkage": {"gauge": READINGS[PinGauge]},
    "plan.limb_plan_from": {"value": plans().map(plain)},
    "plan.object_from": {"value": plans().map(plain), "place": NAMES},
    "plan.plain": {"value": plans()},
    "readings.Droop": {"length": sizes(5e-3, 5.0), "time": sizes(0.1, 1e8)},
    "readings.PinGauge": {"error": sizes(1e-6, 1e-3)},
    "readings.PoseTest": {"limb": limbs(wired=True)},
    "recheck.with_corner": {("setting", "number", "piece"): corners().map(lambda c: c[1:])},
    "recheck.pose_with_corner": {("limb", "setting", "number", "piece"): corners()},
    "report.limb_lines": {"value": everyday_plans().map(plain)},
    "rod.rest_shape": {"length": sizes(1e-3, 10.0)},
    "sample.sample_pose": {"printer": st.one_of(st.none(), printers())},
    "section.rigidity_over_wall": {"infill_exponent": rows(sizes(0.01, 10.0))},
    "shape.core_polygon": {"wall": sizes(1e-6, 0.5)},
    "solids.droop_strip": {
        "length": sizes(0.02, 0.5), "width": sizes(3e-3, 0.1), "thickness": sizes(4e-4, 0.02),
    },
    "solids.channel_strip": {"printer": st.one_of(st.none(), printers())},
    "solids.limb_sample": {"limb": everyday_limbs(), "length": sizes(5e-3, 1.0)},
    "solids.file_bytes": {"piece": st.just(droop_strip())},
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
    )
}  # fmt: skip
"""What single functions mean by their arguments, where it is not what the name says elsewhere."""
