"""What the property tests hand to every function of flexcalc by the name of the argument.

An argument that stands here means the same in every function, but for those in cases_limb.py.
"""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from flexcalc.fatigue import life_laws
from flexcalc.materials import load_metal, metal_names
from tests.hostile import Names, Strategy
from tests.strategies_limb import (
    NAMES,
    bends,
    elastomers,
    limbs,
    metals,
    or_zero,
    outlines,
    plans,
    posed_limbs,
    printers,
    settings_alone,
    sizes,
    wires,
    wishes,
)

RULES = st.sampled_from(["mixed", "isotropic", "masing"])
SIDES = st.sampled_from(["lying", "upright"])
SHARES = st.floats(0.0, 1.0)
MAYBE = st.booleans()


def turned(most: float) -> Strategy:
    """Numbers of either sign up to ``most``, small ones too."""
    return st.tuples(or_zero(sizes(most * 1e-12, most)), st.sampled_from([1, -1])).map(math.prod)


def rows(one: Strategy) -> Strategy:
    """A number, a list of numbers or an array of them."""
    several = st.lists(one, min_size=1, max_size=5)
    return st.one_of(one, several, several.map(np.array), several.map(lambda a: np.array([a])))


def pairs(most: float) -> Strategy:
    return st.tuples(turned(most), turned(most))


def lines(most: float = 10.0) -> Strategy:
    points = st.lists(pairs(most), min_size=4, max_size=4)
    return points.map(lambda given: np.array([*given, (most, most)]))


ARGUMENTS: dict[Names, Strategy] = {
    ("limb", "setting"): posed_limbs(), "setting": settings_alone(), "bend": bends(),
    # things
    "metal": metals(), "elastomer": elastomers(), "wire": wires(), "limb": limbs(),
    "outline": outlines(), "printer": printers(), "wish": wishes(), "plan": plans(),
    "law": st.sampled_from([law for m in metal_names() for law in life_laws(load_metal(m))]),
    # texts and choices
    "name": NAMES, "title": NAMES, "rule": RULES, "orientation": SIDES, "text": NAMES,
    "system": st.sampled_from(["AWG", "SWG"]), "number": st.integers(-3, 50),
    "scale": st.sampled_from(["A", "D"]), "partner": st.sampled_from(["disc", "steel"]),
    "quantity": st.just("bead_width"), "summary": NAMES, "fan_label": NAMES,
    "labels": st.just(("set", "let go", "rest")), "kind": st.sampled_from(["stl", "3mf"]),
    "measured": st.just(("lying",)), "path": st.just("own.sqlite3"),
    # lengths
    "diameter": sizes(1e-4, 0.02), "wire_diameter": sizes(1e-4, 0.02), "length": sizes(5e-3, 1.0),
    "wall": st.one_of(st.none(), sizes(1e-4, 0.01)), "channel_diameter": sizes(5e-5, 0.1),
    "outer_radius": sizes(5e-5, 1.0), "outer_diameter": sizes(5e-4, 0.3), "radius": sizes(5e-4, 1),
    "bead_width": sizes(5e-5, 2e-3), "layer_height": sizes(1e-5, 2e-3), "offset": turned(1.0),
    "clearance": st.floats(0.0, 0.02), "wire_tolerance": sizes(1e-9, 5e-5),
    "roof_height": st.none(), "free_length": sizes(1e-4, 10.0), "sleeve": or_zero(sizes(1e-5, 0.5)),
    "height": sizes(5e-4, 0.3), "width": sizes(5e-4, 0.3), "thickness": sizes(1e-4, 0.2),
    "corner_radius": or_zero(sizes(1e-6, 0.5)), "flat_height": turned(0.5),
    "gap": or_zero(sizes(1e-6, 0.5)),
    "other_diameter": st.one_of(st.none(), sizes(1e-4, 0.2)), "arm": or_zero(sizes(1e-6, 2.0)),
    "other_thickness": st.one_of(st.none(), sizes(1e-4, 0.2)), "reach": sizes(1e-4, 0.5),
    "channel_offset": pairs(0.3), "start": or_zero(sizes(1e-3, 1.0)),
    "drawn_diameter": sizes(3e-4, 0.05),
    "step": sizes(1e-5, 2e-3), "depth": sizes(1e-3, 0.2), "tab": sizes(5e-3, 0.2),
    "side": sizes(5e-3, 0.1),
    "thicknesses": st.sets(sizes(4e-4, 0.02), min_size=1, max_size=4).map(sorted).map(tuple),
    "walls": rows(sizes(1e-9, 1.0)), "sag": sizes(1e-9, 1.0), "drop": sizes(1e-5, 0.1),
    "reference_hole": sizes(3e-3, 0.1), "mandrel_diameter": sizes(1e-3, 1.0),
    "hole_shrinkage_upright": st.floats(-5e-4, 2e-3),
    "hole_shrinkage_lying": st.floats(-5e-4, 2e-3),
    "infill_pattern": st.sampled_from(["lines", "isotropic"]),
    "kink_core": st.sampled_from(["", "hollow", "lines", "isotropic", "solid"]),
    "kink_factor": st.floats(0.2, 5.0), "kink_deviation": st.floats(0.0, 1.0),
    "thickness_error": st.floats(0.0, 0.5), "temperature": st.floats(5.0, 40.0),
    "held_diameter": sizes(0.02, 1.0), "kinked_diameter": or_zero(sizes(1e-3, 0.02)),
    "hole_spread_upright": st.floats(0.0, 2e-3), "hole_spread_lying": st.floats(0.0, 2e-3),
    # angles and curvatures
    "angle": turned(4 * math.pi), "bend_angle": st.floats(0.0, 8 * math.pi),
    "clamp_angle": st.floats(-math.pi, math.pi), "curvature": rows(turned(20.0)),
    "set_curvature": rows(turned(20.0)), "wanted_curvature": turned(1e3),
    "curvature_range": or_zero(sizes(1e-6, 1e4)), "printed_curvature": or_zero(sizes(1e-6, 40.0)),
    "natural_curvature": rows(turned(10.0)), "angle_before": sizes(0.05, 200.0),
    "angle_after": sizes(0.01, 10.0), "angle_set": sizes(0.05, 10.0),
    "angle_kept": sizes(0.01, 10.0),
    # materials
    "elastic_modulus": sizes(1e4, 1e12), "strength_coefficient": sizes(1e5, 1e10),
    "tensile_strength": sizes(1e5, 1e10), "hardening_exponent": st.floats(0.0, 0.8),
    "density": sizes(100.0, 25000.0), "yield_stress": st.one_of(st.none(), sizes(1e5, 1e10)),
    "strength_factor": st.floats(1.0, 3.0), "exponent_spread": st.floats(0.0, 0.3),
    "poisson_ratio": st.floats(0.0, 0.4999), "saturation_stress": sizes(1e4, 1e12),
    "relaxation_exponent": st.floats(0.0, 0.4), "modulus_factor": st.floats(1.0, 5.0),
    "relaxation_spread": st.floats(0.0, 0.2), "hardness": st.floats(1.0, 99.0),
    "wire_density": or_zero(sizes(1.0, 25000.0)), "infill": or_zero(SHARES),
    "infill_exponent": sizes(0.01, 10.0), "back_stress": st.floats(0.0, 0.4),
    "elastomer_share": st.floats(0.0, 10.0), "recoil_share": st.none(),
    "wall_spread": st.floats(0.0, 0.5),
    "flexural_rigidity": rows(sizes(1e-9, 1e4)), "strain": rows(turned(100.0)),
    "strain_amplitude": rows(or_zero(sizes(1e-9, 100.0))), "re_poses": sizes(1.0, 1e9),
    "elastic_strain": sizes(1e-12, 100.0), "plastic_strain": sizes(1e-12, 100.0),
    "elastic_exponent": st.floats(-0.9, -0.02), "plastic_exponent": st.floats(-2.0, -0.1),
    # forces, loads, times and counts
    "friction": or_zero(sizes(1e-6, 3.0)), "payload": or_zero(sizes(1e-9, 5.0)),
    "force": sizes(1e-6, 1e6), "pull": or_zero(sizes(1e-9, 1e4)),
    "moment": or_zero(sizes(1e-9, 1e4)),
    "cross_force": or_zero(sizes(1e-9, 1e4)), "remanence": sizes(0.01, 2.0),
    "other_remanence": st.one_of(st.none(), sizes(0.01, 2.0)),
    "tip_load": rows(or_zero(sizes(1e-9, 10.0))),
    "weight_per_length": rows(or_zero(sizes(1e-9, 10.0))), "time": rows(sizes(1e-3, 2e9)),
    "hold_time": or_zero(sizes(1e-3, 1e9)), "rest_time": or_zero(sizes(1e-3, 1e9)),
    "strands": st.integers(1, 7), "facets": st.integers(6, 100000), "holes": st.integers(3, 15),
    "segments": st.integers(8, 64), "accuracy": sizes(1e-8, 1e-3),
    "breaks": st.sampled_from([(), (0.3, 0.7)]),
    "samples": st.integers(16, 48), "seed": st.integers(0, 2**32 - 1), "count": st.integers(8, 400),
    "share": SHARES, "wanted_share": SHARES, "sag_limit": st.one_of(st.none(), sizes(1e-6, 1.0)),
    "rigid": MAYBE, "both_ways": MAYBE, "roofed": MAYBE, "channel_roofed": MAYBE,
    "error": sizes(1e-4, 0.5),
    # drawings
    "as_set": lines(), "let_go": lines(), "at_rest": lines(), "centre": lines(),
    "fan": st.lists(lines(), max_size=3),
    "points": st.lists(pairs(1.0), min_size=3, max_size=9),
    "strips": st.just((np.array([-1e-3, 1e-3]), np.full(2, 1e-6))),
    "bends": st.lists(bends(), max_size=3), "drawn_diameters": st.just((2e-3, 3e-3)),
    "pins": st.just((1.8e-3, 2.8e-3)),
    "longest": st.integers(1, 500), "substitutes": st.just(("another wire",)),
}  # fmt: skip
