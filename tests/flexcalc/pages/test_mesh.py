"""The page of a maker's own mesh without a browser: verdict, channel, another file, a design."""

from __future__ import annotations

import hashlib
import math
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from data.store.figures import list_figures, read_figure
from flexcalc.forms.mesh_form import form_of_mesh
from flexcalc.pages.mesh.body import FILE, OwnFile
from tests.flexcalc.mesh.lofts import build, stl_bytes
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")

HAND = dict(
    kind="round", corners=48, rings=40, length=120, a0=8, a1=6, hand=[11, 126],
    hand_facets=[48, 41], wrist=100.0,
)  # fmt: skip


def mesh_page() -> None:
    from flexcalc.pages.mesh import show_mesh_page

    show_mesh_page()


def own_file(name: str = "arm.stl", **changes: Any) -> OwnFile:
    v, f, _ = build({**HAND, **changes})
    raw = stl_bytes(v, f)
    return OwnFile(name=name, raw=raw, sha256=hashlib.sha256(raw).hexdigest())


def opened(file: OwnFile | None, **link: str) -> AppTest:
    page = opened_page(mesh_page, **link)
    if file is not None:
        page.session_state[FILE] = file
        page.session_state["mesh_is_new"] = True
        page.run()
    assert not page.exception
    return page


def test_without_a_file_it_asks_for_one() -> None:
    page = opened(None)
    assert any("Choose a file" in str(info.value) for info in page.info)


def test_a_mesh_gets_its_verdict_and_a_bend_over_its_middle() -> None:
    page = opened(own_file())
    said = words_of(page)
    assert "of the bend" in said and "kinks below R" in said
    assert "Place by place" in said and 'class="channel"' in said
    assert page.text_input(key="mesh_start1").value == "29"  # a quarter of 116 mm
    assert "The hand weighs" in said
    assert "Printed surface to tint" in said


def test_a_curved_limb_without_a_hand_gets_its_verdict() -> None:
    v, f, _ = build(
        dict(kind="round", corners=48, rings=60, path="arc", bend_radius=70, angle=1.3, a0=8, a1=6)
    )
    raw = stl_bytes(v, f)
    page = opened(OwnFile(name="tail.stl", raw=raw, sha256=hashlib.sha256(raw).hexdigest()))
    said = words_of(page)
    assert "Nothing lies beyond its end" in said and "Place by place" in said
    assert page.button(key="mesh_cut_out")


def test_the_channel_is_cut_and_proven_when_told_to() -> None:
    page = opened(own_file())
    assert "Measured again" not in words_of(page)
    page.button(key="mesh_cut_out").click().run()
    assert not page.exception
    said = words_of(page)
    assert "closed, in one piece" in said and "of profile times path" in said
    page.text_input(key="mesh_depth").set_value("60").run()
    assert any("cut it again" in str(info.value) for info in page.info)


def test_a_place_for_the_root_that_is_none_is_refused_and_kept() -> None:
    page = opened(own_file())
    page.text_input(key="mesh_root").set_value("here").run()
    assert any("x y z in mm" in str(error.value) for error in page.error)
    assert page.text_input(key="mesh_root").value == "here"


def test_the_wrist_can_be_moved() -> None:
    page = opened(own_file())
    page.text_input(key="mesh_wrist").set_value("90").run()
    assert "= 90.0 mm of" in words_of(page)
    assert "seen from 20° above" not in words_of(page)
    page.toggle(key="mesh_in_space").set_value(True).run()
    assert not page.exception and "seen from 20° above" in words_of(page)


def test_two_limbs_apart_are_refused_with_the_place() -> None:
    v, f, _ = build(HAND)
    raw = stl_bytes(np.vstack([v, v + np.array([60.0, 0, 0])]), np.vstack([f, f + len(v)]))
    page = opened(OwnFile(name="two.stl", raw=raw, sha256=hashlib.sha256(raw).hexdigest()))
    assert any("one body" in str(error.value) for error in page.error)


def test_a_design_keeps_outlines_and_hash_and_wants_the_same_file() -> None:
    page = opened(own_file())
    page.button(key="mesh_add").click().run()
    kept = read_figure(list_figures()[0].key)["limbs"][0]
    assert kept["mesh"]["sha256"] == own_file().sha256
    assert kept["limb"]["outline"]["kind"] == "Along"
    # a cone of radii 8 to 6 mm on 120 mm, and a ball of 11 mm about 126 mm that it runs into
    reach = math.sqrt(11**2 - 6.053**2)
    end = math.pi * 8**2 + math.pi * (8 + 6.053) * math.hypot(126 - reach, 8 - 6.053)
    ball = 2 * math.pi * 11 * (11 + reach)
    assert kept["mesh"]["skin"] * 1e6 == pytest.approx(end + ball, rel=2e-3)  # facets
    later = opened_page(mesh_page)
    later.session_state["mesh_kept"] = kept
    for key, text in form_of_mesh(kept).items():
        later.session_state[f"mesh_{key}"] = text
    later.run()
    assert later.text_input(key="mesh_start1").value == "29"
    assert not later.exception
    assert "Place by place" in words_of(later)  # from the outlines alone
    assert any("choose that file again" in str(info.value) for info in later.info)
    later.session_state[FILE] = own_file("other.stl", a0=9)
    later.run()
    assert any("another file" in str(error.value) for error in later.error)
    later.session_state[FILE] = own_file("renamed.stl")
    later.run()
    assert not any("another file" in str(error.value) for error in later.error)
    assert later.button(key="mesh_cut_out")
