"""Printed TPU limbs with a push-in wire: stiffness, pose, channel, life.

SI throughout: m, kg, N, Pa, rad, s. Everything else is reached by its module.
"""

from flexcalc.bench import (
    Droop,
    KinkTest,
    Learned,
    MandrelBend,
    PinGauge,
    PoseTest,
    learned,
    updated,
)
from flexcalc.channel import ChannelSize, size_channel
from flexcalc.checks import Check
from flexcalc.compare import WireChoice, WireTable, compare_wires
from flexcalc.corner import CornerPiece, corner_piece
from flexcalc.gauge import gauge_diameter, parse_length
from flexcalc.inputs import Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.kink import Kink, kink_radius_of
from flexcalc.life import WireLife, wire_life
from flexcalc.magnet import MagnetHold, magnet_hold
from flexcalc.materials import elastomer_names, load_elastomer, load_metal, metal_names
from flexcalc.outline import DShape, Ellipse, Polygon, Round, RoundedRectangle
from flexcalc.overbend import OverBend, over_bend, over_bend_setting
from flexcalc.plan import LimbPlan, Wish
from flexcalc.pose import Pose, Shape, hold_pose
from flexcalc.printer import Printer
from flexcalc.retained import retained_bend
from flexcalc.rod import RestShape, rest_shape
from flexcalc.sample import PoseSample, sample_pose
from flexcalc.section import Section, limb_section
from flexcalc.solids import Piece, droop_strip, file_bytes, limb_sample
from flexcalc.verdict import Verdict, assess
from flexcalc.wire import bending_moment

__all__ = [
    "Bend",
    "ChannelSize",
    "Check",
    "CornerPiece",
    "DShape",
    "Droop",
    "Elastomer",
    "Ellipse",
    "Kink",
    "KinkTest",
    "Learned",
    "Limb",
    "LimbPlan",
    "MagnetHold",
    "MandrelBend",
    "Metal",
    "OverBend",
    "Piece",
    "PinGauge",
    "Polygon",
    "Pose",
    "PoseSample",
    "PoseTest",
    "Printer",
    "RestShape",
    "Round",
    "RoundedRectangle",
    "Section",
    "Setting",
    "Shape",
    "Verdict",
    "Wire",
    "WireChoice",
    "WireLife",
    "WireTable",
    "Wish",
    "assess",
    "bending_moment",
    "compare_wires",
    "corner_piece",
    "droop_strip",
    "elastomer_names",
    "file_bytes",
    "gauge_diameter",
    "hold_pose",
    "kink_radius_of",
    "learned",
    "limb_sample",
    "limb_section",
    "load_elastomer",
    "load_metal",
    "magnet_hold",
    "metal_names",
    "over_bend",
    "over_bend_setting",
    "parse_length",
    "rest_shape",
    "retained_bend",
    "sample_pose",
    "size_channel",
    "updated",
    "wire_life",
]
