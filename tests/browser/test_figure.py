"""Figure and bench in the browser: nothing is lost by a reload, a result goes into the limb."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from data.store.figures import list_figures, read_events, read_figure
from tests.browser.kit import faults, holds_text, opened, settle, typed
from tests.browser.test_stories import LONG, go, machine, press


def test_a_figure_outlives_a_reload_and_another_tab(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    with machine(folder) as url:
        with opened(browser, f"{url}/figure") as page:
            typed(page, "Name of the figure", "Marsh heron")
            settle(page)
            press(page, "Add the limb typed on the page Limb")
            page.get_by_text("Added Neck.").last.wait_for(timeout=LONG)
            page.wait_for_url("**figure=*")
            page.get_by_text("Where Neck is, its twin").click()
            typed(page, "Clamped above it by", "4 in")
            page.get_by_text("It is one of a mirrored pair").click()
            settle(page)
            page.reload()
            holds_text(page, "Name of the figure", "Marsh heron")
            page.get_by_role("button", name="Renew Neck by it").wait_for(timeout=LONG)
            settle(page)
        with opened(browser, f"{url}/figure") as page:
            holds_text(page, "Name of the figure", "Marsh heron")
        (kept,) = list_figures(place=folder / "figures")
        (place,) = read_figure(kept.key, place=folder / "figures")["places"]
        assert place["at"][1] == pytest.approx(0.1016) and place["twin"] is True


def test_re_poses_are_written_down_until_the_wire_is_due(browser: Any, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    with machine(folder) as url, opened(browser, f"{url}/figure") as page:
        press(page, "Add the limb typed on the page Limb")
        page.get_by_text("Added Neck.").last.wait_for(timeout=LONG)
        page.get_by_text(re.compile("Neck: 0 re-poses of")).wait_for(timeout=LONG)
        typed(page, "How often", "900")
        settle(page)
        press(page, "Write it down")
        page.get_by_text(re.compile("Neck: the wire is due")).wait_for(timeout=LONG)
        page.get_by_text("To take it out").wait_for()
        settle(page)
        (kept,) = list_figures(place=folder / "figures")
        events, lost = read_events(kept.key, place=folder / "figures")
        assert ([event["times"] for event in events], lost) == ([900], 0)


def test_a_strip_that_was_measured_goes_into_the_limb(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/bench") as page:
        typed(page, "Tip below the clamp", "50")
        use = page.get_by_role("button", name=re.compile("^Keep it and use it in the limb"))
        use.first.click(timeout=LONG)
        page.get_by_text("The limb typed on the page Limb has my TPU 80A now.").last.wait_for()
        settle(page)
        go(page, "Limb", "Will the limb hold its pose?")
        page.wait_for_url("**limb_elastomer=my+TPU+80A*", timeout=LONG)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_figure_and_bench_have_no_fault(
    browser: Any, browsed_url: str, width: int, scheme: str
) -> None:
    with opened(browser, f"{browsed_url}/figure", width, color_scheme=scheme) as page:
        add = page.get_by_role("button", name="Add the limb typed on the page Limb")
        logbook = page.get_by_role("heading", name="Logbook")
        add.or_(logbook).first.wait_for(timeout=LONG)
        if add.count():
            press(page, "Add the limb typed on the page Limb")
        logbook.wait_for(timeout=LONG)
        settle(page)
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    with opened(browser, f"{browsed_url}/bench", width, color_scheme=scheme) as page:
        assert faults(page) == []
