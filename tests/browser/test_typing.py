"""Typing on while the page answers: no cursor and no letter is lost, whatever comes and goes."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.kit import (
    faults,
    holds_text,
    opened,
    settle,
    typed,
    unfold,
)

TITLES = {
    "": "Start", "tint": "Tint", "bottles": "Bottles", "figure": "Figure", "bench": "Bench",
    "swatches": "Swatch log",
}  # fmt: skip


def on_limb(page: Any) -> None:
    page.get_by_text("How this is worked out").wait_for()


def with_a_refusal(page: Any) -> None:
    on_limb(page)
    typed(page, "Length from clamp to tip", "a hand")
    page.get_by_text("Length from clamp to tip: write").wait_for()


def with_a_limb(page: Any) -> None:
    page.get_by_role("button", name="Add the limb typed on the page Limb").click()
    page.get_by_text("Added Neck.").last.wait_for()


def with_a_swatch(page: Any) -> None:
    typed(page, "Measured colour", "60 -20 25")
    holds_text(page, "Measured colour", "60 -20 25")
    settle(page)
    page.get_by_role("button", name="Add to the log").click()
    page.get_by_text("Added, and safe on the disk").last.wait_for()


def with_a_kept_filament(page: Any) -> None:
    typed(page, "Tip below the clamp", "30")
    page.get_by_role("button", name=re.compile("^Keep")).first.click()
    page.get_by_text("Kept my TPU").last.wait_for()


CASES = {
    "a refusal comes": ("/limb", on_limb, "Length from clamp", "a hand", "Bend 1 radius"),
    "a refusal goes": ("/limb", with_a_refusal, "Length from clamp", "165", "Bend 1 radius"),
    "answers change": ("/limb", on_limb, "Length from clamp", "165", "Weight at the tip"),
    "a limb was added": ("/figure", with_a_limb, "Name of the figure", "Heron", "Note for the"),
    "a swatch was added": ("/swatches", with_a_swatch, "Parts of alcohol", "5", "Coats"),
    "a filament was kept": ("/bench", with_a_kept_filament, "Strip beyond", "121", "Thick"),
}


@pytest.mark.parametrize(
    ("path", "before", "first", "text", "second"), CASES.values(), ids=CASES.keys()
)
def test_typing_goes_on_while_the_page_answers(
    browser: Any,
    browsed_url: str,
    path: str,
    before: Callable[[Any], None],
    first: str,
    text: str,
    second: str,
) -> None:
    with opened(browser, browsed_url + path) as page:
        before(page)
        settle(page)
        typed(page, first, text)
        field = page.get_by_label(re.compile(f"^{second}")).first
        field.focus()
        field.evaluate("each => { window.typedInto = each }")
        page.keyboard.press("Control+a")
        page.keyboard.type("4")
        page.wait_for_timeout(700)  # the answer to the first field comes and is drawn
        settle(page)
        page.keyboard.type("2")
        assert page.evaluate("document.activeElement === window.typedInto")
        assert page.evaluate("document.activeElement.value") == "42"


def a_wrong_room_is_marked_until_it_is_mended(page: Any) -> None:
    room = page.get_by_label(re.compile("^Closed room"))
    typed(page, "Closed room", "lots")
    expect(room).to_have_attribute("aria-invalid", "true")
    expect(room).to_have_attribute("aria-description", re.compile("write 30 m³ or"))
    typed(page, "Closed room", "1000 ft³")
    page.get_by_text("= 28.32 m³").wait_for()
    expect(room).not_to_have_attribute("aria-invalid", "true")
    settle(page)


@pytest.mark.parametrize(
    ("width", "scheme", "forced"),
    [(1280, "light", "none"), (390, "dark", "none"), (390, "dark", "active")],
)
def test_every_other_page_can_be_read(
    browser: Any, browsed_url: str, width: int, scheme: str, forced: str
) -> None:
    options = {"color_scheme": scheme, "forced_colors": forced}
    with opened(browser, browsed_url, width, **options) as page:
        for path, title in TITLES.items():
            page.goto(f"{browsed_url}/{path}")
            page.get_by_role("heading", level=1).wait_for()
            if path == "tint":
                page.get_by_text("80 % band").first.wait_for()
                for fold in ("What my dyes reach", "How this is worked out"):
                    page.get_by_text(fold).click()
                page.get_by_text("farthest in").wait_for()
            settle(page)
            wide = page.evaluate("[document.documentElement, document.querySelector('#stMain')]"
                                 ".map(each => each.scrollWidth - each.clientWidth)")  # fmt: skip
            assert (path, wide) == (path, [0, 0])
            assert page.title().startswith(f"{title} · ")
            if path == "tint" and forced == "none":
                unfold(page)
                a_wrong_room_is_marked_until_it_is_mended(page)
            assert (path, faults(page)) == (path, [])
            assert (path, page.get_by_test_id("stException").all_inner_texts()) == (path, [])


def test_a_recipe_is_at_most_twenty_tabs_away(browser: Any, browsed_url: str) -> None:
    with opened(browser, f"{browsed_url}/tint") as page:
        page.get_by_role("button", name="Use recipe 1").wait_for()
        settle(page)
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Skip to main content"
        page.keyboard.press("Enter")
        for _ in range(19):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.textContent") == "Use recipe 1":
                break
        page.keyboard.press("Enter")
        page.get_by_text("Yours is recipe 1").wait_for()
