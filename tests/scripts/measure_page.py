"""Print how fast the limb page and the tint page follow a change, how fast every page starts, how
much it shows, and what a tab of the limb page costs.

Run `python -m tests.scripts.measure_page [changes] [starts] [tabs]`; 0 leaves a part out. The
figures belong to the machine and to what else it does: run it when the machine is quiet, and
compare only with its own runs.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.browser.kit import (
    VISIBLE_FIELDS,
    WORDS,
    chromium,
    free_port,
    served_app,
    settle,
    started_app,
    wait_for_port,
)

EMPTY_PAGE = """
import sys
from pathlib import Path
import streamlit as st
from streamlit import runtime

if runtime.exists():
    st.title("Empty")
else:
    config = {"server.port": int(sys.argv[2]), "server.address": "127.0.0.1",
              "browser.gatherUsageStats": False, "server.showEmailPrompt": False,
              "server.fileWatcherType": "none"}
    st.App(Path(__file__)).run(config=config)
"""
HEADINGS = {
    "": "From an idea to a figure",
    "start": "From an idea to a figure",
    "limb": "Will the limb hold its pose?",
    "mesh": "Your own mesh",
    "tint": "What colour will the tint be?",
    "bottles": "My bottles",
    "figure": "The whole figure",
    "bench": "Measure it, and the answer narrows",
    "swatches": "Swatch log",
}
DRAWING = '.st-key-limb_stage svg[role="img"]'
"""The limb on the board, in the shadow of its component."""
ANSWERS = {
    "": '[data-testid="stMain"] .stMarkdown svg',
    "start": '[data-testid="stMain"] .stMarkdown svg',
    "limb": DRAWING,
    "tint": ".tint-three svg",
}
"""The drawing that each address answers with; of the others the heading is measured alone."""
WATCH = """() => {
  const inside = [...document.querySelectorAll('.st-key-limb_stage *')].find(one => one.shadowRoot);
  const drawn = () => inside.shadowRoot.querySelector('.picture svg')?.outerHTML;
  const likely = () => document.querySelector('.likely:not(.old) svg')?.outerHTML;
  let start = 0, before = '', last = '';
  window.changes = [];
  window.begin = () => {
    [before, last] = [drawn(), likely()];
    window.changes = [];
    start = performance.now();
  };
  document.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') window.begin();
  }, true);
  document.addEventListener('pointerup', () => window.begin(), true);
  const look = () => {
    const took = performance.now() - start;
    if (!window.changes.length && drawn() !== before) window.changes.push(took);
    const next = window.changes.length === 1 && likely();
    if (next && next !== last) window.changes.push(took);
  };
  const watched = {subtree: true, childList: true, characterData: true};
  new MutationObserver(look).observe(document.body, watched);
  new MutationObserver(look).observe(inside.shadowRoot, watched);
}"""
"""Notes after how long a new limb is drawn at rest, and after how long its likely outcomes are."""
WATCH_COLOURS = """() => {
  const shown = () => document.querySelector('.tint-three')?.outerHTML;
  let start = 0, before = '';
  document.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter') return;
    [start, before, window.took] = [performance.now(), shown(), undefined];
  }, true);
  const watched = {subtree: true, childList: true, characterData: true, attributes: true};
  new MutationObserver(() => {
    const now = shown();
    if (window.took === undefined && now && now !== before) window.took = performance.now() - start;
  }).observe(document.body, watched);
}"""
"""Notes after how long the colours of a new tint are shown."""
PAUSE = 0.3
"""Seconds between two changes, for the server to tidy up after the last. [s]"""


def changes(page: Any, lengths: Sequence[str]) -> list[list[float]]:
    """Milliseconds from Enter in the length field to each new drawing, for every length."""
    field = page.get_by_label("Length from clamp to tip")
    times = []
    for length in lengths:
        field.fill(length)
        field.press("Enter")
        page.wait_for_function("window.changes.length > 1", timeout=60_000)
        time.sleep(PAUSE)
        settle(page)
        times.append(page.evaluate("window.changes"))
    return times


def drags(page: Any, count: int, name: str = "Turn bend 2") -> list[list[float]]:
    """Milliseconds from letting go of a bend to each new drawing, for so many drags."""
    turn = page.get_by_role("slider", name=name)
    times = []
    for number in range(count):
        box = turn.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + (8 if number % 2 else -8), y + (9 if number % 2 else -9), steps=3)
        page.mouse.up()
        page.wait_for_function("window.changes.length > 1", timeout=60_000)
        time.sleep(PAUSE)
        settle(page)
        times.append(page.evaluate("window.changes"))
    return times


def percentiles(times: Sequence[float]) -> str:
    """The middle and the slow end of some times, in words."""
    ordered = sorted(times)
    p95 = ordered[min(len(ordered) - 1, round(0.95 * (len(ordered) - 1)))]
    return f"p50 {statistics.median(ordered):.0f} ms, p95 {p95:.0f} ms ({len(ordered)} changes)"


def watched(browser: Any, url: str) -> Any:
    """Return a tab with a limb, whose new drawings are timed."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(url)
    page.wait_for_selector(DRAWING)
    settle(page)
    page.evaluate(WATCH)
    return page


def tint_changes(browser: Any, url: str, count: int) -> list[float]:
    """Milliseconds from Enter in a field of the tint page to its new colours."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{url}/tint")
    page.wait_for_selector(ANSWERS["tint"])
    settle(page)
    page.evaluate(WATCH_COLOURS)
    field = page.get_by_label("Coats", exact=True)
    times = []
    for number in range(count):
        field.fill(str(3 + number % 7))
        field.press("Enter")
        page.wait_for_function("window.took !== undefined", timeout=60_000)
        time.sleep(PAUSE)
        settle(page)
        times.append(page.evaluate("window.took"))
    page.close()
    return times


def show_changes(browser: Any, count: int) -> None:
    """Print how long new drawings and colours take after a field was typed or a bend let go."""
    with tempfile.TemporaryDirectory() as folder, served_app(Path(folder)) as url:
        page = watched(browser, f"{url}/limb")
        lengths = [f"{150 + 0.1 * step:.1f}" for step in range(count)]
        changes(page, ["149", "149.5"])
        new = changes(page, lengths)
        seen = changes(page, lengths[:10])
        dragged = drags(page, count)
        page.close()
        page = watched(browser, f"{url}/limb?limb_swing1=40")
        swung = drags(page, count, "Swing bend 1")
        page.close()
        coloured = tint_changes(browser, url, count)
    print("input to new drawing, new value:      ", percentiles([each[0] for each in new]))
    print("input to its likely outcomes:         ", percentiles([each[-1] for each in new]))
    print("letting go to new drawing:            ", percentiles([each[0] for each in dragged]))
    print("letting go to its likely outcomes:    ", percentiles([each[-1] for each in dragged]))
    print("letting go of a swung bend, drawing:  ", percentiles([each[0] for each in swung]))
    print("letting go of a swung bend, outcomes: ", percentiles([each[-1] for each in swung]))
    print("input to new drawing, value seen before:", percentiles([each[0] for each in seen]))
    print("input to new colours of the tint:     ", percentiles(coloured))


def start(
    browser: Any, heading: str, path: str = "", script: Path | None = None
) -> tuple[float, float]:
    """Seconds from starting the server to its heading, and to its first drawing."""
    port = free_port()
    chosen = {} if script is None else {"script": script}
    with tempfile.TemporaryDirectory() as folder:
        begun = time.monotonic()
        with started_app(Path(folder), "--port", str(port), **chosen) as process:  # type: ignore[arg-type]
            wait_for_port(process, port)
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.goto(f"http://localhost:{port}/{path}")
            page.get_by_role("heading", name=heading).wait_for()
            shown = time.monotonic() - begun
            if script is None and path in ANSWERS:
                page.wait_for_selector(ANSWERS[path])
            result = time.monotonic() - begun
            page.close()
    return shown, result


def show_starts(browser: Any, count: int) -> None:
    """Print the cold start of the app and of an empty page, taken in turns."""
    empty = []
    ours: dict[str, list[tuple[float, float]]] = {path: [] for path in HEADINGS}
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "empty.py"
        script.write_text(EMPTY_PAGE, encoding="utf-8")
        for _ in range(count + 1):
            empty.append(start(browser, "Empty", script=script)[0])
            for path, heading in HEADINGS.items():
                ours[path].append(start(browser, heading, path))
    base = statistics.median(empty[1:])  # the first of each fills the disk's cache
    print(f"cold start of an empty page: {base:.2f} s")
    for path, times in ours.items():
        parts = (("heading", 0), ("first drawing", 1))
        for name, index in parts if path in ANSWERS else parts[:1]:
            taken = statistics.median(each[index] for each in times[1:])
            print(f"cold start of /{path} to its {name}: {taken:.2f} s, {taken / base:.2f} × that")


def show_sizes(browser: Any) -> None:
    """Print words and fields that are seen before anything is opened, and heights of the pages."""
    with tempfile.TemporaryDirectory() as folder, served_app(Path(folder)) as url:
        for path in HEADINGS:
            heights = []
            for width in (1280, 390):
                page = browser.new_page(viewport={"width": width, "height": 900})
                page.goto(f"{url}/{path}")
                page.get_by_role("heading", name=HEADINGS[path]).wait_for()
                settle(page, 1.0)
                found = page.evaluate(WORDS), page.evaluate(VISIBLE_FIELDS)
                heights.append(page.evaluate("document.querySelector('#stMain').scrollHeight"))
                page.close()
            tall = f"{heights[0]} px high, {heights[1]} px on a phone"
            print(f"/{path}: {found[0]} words, {found[1]} fields, {tall}")


def memory(pid: int) -> float:
    """Resident memory of a process. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    return float(status.split("VmRSS:")[1].split()[0]) / 1024


def show_memory(browser: Any, tabs: int) -> None:
    """Print what each further open tab adds to the server's memory."""
    port = free_port()
    with (
        tempfile.TemporaryDirectory() as folder,
        started_app(Path(folder), "--port", str(port)) as process,
    ):
        wait_for_port(process, port)
        print(f"server before any tab: {memory(process.pid):.0f} MB")
        sizes = []
        context = browser.new_context()
        for _ in range(tabs):
            page = context.new_page()
            page.goto(f"http://localhost:{port}/limb")
            page.wait_for_selector(DRAWING)
            settle(page)
            sizes.append(memory(process.pid))
        context.close()
    each = (sizes[-1] - sizes[0]) / max(1, tabs - 1)
    print(f"server with one tab {sizes[0]:.0f} MB, each further tab {each:.1f} MB")


def main(arguments: Sequence[str]) -> None:
    """Print every figure."""
    counts = [40, 5, 20]
    counts[: len(arguments)] = [int(argument) for argument in arguments]
    with chromium() as browser:
        if counts[0]:
            show_changes(browser, counts[0])
            show_sizes(browser)
        if counts[1]:
            show_starts(browser, counts[1])
        if counts[2]:
            show_memory(browser, counts[2])


if __name__ == "__main__":
    main(sys.argv[1:])
