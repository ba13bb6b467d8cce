"""What a maker takes home: the mesh with its channel, pieces to try, the limb in a design."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError, refused_at
from data.page.show import file_stem, plain_text, show_cautions, show_measures
from data.page.units import fine_words, words
from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.build.solids import FILES, Piece, bending_former, file_bytes
from flexcalc.forms.mesh_form import AXES, ENTRIES, FIELDS, TWIN, depth_share, mesh_choices
from flexcalc.mesh import Bored, bored_sample, mirrored
from flexcalc.pages.figure.limbs import add_limb
from flexcalc.pages.mesh.body import OwnFile
from flexcalc.pages.mesh.measuring import Cut, Measured, bored_of, key_of
from flexcalc.pages.pieces import MIMES
from flexcalc.verdict.plan import LimbPlan

ASKED = "mesh_cut"
"""Where the session keeps for which question the channel was last cut."""


def show_cutting(fields: PageFields, plan: LimbPlan, found: Measured, file: OwnFile) -> None:
    """Ask how the channel is cut, cut it when told to, prove it and hand out the files."""
    st.header("The mesh with its channel")
    wire = plan.limb.wire
    if wire is None:
        st.info("Choose a wire: the channel is sized for it.")
        return
    cut = _ask_cut(fields, found)
    if cut is None:
        return
    channel = size_channel(wire.bundle_diameter, plan.orientation, printer=plan.printer)
    st.markdown(
        f"The channel is drawn {fine_words(channel.draw_diameter)} wide, "
        + ("with a 45° roof towards the printer's up." if channel.roofed else "round.")
    )
    question = (key_of(found.surface), _rooted(found), channel, cut)
    if st.button("Cut the channel out", key="mesh_cut_out", type="primary"):
        st.session_state[ASKED] = question
    if st.session_state.get(ASKED) != question:
        if st.session_state.get(ASKED) is not None:
            st.info("Something changed since the channel was cut: cut it again.")
        return
    made = _cut(found, question, channel, cut)
    if made is not None:
        _show_proof(made, channel)
        _show_files(fields, plan, found, file, channel, cut, made)


def _rooted(found: Measured) -> tuple[float, ...]:
    limb = found.limb
    return (*limb.line.points[0].tolist(), limb.wrist, limb.path is limb.line)


def _ask_cut(fields: PageFields, found: Measured) -> Cut | None:
    left, right = st.columns(2)
    with left:
        fields.choice("entry", tuple(ENTRIES))
        fields.text("depth")
        fields.text("pocket")
    with right:
        fields.choice("upright", tuple(AXES))
        fields.choice("twin", TWIN)
    try:
        value = mesh_choices(fields.form(), ("entry", "depth", "pocket", "upright"))
        share = depth_share(value["depth"], found.limb.line)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None
    except ValueError as error:
        fields.show_refusals(refused_at(FIELDS, error, "depth"))
        return None
    return Cut(
        entry=ENTRIES[str(value["entry"])],
        depth_share=share,
        pocket=float(value["pocket"]),
        up=AXES[str(value["upright"])],
    )


def _cut(
    found: Measured, question: tuple[object, ...], channel: ChannelSize, cut: Cut
) -> Bored | None:
    with st.spinner("Cutting the channel and proving it …"):
        try:
            return bored_of(found.surface, found.limb, question, channel, cut)
        except (ValueError, RuntimeError) as error:
            st.error(plain_text(words(f"No channel is cut: {error}")))
    return None


def _show_proof(made: Bored, channel: ChannelSize) -> None:
    through = "open at both ends" if made.through else "blind"
    off = made.removed / made.expected - 1
    rows = [
        ("Surface", "closed, in one piece"),
        ("Channel", f"{made.depth * 1e3:.1f} mm deep, {through}"),
        (
            "Volume removed",
            f"{made.removed * 1e9:.0f} mm³, {off:+.1%} of profile times path",
        ),
        (
            "Thinnest cover",
            f"{made.least_cover * 1e3:.2f} mm (two beads: {channel.least_wall * 1e3:.2f} mm)",
        ),
    ]
    if not made.through:
        rows.append(("Before the blind end", f"{made.end_cover * 1e3:.1f} mm"))
    st.success("The channel is cut and proven on the result.")
    show_measures(("Proof", "Found"), rows, "Measured again on the new mesh")
    show_cautions(made.cautions)


def _show_files(
    fields: PageFields,
    plan: LimbPlan,
    found: Measured,
    file: OwnFile,
    channel: ChannelSize,
    cut: Cut,
    made: Bored,
) -> None:
    stem = file_stem(file.name.rsplit(".", 1)[0], "limb")
    pair = fields.form()["twin"] == TWIN[1]
    _offer("Limb with its channel", f"{stem} with channel", lambda: made.piece)
    if pair:
        _offer("Its mirror image", f"{stem} mirrored", partial(mirrored, made.piece))

    def sample() -> Piece:
        return bored_sample(
            found.surface, found.limb.line, channel, up=cut.up, path=found.limb.path
        )

    _offer("Short piece to try", f"{stem} piece", sample)
    for number, bend in enumerate(plan.setting.bends, 1):
        if bend.angle:
            former = partial(bending_former, bend.radius, plan.limb)
            _offer(f"Former for bend {number}", f"{stem} former {number}", former)


def _offer(title: str, stem: str, make: Callable[[], Piece]) -> None:
    st.markdown(f"**{title}**")
    with st.container(horizontal=True, horizontal_alignment="left"):
        for kind in FILES:
            st.download_button(
                f"{title} as {kind.upper()}",
                partial(_bytes, make, kind),
                file_name=f"{stem}.{kind}",
                mime=MIMES[kind],
                key=f"mesh_{title}_{kind}",
                on_click="ignore",
            )


def _bytes(make: Callable[[], Piece], kind: str) -> bytes:
    return file_bytes(make(), kind)


def show_adding(plan: LimbPlan) -> None:
    """Offer to add the limb to the design, which keeps its outlines and the file's hash."""
    st.header("Keep it")
    name = st.text_input("Name for this limb", "Arm", key="mesh_name", max_chars=80)
    st.button(
        "Add this limb to the design",
        key="mesh_add",
        disabled=not name.strip(),
        on_click=add_limb,
        args=(plan, name.strip()),
    )
    st.markdown(
        "The design on the page Figure keeps the outlines along the limb and the SHA-256 of the "
        "file, not the mesh: keep your file."
    )
