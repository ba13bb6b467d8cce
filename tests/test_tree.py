"""Tests that walk over the sources see all that is kept and shipped, at any depth."""

from __future__ import annotations

import shutil
import subprocess
import tomllib

import pytest
from setuptools import find_packages

from tests.tree import PACKAGES, ROOT, dotted, modules, sources


def test_the_sources_seen_are_those_that_are_kept() -> None:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("this copy carries no history to compare with")
    kept = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", *PACKAGES],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    there = {name for name in kept if name.endswith(".py") and (ROOT / name).exists()}
    assert {str(path.relative_to(ROOT)) for path in sources()} == there


def test_every_folder_with_sources_is_shipped() -> None:
    found = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    include = found["tool"]["setuptools"]["packages"]["find"]["include"]
    shipped = set(find_packages(str(ROOT), include=include))
    folders = {".".join(path.relative_to(ROOT).parent.parts) for path in sources()}
    assert folders == shipped


def test_modules_are_all_but_pages() -> None:
    for package in PACKAGES:
        named = {
            name.partition(".")[2] or "__init__"
            for name in map(dotted, sources(package))
            if package == "data" or not any(p.startswith("page") for p in name.split(".")[1:])
        }
        assert set(modules(package)) == named
