"""The table of wires on the limb page, driven without a browser."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from flexcalc.compare.wires import compare_wires
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.drawer import DrawerWire, put_in_drawer
from flexcalc.limb.materials import load_metal
from flexcalc.pages.limb.wires import SORTED_BY, texts_of
from flexcalc.paper import answers
from flexcalc.paper.sheet.report import substitutes_for
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")


def wires_page() -> None:
    from flexcalc.pages.limb.ask import ask_limb, limb_fields
    from flexcalc.pages.limb.wires import show_wires

    fields = limb_fields()
    fields.undo_buttons()
    plan = ask_limb(fields)
    if plan is not None:
        show_wires(fields, plan)


def opened(**link: str) -> AppTest:
    return opened_page(wires_page, **link)


def compared(**link: str) -> AppTest:
    page = opened(**link)
    if any(button.key == "limb_compare" for button in page.button):  # else it is known
        page.button(key="limb_compare").click().run()
    assert not page.exception
    return page


def first_names(page: AppTest) -> list[str]:
    names = re.findall(r'<th scope="row"[^>]*>(.*?)</th>', words_of(page))
    return [name.replace("\u00a0", " ") for name in names]


def test_nothing_is_compared_before_it_is_asked_for() -> None:
    page = opened(limb_length="161")
    assert "<table" not in words_of(page)
    assert page.button(key="limb_compare").label == "Compare all wires"


def test_the_table_names_the_smallest_and_substitutes() -> None:
    page = compared()
    said = words_of(page)
    assert "The smallest that holds" in said
    assert "Cannot buy that one?" in said
    assert said.count("<caption ") == 1 and 'scope="col"' in said
    assert "press force is the thumb's where the bend is sharpest, fingers 40 mm away" in said
    for system in ("AWG", "SWG"):
        assert system in said


def test_a_table_shown_on_the_page_is_the_sheets_for_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    compared(limb_length="155")
    monkeypatch.setattr("flexcalc.paper.answers.compare_wires", None)
    plan = plan_from_form({"length": "155"}, "Neck")
    assert substitutes_for(plan)
    # another wire of the table, under another name
    rows = answers.compared(plan).rows
    other = replace(plan, name="Arm", limb=rows[len(rows) // 2].limb)
    assert answers.known_wires(other) is answers.known_wires(plan)
    # of fewer metals it is known too, of more it is not
    steel = load_metal("annealed low-carbon steel")
    few = answers.known_wires(plan, [steel])
    assert few is not None and {row.wire.metal for row in few.rows} == {steel}
    assert 0 < few.screened < answers.compared(plan).screened
    mine = replace(steel, name="my steel")
    assert answers.known_wires(plan, [mine]) is None


def test_the_table_sorts_and_filters() -> None:
    page = compared()
    for order in SORTED_BY:
        page.selectbox(key="limb_wires_by").set_value(order).run()
        assert not page.exception
    page.selectbox(key="limb_wires_by").set_value("by name").run()
    holding = len(first_names(page))
    page.selectbox(key="limb_wires_shown").set_value("all that do").run()
    names = first_names(page)
    assert [n.split(",")[0] for n in names if "strands" not in n] == sorted(
        n.split(",")[0] for n in names if "strands" not in n
    )
    page.selectbox(key="limb_wires_shown").set_value("all, also those that do not do").run()
    assert holding < len(names) < len(first_names(page))
    assert "too much for a hand" in words_of(page)


def test_the_table_shows_one_metal_one_way_of_selling_or_the_drawer() -> None:
    page = compared()
    page.selectbox(key="limb_wires_shown").set_value("all that do").run()
    every = first_names(page)
    page.selectbox(key="limb_wires_sold").set_value("AWG").run()
    gauges = first_names(page)
    assert gauges and all(", AWG " in name for name in gauges) and len(gauges) < len(every)
    metal = gauges[0].split(", ")[0].split(" of ")[-1]
    page.selectbox(key="limb_wires_metal").set_value(metal).run()
    assert first_names(page) == [name for name in gauges if f"{metal}, " in name]
    page.selectbox(key="limb_wires_sold").set_value("all sizes").run()
    page.selectbox(key="limb_wires_metal").set_value("the wires in my drawer").run()
    assert "No wire to show" in words_of(page)
    size = gauges[0].split(", ")[1].split(" (")[0]
    put_in_drawer(DrawerWire(metal=metal, size=size))
    page.run()
    owned = first_names(page)
    assert owned and all(f"{metal}, {size} (" in name for name in owned)


def test_the_picked_wire_goes_into_the_fields_and_undo_takes_it_back() -> None:
    page = compared()
    page.session_state["limb_fold_more_wire"] = True
    page.selectbox(key="limb_wires_by").set_value("most likely to hold").run()
    name = page.selectbox(key="limb_wires_pick").options[0]
    page.selectbox(key="limb_wires_pick").set_value(name).run()
    before = page.text_input(key="limb_wire").value
    page.button(key="limb_wires_use").click().run()
    assert not page.exception and not page.error
    metal, size = name.split(" of ")[-1].split(", ")
    assert page.selectbox(key="limb_metal").value == metal
    assert page.text_input(key="limb_wire").value == size.split(" (")[0]
    assert page.text_input(key="limb_channel").value == "sized"
    # the limb is the same but for its wire: the table still stands
    assert "<table" in words_of(page)
    page.button(key="limb_undo_button").click().run()
    assert page.text_input(key="limb_wire").value == before
    assert page.selectbox(key="limb_metal").value == "annealed low-carbon steel"


def test_another_limb_asks_again() -> None:
    page = compared()
    page.text_input(key="limb_payload").set_value("40").run()
    assert "<table" not in words_of(page)
    assert "the limb has changed" in page.button(key="limb_compare").label


def test_a_limb_that_no_wire_holds_says_so() -> None:
    page = compared(limb_radius1="9", limb_angle1="90")
    assert "None of these wires does in this limb: the limb itself kinks below R" in words_of(page)
    assert first_names(page)  # and the rows are shown, each with all that speaks against it


@pytest.mark.parametrize(
    "form", [{}, {"infill": "0", "sleeve": "0", "channel": "0", "wall": "2.7", "wire": "2"}]
)
def test_what_is_typed_for_a_row_is_its_wire_and_its_limb(form: dict[str, str]) -> None:
    plan = plan_from_form(form)
    table = compare_wires(plan.limb, plan.setting, samples=8)
    for row in table.rows[::7]:
        typed = plan_from_form({**form, **texts_of(row)})
        assert typed.limb.wire is not None
        assert typed.limb.wire.metal == row.wire.metal
        assert typed.limb.wire.diameter == pytest.approx(row.wire.diameter, rel=1e-9)
        assert typed.limb.wire.strands == row.wire.strands
        assert typed.limb.channel_diameter == pytest.approx(row.limb.channel_diameter, abs=5.1e-6)
