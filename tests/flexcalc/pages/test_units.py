"""Results in inches: no millimetre is left on a page but where a thing is sold by it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from google.protobuf.json_format import MessageToDict
from streamlit.testing.v1 import AppTest

from flexcalc.pages.mesh.body import FILE
from tests.flexcalc.pages.test_bench import bench_page
from tests.flexcalc.pages.test_figure import add, figure_page
from tests.flexcalc.pages.test_limb import limb_page
from tests.flexcalc.pages.test_mesh import mesh_page, own_file
from tests.pages import opened_page, words_of

pytestmark = pytest.mark.usefixtures("own_folder")

METRIC = re.compile(r"(?<!\d\u00a0)\b[mc]m2?\b|\d m\b|\d (?:N|g|kg)\b(?!/)|\"unit\": \"g\"")
TYPED = ("text_input", "text_area")
"""Their labels say in which unit a bare number is read, whatever results are shown in."""
FOLDS = (
    "sizes", "wires", "poses", "time", "section", "channel", "bend", "life", "corner", "sure",
    "checks", "working",
)  # fmt: skip


def texts(value: Any) -> Iterator[str]:
    """Every text in what a page sends to the browser."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def shown_texts(page: AppTest) -> Iterator[str]:
    """Every text that a page shows, folds, drawings and graphs included."""

    def walk(block: Any) -> Iterator[Any]:
        for child in block.children.values():
            if hasattr(child, "children"):
                yield from walk(child)
            elif getattr(child, "type", "") not in TYPED:
                yield child

    for element in walk(page._tree):
        sent = MessageToDict(element.proto)
        yield from texts({key: value for key, value in sent.items() if key != "jsContent"})


def left_in_mm(page: AppTest) -> list[str]:
    """What a page says in mm, g or N, but for "mm" as a choice of units and sizes as sold, whose
    unit stands behind an unbroken space."""
    found = []
    for text in shown_texts(page):
        if text == "mm":
            continue
        for hit in METRIC.finditer(re.sub(r"<style.*?</style>", "", text, flags=re.DOTALL)):
            found.append(text[max(hit.start() - 60, 0) : hit.end() + 30])
    return found


def test_the_limb_page_in_inches_says_no_millimetre() -> None:
    page = opened_page(limb_page, units="inch", limb_angle2="-100")
    for name in FOLDS:
        page.session_state[f"limb_fold_{name}"] = True
    page.run()
    assert not page.exception
    assert left_in_mm(page) == []
    (bar,) = {found for text in shown_texts(page) for found in re.findall(r'"([0-9.]+ in)"', text)}
    assert bar in ("0.5 in", "1 in", "2 in")  # the bar of the board is round in inches


READINGS = {
    "droop_drop": "36", "bent_kept": "300", "pins_entered": "2.8; 2.9; 3.0; 3.1; 3.2; 3.3; 3.4",
    "pose_kept": "70", "kink_held": "80", "kink_kinked": "70",
}  # fmt: skip


def test_the_bench_in_inches_says_no_millimetre() -> None:
    readings = {f"bench_{key}": text for key, text in READINGS.items()}
    assert left_in_mm(opened_page(bench_page, units="inch", **readings)) == []


def test_the_figure_in_inches_says_no_millimetre() -> None:
    page = add(opened_page(figure_page, units="inch"), "Neck")
    assert left_in_mm(page) == []
    assert "cut 1 of 7.36 in" in words_of(page)  # 187 mm


def test_a_mesh_in_inches_says_no_millimetre_but_of_its_file() -> None:
    page = opened_page(mesh_page, units="inch")
    page.session_state[FILE] = own_file()
    page.run()
    left = [text for text in left_in_mm(page) if text != "cm" and "Read in mm: " not in text]
    assert left == [] and "The limb is **" in words_of(page)


def test_the_choice_of_units_holds_at_once_and_in_the_link() -> None:
    page = opened_page(figure_page)
    page.selectbox(key="units").set_value("inch").run()
    assert "inch" in page.query_params["units"] and page.selectbox(key="units").value == "inch"
    assert left_in_mm(add(page, "Neck")) == []
    page.selectbox(key="units").set_value("mm").run()
    assert left_in_mm(page)
