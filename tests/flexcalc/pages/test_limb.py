"""The limb page, driven without a browser: the demo, a refusal, a caution, links and undo."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from flexcalc.forms.limb_form import DEFAULTS, plan_from_form
from flexcalc.pages.limb.remedies import adopted_form
from flexcalc.paper.answers import remedies_for
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")

APP = str(Path(__file__).parents[3] / "app.py")


def limb_page() -> None:
    from flexcalc.pages.limb import show_limb_page

    show_limb_page()


def said_in(shown: Any) -> str:
    """What an error says, without the strokes that keep a user's signs from being markup."""
    return re.sub(r"\\([\W_])", r"\1", str(shown.value))


def opened(**link: str) -> AppTest:
    return opened_page(limb_page, **link)


def test_a_link_to_the_address_without_a_page_opens_the_limb() -> None:
    page = opened_page(APP, limb_length="151")
    assert page.text_input(key="limb_length").value == "151"


def opened_fold(name: str, **link: str) -> AppTest:
    """The page with one of its folds opened."""
    page = opened(**link)
    page.session_state[f"limb_fold_{name}"] = True
    return page.run()


def drawn(page: AppTest) -> set[str]:
    """The keys of the fields that are drawn."""
    return {str(each.key) for each in (*page.text_input, *page.selectbox)}


def test_a_closed_fold_draws_what_is_typed_or_refused_and_an_open_one_all() -> None:
    page = opened(
        limb_wall="2.2", limb_further="x", limb_angle2="", limb_start2="", limb_radius2=""
    )
    of_folds = {"limb_wall", "limb_infill", "limb_further", "limb_hold"}
    assert drawn(page) & of_folds == {"limb_wall", "limb_further"}
    assert "limb_start2" in drawn(page) and "limb_start3" not in drawn(page)
    page.session_state["limb_fold_more_pose"] = True
    page.session_state["limb_bends"] = "Bend 3"
    page.run()
    assert drawn(page) & of_folds == of_folds - {"limb_infill"}
    assert "limb_start3" in drawn(page)


def test_what_was_typed_into_a_fold_stays_when_it_is_closed_and_goes_with_another_limb() -> None:
    page = opened_fold("more_limb")
    page.text_input(key="limb_wall").set_value("2.2").run()
    page.session_state["limb_fold_more_limb"] = False
    page.run()
    page.text_input(key="limb_length").set_value("155").run()
    assert page.text_input(key="limb_wall").value == "2.2"
    page.button(key="limb_undo_button").click().run()
    page.button(key="limb_undo_button").click().run()
    assert "limb_wall" not in drawn(page)
    page.session_state["limb_fold_more_limb"] = True
    page.run()
    assert page.text_input(key="limb_wall").value == DEFAULTS["wall"]
    page.button(key="limb_redo_button").click().run()
    assert page.text_input(key="limb_wall").value == "2.2"


def test_the_demo_answers_the_four_questions() -> None:
    page = opened()
    said = words_of(page)
    assert "% of the bend" in said  # holds its pose?
    assert "Draw the channel" in said  # which channel?
    assert "re-poses" in said  # how often?
    assert "kinks below R" in said  # does it kink?
    assert 'class="likely"' in said
    assert "Measure next" in said
    assert "likely to hold as you ask; you ask for 80%" in said
    assert "Four of five such limbs keep" in said


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("wires", "in every usual size | The smallest that holds"),  # kept if worked out before
        ("time", "How the pose changes with time"),
        ("section", "Bending stiffness of the section"),
        ("channel", "From the wire to the diameter to draw"),
        ("bend", "How far to bend so that it stays"),
        ("life", "Re-poses until a crack"),
        ("corner", "**Bend 1**"),
        ("checks", "Does it print without support?"),
        ("working", "Elastomer's pull"),
    ],
)
def test_details_are_worked_out_once_their_fold_is_opened(name: str, words: str) -> None:
    wanted = words.split(" | ")
    assert not any(each in words_of(opened()) for each in wanted)
    page = opened_fold(name)
    assert not page.exception
    assert any(each in words_of(page) for each in wanted)


def test_every_remedy_can_be_adopted() -> None:
    """A form asks for the very limb and setting that were promised, also when bent further."""
    for changes in ({"wire": "2.4"}, {"places": "1"}):
        form = {**DEFAULTS, **changes}
        plan = plan_from_form(form)
        found = remedies_for(plan)
        assert found
        for remedy in found:
            changed = adopted_form(form, plan, remedy)
            assert changed is not None, remedy.title
            made = plan_from_form({**form, **changed})
            assert (made.limb, made.setting) == (remedy.limb, remedy.setting)


def test_poses_are_added_ordered_and_taken_out() -> None:
    page = opened_fold("poses", limb_bent="round a former")
    page.text_input(key="limb_pose_name").set_value("resting").run()
    page.button(key="limb_pose_add").click().run()
    assert page.text_input(key="limb_poses").value == "resting: 12 50 45; 75 -100 42"
    page.text_input(key="limb_angle1").set_value("20").run()
    page.text_input(key="limb_pose_name").set_value("looking").run()
    page.button(key="limb_pose_add").click().run()
    assert not page.exception and not page.error
    assert "1. resting" in words_of(page) and "2. looking" in words_of(page)
    table = words_of(page).partition("Every check in every pose")[2]
    assert all(name in table for name in ("resting", "looking", "all", "kink?"))
    page.button(key="limb_pose_up1").click().run()
    assert page.text_input(key="limb_poses").value.startswith("looking: 12 20 45")
    page.button(key="limb_pose_out0").click().run()
    assert page.text_input(key="limb_poses").value == "resting: 12 50 45; 75 -100 42"
    assert not page.exception and not page.error


def test_a_half_typed_bend_blanks_nothing_and_says_what_is_missing() -> None:
    page = opened(limb_start2="", limb_angle2="", limb_radius2="")
    before = words_of(page)
    page.text_input(key="limb_start2").set_value("90").run()
    assert not page.exception
    assert not page.error
    assert any("Still missing: write 50" in said_in(told) for told in page.info)
    assert 'class="likely"' in words_of(page) and "Still the limb before" in words_of(page)
    assert re.findall(r"Four of five[^<]*", before) == re.findall(
        r"Four of five[^<]*", words_of(page)
    )
    page.text_input(key="limb_angle2").set_value("-40").run()
    page.text_input(key="limb_radius2").set_value("50").run()
    assert not page.error and "Still the limb before" not in words_of(page)


def test_while_a_field_is_refused_the_others_are_answered() -> None:
    page = opened()
    before = words_of(page)
    page.text_input(key="limb_length").set_value("1oo").run()
    assert answer_in(words_of(page)) == answer_in(before)
    page.text_input(key="limb_payload").set_value("60").run()
    assert "Still the limb before" in words_of(page)
    assert answer_in(words_of(page)) != answer_in(before)
    assert answer_in(words_of(page)) == answer_in(words_of(opened(limb_payload="60")))


def answer_in(words: str) -> list[str]:
    return re.findall(r'class="headline">([^<]*)', words)


def test_a_refusal_stands_at_its_field_and_nothing_typed_is_lost() -> None:
    page = opened()
    page.text_input(key="limb_wire").set_value("14 gauge")
    page.text_input(key="limb_length").set_value("155").run()
    assert not page.exception
    assert any("AWG" in said_in(error) and "write 2" in said_in(error) for error in page.error)
    assert page.text_input(key="limb_wire").value == "14 gauge"
    assert page.text_input(key="limb_length").value == "155"


def test_a_wire_too_thick_for_its_channel_is_refused_at_the_wire() -> None:
    page = opened(limb_wire="AWG 4", limb_channel="3.5")
    assert any("Wire diameter: at most" in said_in(error) for error in page.error)


def test_what_a_channel_makes_the_wire_refuse_is_said_at_both_until_it_is_mended() -> None:
    page = opened_fold("more_wire")
    page.text_input(key="limb_channel").set_value("2").run()
    said = [said_in(error) for error in page.error if "Wire diameter: at most" in said_in(error)]
    assert len(said) == 2
    page.text_input(key="limb_payload").set_value("5").run()
    assert sum("Wire diameter: at most" in said_in(error) for error in page.error) == 2
    page.text_input(key="limb_channel").set_value("3.1").run()
    assert not page.error


def test_a_headline_does_not_say_holds_where_another_check_fails() -> None:
    (said,) = answer_in(words_of(opened(limb_curl_root="200", limb_curl_tip="400")))
    assert said.startswith("✗") and "olds" not in said


@pytest.mark.parametrize("metal", ["annealed low-carbon steel", "no wire"])
def test_a_limb_under_far_too_much_weight_is_answered(metal: str) -> None:
    page = opened(limb_payload="4900", limb_metal=metal)  # one falls, the other hangs slack
    assert not page.exception and not page.error
    assert "does not hold" in words_of(page).lower() or "0% likely" in words_of(page)


def test_a_caution_is_shown() -> None:
    page = opened(limb_metal="no wire")
    assert "Without a wire" in words_of(page)
    assert "There is no wire in it" in words_of(page)


def test_a_link_reopens_the_state() -> None:
    page = opened(limb_wire="SWG 10", limb_channel="1/8 in", limb_sleeve="1,2")
    assert page.text_input(key="limb_wire").value == "SWG 10"
    assert "3.251 mm" in words_of(page)


def test_the_link_shown_opens_the_same_limb() -> None:
    page = opened(limb_wire="SWG 10", limb_channel="4")
    page.session_state["limb_fold_links"] = True
    page.run()
    link = next(code.value for code in page.code if "limb_wire=" in code.value)
    query = dict(parse_qsl(link.split("?")[1]))
    assert query == {"limb_wire": "SWG 10", "limb_channel": "4"}
    assert opened(**query).text_input(key="limb_wire").value == "SWG 10"


@pytest.mark.parametrize("junk", ["", "<script>alert(1)</script>", "1e999", "\x00", "🐟" * 50])
def test_hostile_links_are_refused_in_words(junk: str) -> None:
    page = opened(limb_length=junk)
    assert any("Length from clamp to tip: " in said_in(error) for error in page.error)


def test_undo_and_redo_walk_through_the_changes() -> None:
    page = opened()
    page.text_input(key="limb_length").set_value("120").run()
    page.text_input(key="limb_payload").set_value("5").run()
    page.button(key="limb_undo_button").click().run()
    assert page.text_input(key="limb_payload").value == "12"
    assert page.text_input(key="limb_length").value == "120"
    page.button(key="limb_undo_button").click().run()
    assert page.text_input(key="limb_length").value == "160"
    page.button(key="limb_redo_button").click().run()
    assert page.text_input(key="limb_length").value == "120"
    assert not page.exception


def test_a_tapered_limb_with_a_pose_before_is_answered() -> None:
    page = opened(
        limb_outline="round", limb_tip_diameter="9", limb_curl_tip="400",
        limb_before="20 -40 45 then straight", limb_before_time="2; 1",
    )  # fmt: skip
    assert not page.exception
    assert not any(" must be " in said_in(error) for error in page.error)
    assert "% of the bend" in words_of(page)
    assert page.text_input(key="limb_before").value == "20 -40 45 then straight"


def test_what_is_refused_behind_a_fold_is_said_there() -> None:
    page = opened(limb_pause="0", limb_curl_root="0.2")
    refusals = [said_in(error) for error in page.error]
    assert any("a radius of at least 1 mm" in one for one in refusals)
    page.text_input(key="limb_curl_root").set_value("").run()
    assert any("Let go between two presses for: from 1 s" in said_in(error) for error in page.error)


@pytest.mark.parametrize("name", ["Straight limb", "Heron leg", "Arm", "Tail", "Tentacle"])
def test_every_preset_opens(name: str) -> None:
    page = opened()
    page.session_state["limb_starts"] = True
    page.run()
    page.button(key=f"limb_preset_{name}").click().run()
    assert not page.exception
    assert not page.error or "of the bend" in str(page.error[0].value)


def test_of_a_limb_that_leaves_its_plane_it_is_said_how_its_hand_turns() -> None:
    page = opened(limb_swing2="90", limb_direction="90")
    said = words_of(page)
    assert "the hand turns by" in said
    assert "if the wire turns in its channel" in said
    assert "the hand turns by" not in words_of(opened(limb_swing2="180"))
    fold = words_of(opened_fold("channel", limb_swing2="90"))
    assert "into a slot" in fold


def test_the_outline_that_other_pages_show_is_that_of_the_limb_as_set() -> None:
    def page() -> None:
        import streamlit as st

        from flexcalc.pages.limb import typed_outline

        st.session_state["outline"] = typed_outline()

    limb = opened_page(page, "limb_").session_state["outline"]
    x, y = limb.T
    area = abs((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2  # shoelace formula
    sides = np.hypot(*np.diff(limb, axis=0).T)
    # a bent strip: area and perimeter give its length and thickness back (Pappus)
    root, tip = sides[len(sides) // 2], np.hypot(*(limb[0] - limb[-1]))
    assert root == pytest.approx(tip) and area / root == pytest.approx(0.16, rel=0.01)
    refused = opened_page(page, "limb_", length="9o").session_state["outline"]
    assert refused.shape == limb.shape and (refused == limb).all()
