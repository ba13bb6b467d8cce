"""The bench page: measure filament, wire, printer and a whole limb, and keep what was learned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import streamlit as st

from data.page.fields import Fields
from data.page.form import RefusedFieldsError
from data.page.history import show_said
from flexcalc import benchform, benchform_magnet, ownform
from flexcalc.inputs import Limb
from flexcalc.magnet import PARTNERS
from flexcalc.own import own_names
from flexcalc.page_ask import echo, typed_plan
from flexcalc.page_bench_learned import show_channel_change, show_learned, show_narrowing
from flexcalc.page_bench_magnet import show_magnet
from flexcalc.page_bench_own import show_own
from flexcalc.page_bench_pieces import show_pieces
from flexcalc.plan import LimbPlan
from flexcalc.printer import ORIENTATIONS, Printer

LABELS = {
    "droop_filament": "Filament it was printed from",
    "droop_length": "Strip beyond the clamp, long (mm, or say in)",
    "droop_width": "Wide (mm, or say in)",
    "droop_thickness": "Thick, the way it hangs (mm, or say in)",
    "droop_drop": "Tip below the clamp (mm, or say in; several with ; between)",
    "droop_time": "Read after hanging for (s)",
    "droop_error": "Reading repeats within (± %)",
    "bent_metal": "Metal it is sold as",
    "bent_wire": "Wire diameter (mm, in, AWG or SWG)",
    "bent_mandrel": "Mandrel diameter (mm, or say in)",
    "bent_wound": "Wound round it (°, 360 is one turn)",
    "bent_kept": "Angle it keeps when let go (°; several with ; between)",
    "bent_error": "Angle reads within (± °)",
    "pins_printer": "Printer",
    "pins_printed": "The holes were printed",
    "pins_drawn": "Holes as drawn (mm, with ; between)",
    "pins_entered": "Largest pin that enters each (mm, with ; between)",
    "pins_step": "Next larger pin is thicker by (mm)",
    "pose_radius": "Bent to a radius of (mm, or say in; to the limb's middle)",
    "pose_set": "By an angle of (°)",
    "pose_kept": "Angle it keeps when let go (°; several with ; between)",
    "pose_hold": "Held for (s)",
    "pose_rest": "Read after letting go (s)",
    "pose_error": "Angles read within (± °)",
    "magnet_diameter": "Magnet diameter (mm, or say in)",
    "magnet_thickness": "Magnet thickness (mm, or say in)",
    "magnet_grade": "Grade",
    "magnet_gap": "Plastic between the faces, all of it (mm, or say in)",
    "magnet_partner": "It holds on to another …",
    "magnet_payload": "Weight of the object (g)",
    "magnet_arm": "Its middle stands off by (mm, or say in)",
    "elastomer_name": "Name of the filament",
    "elastomer_stiffness": "Hardness or modulus (85A, 55D or 35 MPa)",
    "elastomer_factor": "Known within a factor of (×/÷; 1.7 from hardness alone)",
    "elastomer_density": "Density (g/cm³)",
    "metal_name": "Name of the wire metal",
    "metal_base": "Like",
    "metal_strength": "Tensile strength (MPa)",
    "metal_exponent": "Hardening exponent n",
    "metal_factor": "Strength known within a factor of (×/÷)",
    "printer_name": "Name of the printer",
    "printer_bead": "Bead width (mm)",
    "printer_lying": "Lying holes shrink by (mm on the diameter; empty: not measured)",
    "printer_upright": "Upright holes shrink by (mm on the diameter; empty: not measured)",
}
LENGTHS = (
    *("droop_length", "droop_width", "droop_thickness", "bent_wire", "bent_mandrel"),
    *("pose_radius", "magnet_diameter", "magnet_thickness", "magnet_gap", "magnet_arm"),
)
DEFAULTS = {**benchform.DEFAULTS, **benchform_magnet.DEFAULTS, **ownform.DEFAULTS}
TABS = ("Filament", "Wire", "Printer", "Whole limb", "Test pieces", "My materials", "Magnet")


def bench_fields() -> Fields:
    """Return the fields of the bench page."""
    return Fields(st, "bench_", DEFAULTS, LABELS)


def show_bench_page() -> None:
    """Show the page on which test pieces are measured and own materials kept."""
    st.title("Measure it, and the answer narrows")
    st.markdown(
        "What a filament or wire really does is the largest unknown of every answer. One printed "
        "strip, one wire round a rod and one strip of holes replace the guesses; what you keep "
        "here can be chosen for a limb."
    )
    _workbench()


@st.fragment
def _workbench() -> None:
    fields = bench_fields()
    show_said(st, "bench_")
    with st.container(horizontal=True, horizontal_alignment="left"):
        fields.undo_buttons()
    plan = typed_plan()
    parts: tuple[Callable[[Fields, LimbPlan | None], None], ...] = (
        _show_droop,
        _show_mandrel,
        _show_pins,
        _show_pose,
        show_pieces,
        show_own,
        _show_magnet,
    )
    for tab, show in zip(st.tabs(TABS), parts, strict=True):
        with tab:
            show(fields, plan)
    fields.settle()


def ask_in_columns(fields: Fields, keys: tuple[str, ...]) -> None:
    """Draw text fields in two columns, each length said in both units."""
    for column, own in zip(st.columns(2), (keys[::2], keys[1::2]), strict=True):
        with column:
            for key in own:
                text = fields.text(key)
                if key in LENGTHS:
                    echo(text)


def _show_droop(fields: Fields, plan: LimbPlan | None) -> None:
    st.markdown(
        "Print the droop strip flat (see Test pieces), clamp its tab level up to the notches at "
        "the edge of a table, and read how far the tip hangs below the clamp. Nothing else may "
        "hang on it."
    )
    fields.choice("droop_filament", own_names("elastomer"))
    keys = ("length", "width", "thickness", "drop", "time", "error")
    ask_in_columns(fields, tuple(f"droop_{key}" for key in keys))
    try:
        filament, droops = benchform.droop_readings(fields.form())
        if not droops:
            st.info("Type the drop, and the modulus of your print stands here.")
            return
        after = show_learned("elastomer", filament, droops)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    except ValueError as error:
        fields.show_refusals(RefusedFieldsError({"droop_drop": str(error)}))
        return
    if plan is not None and plan.limb.elastomer.name == filament.name:
        show_narrowing(plan, replace(plan.limb, elastomer=after))


def _show_mandrel(fields: Fields, plan: LimbPlan | None) -> None:
    st.markdown(
        "Wind a straight, annealed piece of the wire tightly round a rod, let it go, lay it flat "
        "and read the angle it keeps; count whole turns. Cut ends fly and are sharp: cover your "
        "eyes."
    )
    fields.choice("bent_metal", own_names("metal"))
    keys = ("wire", "mandrel", "wound", "kept", "error")
    ask_in_columns(fields, tuple(f"bent_{key}" for key in keys))
    try:
        metal, bends = benchform.mandrel_readings(fields.form())
        if not bends:
            st.info("Type the angle it keeps, and the strength of your wire stands here.")
            return
        after = show_learned("metal", metal, bends)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    except ValueError as error:
        fields.show_refusals(RefusedFieldsError({"bent_kept": str(error)}))
        return
    wire = plan.limb.wire if plan is not None else None
    if plan is not None and wire is not None and wire.metal.name == metal.name:
        show_narrowing(plan, replace(plan.limb, wire=replace(wire, metal=after)))


def _show_pins(fields: Fields, plan: LimbPlan | None) -> None:
    st.markdown(
        "Print the strip of channels the way your limb lies (see Test pieces) and note for each "
        "hole, by its notches, the largest drill shank or pin that enters it by hand."
    )
    fields.choice("pins_printer", own_names("printer"))
    fields.choice("pins_printed", ("lying", *(side for side in ORIENTATIONS if side != "lying")))
    ask_in_columns(fields, ("pins_drawn", "pins_entered", "pins_step"))
    try:
        printer, gauges = benchform.pin_readings(fields.form())
        if not gauges:
            st.info("Type the pins, and the shrinkage of your printer's holes stands here.")
            return
        after = show_learned("printer", printer, gauges)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    except ValueError as error:
        fields.show_refusals(RefusedFieldsError({"pins_drawn": str(error)}))
        return
    if plan is not None and isinstance(after, Printer):
        show_channel_change(plan, gauges[0].orientation, printer, after)


def _show_pose(fields: Fields, plan: LimbPlan | None) -> None:
    st.markdown(
        "Bend the limb typed on the page Limb to an arc by hand, hold it, let go and read the "
        "angle it keeps, lying on a table so that no weight bends it. This tests the whole chain."
    )
    if plan is None or plan.limb.wire is None:
        st.info("Describe a limb with a wire on the page Limb first.")
        return
    wire = plan.limb.wire
    st.markdown(
        f"<small>{wire.metal.name} {wire.diameter * 1e3:.3g} mm in {plan.limb.elastomer.name}, "
        f"{plan.limb.length * 1e3:.0f} mm long</small>",
        unsafe_allow_html=True,
    )
    keys = ("radius", "set", "kept", "hold", "rest", "error")
    ask_in_columns(fields, tuple(f"pose_{key}" for key in keys))
    try:
        tests = benchform.pose_readings(fields.form(), plan.limb)
        if not tests:
            st.info("Type the angle it keeps, and filament and wire narrow together.")
            return
        after = show_learned("limb", plan.limb, tests)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    if isinstance(after, Limb):
        show_narrowing(plan, after)


def _show_magnet(fields: Fields, plan: LimbPlan | None) -> None:
    st.markdown("A magnet in the hand holds an object by a skin of plastic, until it peels off.")
    fields.choice("magnet_grade", benchform_magnet.GRADES)
    fields.choice("magnet_partner", PARTNERS)
    keys = ("diameter", "thickness", "gap", "payload", "arm")
    ask_in_columns(fields, tuple(f"magnet_{key}" for key in keys))
    try:
        show_magnet(benchform_magnet.magnet_question(fields.form()))
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
    except ValueError as error:
        fields.show_refusals(RefusedFieldsError({_magnet_field(str(error)): str(error)}))


def _magnet_field(sentence: str) -> str:
    key = sentence.split(" must be ")[0].replace(" ", "_").replace("payload_arm", "magnet_arm")
    return key if key in DEFAULTS else "magnet_payload"
