"""Imports run app -> flexcalc, tinting -> data, and never backwards from folder to folder."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.tree import ROOT, dotted, draws, sources

ORDER = {
    "data": ["rules", "inches", "plain", "store", "page", "sheet", "serve", "__init__"],
    "flexcalc": [
        "limb", "section", "wire", "rod", "joints", "pose", "build", "spread", "bench", "verdict",
        "compare", "figure", "mesh", "paper", "forms", "__init__", "pages",
    ],
    "tinting": [
        "colour", "skin", "mix", "photo", "log", "learn", "recipe", "paper", "forms", "__init__",
        "pages",
    ],
}  # fmt: skip
MAY_IMPORT = {"data": {"data"}, "flexcalc": {"flexcalc", "data"}, "tinting": {"tinting", "data"}}
OWN = {"data", "flexcalc", "tinting", "app"}
SOURCES = sources()


def imported(path: Path) -> list[str]:
    """Dotted names of every module a file imports, at any depth."""
    names: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name} line {node.lineno}: relative import"
            names += [f"{node.module}.{alias.name}" for alias in node.names] + [str(node.module)]
    return names


def place(package: str, inner: str) -> int:
    """Position of a folder, or of a module at the top of a package, in the order."""
    return ORDER[package].index(inner)


def part(path: Path) -> tuple[str, str]:
    """Package of a module, and its folder there (or itself, at the top of the package)."""
    package, inner = path.relative_to(ROOT).with_suffix("").parts[:2]
    return package, inner


@pytest.mark.parametrize("path", SOURCES, ids=dotted)
def test_imports_never_walk_back(path: Path) -> None:
    package, here = part(path)
    for name in imported(path):
        top, *rest = name.split(".")
        if top in OWN:
            assert top in MAY_IMPORT[package], f"{package} imports {name}"
        there = ROOT / package / (rest[0] if rest else "")
        if top == package and rest and (there.is_dir() or there.with_suffix(".py").exists()):
            assert place(package, rest[0]) <= place(package, here), name


@pytest.mark.parametrize("path", [*SOURCES, ROOT / "app.py"], ids=dotted)
def test_streamlit_only_in_pages_and_colour_science_in_one_folder(path: Path) -> None:
    tops = {name.split(".")[0] for name in imported(path)} if path.exists() else set()
    page = path.stem == "app" or draws(path) or ROOT / "data" / "page" in path.parents
    assert page or not tops & {"streamlit", "altair"}
    assert "colour" not in tops or path.parent == ROOT / "tinting" / "colour"


def test_every_folder_has_its_place() -> None:
    for path in SOURCES:
        assert place(*part(path)) >= 0


def test_nothing_else_at_the_top_level() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "app.py"}
    allowed |= {"flexcalc", "tinting", "tests", "data", "build"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert {name for name in found if not name.endswith(".egg-info")} <= allowed
