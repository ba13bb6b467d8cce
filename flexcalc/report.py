"""A limb's part of the build sheet: what a stranger buys, draws, prints, bends and must know."""

from __future__ import annotations

import math
from collections.abc import Sequence

from data.sheet import Alert, Block, Grid, Part, Picture, Points, Words
from flexcalc.corner import corner_piece
from flexcalc.cross_section import section_drawing
from flexcalc.drawing import limb_drawing
from flexcalc.gauge import show_length
from flexcalc.inputs import Bend, Limb
from flexcalc.outline import DShape, Ellipse, Round, RoundedRectangle
from flexcalc.overbend import over_bend_setting, over_bent
from flexcalc.plan import LimbPlan
from flexcalc.sample import PoseSample, sample_pose
from flexcalc.section import limb_section
from flexcalc.solids import channel_strip
from flexcalc.stroke import push_stroke
from flexcalc.verdict import Verdict, assess

SAMPLES = 1024


def limb_parts(plan: LimbPlan, substitutes: Sequence[str] = ()) -> tuple[Part, ...]:
    """Return the parts of the build sheet for one limb.

    Parameters
    ----------
    plan : LimbPlan
        The limb, its setting, what counts as holding, and the printer.
    substitutes : sequence of str
        Names of other wires that hold as well.

    Raises
    ------
    ValueError
        For a limb that cannot be assessed.
    """
    verdict = assess(
        plan.limb,
        plan.setting,
        wish=plan.wish,
        printer=plan.printer,
        orientation=plan.orientation,
    )
    sample = sample_pose(
        plan.limb,
        plan.setting,
        samples=SAMPLES,
        wanted_share=plan.wish.share,
        sag_limit=plan.wish.sag,
        printer=plan.printer,
    )
    made = (
        _overview(plan, verdict, sample),
        _buy(plan, substitutes),
        _print(plan, verdict),
        _assemble(plan),
        _bend(plan, verdict),
        _keep(plan, verdict),
        _basis(plan, sample),
    )
    return tuple(Part(title=f"{plan.name}: {title}", blocks=blocks) for title, blocks in made)


def outline_words(limb: Limb) -> str:
    """Return the outline of a limb's section in words, in both units."""
    shape = limb.outline
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


def _overview(
    plan: LimbPlan, verdict: Verdict, sample: PoseSample
) -> tuple[str, tuple[Block, ...]]:
    band = sample.worst_share
    pose = verdict.pose
    drawing = limb_drawing(
        pose.shape_set.positions,
        pose.shape_released.positions,
        pose.shape_at_rest.positions,
        2 * limb_section(plan.limb).extreme_fibre,
        fan=[line.positions for line in sample.fan],
        payload=plan.setting.payload,
        name=plan.name,
        summary=verdict.sentence,
    )
    sure = (
        f"Four of five limbs built like this keep {band.low:.0%} to {band.high:.0%} of the bend; "
        f"the probability of at least {plan.wish.share:.0%} and at most "
        f"{show_length(plan.wish.sag)} of sag is {sample.probability:.0%}."
    )
    return "the pose", (
        Words(text=verdict.sentence),
        Words(text=sure),
        Picture(svg=drawing, words="the limb from the side, as set, let go and at rest"),
    )


def _buy(plan: LimbPlan, substitutes: Sequence[str]) -> tuple[str, tuple[Block, ...]]:
    limb = plan.limb
    section = limb_section(limb)
    wire_mass = 0.0
    rows = []
    if limb.wire is not None:
        wire = limb.wire
        wire_mass = wire.strands * math.pi / 4 * wire.diameter**2 * wire.metal.density
        length = show_length(limb.length + 0.02)
        rows.append(
            ("wire", f"{wire.metal.name}, {show_length(wire.diameter)}",
             f"{length}, {wire.strands} strand(s)")
        )  # fmt: skip
    mass = (section.mass_per_length - wire_mass) * limb.length * 1e3
    rows.insert(0, ("filament", limb.elastomer.name, f"about {mass * 1.1:.0f} g with 10 % waste"))
    rows.append(("tools", "flat pliers, cutter, file, eye protection, talc", "one of each"))
    blocks: list[Block] = [
        Grid(caption="Parts and tools", head=("what", "which", "how much"), rows=tuple(rows))
    ]
    if substitutes:
        blocks.append(Words(text="Wires that hold as well: " + "; ".join(substitutes) + "."))
    return "what to get", tuple(blocks)


def _print(plan: LimbPlan, verdict: Verdict) -> tuple[str, tuple[Block, ...]]:
    limb = plan.limb
    wall = "solid" if limb.wall is None else f"wall {show_length(limb.wall)}"
    core = "" if limb.wall is None else f", infill {limb.infill:.0%}"
    blocks: list[Block] = [
        Words(
            text=f"Section {outline_words(limb)}; length {show_length(limb.length)}; {wall}{core}; "
            f"printed {plan.orientation}."
        ),
        Picture(svg=section_drawing(limb), words="the cross-section to scale"),
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


def _assemble(plan: LimbPlan) -> tuple[str, tuple[Block, ...]]:
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
    return "putting it together and taking it apart", (
        Points(points=steps, ordered=True),
        Alert(text="Cut wire ends are sharp and fly: cover the end and protect your eyes."),
    )


def _bend(plan: LimbPlan, verdict: Verdict) -> tuple[str, tuple[Block, ...]]:
    rows: list[tuple[str, ...]] = []
    corners: list[Block] = []
    overs = over_bend_setting(plan.limb, plan.setting) if plan.limb.wire else ()
    for number, bend in enumerate(plan.setting.bends, start=1):
        over = overs[number - 1] if overs else None
        made = over_bent(bend, over) if over else bend
        starts = show_length(bend.start) if bend.start else "at the clamp"
        note = over.text if over else "stays only with a wire"
        rows.append((str(number), starts, _bend_words(bend), _bend_words(made), note))
        if plan.limb.wire and bend.angle and bend.radius < verdict.kink.radius:
            corners += _corner(plan, bend, number)
    blocks: list[Block] = [
        Grid(
            caption="Bend in this order, from the clamp on, and let each come back",
            head=("bend", "starts at", "wanted", "bend it to", "note"),
            rows=tuple(rows),
        ),
        Words(text=f"Hold the whole pose for {plan.setting.hold_time:g} s before letting go."),
    ]
    return "bending it", (*blocks, *corners)


def _corner(plan: LimbPlan, bend: Bend, number: int) -> list[Block]:
    try:
        piece = corner_piece(plan.limb, bend, payload=plan.setting.payload)
    except ValueError as error:
        return [Words(text=f"Bend {number} is too tight, and no corner piece fits: {error}.")]
    return [Words(text=f"Corner piece for bend {number}:"), Points(points=piece.reasons)]


def _keep(plan: LimbPlan, verdict: Verdict) -> tuple[str, tuple[Block, ...]]:
    blocks: list[Block] = [
        Grid(
            caption="How the pose changes with time",
            head=("when", "kept of each bend", "sag"),
            rows=tuple(
                (
                    name,
                    ", ".join(f"{share:.0%}" for share in pose.retained_share) or "no bend",
                    f"{pose.tip_sag * 1e3:.1f} mm ({pose.tip_sag / 0.0254:.2f} in)",
                )
                for name, pose in verdict.later
            ),
        )
    ]
    blocks += [
        Words(
            text=f"Re-poses until the wire cracks: {life.low:.0f} to {life.high:.0f}. {life.place}"
        )
        for life in verdict.life
    ]
    blocks += [Alert(text=caution.text) for caution in verdict.cautions]
    return "life and care", tuple(blocks)


def _basis(plan: LimbPlan, sample: PoseSample) -> tuple[str, tuple[Block, ...]]:
    limb, printer = plan.limb, plan.printer
    rows = [
        ("modulus of the filament", f"{limb.elastomer.elastic_modulus / 1e6:.0f} MPa",
         f"×/÷ {limb.elastomer.modulus_factor:.2f}"),
    ]  # fmt: skip
    if limb.wire is not None:
        metal = limb.wire.metal
        rows.append(
            ("strength coefficient of the wire", f"{metal.strength_coefficient / 1e6:.0f} MPa",
             f"×/÷ {metal.strength_factor:.2f}")
        )  # fmt: skip
    rows.append(
        (
            f"shrinkage of a hole, {plan.orientation}",
            f"{printer.hole_shrinkage(plan.orientation) * 1e3:.2f} mm",
            "measured" if plan.orientation in printer.measured else "assumed, other printers",
        )
    )
    return "what was measured and what is assumed", (
        Grid(caption="What it rests on", head=("number", "value", "how sure"), rows=tuple(rows)),
        Words(text=sample.measure_next),
        Words(text="The share kept is a model result: no experiment stands behind it but yours."),
    )


def _bend_words(bend: Bend) -> str:
    return f"{math.degrees(bend.angle):.0f}° at R {show_length(bend.radius)}"
