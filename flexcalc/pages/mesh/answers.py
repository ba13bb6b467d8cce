"""The verdict on a limb from a mesh: in its pose to scale, and place by place."""

from __future__ import annotations

import numpy as np
import streamlit as st

from data.page.show import plain_text, show_cautions, show_measures
from data.page.units import words
from data.rules import Array
from flexcalc.build.kink import kink_radius_of
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.inputs import limb_at
from flexcalc.pages.limb.answers import (
    show_channel,
    show_checks,
    show_likelihood,
    show_over_time,
)
from flexcalc.pages.limb.headline import STYLE, show_found
from flexcalc.pages.mesh.measuring import Measured
from flexcalc.paper.answers import likely_poses, side_view, verdict_on
from flexcalc.paper.pictures.mesh_drawing import channel_reach, mesh_pose_drawing, thinnest
from flexcalc.section.section import limb_section
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

PLACES = 9
"""Places along the limb of which rigidity, weight, kink and cover are told."""


def show_mesh_verdict(plan: LimbPlan, found: Measured | None) -> Verdict | None:
    """Show the verdict and the limb in its pose; return it, None after saying why there is none."""
    with st.spinner("Working out the pose …"):
        try:
            verdict = verdict_on(plan)
            sample = likely_poses(plan)
        except (ValueError, RuntimeError) as error:
            st.error(plain_text(words(f"This limb could not be worked out: {error}")))
            return None
    st.html(STYLE)
    show_found(st.empty(), verdict)
    if found is None:
        svg = side_view(plan, verdict, [line.points for line in sample.fan])
    else:
        svg = mesh_pose_drawing(plan, verdict, found.limb)
        if leaves_plane(plan.limb, plan.setting):
            svg += mesh_pose_drawing(plan, verdict, found.limb, above=True)
    st.markdown(f'<div style="overflow-x:auto">{words(svg)}</div>', unsafe_allow_html=True)
    _say_load(plan)
    told = (*sample.cautions, *verdict.cautions)
    show_cautions(list({caution.key: caution for caution in told}.values()))
    with st.expander("Place by place: rigidity, weight, kink, cover", expanded=True):
        _show_places(plan, verdict, found)
    with st.expander("How sure that is"):
        show_likelihood(sample, plan)
        st.markdown(f"**Measure this next.** {plain_text(sample.measure_next)}")
    with st.expander("Every check"):
        show_checks(verdict.checks)
    with st.expander("How the pose changes with time"):
        show_over_time(plan)
    with st.expander("Channel to draw"):
        show_channel(verdict)
    return verdict


def _say_load(plan: LimbPlan) -> None:
    if plan.mesh is None or plan.mesh.hand_mass == 0:
        return
    beyond = (plan.limb.length - plan.mesh.wrist) * 1e3
    text = f"The hand weighs {plan.mesh.hand_mass * 1e3:.1f} g, printed like the limb"
    if beyond > 0:
        text += f"; it acts at its middle, {beyond:.0f} mm beyond the wrist"
    st.markdown(plain_text(words(f"{text}.")))


def _show_places(plan: LimbPlan, verdict: Verdict, found: Measured | None) -> None:
    """Show what changes along the limb, and where it is thinnest and tightest."""
    wrist = plan.mesh.wrist if plan.mesh else plan.limb.length
    reach = channel_reach(plan, verdict)
    rows = []
    # the design keeps the wrist to a micrometre, which may lie beyond the limb's end
    shares = np.linspace(0.0, min(wrist / plan.limb.length, 1.0), PLACES)
    kinks = []
    for share in shares.tolist():
        one = limb_at(plan.limb, share)
        section, kink = limb_section(one), kink_radius_of(one, printer=plan.printer)
        kinks.append(kink.radius)
        rows.append(
            (
                f"{share * plan.limb.length * 1e3:.0f} mm",
                f"{section.flexural_rigidity_bare[0] * 1e6:.0f}",
                f"{section.flexural_rigidity_sliding[0] * 1e6:.0f}",
                f"{section.mass_per_length:.3g}",
                f"{kink.radius * 1e3:.0f} mm",
                _cover_at(found, reach, share * plan.limb.length),
            )
        )
    show_measures(
        (
            "From the root",
            "Rigidity N mm²",
            "with the wire",
            "Weight g/mm",
            "Kinks below R",
            "Cover over the channel",
        ),
        rows,
        "Place by place along the limb, in the plane in which it bends",
    )
    worst = int(np.argmax(kinks))
    told = (
        f"It kinks soonest {shares[worst] * plan.limb.length * 1e3:.0f} mm from the root, below "
        f"R {kinks[worst] * 1e3:.0f} mm."
    )
    bend = _tightest(plan, shares, kinks)
    if bend:
        told += f" {bend}"
    if found is not None:
        at, cover = thinnest(found.limb, reach, wrist)
        told += (
            f" The cover over the channel is thinnest {at * 1e3:.0f} mm from the root, "
            f"{cover * 1e3:.2f} mm, the roof counted all round."
        )
    st.markdown(words(told))


def _tightest(plan: LimbPlan, shares: Array, kinks: list[float]) -> str:
    """Say where a bend comes nearest to kinking the limb."""
    places = np.linspace(0.0, plan.limb.length, 200)
    kink = np.interp(places, shares * plan.limb.length, kinks)
    near, where, radius = 0.0, 0.0, 0.0
    for bend in plan.setting.bends:
        there = (places >= bend.start) & (places <= bend.end)
        if not bend.angle or not there.any():
            continue
        worst = int(np.argmax(np.where(there, kink, 0.0)))
        if kink[worst] / bend.radius > near:
            near, where, radius = kink[worst] / bend.radius, places[worst], bend.radius
    if not near:
        return ""
    return (
        f"The tightest place is {where * 1e3:.0f} mm from the root: bent to R {radius * 1e3:.0f} "
        f"mm where it kinks below R {near * radius * 1e3:.0f} mm."
    )


def _cover_at(found: Measured | None, reach: float, place: float) -> str:
    if found is None or reach == 0:
        return "–"
    slices = found.limb.slices
    cover = float(np.interp(place, slices.arc_length, slices.cover))
    return f"{(cover - reach) * 1e3:.2f} mm"
