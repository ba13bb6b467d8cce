"""The build sheet on paper: how many pages it has, and that its card keeps its size."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from data.inches import in_inches
from data.store.design import design_text, empty_design
from flexcalc.figure.figure import Place, plain_place
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.verdict.plan import plain
from tests.browser.kit import faults
from tinting.forms.choices import Choices
from tinting.forms.tint import FIELDS
from tinting.mix.plan import plain as plain_tint
from tinting.paper.report import bench_card

APP = Path(__file__).parents[2] / "app.py"
MM = 96 / 25.4
"""CSS pixels of a millimetre, by the definition of both."""

LONG = "The long neck of the marsh heron in the reeds of the eastern shore"
POSES = " then ".join(f"pose {n}: 10 {30 + 5 * n} 45; 75 -{50 + 10 * n} 42" for n in range(1, 6))


def heron() -> dict[str, Any]:
    """Neck in several poses, leg and arm of an invented heron, and its tint."""
    tint = Choices().plan({key: field.default for key, field in FIELDS.items()})
    limbs = [(LONG, {"poses": POSES}), ("Leg", PRESETS["Heron leg"]), ("Arm", PRESETS["Arm"])]
    places = [
        Place(at=(0.03, 0.12, 0.0)),
        Place(at=(0.0, 0.11, 0.02), foot=(0.04, 0.03)),
        Place(at=(-0.05, 0.1, 0.0), magnets=1),
    ]
    return {
        **empty_design("Marsh heron"),
        "note": "Mind the beak.",
        "limbs": [plain(plan_from_form(changes, name)) for name, changes in limbs],
        "places": [plain_place(place) for place in places],
        "tints": [None] * 3,
        "tint": plain_tint(tint),
        "body": {"mass": 0.08, "at": [0.0, 0.12, 0.0]},
    }


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheet")
    (folder / "heron.json").write_text(design_text(heron()), "utf-8")
    command = [sys.executable, APP, "sheet", folder / "heron.json", folder / "sheet.html"]
    subprocess.run(command, check=True, timeout=300)
    return folder / "sheet.html"


@pytest.mark.parametrize(("paper", "inch"), [("A4", False), ("Letter", False), ("Letter", True)])
def test_three_limbs_and_a_tint_take_at_most_eight_pages(
    browser: Any, sheet: Path, paper: str, inch: bool
) -> None:
    """One of them in five poses and with a long name; each takes two pages."""
    text = sheet.read_text("utf-8")
    page = browser.new_page()
    page.set_content(in_inches(text) if inch else text)
    printed = page.pdf(format=paper)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) <= 8


def test_the_card_for_the_jar_is_one_page(browser: Any, tmp_path: Path) -> None:
    form = {key: field.default for key, field in FIELDS.items()}
    form |= {"dye2": "umber brown", "parts2": "0.3", "dye3": "slate blue", "parts3": "0.02",
             "coats": "4", "area": "2000"}  # fmt: skip
    (tmp_path / "card.html").write_text(bench_card(Choices().plan(form)), "utf-8")
    page = browser.new_page()
    page.goto((tmp_path / "card.html").as_uri())
    printed = [page.pdf(format=paper) for paper in ("A4", "Letter")]
    page.close()
    assert [len(re.findall(rb"/Type\s*/Page\b", each)) for each in printed] == [1, 1]


def test_the_card_and_its_square_keep_their_size(browser: Any, sheet: Path) -> None:
    page = browser.new_page(viewport={"width": 703, "height": 960})
    page.emulate_media(media="print")
    page.goto(sheet.as_uri())
    squares = page.locator("path.square")
    assert squares.count() == 3
    for index in range(3):
        sides = squares.nth(index).evaluate(
            "square => [square.getBBox().width * square.getScreenCTM().a,"
            " square.getBBox().height * square.getScreenCTM().d]"
        )
        assert sides == pytest.approx([50 * MM, 50 * MM], abs=0.4)
    page.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_the_sheet_on_a_screen_has_no_fault(browser: Any, sheet: Path, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.goto(sheet.as_uri())
    assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()
