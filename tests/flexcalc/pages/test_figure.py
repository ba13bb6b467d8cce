"""The figure page, driven without a browser: gather, copy, remove, undo, save, refuse."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from data.store.design import design_text, read_design
from data.store.entries import save_entry
from data.store.figures import figures_folder, list_figures, read_events, read_figure
from flexcalc.figure.changes import limb_names
from flexcalc.figure.figure import Body, Place, plain_body, plain_place
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.verdict.plan import plain
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")

APP = str(Path(__file__).parents[3] / "app.py")


def figure_page() -> None:
    """The page alone, with a stand-in for the tint."""
    from data.sheet import Part, Words
    from flexcalc.pages.figure import show_figure_page
    from flexcalc.pages.figure.tint import TintPart
    from flexcalc.paper.sheet.tints import TintSheet

    show_figure_page(
        lambda: TintPart(
            typed=lambda: {"green": 1},
            words=lambda kept: f"tint of {sorted(kept)}",
            fill=lambda kept: None,
            sheet=TintSheet(
                for_area=lambda kept, area: {**kept, "area": area},
                volumes=lambda kept: {"green dye": 1e-6},
                parts=lambda kept: [Part(title="Tint", blocks=(Words(text="dye"),))],
            ),
            retouch=lambda kept, lab: [f"one coat more on {lab[0]:.0f}"],
        )
    )


def opened(**link: str) -> AppTest:
    return opened_page(figure_page, **link)


def design_of(page: AppTest) -> dict[str, Any]:
    """The figure as its file in the folder holds it."""
    return read_figure(page.session_state["figure_key"])


def names(page: AppTest) -> list[str]:
    return limb_names(design_of(page))


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
    page.button(key="figure_Copy_Neck").click().run()
    assert names(page) == ["Neck", "Neck copy", "Left leg"]
    page.button(key="figure_Remove_Left leg").click().run()
    assert names(page) == ["Neck", "Neck copy"]
    page.button(key="figure_undo_button").click().run()
    assert names(page) == ["Neck", "Neck copy", "Left leg"]
    page.button(key="figure_redo_button").click().run()
    assert names(page) == ["Neck", "Neck copy"]


def test_the_tint_is_taken_and_removed() -> None:
    page = opened()
    page.button(key="figure_take_tint").click().run()
    assert design_of(page)["tint"] == {"green": 1}
    assert any("tint of" in str(text.value) for text in page.markdown)
    page.button(key="figure_remove_tint").click().run()
    assert design_of(page)["tint"] is None


def test_the_name_and_note_are_kept() -> None:
    page = add(opened(), "Neck")
    page.text_input(key="figure_name").set_value("Marsh heron").run()
    page.text_area(key="figure_note").set_value("Mind the beak.").run()
    design = design_of(page)
    assert (design["name"], design["note"]) == ("Marsh heron", "Mind the beak.")
    assert read_design(design_text(design))["name"] == "Marsh heron"
    page.button(key="figure_undo_button").click().run()
    assert design_of(page)["note"] == ""
    assert page.text_area(key="figure_note").value == ""


def with_file(page: AppTest, text: str) -> AppTest:
    page.file_uploader(key="figure_file").upload("newt.json", text.encode(), "application/json")
    page.run()
    assert not page.exception
    return page


def test_a_file_is_opened_beside_the_figure_that_was_open() -> None:
    page = add(opened(), "Old neck")
    limbs = [plain(plan_from_form(PRESETS["Tail"], "Tail"))]
    text = design_text({"name": "Newt", "limbs": limbs, "note": "Mind the tail."})
    before = page.session_state["figure_key"]
    with_file(page, text)
    assert names(page) == ["Tail"]
    assert page.text_input(key="figure_name").value == "Newt"
    assert page.text_area(key="figure_note").value == "Mind the tail."
    assert limb_names(read_figure(before)) == ["Old neck"]
    page.selectbox(key="figure_kept").set_value(before).run()
    page.button(key="figure_open_kept").click().run()
    assert names(page) == ["Old neck"]
    assert page.text_input(key="figure_name").value == "My figure"


def test_the_same_file_opened_again_is_the_same_figure() -> None:
    limbs = [plain(plan_from_form(PRESETS["Tail"], name)) for name in ("Tail", "Tail")]
    text = design_text({"name": "Newt", "limbs": limbs})
    first = with_file(opened(), text)
    assert names(first) == ["Tail", "Tail 2"]
    second = with_file(opened(), text)
    assert first.session_state["figure_key"] == second.session_state["figure_key"]
    assert len(list_figures()) == 1


def test_nothing_is_lost_by_a_reload() -> None:
    page = add(opened(), "Neck")
    page.text_input(key="figure_name").set_value("Marsh heron").run()
    page.text_area(key="figure_note").set_value("Mind the beak.").run()
    key = page.session_state["figure_key"]
    for again in (opened(figure=key), opened()):
        assert names(again) == ["Neck"]
        assert again.text_input(key="figure_name").value == "Marsh heron"
        assert again.text_area(key="figure_note").value == "Mind the beak."


def test_a_limb_of_the_same_name_is_renewed_where_it_is() -> None:
    page = add(add(opened(), "Neck"), "Leg")
    page.text_input(key="figure_place_Neck_up").set_value("80").run()
    page.session_state["limb_length"] = "150"
    add(page, "Neck")
    design = design_of(page)
    assert limb_names(design) == ["Neck", "Leg"]
    assert design["limbs"][0]["limb"]["length"] == 0.15
    assert design["places"][0]["at"][1] == pytest.approx(0.08)
    add(page, "Neck")
    assert "already so" in words_of(page)


def test_a_place_typed_in_inches_stays_as_typed_and_a_bad_one_is_said() -> None:
    page = add(opened(), "Neck")
    page.text_input(key="figure_place_Neck_up").set_value("1/4 in").run()
    assert design_of(page)["places"][0]["at"][1] == pytest.approx(0.00635)
    assert page.text_input(key="figure_place_Neck_up").value == "1/4 in"
    page.text_input(key="figure_place_Neck_left").set_value("9o").run()
    assert "Clamped to its left by: write 90, 90 mm or 3 1/2 in; got “9o”" in words_of(page)
    assert page.text_input(key="figure_place_Neck_left").value == "9o"
    page.button(key="figure_undo_button").click().run()
    assert page.text_input(key="figure_place_Neck_up").value == "0"


def test_a_pair_with_feet_and_a_body_stands() -> None:
    page = add(opened(), "Neck")
    # a neck whose tip points up is a leg no more: its body sits higher still
    for key, text in (("up", "200"), ("left", "30"), ("foot_length", "400"), ("foot_width", "30")):
        page.session_state[f"figure_place_Neck_{key}"] = text
    page.toggle(key="figure_place_Neck_twin").set_value(True).run()
    page.text_input(key="figure_body_mass").set_value("300").run()
    page.text_input(key="figure_body_up").set_value("400").run()
    assert design_of(page)["places"][0]["twin"] is True
    assert design_of(page)["places"][0]["foot"] == [0.4, 0.03]
    assert design_of(page)["body"]["mass"] == 0.3
    words = words_of(page)
    assert "what its feet span" in words
    assert "2 of 187 mm" in words  # the wires of the pair, cut for their end bends


def test_legs_that_hold_their_figure_are_said_to() -> None:
    leg = plan_from_form(PRESETS["Heron leg"], "Leg")
    place = Place(at=(0.0, 0.11, 0.02), twin=True, foot=(0.12, 0.03))
    body = Body(mass=0.1, at=(0.05, 0.13, 0.0))
    design = {
        "name": "Heron", "limbs": [plain(leg)], "places": [plain_place(place)],
        "body": plain_body(body),
    }  # fmt: skip
    words = words_of(with_file(opened(), design_text(design)))
    assert "Its legs hold it" in words and "and it weighs 120 g" in words


def test_the_sheet_is_made_when_asked_and_again_after_a_change() -> None:
    page = add(opened(), "Neck")
    page.button(key="figure_make_sheet").click().run(timeout=120)
    assert not page.exception
    assert [each.proto.label for each in page.get("download_button")][1:] == [
        "Build sheet to print",
        "Build sheet as text",
    ]
    page.text_area(key="figure_note").set_value("Mind the beak.").run()
    assert len(page.get("download_button")) == 1
    assert page.button(key="figure_make_sheet").label == "Make the build sheet"


def test_a_limb_out_of_range_opens_with_its_field_marked() -> None:
    kept = plain(plan_from_form(PRESETS["Tail"], "Long tail"))
    kept["limb"]["length"] = 3.0
    text = design_text({"name": "Newt", "limbs": [kept]})
    page = opened()
    page.file_uploader(key="figure_file").upload("newt.json", text.encode(), "application/json")
    page.run()
    assert names(page) == ["Long tail"]
    assert page.error and "limb length must be" in words_of(page)
    assert "No sheet until it is corrected" in words_of(page)
    assert not any(button.key == "figure_make_sheet" for button in page.button)
    page.button(key="figure_Open on the page Limb_Long tail").click().run()
    assert page.session_state["limb_length"] == "3000"
    limb = opened_page(limb_page, "limb_", length="3000")
    assert any("from 5 mm to 1000 mm" in str(error.value) for error in limb.error)


def limb_page() -> None:
    """The page Limb alone."""
    from flexcalc.pages.limb import show_limb_page

    show_limb_page()


@pytest.mark.parametrize(
    "content", [b"", b"{", b'{"format": "limb and tint design", "version": 999}']
)
def test_a_bad_file_is_refused_and_nothing_is_lost(content: bytes) -> None:
    page = add(opened(), "Neck")
    page.file_uploader(key="figure_file").upload("bad.json", content, "application/json").run()
    assert not page.exception
    assert any("nothing is lost" in str(error.value) for error in page.error)
    assert names(page) == ["Neck"]


def test_a_figure_is_removed_and_brought_back() -> None:
    page = add(opened(), "Neck")
    page.button(key="figure_new").click().run()
    assert names(page) == []
    page.button(key="figure_remove_kept").click().run()
    assert [one.name for one in list_figures()] == ["My figure"]
    assert names(page) == ["Neck"]
    page.button(key="figure_restore").click().run()
    assert names(page) == [] and len(list_figures()) == 2


def test_a_design_of_an_earlier_edition_is_still_there() -> None:
    limbs = [plain(plan_from_form(PRESETS["Tail"], "Tail"))]
    save_entry("design", "Newt", {"text": design_text({"name": "Newt", "limbs": limbs})})
    page = opened()
    page.button(key="figure_open_before").click().run()
    assert names(page) == ["Tail"]


def test_a_limb_has_a_tint_of_its_own_and_the_figure_one_for_the_others() -> None:
    page = add(add(opened(), "Neck"), "Leg")
    page.button(key="figure_own_tint_Leg").click().run()
    assert design_of(page)["tints"] == [None, {"green": 1}]
    page.button(key="figure_take_tint").click().run()
    assert any("For Neck" in str(text.value) for text in page.markdown)
    page.button(key="figure_no_tint_Leg").click().run()
    assert design_of(page)["tints"] == [None, None]


def test_a_folder_that_refuses_is_said_and_the_figure_held(own_folder: Path) -> None:
    (own_folder / "figures").write_text("a file where the folder should be")
    page = opened()
    page.button(key="figure_add").click().run()
    assert any("Held in this tab only" in str(error.value) for error in page.error)
    assert any("Neck" in str(text.value) for text in page.markdown)


def logged(page: AppTest, kind: str, **texts: str) -> AppTest:
    page.selectbox(key="figure_log_kind").set_value(kind).run()
    for key, text in texts.items():
        page.text_input(key=f"figure_log_{key}").set_value(text)
    page.button(key="figure_log_add").click().run()
    assert not page.exception
    return page


def test_the_logbook_counts_re_poses_and_says_when_the_wire_is_due() -> None:
    page = logged(add(opened(), "Neck"), "built", day="2026-01-01")
    logged(page, "re-posed", day="2026-01-05", times="7", note="at the fair")
    assert "7 re-poses of" in words_of(page) and "at the fair" in words_of(page)
    logged(page, "re-posed", day="2026-01-06", times="9000")
    assert "the wire is due" in words_of(page) and "cut to 187 mm" in words_of(page)
    page.button(key="figure_log_back").click().run()
    assert "7 re-poses of" in words_of(page) and "is due" not in words_of(page)
    logged(page, "new wire", day="2026-01-07")
    assert "0 re-poses of" in words_of(page)


def test_an_angle_after_a_month_and_a_faded_colour() -> None:
    page = logged(add(opened(), "Neck"), "built", day="2026-01-01")
    page.button(key="figure_take_tint").click().run()
    logged(page, "angle read", day="2026-01-31", bend="2", angle="90")
    assert "How the bends have held" in words_of(page)
    assert "Relaxation exponent" in words_of(page)
    page.button(key="figure_log_keep").click().run()
    assert "Kept my TPU 80A" in words_of(page)
    logged(page, "colour read", day="2026-01-31", lab="66 -12 25")
    assert "one coat more on 66" in words_of(page)


def test_every_wire_that_is_due_is_said_whichever_limb_is_looked_at() -> None:
    page = add(opened(), "Neck")
    page.toggle(key="figure_place_Neck_twin").set_value(True).run()
    page.selectbox(key="figure_log_limb").set_value("Neck, twin").run()
    logged(page, "re-posed", day="2026-01-05", times="9000")
    page.selectbox(key="figure_log_limb").set_value("Neck").run()
    words = words_of(page)
    assert "Neck, twin: the wire is due" in words and "Neck: 0 re-poses of" in words
    assert "To take it out" not in words


def test_a_figure_that_was_altered_is_told_and_opens_as_it_stands_when_asked() -> None:
    page = add(opened(), "Neck")
    key = page.session_state["figure_key"]
    path = figures_folder() / f"{key}.json"
    path.write_text(path.read_text("utf-8").replace('"length": 0.16,', '"length": 0.18,'), "utf-8")
    page = opened(figure=key)
    assert any("it was altered" in str(error.value) for error in page.error)
    page.button(key="figure_altered").click().run()
    assert page.text_input(key="figure_name").value == "My figure (altered)"
    assert design_of(page)["limbs"][0]["limb"]["length"] == 0.18


def test_an_event_that_cannot_be_is_said_and_not_written() -> None:
    page = logged(add(opened(), "Neck"), "re-posed", day="yesterday")
    assert "a day such as" in words_of(page)
    logged(page, "re-posed", day="2026-01-05", times="0")
    assert read_events(page.session_state["figure_key"]) == ([], 0)


def test_a_logbook_goes_with_its_figure() -> None:
    event = {"limb": "Tail", "kind": "re-posed", "day": "2026-01-05", "times": 3}
    limbs = [plain(plan_from_form(PRESETS["Tail"], "Tail"))]
    page = with_file(opened(), design_text({"name": "Newt", "limbs": limbs, "logbook": [event]}))
    assert read_events(page.session_state["figure_key"]) == ([event], 0)
    assert "3 re-poses of" in words_of(page)
    refused = design_text({"name": "Newt", "limbs": limbs, "logbook": [{**event, "kind": "x"}]})
    page.file_uploader(key="figure_file").upload("b.json", refused.encode(), "application/json")
    page.run()
    assert "event kind must be" in words_of(page)


def test_names_that_look_like_markup_stay_names() -> None:
    page = add(opened(), "<b>*Neck*</b> $x$")
    shown = " ".join(str(text.value) for text in page.markdown)
    assert "\\<b\\>\\*Neck\\*" in shown


def test_the_whole_app_opens_on_the_figure_page() -> None:
    page = AppTest.from_file(APP, default_timeout=60).run()
    assert not page.exception
