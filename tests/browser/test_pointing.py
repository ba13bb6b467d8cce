"""Pictures to point at: dragged, tapped and boxed by pointer, by touch and by keys."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.kit import faults, opened, require_browser, served_app, settle

PAGE = Path(__file__).with_name("pointing_page.py")


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    require_browser()
    with served_app(tmp_path_factory.mktemp("pointing"), script=PAGE) as address:
        yield address


def ready(page: Any) -> None:
    page.get_by_role("slider", name="Swing").wait_for()
    settle(page)


def told(page: Any, words: str) -> str:
    """The last thing that the page was told, once it begins so."""
    found = page.get_by_text(re.compile("^" + re.escape(words))).last
    found.wait_for()
    return str(found.text_content())


def middle(element: Any) -> tuple[float, float]:
    box = element.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_bend_is_turned_and_the_limb_follows_before_the_hand_lets_go(
    browser: Any, url: str
) -> None:
    with opened(browser, url, 1000) as page:
        ready(page)
        angle = page.get_by_role("slider", name="Angle of bend 1")
        assert angle.get_attribute("aria-valuetext") == "40 °"
        x, y = middle(angle)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x - 20, y - 60, steps=4)
        first = page.locator("path.line").get_attribute("d")
        now = float(angle.get_attribute("aria-valuenow"))
        assert 45 < now < 75  # up is a positive angle
        page.mouse.move(x - 25, y - 80, steps=2)
        assert page.locator("path.line").get_attribute("d") != first
        assert page.get_by_text("Moved").count() == 0
        page.mouse.up()
        assert f"value={angle.get_attribute('aria-valuenow')}" in told(page, "Moved(key='angle'")


def test_escape_lets_go_of_what_was_dragged(browser: Any, url: str) -> None:
    with opened(browser, url, 1000) as page:
        ready(page)
        angle = page.get_by_role("slider", name="Angle of bend 1")
        x, y = middle(angle)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x - 20, y - 60, steps=4)
        page.keyboard.press("Escape")
        page.mouse.up()
        settle(page)
        assert angle.get_attribute("aria-valuenow") == "40"
        assert page.get_by_text("Moved").count() == 0


def test_the_same_by_keys_and_it_is_spoken(browser: Any, url: str) -> None:
    with opened(browser, url, 1000) as page:
        ready(page)
        angle = page.get_by_role("slider", name="Angle of bend 1")
        angle.focus()
        for key, value in (
            ("ArrowLeft", "39"),
            ("PageUp", "49"),
            ("Shift+ArrowDown", "39"),
            ("End", "120"),
            ("ArrowRight", "120"),
        ):
            page.keyboard.press(key)
            assert angle.get_attribute("aria-valuetext") == f"{value} °"
        assert "value=120" in told(page, "Moved(key='angle', value=120")
        settle(page)
        assert page.evaluate("document.activeElement.shadowRoot !== null")  # the focus stays
        page.keyboard.press("Delete")
        told(page, "Removed(key='angle')")
        swing = page.get_by_role("slider", name="Swing")
        swing.focus()
        page.keyboard.press("Home")
        assert "value=-90" in told(page, "Moved(key='swing'")


@pytest.mark.parametrize("width", [1000, 390])
def test_a_box_and_a_tap(browser: Any, url: str, width: int) -> None:
    with opened(browser, url, width) as page:
        ready(page)
        picture = page.get_by_role("img", name="A photo")
        picture.scroll_into_view_if_needed()
        box = picture.bounding_box()
        unit = box["width"] / 400
        page.mouse.move(box["x"] + 200 * unit, box["y"] + 100 * unit)
        page.mouse.down()
        page.mouse.move(box["x"] + 300 * unit, box["y"] + 220 * unit, steps=3)
        page.mouse.up()
        found = [float(each) for each in re.findall(r"=([0-9.]+)", told(page, "Boxed("))]
        assert found == pytest.approx([200, 100, 300, 220], abs=2)
        settle(page)
        page.mouse.click(box["x"] + 100 * unit, box["y"] + 200 * unit)
        found = [float(each) for each in re.findall(r"=([0-9.]+)", told(page, "Tapped("))]
        assert found == pytest.approx([100, 200], abs=2)


def test_a_finger_taps_and_drags(browser: Any, url: str) -> None:
    with opened(browser, url, 390, has_touch=True, is_mobile=True) as page:
        ready(page)
        picture = page.get_by_role("img", name="A mesh")
        picture.scroll_into_view_if_needed()
        x, y = middle(picture)
        page.touchscreen.tap(x, y)
        found = [float(each) for each in re.findall(r"=([0-9.]+)", told(page, "Tapped("))]
        assert found == pytest.approx([150, 100], abs=2)
        corner = page.get_by_role("slider", name="Corner of the card")
        corner.scroll_into_view_if_needed()
        x, y = middle(corner)
        finger = page.context.new_cdp_session(page)
        for kind, place in (("touchStart", x), ("touchMove", x + 20), ("touchMove", x + 40)):
            points = [{"x": place, "y": y}]
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        told(page, "Moved(key='corner'")


def test_a_box_and_a_tap_by_keys(browser: Any, url: str) -> None:
    with opened(browser, url, 1000) as page:
        ready(page)
        cross = page.get_by_role("slider", name="Place on the picture")
        cross.first.focus()
        page.keyboard.press("Enter")
        for _ in range(3):
            page.keyboard.press("Shift+ArrowRight")
            page.keyboard.press("Shift+ArrowDown")
        page.keyboard.press("Enter")
        found = [float(each) for each in re.findall(r"=([0-9.]+)", told(page, "Boxed("))]
        assert found == pytest.approx([200, 150, 260, 210])
        cross.last.focus()
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Enter")
        found = [float(each) for each in re.findall(r"=([0-9.]+)", told(page, "Tapped("))]
        assert found == pytest.approx([150, 98.5])


def test_a_photo_is_enlarged_under_the_pointer(browser: Any, url: str) -> None:
    with opened(browser, url, 1000) as page:
        ready(page)
        picture = page.get_by_role("img", name="A photo")
        picture.scroll_into_view_if_needed()
        page.mouse.move(*middle(picture))
        loupe = page.locator(".loupe:visible")
        assert loupe.count() == 1
        assert "data:image/png" in loupe.evaluate("each => each.style.backgroundImage")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_can_be_read(browser: Any, url: str, scheme: str) -> None:
    with opened(browser, url, 390, color_scheme=scheme) as page:
        ready(page)
        assert faults(page) == []
