"""A limb's part of the build sheet: what a stranger buys, draws, prints, bends and must know."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from data.rules import check_kind
from data.sheet import Alert, Block, Drawing, Grid, Listing, Part, Words
from flexcalc.build.corner import corner_piece
from flexcalc.compare.wires import WireTable
from flexcalc.figure.figure import figure_from
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Bend, in_the_hand
from flexcalc.paper.advice import advice_lines, poses_part, remedies_part
from flexcalc.paper.answers import compared, likely_poses, side_view, verdict_on
from flexcalc.paper.making import assembling, buying, printing
from flexcalc.paper.shopping import shopping
from flexcalc.paper.tints import TintSheet, figure_tints
from flexcalc.spread.sample import PoseSample
from flexcalc.verdict.overbend import over_bends_of, over_bent
from flexcalc.verdict.plan import LimbPlan, limb_plan_from
from flexcalc.verdict.verdict import Verdict

MOST_SUBSTITUTES = 6


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
        For a limb that cannot be assessed, or substitutes that are no names.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    check_kind("substitutes", substitutes, (list, tuple), "a list of names")
    for name in substitutes:
        check_kind("substitute", name, str, "a name")
    verdict = verdict_on(plan)
    sample = likely_poses(plan)
    made = (
        _overview(plan, verdict, sample),
        *remedies_part(plan),
        *poses_part(plan),
        buying(plan, substitutes),
        printing(plan, verdict),
        assembling(plan),
        _bend(plan, verdict),
        _keep(plan, verdict, sample),
        _basis(plan, sample),
    )
    return tuple(Part(title=f"{plan.name}: {title}", blocks=blocks) for title, blocks in made)


def figure_parts(design: Mapping[str, Any], sheet: TintSheet) -> list[Part]:
    """Return the build sheet of a whole design, see `data.store.design.read_design`.

    ``sheet`` makes the parts of its tints, which this package does not read.

    Raises
    ------
    ValueError
        For a limb or tint that is refused.
    """
    parts: list[Part] = []
    if design["note"]:
        parts.append(Part(title="Note", blocks=(Words(text=design["note"]),)))
    figure = figure_from(design)
    bought = shopping(figure, design, sheet)
    if bought.rows:
        parts.append(Part(title="What to get", blocks=(bought,)))
    for one in figure.limbs:
        parts += limb_parts(one.plan, substitutes_for(one.plan))
    for tint in figure_tints(figure, design, sheet):
        parts += sheet.parts(tint.kept)
    return parts


def limb_lines(value: object) -> list[str]:
    """Return the verdict on a limb of a design file, in lines of text."""
    plan = limb_plan_from(value)
    verdict = verdict_on(plan)
    lines = [f"{plan.name}: {verdict.sentence}"]
    lines += [f"  {c.question} {c.answer} ({c.limit}: {c.state})" for c in verdict.checks]
    lines += [f"  Caution: {caution.text}" for caution in verdict.cautions]
    return lines + [f"  {line}" for line in (*advice_lines(plan), *_wire_lines(compared(plan)))]


def substitutes_for(plan: LimbPlan) -> tuple[str, ...]:
    """Return the names of wires that hold as well as the plan's own, none without a wire."""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    if plan.limb.wire is None or not plan.setting.bends:
        return ()
    table = compared(plan)
    if all(row.wire != plan.limb.wire for row in table.rows):
        return ()
    return tuple(row.name for row in table.substitutes(plan.limb.wire)[:MOST_SUBSTITUTES])


def _wire_lines(table: WireTable) -> list[str]:
    """Return the wire table in lines: the thinnest of each metal that holds, or the likeliest."""
    rows = table.smallest_of_each_metal or tuple(
        sorted(table.rows, key=lambda row: -row.probability)[:5]
    )
    return [table.sentence] + [
        f"{row.name}: keeps {row.worst_share.low:.0%} to {row.worst_share.high:.0%}, holds with "
        f"{row.probability:.0%}, channel {row.channel.draw_diameter * 1e3:.2f} mm, "
        f"{row.life.low:.0f} to {row.life.high:.0f} re-poses, {row.press_force:.0f} N by hand"
        for row in rows
    ]


def _overview(
    plan: LimbPlan, verdict: Verdict, sample: PoseSample
) -> tuple[str, tuple[Block, ...]]:
    band = sample.worst_share
    drawing = side_view(plan, verdict, [line.points for line in sample.fan])
    sure = (
        f"Four of five limbs built like this keep {band.low:.0%} to {band.high:.0%} of the bend; "
        f"the probability of at least {plan.wish.share:.0%}, at most {show_length(plan.wish.sag)} "
        f"of sag, no kink and {plan.wish.re_poses:.0f} re-poses is {sample.probability:.0%}, "
        f"{plan.wish.probability:.0%} wanted."
    )
    words = (Words(text=verdict.sentence), Words(text=sure))
    if not drawing:
        return "the pose", words
    seen = Drawing(svg=drawing, words="the limb to scale, as set, let go and at rest")
    return "the pose", (*words, seen)


def _bend(plan: LimbPlan, verdict: Verdict) -> tuple[str, tuple[Block, ...]]:
    rows: list[tuple[str, ...]] = []
    corners: list[Block] = []
    overs = over_bends_of(plan) if plan.limb.wire else ()
    for number, bend in enumerate(plan.setting.bends, start=1):
        over = overs[number - 1] if overs else None
        made = over_bent(bend, over) if over and bend.over_bend == 1 else in_the_hand(bend)
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
    return [Words(text=f"Corner piece for bend {number}:"), Listing(items=piece.reasons)]


def _keep(plan: LimbPlan, verdict: Verdict, sample: PoseSample) -> tuple[str, tuple[Block, ...]]:
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
    told = {caution.key: caution for caution in (*sample.cautions, *verdict.cautions)}
    blocks += [Alert(text=caution.text) for caution in told.values()]
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
    said = f"{math.degrees(bend.angle):.0f}° at R {show_length(bend.radius)}"
    turned = math.remainder(bend.swing, 2 * math.pi)
    if not bend.angle or abs(turned) < math.radians(0.5):
        return said
    side = "left" if turned > 0 else "right"
    return f"{said}, swung {abs(math.degrees(turned)):.0f}° to the {side}"
