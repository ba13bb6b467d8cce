"""Whole stories in the browser, as a maker goes through them, each on an empty machine.

All of them run with every connection of the server written down: nothing may leave the machine.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.audit import audited, outward
from tests.browser.kit import (
    choose,
    holds_text,
    opened,
    served_app,
    settle,
    typed,
)

LONG = 90_000
"""Milliseconds that the longest computation of a story may take on a busy machine."""
STATUS = '[role="status"][aria-live="polite"]'
SWATCHES = [
    {"alcohol": "7", "coats": "3", "colour": "68.0 -23.1 30.2"},
    {"alcohol": "1", "coats": "5", "colour": "52.7 -21.5 27.2"},
    {"alcohol": "7", "coats": "1", "colour": "74.4 -18.4 26.9"},
]
"""Invented readings of reed green on the demo's base, as a truth the estimate does not know."""
SECTIONS = [
    "the pose and what to print",
    "putting it together and taking it apart",
    "bending it",
    "life and care",
    "what was measured and what is assumed",
]


@contextmanager
def machine(folder: Path) -> Iterator[str]:
    """An app with an empty folder; at the end it stumbled over nothing and told nobody."""
    folder.mkdir(exist_ok=True)
    with served_app(folder, **audited(folder)) as address:
        yield address
    assert "Traceback" not in (folder / "server.log").read_text(encoding="utf-8")
    assert outward(folder) == []


def go(page: Any, name: str, heading: str) -> None:
    page.get_by_role("link", name=name, exact=True).click()
    page.get_by_role("heading", name=heading, exact=True).wait_for()
    settle(page)


def press(page: Any, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def downloaded(page: Any, name: str, folder: Path) -> Path:
    with page.expect_download(timeout=LONG) as waiting:
        press(page, name)
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    return path


def test_start_from_another_limb_and_be_told_what_comes_next(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, url) as page:
        page.get_by_text("Next: describe a limb").wait_for()
        press(page, "Arm")
        page.get_by_role("heading", name="Will the limb hold its pose?").wait_for()
        page.wait_for_url("**limb_wire=3*")
        settle(page)
        go(page, "Start", "From an idea to a figure that holds its pose")
        page.get_by_text("Next: print a test strip and measure").wait_for()
        page.get_by_role("link", name="Go on to Bench").click()
        page.get_by_role("heading", name="Measure it, and the answer narrows").wait_for()
    with machine(tmp_path / "other") as url, opened(browser, f"{url}/?limb_wire=SWG+10") as page:
        page.get_by_text("= 3.251 mm").wait_for()


def test_size_a_channel_for_a_wire_and_print_its_strip(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/limb") as page:
        typed(page, "Wire diameter", "AWG 14")
        page.get_by_text("= 1.628 mm").wait_for()
        drawn = page.get_by_text(re.compile(r"^Draw the channel .* mm"))
        drawn.wait_for()
        settle(page)
        wanted = float(re.findall(r"channel ([\d.]+) mm", drawn.inner_text())[0])
        assert 1.7 < wanted < 2.5  # the wire, and what a small hole loses
        go(page, "Bench", "Measure it, and the answer narrows")
        page.get_by_role("tab", name="Test pieces").click()
        row = page.get_by_text("Strip of channels. Seven channels from")
        row.wait_for()
        least, most = map(float, re.findall(r"from ([\d.]+) to ([\d.]+) mm", row.inner_text())[0])
        assert (least + most) / 2 == pytest.approx(wanted, abs=0.006)
        strip = downloaded(page, "Strip of channels as STL", tmp_path)
    triangles = int.from_bytes(strip.read_bytes()[80:84], "little")
    assert triangles > 500 and strip.stat().st_size == 84 + 50 * triangles


def test_find_the_wire_that_holds_the_neck_with_the_fish(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/limb") as page:
        page.get_by_text("Which wire holds it").click()
        press(page, "Compare all wires")
        answer = page.get_by_text(re.compile("^The smallest that holds")).first
        answer.wait_for(timeout=LONG)
        settle(page)
        choose(page, "Sort by", "most likely to hold")
        table = page.get_by_role("region", name="Wires in this limb, most likely to hold")
        table.wait_for()
        settle(page)
        press(page, "Use this wire")
        page.get_by_role("button", name="Undo (1)").wait_for()
        page.wait_for_function(
            "place => document.querySelector(place)?.textContent.startsWith('Holds ')",
            arg=STATUS,
            timeout=LONG,
        )
        page.wait_for_url(lambda link: "limb_wire=" in link)


def difference(page: Any) -> float:
    """How far the predicted tint is from the colour asked for, as the page says it aloud."""
    said = page.locator(STATUS).filter(has_text="from the target").text_content() or ""
    return float(re.findall(r"([\d.]+) ΔE00 from the target", said)[0])


def test_plan_a_tint_log_three_swatches_and_see_it_improve(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/limb") as page:
        go(page, "Tint", "What colour will the tint be?")
        page.get_by_text("80 % band").first.wait_for(timeout=LONG)
        for label, text in (
            ("Parts of alcohol", SWATCHES[0]["alcohol"]),
            ("Coats", SWATCHES[0]["coats"]),
            ("Target colour", SWATCHES[0]["colour"]),
        ):
            typed(page, label, text)
        page.wait_for_url("**tint_target=68*")
        page.get_by_text("reed green is a demo dye").first.wait_for(timeout=LONG)
        settle(page)
        estimated = difference(page)
        go(page, "Swatch log", "Swatch log")
        for number, swatch in enumerate(SWATCHES, start=1):
            typed(page, "Parts of alcohol", swatch["alcohol"])
            typed(page, "Coats", swatch["coats"])
            typed(page, "Measured colour", swatch["colour"])
            if number == 1:  # the form remembers it from then on
                page.get_by_text("The reading: dried for, by what, note").click()
                choose(page, "Measured by", "instrument")
            press(page, "Add to the log")
            page.get_by_text(f"Rows {number} of {number}").first.wait_for(timeout=LONG)
            holds_text(page, "Measured colour", "")
            settle(page)
        go(page, "Tint", "What colour will the tint be?")
        choose(page, "Dye 1", "reed green (learned)")
        page.get_by_text("80 % band:").last.wait_for(timeout=LONG)
        settle(page)
        assert difference(page) < estimated / 2


def test_save_reload_and_open_on_another_machine(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/limb") as page:
        typed(page, "Length from clamp to tip", "6 1/2 in")
        page.get_by_text("165.1 mm").first.wait_for()
        page.wait_for_url("**limb_length=*")
        page.reload()
        holds_text(page, "Length from clamp to tip", "6 1/2 in")
        go(page, "Tint", "What colour will the tint be?")
        page.get_by_text("80 % band").first.wait_for(timeout=LONG)
        go(page, "Figure", "The whole figure")
        typed(page, "Name of the figure", "Heron <1>")
        press(page, "Add the limb typed on the page Limb")
        page.get_by_text("Added Neck.").last.wait_for()
        press(page, "Take the tint typed on the page Tint")
        page.get_by_role("button", name="Remove the tint").wait_for()
        settle(page)
        design = downloaded(page, "Save the design", tmp_path)
    with machine(tmp_path / "other") as url, opened(browser, f"{url}/figure") as page:
        page.locator('input[type="file"]').last.set_input_files(design)
        page.get_by_text("Opened Heron <1>.").last.wait_for(timeout=LONG)
        page.get_by_role("button", name="Remove the tint").wait_for()
        press(page, "Open on the page Limb: Neck")
        page.get_by_text("Neck is on the page Limb now.").last.wait_for()
        settle(page)
        go(page, "Limb", "Will the limb hold its pose?")
        holds_text(page, "Length from clamp to tip", "165.1")
        page.wait_for_url("**limb_length=*")
        settle(page)
        page.reload()
        holds_text(page, "Length from clamp to tip", "165.1")


def test_print_the_sheet_and_find_every_section(browser: Any, tmp_path: Path) -> None:
    with machine(tmp_path / "own") as url, opened(browser, f"{url}/figure") as page:
        press(page, "Add the limb typed on the page Limb")
        page.get_by_text("Added Neck.").last.wait_for()
        press(page, "Take the tint typed on the page Tint")
        page.get_by_role("button", name="Remove the tint").wait_for()
        settle(page)
        press(page, "Make the build sheet")
        page.get_by_role("button", name="Build sheet to print").wait_for(timeout=LONG)
        sheet = downloaded(page, "Build sheet to print", tmp_path)
    text = sheet.read_text(encoding="utf-8")
    assert not re.search(r"(?:src|href)\s*=|@import|url\(", text)
    titles = re.findall(r"<h2>(.*?)</h2>", text)
    for section in SECTIONS:
        assert f"Neck: {section}" in titles
    assert {"What to get", "What to print", "The figure, and in which order it is made"} <= set(
        titles
    )
    assert any("tint" in title.lower() for title in titles)
    page = browser.new_page()
    page.goto(sheet.as_uri())
    paper = tmp_path / "sheet.pdf"
    paper.write_bytes(page.pdf(format="A4"))
    page.close()
    reader = shutil.which("pdftotext")
    if reader is None:
        assert paper.stat().st_size > 20_000
        return
    words = subprocess.run([reader, paper, "-"], capture_output=True, text=True, timeout=60).stdout
    printed = " ".join(words.split())
    assert [title for title in titles if " ".join(title.split()) not in printed] == []
