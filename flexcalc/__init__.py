"""Printed TPU limbs with a push-in wire: stiffness, pose, channel, life.

SI throughout: m, kg, N, Pa, rad, s. An answer goes limb, section, shape at rest, verdict::

    limb = Limb(elastomer=load_elastomer("TPU 85A"), outline=Round(diameter=0.012),
                length=0.12, wall=0.0012,
                wire=Wire(metal=load_metal("annealed copper"), diameter=0.003))
    setting = Setting(bends=(Bend(start=0.01, angle=1.2, radius=0.05),),
                      clamp_angle=1.57, payload=0.012)
    print(assess(limb, setting))

What you put in
  Limb              outline, wall and infill, channel, sleeve and the wire in it
  Round DShape Ellipse RoundedRectangle Polygon Along: outlines, and several along a limb
  Elastomer  load_elastomer  elastomer_names: what is printed
  Metal  load_metal  metal_names: what the wire is of
  Wire  gauge_diameter  parse_length: a wire, and lengths as a maker types
  Printer           bead, shrinkage of holes, strength of layers
  Setting  Bend     how it is bent, clamped and loaded
  Wish  LimbPlan  NamedPose: what counts as holding; a whole plan

Does it hold
  assess            the verdict on a limb in a setting: Verdict, with each Check
  assess_poses      the same in several poses: PosesVerdict
  sample_pose       thousands of limbs that could be this one: PoseSample
  remedies          what helps it to hold, the cheapest first: Remedy
  compare_wires     every wire of the trade in this limb: WireTable, WireChoice
  over_bend  over_bend_setting: how far to bend, an OverBend
  windows           readings at the bench with which it holds: Windows, Window

What it rests on
  limb_section      areas, mass and rigidities: Section
  bending_moment    the moment of a wire bent once
  retained_bend     the share of a bend that stays, without gravity
  hold_pose         as set, let go and at rest: Pose, Shape
  rest_shape        a rod at rest under its weight: RestShape
  kink_radius_of    where a limb folds: Kink

To build it
  size_channel      from the wire to the drawing: ChannelSize
  wire_life         re-poses until it cracks: WireLife
  corner_piece      where no bend fits: CornerPiece
  magnet_hold       a magnet in the hand: MagnetHold
  droop_strip  limb_sample  bending_former: each a Piece to print
  file_bytes        a piece as STL or 3MF

What the bench teaches
  Droop  MandrelBend  PinGauge  PoseTest  KinkTest: what was read
  updated  learned: the thing as it is known then, and what changed, Learned

Everything else is reached by its folder (``flexcalc.rod.rest_shape``). What follows is each
name in full.
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
from flexcalc.build import (
    ChannelSize,
    CornerPiece,
    Kink,
    MagnetHold,
    Piece,
    WireLife,
    bending_former,
    corner_piece,
    droop_strip,
    file_bytes,
    kink_radius_of,
    limb_sample,
    magnet_hold,
    size_channel,
    wire_life,
)
from flexcalc.compare import (
    WireChoice,
    WireTable,
    compare_wires,
)
from flexcalc.limb import (
    Along,
    Bend,
    DShape,
    Elastomer,
    Ellipse,
    Limb,
    Metal,
    Polygon,
    Printer,
    Round,
    RoundedRectangle,
    Setting,
    Wire,
    elastomer_names,
    gauge_diameter,
    load_elastomer,
    load_metal,
    metal_names,
    parse_length,
)
from flexcalc.pose import (
    Pose,
    Shape,
    hold_pose,
    retained_bend,
)
from flexcalc.rod import (
    RestShape,
    rest_shape,
)
from flexcalc.section import (
    Section,
    limb_section,
)
from flexcalc.spread import (
    PoseSample,
    sample_pose,
)
from flexcalc.verdict import (
    Check,
    LimbPlan,
    NamedPose,
    OverBend,
    PosesVerdict,
    Remedy,
    Verdict,
    Window,
    Windows,
    Wish,
    assess,
    assess_poses,
    over_bend,
    over_bend_setting,
    remedies,
    windows,
)
from flexcalc.wire import (
    bending_moment,
)

__all__ = [
    "Along",
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
    "NamedPose",
    "OverBend",
    "Piece",
    "PinGauge",
    "Polygon",
    "Pose",
    "PoseSample",
    "PoseTest",
    "PosesVerdict",
    "Printer",
    "Remedy",
    "RestShape",
    "Round",
    "RoundedRectangle",
    "Section",
    "Setting",
    "Shape",
    "Verdict",
    "Window",
    "Windows",
    "Wire",
    "WireChoice",
    "WireLife",
    "WireTable",
    "Wish",
    "assess",
    "assess_poses",
    "bending_former",
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
    "remedies",
    "rest_shape",
    "retained_bend",
    "sample_pose",
    "size_channel",
    "updated",
    "windows",
    "wire_life",
]
