"""A photo is tapped: from the picture to a row of the log in six actions, by mouse and by touch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.browser.kit import opened, settle
from tests.tinting.photo_world import (
    BASE,
    CORNERS,
    SIZE,
    STRIP,
    SWATCH,
    Scene,
    dyed,
    dyed_strip,
    jpeg,
    plastic,
    render,
)
from tinting.photo.strip import COATS

MIDDLES = [((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) for box in (BASE, SWATCH)]


@pytest.mark.parametrize("width", [1280, 390])
def test_six_actions_from_photo_to_row(
    browser: Any, browsed_url: str, tmp_path: Path, width: int
) -> None:
    rng = np.random.default_rng(4)
    base = plastic(0.4)
    photo = tmp_path / "swatch.jpg"
    photo.write_bytes(jpeg(render(Scene(base=base, swatch=dyed(rng, base)))))
    touch = {"has_touch": True, "is_mobile": True} if width == 390 else {}
    with opened(browser, f"{browsed_url}/swatches", width, **touch) as page:
        page.get_by_text("Measure it from a photo").click()
        page.locator("input[type=file]").first.set_input_files(str(photo))
        picture = page.get_by_role("img", name="The photo")
        picture.wait_for()
        for middle, then in zip(MIDDLES, ("Swatch", "chart corners"), strict=True):
            tap(page, picture, middle, bool(touch))
            page.get_by_role("radio", name=then, exact=True, checked=True).wait_for()
            settle(page)
        for corner in CORNERS[::2]:
            tap(page, picture, corner, bool(touch))
            settle(page)
        page.get_by_text("Measured by chart").last.wait_for()
        page.get_by_role("button", name="Add this swatch to the log").click()
        page.get_by_text("Added, and safe on the disk").last.wait_for()


def test_six_actions_from_a_photo_of_a_strip_to_its_rows(
    browser: Any, browsed_url: str, tmp_path: Path
) -> None:
    rng = np.random.default_rng(4)
    base = plastic(0.4)
    photo = tmp_path / "strip.jpg"
    scene = Scene(base=base, swatch=base, strip=dyed_strip(rng, base, COATS))
    photo.write_bytes(jpeg(render(scene)))
    with opened(browser, f"{browsed_url}/swatches", 1280) as page:
        page.get_by_text("Measure it from a photo").click()
        page.locator("input[type=file]").first.set_input_files(str(photo))
        page.get_by_text("A whole strip: bare and several coats").click()
        picture = page.get_by_role("img", name="The photo")
        picture.wait_for()
        settle(page)
        draw(page, picture, STRIP[0][:2], STRIP[-1][2:])
        page.get_by_role("radio", name="chart corners", exact=True, checked=True).wait_for()
        settle(page)
        for corner in CORNERS[::2]:
            tap(page, picture, corner, False)
            settle(page)
        page.get_by_role("button", name="Add 4 swatches of this strip to the log").click()
        page.get_by_text("Rows added from the strip: 4").last.wait_for()


def place(picture: Any, x: float, y: float) -> tuple[float, float]:
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    return box["x"] + x / SIZE[1] * box["width"], box["y"] + y / SIZE[0] * box["height"]


def tap(page: Any, picture: Any, at: tuple[float, float], touch: bool) -> None:
    x, y = place(picture, *at)
    page.touchscreen.tap(x, y) if touch else page.mouse.click(x, y)


def draw(page: Any, picture: Any, one: tuple[float, float], other: tuple[float, float]) -> None:
    page.mouse.move(*place(picture, *one))
    page.mouse.down()
    page.mouse.move(*place(picture, *other), steps=4)
    page.mouse.up()
