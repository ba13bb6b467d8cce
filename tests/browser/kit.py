"""Start the app on a free port and drive it in the machine's own Chromium."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
SETTLED = """quiet => {
    const app = document.querySelector('[data-testid="stApp"]');
    const rests = app?.dataset.testScriptState === "notRunning";
    if (!rests) window.restsSince = undefined;
    else window.restsSince ??= performance.now();
    return rests && performance.now() - window.restsSince >= quiet;
}"""
"""Looked at in every frame: has the page's script rested for so many milliseconds?"""
VISIBLE_FIELDS = """() => [...document.querySelectorAll(
    '[data-testid="stMain"] input, [data-testid="stMain"] textarea')].filter(each => {
        const box = each.getBoundingClientRect();
        return box.height > 0 && !each.closest('details:not([open])');
    }).length"""
WORDS = """() => {
    const count = (text) => text.split(/\\s+/).filter(Boolean).length;
    const main = document.querySelector('[data-testid="stMain"]');
    const signs = [...main.querySelectorAll('svg text, [data-testid="stIconMaterial"]')];
    const shown = signs.filter(each => each.getBoundingClientRect().height > 0);
    return count(main.innerText) - shown.reduce((sum, each) => sum + count(each.textContent), 0);
}"""
"""The words that a reader meets, without the figures on the axes of graphs and drawn arrows."""
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def require_browser() -> None:
    """Skip with the reason where there is no browser; fail where one is promised."""
    if CHROMIUM is None:
        if os.environ.get("REQUIRE_BROWSER"):
            pytest.fail("REQUIRE_BROWSER is set and there is no chromium")
        pytest.skip("no chromium on this machine (Debian: apt-get install chromium)")


def wait_for_port(process: subprocess.Popen[bytes], port: int, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        if process.poll() is not None:
            raise RuntimeError(f"the app ended with code {process.returncode}")
        time.sleep(0.1)
    raise RuntimeError("the app did not open its port")


def free_port() -> int:
    """Return a free port that no other worker of a run in parallel looks at."""
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    mine = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
    while True:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = int(probe.getsockname()[1])
        if port // 2 % workers == mine % workers:  # the kernel hands out odd ones first
            return port


@contextmanager
def started_app(
    data_folder: Path, *arguments: str, script: Path = ROOT / "app.py", **environment: str
) -> Iterator[subprocess.Popen[bytes]]:
    """Start app.py with its own empty data folder; what it prints goes to server.log there."""
    ours = {**os.environ, "LIMB_TINT_FOLDER": str(data_folder), "BROWSER": "true", **environment}
    with (data_folder / "server.log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, str(script), *arguments],
            env=ours,
            stdout=log,
            stderr=log,
            cwd=data_folder,
        )
        try:
            yield process
        finally:
            process.terminate()
            process.wait(20)


@contextmanager
def served_app(
    data_folder: Path, script: Path = ROOT / "app.py", **environment: str
) -> Iterator[str]:
    """Serve app.py with its own empty data folder; yield the address."""
    port = free_port()
    with started_app(data_folder, "--port", str(port), script=script, **environment) as process:
        wait_for_port(process, port)
        yield f"http://localhost:{port}"


@contextmanager
def chromium() -> Iterator[Any]:
    """Yield a headless Chromium that talks to nobody but the page."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM,
            args=[
                "--no-sandbox",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--no-first-run",
            ],
        )
        yield browser
        browser.close()


def settle(page: Any, quiet: float = 0.2, seconds: float = 60) -> None:
    """Wait until the page's script has run to its end and has rested for ``quiet`` seconds.

    Between two runs that were asked for in a row it rests for a moment too.
    """
    page.evaluate("window.restsSince = undefined")
    page.wait_for_function(SETTLED, arg=quiet * 1000, timeout=seconds * 1000)


RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
LEVELS = """() => [...document.querySelectorAll('h1, h2, h3, h4, h5, h6')]
  .filter(each => each.checkVisibility()).map(each => Number(each.tagName[1]))"""
"""Levels of the headings of a page, in their order."""
NO_MATTER = re.compile(r"404 \(Not Found\)")
"""Said by the page library itself: a page other than the first is looked for at its own path,
then at the root."""


@contextmanager
def opened(browser: Any, url: str, width: int = 1280, **options: Any) -> Iterator[Any]:
    """Open the address in a tab of its own, and expect no complaint while it is open.

    Tabs of the same width and ``options`` (those of a browser context) share a profile, which has
    the page library loaded already. Complaints are errors on the console, exceptions in scripts or
    shown by the page, and requests to any other host.
    """
    complaints: list[str] = []
    view = {"width": width, "height": 900}
    alike = [one for one in browser.contexts if getattr(one, "kind", None) == (width, options)]
    context = alike[0] if alike else browser.new_context(viewport=view, **options)
    context.kind = (width, options)
    page = context.new_page()
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: complaints.extend(_elsewhere(request.url, url)))
    try:
        page.goto(url)
        settle(page)
        yield page
        complaints += page.get_by_test_id("stException").all_inner_texts()
    finally:
        page.close()
    assert [each for each in complaints if not NO_MATTER.search(each)] == []


def _elsewhere(asked: str, url: str) -> list[str]:
    own = "/".join(url.split("/")[:3])
    stays = asked.startswith((own, own.replace("http", "ws"), "data:", "blob:"))
    return [] if stays else [f"asked {asked}"]


def typed(page: Any, label: str, text: str) -> None:
    """Type into the field whose label begins so, and commit it with Enter."""
    field = page.get_by_label(re.compile(f"^{re.escape(label)}"))
    field.fill(text)
    field.press("Enter")


def choose(page: Any, label: str, option: str) -> None:
    """Choose an option, by the beginning of its name, in the list whose label begins so.

    A page that is drawn anew meanwhile, as on a busy machine, closes the list: it is opened again.
    """
    from playwright.sync_api import TimeoutError as ClosedError

    field = page.get_by_label(re.compile(f"^{re.escape(label)}"))
    wanted = page.get_by_role("option", name=re.compile(f"^{re.escape(option)}"))
    for patience in (5, 10, 30):
        settle(page)
        field.focus()
        field.press("ArrowDown")
        try:
            wanted.click(timeout=patience * 1000)
            return
        except ClosedError:
            field.blur()
    raise AssertionError(f"{label} offers no {option}")


def holds_text(page: Any, label: str, text: str) -> None:
    """Expect a field to hold a text, soon: the page fills its fields after it has drawn them."""
    from playwright.sync_api import expect

    expect(page.get_by_label(label)).to_have_value(text, timeout=30_000)


def unfold(page: Any) -> None:
    """Open every fold, also those whose content is worked out once they are opened."""
    closed = "details:not([open]) > summary"
    while page.locator(closed).count():
        page.locator(closed).evaluate_all("each => each.forEach(one => one.click())")
        settle(page)


def faults(page: Any) -> list[str]:
    """Return every fault that the accessibility rules find, with everything unfolded."""
    from axe_playwright_python.sync_playwright import Axe

    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": [*RULES]}}).response
    assert len(found["passes"]) > 10, "the rules were not tried on a page"
    levels = page.evaluate(LEVELS)
    steps = zip([0, *levels], levels, strict=False)
    return [
        f"a heading of level {now} after {before}" for before, now in steps if now > before + 1
    ] + [
        f"{fault['id']}: {node['html'][:200]} {node['failureSummary'][:300]}"
        for fault in found["violations"]
        for node in fault["nodes"]
    ]
