"""The page of a maker's own mesh in a browser: a file goes in, a mesh with a channel comes out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import trimesh

from tests.browser.kit import faults, opened, settle
from tests.flexcalc.mesh.lofts import build, stl_bytes

ARM = dict(
    kind="round", corners=48, rings=60, path="arc", bend_radius=70, angle=1.3, a0=8, a1=6,
)  # fmt: skip


@pytest.fixture(scope="module")
def arm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    v, f, _ = build(ARM)
    path = tmp_path_factory.mktemp("mesh") / "arm.stl"
    path.write_bytes(stl_bytes(v, f))
    return path


def put(page: Any, path: Path) -> None:
    page.locator("input[type=file]").set_input_files(str(path))
    page.get_by_role("button", name="Cut the channel out").wait_for(timeout=120_000)
    settle(page)


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_a_mesh_is_seen_measured_and_without_faults(
    browser: Any, browsed_url: str, arm: Path, width: int, scheme: str
) -> None:
    with opened(browser, browsed_url + "/mesh", width, color_scheme=scheme) as page:
        put(page, arm)
        assert page.get_by_text("The limb is").first.is_visible()
        assert page.locator("path.channel").first.is_visible()
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0
        assert faults(page) == []


def test_the_wrist_is_moved_by_keys_and_the_field_follows(
    browser: Any, browsed_url: str, arm: Path
) -> None:
    with opened(browser, browsed_url + "/mesh") as page:
        put(page, arm)
        handle = page.get_by_role("slider", name="Wrist")
        handle.focus()
        for _ in range(2):
            handle.press("PageDown")
        handle.blur()
        settle(page, 1.0, 180)
        typed = page.get_by_label("The limb ends, from its root, at").input_value()
        assert 75 < float(typed) < 90


def test_the_mesh_with_its_channel_is_taken_home(
    browser: Any, browsed_url: str, arm: Path, tmp_path: Path
) -> None:
    with opened(browser, browsed_url + "/mesh") as page:
        put(page, arm)
        page.get_by_label("Depth of the channel").fill("through")
        page.get_by_label("Depth of the channel").press("Enter")
        settle(page)
        page.get_by_role("button", name="Cut the channel out").click()
        page.get_by_text("Measured again on the new mesh").wait_for(timeout=60_000)
        settle(page)
        with page.expect_download() as waited:
            page.get_by_role("button", name="Limb with its channel as STL").click()
        out = tmp_path / "out.stl"
        waited.value.save_as(out)
        body = trimesh.load(out)
        assert body.is_watertight and body.body_count == 1
        assert body.euler_number == 0  # one hole right through
