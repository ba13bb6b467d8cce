"""The figure page, driven without a browser: gather, copy, remove, undo, save, refuse."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from data.store.design import design_text, read_design
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.verdict.plan import plain
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")

APP = str(Path(__file__).parents[3] / "app.py")


def figure_page() -> None:
    """The page alone, with a stand-in for the tint."""
    from data.sheet import Part, Words
    from flexcalc.pages.figure import TintPart, show_figure_page

    show_figure_page(
        TintPart(
            typed=lambda: {"green": 1},
            words=lambda kept: f"tint of {sorted(kept)}",
            fill=lambda kept: None,
            parts=lambda kept: [Part(title="Tint", blocks=(Words(text="dye"),))],
        )
    )


def opened() -> AppTest:
    return opened_page(figure_page)


def names(page: AppTest) -> list[str]:
    design = page.session_state["figure_design"]
    return [limb["name"] for limb in design["limbs"]]


def add(page: AppTest, name: str) -> AppTest:
    page.text_input(key="figure_limb").set_value(name)
    page.button(key="figure_add").click().run()
    assert not page.exception
    return page


def test_an_empty_figure_says_what_to_do_next() -> None:
    page = opened()
    assert any("Describe one on the page Limb" in str(info.value) for info in page.info)


def test_limbs_are_added_copied_removed_and_brought_back() -> None:
    page = add(add(opened(), "Neck"), "Left leg")
    assert names(page) == ["Neck", "Left leg"]
    page.button(key="figure_Copy_0").click().run()
    assert names(page) == ["Neck", "Neck copy", "Left leg"]
    page.button(key="figure_Remove_2").click().run()
    assert names(page) == ["Neck", "Neck copy"]
    page.button(key="figure_undo_button").click().run()
    assert names(page) == ["Neck", "Neck copy", "Left leg"]
    page.button(key="figure_redo_button").click().run()
    assert names(page) == ["Neck", "Neck copy"]


def test_the_tint_is_taken_and_removed() -> None:
    page = opened()
    page.button(key="figure_take_tint").click().run()
    assert page.session_state["figure_design"]["tint"] == {"green": 1}
    assert any("tint of" in str(text.value) for text in page.markdown)
    page.button(key="figure_remove_tint").click().run()
    assert page.session_state["figure_design"]["tint"] is None


def test_the_name_and_note_are_kept() -> None:
    page = add(opened(), "Neck")
    page.text_input(key="figure_name").set_value("Marsh heron").run()
    page.text_area(key="figure_note").set_value("Mind the beak.").run()
    design = page.session_state["figure_design"]
    assert (design["name"], design["note"]) == ("Marsh heron", "Mind the beak.")
    assert read_design(design_text(design))["name"] == "Marsh heron"
    page.button(key="figure_undo_button").click().run()
    assert page.session_state["figure_design"]["note"] == ""
    assert page.text_area(key="figure_note").value == ""


def test_a_file_is_opened_and_undone() -> None:
    page = add(opened(), "Old neck")
    limbs = [plain(plan_from_form(PRESETS["Tail"], "Tail"))]
    text = design_text({"name": "Newt", "limbs": limbs})
    page.file_uploader(key="figure_file").upload("newt.json", text.encode(), "application/json")
    page.run()
    assert not page.exception
    assert names(page) == ["Tail"]
    page.button(key="figure_undo_button").click().run()
    assert names(page) == ["Old neck"]


def test_a_limb_out_of_range_opens_with_its_field_marked() -> None:
    kept = plain(plan_from_form(PRESETS["Tail"], "Long tail"))
    kept["limb"]["length"] = 3.0
    text = design_text({"name": "Newt", "limbs": [kept]})
    page = opened()
    page.file_uploader(key="figure_file").upload("newt.json", text.encode(), "application/json")
    page.run()
    assert names(page) == ["Long tail"]
    assert page.error and "limb length must be" in words_of(page)
    assert page.get("download_button")[1].proto.disabled  # no sheet of what cannot be built
    page.button(key="figure_Open on the page Limb_0").click().run()
    assert page.session_state["limb_length"] == "3000"
    limb = opened_page(limb_page, "limb_", length="3000")
    assert any("limb length must be" in str(error.value) for error in limb.error)


def limb_page() -> None:
    """The page Limb alone."""
    from flexcalc.pages.limb import show_limb_page

    show_limb_page()


@pytest.mark.parametrize(
    "content", [b"", b"{", b'{"format": "limb and tint design", "version": 9}']
)
def test_a_bad_file_is_refused_and_nothing_is_lost(content: bytes) -> None:
    page = add(opened(), "Neck")
    page.file_uploader(key="figure_file").upload("bad.json", content, "application/json").run()
    assert not page.exception
    assert any("nothing is lost" in str(error.value) for error in page.error)
    assert names(page) == ["Neck"]


def test_a_design_is_kept_in_the_folder_opened_and_removed() -> None:
    page = add(opened(), "Neck")
    page.text_input(key="figure_name").set_value("Marsh heron").run()
    page.button(key="figure_keep").click().run()
    assert page.selectbox(key="figure_kept").options == ["Marsh heron"]
    page.button(key="figure_Remove_0").click().run()
    assert names(page) == []
    page.button(key="figure_open_kept").click().run()
    assert names(page) == ["Neck"]
    page.button(key="figure_remove_kept").click().run()
    assert not page.exception
    assert "figure_kept" not in [box.key for box in page.selectbox]
    assert names(page) == ["Neck"]


def test_names_that_look_like_markup_stay_names() -> None:
    page = add(opened(), "<b>*Neck*</b> $x$")
    shown = " ".join(str(text.value) for text in page.markdown)
    assert "\\<b\\>\\*Neck\\*" in shown


def test_the_whole_app_opens_on_the_figure_page() -> None:
    page = AppTest.from_file(APP, default_timeout=60).run()
    assert not page.exception
