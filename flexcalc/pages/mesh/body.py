"""The file, its unit, and the limb on it: root and wrist, on a picture from the side or typed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field

import numpy as np
import streamlit as st

from data.page.fields import PageFields
from data.page.form import RefusedFieldsError, field_of, refused_at
from data.page.pointing import Handle, Moved, Pointed, Tapped, show_picture
from data.page.show import plain_text, show_cautions
from data.page.units import length_words, mm_in_a_unit, words
from data.rules import Array, Caution, Refused
from flexcalc.forms.mesh_form import AXES, FIELDS, OWN_CURVE, OWN_UNIT, PATHS, UNITS, mesh_choices
from flexcalc.mesh import Surface, surface_health
from flexcalc.mesh.channel.roomiest import offsets_from
from flexcalc.mesh.surface import UNITS as LENGTHS
from flexcalc.pages.mesh.measuring import Chosen, Measured, few_of, key_of, measured, surface_of
from flexcalc.paper.pictures.mesh_drawing import BodyPicture, body_drawing, turned_drawing

FILE = "mesh_file"
"""Where the session keeps the file: a page library lets go of an upload on another page."""
LARGEST = 16
"""Of a file. [MB]"""
DECIMALS = 2
SPOTS = np.linspace(0.05, 0.95, 19)


@dataclass(frozen=True, kw_only=True)
class OwnFile:
    """A file as it was chosen: its ``name``, what it holds and the SHA-256 of that."""

    name: str
    raw: bytes = field(repr=False)
    sha256: str


def ask_file() -> OwnFile | None:
    """Ask for the mesh; return the one chosen last, on this page or before it was left."""
    with st.container(key="mesh_upload"):
        uploaded = st.file_uploader(
            "Your limb's mesh (STL or 3MF)",
            type=["stl", "3mf"],
            key="mesh_uploader",
            max_upload_size=LARGEST,
        )
    if uploaded is not None:
        raw = uploaded.getvalue()
        kept: OwnFile | None = st.session_state.get(FILE)
        if kept is None or kept.raw != raw:
            name = "".join(sign for sign in uploaded.name if sign.isprintable())[-80:] or "mesh"
            made = OwnFile(name=name, raw=raw, sha256=hashlib.sha256(raw).hexdigest())
            st.session_state[FILE] = made
            st.session_state["mesh_is_new"] = True
    file: OwnFile | None = st.session_state.get(FILE)
    if file is not None:
        size = f"{len(file.raw) / 1e6:.1f} MB"
        st.markdown(f"**{plain_text(file.name)}**, {size}. It stays in the memory of this machine.")
    return file


def ask_unit(fields: PageFields, file: OwnFile) -> Surface | None:
    """Ask for the unit with the size that it makes; return the surface, or None if refused."""
    form = fields.form()
    unit = form["unit"] if form["unit"] in UNITS else OWN_UNIT
    try:
        with st.spinner("Reading the file …", show_time=False):
            surface = surface_of(file.raw, file.sha256, None if unit == OWN_UNIT else unit)
    except ValueError as error:
        fields.choice("unit", UNITS)
        st.error(plain_text(f"{file.name} is not read: {words(str(error))}"))
        return None
    fields.choice("unit", UNITS)
    say_size(surface, asked=unit == OWN_UNIT)
    return surface


def chosen_surface() -> Surface | None:
    """Return the surface of the mesh chosen in this visit, in its unit; None where there is none
    or the page of the own mesh says why it is not read."""
    file: OwnFile | None = st.session_state.get(FILE)
    if file is None:
        return None
    unit = PageFields("mesh_", FIELDS).form()["unit"]
    try:
        return surface_of(file.raw, file.sha256, unit if unit in LENGTHS else None)
    except ValueError:
        return None


def say_size(surface: Surface, *, asked: bool) -> None:
    """Say how large a body is, and how large it would be in the other likely units."""
    health = surface_health(surface)
    size = " × ".join(f"{side * 1e3:.1f}" for side in surface.size)
    st.markdown(f"Read in {surface.unit}: **{words(f'{size} mm')}**, {health.triangles} triangles.")
    longest = max(surface.size) / surface.per_unit
    others = [each for each in health.likely_units if each != surface.unit]
    guessed = any(caution.key == "unit_guessed" for caution in surface.cautions)
    if asked and guessed and others:
        sizes = ", ".join(
            words(f"{longest * LENGTHS[each] * 1e3:.0f} mm if in {each}") for each in others
        )
        st.markdown(f"An STL does not record its unit. The longest side would be {sizes}.")
    if guessed and surface.unit not in health.likely_units:
        st.warning("A limb of that size is unlikely: choose the unit of the drawing above.")
    if not health.closed:
        st.warning(
            f"The surface has {health.open_edges} open and {health.crowded_edges} crowded edges: a "
            "verdict is given, a channel needs it mended."
        )


def chosen_on(fields: PageFields) -> Chosen | None:
    """Return what is typed about the mesh, None after showing what is refused."""
    try:
        value = mesh_choices(fields.form(), ("unit", "root", "wrist", "up", "path"))
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return None
    unit, up = value["unit"], value["up"]
    return Chosen(
        unit=None if unit == OWN_UNIT else str(unit),
        root=value["root"],
        wrist=value["wrist"],
        up=None if up == OWN_CURVE else AXES[str(up)],
        roomiest=PATHS[value["path"]] == "roomiest",
    )


def measure(fields: PageFields, file: OwnFile) -> Measured | None:
    """Measure the mesh as chosen, with progress; None after showing what is refused."""
    chosen = chosen_on(fields)
    if chosen is None:
        return None
    bar = st.progress(0.0, "Reading the file …")
    try:
        found = measured(file.raw, file.sha256, chosen, bar.progress)
    except (ValueError, RuntimeError) as error:
        bar.empty()
        if isinstance(error, Refused) and not field_of(FIELDS, error.name, ""):
            st.error(plain_text(f"{file.name} gives no limb: {error}"))
        elif isinstance(error, ValueError):
            fields.show_refusals(refused_at(FIELDS, error, "root"))
        else:
            st.error(plain_text(words(f"This mesh could not be measured: {error}")))
        _show_bare(fields, file, chosen)
        return None
    bar.empty()
    return found


def _show_bare(fields: PageFields, file: OwnFile, chosen: Chosen) -> None:
    """Show the body without a line, so that another root can be chosen on it."""
    from flexcalc.pages.mesh.measuring import seen_of

    try:
        surface = surface_of(file.raw, file.sha256, chosen.unit)
        view, _ = seen_of(surface, key_of(surface))
    except ValueError:
        return
    picture = body_drawing(view, None, file.name)

    def pointed(what: Pointed) -> None:
        if isinstance(what, Tapped):
            spot = view.spot_at(picture.seen(what.x, what.y))
            fields.put({"root": _words(spot)})

    show_picture(
        "mesh_bare",
        words(picture.svg),
        picture.width,
        picture.height,
        name="The body from the side: tap the end at which the limb is held",
        on_pointed=pointed,
        taps=True,
        most_height="45vh",
    )


def show_body(fields: PageFields, file: OwnFile, found: Measured) -> None:
    """Show the body with its line; its root and its wrist can be moved on it."""
    picture = body_drawing(found.view, found.limb.line, file.name)
    st.markdown(
        "The limb runs from the bar **root** to the bar **wrist**. Tap the end at which it is "
        "held, or drag R; drag W to where the hand begins."
    )

    def pointed(what: Pointed) -> None:
        if isinstance(what, Moved) and what.key == "wrist":
            fields.put({"wrist": f"{what.value:.1f}"})
        elif isinstance(what, (Moved, Tapped)):
            spot = found.view.spot_at(picture.seen(what.x, what.y))
            fields.put({"root": _words(spot), "wrist": ""})

    show_picture(
        "mesh_side",
        words(picture.svg),
        picture.width,
        picture.height,
        name="The body from the side with the line of its limb",
        on_pointed=pointed,
        handles=_handles(picture, found),
        taps=True,
        most_height="45vh",
    )


def show_turned(file: OwnFile, found: Measured) -> None:
    """Offer the body in space, to be turned: only a closed one is known to have an outside."""
    closed = surface_health(found.surface).closed
    if closed and st.toggle("See it in space and turn it", key="mesh_in_space"):
        _turned(file.name, found)


@st.fragment
def _turned(name: str, found: Measured) -> None:
    turned, tilted = st.columns(2)
    with turned:
        turn = st.slider("Turned by (°)", -180, 180, 30, 5, key="mesh_turn")
    with tilted:
        tilt = st.slider("Seen from above by (°)", -90, 90, 20, 5, key="mesh_tilt")
    try:
        corners = few_of(found.surface, key_of(found.surface))
    except ValueError as error:
        st.error(plain_text(f"It is not drawn: {error}"))
        return
    svg = turned_drawing(corners, found.view, np.radians(turn), np.radians(tilt), name)
    st.markdown(svg, unsafe_allow_html=True)


def _handles(picture: BodyPicture, found: Measured) -> list[Handle]:
    line = found.limb.line
    x, y = picture.place(found.view.flat(found.root[None]))[0].tolist()
    shares = np.linspace(0.0, 1.0, 60)
    track = picture.place(found.view.flat(line.point_at(shares))).tolist()
    whole = round(line.length * 1e3, 1)
    per, unit = mm_in_a_unit()
    return [
        Handle(
            key="root",
            name="Root: the end at which the limb is held",
            sign="R",
            x=min(max(x, 0.0), picture.width),
            y=min(max(y, 0.0), picture.height),
        ),
        Handle(
            key="wrist",
            name="Wrist: where the limb ends and the hand begins",
            sign="W",
            shape="square",
            value=min(round(line.limb_length * 1e3, 1), whole),
            low=0.0,
            high=whole,
            step=0.5,
            unit=f"{unit} from the root",
            per=per,
            track=tuple((float(a), float(b)) for a, b in track),
        ),
    ]


def _words(spot: Array) -> str:
    return " ".join(f"{round(float(value) * 1e3, DECIMALS):g}" for value in spot)


def ask_line(fields: PageFields, found: Measured | None) -> None:
    """Ask for root, wrist and plane in fields, beside the picture."""
    fields.text("root")
    if found is not None:
        near = "; ".join(words(f"{x} mm") for x in _words(found.root).split())
        st.markdown(f"<small>= near {near}</small>", unsafe_allow_html=True)
    fields.text("wrist")
    if found is not None:
        wrist, whole = found.limb.wrist * 1e3, found.limb.line.length * 1e3
        said = words(f"{wrist:.1f} mm of {whole:.1f} mm")
        st.markdown(f"<small>= {said}</small>", unsafe_allow_html=True)
    fields.choice("up", (OWN_CURVE, *AXES))
    fields.choice("path", tuple(PATHS))
    if found is not None and fields.form()["path"] != next(iter(PATHS)):
        _say_path(found)


def _say_path(found: Measured) -> None:
    limb = found.limb
    if limb.path is limb.line:
        st.markdown("No other path gives more cover: it runs through the middles.")
        return
    aside = np.abs(offsets_from(limb.line, limb.path, limb.line.wrist_share * SPOTS, limb.up))
    most = length_words(aside.max())
    st.markdown(f"It leaves the middles by up to {most}, for a thicker least cover.")


def show_measured(found: Measured) -> None:
    """Say how long, thick and heavy the limb is, and every doubt about its line."""
    limb = found.limb
    hand = limb.hand
    beyond = (
        f"Beyond the wrist lies one rigid part of {hand.volume * 1e6:.1f} cm³."
        if hand is not None
        else "Nothing lies beyond its end."
    )
    told = (
        f"The limb is **{limb.wrist * 1e3:.1f} mm** long, about {2e3 * limb.line.radius:.1f} mm "
        f"thick. {beyond} Printed surface to tint: **{limb.skin * 1e4:.1f} cm²**."
    )
    st.markdown(words(told))
    doubts: list[Caution] = [each for each in limb.cautions if each.key != "unit_guessed"]
    show_cautions({caution.key: caution for caution in doubts}.values())
