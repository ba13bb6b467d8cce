"""The server keeps to this machine: who may talk to it, what it tells nobody, how it ends."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from websockets.exceptions import InvalidStatus

from data.serve.settings import read_settings
from data.store.folder import StoreError
from tests.browser.kit import ROOT, free_port, served_app, started_app, wait_for_port
from tests.session import session

LISTENING = "0A"
LOOPBACK = "0100007F"
FOREIGN = [
    "http://example.org",
    "https://share.streamlit.io",
    "http://localhost.example.org",
    "http://127.0.0.1:1",
    "https://localhost",
    "null",
]


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served_app(tmp_path_factory.mktemp("server")) as address:
        yield address


def answer(
    url: str, path: str, method: str = "GET", body: bytes | None = None, **headers: str
) -> tuple[int, http.client.HTTPMessage, str]:
    """Ask the server as any program could: status, headers and text of its answer."""
    connection = http.client.HTTPConnection("127.0.0.1", urlsplit(url).port or 0, timeout=30)
    try:
        connection.request(
            method, path, body, {key.replace("_", "-"): value for key, value in headers.items()}
        )
        got = connection.getresponse()
        return got.status, got.headers, got.read().decode("utf-8", "replace")
    finally:
        connection.close()


def listening(process: subprocess.Popen[bytes]) -> set[str]:
    """Local addresses, in the kernel's hexadecimal, on which a process waits for connections."""
    owned = set()
    for handle in Path(f"/proc/{process.pid}/fd").iterdir():
        owned |= set(re.findall(r"socket:\[(\d+)\]", os.readlink(handle)))
    found = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        for line in Path(table).read_text().splitlines()[1:] if Path(table).exists() else []:
            parts = line.split()
            if parts[3] == LISTENING and parts[9] in owned:
                found.add(parts[1])
    return found


def printed_port(folder: Path) -> int:
    """The port that a started app names, as soon as it does."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        named = re.search(r"http://localhost:(\d+)", (folder / "server.log").read_text())
        if named:
            return int(named[1])
        time.sleep(0.05)
    raise AssertionError("the app never said where it is")


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="reads Linux's table of sockets")
def test_it_listens_on_this_machine_alone(tmp_path: Path) -> None:
    port = free_port()
    with started_app(tmp_path, "--port", str(port)) as process:
        wait_for_port(process, port)
        assert listening(process) == {f"{LOOPBACK}:{port:04X}"}


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="reads Linux's table of sockets")
def test_started_by_the_page_library_it_has_the_same_door(tmp_path: Path) -> None:
    port = free_port()
    arguments = ["streamlit", "run", str(ROOT / "app.py"), "--server.headless", "true"]
    arguments += ["--server.port", str(port)]
    with started_app(tmp_path, *arguments, script=Path("-m")) as process:
        wait_for_port(process, port)
        url = f"http://localhost:{port}"
        assert listening(process) == {f"{LOOPBACK}:{port:04X}"}
        with session(url) as tab:
            assert "From an idea to a figure" in tab.open() and tab.failures == []
        with pytest.raises(InvalidStatus), session(url, "http://example.org"):
            pass
        assert answer(url, "/", Host="example.org")[0] == 403


@pytest.mark.parametrize("path", ["/", "/limb", "/_stcore/health", "/_stcore/host-config"])
@pytest.mark.parametrize("host", ["example.org", "localhost.example.org", "169.254.0.1", ""])
def test_a_forged_host_is_refused(url: str, path: str, host: str) -> None:
    assert answer(url, path, Host=host)[0] == 403


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1"])
def test_its_own_names_are_answered(url: str, name: str) -> None:
    assert answer(url, "/", Host=f"{name}:{urlsplit(url).port}")[0] == 200


@pytest.mark.parametrize("origin", FOREIGN)
def test_a_page_of_another_site_gets_neither_socket_nor_answer(url: str, origin: str) -> None:
    with pytest.raises(InvalidStatus) as refused, session(url, origin):
        pass
    assert refused.value.response.status_code == 403
    assert answer(url, "/", Origin=origin)[0] == 403


def test_a_socket_under_a_forged_host_is_refused(url: str) -> None:
    key = "dGhlIHNhbXBsZSBub25jZQ=="
    with socket.create_connection(("127.0.0.1", urlsplit(url).port or 0), 30) as raw:
        raw.sendall(
            b"GET /_stcore/stream HTTP/1.1\r\nHost: example.org\r\nOrigin: http://example.org\r\n"
            b"Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
            b"Sec-WebSocket-Key: " + key.encode() + b"\r\n\r\n"
        )
        assert raw.recv(100).startswith(b"HTTP/1.1 403")


def test_its_own_page_gets_a_socket_and_an_answer(url: str) -> None:
    with session(url) as tab:
        assert "From an idea to a figure" in tab.open()


def test_uploads_need_the_token_and_have_a_limit(url: str) -> None:
    with session(url) as tab:
        tab.open("figure")
        token = answer(url, "/_stcore/health")[1]["Set-Cookie"].split(";")[0].split("=", 1)[1]
        path = f"/_stcore/upload_file/{tab.name}/a"
        form = {"Content_Type": "multipart/form-data; boundary=edge"}
        proof = {"X_Xsrftoken": token, "Cookie": f"_streamlit_xsrf={token}"}
        part = b'--edge\r\nContent-Disposition: form-data; name="f"; filename="f"\r\n\r\n'
        small = part + b"{}\r\n--edge--\r\n"
        big = part + bytes(102 * 2**20) + b"\r\n--edge--\r\n"
        assert answer(url, path, "PUT", small, **form)[0] == 403
        assert answer(url, path, "PUT", small, **form, **proof)[0] == 204
        assert refused_or_cut(url, path, big, {**form, **proof})


def refused_or_cut(url: str, path: str, body: bytes, headers: dict[str, str]) -> bool:
    """Whether a large upload is refused: by an answer, or by a connection closed on it."""
    try:
        return answer(url, path, "PUT", body, **headers)[0] == 413
    except (BrokenPipeError, ConnectionResetError):
        return True


def test_its_page_refers_to_no_other_host(url: str) -> None:
    status, headers, page = answer(url, "/")
    shown = re.sub(r"<!--.*?-->", "", page, flags=re.DOTALL)
    assert status == 200 and "<script" in shown
    assert re.findall(r"(?:src|href|action|content)\s*=\s*[\"'](?:https?:)?//", shown) == []
    assert "://" not in answer(url, "/_stcore/host-config")[2]
    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy and "frame-ancestors 'self'" in policy
    assert set(re.findall(r"//([^/:; ]+)", policy)) == {"localhost", "127.0.0.1"}


def test_settings_are_told_once_and_keep_the_page_to_this_machine() -> None:
    settings = read_settings(ROOT)
    assert settings["server.address"] == "127.0.0.1"
    assert settings["server.allowedHosts"] == ["localhost", "127.0.0.1"]
    assert settings["browser.gatherUsageStats"] is False
    assert not {"server.enableXsrfProtection", "server.enableCORS"} & set(settings)
    assert not [key for key in settings if key in (ROOT / "app.py").read_text(encoding="utf-8")]
    with (ROOT / ".streamlit" / "config.toml").open("rb") as file:
        assert len(settings) == sum(
            len(section) if name != "theme" else sum(map(len, section.values()))
            for name, section in tomllib.load(file).items()
        )


def test_nothing_is_served_without_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("data.serve.settings.files", lambda name: None)
    with pytest.raises(StoreError, match="keeps the page to this machine, is missing"):
        read_settings(tmp_path)


def test_the_page_library_knows_every_setting() -> None:
    from streamlit import config

    known = config.get_config_options(force_reparse=False)
    assert set(read_settings(ROOT)) <= set(known)
    for guard in ("server.enableXsrfProtection", "server.enableCORS"):
        assert known[guard].default_val is True


def test_a_taken_port_is_passed_over(tmp_path: Path) -> None:
    from app import FIRST_PORT
    from app import free_port as first_free

    before = first_free()  # the one test that lets the app look: the others name their ports
    with socket.socket() as taken:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind(("127.0.0.1", before))
        taken.listen()
        with started_app(tmp_path) as process:
            port = printed_port(tmp_path)
            assert port >= FIRST_PORT and port != before
            wait_for_port(process, port)


def test_ctrl_c_ends_it_quietly_even_with_a_page_open(tmp_path: Path) -> None:
    port = free_port()
    with started_app(tmp_path, "--port", str(port)) as process:
        wait_for_port(process, port)
        with session(f"http://localhost:{port}") as tab:
            tab.open()
            process.send_signal(signal.SIGINT)
            assert process.wait(20) == 0
    assert "Traceback" not in (tmp_path / "server.log").read_text()


@pytest.mark.parametrize(
    "arguments", [["nonsense"], ["--port"], ["--port", "0"], ["--port", "99999"], ["check"]]
)
def test_nonsense_is_answered_with_the_usage(arguments: list[str]) -> None:
    ended = subprocess.run(
        [sys.executable, str(ROOT / "app.py"), *arguments],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ended.returncode == 2
    assert ended.stderr.startswith("usage: python app.py") and not ended.stdout
