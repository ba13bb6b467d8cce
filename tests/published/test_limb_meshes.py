"""Meshes of limbs against the closed forms of their sections.

Source: closed forms of regular n-gon and rectangle sections on straight, arc, helix and s-shaped
lines, volumes by Pappus; computed once outside this program, typed into limb_meshes.json (read).
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from data.rules import Array
from flexcalc.mesh import Surface, read_surface, surface_health
from tests.mesh.lofts import build, stl_bytes

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
