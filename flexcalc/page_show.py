"""The answers of the limb page: each figure with its limit, its cautions and how it comes about."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence
from typing import Any

import streamlit as st
from numpy.typing import ArrayLike
from streamlit.delta_generator import DeltaGenerator

from data.rules import Caution
from flexcalc.asked import side_view
from flexcalc.checks import Check
from flexcalc.cross_section import section_drawing
from flexcalc.elastomer import set_after
from flexcalc.plan import LimbPlan
from flexcalc.sample import Band, PoseSample
from flexcalc.section import limb_section, surface_area
from flexcalc.verdict import Verdict

OFF_SCREEN = "position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)"
DAY = 86400.0
SIGNS = {"holds": "✓", "close": "≈", "fails": "✗"}
WORDS = {"holds": "holds", "close": "close", "fails": "does not hold"}
TEXTS = {"holds": "success", "close": "warning", "fails": "error"}


def show_table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str) -> None:
    """Show a plain table that a screen reader reads and a narrow screen scrolls."""
    cells = "".join(f'<th scope="col">{html.escape(title)}</th>' for title in head)
    body = "".join(
        "<tr>"
        + "".join(
            f'<th scope="row">{html.escape(cell)}</th>' if column == 0
            else f"<td>{html.escape(cell)}</td>"
            for column, cell in enumerate(row)
        )
        + "</tr>"
        for row in rows
    )  # fmt: skip
    st.markdown(
        f'<div style="overflow-x:auto" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption)}"><table>'
        f'<caption style="text-align:left">{html.escape(caption)}</caption>'
        f"<thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table></div>",
        unsafe_allow_html=True,
    )


def announce(sentence: str) -> None:
    """Lay a sentence where a screen reader reads it out when it changes, off the screen."""
    # As markdown, whose parts stay and change: a status put in anew is not read.
    st.markdown(
        f'<div role="status" aria-live="polite" style="{OFF_SCREEN}">{html.escape(sentence)}</div>',
        unsafe_allow_html=True,
    )


def show_cautions(cautions: Sequence[Caution]) -> None:
    """Show every caution, nothing where there is none."""
    for caution in cautions:
        st.warning(caution.text)


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
        ],
        "How sure: four of five limbs built like this lie between low and high",
    )
    st.info(f"**Measure this next.** {sample.measure_next}")


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
        away = math.dist(pose.shape_set.tip, pose.shape_at_rest.tip)
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
        f"Mass {section.mass_per_length * limb.length * 1e3:.1f} g, outer surface "
        f"{surface_area(limb) * 1e4:.1f} cm²."
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
