"""What a stranger prints and puts together for one limb: blocks of the build sheet."""

from __future__ import annotations

from data.sheet import Alert, Block, Drawing, Grid, Listing, Words
from flexcalc.build.insertion import push_stroke
from flexcalc.build.wire_cut import cut_length, end_bend
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Along, Limb, limb_at
from flexcalc.limb.outline import DShape, Ellipse, Round, RoundedRectangle
from flexcalc.limb.trade import size_words
from flexcalc.paper.answers import verdict_on
from flexcalc.paper.pictures.anchor import anchor_drawing, anchor_words
from flexcalc.paper.pictures.cross_section import section_drawing
from flexcalc.paper.sheet.shopping import paper_length
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

SECTION_SPACE = 26.0
"""Longest side of the cross-section on the sheet. [mm]"""


def outline_words(limb: Limb) -> str:
    """Return the outline of a limb's section in words, in both units."""
    if isinstance(limb.outline, Along) and not limb.outline.even:
        ends = [outline_words(limb_at(limb, share)) for share in (0.0, 1.0)]
        return f"from {ends[0]} at the clamp to {ends[1]} at the tip"
    shape = limb.middle_outline
    if isinstance(shape, Round):
        return f"round, {show_length(shape.diameter)}"
    if isinstance(shape, DShape):
        flat = shape.diameter / 2 + shape.flat_y
        return f"round, {show_length(shape.diameter)}, with {show_length(flat)} cut off flat"
    if isinstance(shape, RoundedRectangle):
        return (
            f"{show_length(shape.width)} by {show_length(shape.height)}, corners "
            f"{show_length(shape.corner_radius)}" if shape.corner_radius else
            f"{show_length(shape.width)} by {show_length(shape.height)}"
        )  # fmt: skip
    if isinstance(shape, Ellipse):
        return f"ellipse, {show_length(shape.width)} by {show_length(shape.height)}"
    return f"free polygon of {len(shape.points)} corners, see the drawing"


def printing(plan: LimbPlan, verdict: Verdict) -> tuple[Block, ...]:
    """Return what to draw and print for a limb."""
    limb = plan.limb
    wall = "solid" if limb.wall is None else f"wall {show_length(limb.wall)}"
    core = "" if limb.wall is None else f", infill {limb.infill:.0%}, {limb.infill_pattern}"
    rows = [
        ("filament", limb.elastomer.name),
        ("section", outline_words(limb)),
        ("length, clamp to tip", paper_length(limb.length)),
        ("inside", f"{wall}{core}"),
        ("lies in the printer", plan.orientation),
    ]
    if limb.sleeve:
        rows.append(("solid sleeve round the channel", show_length(limb.sleeve)))
    roof = ", with a 45° roof" if limb.channel_roofed else ""
    for size in verdict.channel:
        rows += [
            (
                "draw the channel",
                f"{show_length(size.draw_diameter)}, from {show_length(size.draw_low)} to "
                f"{show_length(size.draw_high)}{roof}; print the strip of seven first",
            ),
            ("in the finished part", f"a pin of {show_length(size.opening)} just enters"),
        ]
    trouble = [
        check for check in verdict.checks if check.key == "prints" and check.state != "holds"
    ]
    return (
        Grid(caption="Draw and print", head=("what", "how"), rows=tuple(rows)),
        *(Alert(text=f"{check.answer}. {check.reason}") for check in trouble),
    )


def cross_section(plan: LimbPlan) -> Drawing:
    """Return the cross-section to scale; the table beside it says what it is of."""
    return Drawing(
        svg=section_drawing(plan.limb, space=SECTION_SPACE, noted=False),
        words="the cross-section to scale",
    )


def wire_to_cut(limb: Limb) -> str:
    """Return which wire a limb takes and how long it is cut; empty for one without."""
    wire = limb.wire
    if wire is None:
        return ""
    strands = "" if wire.strands == 1 else f", {wire.strands} strands twisted together"
    return (
        f"{wire.metal.name} of {size_words(wire.diameter)}, cut to "
        f"{paper_length(cut_length(limb))}{strands}"
    )


def taking_out(plan: LimbPlan) -> str:
    """Return how the wire of a limb comes out again, and with which force."""
    force = next((check.value for check in verdict_on(plan).checks if check.key == "apart"), 0.0)
    pull = f", with some {force:.1f} N" if force >= 0.1 else ""
    return (
        "To take it out: straighten the limb, take off the cap, straighten the tip's end, hold the "
        f"limb close to the mouth and pull at the clamp's end with flat pliers{pull}."
    )


def assembling(plan: LimbPlan) -> tuple[Block, ...]:
    """Return how the wire goes in, is held and comes out again."""
    limb, wire = plan.limb, plan.limb.wire
    if wire is None:
        return (Listing(items=("There is no wire to put in.",)),)
    stroke = max(min(push_stroke(wire, 60.0), 0.05), 0.005)
    radius, leg = end_bend(wire)
    steps = (
        f"Take {wire_to_cut(limb)}; straighten it by rolling it under a board and "
        "round both ends with a file. Cover your eyes: cut ends are sharp and fly.",
        "Chamfer the mouth of the channel; a little talc helps.",
        f"Push the wire in by strokes of {stroke * 1e3:.0f} mm, held close to the mouth or it "
        "buckles, until as much stands out at both ends.",
        f"Bend each end over by 90° round a pin of {2e3 * radius:.1f} mm, with a leg of "
        f"{leg * 1e3:.0f} mm: the clamp's end into the slot of the body, the tip's under its cap. "
        "Never glue it.",
        taking_out(plan),
    )
    held: tuple[Block, ...] = ()
    if limb.wire_anchored or leaves_plane(limb, plan.setting):
        seen = "the root cut along, with the wire's end in its slot"
        held = (Words(text=anchor_words(limb)), Drawing(svg=anchor_drawing(limb), words=seen))
    return (Listing(items=steps, ordered=True), *held)
