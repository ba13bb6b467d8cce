"""The page of the maker's bottles, and what it decides on the other pages."""

from __future__ import annotations

import dataclasses

import pytest
from streamlit.testing.v1 import AppTest

from data import FOLDER
from tests.pages import opened_page, words_of
from tinting.forms.choices import Choices
from tinting.forms.swatch import known_names
from tinting.forms.tint import DEFAULTS
from tinting.log.bottles import Blot, Bottle, bottles_text, keep_bottle, list_bottles
from tinting.log.swatches import list_swatches
from tinting.log.transfer import export_zip, import_csv, import_zip

pytestmark = pytest.mark.usefixtures("own_folder")
MOSS = Bottle(name="moss", lot="A 17", blot=Blot(lab=(48.0, -14.0, 33.0), bare_lab=(94, 0.5, -2)))


def page() -> None:
    from tinting.pages.shelf import show_shelf_page

    show_shelf_page()


def tint_page() -> None:
    from tinting.pages.tint import show_tint_page

    show_tint_page()


def opened(**link: str) -> AppTest:
    return opened_page(page, "bottle_", **link)


def press(shown: AppTest, key: str) -> AppTest:
    shown.button(key=f"bottle_{key}").click().run()
    assert not shown.exception
    return shown


def test_a_bottle_is_added_by_a_blot_changed_and_removed() -> None:
    shown = press(opened(), "keep")
    said = words_of(shown)
    assert "Name of the dye: " in said and "Colour of the dry blot: write #9aa86b or" in said
    shown.text_input(key="bottle_name").set_value("moss <b>")
    shown.text_input(key="bottle_lot").set_value("A 17")
    shown.text_input(key="bottle_blot").set_value("48 -14 33").run()
    assert "80 % band: " in words_of(shown)
    press(shown, "keep")
    (kept,) = list_bottles().bottles
    assert (kept.name, kept.lot, kept.blot and kept.blot.lab) == ("moss <b>", "A 17", (48, -14, 33))
    said = words_of(shown)
    assert (
        "safe on the disk" in said and "one blot on paper" in said and "moss &lt;b&gt;</th>" in said
    )
    press(shown, "edit")
    assert shown.text_input(key="bottle_blot").value == "48 -14 33"
    shown.text_input(key="bottle_lot").set_value("B 2").run()
    press(shown, "keep")
    assert [bottle.lot for bottle in list_bottles().bottles] == ["B 2"]
    press(shown, "remove")
    assert list_bottles().bottles == ()
    press(shown, "back")
    assert [bottle.lot for bottle in list_bottles().bottles] == ["B 2"]


def test_a_blot_no_dye_gives_is_refused_beside_its_field() -> None:
    shown = press(opened(name="glow", blot="97 -30 80"), "keep")
    assert any("no lighter than its base" in str(each.value) for each in shown.error)
    assert list_bottles().bottles == ()


def test_ticks_put_demo_and_logged_dyes_on_the_shelf_and_take_them_off() -> None:
    import_csv((FOLDER / "demo" / "swatches.csv").read_bytes())
    shown = opened()
    shown.checkbox(key="bottle_tick_slate blue").check().run()
    shown.checkbox(key="bottle_tick_reed green").check().run()
    kept = {bottle.name: bottle.demo for bottle in list_bottles().bottles}
    assert kept == {"slate blue": True, "reed green": False}  # the log knows reed green
    shown.checkbox(key="bottle_tick_slate blue").uncheck().run()
    shown.checkbox(key="bottle_tick_reed green").uncheck().run()
    assert [(b.name, b.owned) for b in list_bottles().bottles] == [("reed green", False)]


def test_the_bottles_owned_are_the_dyes_of_recipes_and_a_demo_leaves_for_an_own_one() -> None:
    slate = Bottle(name="slate blue", demo=True)
    plan = Choices().plan(DEFAULTS)
    assert [dye.name for dye in Choices(bottles=(slate,)).shelf(plan)] == ["slate blue"]
    own = Choices(bottles=(slate, MOSS))
    assert [dye.name for dye in own.shelf(plan)] == ["moss"]
    assert own.offered(DEFAULTS) == ("none", "reed green", "moss")  # what the form names stays
    given_away = Choices(bottles=(dataclasses.replace(MOSS, owned=False),))
    assert len(given_away.shelf(plan)) == 8  # nothing is ticked
    assert given_away.plan({**DEFAULTS, "dye1": "moss"}).mix[0][0].name == "moss"
    unknown = Choices(bottles=(Bottle(name="reed green"), slate))
    assert [dye.name for dye in unknown.shelf(plan)] == ["slate blue"]
    assert known_names((), (MOSS, slate))[1] == ("moss", "slate blue")


def test_the_tint_page_mixes_what_is_owned_and_says_what_is_invented() -> None:
    shown = opened_page(tint_page, "tint_")
    said = words_of(shown)
    assert "reed green is a demo dye, invented" in said and "invented, for trying" not in said
    assert "invented, for trying" in words_of(opened_page(tint_page, "tint_", dye1="none"))
    keep_bottle(MOSS)
    shown.run()
    said = words_of(shown)
    assert "reed green is a demo dye, invented" in said and "invented, for trying" not in said
    shown.button(key="tint_use_1").click().run()
    assert shown.selectbox(key="tint_dye1").value == "moss"
    assert list(shown.selectbox(key="tint_dye1").options) == ["none", "moss"]
    assert "invented" not in words_of(shown) and not shown.exception


def test_bottles_go_with_the_zip_of_the_log_and_come_back() -> None:
    keep_bottle(MOSS)
    parcel = export_zip()
    keep_bottle(dataclasses.replace(MOSS, lot="changed"))
    assert "There already: 1" in import_zip(parcel).sentence
    assert list_bottles().bottles[0].lot == "changed"
    import_zip(parcel, existing="replace")
    assert list_bottles().bottles == (MOSS,) and list_swatches().records == ()


def test_a_file_of_bottles_is_taken_in_by_the_page() -> None:
    keep_bottle(MOSS)
    text = bottles_text()
    shown = press(opened(), "remove")
    shown.get("file_uploader")[-1].set_value(("bottles.json", text.encode(), "application/json"))
    press(shown.run(), "take")
    assert list_bottles().bottles == (MOSS,) and "Bottles taken over: 1" in words_of(shown)
    shown.get("file_uploader")[-1].set_value(("x.json", b"{}", "application/json"))
    press(shown.run(), "take")
    assert "Nothing was changed: bottles file must be" in words_of(shown)
