"""The headline of the limb page: the answer, its probability as a bar, and what limits it."""

from __future__ import annotations

import html

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.page.answer import bar
from data.page.units import length_words, words
from flexcalc.pose.pose import Pose
from flexcalc.spread.sample import PoseSample
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import Verdict

SIGNS = {"holds": "✓", "close": "≈", "fails": "✗"}
STYLE = """<style>
.stMarkdown p.headline { font-size: 1.15rem; font-weight: 600; line-height: 1.3; margin: 0; }
.old { opacity: .45; }
.limits { display: flex; flex-wrap: wrap; gap: .1rem .9rem; padding: 0; margin: .4rem 0 .6rem;
  list-style: none; font-size: .875rem; }
.limits li { margin: 0; }
@media (max-width: 640px) {
  .stMarkdown p.headline { font-size: .95rem; display: -webkit-box; -webkit-line-clamp: 2;
    -webkit-box-orient: vertical; overflow: hidden; }
  .chance { font-size: .8rem; }
  .chance .more { display: none; }
}
</style>"""


def show_quick(place: DeltaGenerator, pose: Pose | None, last: tuple[str, str] | None) -> str:
    """Show what is known at once, the share kept and the sag, over the last probability, greyed.

    ``last`` are the headline and the HTML that `show_found` returned for the limb before.
    """
    said = quick_words(pose)
    old = f'<div class="old" aria-hidden="true">{last[1]}</div>' if last else chance("", None, 0.0)
    place.markdown(f'<p class="headline">… {html.escape(said)}</p>{old}', unsafe_allow_html=True)
    return said


def quick_words(pose: Pose | None) -> str:
    """Return what a pose keeps, without its probability."""
    if pose is None:
        return "It hangs slack."
    kept = min(pose.retained_share, default=None)
    bend = "No bend" if kept is None else f"Keeps {kept:.0%} of the bend"
    if pose.straightened < (1.0 if kept is None else kept):
        bend = f"Goes back by {pose.straightened:.0%} of the bend before"
    return f"{bend}; the tip sags {length_words(pose.tip_sag)}."


def show_found(place: DeltaGenerator, verdict: Verdict) -> tuple[str, str]:
    """Show the verdict with its probability and band; return its sentence and its HTML."""
    sentence = spoken(verdict)
    body = chance(band_words(verdict.likely), verdict.likely.probability, verdict.wish.probability)
    place.markdown(f'<p class="headline">{html.escape(sentence)}</p>{body}', unsafe_allow_html=True)
    return sentence, body


def spoken(verdict: Verdict) -> str:
    """Return the sentence of a verdict behind the sign of its state."""
    return words(f"{SIGNS[verdict.state]} {verdict.sentence}")


def chance(band: str, probability: float | None, wanted: float) -> str:
    """Return the probability as a bar with the wanted one as a stroke, and the band, as HTML."""
    if probability is None:
        said, drawn = (
            "Probability: being worked out …",
            '<div class="bar" aria-hidden="true"></div>',
        )
    else:
        said = f"{probability:.0%} likely to hold as you ask; you ask for {wanted:.0%}"
        drawn = bar(probability, said, wanted)
    more = f" <span>{html.escape(band)}</span>" if band else ""
    return f'<div class="chance">{drawn}<b>{said}.</b>{more}</div>'


def band_words(sample: PoseSample) -> str:
    """Say the 80 % band of the worst bend."""
    band = sample.worst_share
    return f"Four of five such limbs keep {band.low:.0%} to {band.high:.0%} of the bend."


def show_limits(verdict: Verdict, wish: Wish) -> None:
    """Say with which probability each wish is met, the one that limits first."""
    likely = verdict.likely
    met = [
        (likely.probability_kept, f"keeps {wish.share:.0%}"),
        (likely.probability_within_sag, f"sags at most {length_words(wish.sag)}"),
        (likely.probability_unkinked, "does not kink"),
        (likely.probability_life, f"bears {wish.re_poses:.0f} re-poses"),
    ]
    items = "".join(
        f"<li>{SIGNS['holds' if share >= wish.probability else 'fails']} {said}: "
        f"<b>{share:.0%}</b></li>"
        for share, said in sorted(met)
    )
    st.markdown(
        f'<ul class="limits" aria-label="What limits it, the least likely first">{items}</ul>',
        unsafe_allow_html=True,
    )
