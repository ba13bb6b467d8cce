"""Meshes of limbs against the closed forms of their sections.

Source: closed forms of regular n-gon and rectangle sections on straight, arc, helix and s-shaped
lines, volumes by Pappus; computed once outside this program, typed into limb_meshes.json (read).
"""

from __future__ import annotations

import json
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from data.rules import Array
from flexcalc.mesh import (
    Line,
    Surface,
    hand_beyond,
    limb_centreline,
    limb_slices,
    read_surface,
    surface_health,
)
from tests.flexcalc.mesh.lofts import build, stl_bytes

STORED = json.loads(Path(__file__).with_name("limb_meshes.json").read_text(encoding="utf-8"))
CASES = {case["id"]: case for case in STORED["cases"]}
DEFECTS = {case["id"]: case for case in STORED["defects"]}


@lru_cache(maxsize=1)
def built(name: str) -> tuple[Surface, Array]:
    """Return the surface of a case and the point at its root [m]."""
    recipe = (CASES.get(name) or DEFECTS[name])["recipe"]
    v, f, root = build(recipe)
    unit = recipe.get("unit", "mm")
    surface = read_surface(stl_bytes(v, f), unit)
    return surface, root * surface.per_unit


@pytest.mark.parametrize("name", CASES)
def test_volume(name: str) -> None:
    case = CASES[name]
    health = surface_health(built(name)[0])
    assert health.closed and not health.turned
    volume = pytest.approx(case["expected"]["volume"], rel=case["relative_tolerance"]["volume"] * 3)
    assert health.volume * 1e9 == volume


@pytest.mark.parametrize("name", DEFECTS)
def test_defects_are_counted(name: str) -> None:
    expected: dict[str, Any] = dict(DEFECTS[name]["expected"])
    health = surface_health(built(name)[0])
    like = expected.pop("volume_as", None)
    for key, value in expected.items():
        assert getattr(health, key) == value
    if like:
        case = CASES[like]
        assert health.volume * 1e9 == pytest.approx(case["expected"]["volume"], rel=1e-4)


@lru_cache(maxsize=1)
def traced(name: str) -> Line:
    surface, root = built(name)
    return limb_centreline(surface, root)


@pytest.mark.parametrize("name", CASES)
def test_length_and_sections(name: str) -> None:
    expected, slack = CASES[name]["expected"], CASES[name]["relative_tolerance"]
    line = traced(name)
    length = expected["length"]
    assert line.length * 1e3 == pytest.approx(length, rel=slack["length"])
    assert {caution.key for caution in line.cautions} == set()
    # slices stand in the middle of equal parts: at .1, .3, .5, .7 and .9 of the length
    slices = limb_slices(built(name)[0], line, 5 if "hand" not in expected else 685)
    for station in expected["stations"]:
        at = station.get("at", station.get("share", 0.0) * length)
        area, xx, yy, xy = (
            np.interp(at * 1e-3, slices.arc_length, values) * 1e12
            for values in (slices.area * 1e-6, *slices.second_moments.T)
        )
        assert area == pytest.approx(station["area"], rel=slack["area"])
        half = math.hypot((xx - yy) / 2, xy)
        assert (xx + yy) / 2 + half == pytest.approx(station["I_major"], rel=slack["I"])
        assert (xx + yy) / 2 - half == pytest.approx(station["I_minor"], rel=slack["I"])


@pytest.mark.parametrize("name", [name for name in CASES if "channel" in name])
def test_channel_already_there(name: str) -> None:
    expected = CASES[name]["expected"]
    slices = limb_slices(built(name)[0], traced(name), 200)
    assert slices.hole_diameter * 1e3 == pytest.approx(expected["channel_diameter"], abs=0.01)
    assert slices.hole_cover.min() * 1e3 == pytest.approx(expected["smallest_cover"], abs=0.03)


def test_hand() -> None:
    name = "MESH-08 hand sphere"
    hand = CASES[name]["expected"]["hand"]
    line = traced(name)
    found = hand_beyond(built(name)[0], line, hand["from"] * 1e-3 / line.length, density=1000.0)
    assert found.volume * 1e9 == pytest.approx(hand["volume"], rel=6e-4)
    assert found.mass == pytest.approx(found.volume * 1000.0)
    assert found.ahead * 1e3 == pytest.approx(hand["centre_from_wrist"], abs=0.02)
    assert found.aside * 1e3 < 0.01
