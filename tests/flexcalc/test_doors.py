"""The doors of flexcalc: any admitted input gives a finite result, anything else is refused."""

from __future__ import annotations

import json
import math
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st

import flexcalc
from flexcalc import (
    Bend,
    Droop,
    KinkTest,
    Limb,
    MandrelBend,
    NamedPose,
    PinGauge,
    PoseTest,
    Round,
    Setting,
    corner_piece,
    droop_strip,
    metal_names,
)
from tests.doors import (
    Given,
    Strategy,
    calls,
    check_admitted,
    check_same_answer,
    check_spoilt,
    door,
    exported,
)
from tests.flexcalc.strategies import (
    bends,
    elastomers,
    everyday_limbs,
    everyday_settings,
    limbs,
    metals,
    outlines,
    plans,
    posed_limbs,
    printers,
    wires,
    wishes,
)
from tests.strategies import NAMES, forms, or_none, or_zero, sizes, spoilt

PROMISED = [
    "Wire", "Limb", "Setting", "Bend", "Round", "Ellipse", "RoundedRectangle", "DShape",
    "Polygon", "Metal", "Elastomer", "Printer", "Wish", "LimbPlan", "load_metal",
    "load_elastomer", "hold_pose", "sample_pose", "assess", "compare_wires", "retained_bend",
    "bending_moment", "release_moment", "elastomer_moment", "rest_shape",
    "rest_shape_in_space", "limb_section", "kink_radius", "kink_radius_of", "over_bend",
    "over_bend_setting", "strength_coefficient", "wire_slip", "path_radius", "arc_shrinkage",
    "facet_shrinkage", "magnet_pull",
    "insertion_force", "contact_pressure", "capstan_ratio", "gauge_diameter", "parse_length",
    "size_channel", "file_bytes",
]  # fmt: skip
"""What scripts of others call, wherever it stands."""
FORMS = [
    "plan_from_form", "strip_sizes", "droop_readings", "mandrel_readings", "pin_readings",
    "pose_readings", "magnet_question", "typed_elastomer", "typed_metal", "typed_printer",
]  # fmt: skip
"""What reads the fields of a page, as they stand in a link from anywhere."""
FIGURES = ["place_from", "body_from", "event_from"]
"""What reads a figure's parts of a design file."""
NAMED = sorted({*exported(flexcalc), *PROMISED, *FORMS, "things_from", "limb_plan_from", *FIGURES})
SIDES = st.sampled_from(["lying", "upright"])
REVERSALS = st.sampled_from(["mixed", "isotropic", "masing"])
MAYBE = st.booleans()
STATIONS = ((0.0, Round(diameter=0.012)), (1.0, Round(diameter=0.008)))
LEVEL = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
MASS = or_zero(sizes(1e-6, 5.0))


def turned(most: float) -> Strategy:
    """Numbers of either sign up to ``most``, small ones too."""
    return st.tuples(or_zero(sizes(most * 1e-12, most)), st.sampled_from([1, -1])).map(math.prod)


def rows(one: Strategy) -> Strategy:
    """A number, a list of numbers or an array of them."""
    several = st.lists(one, min_size=1, max_size=4)
    return st.one_of(one, several, several.map(np.array), several.map(lambda a: np.array([a])))


def nested(least: float, most: float, *shares: float) -> Strategy:
    """An outer size and the inner ones, each at most its share of the one before."""
    parts = st.tuples(sizes(least, most), *[sizes(0.5, 1.0)] * len(shares))
    return parts.map(lambda drawn: tuple(np.cumprod(np.multiply(drawn, [1.0, *shares])).tolist()))


def pose_tests() -> Strategy:
    def one(limb: Limb, angle: float, kept: float) -> PoseTest:
        radius = max(limb.length / angle, 2 * limb.wire.diameter)  # type: ignore[union-attr]
        angle = min(angle, limb.length / radius)
        return PoseTest(limb=limb, radius=radius, angle_set=angle, angle_kept=kept * angle)

    return st.builds(one, everyday_limbs(), sizes(0.1, 3.0), st.floats(0.0, 1.0))


READINGS: dict[type, Strategy] = {
    Droop: st.builds(
        Droop, length=sizes(0.02, 0.3), drop=sizes(1e-4, 0.018), outline=outlines(1e-3, 0.02)
    ),
    MandrelBend: st.builds(
        MandrelBend, wire_diameter=sizes(5e-4, 4e-3), mandrel_diameter=sizes(0.01, 0.1),
        angle_before=sizes(1.0, 20.0), angle_after=sizes(0.1, 0.99),
    ),
    PinGauge: st.builds(
        PinGauge, drawn_diameters=st.just((2e-3, 3e-3, 5e-3)), orientation=SIDES,
        pins=st.tuples(st.floats(1e-3, 2.4e-3), st.floats(2e-3, 3.4e-3), st.floats(4e-3, 5e-3)),
    ),
    KinkTest: st.builds(
        KinkTest, limb=everyday_limbs(), held_diameter=sizes(0.02, 0.5),
        kinked_diameter=sizes(1e-3, 0.019),
    ),
}  # fmt: skip


def things_and_readings() -> Strategy:
    """Something to learn about and what was read of it."""
    droops = st.lists(READINGS[Droop], max_size=3)
    return st.one_of(
        st.tuples(elastomers(), droops),
        st.tuples(metals(), st.lists(READINGS[MandrelBend], max_size=3)),
        st.tuples(printers(), st.lists(READINGS[PinGauge], max_size=3)),
        st.tuples(printers(), st.lists(READINGS[KinkTest], max_size=1)),
        st.tuples(everyday_limbs(), droops),
    )


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


def plain_plans() -> Strategy:
    return plans().map(door("flexcalc", "plain"))


def own_texts() -> Strategy:
    """Files of own materials, some damaged in one place."""
    module = sys.modules[door("flexcalc", "things_from").__module__]
    plain = door("flexcalc", "plain")
    whole = st.builds(
        lambda metal, rubber: {
            "format": module.FORMAT, "version": module.VERSION,
            "metal": [plain(metal)], "elastomer": [plain(rubber)],
        },
        metals(), elastomers(),
    )  # fmt: skip
    return st.one_of(whole, spoilt(whole)).map(json.dumps)


def form_of(name: str) -> Strategy:
    """What a form that this door reads may hold, with every name given."""
    defaults = sys.modules[door("flexcalc", name).__module__].DEFAULTS
    named = {key: "mine" for key in defaults if key.endswith("_name")}
    return forms(defaults, 2).map(lambda fields: named | fields)


def fitting(*names: str) -> Given:
    """A wire in a channel in a round limb."""
    return {names: nested(2e-3, 0.05, 0.75, 1.05)}


ARGUMENTS: Given = {
    ("limb", "setting"): posed_limbs(), "setting": posed_limbs().map(lambda both: both[1]),
    # things
    "metal": metals(), "elastomer": elastomers(), "wire": wires(), "limb": limbs(),
    "outline": outlines(), "printer": or_none(printers()), "wish": or_none(wishes()),
    "bend": bends(), ("thing", "measurements"): things_and_readings(),
    # texts and choices
    "name": NAMES, "rule": or_none(REVERSALS),
    "orientation": SIDES, "system": st.sampled_from(["AWG", "SWG"]), "number": st.integers(-3, 50),
    "scale": st.sampled_from(["A", "D"]), "kind": st.sampled_from(["stl", "3mf"]),
    "measured": st.just(("lying",)), "roof_height": st.none(), "facets": st.integers(6, 100000),
    "form": st.nothing(), "own": st.just({}), "value": plain_plans(), "text": own_texts(),
    "metals": st.none(), "progress": st.none(),
    # lengths
    "diameter": sizes(1e-4, 0.02), "wire_diameter": sizes(1e-4, 0.02), "length": sizes(5e-3, 1.0),
    "wall": st.none(), "channel_diameter": sizes(5e-5, 0.1), "radius": sizes(5e-4, 1.0),
    "bead_width": sizes(5e-5, 2e-3), "layer_height": sizes(1e-5, 2e-3), "offset": turned(1.0),
    "clearance": st.floats(0.0, 0.02), "wire_tolerance": sizes(1e-9, 5e-5),
    "free_length": sizes(1e-4, 10.0), "sleeve": or_zero(sizes(1e-5, 0.1)), "tab": sizes(5e-3, 0.2),
    "height": sizes(5e-4, 0.3), "width": sizes(5e-4, 0.3), "thickness": sizes(1e-4, 0.2),
    "gap": or_zero(sizes(1e-6, 0.5)), "arm": or_zero(sizes(1e-6, 2.0)), "depth": sizes(1e-3, 0.2),
    "channel_offset": st.just((0.0, 0.0)), "start": or_zero(sizes(1e-3, 1.0)),
    "drawn_diameter": sizes(3e-4, 0.05), "step": sizes(1e-5, 2e-3), "side": sizes(5e-3, 0.1),
    "sag": sizes(1e-9, 1.0), "drop": sizes(1e-5, 0.1), "reference_hole": sizes(3e-3, 0.1),
    "thicknesses": st.sets(sizes(4e-4, 0.02), min_size=1, max_size=4).map(sorted).map(tuple),
    "hole_shrinkage_upright": st.floats(-5e-4, 2e-3), "mandrel_diameter": sizes(1e-3, 1.0),
    "hole_shrinkage_lying": st.floats(-5e-4, 2e-3), "hole_spread_lying": st.floats(0.0, 2e-3),
    "hole_spread_upright": st.floats(0.0, 2e-3), "wall_spread": st.floats(0.0, 0.5),
    ("outer_radius", "channel_diameter", "wire_diameter"): nested(2e-3, 0.05, 1.5, 1.05),
    ("outer_diameter", "wall"): nested(1e-3, 0.3, 0.45),
    "infill_pattern": st.sampled_from(["lines", "isotropic"]),
    "kink_core": st.sampled_from(["", "hollow", "lines", "isotropic", "solid"]),
    "kink_factor": st.floats(0.2, 5.0), "kink_deviation": st.floats(0.0, 1.0),
    ("held_diameter", "kinked_diameter"): nested(0.02, 0.5, 0.9),
    "thickness_error": st.floats(0.0, 0.5), "temperature": st.floats(5.0, 40.0),
    # histories
    "bent_by": st.sampled_from(["former", "hands"]), "lever": sizes(1e-3, 1.0),
    "places": st.integers(1, 20), "presses": st.integers(1, 5), "press_pause": sizes(1.0, 1e9),
    "last_bends": st.lists(bends(), max_size=1), "last_time": or_zero(sizes(1.0, 1e9)),
    "inserted_before": or_zero(sizes(1.0, 1e9)), "probability": st.floats(0.0, 1.0),
    "tip_within": or_none(sizes(1e-6, 1.0)), "stations": st.just(STATIONS),
    # angles and curvatures
    "angle": turned(4 * math.pi), "bend_angle": st.floats(0.0, 8 * math.pi),
    "clamp_angle": st.floats(-math.pi, math.pi), "curvature": rows(turned(20.0)),
    "set_curvature": rows(turned(20.0).filter(bool)), "wanted_curvature": turned(1e3).filter(bool),
    "curvature_range": or_zero(sizes(1e-6, 1e4)), "printed_curvature": or_zero(sizes(1e-6, 40.0)),
    "natural_curvature": rows(turned(10.0)), "angle_before": sizes(0.05, 200.0),
    "angle_after": sizes(0.01, 10.0),
    # materials
    ("elastic_modulus", "strength_coefficient", "yield_stress"): metals().map(
        lambda m: (m.elastic_modulus, m.strength_coefficient, m.yield_stress)
    ),
    "elastic_modulus": sizes(1e5, 1e10), "tensile_strength": sizes(1e5, 1e10),
    "hardening_exponent": st.floats(0.0, 0.8), "density": sizes(100.0, 5000.0),
    "strength_factor": st.floats(1.0, 3.0), "exponent_spread": st.floats(0.0, 0.3),
    "poisson_ratio": st.floats(0.0, 0.4999), "saturation_stress": sizes(1e8, 1e12),
    "relaxation_exponent": st.floats(0.0, 0.4), "modulus_factor": st.floats(1.0, 5.0),
    "relaxation_spread": st.floats(0.0, 0.2), "saturation_factor": st.floats(1.0, 5.0),
    "lever_factor": st.floats(1.0, 5.0), "places_missed": st.integers(0, 10),
    "hardness": st.floats(20.0, 70.0),
    "wire_density": or_zero(sizes(1.0, 25000.0)), "infill": st.floats(0.0, 1.0),
    "infill_exponent": sizes(0.01, 10.0), "back_stress": or_none(st.floats(0.0, 0.4)),
    "back_stress_spread": st.floats(0.0, 0.4), "reversal": REVERSALS,
    "elastomer_share": st.floats(0.0, 10.0), "recoil_share": st.none(), "strain": rows(turned(9.0)),
    "flexural_rigidity": sizes(1e-9, 1e4), "re_poses": sizes(1.0, 1e7),
    # forces, loads, times and counts
    "friction": or_zero(sizes(1e-6, 3.0)), "payload": MASS, "force": sizes(1e-6, 1e6),
    "pull": or_zero(sizes(1e-9, 1e4)), "tip_load": rows(or_zero(sizes(1e-9, 10.0))),
    "weight_per_length": rows(or_zero(sizes(1e-9, 10.0))), "time": sizes(1.0, 1e8),
    "hold_time": or_zero(sizes(1e-3, 1e9)), "rest_time": sizes(10.0, 1e9),
    "strands": st.integers(1, 7), "holes": st.integers(3, 15), "segments": st.integers(8, 64),
    "accuracy": sizes(1e-8, 1e-3), "breaks": st.sampled_from([(), (0.3, 0.7)]),
    "samples": st.integers(16, 32), "seed": st.integers(0, 2**32 - 1),
    "count": st.integers(4, 100).map(lambda half: 2 * half), "share": st.floats(0.0, 1.0),
    "wanted_share": st.floats(0.0, 1.0), "sag_limit": or_none(sizes(1e-6, 1.0)),
    "confidence": st.floats(0.0, 1.0), "rigid": MAYBE, "whole": MAYBE,
    "both_ways": MAYBE, "channel_roofed": MAYBE,
    "poses": st.just(()), "stays": or_zero(sizes(1.0, 1e9)), "over_bend": st.floats(1.0, 4.0),
    "temperature_spread": st.floats(0.0, 15.0),
    "model_factor": st.floats(0.1, 10.0), "model_deviation": st.floats(0.0, 2.0),
    "swing": turned(2 * math.pi), "wire_anchored": MAYBE,
    "error": sizes(1e-4, 0.5),
    "chain_factors": rows(sizes(1e-8, 1e8)),
    "strips": st.just((np.array([-1e-3, 1e-3]), np.full(2, 1e-6))), "first": st.just("mm"),
    "piece": st.just(droop_strip()), "test": pose_tests(), "gauge": READINGS[PinGauge],
    "droop": READINGS[Droop], "points": st.just(((0, 0), (0.01, 0), (0, 0.02))),
    "bends": st.lists(bends(), max_size=1), "drawn_diameters": st.just((2e-3, 3e-3)),
    "pins": st.just((1.8e-3, 2.8e-3)), "wires": st.lists(wires(), min_size=1, max_size=3),
}  # fmt: skip
"""What every door is handed by the name of the argument."""
SPECIAL: dict[str, Given] = {
    "DShape": {("diameter", "flat_height"): nested(1e-3, 0.3, 0.45)},
    "Along": dict.fromkeys(
        ["natural_curvature", "sideways_curvature", "natural_twist"],
        st.sampled_from([(), ((0.0, 5.0), (1.0, -3.0))]),
    ),
    "Droop": {"length": sizes(0.02, 0.3), "drop": sizes(1e-4, 0.018), "error": sizes(1e-4, 1e-3)},
    "KinkTest": {"limb": everyday_limbs(), "error": sizes(1e-3, 0.5)},
    "Limb": {"elastomer": elastomers(), "outline": outlines(0.03, 0.3), "wire": st.none(),
             "channel_diameter": or_zero(sizes(1e-3, 5e-3)), "sleeve": st.just(0.0)},
    "Metal": {
        "elastic_modulus": sizes(4e10, 3e11), "density": sizes(100.0, 25000.0),
        "back_stress": st.floats(0.0, 0.6), "yield_offset": st.just(0.002),
        ("yield_strength", "tensile_strength", "strength_coefficient", "hardening_exponent",
         "yield_stress"): st.one_of(
            st.tuples(sizes(2e7, 5e7), sizes(8e7, 2e8), st.none(), st.none(), st.none()),
            st.tuples(st.none(), st.none(), sizes(1e8, 1e9), st.floats(0.0, 0.8), st.none()),
            st.tuples(st.none(), st.none(), sizes(1e8, 1e9), st.floats(0.0, 0.8), sizes(1e7, 1e8)),
        ),
    },
    "LimbPlan": {"printer": printers(), "wish": wishes(), "channel": st.just("typed"),
                 "mesh": st.none()},
    "PinGauge": {"error": sizes(1e-6, 1e-3)},
    "PoseTest": {
        ("limb", "radius", "angle_set", "angle_kept"): pose_tests().map(
            lambda test: (test.limb, test.radius, test.angle_set, test.angle_kept)
        ),
    },
    "Round": {"diameter": sizes(5e-4, 0.3)},
    "RoundedRectangle": {("width", "height", "corner_radius"): nested(2e-3, 0.3, 1.0, 0.45)},
    "assess_poses": {("limb", "poses"): everyday_settings().map(
        lambda both: (both[0], [NamedPose(name="sit", setting=both[1])])
    )},
    "bending_former": {"limb": everyday_limbs(), "radius": sizes(0.01, 0.2)},
    "compare_wires": {("limb", "setting"): everyday_settings()},
    "corner_piece": {
        ("limb", "bend"): corners().map(lambda found: (found[0], found[1].bends[0])),
    },
    "droop_strip": {"length": sizes(0.02, 0.5), "width": sizes(3e-3, 0.1),
                    "thickness": sizes(4e-4, 0.02)},
    "limb_sample": {"limb": everyday_limbs(), "drawn_channel": st.none()},
    "load_elastomer": {"name": st.sampled_from(["TPU 85A", "TPU 95A", "TPU 55D"])},
    "load_metal": {"name": st.sampled_from(metal_names())},
    "magnet_pull": {
        ("partner", "other_diameter", "other_thickness", "other_remanence"): st.one_of(
            st.just(("steel", None, None, None)),
            st.tuples(st.just("disc"), sizes(1e-4, 0.2), sizes(1e-4, 0.2), sizes(0.01, 2.0)),
        ),
        "remanence": sizes(0.01, 2.0),
    },
    "over_bend": {"limb": everyday_limbs(), "wanted_curvature": sizes(1.0, 1e3)},
    "parse_length": {"text": st.sampled_from(["1.6", "1,5", "1 1/2 in", "AWG 14", '3/32"']),
                     "name": st.just("text")},
    "plan_from_form": {"own": st.none()},
    "pose_readings": {"limb": everyday_limbs()},
    "rest_shape": {"flexural_rigidity": rows(sizes(1e-9, 1e4))},
    "rest_shape_in_space": {
        ("bending_stiffness", "torsional_stiffness"): nested(1e-6, 1e2, 1.0, 1.0).map(
            lambda drawn: (drawn[:2], drawn[2])
        ),
        "clamp_frame": st.sampled_from([LEVEL, -LEVEL @ np.diag([1.0, 1.0, -1.0]), np.eye(3)]),
        "tip_load": or_zero(sizes(1e-9, 10.0)), "weight_per_length": or_zero(sizes(1e-9, 10.0)),
        "natural_curvature": st.tuples(*[turned(5.0)] * 3), "joints": st.just(32),
    },
    "retained_bend": {"limb": everyday_limbs()},
    "size_channel": {"facets": st.none()},
    "place_from": {"value": st.fixed_dictionaries({}, optional={
        "at": st.lists(turned(2.0), min_size=3, max_size=3), "facing": turned(math.pi),
        "twin": MAYBE, "foot": st.lists(sizes(1e-3, 1.0), min_size=2, max_size=2),
        "magnets": st.integers(0, 20),
        "magnet": st.lists(sizes(5e-4, 0.1), min_size=2, max_size=2)})},
    "body_from": {"value": st.fixed_dictionaries({}, optional={
        "mass": or_zero(sizes(1e-6, 50.0)), "at": st.lists(turned(2.0), min_size=3, max_size=3)})},
    "event_from": {"value": st.fixed_dictionaries(
        {"limb": NAMES, "kind": st.just("re-posed"), "day": st.dates().map(str),
         "times": st.integers(1, 1000)}, optional={"note": NAMES})},
    "windows": {("limb", "setting"): everyday_settings(), "probability": st.floats(0.05, 0.99)},
}  # fmt: skip
"""What single doors mean by their arguments, where it is not what the name says elsewhere."""
EXAMPLES = 30
HEAVY = {
    "assess": 20, "assess_poses": 5, "compare_wires": 10, "corner_piece": 10, "remedies": 5,
    "sample_pose": 15, "windows": 3,
}  # fmt: skip
"""Whole answers and solids."""
OURS = {"strips", "piece", "over", "progress", "mesh"}
"""What another door has made and checked: these are not spoilt."""
CALLED = {
    "yield_stress": "strength",
    "diameter": "bead", "sleeve": "channel", "radius": "angle height",
    "value": "limb place body event foot magnet",
    "text": "materials", "yield_strength": "strength", "tensile_strength": "strength",
    "hardening_exponent": "strength",
}  # fmt: skip
"""Other words by which a refusal may name an argument."""


def neck() -> Limb:
    limb: Limb = door("flexcalc", "plan_from_form")({}).limb
    return limb


def arguments(name: str) -> Strategy:
    special = {**SPECIAL.get(name, {}), **({"form": form_of(name)} if name in FORMS else {})}
    return calls(door("flexcalc", name), ARGUMENTS, special)


@pytest.mark.usefixtures("own_place")
@pytest.mark.parametrize("name", NAMED)
def test_admitted_arguments_give_a_finite_result_or_a_refusal(name: str) -> None:
    check_admitted(door("flexcalc", name), arguments(name), HEAVY.get(name, EXAMPLES))


@pytest.mark.usefixtures("own_place")
@pytest.mark.parametrize("name", NAMED)
def test_a_number_of_another_kind_gives_a_plain_numbers_answer(name: str) -> None:
    check_same_answer(door("flexcalc", name), arguments(name))


@pytest.mark.usefixtures("own_place")
@pytest.mark.parametrize("name", NAMED)
def test_a_wrong_thing_is_refused_by_its_name(name: str) -> None:
    measured = {"own"} if name == "plan_from_form" else set()
    check_spoilt(door("flexcalc", name), arguments(name), OURS | measured, CALLED)


def test_every_row_is_for_a_door() -> None:
    assert {*SPECIAL, *HEAVY} <= {*NAMED}
