"""The bench page: measure filament, wire, printer and a whole limb, and keep what was learned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError, fields_by_key, refused_at
from data.page.guard import guarded
from data.page.history import show_said
from data.page.show import announce, plain_text, show_cautions, show_measures
from data.page.units import choose_units, length_words, words
from flexcalc.bench.readings import Reading
from flexcalc.build.kink import kink_radius_of
from flexcalc.build.magnet import PARTNERS, magnet_hold, magnet_pull
from flexcalc.forms import bench_form as benchform
from flexcalc.forms import materials_form as ownform
from flexcalc.limb.inputs import Limb
from flexcalc.limb.own_materials import own_names
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.limb.trade import wire_name
from flexcalc.pages.learned import Thing, show_channel_change, show_learned, show_narrowing
from flexcalc.pages.limb import typed_plan
from flexcalc.pages.materials import show_own
from flexcalc.pages.pieces import show_pieces
from flexcalc.pages.windows import ask_windows, show_window
from flexcalc.paper.pictures.set_ups import set_up
from flexcalc.verdict.plan import LimbPlan

R = TypeVar("R", bound=Reading)
WORDS = {"yes": st.success, "perhaps": st.warning, "no": st.error}
MAGNET_FIELDS = fields_by_key(benchform.MAGNET)
TABS = (
    "Filament",
    "Wire",
    "Printer",
    "Whole limb",
    "Kinking",
    "Test pieces",
    "My materials",
    "Magnet",
)


def bench_fields() -> PageFields:
    """Return the fields of the bench page."""
    return PageFields("bench_", {**benchform.FIELDS, **ownform.FIELDS})


def show_bench_page() -> None:
    """Show the page on which test pieces are measured and own materials kept."""
    st.title("Measure it, and the answer narrows")
    st.markdown(
        "What a filament or wire really does is the largest unknown of every answer. One printed "
        "strip, one wire round a rod and one strip of holes replace the guesses; what you keep "
        "here can be chosen for a limb."
    )
    _ask_and_show()


@st.fragment
@guarded
def _ask_and_show() -> None:
    fields = bench_fields()
    show_said("bench_")
    with st.container(horizontal=True, horizontal_alignment="left"):
        fields.undo_buttons()
    choose_units()
    plan = typed_plan()
    ask_windows(plan)
    parts: tuple[Callable[[PageFields, LimbPlan | None], None], ...] = (
        _show_droop,
        _show_mandrel,
        _show_pins,
        _show_pose,
        _show_kink,
        show_pieces,
        show_own,
        _show_magnet,
    )
    for tab, show in zip(st.tabs(TABS), parts, strict=True):
        with tab:
            show(fields, plan)
    fields.settle()


def ask_in_columns(fields: PageFields, keys: tuple[str, ...]) -> None:
    """Draw text fields in two columns."""
    for column, own in zip(st.columns(2), (keys[::2], keys[1::2]), strict=True):
        with column:
            for key in own:
                fields.text(key)


def _beside(name: str, sentence: str) -> None:
    """Show what to do, with its picture beside it."""
    told, picture = st.columns([3, 2])
    with told:
        st.markdown(sentence)
    with picture:
        st.markdown(f"<div>{words(set_up(name))}</div>", unsafe_allow_html=True)


def _taught(
    fields: PageFields,
    kind: str,
    read: Callable[[benchform.Form], tuple[Thing, Sequence[R]]],
    blamed: str,
    untaught: Callable[[Thing], str],
    place: str = "",
) -> tuple[Thing, Sequence[R], Thing] | None:
    """Return a thing, what was read of it and the thing as the bench now knows it.

    None where nothing is typed, which ``untaught`` says, or where something is refused, which is
    said at the field it names or at ``blamed``.
    """
    try:
        thing, readings = read(fields.form())
        if not readings:
            st.info(untaught(thing))
            return None
        return thing, readings, show_learned(kind, thing, readings, place)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
    except ValueError as error:
        fields.show_refusals(refused_at(benchform.FIELDS, error, blamed))
    return None


def _show_droop(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "droop",
        "Print the droop strip flat (see Test pieces), clamp its tab level up to the notches at "
        "the edge of a table, let it hang for a minute and read how far the tip is below the "
        "clamp. Nothing else may hang on it.",
    )
    fields.choice("droop_filament", own_names("elastomer"))
    keys = ("length", "width", "thickness", "drop", "time", "error")
    ask_in_columns(fields, tuple(f"droop_{key}" for key in keys))
    taught = _taught(
        fields,
        "elastomer",
        benchform.droop_readings,
        "droop_drop",
        lambda _: "Type the drop, and the modulus of your print stands here.",
    )
    if taught is None:
        show_window(plan, "droop")
        return
    filament, droops, after = taught
    show_window(plan, "droop", droops)
    if plan is not None and plan.limb.elastomer.name == filament.name:
        show_narrowing(plan, replace(plan.limb, elastomer=after))


def _show_mandrel(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "mandrel",
        "Wind a straight, annealed piece of the wire tightly round a rod, let it go, lay it flat "
        "and read the angle it keeps; count whole turns. Cut ends fly and are sharp: cover your "
        "eyes.",
    )
    fields.choice("bent_metal", own_names("metal"))
    keys = ("wire", "mandrel", "wound", "kept", "error")
    ask_in_columns(fields, tuple(f"bent_{key}" for key in keys))
    taught = _taught(
        fields,
        "metal",
        benchform.mandrel_readings,
        "bent_kept",
        lambda _: "Type the angle it keeps, and the strength of your wire stands here.",
    )
    show_window(plan, "spring-back", taught[1] if taught else ())
    if taught is None:
        return
    metal, _, after = taught
    wire = plan.limb.wire if plan is not None else None
    if plan is not None and wire is not None and wire.metal.name == metal.name:
        show_narrowing(plan, replace(plan.limb, wire=replace(wire, metal=after)))


def _show_pins(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "pins",
        "Print the strip of channels the way your limb lies (see Test pieces) and note for each "
        "hole, by its notches, the largest drill shank or pin that enters it by hand.",
    )
    fields.choice("pins_printer", own_names("printer"))
    fields.choice("pins_printed", ("lying", *(side for side in ORIENTATIONS if side != "lying")))
    ask_in_columns(fields, ("pins_drawn", "pins_entered", "pins_step"))
    taught = _taught(
        fields,
        "printer",
        benchform.pin_readings,
        "pins_drawn",
        lambda _: "Type the pins, and the shrinkage of your printer's holes stands here.",
    )
    show_window(plan, "pins", taught[1] if taught else ())
    if taught is None:
        return
    printer, gauges, after = taught
    if plan is not None:
        show_channel_change(plan, gauges[0].orientation, printer, after)


def _show_pose(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "pose",
        "Bend the limb typed on the page Limb to an arc by hand, hold it, let go and read the "
        "angle it keeps, lying on a table so that no weight bends it. This tests the whole chain.",
    )
    if plan is None or plan.limb.wire is None:
        st.info("Describe a limb with a wire on the page Limb first.")
        return
    wire = plan.limb.wire
    st.markdown(
        f"<small>{plain_text(words(wire_name(wire)))} in "
        f"{plain_text(plan.limb.elastomer.name)}, "
        f"{length_words(plan.limb.length)} long</small>",
        unsafe_allow_html=True,
    )
    keys = ("radius", "set", "kept", "hold", "rest", "error")
    ask_in_columns(fields, tuple(f"pose_{key}" for key in keys))
    try:
        tests = benchform.pose_readings(fields.form(), plan.limb)
        show_window(plan, "bent limb", tests)
        if not tests:
            st.info("Type the angle it keeps, and filament and wire narrow together.")
            return
        after = show_learned("limb", plan.limb, tests)
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return
    if isinstance(after, Limb):
        show_narrowing(plan, after)


def _show_kink(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "kink",
        "Bend a spare print of the limb typed on the page Limb round ever thinner rods, once round "
        "each, and note the last at which it stays round and the first at which it folds. A limb "
        "that has folded is spent.",
    )
    if plan is None:
        st.info("Describe a limb on the page Limb first.")
        return
    fields.choice("kink_printer", own_names("printer"))
    ask_in_columns(fields, ("kink_held", "kink_kinked", "kink_error"))
    limb = plan.limb

    def kinks(printer: Printer) -> str:
        found = kink_radius_of(limb, printer=printer)
        low, high = found.low * 1e3, found.high * 1e3
        return words(f"kinks below R {found.radius * 1e3:.0f} mm, {low:.0f} to {high:.0f} mm.")

    taught = _taught(
        fields,
        "printer",
        lambda form: benchform.kink_readings(form, limb),
        "kink_kinked",
        lambda printer: (
            f"Reckoned: it {kinks(printer)} Type both rods, and your printer's own "
            "factor stands here."
        ),
        place="kink",
    )
    show_window(plan, "kink", taught[1] if taught else ())
    if taught is not None:
        sentence = f"With this printer the limb {kinks(taught[2])}"
        announce(sentence)
        st.success(sentence)


def _show_magnet(fields: PageFields, plan: LimbPlan | None) -> None:
    _beside(
        "magnet", "A magnet in the hand holds an object by a skin of plastic, until it peels off."
    )
    fields.choice("magnet_grade", benchform.GRADES)
    fields.choice("magnet_partner", PARTNERS)
    keys = ("diameter", "thickness", "gap", "payload", "arm")
    ask_in_columns(fields, tuple(f"magnet_{key}" for key in keys))
    try:
        _show_magnet_answer(benchform.magnet_question(fields.form()))
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
    except ValueError as error:
        fields.show_refusals(refused_at(MAGNET_FIELDS, error, "magnet_payload"))


def _show_magnet_answer(question: benchform.MagnetQuestion) -> None:
    """Show what a magnet holds; ValueError for what cannot be worked out."""
    pull = magnet_pull(
        question.diameter,
        question.thickness,
        question.remanence,
        question.gap,
        question.partner,
    )
    hold = magnet_hold(pull, question.diameter, question.payload, question.arm)
    answer = {"yes": "It holds", "perhaps": "It may hold", "no": "It does not hold"}[hold.holds]
    weight = words(f"{question.payload * 1e3:.0f} g")
    sentence = f"{answer} {weight}; what gives way first: {hold.weakest}."
    announce(sentence)
    WORDS[hold.holds](sentence)
    show_measures(
        ("", "Value"),
        [
            ("Pull, ideal", f"{pull:.2f} N"),
            ("Pull of real magnets", f"{hold.pull_low:.2f} to {hold.pull_high:.2f} N"),
            ("Bears hung straight down", f"{hold.payload_pull * 1e3:.0f} g"),
            ("Bears on an upright face before it slides", f"{hold.payload_slide * 1e3:.0f} g"),
            ("Bears at this arm before it peels off", f"{hold.payload_peel * 1e3:.0f} g"),
        ],
        "What the magnet bears, by the weakest real ones",
    )
    show_cautions(hold.cautions)
