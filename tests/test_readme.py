"""What the README promises is so: its commands, its example, its walk through the demo."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from data import FOLDER
from tests.readme_pictures import ladder_picture, limb_picture
from tests.walk_through import walk_through

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_two_commands_are_complete_on_a_bare_machine() -> None:
    commands = re.findall(r"^```sh\n(.*?)\n```", README, re.S | re.M)
    assert len(commands) == 2
    for command in commands:
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install -e ")
    assert commands[0].endswith("python app.py")
    assert commands[1].endswith("python -m pytest -n auto")
    with (ROOT / "pyproject.toml").open("rb") as file:
        assert "test" in tomllib.load(file)["project"]["optional-dependencies"]


def test_the_example_runs(capsys: pytest.CaptureFixture[str]) -> None:
    example = re.search(r"```python\n(.*?)```", README, re.S)
    assert example is not None
    exec(compile(example.group(1), "README.md", "exec"), {})
    assert "of the bend" in capsys.readouterr().out


def test_the_walk_through_the_demo_is_what_the_code_says() -> None:
    written = README.split("<!-- walk -->\n", 1)[1].split("<!-- /walk -->", 1)[0]
    assert written == walk_through(), "run python -m tests.scripts.readme"


@pytest.mark.parametrize(("name", "draw"), [("neck", limb_picture), ("ladder", ladder_picture)])
def test_the_pictures_are_what_the_code_draws(name: str, draw: Callable[[], str]) -> None:
    kept = (FOLDER / "demo" / f"{name}.svg").read_text(encoding="utf-8")
    assert kept == draw(), "run python -m tests.scripts.readme"
    ElementTree.fromstring(kept)
    assert f"data/demo/{name}.svg" in README
