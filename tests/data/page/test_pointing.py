"""What comes back from a picture is checked: a browser may send anything."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given

from data.page.pointing import Boxed, Handle, Moved, Removed, Tapped
from data.page.pointing.show import heard, pointed_at
from tests.strategies import loose_json
from tests.tree import ROOT

ANGLE = Handle(key="angle", name="Angle", value=40.0, low=-90.0, high=90.0, of=("angle", 0))
CORNER = Handle(key="corner", name="Corner", x=5.0, y=6.0)
HANDLES = {handle.key: handle for handle in (ANGLE, CORNER)}


def told(**said: Any) -> object:
    return pointed_at({"said": said}, HANDLES, 300.0, 200.0)


def test_each_thing_done_is_told() -> None:
    assert told(kind="moved", key="angle", value=-12.5) == Moved(key="angle", value=-12.5)
    assert told(kind="moved", key="corner", x=300, y=0) == Moved(key="corner", x=300.0)
    assert told(kind="removed", key="angle") == Removed(key="angle")
    assert told(kind="tapped", x=1, y=2) == Tapped(x=1.0, y=2.0)
    assert told(kind="tapped", x=1, y=2, along=30) == Tapped(x=1.0, y=2.0, along=30.0)
    assert told(kind="boxed", x0=1, y0=2, x1=3, y1=5) == Boxed(x0=1.0, y0=2.0, x1=3.0, y1=5.0)


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "moved", "key": "angle", "value": 91},
        {"kind": "moved", "key": "angle", "value": "40"},
        {"kind": "moved", "key": "angle"},
        {"kind": "moved", "key": "wrist", "value": 1},
        {"kind": "moved", "key": "corner", "x": 301, "y": 0},
        {"kind": "removed", "key": "wrist"},
        {"kind": "tapped", "x": -1, "y": 2},
        {"kind": "tapped", "x": float("nan"), "y": 2},
        {"kind": "boxed", "x0": 3, "y0": 2, "x1": 3, "y1": 5},
        {"kind": "swallowed", "x": 1, "y": 2},
    ],
)
def test_what_its_script_would_not_tell_is_passed_over(said: dict[str, Any]) -> None:
    assert told(**said) is None


@given(loose_json())
def test_anything_else_is_passed_over(state: object) -> None:
    assert pointed_at(state, HANDLES, 300.0, 200.0) is None
    assert pointed_at({"said": state}, HANDLES, 300.0, 200.0) is None
    assert heard({"said": {"count": state}}) >= 0


@pytest.mark.parametrize(
    "given_",
    [
        {"value": 91.0},
        {"of": None},
        {"track": ((0.0, 0.0), (1.0, 1.0))},
        {"of": None, "track": ((0.0, 0.0),)},
        {"of": ("twist", 0)},
        {"shape": "star"},
        {"step": 0.0},
        {"sign": "four"},
    ],
)
def test_a_handle_that_cannot_be_moved_is_refused(given_: dict[str, Any]) -> None:
    numbers = {"key": "a", "name": "A", "value": 40.0, "low": 0.0, "high": 90.0}
    with pytest.raises(ValueError, match="must be"):
        Handle(**{**numbers, "of": ("angle", 0), **given_})


def test_script_and_style_are_shipped() -> None:
    found = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = found["tool"]["setuptools"]["package-data"]["data"]
    shipped = {path for pattern in patterns for path in (ROOT / "data").glob(pattern)}
    kept = {*Path(ROOT / "data").rglob("*.js"), *Path(ROOT / "data").rglob("*.css")}
    assert len(kept) >= 3
    assert kept <= shipped
