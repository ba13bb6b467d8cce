"""The page of the swatch log without a browser: add, edit, remove, undo, photos, files, faults."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from tests.pages import opened_page, words_of
from tests.tinting.photo_world import (
    BASE,
    CORNERS,
    SWATCH,
    Scene,
    dyed,
    jpeg,
    plastic,
    render,
    true_lab,
)
from tinting.colour.colorimetry import delta_e
from tinting.forms.swatch import OTHER, record_from_form
from tinting.log.bottles import Bottle, keep_bottle
from tinting.log.swatches import add_swatch, list_swatches, log_path
from tinting.log.transfer import export_zip

pytestmark = pytest.mark.usefixtures("own_folder")


def page() -> None:
    from tinting.pages.log.page import show_log_page

    show_log_page()


def opened(**link: str) -> AppTest:
    return opened_page(page, "log_", **link)


def typed(shown: AppTest, **fields: str) -> AppTest:
    for key, text in fields.items():
        shown.text_input(key=f"log_{key}").set_value(text)
    shown.run()
    assert not shown.exception
    return shown


def press(shown: AppTest, key: str) -> AppTest:
    shown.button(key=f"log_{key}").click().run()
    assert not shown.exception
    return shown


def test_an_empty_log_says_what_to_do_next_and_offers_invented_rows() -> None:
    shown = opened()
    assert "The log is empty. What to do next" in words_of(shown)
    press(shown, "demo")
    said = words_of(shown)
    assert "marked as such in their notes" in said and "Invented for the demo" in said
    assert len(list_swatches().records) == 3
    assert "learned" in said and "half of them within" in said
    press(shown, "step_back")
    assert list_swatches().records == () and "The log is empty" in words_of(shown)


def test_a_swatch_is_added_and_the_form_keeps_what_a_series_shares() -> None:
    shown = typed(opened(), colour="66 -22 30", coats="3", alcohol="7")
    shown.text_area(key="log_note").set_value("a <b>note</b>\nof two lines").run()
    press(shown, "save")
    (record,) = list_swatches().records
    assert record.coats == 3 and record.shares["reed green"] == pytest.approx(1 / 8)
    assert record.note == "a <b>note</b>\nof two lines"
    assert "Added, and safe on the disk" in words_of(shown)
    assert "<b>note" not in words_of(shown) and "&lt;b&gt;note" in words_of(shown)
    assert shown.text_input(key="log_colour").value == ""
    assert shown.text_input(key="log_alcohol").value == "7"


def asked_at_once(shown: AppTest) -> set[str]:
    """The fields of the form that are no part of a fold, by key."""
    kinds = ("text_input", "selectbox", "text_area")
    folded = {each.key for fold in shown.expander for kind in kinds for each in getattr(fold, kind)}
    every = {each.key for kind in kinds for each in getattr(shown, kind)}
    return {key for key in every - folded - {"log_row", "log_find"} if key}


def test_six_fields_are_asked_and_the_rest_is_remembered_from_the_latest_row() -> None:
    shown = opened()
    six = {f"log_{key}" for key in ("base", "dye1", "parts1", "alcohol", "coats", "colour")}
    assert asked_at_once(shown) == six
    form = {"base": "natural TPU", "basecolour": "80 0 9", "thickness": "2.5", "method": "eye",
            "kind": "I cannot tell", "colour": "60 -10 20"}  # fmt: skip
    add_swatch(record_from_form(form))
    add_swatch(record_from_form({**form, "base": "grey TPU", "thickness": "4", "minutes": "90"}))
    shown = opened()
    assert asked_at_once(shown) == six
    assert shown.selectbox(key="log_base").value == "grey TPU"
    assert shown.selectbox(key="log_method").value == "eye"
    values = {key: shown.text_input(key=f"log_{key}").value for key in ("thickness", "minutes")}
    assert values == {"thickness": "4", "minutes": "90"}
    shown.selectbox(key="log_base").set_value("natural TPU").run()
    assert shown.text_input(key="log_thickness").value == "2.5"
    assert shown.text_input(key="log_basecolour").value == "80 0 9"
    assert shown.text_input(key="log_colour").value == ""
    linked = opened(coats="4")
    assert linked.selectbox(key="log_base").value != "grey TPU"  # a link is taken as it stands


def test_the_first_bottle_owned_is_the_dye_of_a_new_row() -> None:
    keep_bottle(Bottle(name="moss"))
    assert opened().selectbox(key="log_dye1").value == "moss"


def test_a_fold_with_a_refused_field_opens() -> None:
    shown = press(typed(opened(), thickness="-3", colour="60 0 20"), "save")
    opened_folds = [fold.label for fold in shown.expander if fold.proto.expanded]
    assert opened_folds == ["The part: colour, wall, backing"]


def test_a_piece_read_again_is_shown_as_a_series_and_the_picker_reads_by_eye() -> None:
    form = {"colour": "60 -10 20", "minutes": "30", "method": "instrument"}
    add_swatch(record_from_form(form))
    add_swatch(record_from_form({**form, "colour": "58 -10 20", "minutes": "1440"}))
    shown = opened()
    said = words_of(shown)
    assert "Series of one piece" in said and "1 day" in said and "ΔE00 from the first" in said
    assert "Half covered" in said
    shown.color_picker(key="log_eye").set_value("#5a6f3c").run()
    assert shown.text_input(key="log_colour").value == "#5a6f3c"
    assert shown.selectbox(key="log_method").value == "eye" and not shown.exception


def test_a_refusal_stands_at_its_field_after_the_first_try_and_nothing_is_lost() -> None:
    shown = opened()
    assert not shown.error
    typed(shown, coats="many", thickness="-3")
    press(shown, "save")
    said = words_of(shown)
    assert "Coats: write 1; got" in said and "Thickness of its wall: from 0 mm to" in said
    assert "Measured colour: a colour like" in said
    assert shown.text_input(key="log_coats").value == "many"
    assert list_swatches().records == ()


def test_a_row_is_edited_and_the_edit_undone() -> None:
    shown = press(opened(), "demo")
    press(shown, "edit")
    assert shown.text_input(key="log_colour").value == "74.4 -18.4 26.9"
    before = list_swatches().records[-1]
    typed(shown, coats="2")
    press(shown, "save")
    after = list_swatches().records[-1]
    assert (after.coats, after.id, after.shares) == (2, before.id, before.shares)
    press(shown, "step_back")
    assert list_swatches().records[-1] == before
    press(shown, "step_forth")
    assert list_swatches().records[-1].coats == 2


def test_stop_editing_makes_the_form_one_for_new_rows_again() -> None:
    shown = press(press(press(opened(), "demo"), "edit"), "stop")
    assert shown.button(key="log_save").label == "Add to the log"


def test_copy_use_leave_out_and_remove() -> None:
    shown = press(press(opened(), "demo"), "copy")
    rows = list_swatches().records
    assert len(rows) == 4 and not rows[-1].used
    press(shown, "use")
    assert list_swatches().records[-1].used
    press(shown, "remove")
    assert len(list_swatches().records) == 3
    assert "Undo brings it back" in words_of(shown)
    press(shown, "use")  # the tools work on another row now
    assert "left out" in words_of(shown)


def test_a_row_chosen_from_the_list_is_the_one_worked_on() -> None:
    shown = press(opened(), "demo")
    first = list_swatches().records[0]
    shown.selectbox(key="log_row").set_value(first.id).run()
    press(shown, "remove")
    assert first.id not in [record.id for record in list_swatches().records]


def test_bases_and_dyes_of_ones_own_are_offered_from_then_on() -> None:
    shown = opened()
    shown.selectbox(key="log_dye1").set_value(OTHER)
    shown.selectbox(key="log_base").set_value(OTHER).run()
    typed(shown, newdye1="moss", newbase="my TPU", colour="60 0 20")
    press(shown, "save")
    assert "moss" in shown.selectbox(key="log_dye2").options
    assert "my TPU" in shown.selectbox(key="log_base").options


def test_what_is_typed_can_be_undone_apart_from_the_log() -> None:
    shown = typed(opened(), coats="4")
    press(shown, "undo_button")
    assert shown.text_input(key="log_coats").value == "1"
    press(shown, "redo_button")
    assert shown.text_input(key="log_coats").value == "4"


def test_a_link_reopens_what_is_typed() -> None:
    shown = opened(coats="4", colour="#889944", dye2="slate blue")
    assert shown.text_input(key="log_coats").value == "4"
    assert shown.selectbox(key="log_dye2").value == "slate blue"


@pytest.mark.parametrize("junk", ["<script>x</script>", "1e999", "🐟" * 60], ids=ascii)
def test_hostile_links_are_refused_in_words(junk: str) -> None:
    shown = press(opened(thickness=junk, colour="50 0 0"), "save")
    assert "Thickness of its wall: " in words_of(shown)


def test_many_rows_are_shown_by_pages_and_found_by_words() -> None:
    form = {"colour": "60 -10 20"}
    for number in range(53):
        add_swatch(record_from_form({**form, "note": f"row {number}"}))
    shown = opened()
    assert "Rows 3 of 53" in words_of(shown)
    shown.text_input(key="log_find").set_value("ROW 7").run()
    assert not shown.exception and "Rows 1 of 53" in words_of(shown)


def test_a_row_that_reads_lighter_than_its_base_is_named() -> None:
    shown = typed(opened(), colour="95 20 80")
    press(shown, "save")
    assert "reed green is not learned" in words_of(shown) and "fluoresces" in words_of(shown)


def scene_file() -> tuple[bytes, Any, Any]:
    rng = np.random.default_rng(4)
    base = plastic(0.4)
    swatch = dyed(rng, base)
    return jpeg(render(Scene(base=base, swatch=swatch))), true_lab(base), true_lab(swatch)


def marks(**other: str) -> dict[str, str]:
    corners = ", ".join(f"{x:g} {y:g}" for x, y in CORNERS)
    boxes = {"photobase": BASE, "photoswatch": SWATCH}
    texts = {key: " ".join(map(str, box)) for key, box in boxes.items()}
    return {**texts, "photocorners": corners, **other}


def with_photo(content: bytes, name: str = "photo.jpg") -> AppTest:
    shown = opened()
    shown.get("file_uploader")[0].set_value((name, content, "image/jpeg"))
    shown.run()
    assert not shown.exception
    return shown


def test_a_photo_is_measured_taken_over_and_kept_with_its_row() -> None:
    content, base, swatch = scene_file()
    shown = typed(with_photo(content), **marks())
    assert "Measured by chart" in words_of(shown) and len(shown.get("image")) == 2
    press(shown, "take_photo")
    press(shown, "save")
    (record,) = list_swatches().records
    assert record.method == "chart" and record.photo.endswith(".jpg")
    assert (record.light, record.observer, record.geometry) == ("D65", 10, "photo")
    assert delta_e(record.lab, swatch) < 5.3 and delta_e(record.base_lab, base) < 5.3
    assert b"photos/" in export_zip()


def test_a_photo_goes_into_the_log_at_once() -> None:
    content, _, swatch = scene_file()
    shown = press(typed(with_photo(content), **marks()), "add_photo")
    (record,) = list_swatches().records
    assert record.photo.endswith(".jpg") and delta_e(record.lab, swatch) < 5.3
    assert "Added, and safe on the disk" in words_of(shown)
    assert shown.text_input(key="log_colour").value == ""


def test_marks_that_cannot_be_are_refused_beside_their_field() -> None:
    content, *_ = scene_file()
    shown = typed(with_photo(content), **marks(photobase="1 2 3"))
    assert "Bare part: left top right bottom: four" in words_of(shown)
    typed(shown, photobase="0 0 9999 9999")
    assert "cannot be measured so" in words_of(shown)


def test_a_file_that_is_no_picture_is_refused() -> None:
    shown = with_photo(b"not a picture at all")
    assert any("photo must be a JPEG" in str(each.value) for each in shown.error)


def import_file(shown: AppTest, name: str, content: bytes) -> AppTest:
    shown.get("file_uploader")[-1].set_value((name, content, "text/csv"))
    shown.run()
    return press(shown, "take_over")


HEAD = "base_name,base_L,base_a,base_b,dyes,coats,L,a,b\n"
GOOD = "own,88,0,6,moss=0.1,2,60,-10,20\n"


def test_a_csv_is_taken_over_whole_or_every_bad_row_is_named() -> None:
    shown = import_file(opened(), "x.csv", (HEAD + GOOD + "own,88,0,6,moss=7,2,1,2,3\n").encode())
    said = words_of(shown)
    assert "Rows that cannot be read: 1" in said
    assert "swatch share of moss must be" in said and list_swatches().records == ()
    press(shown, "close_import")
    assert "swatch share of moss" not in words_of(shown)
    shown.checkbox(key="log_partial").set_value(True).run()
    import_file(shown, "x.csv", (HEAD + GOOD + "own,88,0,6,moss=7,2,1,2,3\n").encode())
    assert len(list_swatches().records) == 1 and "Rows taken over: 1" in words_of(shown)
    folds = {fold.label: fold.proto.expanded for fold in shown.expander}
    assert folds["Take over a CSV or zip file"]


def test_a_zip_comes_back_and_the_same_again_changes_nothing() -> None:
    content, *_ = scene_file()
    kept = add_swatch(record_from_form({"colour": "60 -10 20"}), photo=content)
    parcel = export_zip()
    shown = press(opened(), "remove")
    import_file(shown, "log.zip", parcel)
    assert list_swatches().records == (kept,)
    import_file(shown, "log.zip", parcel)
    assert "The same already: 1" in words_of(shown)


def test_a_file_of_another_kind_is_refused_in_words() -> None:
    shown = import_file(opened(), "x.zip", b"PK nonsense")
    assert "Nothing was changed: zip file must be" in words_of(shown)


def test_a_damaged_log_is_set_aside_said_and_a_new_one_works(own_folder: Path) -> None:
    log_path().write_bytes(b"no database at all" * 300)
    shown = opened()
    assert "The swatch log was damaged. It has been set aside as" in words_of(shown)
    typed(shown, colour="60 -10 20")
    press(shown, "save")
    assert len(list_swatches().records) == 1
    assert "set aside as" in words_of(shown)  # still said, for whoever was not looking


def test_a_folder_that_cannot_be_written_is_said_and_nothing_typed_is_lost(
    own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = typed(opened(), colour="60 -10 20")
    blocked = own_folder / "file"
    blocked.write_text("no folder")
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(blocked / "inside"))
    press(shown, "save")
    assert "Nothing was changed" in words_of(shown) or "cannot be used now" in words_of(shown)
    assert shown.session_state["log_colour"] == "60 -10 20"
