"""The tint page without a browser: the demo, refusals, cautions, recipes, learned dyes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from data import FOLDER
from tests.pages import opened_page, words_of
from tinting.colour.spectrum import hex_from_lab
from tinting.forms.tint import OWN_BASE
from tinting.log.transfer import import_csv
from tinting.pages.recipes import moved_words

pytestmark = pytest.mark.usefixtures("own_folder")


def page(surfaces: dict[str, float] | None = None) -> None:
    from tinting.pages.tint import show_tint_page

    areas = {"the limb's surface": 0.0055} if surfaces is None else surfaces
    show_tint_page(areas, outline=[(0, 0), (0.12, 0), (0.12, 0.03)])


def opened(**link: str) -> AppTest:
    return opened_page(page, "tint_", **link)


def opened_fold(key: str, view: str = "colours in reach", **link: str) -> AppTest:
    """The tint page with one of its folds open, that of the dyes at a view."""
    shown = AppTest.from_function(page, default_timeout=60)
    shown.query_params.update({f"tint_{key}": text for key, text in link.items()})
    shown.session_state[f"tint_fold_{key}"] = True
    shown.session_state["tint_graph"] = view
    shown.run()
    assert not shown.exception
    return shown


def changed(shown: AppTest, **fields: str) -> AppTest:
    for key, text in fields.items():
        shown.text_input(key=f"tint_{key}").set_value(text)
    shown.run()
    assert not shown.exception
    return shown


def demo_log() -> None:
    import_csv((FOLDER / "demo" / "swatches.csv").read_bytes())


def test_the_demo_answers_what_it_looks_like_and_how_to_mix_it() -> None:
    said = words_of(opened())
    assert (
        "likely to match within 2; the middle lies 6.9 ΔE00 from the target in daylight (D65)"
        in said
    )
    assert "#90b876" in said and "Five likely outcomes" in said
    assert 'role="status" aria-live="polite"' in said
    assert "forced-color-adjust:none" in said and "print-color-adjust:exact" in said
    assert "L*a*b* 88.5 -0.8 6.5" in said and "#e1dfd2" in said  # the base, in numbers
    assert said.count('d="M0.0,25.0 100.0,25.0 100.0,0.0Z" fill="#') == 3  # on the limb, y up
    assert "1:9, yours" in said and "★ 3.4" in said  # the ladder
    assert "warm lamp" in said and "CIE LED-B3" in said  # tint beside target in each light
    assert "106 ppm" in said and "flash point 11.7" in said
    assert "31" in said and "1 part reed green + 9 parts alcohol" in said
    assert "reed green is a demo dye, invented" in said and "Estimate" not in said
    said = words_of(opened_fold("working"))
    assert "real parts will be worse" in said and "Saunderson" in said
    said = words_of(graph("swatches, and the next to paint"))
    assert "Nothing yet: the dyes are estimates" in said


@pytest.mark.parametrize(
    ("target", "said"),
    [("95 0 5", "bare part, and"), ("80 -10 -20", "bare part in its blue, and"), ("60 0 5", "")],
)
def test_what_no_dye_can_make_is_said_at_the_field(target: str, said: str) -> None:
    words = [str(each.value) for each in opened(target=target).warning]  # the part: 88.5 -0.8 6.5
    told = [each for each in words if each.startswith("This cannot be")]
    assert [said in each for each in told] == [True] * bool(said)


def test_fire_stands_beside_the_mixing_as_an_error() -> None:
    assert any("burns" in str(each.value) for each in opened().error)


def test_a_refusal_stands_at_its_field_and_nothing_typed_is_lost() -> None:
    shown = changed(opened(), coats="some", target="greenish", batch="12")
    said = words_of(shown)
    assert len(shown.error) == 4 and "Coats: write 2; got" in said
    assert "Target colour: write #9aa86b or 62" in said and "are of the tint before" in said
    assert "6.9 ΔE00 from the target" in said  # the last answer stays
    assert shown.text_input(key="tint_target").value == "greenish"
    assert shown.text_input(key="tint_batch").value == "12"


def test_the_first_question_for_an_own_base_is_its_kind() -> None:
    shown = opened()
    shown.selectbox(key="tint_base").set_value(OWN_BASE).run()
    assert shown.selectbox(key="tint_kind").label.startswith("Translucent or opaque?")
    changed(shown, colour="#ddd6c0")
    shown.selectbox(key="tint_kind").set_value("I cannot tell").run()
    assert "not known whether the base is translucent or opaque" in words_of(shown)


def test_a_link_reopens_the_state() -> None:
    shown = opened(coats="4", dye2="slate blue", parts2="0,5", light="A")
    assert shown.text_input(key="tint_coats").value == "4"
    assert shown.selectbox(key="tint_dye2").value == "slate blue"
    assert shown.selectbox(key="tint_light").value == "warm lamp (A)"
    assert "from the target in warm lamp (A)" in words_of(shown)


@pytest.mark.parametrize(
    "junk", ["<script>alert(1)</script>", "1e999", "\x00", "🐟" * 60, "-1"], ids=ascii
)
@pytest.mark.parametrize("key", ["target", "alcohol", "area"])
def test_hostile_links_are_refused_in_words(key: str, junk: str) -> None:
    shown = opened(**{key: junk})
    assert any("; got " in str(each.value) for each in shown.error)
    assert "<script>" not in "".join(str(each.proto.body) for each in shown.get("html"))


def test_a_name_in_a_link_that_nobody_knows_is_said() -> None:
    shown = opened(dye1="moss (design)", base="marble")
    assert "Not known on this machine" in words_of(shown)
    assert shown.selectbox(key="tint_dye1").value == "none"


def test_a_dye_named_twice_is_refused() -> None:
    shown = opened(dye2="reed green")
    assert "Dye 2: named once" in words_of(shown)


def test_undo_and_redo_walk_through_the_changes() -> None:
    shown = changed(changed(opened(), coats="3"), alcohol="4")
    shown.button(key="tint_undo_button").click().run()
    assert shown.text_input(key="tint_alcohol").value == "9"
    shown.button(key="tint_undo_button").click().run()
    assert shown.text_input(key="tint_coats").value == "2"
    shown.button(key="tint_redo_button").click().run()
    assert shown.text_input(key="tint_coats").value == "3" and not shown.exception


def test_the_picker_writes_the_target_and_can_be_undone() -> None:
    shown = opened()
    shown.color_picker(key="tint_pick_target").set_value("#90b876").run()
    assert shown.text_input(key="tint_target").value == "#90b876"
    found = re.search(r"the middle lies ([\d.]+) ΔE00", words_of(shown))
    assert found and float(found[1]) < 1
    shown.button(key="tint_undo_button").click().run()
    assert shown.text_input(key="tint_target").value == "62 -16 28"


def test_the_limbs_surface_and_the_weighed_drop_are_taken_over() -> None:
    shown = opened()
    shown.button(key="tint_use_the limb's surface").click().run()
    assert shown.text_input(key="tint_area").value == "55"
    changed(shown, weighed="1.57").button(key="tint_use_drop").click().run()
    assert shown.text_input(key="tint_drop").value == "0.04"
    shown.button(key="tint_undo_button").click().run()
    assert shown.text_input(key="tint_drop").value == "0.032"


def test_without_a_limb_no_surface_is_on_offer() -> None:
    shown = AppTest.from_function(page, kwargs={"surfaces": {}}, default_timeout=60).run()
    assert not any("surface" in each.key for each in shown.button if each.key)


def test_few_drops_and_a_small_batch_are_said() -> None:
    shown = changed(opened(), alcohol="2000", area="900")
    said = words_of(shown)
    assert "Dilute reed green first" in said and "mix it larger" in said


def test_a_batch_smaller_than_a_drop_is_said_and_the_rest_stands() -> None:
    shown = changed(opened(), batch="0.1", drop="0.2")
    assert any("This batch cannot be mixed" in str(each.value) for each in shown.error)
    assert "likely to match" in words_of(shown)


def test_a_target_no_surface_has_is_said_and_the_rest_stands() -> None:
    shown = changed(opened(), target="50 150 -150")
    said = words_of(shown)
    assert "No real surface has the target's colour" in said and "★ nearest" in said
    assert "106 ppm" in said


def test_what_is_left_in_the_jar() -> None:
    shown = changed(opened(), left="6", wanted="19")
    assert "add 6 mL of alcohol" in words_of(shown)
    shown = changed(shown, open="lots")
    assert "It stood open for: write 60 or 1 h" in words_of(shown)


def test_a_recipe_fills_the_mix_and_comes_as_near_as_it_said() -> None:
    shown = opened()
    assert re.search(r"\d+% within 2\*\*, middle [\d.]+ ΔE00: \d+ \w+ \w+ ", words_of(shown))
    shown.button(key="tint_use_1").click().run()
    assert not shown.exception
    found = re.search(r"the middle lies ([\d.]+) ΔE00", words_of(shown))
    assert found and float(found[1]) < 1
    assert "Yours is recipe 1" in words_of(shown)
    changed(shown, coats="2")
    assert "Yours is recipe 1 with coats 1 → 2: " in words_of(shown)
    assert "ΔE00 from it. It was recipe 1" in words_of(shown)
    shown.button(key="tint_undo_button").click().run()
    shown.button(key="tint_undo_button").click().run()
    assert shown.text_input(key="tint_alcohol").value == "9"


def test_only_the_search_of_all_recipes_says_out_of_reach() -> None:
    shown = changed(opened(), target="97 0 2")
    shown.radio(key="tint_recipe_dyes").set_value("only the dyes of the mix").run()
    assert "Out of reach" not in words_of(shown)
    shown.button(key="tint_all").click().run()
    assert not shown.exception and "Out of reach by" in words_of(shown)
    assert "lighter" in words_of(shown)


def test_a_reading_after_a_coat_plans_the_rest() -> None:
    shown = opened()
    assert "Let the coat dry" in words_of(shown)
    changed(shown, painted="1", reads="75 -19 26")
    assert re.search(r"coat|stop", words_of(shown), re.I) and not shown.exception
    changed(shown, reads="some green")
    assert "It reads, dry: write" in words_of(shown)


def test_a_slider_says_the_target_against_the_part() -> None:
    shown = opened()
    shown.slider(key="tint_darker").set_value(20).run()
    assert shown.text_input(key="tint_target").value == "68.5 -0.8 6.5"


def test_a_mix_without_dye_has_no_ladder_and_no_recipe_of_its_own() -> None:
    shown = opened(dye1="none")
    assert "Choose a dye" in words_of(shown)
    shown.radio(key="tint_recipe_dyes").set_value("only the dyes of the mix").run()
    assert "no dye in the mix" in words_of(shown)


def test_dyes_learned_from_the_log_take_the_place_of_estimates() -> None:
    demo_log()
    shown = opened()
    assert shown.selectbox(key="tint_dye1").value == "reed green (learned)"
    assert shown.selectbox(key="tint_base").value == "off-white TPU (learned)"
    said = words_of(shown)
    assert re.search(r"80 % band: [\d.]+ ΔE00", said)
    assert "Estimate" not in said and "Next best swatch" in words_of(
        graph("swatches, and the next to paint")
    )
    shown.selectbox(key="tint_base").set_value("natural TPU").run()
    assert "was learned on another base" in words_of(shown)


def test_a_link_with_a_learned_dye_falls_back_to_the_estimate_without_the_log() -> None:
    shown = opened(dye1="reed green (learned)")
    assert shown.selectbox(key="tint_dye1").value == "reed green"


def test_a_damaged_log_is_said_and_the_page_works_with_estimates(own_folder: Path) -> None:
    (own_folder / "swatches.sqlite3").write_bytes(b"no database at all" * 300)
    said = words_of(opened())
    assert "is damaged" in said and "the dyes are estimates" in said and "likely to match" in said


def test_the_tint_of_a_design_goes_there_and_back() -> None:
    def both() -> None:
        import streamlit as st

        from tinting.pages.tint import fill_tint, show_tint_page, typed_tint

        st.session_state["kept"] = typed_tint()
        st.button("fill", key="fill", on_click=fill_tint, args=(st.session_state.get("other"),))
        show_tint_page()

    shown = AppTest.from_function(both, default_timeout=60)
    shown.query_params["tint_coats"] = "4"
    shown.run()
    kept = shown.session_state["kept"]
    assert kept["coats"] == 4 and kept["mix"][0]["share"] == pytest.approx(0.1)
    dye = {**kept["mix"][0]["dye"], "name": "moss"}
    shown.session_state["other"] = {**kept, "coats": 3, "mix": [{"dye": dye, "share": 0.2}]}
    shown.run()
    shown.button(key="fill").click().run()
    assert not shown.exception
    assert shown.selectbox(key="tint_dye1").value == "moss (design)"
    assert shown.text_input(key="tint_coats").value == "3"
    assert "The tint of the design is in the fields now" in words_of(shown)
    shown.session_state["other"] = {"name": "broken"}
    shown.run()
    shown.button(key="fill").click().run()
    assert not shown.exception and "cannot be edited here" in words_of(shown)


def test_limits_bind_the_recipes_and_the_batch_follows_the_surface() -> None:
    shown = changed(opened(mixed="what the surface takes with its coats"), mostcoats="2", area="80")
    said = words_of(shown)
    assert not re.search(r"mL, [345] coats", said) and "to 10 mL" not in said
    shown.button(key="tint_use_1").click().run()
    coats = int(shown.text_input(key="tint_coats").value)
    batch = float(shown.text_input(key="tint_batch").value)
    # the house's 0.5 mL per 100 cm2 and coat, times 1.5 for losses
    assert batch == pytest.approx(80 / 100 * 0.5 * coats * 1.5)
    assert "nothing left over" in words_of(shown)
    changed(shown, mostdyes="4")
    assert "Most dyes in a mix: from 1 to 3" in words_of(shown)


def test_drops_moved_since_are_said_beside_the_recipe() -> None:
    form = {"dye1": "reed green", "parts1": "8", "dye2": "none", "parts2": "1", "dye3": "none",
            "parts3": "1", "coats": "2", "alcohol": "304"}  # fmt: skip
    labels = dict.fromkeys(form, "Coats")
    now = {**form, "parts1": "11", "dye2": "umber brown", "parts2": "1", "coats": "3"}
    assert moved_words(form, now, labels) == [
        "+ 3 drops of reed green",
        "with 1 drop of umber brown instead of no dye",
        "with coats 2 → 3",
    ]
    assert moved_words(form, {**form, "parts1": "7", "parts3": "9"}, labels) == [
        "− 1 drop of reed green"
    ]


def test_some_dyes_alone_are_searched_with_when_they_are_picked() -> None:
    shown = opened()
    shown.radio(key="tint_recipe_dyes").set_value("some of them").run()
    shown.multiselect(key="tint_recipe_picked").set_value(["umber brown"]).run()
    said = words_of(shown)
    assert re.search(r": \d+ umber brown drops", said)
    assert not re.search(r": \d+ (reed green|marsh yellow)", said) and not shown.exception


def test_a_faded_part_is_brought_back() -> None:
    shown = changed(opened(), faded="72 -18 26")
    said = words_of(shown)
    assert "It reads CIELAB 72.0 -18.0 26.0" in said and re.search(r"coat|stop", said, re.I)
    changed(shown, faded="5 0 0")
    assert any("got" in str(each.value) for each in shown.error)


def graph(name: str, **link: str) -> AppTest:
    return opened_fold("known", name, **link)


def test_the_map_names_the_hue_that_the_dyes_lack() -> None:
    said = words_of(graph("colours in reach", target="50 -40 -12"))
    assert re.search(r"7 dyes reach L\* \d+ to 88, farthest in orange", said)
    assert "The target is turquoise: a dye of that hue is what it takes." in said
    assert "In the target's hue chroma at its lightness goes up to" in said
    assert len(graph("colours in reach").get("vega_lite_chart")) == 2


def test_graphs_are_worked_out_once_their_fold_is_opened() -> None:
    shown = opened()
    assert not shown.get("vega_lite_chart") and "dyes reach L*" not in words_of(shown)


def test_what_is_known_of_a_dye_is_shown_as_curves_and_said_in_words() -> None:
    assert "No swatch of it yet" in words_of(graph("dilution of one dye"))
    for name in ("predicted against measured", "doubt against swatches"):
        assert "It takes" in words_of(graph(name))
    assert "Log one swatch again" in words_of(graph("drift while drying"))
    demo_log()
    assert "Dots: 3 swatches as they read." in words_of(graph("dilution of one dye"))
    assert "Each of 3 swatches, predicted by" in words_of(graph("predicted against measured"))
    said = words_of(graph("doubt against swatches"))
    found = re.search(r"swatches: ([\d.]+) with 1, ([\d.]+) with 2, ([\d.]+) with 3", said)
    assert found and float(found[1]) > float(found[2]) > float(found[3])
    rows = (FOLDER / "demo" / "swatches.csv").read_text(encoding="utf-8").splitlines()
    again = rows[1].replace("000000000001", "000000000009").replace("99,30,68.0", "99,10080,66.1")
    import_csv("\n".join([rows[0], again]).encode())
    said = words_of(graph("drift while drying"))
    # lightness alone has moved, 68.0 to 66.1: Sharma, Wu and Dalal (2005), equation 22
    weight = 1 + 0.015 * (67.05 - 50) ** 2 / (20 + (67.05 - 50) ** 2) ** 0.5
    assert f"3 coats {1.9 / weight:.1f} at 1 week" in said


def test_a_wrong_room_leaves_the_colours_as_they_are_typed() -> None:
    shown = opened(target="60 -10 20", room="lots")
    said = words_of(shown)
    assert "Closed room: write 30 m³ or 1000 ft³; got “lots”." in said
    assert "the colours are as typed" in said
    for room in ("lots", "1000 ft³"):
        changed(shown, room=room, target="55 -8 15")
        assert hex_from_lab((55, -8, 15)) in words_of(shown)


def test_areas_are_said_in_inches_where_these_are_chosen() -> None:
    shown = opened_page(page, units="inch", tint_area="10 in²")
    shown.session_state["tint_fold_mix"] = True
    assert "10 in² take about" in words_of(shown.run())
