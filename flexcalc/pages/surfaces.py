"""The surfaces that a maker may want to dye: of the limb, the own mesh and the figure at hand."""

from __future__ import annotations

import json
from typing import Any

import streamlit as st

from data.store.folder import StoreError
from flexcalc.pages.limb import typed_surface_area


def known_surfaces() -> dict[str, float]:
    """Return outer surfaces by what they belong to, those that this visit has seen. [m2]"""
    found = {
        "the limb's surface": typed_surface_area(),
        "the whole mesh's surface": _mesh_area(),
        "the figure's surface": _figure_area(),
    }
    return {name: area for name, area in found.items() if area > 0}


def _mesh_area() -> float:
    """The surface of the own mesh that was chosen on its page, 0 where there is none. [m2]"""
    if "mesh_file" not in st.session_state:
        return 0.0
    from flexcalc.mesh.solid import printed_skin
    from flexcalc.pages.mesh.body import chosen_surface

    surface = chosen_surface()
    return 0.0 if surface is None else printed_skin(surface)


def _figure_area() -> float:
    """The surface of all limbs of the figure that is open in this visit, twins counted. [m2]"""
    if "figure_key" not in st.session_state:
        return 0.0
    from flexcalc.pages.figure.state import design_now

    try:
        design = design_now()
        return _area(json.dumps(design, sort_keys=True), design)
    except (ValueError, StoreError):
        return 0.0  # the page Figure says why


@st.cache_data(max_entries=5, show_spinner=False)
def _area(key: str, _design: dict[str, Any]) -> float:
    from flexcalc.figure.figure import figure_from
    from flexcalc.figure.totals import totals

    return totals(figure_from(_design)).area
