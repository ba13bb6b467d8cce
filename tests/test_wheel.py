"""The program as it is given away: a wheel in a bare environment, without what only tests need.

The environment holds the wheel and links to what it depends on, taken from where the tests run;
nothing else of that place can be imported, so matplotlib and the test extra are not there.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution, version
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tests.browser.kit import free_port, wait_for_port
from tests.session import session
from tests.tree import PACKAGES, ROOT

NAME = "flexible-limb-and-tint-aid"
PAGES = ("", "limb", "mesh", "tint", "figure", "bench", "swatches")


def needed(requirements: list[str]) -> set[str]:
    """Return the names of the distributions that some requirements bring in, at any depth."""
    found: set[str] = set()
    left = list(requirements)
    while left:
        wanted = Requirement(left.pop())
        extras: set[str] = wanted.extras or {""}
        if wanted.marker and not any(wanted.marker.evaluate({"extra": e}) for e in extras | {""}):
            continue
        name = wanted.name.lower().replace("_", "-")
        if name in found:
            continue
        try:
            inner = distribution(name).requires or []
        except PackageNotFoundError:
            pytest.fail(f"{name} is needed and not installed")
        found.add(name)
        left += [one for one in inner if "extra ==" not in one]
    return found


def parts_of(name: str) -> set[Path]:
    """Return what a distribution put beside the others: packages, modules and its own record."""
    here = distribution(name)
    return {
        Path(str(here.locate_file(file.parts[0])))
        for file in here.files or ()
        if file.parts[0] not in ("..", "__pycache__", "bin")
    }


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an environment in which the wheel and what it needs are installed."""
    folder = tmp_path_factory.mktemp("bare")
    source = folder / "source"
    source.mkdir()
    for name in (*PACKAGES, ".streamlit"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("app.py", "pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    alone = [] if int(version("setuptools").split(".")[0]) < 68 else ["--no-build-isolation"]
    made = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", *alone, "-w", str(folder)]
    subprocess.run([*made, str(source)], check=True, timeout=300)
    (wheel,) = folder.glob("*.whl")
    venv.create(folder / "env", with_pip=False)
    python = folder / "env" / "bin" / "python"
    put = [sys.executable, "-m", "pip", "--python", str(python), "install", "-q", "--no-deps"]
    subprocess.run([*put, str(wheel)], check=True, timeout=300)
    (place,) = (folder / "env").glob("lib/python*/site-packages")
    wanted = re.findall(r'^    "([^"]+)",', (ROOT / "pyproject.toml").read_text("utf-8"), re.M)
    runtime = wanted[: next(i for i, one in enumerate(wanted) if one.startswith("pytest"))]
    for name in needed(runtime):
        for part in parts_of(name):
            if part.exists() and not (place / part.name).exists():
                (place / part.name).symlink_to(part)
    return folder


def ran(bare: Path, *command: str) -> subprocess.CompletedProcess[str]:
    """Run a program of the bare environment in a folder that holds none of the sources."""
    elsewhere = bare / "elsewhere"
    elsewhere.mkdir(exist_ok=True)
    return subprocess.run(
        [str(bare / "env" / "bin" / command[0]), *command[1:]],
        cwd=elsewhere,
        env=environment(bare),
        capture_output=True,
        text=True,
        timeout=300,
    )


def environment(bare: Path) -> dict[str, str]:
    dropped = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    ours = {key: value for key, value in os.environ.items() if key not in dropped}
    return {**ours, "LIMB_TINT_FOLDER": str(bare / "own")}


def test_nothing_but_the_wheel_and_what_it_needs_is_there(bare: Path) -> None:
    code = "import importlib.util as u, sys; print([n for n in sys.argv[1:] if u.find_spec(n)])"
    foreign = ["matplotlib", "pytest", "hypothesis", "playwright", "magpylib", "ruff", "tests"]
    assert ran(bare, "python", "-c", code, *foreign).stdout.strip() == "[]"
    place = ran(bare, "python", "-c", "import flexcalc; print(flexcalc.__file__)").stdout.strip()
    assert Path(place).is_relative_to(bare / "env")


def test_the_example_of_the_readme_runs_and_prints_nothing_else(bare: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    example = re.search(r"```python\n(.*?)```", readme, re.S)
    assert example is not None
    done = ran(bare, "python", "-c", example.group(1))
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    sentence, colour = done.stdout.splitlines()
    assert "of the bend" in sentence and re.fullmatch("#[0-9a-f]{6}", colour)


def test_the_command_checks_prints_exports_and_takes_over(bare: Path) -> None:
    design = bare / "elsewhere" / "heron.json"
    made = ran(
        bare,
        "python",
        "-c",
        "import json, sys; from data import read_demo\n"
        "from data.store.design import design_text\n"
        "from flexcalc.forms.limb_form import plan_from_form\n"
        "from flexcalc.verdict.plan import plain\n"
        "open(sys.argv[1], 'w').write(design_text({'name': 'Heron',"
        " 'limbs': [plain(plan_from_form({'metal': 'no wire'}))]}))",
        str(design),
    )
    assert made.returncode == 0, made.stderr
    checked = ran(bare, "limb-tint", "check", str(design))
    assert checked.returncode == 0 and "of the bend" in checked.stdout, checked.stderr
    assert checked.stderr == ""
    assert ran(bare, "limb-tint", "sheet", str(design), "sheet.html").returncode == 0
    assert "<svg" in (bare / "elsewhere" / "sheet.html").read_text(encoding="utf-8")
    taken = ran(bare, "limb-tint", "import", str(design))
    assert "The figure Heron is in your folder." in taken.stdout
    assert ran(bare, "limb-tint", "export", "log.zip").returncode == 0
    assert ran(bare, "limb-tint", "import", "log.zip").returncode == 0
    wrong = ran(bare, "limb-tint", "nonsense")
    assert wrong.returncode == 2 and wrong.stderr.startswith("usage: limb-tint [open]")


@pytest.fixture(scope="module")
def url(bare: Path) -> Iterator[str]:
    port = free_port()
    (bare / "own").mkdir(exist_ok=True)
    with (bare / "server.log").open("wb") as log:
        process = subprocess.Popen(
            [str(bare / "env" / "bin" / "limb-tint"), "open", "--port", str(port)],
            cwd=bare,
            env=environment(bare),
            stdout=log,
            stderr=log,
        )
        try:
            wait_for_port(process, port)
            yield f"http://localhost:{port}"
        finally:
            process.terminate()
            process.wait(20)


def test_every_page_opens(bare: Path, url: str) -> None:
    for page in PAGES:
        with session(url) as tab:
            said = tab.open(page)
            assert not tab.failures, page
            assert "could not be drawn" not in said, page
            assert len(said) > 2000, page
    log = (bare / "server.log").read_text(encoding="utf-8")
    assert "Traceback" not in log and "Matplotlib" not in log, log
