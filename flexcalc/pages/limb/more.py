"""Further answers of the limb page: how far to bend, corner pieces, and how it is worked out."""

from __future__ import annotations

import math

import streamlit as st

from data.page.show import plain_text, show_cautions, show_measures, show_table
from data.page.units import length_words, words
from flexcalc.build.corner import CornerPiece, corner_piece
from flexcalc.build.life import tightest_radius, wire_life
from flexcalc.joints.aims import leaves_plane
from flexcalc.section.elastomer import relaxed_share
from flexcalc.verdict.corner_check import pose_with_corner
from flexcalc.verdict.overbend import over_bends_of, over_bent
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict
from flexcalc.wire.bending import (
    bending_moment,
    elastic_rigidity,
    plastic_moment,
    spring_back_share,
)

CORNER_RE_POSES = 10.0
LIVES = (10, 50, 200)
KINK_WAYS = {
    "ovalising": "flattening of a bent tube (Brazier)",
    "wall": "short waves of the pressed wall on its core",
    "crease": "creasing of the pressed inner side",
}


@st.cache_data(max_entries=100, show_spinner=False)
def _over_bends(_plan: LimbPlan, key: str) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for number, (bend, over) in enumerate(
        zip(_plan.setting.bends, over_bends_of(_plan), strict=True), start=1
    ):
        if over is None:
            continue
        made = over_bent(bend, over)
        rows.append(
            (
                f"Bend {number}",
                f"{math.degrees(bend.angle):.0f}° at R {bend.radius * 1e3:.0f} mm",
                f"{math.degrees(made.angle):.0f}° at R {made.radius * 1e3:.1f} mm",
                over.text,
            )
        )
    return rows


def show_over_bend(plan: LimbPlan) -> None:
    """Show how far to bend so that the wanted bend is left, or that it cannot be held."""
    if plan.limb.wire is None:
        st.markdown("Without a wire no bend stays, however far it is bent.")
        return
    rows = _over_bends(plan, repr(plan))
    show_measures(
        ("Bend", "Wanted", "Bend it to", "In words"), rows, "How far to bend so that it stays"
    )
    st.markdown("Bend the limb over the same stretch, only further, and let it come back.")


def show_life(plan: LimbPlan, verdict: Verdict) -> None:
    """Show how often the pose can be struck by each law, and the radius that buys a life."""
    wire = plan.limb.wire
    if wire is None or not verdict.life:
        st.markdown("No wire is bent, so none breaks.")
        return
    tightest = max(abs(bend.curvature) for bend in verdict.made.bends)
    swung = wire_life(wire, 2 * tightest)
    for life in verdict.life:
        pairs = zip(life.by_law, swung.by_law, strict=True)
        show_table(
            ("Strain-life law", "Straight and bent", "Bent both ways"),
            [(name, f"{once:.0f}", f"{both:.0f}") for (name, once), (_, both) in pairs],
            words(f"Re-poses until a crack, bent to R {1e3 / tightest:.0f} mm by hand"),
        )
    rows = [
        (f"{count} re-poses", f"R {radii.low * 1e3:.0f} mm", f"R {radii.high * 1e3:.0f} mm")
        for count in LIVES
        for radii in (tightest_radius(wire, count),)
    ]
    show_measures(
        ("For", "by the most hopeful law", "safe by every law"),
        rows,
        "Tightest bend of this wire that bears so many",
    )
    st.markdown(f"{plain_text(swung.place)} Cut ends are sharp: round them, and protect your eyes.")


def show_corners(plan: LimbPlan, verdict: Verdict) -> None:
    """Offer a rigid corner piece for every bend that kink or life forbid."""
    if plan.limb.wire is None:
        st.markdown("A corner piece holds the wire; there is none.")
        return
    for number, bend in enumerate(plan.setting.bends, start=1):
        if not bend.angle:
            continue
        peak = abs(bend.curvature)
        if verdict.pose is not None:
            peak = verdict.pose.peak_curvature[number - 1]
        needed = peak * verdict.kink.radius > 1 and not bend.rigid
        st.markdown(
            f"**Bend {number}**: "
            + ("tighter than the limb allows, use a corner piece." if needed else "not needed.")
        )
        if not needed and not bend.rigid:
            continue
        try:
            piece = corner_piece(
                plan.limb,
                bend,
                payload=plan.setting.payload,
                re_poses=CORNER_RE_POSES,
                printer=plan.printer,
            )
        except ValueError as error:
            st.markdown(f"No corner piece fits here: {plain_text(words(str(error)))}.")
            continue
        _show_piece(piece)
        if verdict.pose is not None:
            _show_recheck(plan, number, piece)


def _show_recheck(plan: LimbPlan, number: int, piece: CornerPiece) -> None:
    try:
        pose = pose_with_corner(plan.limb, plan.setting, number - 1, piece)
    except ValueError as error:
        st.markdown(f"It does not fit into the limb: {plain_text(words(str(error)))}.")
        return
    kept = ", ".join(f"{share:.0%}" for share in pose.retained_share)
    st.markdown(
        f"With the piece in it the limb keeps {kept} of its bends, and its tip sags "
        f"{length_words(pose.tip_sag)}."
    )


def _show_piece(piece: CornerPiece) -> None:
    sizes = (
        ("Angle", f"{math.degrees(piece.angle):.0f}°"),
        ("Radius of the groove, to the wire's middle", f"{piece.channel_radius * 1e3:.1f} mm"),
        ("Inside radius of the groove", f"{piece.inner_radius * 1e3:.1f} mm"),
        ("Width of the groove", f"{piece.channel_diameter * 1e3:.1f} mm"),
        ("Clearance of the wire in it", f"{piece.clearance * 1e3:.1f} mm"),
        ("Each leg, thick", f"{piece.seat.leg_diameter * 1e3:.1f} mm"),
        ("Each leg, long", f"{piece.seat.leg_length * 1e3:.1f} mm"),
        ("Socket in the limb", f"{piece.seat.socket_diameter * 1e3:.1f} mm"),
    )
    show_measures(("Size", "Value"), sizes, "Corner piece")
    st.markdown("\n".join(f"- {plain_text(words(reason))}" for reason in piece.reasons))
    show_cautions(piece.cautions)


IN_SPACE = (
    " It leaves its plane: it is let go in the plane of each bend and loaded in space, where it "
    "bends about both axes of its section and twists, the wire with it where its end is held."
)


def show_working(plan: LimbPlan, verdict: Verdict) -> None:
    """Show the formula, the numbers, the source and the limit behind each figure."""
    limb, setting = plan.limb, plan.setting
    elastomer = limb.elastomer
    bare = verdict.section.flexural_rigidity_bare[0]
    tightest = max((abs(bend.curvature) for bend in setting.bends), default=0.0)
    lines = [
        f"- **Elastomer's pull** EI·κ = {bare * 1e6:.0f} N mm² × {tightest / 1e3:.4f} /mm = "
        f"{bare * tightest * 1e3:.0f} N mm, with E = {elastomer.elastic_modulus / 1e6:.0f} MPa "
        f"(×/÷ {elastomer.modulus_factor:.2f}), softening towards "
        f"{elastomer.saturation_stress / 1e6:.1f} MPa (×/÷ {elastomer.saturation_factor:.2f}) "
        "and relaxing to "
        f"{float(relaxed_share(elastomer, 3600.0)):.0%} in an hour. E from hardness is the largest "
        "unknown: sources differ fourfold."
    ]
    if limb.wire is not None and tightest:
        wire = limb.wire
        moment = float(bending_moment(wire, tightest))
        lines += [
            f"- **Wire's moment** at that curvature {moment * 1e3:.0f} N mm, from σ = Eε then K εⁿ "
            f"with K = {wire.metal.strength_coefficient / 1e6:.0f} MPa, n = "
            f"{wire.metal.hardening_exponent:.2f} (from yield and tensile strength together). "
            f"Without hardening {plastic_moment(wire) * 1e3:.0f} N mm.",
            f"- **Strength ratio** {moment / (bare * tightest):.2f}: above about 1.2 the limb "
            "holds, below 0.5 it keeps about that share. Stiffness does not decide: an elastic "
            f"estimate would say {_elastic_share(elastic_rigidity(wire), bare):.0%}.",
            f"- **The wire alone** would keep {float(spring_back_share(wire, tightest)):.0%}: no "
            "limb keeps more. Letting go drives it through reverse yield: isotropic hardening "
            "with a transient back-stress (Armstrong-Frederick), "
            f"{wire.metal.back_stress:.0%} of the flow stress, "
            f"± {wire.metal.back_stress_spread:.0%}.",
        ]
    lines += [
        "- **Under weight** an inextensible rod: (M(κ))′ = (P + W) sin φ, solved as a chain along "
        f"one path, bent, let go, loaded.{IN_SPACE if leaves_plane(limb, setting) else ''}",
        f"- **Kink** by {KINK_WAYS[verdict.kink.mode]}: R {verdict.kink.low * 1e3:.0f} to "
        f"{verdict.kink.high * 1e3:.0f} mm.",
        "- **Band** 512 limbs drawn from the spread of every number above.",
        "- **Limits** no experiment stands behind the share kept: a model. Left out: friction of "
        "the wire in its clearance, a kink at the channel's mouth, the softening of a first "
        "bend, shear, the layers of the print. Measure a limb bent "
        "and let go, and the band narrows.",
    ]
    st.markdown(words("\n".join(lines)))


def _elastic_share(wire: float, bare: float) -> float:
    return wire / (wire + bare)
