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

Each of these tells more of itself, ``help(flexcalc.assess)``; everything else is reached by its
folder (``flexcalc.rod.rest_shape``).
"""

from flexcalc.bench import (
    Droop as Droop,
)
from flexcalc.bench import (
    KinkTest as KinkTest,
)
from flexcalc.bench import (
    Learned as Learned,
)
from flexcalc.bench import (
    MandrelBend as MandrelBend,
)
from flexcalc.bench import (
    PinGauge as PinGauge,
)
from flexcalc.bench import (
    PoseTest as PoseTest,
)
from flexcalc.bench import (
    learned as learned,
)
from flexcalc.bench import (
    updated as updated,
)
from flexcalc.build import (
    ChannelSize as ChannelSize,
)
from flexcalc.build import (
    CornerPiece as CornerPiece,
)
from flexcalc.build import (
    Kink as Kink,
)
from flexcalc.build import (
    MagnetHold as MagnetHold,
)
from flexcalc.build import (
    Piece as Piece,
)
from flexcalc.build import (
    WireLife as WireLife,
)
from flexcalc.build import (
    bending_former as bending_former,
)
from flexcalc.build import (
    corner_piece as corner_piece,
)
from flexcalc.build import (
    droop_strip as droop_strip,
)
from flexcalc.build import (
    file_bytes as file_bytes,
)
from flexcalc.build import (
    kink_radius_of as kink_radius_of,
)
from flexcalc.build import (
    limb_sample as limb_sample,
)
from flexcalc.build import (
    magnet_hold as magnet_hold,
)
from flexcalc.build import (
    size_channel as size_channel,
)
from flexcalc.build import (
    wire_life as wire_life,
)
from flexcalc.compare import (
    WireChoice as WireChoice,
)
from flexcalc.compare import (
    WireTable as WireTable,
)
from flexcalc.compare import (
    compare_wires as compare_wires,
)
from flexcalc.limb import (
    Along as Along,
)
from flexcalc.limb import (
    Bend as Bend,
)
from flexcalc.limb import (
    DShape as DShape,
)
from flexcalc.limb import (
    Elastomer as Elastomer,
)
from flexcalc.limb import (
    Ellipse as Ellipse,
)
from flexcalc.limb import (
    Limb as Limb,
)
from flexcalc.limb import (
    Metal as Metal,
)
from flexcalc.limb import (
    Polygon as Polygon,
)
from flexcalc.limb import (
    Printer as Printer,
)
from flexcalc.limb import (
    Round as Round,
)
from flexcalc.limb import (
    RoundedRectangle as RoundedRectangle,
)
from flexcalc.limb import (
    Setting as Setting,
)
from flexcalc.limb import (
    Wire as Wire,
)
from flexcalc.limb import (
    elastomer_names as elastomer_names,
)
from flexcalc.limb import (
    gauge_diameter as gauge_diameter,
)
from flexcalc.limb import (
    load_elastomer as load_elastomer,
)
from flexcalc.limb import (
    load_metal as load_metal,
)
from flexcalc.limb import (
    metal_names as metal_names,
)
from flexcalc.limb import (
    parse_length as parse_length,
)
from flexcalc.pose import (
    Pose as Pose,
)
from flexcalc.pose import (
    Shape as Shape,
)
from flexcalc.pose import (
    hold_pose as hold_pose,
)
from flexcalc.pose import (
    retained_bend as retained_bend,
)
from flexcalc.rod import (
    RestShape as RestShape,
)
from flexcalc.rod import (
    rest_shape as rest_shape,
)
from flexcalc.section import (
    Section as Section,
)
from flexcalc.section import (
    limb_section as limb_section,
)
from flexcalc.spread import (
    PoseSample as PoseSample,
)
from flexcalc.spread import (
    sample_pose as sample_pose,
)
from flexcalc.verdict import (
    Check as Check,
)
from flexcalc.verdict import (
    LimbPlan as LimbPlan,
)
from flexcalc.verdict import (
    NamedPose as NamedPose,
)
from flexcalc.verdict import (
    OverBend as OverBend,
)
from flexcalc.verdict import (
    PosesVerdict as PosesVerdict,
)
from flexcalc.verdict import (
    Remedy as Remedy,
)
from flexcalc.verdict import (
    Verdict as Verdict,
)
from flexcalc.verdict import (
    Window as Window,
)
from flexcalc.verdict import (
    Windows as Windows,
)
from flexcalc.verdict import (
    Wish as Wish,
)
from flexcalc.verdict import (
    assess as assess,
)
from flexcalc.verdict import (
    assess_poses as assess_poses,
)
from flexcalc.verdict import (
    over_bend as over_bend,
)
from flexcalc.verdict import (
    over_bend_setting as over_bend_setting,
)
from flexcalc.verdict import (
    remedies as remedies,
)
from flexcalc.verdict import (
    windows as windows,
)
from flexcalc.wire import (
    bending_moment as bending_moment,
)
