"""The surfaces on offer to dye: of the limb, the mesh and the figure of this visit."""

from __future__ import annotations

import math

import pytest
import trimesh
from streamlit.testing.v1 import AppTest

from data.store.design import empty_design
from data.store.figures import change_figure, new_key
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.pages.mesh.body import OwnFile
from flexcalc.section.section import surface_area
from flexcalc.verdict.plan import plain

pytestmark = pytest.mark.usefixtures("own_folder")


def page() -> None:
    import streamlit as st

    from flexcalc.pages.surfaces import known_surfaces

    st.session_state["found"] = known_surfaces()


def test_the_limb_is_offered_always_mesh_and_figure_once_they_were_seen() -> None:
    shown = AppTest.from_function(page, default_timeout=60).run()
    assert [*shown.session_state["found"]] == ["the limb's surface"]
    # a cube of 20 mm has 6 x 400 mm2
    raw = trimesh.creation.box((20.0, 20.0, 20.0)).export(file_type="stl")
    shown.session_state["mesh_file"] = OwnFile(name="cube.stl", raw=raw, sha256="0" * 64)
    shown.query_params["mesh_unit"] = "mm"
    plan = plan_from_form({})
    design = {**empty_design("heron"), "limbs": [{**plain(plan), "name": n} for n in ("a", "b")]}
    change_figure(key := new_key(), lambda _: design)
    shown.session_state["figure_key"] = key
    found = shown.run().session_state["found"]
    assert found["the whole mesh's surface"] == pytest.approx(6 * 0.02**2)
    one = surface_area(plan.limb)
    assert math.isclose(found["the limb's surface"], one)
    assert found["the figure's surface"] == pytest.approx(2 * one)
