"""Keep many tabs busy on the demo at once, and print errors, waiting times and memory.

Run `python -m tests.scripts.soak_tabs [tabs] [seconds]`. Every tab changes a field, or drags a
handle of the drawing, as soon as its last change is drawn, so the server is always busy with all
of them: the waiting times are those of a crowd, not of a visitor. Ends with code 1 if anything
went wrong or the memory kept growing.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.browser.kit import (
    NO_MATTER,
    chromium,
    free_port,
    settle,
    started_app,
    wait_for_port,
)
from tests.scripts.measure_page import DRAWING, memory, percentiles

FIELDS = {
    "Length from clamp to tip": [f"{150 + 2 * step}" for step in range(20)],
    "Weight at the tip": ["6", "9", "12", "15", "18"],
}
"""A hundred limbs; turned clamps make more, so that the caches are full after the first minute."""
DRAGGED = 0.2
"""Share of the changes that are made on the drawing."""
FIRST_MINUTE = 60.0
MOST_GROWTH = 0.1
"""Growth after the first minute that passes, as a share: what the allocator keeps back."""
LONGEST_WAIT = 60.0
"""A change that is not drawn after so long counts as an error. [s]"""
WATCH = """() => {
  const inside = [...document.querySelectorAll('.st-key-limb_stage *')].find(one => one.shadowRoot);
  const drawn = () => inside.shadowRoot.querySelector('.picture svg')?.outerHTML;
  window.last = drawn();
  window.waiting = false;
  window.begin = () => { window.waiting = true; window.start = performance.now(); };
  new MutationObserver(() => {
    const now = drawn();
    if (now && now !== window.last) {
      window.last = now;
      if (window.waiting) { window.waiting = false; window.took = performance.now() - start; }
    }
  }).observe(inside.shadowRoot, {subtree: true, childList: true, characterData: true});
}"""


class Tab:
    """One open page that is kept busy; ``times`` are its waiting times in milliseconds."""

    def __init__(self, context: Any, url: str, seed: int) -> None:
        self.chance = random.Random(seed)
        self.times: list[float] = []
        self.errors: list[str] = []
        self.asked = 0.0
        self.page = context.new_page()
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("console", self._hear)
        self.page.goto(f"{url}/limb")
        self.page.wait_for_selector(DRAWING, timeout=60_000)
        settle(self.page)
        self.page.evaluate(WATCH)

    def step(self) -> None:
        """Note the answer if it has come, and change a field if none is awaited."""
        waiting = self.page.evaluate("window.waiting")
        if waiting and time.monotonic() - self.asked < LONGEST_WAIT:
            return
        if waiting:
            self.errors.append(f"no drawing after {LONGEST_WAIT:.0f} s")
        elif self.asked:
            self.times.append(self.page.evaluate("window.took"))
        self._change()

    def close(self) -> None:
        """Count what the page shows as errors, and close it."""
        self.errors += self.page.get_by_test_id("stException").all_inner_texts()
        self.page.close()

    def _change(self) -> None:
        if self.chance.random() < DRAGGED:
            self._drag()
            return
        label = self.chance.choice([*FIELDS])
        field = self.page.get_by_label(label)
        now = field.input_value()
        text = self.chance.choice([each for each in FIELDS[label] if each != now])
        field.fill(text)
        self.page.evaluate("window.begin()")
        self.asked = time.monotonic()
        field.press("Enter")

    def _drag(self) -> None:
        """Turn the clamp on the drawing, by the pointer or, where nothing changed, by a key."""
        handle = self.page.get_by_role("slider", name="Turn the clamp")
        now, box = handle.get_attribute("aria-valuenow"), handle.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        pointer = self.page.mouse
        pointer.move(x, y)
        pointer.down()
        pointer.move(x + self.chance.uniform(-9, 9), y + self.chance.uniform(-9, 9), steps=4)
        moved = handle.get_attribute("aria-valuenow") != now
        self.page.evaluate("window.begin()")
        self.asked = time.monotonic()
        pointer.up()
        if not moved:
            handle.press("ArrowUp" if float(now) < 90 else "ArrowDown")

    def _hear(self, said: Any) -> None:
        if said.type == "error" and not NO_MATTER.search(said.text):
            self.errors.append(said.text)


def soak(tabs: Sequence[Tab], pid: int, seconds: float) -> list[tuple[float, float]]:
    """Keep the tabs busy; return the server's memory [MB] over time [s]."""
    begun = time.monotonic()
    seen: list[tuple[float, float]] = []
    said = 0.0
    while (gone := time.monotonic() - begun) < seconds:
        for tab in tabs:
            tab.step()
        seen.append((gone, memory(pid)))
        if gone - said >= 15 or not said:
            said = gone
            times = [each for tab in tabs for each in tab.times[-5:]]
            slow = f"{statistics.median(times):.0f} ms" if times else "none yet"
            print(f"{gone:4.0f} s: {seen[-1][1]:.0f} MB, changes lately {slow}", flush=True)
    return seen


def growth(seen: Sequence[tuple[float, float]], seconds: float) -> float:
    """How much more memory the end takes than the end of the first minute, as a share of it."""
    early = [size for gone, size in seen if FIRST_MINUTE <= gone < FIRST_MINUTE + 15]
    late = [size for gone, size in seen if gone >= seconds - 15]
    return statistics.median(late) / statistics.median(early) - 1 if early and late else 0.0


def main(arguments: Sequence[str]) -> int:
    """Run the soak; return the exit code."""
    counts = [20, 300]
    counts[: len(arguments)] = [int(argument) for argument in arguments]
    port = free_port()
    with (
        tempfile.TemporaryDirectory() as folder,
        started_app(Path(folder), "--port", str(port)) as process,
        chromium() as browser,
    ):
        wait_for_port(process, port)
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        tabs = [Tab(context, f"http://localhost:{port}", seed) for seed in range(counts[0])]
        print(f"{len(tabs)} tabs open, server {memory(process.pid):.0f} MB", flush=True)
        seen = soak(tabs, process.pid, counts[1])
        for tab in tabs:
            tab.close()
        log = (Path(folder) / "server.log").read_text(encoding="utf-8")
    errors = [error for tab in tabs for error in tab.errors]
    errors += ["the server's log holds a traceback"] * ("Traceback" in log)
    grown = growth(seen, counts[1])
    print("input to new drawing:", percentiles([each for tab in tabs for each in tab.times]))
    print(f"memory after the first minute: {grown:+.1%}")
    print(f"errors: {len(errors)}", *sorted(set(errors)), sep="\n  ")
    return 1 if errors or grown > MOST_GROWTH else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
