"""The answers of the limb page, computed once and shown, the drawing first."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any, NamedTuple

import streamlit as st
from numpy.typing import ArrayLike
from streamlit.delta_generator import DeltaGenerator

from data.page.fields import PageFields
from data.page.show import announce, plain_text, show_cautions, show_table
from data.store.folder import StoreError
from flexcalc.limb.inputs import Metal
from flexcalc.limb.materials import load_metal, metal_names
from flexcalc.limb.own_materials import own_metals
from flexcalc.pages.more import show_corners, show_life, show_over_bend, show_working
from flexcalc.pages.wires import show_wires
from flexcalc.paper.answers import likely_poses, side_view, verdict_on
from flexcalc.paper.cross_section import section_drawing
from flexcalc.section.elastomer import set_after
from flexcalc.section.section import limb_mass, limb_section, surface_area
from flexcalc.spread.sample import Band, PoseSample
from flexcalc.verdict.checks import Check
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

DAY = 86400.0
SIGNS = {"holds": "✓", "close": "≈", "fails": "✗"}
WORDS = {"holds": "holds", "close": "close", "fails": "does not hold"}
TEXTS = {"holds": "success", "close": "warning", "fails": "error"}
AWAITED = "The likely band is being worked out …"


class First(NamedTuple):
    """The answer without a band, and where its sentence and its drawing stand."""

    verdict: Verdict
    said: DeltaGenerator
    drawn: DeltaGenerator


def show_first(plan: LimbPlan, band: str = AWAITED) -> First | None:
    """Show the verdict and the drawing; None after saying why there are none.

    ``band`` stands for the likely band, which takes longer.
    """
    try:
        verdict = verdict_on(plan)
    except (ValueError, RuntimeError) as error:
        st.error(f"This limb could not be worked out: {plain_text(str(error))}")
        return None
    announce(verdict.sentence)
    said = show_verdict(st, verdict, band)
    return First(verdict, said, show_drawing(st, plan, verdict))


def show_answers(fields: PageFields, plan: LimbPlan, first: First) -> None:
    """Show everything else that is known about a limb, or why it cannot be worked out.

    Sentence and drawing are replaced where they stand as soon as the likely outcomes are known: a
    drawing taken away and put back would flicker, and a status that comes and goes is not read.
    """
    verdict = first.verdict
    try:
        sample = likely_poses(plan)
    except (ValueError, RuntimeError) as error:
        words = plain_text(str(error))
        first.said.error(f"The likely band of this limb could not be worked out: {words}")
        return
    show_verdict(first.said, verdict, band_words(sample))
    show_drawing(first.drawn, plan, verdict, [line.points for line in sample.fan])
    show_likelihood(sample, plan)
    posed = verdict.cautions if verdict.pose is None else verdict.pose.cautions
    told = (*sample.cautions, *posed, *verdict.kink.cautions)
    show_cautions(list({caution.key: caution for caution in told}.values()))
    show_checks(verdict.checks)
    with st.expander("Which wire holds it"):
        show_wires(fields, plan, _metals())
    with st.expander("How the pose changes with time"):
        show_over_time(plan, verdict)
    with st.expander("Cross-section and stiffness"):
        show_section(plan)
    with st.expander("Channel to draw", expanded=True):
        show_channel(verdict)
    with st.expander("Bend further so that it stays"):
        show_over_bend(plan)
    with st.expander("Life of the wire"):
        show_life(plan, verdict)
    with st.expander("Corner pieces for bends that are too tight"):
        show_corners(plan, verdict)
    with st.expander("How this is worked out"):
        show_working(plan, verdict)


def _metals() -> list[Metal]:
    """Return the tabled metals and the maker's own; a folder that cannot be read has none."""
    try:
        own = list(own_metals().values())
    except StoreError:
        own = []
    return [load_metal(name) for name in metal_names()] + own


def show_verdict(place: Any, verdict: Verdict, band: str) -> DeltaGenerator:
    """Show the word for a limb and its sentence with the likely band; return where that stands.

    ``place`` is the page, or what an earlier call returned, to be replaced.
    """
    sentence = f"{SIGNS[verdict.state]} **{verdict.sentence}** {band}"
    shown: DeltaGenerator = getattr(place, TEXTS[verdict.state])(sentence)
    return shown


def show_drawing(
    place: Any, plan: LimbPlan, verdict: Verdict, fan: Sequence[ArrayLike] = ()
) -> DeltaGenerator:
    """Show the limb to scale as set, let go and at rest, with the fan of likely outcomes.

    ``place`` is the page, or what an earlier call returned, to be replaced.
    """
    svg = side_view(plan, verdict, fan)
    drawn: DeltaGenerator = place.markdown(
        f'<div style="overflow-x:auto">{svg}</div>', unsafe_allow_html=True
    )
    return drawn


def band_words(sample: PoseSample) -> str:
    """Say the 80 % band of the worst bend and the probability of holding."""
    band = sample.worst_share
    return (
        f"Likely {band.low:.0%} to {band.high:.0%} of the bend (four limbs in five); "
        f"it holds as you ask with a probability of {sample.probability:.0%}."
    )


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
                *(_mm(value) for value in _three(sag)),
                f"at most {_mm(plan.wish.sag)}",
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
    st.info(f"**Measure this next.** {plain_text(sample.measure_next)}")


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
        f'<ul aria-label="Every check" style="list-style:none;padding:0">{items}</ul>',
        unsafe_allow_html=True,
    )


def show_over_time(plan: LimbPlan, verdict: Verdict) -> None:
    """Show what is left of each bend, and where the tip is, as time goes by."""
    rows = []
    for name, pose in verdict.later:
        kept = ", ".join(f"{share:.0%}" for share in pose.retained_share) or "–"
        away = pose.tip_moved
        rows.append((name, kept, _mm(away), _mm(pose.tip_sag)))
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
        f'<div style="overflow-x:auto">{section_drawing(limb)}</div>', unsafe_allow_html=True
    )
    rigidities = (
        ("without wire", section.flexural_rigidity_bare),
        ("with a sliding wire (as built)", section.flexural_rigidity_sliding),
        ("with a bonded wire (upper bound)", section.flexural_rigidity_bonded),
    )
    show_table(
        ("Bending stiffness", "in its plane EIxx (N mm²)", "sideways EIyy (N mm²)"),
        [(name, f"{value[0] * 1e6:.0f}", f"{value[1] * 1e6:.0f}") for name, value in rigidities],
        "Bending stiffness of the section",
    )
    st.markdown(
        f"Mass {limb_mass(limb) * 1e3:.1f} g, outer surface {surface_area(limb) * 1e4:.1f} cm²."
    )


def show_channel(verdict: Verdict) -> None:
    """Show the chain from the wire to the diameter to draw."""
    for size in verdict.channel:
        show_table(
            ("Step", "Value", "From", "To", "Why"),
            [
                (row.label, _mm(row.value), _mm(row.low), _mm(row.high), row.reason)
                for row in size.rows
            ],
            "From the wire to the diameter to draw",
        )
        st.markdown(
            f"**Draw the channel {_mm(size.draw_diameter)}**: "
            f"from {_mm(size.draw_low)} to {_mm(size.draw_high)}."
        )
        show_cautions(size.cautions)


def _mm(length: float) -> str:
    """Say a length in both units, the one first that the visitor chose."""
    both = (f"{length * 1e3:.2f} mm", f"{length / 0.0254:.3f} in")
    first, second = both[::-1] if st.session_state.get("limb_units") == "inch" else both
    return f"{first} ({second})"
