"""The limb page in a browser: looks, links, refusals, keyboard, screen reader and print."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.kit import (
    WORDS,
    faults,
    holds_text,
    opened,
    settle,
    typed,
    unfold,
)

DRAWING = '.st-key-limb_stage svg[role="img"]'
STATUS = '[role="status"][aria-live="polite"]'
FIRST_FIELD = "Outside diameter"
LENGTH = "Length from clamp to tip"
WIRE = "Wire diameter"
MOST_WORDS_OPEN = 2000
ENDS_WITH = "How this is worked out"
COLOURS = """() => {
  const rgb = (text) => text.match(/[0-9.]+/g).slice(0, 3).map(Number);
  const app = document.querySelector('[data-testid="stApp"]');
  const line = document.querySelector('.likely svg');
  return [rgb(getComputedStyle(line).color), rgb(getComputedStyle(app).backgroundColor)];
}"""


def shown(page: Any) -> None:
    """Wait until the page shows its last answer."""
    page.get_by_text(ENDS_WITH).wait_for()
    settle(page)


def lightness(rgb: list[float]) -> float:
    linear = [(v / 255 / 12.92 if v < 10 else ((v / 255 + 0.055) / 1.055) ** 2.4) for v in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: list[float], other: list[float]) -> float:
    light, dark = sorted((lightness(one), lightness(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("width", "scheme", "forced"),
    [(1280, "light", "none"), (390, "dark", "none"), (1280, "dark", "active")],
)
def test_it_can_be_seen_and_read(
    browser: Any, browsed_url: str, width: int, scheme: str, forced: str
) -> None:
    options = {"color_scheme": scheme, "forced_colors": forced}
    with opened(browser, browsed_url + "/limb", width, **options) as page:
        shown(page)
        drawing = page.locator(DRAWING).first
        drawing.wait_for()
        assert drawing.is_visible() and drawing.bounding_box()["width"] > 200
        assert (drawing.locator("title").text_content() or "").strip()
        assert "of the bend" in (drawing.locator("desc").text_content() or "")
        assert page.locator(STATUS).first.bounding_box()["width"] <= 2  # heard, not seen
        ink, paper = page.evaluate(COLOURS)
        assert contrast(ink, paper) > 7
        assert (lightness(paper) < 0.1) == (scheme == "dark")
        wide = page.evaluate("[document.documentElement, document.querySelector('#stMain')]"
                             ".map(each => each.scrollWidth - each.clientWidth)")  # fmt: skip
        assert wide == [0, 0]
        assert page.title().startswith("Limb · ")
        if forced == "none":
            unfold(page)
            assert 600 < page.evaluate(WORDS) <= MOST_WORDS_OPEN
        assert faults(page) == []


def test_a_gauge_is_echoed(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        typed(page, WIRE, "AWG 10")
        page.get_by_text("= 2.588 mm").wait_for()


@pytest.mark.parametrize("width", [1280, 390])
def test_a_refusal_stands_between_its_field_and_the_next(
    browser: Any, browsed_url: str, width: int
) -> None:
    with opened(browser, browsed_url + "/limb", width) as page:
        shown(page)
        typed(page, LENGTH, "a hand")
        refusal = page.get_by_text("Length from clamp to tip: write 90, 90 mm or 3 1/2 in")
        refusal.wait_for()
        marked = page.get_by_label(LENGTH)
        expect(marked).to_have_attribute("aria-invalid", "true")
        assert "write 90" in marked.get_attribute("aria-description")
        box = refusal.bounding_box()
        field = page.get_by_label(LENGTH).bounding_box()
        following = page.get_by_label("Outside diameter (").bounding_box()
        assert field["y"] < box["y"] < following["y"]
        assert field["x"] - 20 < box["x"] < field["x"] + field["width"]
        holds_text(page, LENGTH, "a hand")


def test_a_link_opens_the_same_limb_elsewhere(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        typed(page, LENGTH, "6 1/2 in")
        page.get_by_text("165.1 mm").first.wait_for()
        page.wait_for_url("**limb_length=*")
        shown(page)
        link, said = page.url, page.locator(STATUS).first.text_content()
    with opened(browser, link) as page:
        shown(page)
        holds_text(page, LENGTH, "6 1/2 in")
        assert page.locator(STATUS).first.text_content() == said


def test_what_a_closed_fold_holds_stays_in_the_link(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        fold = page.get_by_text("More about the limb")
        assert page.get_by_label("Wall thickness").count() == 0
        fold.click()
        typed(page, "Wall thickness", "2.2")
        page.wait_for_url("**limb_wall=2.2*")
        settle(page)
        fold.click()
        settle(page)
        typed(page, LENGTH, "151")
        page.wait_for_url("**limb_length=151*")
        settle(page)
        assert "limb_wall=2.2" in page.url
        page.reload()
        shown(page)
        fold.click()
        holds_text(page, "Wall thickness", "2.2")


def test_reload_and_a_look_at_other_pages_keep_what_was_typed_and_the_units(
    browser: Any, browsed_url: str
) -> None:
    with opened(browser, browsed_url + "/limb?units=inch") as page:
        shown(page)
        typed(page, LENGTH, "151")
        page.wait_for_url("**limb_length=151*")
        page.reload()
        shown(page)
        holds_text(page, LENGTH, "151")
        page.get_by_role("link", name="Figure").click()
        page.get_by_role("heading", name="The whole figure").wait_for()
        expect(page.get_by_label(re.compile("Results are shown in"))).to_have_value("inch")
        page.get_by_role("link", name="Limb", exact=True).click()
        shown(page)
        expect(page.locator(".headline").first).to_contain_text(
            re.compile(r"kinks below R [.0-9]+ in")
        )
        holds_text(page, LENGTH, "151")


def test_undo_takes_the_last_change_back(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        typed(page, LENGTH, "152")
        page.get_by_role("button", name="Undo (1)").click()
        page.get_by_role("button", name="Redo (1)").wait_for()
        page.wait_for_function("!location.search.includes('limb_length')")
        holds_text(page, LENGTH, "160")


def test_everything_is_reached_and_done_with_the_keyboard(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        before = page.locator(STATUS).first.text_content()
        # there are fewer than 40 stops before it; a part of the page that is still being replaced
        # on a busy machine sends the focus back to the top
        for _ in range(120):
            page.keyboard.press("Tab")
            label = page.evaluate("document.activeElement.getAttribute('aria-label') || ''")
            if label.startswith(FIRST_FIELD):
                break
        else:
            pytest.fail("the first field was not reached by tabbing")
        page.keyboard.press("Control+a")
        page.keyboard.type("9")
        page.keyboard.press("Enter")
        page.wait_for_url("**limb_diameter=9*")
        page.wait_for_function(
            "([place, old]) => document.querySelector(place)?.textContent !== old",
            arg=[STATUS, before],
        )


def test_a_screen_reader_hears_one_status_change(browser: Any, browsed_url: str) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        status = page.locator(STATUS).first
        before = status.text_content() or ""
        assert "of the bend" in before
        status.evaluate("each => { each.heard = true }")
        typed(page, LENGTH, "175")
        page.wait_for_function(
            "([place, old]) => document.querySelector(place)?.textContent !== old",
            arg=[STATUS, before],
        )
        shown(page)
        assert "of the bend" in (status.text_content() or "")
        assert status.evaluate("each => each.heard === true")  # replaced regions are not read


def test_it_prints(browser: Any, browsed_url: str, tmp_path: Path) -> None:
    with opened(browser, browsed_url + "/limb") as page:
        shown(page)
        paper = tmp_path / "limb.pdf"
        paper.write_bytes(page.pdf(format="A4"))
    assert paper.read_bytes().startswith(b"%PDF") and paper.stat().st_size > 20_000
    reader = shutil.which("pdftotext")
    if reader is not None:
        words = subprocess.run(
            [reader, str(paper), "-"], capture_output=True, text=True, timeout=60
        ).stdout
        assert "Will the limb hold its pose?" in words and ENDS_WITH in words
