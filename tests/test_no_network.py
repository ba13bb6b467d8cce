"""Nothing leaves this machine: by what the code may import and call, and by watching it run."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.audit import audited, noted, outward
from tests.browser.kit import ROOT, served_app
from tests.session import session
from tests.tree import sources

FORBIDDEN = {
    *["pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib"],
    *["socket", "ssl", "http", "urllib.request", "urllib3", "requests", "httpx", "aiohttp"],
    *["ftplib", "smtplib", "telnetlib", "xmlrpc", "socketserver", "asyncio", "websockets"],
    *["subprocess", "multiprocessing", "pty", "ctypes", "webbrowser", "code", "runpy"],
}
CALLS = {"eval", "exec", "compile", "__import__", "breakpoint"}
ATTRIBUTES = {
    *["system", "popen", "execv", "execve", "execvp", "execl", "spawnv", "spawnl", "fork"],
    *["posix_spawn", "import_module", "read_pickle", "to_pickle", "urlopen", "urlretrieve"],
}
KEYWORDS = {"shell", "allow_pickle"}
LAUNCHER_MAY = {"socket"}
"""app.py looks for a free port of this machine."""


def files() -> list[Path]:
    return [ROOT / "app.py", *sources()]


def breaches(source: str) -> list[str]:
    """What a source does that no source here may do, each with its line."""
    found = []
    for node in ast.walk(ast.parse(source)):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names if _forbidden(alias.name)]
        elif isinstance(node, ast.ImportFrom):
            full = [f"{node.module}.{alias.name}" for alias in node.names]
            names = [name for name in full if _forbidden(name)]
        elif isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in CALLS:
                names = [node.func.id]
            if isinstance(node.func, ast.Attribute) and node.func.attr in ATTRIBUTES:
                names = [node.func.attr]
            names += [word.arg for word in node.keywords if word.arg in KEYWORDS]
        found += [f"{name} (line {node.lineno})" for name in names]  # type: ignore[attr-defined]
    return found


def _forbidden(name: str) -> bool:
    parts = name.split(".")
    return any(".".join(parts[:count]) in FORBIDDEN for count in range(1, len(parts) + 1))


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_source_reaches_for_network_shell_or_code_from_data(path: Path) -> None:
    found = breaches(path.read_text(encoding="utf-8"))
    if path.name == "app.py":
        found = [entry for entry in found if entry.split(" ")[0] not in LAUNCHER_MAY]
    assert found == []


@pytest.mark.parametrize(
    "source",
    [
        "import pickle",
        "from urllib import request",
        "import urllib.request as r",
        "from urllib.request import urlopen",
        "import http.client",
        "eval('1')",
        "import os\nos.system('x')",
        "f(shell=True)",
        "np.load(p, allow_pickle=True)",
    ],
)
def test_the_reading_of_sources_finds_what_it_should(source: str) -> None:
    assert breaches(source)


def test_the_watch_sees_a_look_out(tmp_path: Path) -> None:
    environment = {**os.environ, **audited(tmp_path)}
    reach = "import socket; s = socket.socket(type=socket.SOCK_DGRAM); s.connect(('{}', 9))"
    for address in ("127.0.0.1", "192.0.2.1"):  # kept for documents; nothing is sent to it
        subprocess.run([sys.executable, "-c", reach.format(address)], env=environment, timeout=60)
    assert outward(tmp_path) == [("socket.connect", ("192.0.2.1", 9))]


def test_no_socket_leaves_the_machine_while_every_page_is_used(tmp_path: Path) -> None:
    with served_app(tmp_path, **audited(tmp_path)) as url:
        with session(url) as tab:
            for page in ("", "limb", "tint", "figure", "swatches", "bench"):
                tab.open(page, limb_length="155", limb_wire="AWG 10", tint_coats="2")
                assert tab.failures == []
        with pytest.raises(Exception, match="403"), session(url, "http://example.org"):
            pass
    assert any(event == "socket.bind" for event, _ in noted(tmp_path))
    assert outward(tmp_path) == []


def test_no_socket_leaves_the_machine_from_the_command_line(tmp_path: Path) -> None:
    design = tmp_path / "design.json"
    design.write_text(_demo_design(), encoding="utf-8")
    for arguments in (["check", str(design)], ["sheet", str(design), str(tmp_path / "out.html")]):
        ended = subprocess.run(
            [sys.executable, str(ROOT / "app.py"), *arguments],
            env={**os.environ, **audited(tmp_path)},
            capture_output=True,
            timeout=120,
        )
        assert ended.returncode == 0, ended.stderr
    assert outward(tmp_path) == []


def _demo_design() -> str:
    from data.store.design import design_text
    from flexcalc.forms.limb_form import plan_from_form
    from flexcalc.verdict.plan import plain

    neck = plain(plan_from_form({"metal": "no wire"}, name="Neck"))
    return design_text({"name": "Heron", "limbs": [neck], "tint": None, "note": ""})
