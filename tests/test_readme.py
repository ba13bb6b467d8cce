"""What the README promises is so: its commands, its example, its walk through the demo."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from flexcalc import assess, over_bend_setting, sample_pose, size_channel
from flexcalc.forms.limb_form import plan_from_form

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


def test_the_walk_through_the_demo_is_true() -> None:
    plan = plan_from_form({})
    sentence = assess(plan.limb, plan.setting, wish=plan.wish).sentence
    for figure in ("90%", "sags 0.4 mm", "R 19.6 mm", "140 to 190"):
        assert figure in sentence
        assert figure.replace("%", " %") in README.replace("\n   ", " ")
    made = assess(plan.limb, plan.setting, wish=plan.wish)
    assert made.state == "holds"  # made as its sheet says
    sample = sample_pose(
        plan.limb, plan.setting, wanted_share=0.85, sag_limit=0.01, re_poses=plan.wish.re_poses
    )
    assert sample.worst_share.low == pytest.approx(0.87, abs=0.006)
    assert sample.worst_share.high == pytest.approx(0.915, abs=0.006)
    assert sample.probability == pytest.approx(0.94, abs=0.006)
    assert size_channel(0.0028, "lying").draw_diameter == pytest.approx(3.39e-3, abs=5e-6)
    radii = [1e3 / abs(over.set_curvature) for over in over_bend_setting(plan.limb, plan.setting)]
    assert radii == pytest.approx([41, 39], abs=0.6)
