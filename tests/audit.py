"""Write down every connection, look-up and program that a Python process starts."""

from __future__ import annotations

import ast
from pathlib import Path

HOOK = """
import os, sys

handle = os.open(os.environ["AUDIT_FILE"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
PLACES = {"socket.connect": 1, "socket.bind": 1, "socket.sendto": 1, "socket.sendmsg": 1,
          "socket.getaddrinfo": 0, "socket.gethostbyname": 0, "socket.gethostbyaddr": 0,
          "socket.getnameinfo": 0, "urllib.Request": 0, "subprocess.Popen": 1, "os.system": 0,
          "os.exec": 0, "os.posix_spawn": 0, "os.spawn": 1, "ftplib.connect": 1,
          "smtplib.connect": 1}

def note(event, arguments):
    if event in PLACES:
        os.write(handle, f"{event} {arguments[PLACES[event]]!r}\\n".encode())

sys.addaudithook(note)
"""
OWN_NAMES = {"127.0.0.1", "localhost", "::1", "", None}


def audited(folder: Path) -> dict[str, str]:
    """Return the environment under which Python notes into ``folder`` what it reaches out for."""
    (folder / "sitecustomize.py").write_text(HOOK, encoding="utf-8")
    return {"PYTHONPATH": str(folder), "AUDIT_FILE": str(folder / "audit.txt")}


def noted(folder: Path) -> list[tuple[str, object]]:
    """Return each event with what it was about."""
    lines = (folder / "audit.txt").read_text(encoding="utf-8").splitlines()
    return [(event, ast.literal_eval(rest)) for event, rest in (x.split(" ", 1) for x in lines)]


def outward(folder: Path) -> list[tuple[str, object]]:
    """Return the events that left this machine, or started a program other than the browser."""
    return [(event, about) for event, about in noted(folder) if not _stays(event, about)]


def _stays(event: str, about: object) -> bool:
    if event == "subprocess.Popen":
        return isinstance(about, list) and about[0] == "true"  # the browser of a test
    if not event.startswith("socket."):
        return False
    if isinstance(about, tuple):
        return about[0] in OWN_NAMES
    if event in ("socket.connect", "socket.bind", "socket.sendto"):
        return isinstance(about, str | bytes)  # a path of this machine
    return about in OWN_NAMES
