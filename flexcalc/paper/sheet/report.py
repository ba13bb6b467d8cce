"""A limb's part of the build sheet: what a stranger buys, draws, prints, bends and must know."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from data.rules import check_kind
from data.sheet import Alert, Beside, Block, Drawing, Part, Words
from flexcalc.compare.wires import WireTable
from flexcalc.figure.figure import Figure, Place, figure_from
from flexcalc.paper.answers import (
    compared,
    later_on,
    poses_of,
    remedies_for,
    side_view,
    turn_words,
    verdict_on,
)
from flexcalc.paper.pictures.whole import legs_of
from flexcalc.paper.sheet.advice import (
    advice_lines,
    poses_part,
    remedies_part,
    window_lines,
    windows_part,
)
from flexcalc.paper.sheet.bending import bending, twin_card
from flexcalc.paper.sheet.front import front_parts
from flexcalc.paper.sheet.making import assembling, cross_section, printing
from flexcalc.paper.sheet.page_fit import on_two_pages
from flexcalc.paper.sheet.tints import TintSheet, figure_tints
from flexcalc.spread.sample import PoseSample
from flexcalc.verdict.plan import LimbPlan, limb_plan_from
from flexcalc.verdict.verdict import Verdict

POSE_SPACE = 45.0
"""Longest side of the pose on the sheet, above the cross-section. [mm]"""
MOST_SUBSTITUTES = 6
SHORT = 32
"""Letters of a limb's name that stand in the headings after the first of a page."""


def limb_parts(
    plan: LimbPlan, substitutes: Sequence[str] = (), place: Place | None = None
) -> tuple[Part, ...]:
    """Return the parts of the build sheet for one limb: two pages, and one for its twin's card.

    Parameters
    ----------
    plan : LimbPlan
        The limb, its setting, what counts as holding, and the printer.
    substitutes : sequence of str
        Names of other wires that hold, see `substitutes_for`.
    place : Place, optional
        Where it is on its figure; one that has a twin gets the mirrored card.

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
    short = plan.name if len(plan.name) <= SHORT else f"{plan.name[:SHORT].rstrip()}…"

    def part(title: str, blocks: tuple[Block, ...]) -> Part:
        return Part(title=f"{short}: {title}", blocks=blocks)

    def page(title: str, blocks: tuple[Block, ...]) -> Part:
        return Part(title=f"{plan.name}: {title}", blocks=blocks, new_page=True)

    parts = on_two_pages(
        [
            page("the pose and what to print", _overview(plan, verdict, substitutes)),
            *(part(*one) for one in (*remedies_part(plan), *poses_part(plan))),
            part("putting it together and taking it apart", assembling(plan)),
        ],
        [
            part("life and care", _keep(plan, verdict)),
            part("what was measured and what is assumed", _basis(plan, verdict.likely)),
        ],
        [
            page("bending it", bending(plan, verdict)),
            *(part(*one) for one in windows_part(plan)),
        ],
    )
    twin = twin_card(plan, verdict, place) if place else ()
    return (*parts, page("bending its twin", twin)) if twin else parts


def figure_parts(
    design: Mapping[str, Any],
    sheet: TintSheet,
    progress: Callable[[float, str], None] | None = None,
) -> list[Part]:
    """Return the build sheet of a whole design, see `data.store.design.read_design`.

    ``sheet`` makes the parts of its tints, which this package does not read. ``progress`` is told
    the share of the work that is done, 0 to 1, and what is being worked out.

    Raises
    ------
    ValueError
        For a limb or tint that is refused.
    """
    figure = figure_from(design)
    if progress is not None:
        _work_out(figure, progress)
    parts = list(front_parts(figure, design, sheet))
    for one in figure.limbs:
        parts += limb_parts(one.plan, substitutes_for(one.plan), one.place)
    for tint in figure_tints(figure, design, sheet):
        first, *rest = sheet.parts(tint.kept)
        whose = f"Tint of {', '.join(tint.limbs)}" if tint.limbs else first.title
        parts += [replace(first, title=whose, new_page=True), *rest]
    return parts


def _work_out(figure: Figure, progress: Callable[[float, str], None]) -> None:
    """Work out what takes long on the sheet of a figure; its answers are kept."""
    every = len(figure.limbs)
    for number, one in enumerate(figure.limbs):

        def tell(share: float, what: str, name: str = one.plan.name, done: int = number) -> None:
            progress((done + share) / every, f"{name}: {what} …")

        tell(0.0, "the verdict")
        verdict_on(one.plan)
        remedies_for(one.plan)
        poses_of(one.plan)
        tell(0.1, "the readings that say it holds")
        windows_part(one.plan)
        tell(0.35, "other wires that hold")
        substitutes_for(one.plan, lambda share: tell(0.35 + 0.65 * share, "other wires that hold"))
    progress(1.0, "whether it stands …")
    legs_of(figure)


def limb_lines(value: object, windows: bool = False) -> list[str]:
    """Return the verdict on a limb of a design file, in lines of text.

    With ``windows`` also the readings at the bench with which it holds.
    """
    plan = limb_plan_from(value)
    verdict = verdict_on(plan)
    lines = [f"{plan.name}: {verdict.sentence}"]
    lines += [f"  {c.question} {c.answer} ({c.limit}: {c.state})" for c in verdict.checks]
    lines += [f"  Caution: {caution.text}" for caution in verdict.cautions]
    advice = [*advice_lines(plan), *(window_lines(plan) if windows else [])]
    return lines + [f"  {line}" for line in (*advice, *_wire_lines(compared(plan)))]


def substitutes_for(
    plan: LimbPlan, progress: Callable[[float], None] | None = None
) -> tuple[str, ...]:
    """Return the names of other wires with which a plan's limb holds, none without a wire.

    ``progress`` as `compare_wires` takes it.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    if plan.limb.wire is None or not plan.setting.bends:
        return ()
    table = compared(plan, progress=progress)
    if all(row.wire != plan.limb.wire for row in table.rows):
        return ()
    holding = [row for row in table.substitutes(plan.limb.wire) if table.holds(row)]
    return tuple(row.name for row in holding[:MOST_SUBSTITUTES])


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


def _overview(plan: LimbPlan, verdict: Verdict, substitutes: Sequence[str]) -> tuple[Block, ...]:
    sample, wish = verdict.likely, plan.wish
    band = sample.worst_share
    sure = (
        f"Four of five limbs built like this keep {band.low:.0%} to {band.high:.0%} of the bend. "
        f"At least {wish.share:.0%} of it, at most {wish.sag * 1e3:.0f} mm of sag, no kink and "
        f"{wish.re_poses:.0f} re-poses, all together, have a probability of "
        f"{sample.probability:.0%}; {wish.probability:.0%} is wanted."
    )
    said: list[Block] = [Words(text=f"{verdict.sentence} {sure}")]
    turned = turn_words(plan, verdict)
    said += [Words(text=turned)] if turned else []
    named = "; ".join(substitutes)
    if verdict.state == "holds":
        said += [Words(text=f"It holds with these wires too: {named}.")] if substitutes else []
    else:
        with_wires = f" It holds with: {named}." if substitutes else ""
        said.append(Alert(text=f"It does not hold as asked.{with_wires}"))
    drawing = side_view(plan, verdict, [line.points for line in sample.fan], space=POSE_SPACE)
    seen = Drawing(svg=drawing, words="the limb to scale, as set, let go and at rest")
    pictures = (seen, cross_section(plan)) if drawing else (cross_section(plan),)
    return (Beside(groups=(pictures, (*said, *printing(plan, verdict)))),)


def _keep(plan: LimbPlan, verdict: Verdict) -> tuple[Block, ...]:
    kept = "; ".join(
        f"{name} {', '.join(f'{share:.0%}' for share in pose.retained_share) or 'no bend'}, sag "
        f"{pose.tip_sag * 1e3:.1f} mm"
        for name, pose in later_on(plan)
    )
    blocks: list[Block] = [Words(text=f"Kept of each bend: {kept}.")] if kept else []
    blocks += [
        Words(
            text=f"Re-poses until the wire cracks: {life.low:.0f} to {life.high:.0f}. {life.place} "
            "Count them; take the wire out and put in a new one before."
        )
        for life in verdict.life
    ]
    told = {caution.key: caution for caution in (*verdict.likely.cautions, *verdict.cautions)}
    if told:
        blocks.append(Alert(text=" ".join(caution.text for caution in told.values())))
    return tuple(blocks)


def _basis(plan: LimbPlan, sample: PoseSample) -> tuple[Block, ...]:
    limb, printer = plan.limb, plan.printer
    said = [
        f"modulus of the filament {limb.elastomer.elastic_modulus / 1e6:.0f} MPa "
        f"(×/÷ {limb.elastomer.modulus_factor:.2f})"
    ]
    if limb.wire is not None:
        metal = limb.wire.metal
        said.append(
            f"strength of the wire {metal.strength_coefficient / 1e6:.0f} MPa "
            f"(×/÷ {metal.strength_factor:.2f})"
        )
    known = "measured" if plan.orientation in printer.measured else "assumed from other printers"
    said.append(
        f"shrinkage of a hole, {plan.orientation}, "
        f"{printer.hole_shrinkage(plan.orientation) * 1e3:.2f} mm ({known})"
    )
    return (
        Words(text=f"It rests on: {'; '.join(said)}."),
        Words(
            text=f"{sample.measure_next} The share kept is a model result: no experiment stands "
            "behind it but yours."
        ),
    )
