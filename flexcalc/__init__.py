"""Printed TPU limbs with a push-in wire: stiffness, pose, channel, life.

SI throughout: m, kg, N, Pa, rad, s.
"""

from flexcalc.allowance import ChannelRow
from flexcalc.bench import (
    Droop,
    KinkTest,
    Learned,
    MandrelBend,
    Measured,
    PinGauge,
    PoseTest,
    Update,
    hole_shrinkage,
    kept_angles,
    learned,
    printed_modulus,
    updated,
    wire_strength,
)
from flexcalc.channel import ChannelSize, size_channel, sized_limb
from flexcalc.checks import Check
from flexcalc.column import buckling_tip_load, buckling_weight
from flexcalc.compare import Misfit, WireChoice, WireTable, compare_wires
from flexcalc.corner import CornerPiece, corner_piece
from flexcalc.elastomer import (
    elastomer_moment,
    relaxed_share,
    release_shares,
    set_after,
    softened_stress,
)
from flexcalc.gauge import gauge_diameter, parse_length, show_length
from flexcalc.hole import (
    arc_shrinkage,
    facet_shrinkage,
    path_radius,
    roof_apex,
    roof_area,
    roof_bridge,
)
from flexcalc.inputs import Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.insertion import (
    capstan_ratio,
    contact_pressure,
    insertion_force,
    pull_out_force,
    straightened_curvature,
    wire_slip,
)
from flexcalc.kink import (
    Kink,
    KinkCure,
    kink_cure,
    kink_moment,
    kink_radius,
    kink_radius_of,
    ovalising_radius,
    wall_buckling_radius,
)
from flexcalc.life import RadiusRange, WireLife, tightest_radius, wire_life
from flexcalc.magnet import MagnetHold, magnet_hold, magnet_pull
from flexcalc.materials import (
    elastomer_names,
    load_elastomer,
    load_metal,
    metal_names,
    modulus_from_shore,
    strength_coefficient,
    tensile_strength,
)
from flexcalc.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.overbend import OverBend, over_bend, over_bend_setting, over_bent
from flexcalc.plan import LimbPlan, Wish
from flexcalc.pose import Pose, Shape, hold_pose
from flexcalc.printer import Printer
from flexcalc.recheck import pose_with_corner, with_corner
from flexcalc.retained import retained_bend
from flexcalc.rod import RestShape, rest_shape
from flexcalc.sample import PoseSample, sample_pose
from flexcalc.section import Section, limb_section, section_strips, surface_area
from flexcalc.solids import Piece, channel_strip, droop_strip, file_bytes, limb_sample, swatch_tile
from flexcalc.stroke import FreeWire, buckling_load, push_stroke
from flexcalc.trade import trade_wires, wire_name
from flexcalc.verdict import Verdict, assess
from flexcalc.wire import (
    bending_moment,
    elastic_rigidity,
    plastic_moment,
    release_moment,
    spring_back_share,
    yield_curvature,
    yield_moment,
    yield_stress,
)

__all__ = [
    "Bend",
    "ChannelRow",
    "ChannelSize",
    "Check",
    "CornerPiece",
    "DShape",
    "Droop",
    "Elastomer",
    "Ellipse",
    "FreeWire",
    "Kink",
    "KinkCure",
    "KinkTest",
    "Learned",
    "Limb",
    "LimbPlan",
    "MagnetHold",
    "MandrelBend",
    "Measured",
    "Metal",
    "Misfit",
    "Outline",
    "OverBend",
    "Piece",
    "PinGauge",
    "Polygon",
    "Pose",
    "PoseSample",
    "PoseTest",
    "Printer",
    "RadiusRange",
    "RestShape",
    "Round",
    "RoundedRectangle",
    "Section",
    "Setting",
    "Shape",
    "Update",
    "Verdict",
    "Wire",
    "WireChoice",
    "WireLife",
    "WireTable",
    "Wish",
    "arc_shrinkage",
    "assess",
    "bending_moment",
    "buckling_load",
    "buckling_tip_load",
    "buckling_weight",
    "capstan_ratio",
    "channel_strip",
    "compare_wires",
    "contact_pressure",
    "corner_piece",
    "droop_strip",
    "elastic_rigidity",
    "elastomer_moment",
    "elastomer_names",
    "facet_shrinkage",
    "file_bytes",
    "gauge_diameter",
    "hold_pose",
    "hole_shrinkage",
    "insertion_force",
    "kept_angles",
    "kink_cure",
    "kink_moment",
    "kink_radius",
    "kink_radius_of",
    "learned",
    "limb_sample",
    "limb_section",
    "load_elastomer",
    "load_metal",
    "magnet_hold",
    "magnet_pull",
    "metal_names",
    "modulus_from_shore",
    "ovalising_radius",
    "over_bend",
    "over_bend_setting",
    "over_bent",
    "parse_length",
    "path_radius",
    "plastic_moment",
    "pose_with_corner",
    "printed_modulus",
    "pull_out_force",
    "push_stroke",
    "relaxed_share",
    "release_moment",
    "release_shares",
    "rest_shape",
    "retained_bend",
    "roof_apex",
    "roof_area",
    "roof_bridge",
    "sample_pose",
    "section_strips",
    "set_after",
    "show_length",
    "size_channel",
    "sized_limb",
    "softened_stress",
    "spring_back_share",
    "straightened_curvature",
    "strength_coefficient",
    "surface_area",
    "swatch_tile",
    "tensile_strength",
    "tightest_radius",
    "trade_wires",
    "updated",
    "wall_buckling_radius",
    "wire_life",
    "wire_name",
    "wire_slip",
    "wire_strength",
    "with_corner",
    "yield_curvature",
    "yield_moment",
    "yield_stress",
]
