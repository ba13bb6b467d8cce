"""What the README promises is so: its commands, its example, its walk through the demo."""

from __future__ import annotations

import doctest
import pydoc
import re
import textwrap
import tomllib
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

import flexcalc
from data import FOLDER
from tests.doors import public_names
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


def test_the_examples_for_developers_run() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(>>>.*?)```", text, re.S)
    assert len(blocks) == 5
    test = doctest.DocTestParser().get_doctest("\n".join(blocks), {}, "DEVELOPERS.md", None, 0)
    said: list[str] = []
    assert doctest.DocTestRunner().run(test, out=said.append).failed == 0, "".join(said)


def test_help_is_an_overview_of_four_screens() -> None:
    overview = (flexcalc.__doc__ or "").splitlines()
    assert len(pydoc.render_doc(flexcalc, renderer=pydoc.plaintext).splitlines()) <= 4 * 24
    assert max(map(len, overview)) <= 96  # help indents them by four
    words = re.findall(r"\w+", "\n".join(overview))
    missing = set(public_names(flexcalc)) - set(words)
    assert not missing, missing
    example = textwrap.dedent("\n".join(line for line in overview if line.startswith("    ")))
    exec(compile("from flexcalc import *\n" + example, "flexcalc", "exec"), {})


def test_the_walk_through_the_demo_is_what_the_code_says() -> None:
    written = README.split("<!-- walk -->\n", 1)[1].split("<!-- /walk -->", 1)[0]
    assert written == walk_through(), "run python -m tests.scripts.readme"


@pytest.mark.parametrize(("name", "draw"), [("neck", limb_picture), ("ladder", ladder_picture)])
def test_the_pictures_are_what_the_code_draws(name: str, draw: Callable[[], str]) -> None:
    kept = (FOLDER / "demo" / f"{name}.svg").read_text(encoding="utf-8")
    assert kept == draw(), "run python -m tests.scripts.readme"
    ElementTree.fromstring(kept)
    assert f"data/demo/{name}.svg" in README
