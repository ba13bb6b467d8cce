"""Posing the limb on its drawing, and how much of the page is seen before anything is opened."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.kit import VISIBLE_FIELDS, WORDS, holds_text, opened, settle, typed

ENDS_WITH = "How this is worked out"
STATUS = '[role="status"][aria-live="polite"]'
MOST_FIELDS, MOST_WORDS = 14, 500


def shown(page: Any) -> None:
    page.get_by_text(ENDS_WITH).wait_for()
    page.get_by_role("slider", name="Turn bend 1").wait_for()
    settle(page)


def handle(page: Any, name: str) -> Any:
    return page.get_by_role("slider", name=name)


def middle(element: Any) -> tuple[float, float]:
    box = element.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def status(page: Any) -> str:
    return str(page.locator(STATUS).first.text_content())


@pytest.mark.parametrize("width", [1280, 390])
def test_a_bend_is_turned_on_the_drawing(browser: Any, browsed_url: str, width: int) -> None:
    with opened(browser, browsed_url + "/limb", width) as page:
        shown(page)
        said = status(page)
        turn = handle(page, "Turn bend 2")
        x, y = middle(turn)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 5, y + 12, steps=4)
        now = turn.get_attribute("aria-valuenow")
        assert now != "-100"
        assert page.locator("path.line").count() == 1  # the script draws it meanwhile
        holds_text(page, "Bend 2 angle", "-100")
        page.mouse.up()
        holds_text(page, "Bend 2 angle", now)
        page.wait_for_url(f"**limb_angle2={now}*")
        page.wait_for_function(
            "([place, old]) => document.querySelector(place)?.textContent !== old",
            arg=[STATUS, said],
        )
        settle(page)
        expect(turn).to_have_attribute("aria-valuenow", now)
        page.get_by_role("button", name="Undo (1)").click()
        holds_text(page, "Bend 2 angle", "-100")
        expect(turn).to_have_attribute("aria-valuenow", "-100")


@pytest.mark.parametrize(
    ("name", "key", "field", "text"),
    [
        ("Turn the clamp", "ArrowRight", "Direction at the clamp", "121"),
        ("Hang a weight", "PageUp", "Weight at the tip", "22"),
        ("Move bend 1", "ArrowRight", "Bend 1 starts at", "13"),
        ("Turn bend 1", "ArrowDown", "Bend 1 angle", "49"),
        ("Open or close bend 1", "ArrowUp", "Bend 1 radius", "46"),
    ],
)
def test_every_handle_has_keys_and_a_field(
    browser: Any, browsed_url: str, name: str, key: str, field: str, text: str
) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        one = handle(page, name)
        one.focus()
        page.keyboard.press(key)
        page.wait_for_function(
            "([label, text]) => [...document.querySelectorAll('input')].some(each =>"
            " each.ariaLabel?.startsWith(label) && each.value === text)",
            arg=[field, text],
        )
        settle(page)
        assert one.get_attribute("aria-valuetext").startswith(text)
        assert one.evaluate("each => each.getRootNode().activeElement === each")


def test_a_bend_is_swung_on_the_view_from_above(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        swing = handle(page, "Swing bend 1")
        assert swing.count() == 0
        page.get_by_role("button", name="From above").click()
        swing.wait_for()
        settle(page)
        x, y = middle(swing)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x, y - 40, steps=4)
        now = int(swing.get_attribute("aria-valuenow"))
        assert 10 < now < 170  # up on the view from above is to the left
        assert page.locator("path.line").count() == 2  # the set shape follows in both views
        page.mouse.up()
        holds_text(page, "Bend 1 swings left", str(now))
        settle(page)
        swing.focus()
        page.keyboard.press("ArrowLeft")
        assert swing.get_attribute("aria-valuetext") == f"{now - 1} °"
        holds_text(page, "Bend 1 swings left", str(now - 1))
        settle(page)
        page.get_by_text("the hand turns by").wait_for()


def test_a_typed_field_moves_its_handle(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        typed(page, "Bend 1 angle", "30")
        expect(handle(page, "Turn bend 1")).to_have_attribute("aria-valuenow", "30")


def test_a_bend_is_added_and_removed(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        handle(page, "Turn bend 2").focus()
        page.keyboard.press("Delete")
        expect(handle(page, "Turn bend 2")).to_have_count(0)
        settle(page)
        page.get_by_role("button", name="Add a bend").click()
        expect(handle(page, "Turn bend 2")).to_have_attribute("aria-valuenow", "40")
        settle(page)
        assert page.get_by_test_id("stAlertContentError").count() == 0


@pytest.mark.parametrize("width", [1280, 390])
def test_the_answer_stays_in_sight_while_the_last_field_is_edited(
    browser: Any, browsed_url: str, width: int
) -> None:
    with opened(browser, browsed_url + "/limb", width) as page:
        page.set_viewport_size({"width": width, "height": 900 if width == 1280 else 844})
        shown(page)
        field = page.get_by_label("Bend it should keep")
        field.scroll_into_view_if_needed()
        field.focus()
        high = page.viewport_size["height"]
        for part in (".headline", ".chance .bar", "path.at-rest"):
            box = page.locator(part).first.bounding_box()
            assert box["y"] >= 0 and box["y"] + box["height"] <= high, part
        top = page.locator(".st-key-limb_answer").bounding_box()
        if width == 390:
            assert top["height"] < 0.4 * high
        place = field.bounding_box()
        assert place["y"] > 0 and place["y"] + place["height"] < high
        below = place["y"] >= top["y"] + top["height"]
        assert below or place["x"] > top["x"] + top["width"]


def test_little_is_asked_and_said_before_anything_is_opened(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        assert page.evaluate(VISIBLE_FIELDS) <= MOST_FIELDS
        assert page.evaluate(WORDS) <= MOST_WORDS


def test_what_would_make_it_hold_is_adopted_and_undone(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb?limb_wire=2.4") as page:
        shown(page)
        page.get_by_text("What would make it hold").wait_for()
        adopt = page.get_by_role("button", name="Adopt").first
        adopt.wait_for(timeout=60_000)
        settle(page)
        said = status(page)
        adopt.click()
        page.wait_for_function(
            "([place, old]) => document.querySelector(place)?.textContent !== old",
            arg=[STATUS, said],
        )
        settle(page)
        page.get_by_role("button", name="Undo (1)").click()
        page.wait_for_function(
            "([place, old]) => document.querySelector(place)?.textContent === old",
            arg=[STATUS, said],
        )


def test_a_new_user_reaches_a_verdict_in_eight_inputs(browser: Any, browsed_url: str) -> None:
    inputs = 0

    def done(act: Any, *given: Any) -> None:
        nonlocal inputs
        inputs += 1
        act(*given)
        settle(page)

    with opened(browser, browsed_url + "/start") as page:
        done(page.get_by_role("button", name="Straight limb").click)
        page.get_by_text(ENDS_WITH).wait_for()
        settle(page)
        done(typed, page, "Length from clamp to tip", "120")
        done(typed, page, "Outside diameter (", "9")
        done(typed, page, "Wire diameter", "AWG 12")
        done(page.get_by_role("button", name="Add a bend").click)
        done(typed, page, "Bend 1 angle", "60")
        done(typed, page, "Weight at the tip", "8 g")
        assert inputs <= 8
        assert "likely to hold as you ask" in page.locator(".chance").inner_text()
        assert "No bend" not in status(page) and page.locator("path.at-rest").count() == 1
        line = page.get_by_text("Assumed: ")
        link = line.get_by_role("link", name="wall 1.6 mm")
        assert line.get_by_role("link", name="upright").count() == 1
        link.focus()
        page.keyboard.press("Enter")
        field = page.get_by_label("Wall thickness")
        expect(field).to_be_focused()
        assert field.is_visible()
