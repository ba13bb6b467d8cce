"""What a stranger gets, prints and puts together for one limb: blocks of the build sheet."""

from __future__ import annotations

from collections.abc import Sequence

from data.sheet import Alert, Block, Drawing, Grid, Listing, Words
from flexcalc.build.insertion import push_stroke
from flexcalc.build.solids import channel_strip
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Along, Limb, limb_at
from flexcalc.limb.outline import DShape, Ellipse, Round, RoundedRectangle
from flexcalc.paper.anchor import anchor_drawing, anchor_words
from flexcalc.paper.cross_section import section_drawing
from flexcalc.section.section import limb_mass
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict


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


def buying(plan: LimbPlan, substitutes: Sequence[str]) -> tuple[str, tuple[Block, ...]]:
    """Return what to get for a limb."""
    limb = plan.limb
    wire_mass = 0.0
    rows = []
    if limb.wire is not None:
        wire = limb.wire
        wire_mass = wire.mass_per_length
        length = show_length(limb.length + 0.02)
        rows.append(
            ("wire", f"{wire.metal.name}, {show_length(wire.diameter)}",
             f"{length}, {wire.strands} strand(s)")
        )  # fmt: skip
    mass = (limb_mass(limb) - wire_mass * limb.length) * 1e3
    rows.insert(0, ("filament", limb.elastomer.name, f"about {mass * 1.1:.0f} g with 10 % waste"))
    rows.append(("tools", "flat pliers, cutter, file, eye protection, talc", "one of each"))
    blocks: list[Block] = [
        Grid(caption="Parts and tools", head=("what", "which", "how much"), rows=tuple(rows))
    ]
    if substitutes:
        blocks.append(Words(text="Wires that hold as well: " + "; ".join(substitutes) + "."))
    return "what to get", tuple(blocks)


def printing(plan: LimbPlan, verdict: Verdict) -> tuple[str, tuple[Block, ...]]:
    """Return what to draw and print for a limb."""
    limb = plan.limb
    wall = "solid" if limb.wall is None else f"wall {show_length(limb.wall)}"
    core = "" if limb.wall is None else f", infill {limb.infill:.0%}"
    blocks: list[Block] = [
        Words(
            text=f"Section {outline_words(limb)}; length {show_length(limb.length)}; {wall}{core}; "
            f"printed {plan.orientation}."
        ),
        Drawing(svg=section_drawing(limb), words="the cross-section to scale"),
    ]
    for size in verdict.channel:
        rows = tuple(
            (row.label, show_length(row.value) if row.value > 1e-6 else "0", row.reason)
            for row in size.rows
        )
        strip = channel_strip(size.draw_diameter, size.orientation, plan.printer)
        blocks += [
            Grid(caption="From the wire to the channel", head=("step", "value", "why"), rows=rows),
            Words(
                text=f"Draw the channel {show_length(size.draw_diameter)} (from "
                f"{show_length(size.draw_low)} to {show_length(size.draw_high)}). Print the test "
                f"strip first: {len(strip.holes)} channels from {show_length(strip.holes[0])} to "
                f"{show_length(strip.holes[-1])} as drawn. A pin of {show_length(size.opening)} "
                "should just enter the one drawn as above."
            ),
        ]
    trouble = [
        check for check in verdict.checks if check.key == "prints" and check.state != "holds"
    ]
    blocks += [Alert(text=f"{check.answer}. {check.reason}") for check in trouble]
    return "what to print", tuple(blocks)


def assembling(plan: LimbPlan) -> tuple[str, tuple[Block, ...]]:
    """Return how the wire goes in, is held and comes out again."""
    wire = plan.limb.wire
    if wire is None:
        return "putting it together", (Words(text="There is no wire to put in."),)
    stroke = min(push_stroke(wire, 60.0), 0.05)
    steps = (
        "Straighten the wire by rolling it under a board. Round both ends with a file.",
        "Chamfer the mouth of the channel. A little talc helps.",
        f"Push the wire in by strokes of {show_length(max(stroke, 0.005))}; hold it close to the "
        "mouth or it buckles.",
        "Hold it in by an end cap, a folded end or a short collar. Never glue it.",
        "To take it out, straighten the limb, take off the cap and pull with flat pliers while the "
        "limb is held close to the mouth.",
    )
    held: tuple[Block, ...] = ()
    if plan.limb.wire_anchored or leaves_plane(plan.limb, plan.setting):
        seen = "the root cut along, with the wire's end in its slot"
        held = (
            Words(text=anchor_words(plan.limb)),
            Drawing(svg=anchor_drawing(plan.limb), words=seen),
        )
    return "putting it together and taking it apart", (
        Listing(items=steps, ordered=True),
        *held,
        Alert(text="Cut wire ends are sharp and fly: cover the end and protect your eyes."),
    )
