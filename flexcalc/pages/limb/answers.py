"""What is known of a limb beside its headline: what to do about it; details behind folds."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

import streamlit as st

from data.page.fields import PageFields
from data.page.marking import mark_fields
from data.page.show import plain_text, show_cautions, show_measures, show_table
from data.page.units import fine_words, length_words, words
from data.rules import Caution
from data.store.folder import StoreError
from flexcalc.forms.limb_form import DEFAULTS
from flexcalc.forms.limb_words import assumed
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.inputs import Metal
from flexcalc.limb.materials import load_metal, metal_names
from flexcalc.limb.own_materials import own_metals
from flexcalc.pages.limb.ask import FOLD, START, fold_of
from flexcalc.pages.limb.compared import show_compared
from flexcalc.pages.limb.graphs import (
    show_driver_graph,
    show_life_graph,
    show_size_graph,
    show_time_graphs,
)
from flexcalc.pages.limb.headline import SIGNS
from flexcalc.pages.limb.more import show_corners, show_life, show_over_bend, show_working
from flexcalc.pages.limb.poses import show_poses
from flexcalc.pages.limb.remedies import show_remedies
from flexcalc.pages.limb.wires import show_wires
from flexcalc.paper.answers import later_on, turn_words
from flexcalc.paper.pictures.anchor import anchor_drawing, anchor_words
from flexcalc.paper.pictures.cross_section import section_drawing
from flexcalc.section.elastomer import set_after
from flexcalc.section.section import limb_mass, limb_section, surface_area
from flexcalc.spread.sample import Band, PoseSample
from flexcalc.verdict.checks import Check
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import DRAWN, Verdict

DAY = 86400.0
NOTHING = 5e-6
"""A step of the channel so small is not shown. [m]"""
WORDS = {"holds": "holds", "close": "close", "fails": "does not hold"}
READ_ONCE = (
    "kink_outline",
    "channel_untested",
    "wire life few laws",
    "short arm",
    "bends meet",
)
"""Cautions about the ground an answer stands on, the same for limb after limb: behind a fold."""


def show_beside(fields: PageFields, plan: LimbPlan, verdict: Verdict) -> None:
    """Show what cannot wait: cautions, the channel to draw, what helps and what to measure."""
    start = st.session_state.get(START, DEFAULTS)
    form = fields.form()
    links = [
        (words(said), fields.prefix + key, fold_of(form, key)) for said, key in assumed(form, start)
    ]
    mark_fields("limb_assumed", before="Assumed: ", links=links)
    show_cautions(caution for caution in _cautions(verdict) if caution.key not in READ_ONCE)
    failed = [c for c in verdict.checks if c.key not in DRAWN and c.state != "holds"]
    if failed:
        show_checks(failed)
    draw = [
        f"**Draw the channel {fine_words(size.draw_diameter)}**, "
        f"{fine_words(size.draw_low)} to {fine_words(size.draw_high)}."
        for size in verdict.channel
    ]
    if draw:
        st.markdown(f"{' '.join(draw)} Wires break where they leave it: round that edge.")
    turned = turn_words(plan, verdict)
    if turned:
        st.markdown(words(turned))
    show_remedies(fields, plan, verdict)
    if verdict.likely.drivers:
        first = verdict.likely.drivers[0]
        st.markdown(
            f"**Measure next**, {first.share:.0%} of the doubt: {plain_text(first.measure)}."
        )


def show_below(fields: PageFields, plan: LimbPlan, verdict: Verdict) -> None:
    """Show the details, each worked out once its fold is opened."""
    show_compared(fields, plan, verdict)
    folds: list[tuple[str, str, Callable[[], None]]] = [
        ("sizes", "Wire sizes as a graph", lambda: show_size_graph(fields, plan, _metals())),
        ("wires", "Which wire holds it", lambda: show_wires(fields, plan, _metals())),
        ("poses", "Several poses", lambda: show_poses(fields, plan)),
        ("time", "How the pose changes with time", lambda: show_over_time(plan)),
        ("section", "Cross-section and stiffness", lambda: show_section(plan)),
        ("channel", "Channel to draw", lambda: _show_channel_of(plan, verdict)),
        ("bend", "Bend further so that it stays", lambda: show_over_bend(plan)),
        ("life", "Life of the wire", lambda: _show_life(plan, verdict)),
        ("corner", "Corner pieces for tight bends", lambda: show_corners(plan, verdict)),
        ("sure", "How sure that is", lambda: _show_doubt(plan, verdict)),
        ("checks", "Every check and caution", lambda: show_every_check(verdict)),
        ("links", "Link to this limb", lambda: show_links(fields)),
        ("working", "How this is worked out", lambda: show_working(plan, verdict)),
    ]
    for key, title, show in folds:
        fold = st.expander(title, key=FOLD + key, on_change="rerun")
        if fold.open:
            with fold:
                show()


def _show_life(plan: LimbPlan, verdict: Verdict) -> None:
    show_life_graph(plan)
    show_life(plan, verdict)


def _show_doubt(plan: LimbPlan, verdict: Verdict) -> None:
    show_driver_graph(verdict)
    show_likelihood(verdict.likely, plan)


def show_links(fields: PageFields) -> None:
    """Show a link that opens this limb on any machine with this page."""
    here = (st.context.url or "").split("?")[0]
    st.code(f"{here}?{fields.query(fields.form())}", language=None, wrap_lines=True)


def _cautions(verdict: Verdict) -> list[Caution]:
    told = (*verdict.cautions, *verdict.likely.cautions)
    return list({caution.key: caution for caution in told}.values())


def show_every_check(verdict: Verdict) -> None:
    """Show every question with its answer, and every caution."""
    show_checks(verdict.checks)
    show_cautions(_cautions(verdict))


def _metals() -> list[Metal]:
    """Return the tabled metals and the maker's own; a folder that cannot be read has none."""
    try:
        own = list(own_metals().values())
    except StoreError:
        own = []
    return [load_metal(name) for name in metal_names()] + own


def show_likelihood(sample: PoseSample, plan: LimbPlan) -> None:
    """Show how sure the answer is, what it hangs on and what to measure next."""
    sag = sample.tip_sag
    show_table(
        ("", "Low", "Middle", "High", "Asked for", "Probability"),
        [
            (
                "Kept of the worst bend",
                *(f"{value:.0%}" for value in _three(sample.worst_share)),
                f"at least {plan.wish.share:.0%}",
                f"{sample.probability_kept:.0%}",
            ),
            (
                "Sag of the tip",
                *(length_words(value) for value in _three(sag)),
                f"at most {length_words(plan.wish.sag)}",
                f"{sample.probability_within_sag:.0%}",
            ),
            ("Kink", "", "", "", "none", f"{sample.probability_unkinked:.0%}"),
            (
                "Life of the wire",
                "",
                "",
                "",
                f"{plan.wish.re_poses:.0f} re-poses",
                f"{sample.probability_life:.0%}",
            ),
            ("All of it", "", "", "", f"{plan.wish.probability:.0%}", f"{sample.probability:.0%}"),
        ],
        "How sure: four of five limbs built like this lie between low and high",
    )


def _three(band: Band) -> tuple[float, float, float]:
    return band.low, band.median, band.high


def show_checks(checks: Sequence[Check]) -> None:
    """Show every question with its answer, limit and reason."""
    items = "".join(
        f"<li style='margin-bottom:.6rem'>{SIGNS[check.state]} {html.escape(check.question)} "
        f"<strong>{html.escape(check.answer)}</strong> "
        f"({WORDS[check.state]}; {html.escape(check.limit)})<br>"
        f"<small>{html.escape(check.reason)}</small></li>"
        for check in checks
    )
    st.markdown(
        f'<ul aria-label="Every check" style="list-style:none;padding:0">{words(items)}</ul>',
        unsafe_allow_html=True,
    )


def show_over_time(plan: LimbPlan) -> None:
    """Show what is left of each bend, and where the tip is, as time goes by."""
    rows = []
    for name, pose in later_on(plan):
        kept = ", ".join(f"{share:.0%}" for share in pose.retained_share) or "–"
        away = pose.tip_moved
        rows.append((name, kept, length_words(away), length_words(pose.tip_sag)))
    show_time_graphs(plan)
    show_table(
        ("When", "Kept of each bend", "Tip from where it was held", "of that, sag under weight"),
        rows,
        "How the pose changes with time",
    )  # fmt: skip
    hold = plan.setting.hold_time
    left = float(set_after(plan.limb.elastomer, DAY))
    st.markdown(
        f"Held {hold:g} s before letting go: TPU relaxes meanwhile, so a longer hold keeps more. A "
        f"day in the pose sets {left:.0%} of the curvature into the TPU as its new rest shape, "
        "which helps this pose and works against the next."
    )


def show_section(plan: LimbPlan) -> None:
    """Show the cross-section to scale and its stiffness with and without the wire."""
    limb = plan.limb
    section = limb_section(limb)
    st.markdown(
        f'<div style="overflow-x:auto">{words(section_drawing(limb))}</div>', unsafe_allow_html=True
    )
    rigidities = (
        ("without wire", section.flexural_rigidity_bare),
        ("with a sliding wire (as built)", section.flexural_rigidity_sliding),
        ("with a bonded wire (upper bound)", section.flexural_rigidity_bonded),
    )
    show_measures(
        ("Bending stiffness", "in its plane EIxx (N mm²)", "sideways EIyy (N mm²)"),
        [(name, f"{v[0] * 1e6:.0f}", f"{v[1] * 1e6:.0f}") for name, v in rigidities],
        "Bending stiffness of the section",
    )
    mass, surface = limb_mass(limb) * 1e3, surface_area(limb) * 1e4
    st.markdown(words(f"Mass {mass:.1f} g, outer surface {surface:.1f} cm²."))


def _show_channel_of(plan: LimbPlan, verdict: Verdict) -> None:
    show_channel(verdict)
    show_anchor(plan)


def show_channel(verdict: Verdict) -> None:
    """Show the chain from the wire to the diameter to draw."""
    for size in verdict.channel:
        show_table(
            ("Step", "Value", "Why"),
            [
                (row.label, _with_range(row.value, row.low, row.high), words(row.reason))
                for row in size.rows
                if max(abs(row.value), abs(row.high)) >= NOTHING
            ],
            "From the wire to the diameter to draw",
        )
        st.markdown(
            f"**Draw the channel {fine_words(size.draw_diameter)}**: "
            f"from {fine_words(size.draw_low)} to {fine_words(size.draw_high)}."
        )
        show_cautions(size.cautions)


def show_anchor(plan: LimbPlan) -> None:
    """Show how the wire of a limb that leaves its plane is held against turning."""
    if plan.limb.wire is None or not leaves_plane(plan.limb, plan.setting):
        return
    st.markdown(words(anchor_words(plan.limb)))
    st.markdown(words(anchor_drawing(plan.limb)), unsafe_allow_html=True)


def _with_range(value: float, low: float, high: float) -> str:
    """Say a length with its range, where it has one that can be seen."""
    ends = fine_words(low), fine_words(high)
    said = fine_words(value)
    return said if ends[0] == ends[1] else f"{said} ({ends[0]} to {ends[1]})"
